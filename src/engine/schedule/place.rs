//! From rules to days.

use super::ground::{Ground, plus};
use super::{Rest, Timing, Waits, Warning};
use crate::domain::records::{Opens, Stage, Step, StepKind, StepStatus, TooLate};
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
    /// A later step of its kind has opened and takes its place.
    Replaced,
    /// Of no use at the stage that the batch is in.
    Moot,
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
struct Opening {
    day: NaiveDate,
    forecast: bool,
    waits: Option<Waits>,
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
    ground: Ground<'a>,
    by_key: HashMap<&'a str, usize>,
    openings: Vec<Option<Opening>>,
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

    fn step(&self, index: usize) -> &'a Step {
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
        Placed {
            index,
            standing,
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

    fn opening(&mut self, index: usize) -> Opening {
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
        let finish = ground.assessment.finish.map(|f| ground.local_day(f.p50));
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
                let day = plus(ground.local_day(since), days);
                if ground.local_day(until) >= day {
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
                    .gravity_read_since(opening.day)
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

    /// Bottling, and what else is done at the end, waits for the rests before it.
    fn waits_for_rests(&self, index: usize) -> bool {
        let rule = &self.step(index).rule;
        rule.kind == StepKind::Bottle
            || (rule.kind != StepKind::Rest
                && matches!(rule.opens, Opens::Finished { .. } | Opens::Stable { .. }))
    }

    /// Whether a step is bottling, or belongs to bottling day: its rule is the same.
    fn bottling_day(&self, index: usize) -> bool {
        let rule = &self.step(index).rule;
        rule.kind == StepKind::Bottle
            || self
                .ground
                .dossier
                .steps
                .iter()
                .any(|s| s.rule.kind == StepKind::Bottle && s.rule.opens == rule.opens)
    }

    /// Bottling has no sure day while its gate is shut.
    fn held(&self, opening: Opening) -> Opening {
        if self.ground.pitched().is_none() || self.ground.assessment.bottling.open() {
            return opening;
        }
        Opening {
            day: opening.day.max(self.ground.today()),
            forecast: true,
            waits: opening.waits.or(Some(Waits::Stable)),
        }
    }

    fn after_rests(&mut self, bottle: usize, opening: Opening) -> Opening {
        let rests: Vec<usize> = (0..bottle)
            .filter(|&i| {
                let step = self.step(i);
                step.rule.kind == StepKind::Rest
                    && !matches!(step.status, StepStatus::Skipped { .. })
            })
            .collect();
        let mut latest = opening;
        for index in rests {
            let rest = self.opening(index);
            let (_, end) = self.rest_days(index, rest);
            if end > latest.day {
                latest = Opening {
                    day: end,
                    forecast: latest.forecast || rest.forecast,
                    waits: latest.waits.or(self.resting(end, rest)),
                };
            } else if rest.waits.is_some() {
                latest.forecast = true;
                latest.waits = latest.waits.or(Some(Waits::Rest));
            }
        }
        latest
    }

    /// A rest that is over holds nothing up.
    fn resting(&self, end: NaiveDate, rest: Opening) -> Option<Waits> {
        (end > self.ground.today() || rest.waits.is_some()).then_some(Waits::Rest)
    }

    /// First and last day of a rest; whatever disturbs it begins it anew.
    fn rest_days(&self, index: usize, opening: Opening) -> (NaiveDate, NaiveDate) {
        let start = if opening.waits.is_none() {
            self.ground
                .disturbed_since(opening.day)
                .map_or(opening.day, |d| d.max(opening.day))
        } else {
            opening.day
        };
        let length = i64::from(self.step(index).rule.window.max(0));
        (start, plus(start, length))
    }

    /// The rest that is under way, or the next one to come.
    fn rest(&mut self) -> Option<Rest> {
        let candidates: Vec<usize> = (0..self.openings.len())
            .filter(|&i| {
                let step = self.step(i);
                step.rule.kind == StepKind::Rest
                    && !matches!(step.status, StepStatus::Skipped { .. })
            })
            .collect();
        candidates.into_iter().find_map(|index| {
            let opening = self.opening(index);
            let (start, end) = self.rest_days(index, opening);
            let today = self.ground.today();
            (today < end && self.ground.dossier.batch.stage < Stage::Bottled).then_some(Rest {
                step: self.step(index).id,
                from: start,
                until: end,
                under_way: opening.waits.is_none() && start <= today,
                days: i64::from(self.step(index).rule.window.max(0)),
            })
        })
    }

    fn standing(&self, index: usize, opening: Opening) -> Standing {
        let step = self.step(index);
        match step.status {
            StepStatus::Done { .. } => return Standing::Done,
            StepStatus::Skipped { .. } => return Standing::Skipped,
            StepStatus::Open => {}
        }
        if self.settled(index, opening) {
            Standing::Settled
        } else if self.moot(step.rule.kind, index) {
            Standing::Moot
        } else {
            Standing::Open
        }
    }

    fn settled(&self, index: usize, opening: Opening) -> bool {
        let rule = &self.step(index).rule;
        let before_pitch = matches!(rule.opens, Opens::Day { day } if day < 1)
            || (matches!(rule.opens, Opens::Day { day: 1 })
                && self.ground.pitch_order().is_some_and(|o| rule.order <= o));
        let pitched = self.ground.pitched().is_some();
        match rule.kind {
            StepKind::Read if before_pitch => self.ground.og_measured(),
            StepKind::Read => {
                pitched
                    && opening.day <= self.ground.today()
                    && self.ground.gravity_read_since(opening.day).is_some()
            }
            StepKind::Rest => {
                opening.waits.is_none() && self.ground.today() >= self.rest_days(index, opening).1
            }
            StepKind::Bottle => self.ground.dossier.batch.stage >= Stage::Bottled,
            StepKind::Feed | StepKind::SwirlFeed => false,
            _ => pitched && before_pitch,
        }
    }

    /// What is past with the ferment is past.
    fn moot(&self, kind: StepKind, index: usize) -> bool {
        use StepKind as K;
        let wakes_yeast = matches!(
            kind,
            K::Swirl | K::Feed | K::SwirlFeed | K::Aerate | K::Cap | K::Pitch
        );
        let before_bottles = self
            .ground
            .dossier
            .steps
            .iter()
            .position(|s| s.rule.kind == K::Bottle)
            .is_none_or(|b| index < b);
        match self.ground.dossier.batch.stage {
            Stage::Planned | Stage::Fermenting => false,
            Stage::Resting | Stage::Ageing => wakes_yeast,
            Stage::Bottled => before_bottles,
            Stage::Closed => true,
        }
    }

    fn past_use(&self, index: usize, opens: NaiveDate, due: NaiveDate) -> Option<PastUse> {
        let step = self.step(index);
        let today = self.ground.today();
        self.ground.pitched()?;
        match step.rule.too_late {
            TooLate::Never => None,
            TooLate::SugarGone { share, abv } => {
                if let Some(gone) = self.ground.sugar_gone().filter(|g| *g >= share) {
                    return Some(PastUse::SugarGone { gone, limit: share });
                }
                let (now, limit) = self.ground.abv().zip(abv)?;
                (now >= limit).then_some(PastUse::Strong { abv: now, limit })
            }
            TooLate::Day { day } => {
                // A step that was moved takes its last day along.
                let moved = match (step.moved_to, &step.rule.opens) {
                    (Some(_), Opens::Day { day }) => {
                        (opens - self.ground.date_of(*day)).num_days().max(0)
                    }
                    _ => 0,
                };
                let last = plus(self.ground.date_of(day), moved - 1);
                (today > last).then_some(PastUse::DayPast { last })
            }
            TooLate::DaysAfterDue { days } => {
                let last = plus(due, i64::from(days));
                (today > last).then_some(PastUse::DayPast { last })
            }
        }
    }

    fn timing(
        &self,
        index: usize,
        opening: Opening,
        due: NaiveDate,
        overdue_after: NaiveDate,
        past_use: Option<PastUse>,
    ) -> Timing {
        let today = self.ground.today();
        let rule = &self.step(index).rule;
        if past_use.is_some() {
            return Timing::TooLate;
        }
        let hands_off = opening.waits.is_some();
        if today < opening.day || hands_off {
            let ahead = (opening.day - today).num_days();
            return if ahead <= 7 {
                Timing::Soon
            } else {
                Timing::Later
            };
        }
        let held = rule.kind == StepKind::Bottle && !self.ground.assessment.bottling.open();
        if rule.kind == StepKind::Rest || held || today <= due {
            Timing::InWindow
        } else if today <= overdue_after {
            Timing::Late
        } else {
            Timing::Overdue
        }
    }

    /// Of several readings, swirls or cap-wettings that are open, only the
    /// newest is still wanted.
    fn replace_older(&self, placed: &mut [Placed]) {
        let today = self.ground.today();
        let repeats = [StepKind::Read, StepKind::Swirl, StepKind::Cap];
        for kind in repeats {
            let open: Vec<usize> = placed
                .iter()
                .filter(|p| p.standing == Standing::Open && p.opens <= today)
                .filter(|p| self.step(p.index).rule.kind == kind)
                .map(|p| p.index)
                .collect();
            let newest = open.iter().copied().max_by_key(|&i| (placed[i].opens, i));
            for index in open {
                if Some(index) != newest {
                    placed[index].standing = Standing::Replaced;
                }
            }
        }
    }

    fn warning(&self, placed: &Placed, rest: Option<Rest>) -> Option<Warning> {
        if placed.standing != Standing::Open {
            return None;
        }
        if let Some(why) = placed.past_use {
            return Some(Warning::PastUse(why));
        }
        let kind = self.step(placed.index).rule.kind;
        let gate = &self.ground.assessment.bottling;
        if kind == StepKind::Bottle && !gate.open() {
            return Some(Warning::NotFinished {
                chance: (gate.refermentation.get() * 100.0).round() as u8,
                holds: gate.holds.len(),
            });
        }
        let rest = rest?;
        let instead = plus(self.ground.today(), rest.days);
        if kind.disturbs() && rest.under_way {
            return Some(Warning::BreaksRest {
                until: rest.until,
                instead,
            });
        }
        let late = matches!(placed.timing, Timing::Late | Timing::Overdue);
        (kind.disturbs() && late && self.hangs(rest, placed.index))
            .then_some(Warning::MovesRest { until: instead })
    }

    /// Whether the rest hangs on this step.
    fn hangs(&self, rest: Rest, index: usize) -> bool {
        self.ground
            .dossier
            .steps
            .iter()
            .find(|s| s.id == rest.step)
            .is_some_and(|s| {
                matches!(&s.rule.opens, Opens::After { step, .. } if *step == self.step(index).rule.key)
            })
    }
}
