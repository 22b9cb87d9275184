//! The screens there are.

/// A screen. Overlays lie on top of one and are not listed here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Screen {
    /// Every vessel that holds something, worst first.
    Shelf,
    /// The walk from vessel to vessel.
    Round,
    /// One batch: trend, plan, ledger.
    Batch,
    /// The first minute.
    Welcome,
}

impl Screen {
    /// All of them.
    pub const ALL: &'static [Self] = &[Self::Shelf, Self::Round, Self::Batch, Self::Welcome];

    /// Its name, in the top line and the help.
    pub fn title(self) -> &'static str {
        match self {
            Self::Shelf => "shelf",
            Self::Round => "round",
            Self::Batch => "batch",
            Self::Welcome => "welcome",
        }
    }

    /// One sentence for the help.
    pub fn about(self) -> &'static str {
        match self {
            Self::Shelf => {
                "Every vessel that holds something, worst harm first, and what is due today and in the coming week."
            }
            Self::Round => {
                "The walk from vessel to vessel, only where something is wanted, one question each."
            }
            Self::Batch => {
                "One batch from plan to bottle: its trend, its steps, its ledger, and what the readings say."
            }
            Self::Welcome => "The first minute: units, a place, vessels and a first batch.",
        }
    }

    /// Whether plain characters are text there and no commands.
    pub fn types(self) -> bool {
        matches!(self, Self::Welcome)
    }
}
