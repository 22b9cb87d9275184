//! Marks, and how much each wants the maker.

use super::Role;
use crate::engine::FermentState;

/// How much something wants the maker.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Tone {
    /// Stands back.
    Quiet,
    /// Nothing special.
    Plain,
    /// All is well.
    Good,
    /// Wants a look.
    Watch,
    /// Wants hands.
    Alarm,
}

impl Tone {
    /// Its role.
    pub const fn role(self) -> Role {
        match self {
            Self::Quiet => Role::Muted,
            Self::Plain => Role::Ink,
            Self::Good => Role::Good,
            Self::Watch => Role::Watch,
            Self::Alarm => Role::Alarm,
        }
    }
}

/// A symbol of one column that stands before a word and says the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Mark {
    /// Not pitched.
    Planned,
    /// Pitched, not falling yet.
    Lag,
    /// Falling.
    Active,
    /// Near its end.
    Slowing,
    /// At its end.
    Finished,
    /// Stands still with sugar left.
    Stuck,
    /// Readings do not settle it.
    Doubtful,
    /// Left alone.
    Resting,
    /// Kept in bulk.
    Ageing,
    /// In bottles.
    Bottled,
    /// Done with.
    Closed,
    /// A step to come.
    Later,
    /// A step whose time has come.
    InWindow,
    /// A step past its day, without harm yet.
    Late,
    /// A step whose lateness does harm.
    Overdue,
    /// A step that would now do more harm than good.
    TooLate,
    /// A step done.
    Done,
    /// A step left out.
    Skipped,
    /// Leave alone.
    Hold,
    /// The chosen row.
    Here,
}

impl Mark {
    /// All of them.
    pub const ALL: [Self; 20] = [
        Self::Planned,
        Self::Lag,
        Self::Active,
        Self::Slowing,
        Self::Finished,
        Self::Stuck,
        Self::Doubtful,
        Self::Resting,
        Self::Ageing,
        Self::Bottled,
        Self::Closed,
        Self::Later,
        Self::InWindow,
        Self::Late,
        Self::Overdue,
        Self::TooLate,
        Self::Done,
        Self::Skipped,
        Self::Hold,
        Self::Here,
    ];

    /// Of a state of a ferment: a disc that fills up on its way.
    pub const fn of_state(state: FermentState) -> Self {
        match state {
            FermentState::Lag => Self::Lag,
            FermentState::Active => Self::Active,
            FermentState::Slowing => Self::Slowing,
            FermentState::Finished => Self::Finished,
            FermentState::Stuck => Self::Stuck,
        }
    }

    /// How much it wants the maker.
    pub const fn tone(self) -> Tone {
        match self {
            Self::Stuck | Self::Overdue => Tone::Alarm,
            Self::Doubtful | Self::Late | Self::TooLate | Self::Hold => Tone::Watch,
            Self::Active | Self::Finished | Self::Done => Tone::Good,
            Self::Planned | Self::Closed | Self::Later | Self::Skipped => Tone::Quiet,
            Self::Lag
            | Self::Slowing
            | Self::Resting
            | Self::Ageing
            | Self::Bottled
            | Self::InWindow
            | Self::Here => Tone::Plain,
        }
    }

    /// The symbol, and one of ASCII that stands in for it.
    pub const fn symbols(self) -> (&'static str, &'static str) {
        match self {
            Self::Planned => ("◌", "."),
            Self::Lag => ("○", "o"),
            Self::Active => ("◑", "%"),
            Self::Slowing => ("◕", "@"),
            Self::Finished => ("●", "*"),
            Self::Stuck => ("■", "#"),
            Self::Doubtful => ("?", "?"),
            Self::Resting => ("◇", "-"),
            Self::Ageing => ("◆", "="),
            Self::Bottled => ("▮", "|"),
            Self::Closed => ("×", "x"),
            Self::Later => ("·", "."),
            Self::InWindow => ("▹", ">"),
            Self::Late => ("△", "^"),
            Self::Overdue => ("▲", "!"),
            Self::TooLate => ("⊘", "/"),
            Self::Done => ("✓", "+"),
            Self::Skipped => ("╌", "~"),
            Self::Hold => ("◈", "&"),
            Self::Here => ("▌", ">"),
        }
    }
}
