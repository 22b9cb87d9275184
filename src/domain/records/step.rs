use super::{BatchId, StepId, words};
use crate::domain::units::{Moment, Share};
use chrono::NaiveDate;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

words! {
    /// What a step does; the schedule uses it to see clashes
    /// (a swirl inside a rest) and the round to offer the right prompt.
    StepKind {
        /// Clean and sanitise.
        Clean = "clean",
        /// Mix the must.
        Mix = "mix",
        /// Yeast in.
        Pitch = "pitch",
        /// Swirl the gas out.
        Swirl = "swirl",
        /// Nutrient.
        Feed = "feed",
        /// Swirl, then nutrient.
        SwirlFeed = "swirl and feed",
        /// Work air in.
        Aerate = "aerate",
        /// Take a reading.
        Read = "read",
        /// Push the fruit cap under.
        Cap = "wet the cap",
        /// Take fruit out.
        Unfruit = "take fruit out",
        /// Fruit in.
        Fruit = "fruit in",
        /// Hops or spice in.
        Flavour = "flavour",
        /// Siphon off the lees.
        Rack = "rack",
        /// Leave alone until another step.
        Rest = "leave alone",
        /// Change the temperature.
        Temperature = "temperature",
        /// Sulfite and sorbate.
        Stabilise = "stabilise",
        /// Sweeten.
        Sweeten = "sweeten",
        /// Bottle.
        Bottle = "bottle",
        /// Hold while gas forms.
        Condition = "condition",
        /// Taste.
        Taste = "taste",
        /// Anything else.
        Other = "other",
    }
}

impl StepKind {
    /// Whether doing it disturbs a batch that should lie still.
    pub fn disturbs(self) -> bool {
        matches!(
            self,
            Self::Swirl
                | Self::Feed
                | Self::SwirlFeed
                | Self::Aerate
                | Self::Cap
                | Self::Rack
                | Self::Fruit
                | Self::Unfruit
                | Self::Flavour
        )
    }

    /// The word for it where even that is too long.
    pub fn short(self) -> &'static str {
        match self {
            Self::SwirlFeed => "feed",
            Self::Cap => "cap",
            Self::Unfruit => "fruit out",
            Self::Temperature => "warmth",
            _ => self.word(),
        }
    }

    /// Whether it gives nutrient.
    pub fn feeds(self) -> bool {
        matches!(self, Self::Feed | Self::SwirlFeed)
    }
}

/// Declares an enum that bears a word for its variant among its fields, for people
/// and other programs; where nobody reads along, a number in front of them.
macro_rules! tagged {
    ($name:ident as $as:literal by $tag:literal: $(#[$attr:meta])* { $($body:tt)* }) => {
        $(#[$attr])*
        pub enum $name { $($body)* }

        const _: () = {
            #[derive(Serialize, Deserialize)]
            #[serde(remote = $as, tag = $tag, rename_all = "kebab-case")]
            enum Worded { $($body)* }

            #[derive(Serialize, Deserialize)]
            #[serde(remote = $as)]
            enum Numbered { $($body)* }

            impl Serialize for $name {
                fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                    if to.is_human_readable() {
                        Worded::serialize(self, to)
                    } else {
                        Numbered::serialize(self, to)
                    }
                }
            }

            impl<'de> Deserialize<'de> for $name {
                fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                    if from.is_human_readable() {
                        Worded::deserialize(from)
                    } else {
                        Numbered::deserialize(from)
                    }
                }
            }
        };
    };
}

tagged! {
    Opens as "Opens" by "by":
    /// When a step may be done.
    #[derive(Debug, Clone, PartialEq)]
    {
        /// On a day counted from pitching (day 1).
        Day {
            /// Day of the batch; 0 and below lie before pitching.
            day: i32,
        },
        /// When this share of the fermentable sugar is gone, or on a day, whichever comes first.
        SugarGone {
            /// Share of the sugar.
            share: Share,
            /// Latest day.
            or_day: Option<i32>,
        },
        /// When the ferment is finished.
        Finished {
            /// Days after that.
            days: i32,
            /// Not before this day.
            not_before: Option<i32>,
        },
        /// Some days after another step of the same batch was done.
        After {
            /// Key of that step.
            step: String,
            /// Days after it.
            days: i32,
        },
        /// When gravity has not moved for some days.
        Stable {
            /// Days of standing still.
            days: i32,
        },
    }
}

tagged! {
    TooLate as "TooLate" by "when":
    /// From when on doing the step would do more harm than leaving it.
    #[derive(Debug, Clone, Copy, PartialEq)]
    {
        /// Never.
        Never,
        /// Once a share of the sugar is gone, or the alcohol has reached a strength.
        SugarGone {
            /// Share of the sugar.
            share: Share,
            /// Alcohol in % vol, where that counts too.
            abv: Option<f64>,
        },
        /// From a day of the batch on.
        Day {
            /// First day on which it is too late.
            day: i32,
        },
        /// Some days after it was due.
        DaysAfterDue {
            /// How many.
            days: i32,
        },
    }
}

tagged! {
    StepStatus as "StepStatus" by "is":
    /// What became of a step.
    #[derive(Debug, Clone, PartialEq)]
    {
        /// Still to do.
        Open,
        /// Done.
        Done {
            /// When.
            at: Moment,
        },
        /// Left out on purpose.
        Skipped {
            /// When that was said.
            at: Moment,
            /// Why.
            reason: String,
        },
    }
}

/// What every step of a routine says, before it belongs to a batch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StepRule {
    /// Unique within its routine; other steps hang on it by this.
    pub key: String,
    /// One line: `swirl for 2 minutes and feed`.
    pub title: String,
    /// What it does.
    pub kind: StepKind,
    /// When it may be done.
    pub opens: Opens,
    /// Days from opening to due (0: due on the day it opens).
    pub window: i32,
    /// Days after due during which lateness does no real harm.
    pub slack: i32,
    /// When it is too late.
    pub too_late: TooLate,
    /// Why it is done, one sentence.
    pub why: String,
    /// What lateness or leaving it out does, one sentence.
    pub harm: String,
    /// How harmful that is, 0 (nothing) to 3 (spoils or endangers).
    pub weight: u8,
    /// What to add, in words with amounts: `half a packet of nutrient`.
    pub amount: String,
    /// A countdown in seconds, where the step wants the clock.
    pub countdown: Option<u32>,
    /// Order within a day.
    pub order: i32,
}

/// A step of one batch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// Row number.
    pub id: StepId,
    /// Whose.
    pub batch: BatchId,
    /// What and when.
    pub rule: StepRule,
    /// What became of it.
    pub status: StepStatus,
    /// The day the maker moved it to; overrides the rule's opening.
    pub moved_to: Option<NaiveDate>,
}

impl Step {
    /// Whether it is still to do.
    pub fn is_open(&self) -> bool {
        self.status == StepStatus::Open
    }
}
