//! From rules to days.

use super::ground::{Ground, plus};
use super::{Rest, Timing, Waits, Warning};
use crate::domain::records::{Opens, Step, StepKind, StepStatus};
use crate::engine::flags::PastUse;
use chrono::NaiveDate;
use std::collections::HashMap;

/// How a step stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Still to do.
    Open,
    /// Marked as done.
    Done,
    /// Left out on purpose.
    Skipped,
    /// Settled by something else: a reading, the pitch, the passing of the rest.
    Settled,
    /// A later step of its kind has opened, or was done, and takes its place.
    Replaced,
    /// Past its use for some days: nobody need be told of it any more.
    Lapsed,
    /// Of no use at the stage that the batch is in.
    Moot,
}

impl Standing {
    /// What became of a step that nobody marked, in a word or two.
    pub fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Done => "done",
            Self::Skipped => "left out",
            Self::Settled => "settled",
            Self::Replaced => "passed over",
            Self::Lapsed => "too late",
            Self::Moot => "no longer",
        }
    }
}

/// A step of a batch on its days.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Index in the dossier's steps.
    pub index: usize,
    /// How it stands.
    pub standing: Standing,
    /// First day on which it may be done.
    pub opens: NaiveDate,
    /// Day until which it is in time.
    pub due: NaiveDate,
    /// Last day on which lateness does no real harm.
    pub overdue_after: NaiveDate,
    /// How it stands to its day.
    pub timing: Timing,
    /// The day rests on a forecast.
    pub forecast: bool,
    /// What it waits for.
    pub waits: Option<Waits>,
    /// Why it is too late, if it is.
    pub past_use: Option<PastUse>,
    /// What speaks against doing it today.
    pub warning: Option<Warning>,
}

/// An opening day with what it rests on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Opening {
    pub(super) day: NaiveDate,
    pub(super) forecast: bool,
    pub(super) waits: Option<Waits>,
}

impl Opening {
    fn sure(day: NaiveDate) -> Self {
        Self {
            day,
            forecast: false,
            waits: None,
        }
    }

    fn ahead(day: NaiveDate, waits: Waits) -> Self {
        Self {
            day,
            forecast: true,
            waits: Some(waits),
        }
    }
}

/// Places all steps of a batch, and finds its rest.
pub(super) struct Placer<'a> {
    pub(super) ground: Ground<'a>,
    by_key: HashMap<&'a str, usize>,
    pub(super) openings: Vec<Option<Opening>>,
    working: Vec<bool>,
}

impl<'a> Placer<'a> {
    pub(super) fn new(ground: Ground<'a>) -> Self {
        let steps = &ground.dossier.steps;
        Self {
            ground,
            by_key: steps
                .iter()
                .enumerate()
                .map(|(i, s)| (s.rule.key.as_str(), i))
                .collect(),
            openings: vec![None; steps.len()],
            working: vec![false; steps.len()],
        }
    }

    pub(super) fn place_all(mut self) -> (Vec<Placed>, Option<Rest>) {
        let mut placed: Vec<Placed> = (0..self.openings.len()).map(|i| self.place(i)).collect();
        self.replace_older(&mut placed);
        let rest = self.rest();
        for p in &mut placed {
            p.warning = self.warning(p, rest);
        }
        (placed, rest)
    }

    pub(super) fn step(&self, index: usize) -> &'a Step {
        &self.ground.dossier.steps[index]
    }

    fn place(&mut self, index: usize) -> Placed {
        let opening = self.opening(index);
        let rule = &self.step(index).rule;
        let due = plus(opening.day, i64::from(rule.window.max(0)));
        let overdue_after = plus(due, i64::from(rule.slack.max(0)));
        let standing = self.standing(index, opening);
        let past_use = (standing == Standing::Open)
            .then(|| self.past_use(index, opening.day, due))
            .flatten();
        let lapsed = past_use.is_some_and(|p| self.lapsed(p, overdue_after));
        Placed {
            index,
            standing: if lapsed { Standing::Lapsed } else { standing },
            opens: opening.day,
            due,
            overdue_after,
            timing: self.timing(index, opening, due, overdue_after, past_use),
            forecast: opening.forecast,
            waits: opening.waits,
            past_use,
            warning: None,
        }
    }

    pub(super) fn opening(&mut self, index: usize) -> Opening {
        if let Some(known) = self.openings[index] {
            return known;
        }
        if std::mem::replace(&mut self.working[index], true) {
            // Steps that wait for each other: none of them gets a day.
            return self.tomorrow(Waits::Step);
        }
        let mut opening = self.by_rule(index);
        if self.step(index).moved_to.is_none() && self.waits_for_rests(index) {
            opening = self.after_rests(index, opening);
            if self.bottling_day(index) {
                opening = self.held(opening);
            }
        }
        self.working[index] = false;
        self.openings[index] = Some(opening);
        opening
    }

    fn tomorrow(&self, waits: Waits) -> Opening {
        Opening::ahead(plus(self.ground.today(), 1), waits)
    }

    fn by_rule(&mut self, index: usize) -> Opening {
        let step = self.step(index);
        // A rest that was marked has begun then; it ends by itself.
        if let (StepKind::Rest, StepStatus::Done { at }) = (step.rule.kind, &step.status) {
            return Opening::sure(at.day());
        }
        if let Some(day) = step.moved_to {
            return Opening::sure(day);
        }
        let ground = self.ground;
        match &step.rule.opens {
            Opens::Day { day } => match ground.pitched() {
                Some(_) => Opening::sure(ground.date_of(*day)),
                None => Opening {
                    day: ground.date_of(*day),
                    forecast: true,
                    waits: (*day > 1).then_some(Waits::Pitch),
                },
            },
            Opens::SugarGone { share, or_day } => {
                let latest = or_day.map(|d| ground.date_of(d));
                self.by_sugar(ground.share_reached(*share), latest)
            }
            Opens::Finished { days, not_before } => {
                let floor = not_before.map_or(NaiveDate::MIN, |d| ground.date_of(d));
                self.by_finish(i64::from(*days), floor)
            }
            Opens::After { step, days } => self.after(step, i64::from(*days)),
            Opens::Stable { days } => self.by_steadiness(i64::from(*days)),
        }
    }

    fn by_sugar(&self, reached: Option<(NaiveDate, bool)>, latest: Option<NaiveDate>) -> Opening {
        let unpitched = self.ground.pitched().is_none();
        match (reached, latest) {
            (Some((day, _)), Some(latest)) if latest < day => Opening::sure(latest),
            (Some((day, true)), _) => Opening::ahead(day, Waits::Sugar),
            (Some((day, false)), _) => Opening::sure(day),
            (None, Some(latest)) if unpitched => Opening::ahead(latest, Waits::Pitch),
            (None, Some(latest)) => Opening::sure(latest),
            (None, None) => self.tomorrow(Waits::Sugar),
        }
    }

    fn by_finish(&self, days: i64, floor: NaiveDate) -> Opening {
        let ground = self.ground;
        let finish = ground.assessment.finish.map(|f| f.p50.day());
        if ground.finished() {
            let ended = finish.map_or(ground.today(), |d| d.min(ground.today()));
            return Opening::sure(plus(ended, days).max(floor));
        }
        let soonest = plus(ground.today(), 1);
        let ended = finish.map_or(soonest, |d| d.max(soonest));
        let waits = if ground.pitched().is_some() {
            Waits::Finish
        } else {
            Waits::Pitch
        };
        Opening::ahead(plus(ended, days).max(floor), waits)
    }

    fn by_steadiness(&self, days: i64) -> Opening {
        let ground = self.ground;
        let under_way = ground.sugar_gone().is_some_and(|s| s.get() > 0.5) && !ground.stuck();
        match ground.steady() {
            Some((since, until)) if under_way => {
                let day = plus(since.day(), days);
                if until.day() >= day {
                    Opening::sure(day)
                } else {
                    Opening::ahead(day.max(plus(ground.today(), 1)), Waits::Stable)
                }
            }
            _ => Opening::ahead(plus(ground.today(), days.max(1)), Waits::Stable),
        }
    }

    /// Follows the step that it hangs on: the day that was done, or is to be done.
    fn after(&mut self, key: &str, days: i64) -> Opening {
        let Some(&index) = self.by_key.get(key) else {
            return self.tomorrow(Waits::Step);
        };
        let opening = self.opening(index);
        let (anchor, sure) = self.anchor(index, opening);
        let day = plus(anchor, days);
        if sure {
            Opening::sure(day)
        } else {
            Opening::ahead(day, opening.waits.unwrap_or(Waits::Step))
        }
    }

    /// The day on which a step was done, or would be done now at the soonest.
    fn anchor(&self, index: usize, opening: Opening) -> (NaiveDate, bool) {
        let rule = &self.step(index).rule;
        let due = plus(opening.day, i64::from(rule.window.max(0)));
        let today = self.ground.today();
        match (&self.step(index).status, self.standing(index, opening)) {
            (StepStatus::Skipped { at, .. }, _) => (at.day().min(due), true),
            // A rest is over when its last day has come.
            _ if rule.kind == StepKind::Rest => {
                let (_, end) = self.rest_days(index, opening);
                (end, opening.waits.is_none())
            }
            (StepStatus::Done { at }, _) => (at.day(), true),
            (_, Standing::Settled) if rule.kind == StepKind::Pitch => (self.ground.day_one(), true),
            (_, Standing::Settled) if rule.kind == StepKind::Bottle => (
                self.ground
                    .dossier
                    .batch
                    .bottled
                    .map_or(due, crate::domain::units::Moment::day),
                true,
            ),
            (_, Standing::Settled) if rule.kind == StepKind::Read => (
                self.ground
                    .gravity_read_for(self.step(index), opening.day)
                    .unwrap_or(opening.day),
                true,
            ),
            // What is no longer done left it alone since the last disturbance.
            (_, Standing::Moot) => (
                self.ground
                    .left_alone_since()
                    .map_or(opening.day, |d| d.min(opening.day)),
                true,
            ),
            (_, Standing::Settled) => (opening.day, true),
            // Too late: it will not be done, so nobody disturbed anything since it was due.
            _ if self.past_use(index, opening.day, due).is_some() => (due, true),
            _ => (opening.day.max(today), false),
        }
    }
}
