//! Places the steps of a batch on days, and says what lateness does.

use super::flags::PastUse;
use crate::domain::records::{BatchId, StepId, StepKind, VesselId};
use chrono::NaiveDate;

/// How a step stands to its day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Timing {
    /// More than a week ahead.
    Later,
    /// Within the coming week.
    Soon,
    /// Open today and not late.
    InWindow,
    /// Past its day; no real harm yet.
    Late,
    /// Past its day by so much that it does harm.
    Overdue,
    /// Doing it now would be worse than leaving it.
    TooLate,
}

impl Timing {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Later => "later",
            Self::Soon => "soon",
            Self::InWindow => "due",
            Self::Late => "late",
            Self::Overdue => "overdue",
            Self::TooLate => "too late",
        }
    }
}

/// What a step waits for when no day can be promised.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Waits {
    /// Yeast to go in.
    Pitch,
    /// The end of the ferment.
    Finish,
    /// A share of the sugar to be gone.
    Sugar,
    /// Gravity to stand still.
    Stable,
    /// A step that it hangs on to be done.
    Step,
    /// The rest before bottling to be over.
    Rest,
}

impl Waits {
    /// In a few words: `waits for ...`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Pitch => "waits for the yeast",
            Self::Finish => "waits for the finish",
            Self::Sugar => "waits for the sugar to go",
            Self::Stable => "waits for a steady gravity",
            Self::Step => "waits for another step",
            Self::Rest => "waits for the rest to end",
        }
    }
}

/// What speaks against doing a step today.
#[derive(Debug, Clone, PartialEq)]
pub enum Warning {
    /// It would stir up what is settling.
    BreaksRest {
        /// Lies still until that day.
        until: NaiveDate,
        /// The rest would then last until that day.
        instead: NaiveDate,
    },
    /// Doing it today moves the rest, and bottling with it.
    MovesRest {
        /// The rest would last until that day.
        until: NaiveDate,
    },
    /// Bottling is on hold; the reasons as sentences are those of the assessment's gate.
    NotFinished {
        /// Chance that it ferments on in the bottle, in %.
        chance: u8,
        /// How many holds there are.
        holds: usize,
    },
    /// Doing it now would do more harm than good.
    PastUse(PastUse),
}

impl Warning {
    /// As a sentence.
    pub fn sentence(&self) -> String {
        let date = |d: &NaiveDate| d.format("%-d %B").to_string();
        match self {
            Self::BreaksRest { until, instead } => format!(
                "Leave it alone until {}: doing this today makes it rest until {}.",
                date(until),
                date(instead)
            ),
            Self::MovesRest { until } => {
                format!(
                    "Done today, it must lie still until {} before bottling.",
                    date(until)
                )
            }
            Self::NotFinished { chance, .. } => format!(
                "Do not bottle yet: {chance} % chance that it ferments on in the bottle, and a bottle that ferments can burst."
            ),
            Self::PastUse(why) => format!("Too late. {}", why.sentence()),
        }
    }
}

/// A step that is still to do, placed on its day.
#[derive(Debug, Clone, PartialEq)]
pub struct Due {
    /// Which.
    pub step: StepId,
    /// Whose.
    pub batch: BatchId,
    /// In which vessel; the first where the batch lies in several.
    pub vessel: Option<VesselId>,
    /// Tag of the vessel, or tags joined by `+`; empty without one.
    pub tag: String,
    /// One line.
    pub title: String,
    /// What it does.
    pub kind: StepKind,
    /// First day on which it may be done.
    pub opens: NaiveDate,
    /// Day until which it is in time.
    pub due: NaiveDate,
    /// Last day on which lateness does no real harm.
    pub overdue_after: NaiveDate,
    /// How it stands to its day.
    pub timing: Timing,
    /// The day rests on a forecast, not on the calendar.
    pub forecast: bool,
    /// What it waits for, where no day can be promised.
    pub waits: Option<Waits>,
    /// How harmful lateness is, 0 (nothing) to 3 (spoils or endangers).
    pub weight: u8,
    /// Why it is done.
    pub why: String,
    /// What lateness does.
    pub harm: String,
    /// What to add, in words.
    pub amount: String,
    /// Countdown in seconds.
    pub countdown: Option<u32>,
    /// What speaks against doing it today.
    pub warning: Option<Warning>,
    /// Order within a day.
    pub order: i32,
}

impl Due {
    /// Whether it wants hands today.
    pub fn wants_hands(&self) -> bool {
        matches!(
            self.timing,
            Timing::InWindow | Timing::Late | Timing::Overdue
        ) && self.kind != StepKind::Rest
    }
}
