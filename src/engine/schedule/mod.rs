//! Places the steps of a batch on days, and says what lateness does.

mod ground;
mod late;
mod place;
mod rest;
mod standing;

use super::flags::PastUse;
use crate::domain::records::{BatchId, Dossier, StepId, StepKind, VesselId};
use crate::domain::units::{Moment, Share};
use chrono::NaiveDate;
pub use ground::Ground;
use place::Placer;
pub use place::{Placed, Standing};

/// A time of lying still before bottling.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rest {
    /// The step that asks for it.
    pub step: StepId,
    /// First day.
    pub from: NaiveDate,
    /// Day on which it is over.
    pub until: NaiveDate,
    /// It has begun.
    pub under_way: bool,
    /// How many days it lasts.
    pub days: i64,
}

/// All steps of a batch on their days.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// In the order of the dossier's steps, done ones too.
    pub placed: Vec<Placed>,
    /// The rest that is under way, or the next one.
    pub rest: Option<Rest>,
}

impl Plan {
    /// What doing something of this kind today, planned or not, would break.
    pub fn breaks(&self, kind: StepKind, now: Moment) -> Option<Warning> {
        let rest = self.rest.filter(|r| r.under_way && kind.disturbs())?;
        Some(Warning::BreaksRest {
            until: rest.until,
            instead: ground::plus(now.day(), rest.days),
        })
    }
}

/// Places the steps of a batch on days: by the calendar of the maker, by what
/// the engine says of the ferment, and by what was done and moved so far.
pub fn plan(ground: Ground<'_>) -> Plan {
    let (placed, rest) = Placer::new(ground).place_all();
    Plan { placed, rest }
}

/// The open steps of a plan as dues, worst lateness first.
pub fn dues(dossier: &Dossier, plan: &Plan, vessel: Option<VesselId>, tag: &str) -> Vec<Due> {
    let mut out: Vec<Due> = plan
        .placed
        .iter()
        .filter(|p| p.standing == Standing::Open)
        .map(|p| {
            let step = &dossier.steps[p.index];
            let rule = &step.rule;
            let rest = plan.rest.filter(|r| r.step == step.id);
            Due {
                step: step.id,
                batch: step.batch,
                vessel,
                tag: tag.to_owned(),
                title: rule.title.clone(),
                kind: rule.kind,
                opens: rest.map_or(p.opens, |r| r.from),
                due: rest.map_or(p.due, |r| r.until),
                overdue_after: rest.map_or(p.overdue_after, |r| r.until),
                timing: p.timing,
                forecast: p.forecast,
                waits: p.waits,
                weight: rule.weight,
                why: rule.why.clone(),
                harm: rule.harm.clone(),
                amount: rule.amount.clone(),
                countdown: rule.countdown,
                warning: p.warning.clone(),
                order: rule.order,
            }
        })
        .collect();
    out.sort_by(Due::by_harm);
    out
}

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

    /// In fewer words, in place of a day: `after the finish`.
    pub fn when(self) -> &'static str {
        match self {
            Self::Pitch => "after the pitch",
            Self::Finish => "after the finish",
            Self::Sugar => "when sugar is gone",
            Self::Stable => "at steady gravity",
            Self::Step => "after another step",
            Self::Rest => "after the rest",
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
    /// Bottling is on hold, for the reasons that the account gives.
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
            // Little chance by the model, but the readings don't prove it yet.
            Self::NotFinished { chance: ..5, .. } => {
                "Do not bottle yet: readings have to stand still for some days first, for a bottle that ferments can burst.".into()
            }
            Self::NotFinished { chance, .. } => format!(
                "Do not bottle yet: the chance that it ferments on in the bottle is {}, and a bottle that ferments can burst.",
                super::chance_of(Share::clamped(f64::from(*chance) / 100.0))
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
    /// Harm that waiting does now: a trifle that is long overdue stays below a
    /// grave step that is due today.
    pub fn score(&self) -> u32 {
        let weight = u32::from(self.weight.min(3));
        match self.timing {
            _ if self.kind == StepKind::Rest => 0,
            Timing::Overdue => 15 + 10 * weight,
            Timing::Late => 13 + 5 * weight,
            Timing::InWindow => 10 + 5 * weight,
            Timing::TooLate => 5,
            Timing::Soon | Timing::Later => 0,
        }
    }

    /// Most harm first, then by day, vessel and order within the day.
    pub fn by_harm(a: &Self, b: &Self) -> std::cmp::Ordering {
        b.score()
            .cmp(&a.score())
            .then_with(|| a.opens.cmp(&b.opens))
            .then_with(|| a.due.cmp(&b.due))
            .then_with(|| a.tag.cmp(&b.tag))
            .then_with(|| a.order.cmp(&b.order))
            .then_with(|| a.step.cmp(&b.step))
    }

    /// Whether it has to be done today: a step that is in time until tomorrow counts too,
    /// or a round a day would run late.
    pub fn presses(&self, today: NaiveDate) -> bool {
        self.wants_hands() && self.due <= ground::plus(today, 1)
    }

    /// Whether hands can do it today.
    pub fn wants_hands(&self) -> bool {
        matches!(
            self.timing,
            Timing::InWindow | Timing::Late | Timing::Overdue
        ) && self.kind != StepKind::Rest
    }
}
