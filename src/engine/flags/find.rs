//! Finding what is not as it should be.

use super::{Flag, HEAT};
use crate::domain::records::{
    Dossier, EventKind, Measure, Reading, Settings, Stage, StepKind, StepStatus, Subject,
};
use crate::domain::units::{Abv, Celsius, CelsiusDelta, Gravity, GravityDelta, Moment, Share};
use crate::engine::account::{Figures, Flat};
use crate::engine::facts::Told;
use crate::engine::schedule::{Due, Plan, Standing, Timing, Waits};
use crate::engine::{
    Assessment, BottlingHold, EventKind as Happened, FermentState, Headline, OriginalGravity,
    Question,
};

/// A fall that counts as a start, in gravity: common practice, no source.
const START: f64 = 0.002;
/// Hours after which a start is wanted; longer in the cold or with much sugar:
/// common practice, no source.
const START_HOURS: (f64, f64) = (48.0, 72.0);
/// Colder than this is cold for a start, in °C; above this gravity a must is
/// heavy: common practice, no source.
const SLOW_START: (f64, f64) = (16.0, 1.110);
/// No fall: at most so much gravity in at least so many days: common practice, no source.
const FLAT: (f64, f64) = (0.001, 3.0);
/// So far above the end there is sugar left: common practice, no source.
const SUGAR_LEFT: f64 = 0.005;
/// So close to its tolerance a yeast is at its end, in % vol: common practice, no source.
const NEAR_TOLERANCE: f64 = 1.0;
/// A change of temperature within a day that counts as a swing, in K: common practice, no source.
const SWING: f64 = 3.0;
/// Days that a temperature is looked back for, and days after which it says nothing of now.
const LOOK_BACK: f64 = 3.0;
/// Days for which a bottled batch is still watched: what ferments on in a warm
/// bottle has done so by then. Common practice, no source.
const BOTTLE_WATCH: f64 = 60.0;
/// Chance of a fall in the bottle from which on it is said.
const BOTTLE_CHANCE: f64 = 0.2;

/// What the flags of one batch are found from.
pub(crate) struct Look<'a> {
    pub(crate) dossier: &'a Dossier,
    pub(crate) told: &'a Told,
    pub(crate) assessment: &'a Assessment,
    pub(crate) figures: &'a Figures,
    pub(crate) flat: Option<Flat>,
    pub(crate) plan: &'a Plan,
    pub(crate) dues: &'a [Due],
    pub(crate) settings: &'a Settings,
    pub(crate) now: Moment,
}

impl Look<'_> {
    /// All flags, worst first.
    pub(crate) fn flags(&self) -> Vec<Flag> {
        let mut flags = Vec::new();
        flags.extend(self.bottled_unfinished());
        if self.dossier.batch.stage < Stage::Bottled {
            flags.extend(self.ferment());
        }
        if self.fermenting() {
            flags.extend(self.heat());
            flags.extend(self.band());
            flags.extend(self.swing());
        }
        if self.fermenting() || self.waits_for_proof() {
            flags.extend(self.no_reading());
        }
        flags.extend(self.dues.iter().filter_map(|d| self.late(d)));
        // Stable: among equals the order above stands.
        flags.sort_by_key(|f| std::cmp::Reverse(f.weight()));
        flags
    }

    fn fermenting(&self) -> bool {
        self.dossier.batch.stage == Stage::Fermenting
            && self.told.facts.pitched.is_some()
            && self.assessment.headline != Headline::Clear(FermentState::Finished)
    }

    /// Bottling could begin, did readings only prove that it is done.
    fn waits_for_proof(&self) -> bool {
        self.plan.placed.iter().any(|p| {
            self.dossier.steps[p.index].rule.kind == StepKind::Bottle
                && p.standing == Standing::Open
                && p.waits == Some(Waits::Stable)
                && p.opens <= self.now.day()
        })
    }

    fn end(&self) -> Option<Gravity> {
        self.figures.expected_end
    }

    fn last(&self) -> Option<Gravity> {
        self.told.gravities.last().map(|(_, g)| *g)
    }

    /// Not started, stuck, or flat: the one of them that says most.
    fn ferment(&self) -> Option<Flag> {
        self.told.facts.pitched?;
        self.never_started()
            .or_else(|| self.stuck())
            .or_else(|| self.no_fall())
    }

    fn stuck(&self) -> Option<Flag> {
        let report = &self.assessment.stuck;
        let clear = self.assessment.headline == Headline::Clear(FermentState::Stuck);
        if !clear && report.probability.get() < 0.5 {
            return None;
        }
        // Where the last reading fell, it is not said that there was no fall.
        let next = self.assessment.next_reading;
        let moves = next.is_some_and(|n| n.settles == Question::MovingAgain);
        Some(Flag::Stuck {
            probability: report.probability,
            gravity: self.figures.gravity,
            end: self.end(),
            flat: self.flat.filter(|_| !moves),
        })
    }

    fn never_started(&self) -> Option<Flag> {
        if self.dossier.batch.stage != Stage::Fermenting {
            return None;
        }
        let pitched = self.told.facts.pitched?;
        let (at, to) = *self.told.gravities.last()?;
        let from = self.told.facts.og.map(OriginalGravity::gravity)?;
        let measured = matches!(self.told.facts.og, Some(OriginalGravity::Measured(_)));
        let slow = from.get() > SLOW_START.1
            || self
                .told
                .temperature
                .is_some_and(|(t, _)| t.get() < SLOW_START.0);
        let hours = if slow { START_HOURS.1 } else { START_HOURS.0 };
        // One reading that was kept in spite of a doubt is no evidence against the others.
        let runs = matches!(
            self.assessment.headline,
            Headline::Clear(FermentState::Active | FermentState::Slowing | FermentState::Finished)
        );
        if runs {
            return None;
        }
        let days = at.days_since(pitched);
        (measured && days * 24.0 >= hours && from.get() - to.get() < START)
            .then_some(Flag::NeverStarted { days, from, to })
    }

    fn no_fall(&self) -> Option<Flag> {
        if self.dossier.batch.stage != Stage::Fermenting
            || self.assessment.headline == Headline::Clear(FermentState::Finished)
            || self.at_tolerance()
        {
            return None;
        }
        let (at, gravity) = *self.told.gravities.last()?;
        let end = self.end()?;
        let (before, then) = *self
            .told
            .gravities
            .iter()
            .rev()
            .find(|(t, _)| at.days_since(*t) >= FLAT.1)
            .filter(|(t, _)| !self.changed_between(*t, at))?;
        let fell = then.get() - gravity.get();
        (fell <= FLAT.0 + 1e-9 && gravity.get() > end.get() + SUGAR_LEFT).then(|| Flag::NoFall {
            fell: GravityDelta::clamped(fell),
            days: at.days_since(before),
            gravity,
            end,
        })
    }

    /// Something that moves gravity went in between: the two say nothing of yeast.
    fn changed_between(&self, from: Moment, to: Moment) -> bool {
        self.told.facts.events.iter().any(|e| {
            e.at >= from
                && e.at <= to
                && matches!(
                    e.kind,
                    Happened::SugarAdded { .. }
                        | Happened::FruitAdded { .. }
                        | Happened::Diluted { .. }
                        | Happened::Blended { .. }
                )
        })
    }

    fn at_tolerance(&self) -> bool {
        let abv = self.figures.alcohol.map(Abv::get);
        abv.zip(self.told.facts.yeast.tolerance)
            .is_some_and(|(now, limit)| now >= limit.get() - NEAR_TOLERANCE)
    }

    fn bottled_unfinished(&self) -> Option<Flag> {
        let batch = &self.dossier.batch;
        let gate = &self.assessment.bottling;
        let risky = gate.holds.iter().any(|h| {
            matches!(
                h,
                BottlingHold::LikelyToFall { .. } | BottlingHold::Stuck { .. }
            )
        }) && gate.refermentation.get() >= BOTTLE_CHANCE;
        if !risky && !self.sugar_is_left() {
            return None;
        }
        let bottled = match batch.stage {
            Stage::Bottled => Some(
                batch
                    .bottled
                    .filter(|b| self.now.days_since(*b) <= BOTTLE_WATCH)?,
            ),
            Stage::Closed => return None,
            _ if self.on_its_way_to_bottles() => None,
            _ => return None,
        };
        Some(Flag::BottledUnfinished {
            bottled,
            chance: Share::clamped(gate.refermentation.get()),
            gravity: self.figures.gravity,
            end: self.end(),
        })
    }

    /// By the last gravity alone, for what was not made safe.
    fn sugar_is_left(&self) -> bool {
        let safe = self
            .told
            .facts
            .events
            .iter()
            .any(|e| e.kind == Happened::Stabilised);
        let above = self
            .last()
            .zip(self.end())
            .is_some_and(|(now, end)| now.get() > end.get() + SUGAR_LEFT);
        let finished = self.assessment.headline == Headline::Clear(FermentState::Finished);
        above && !safe && !finished && !self.at_tolerance()
    }

    /// Sugar for gas is in, or bottling is marked as done or moved to today.
    fn on_its_way_to_bottles(&self) -> bool {
        let primed =
            self.dossier.events.iter().any(|e| {
                matches!(e.kind, EventKind::Prime | EventKind::Bottle) && e.at <= self.now
            });
        primed
            || self
                .dossier
                .steps
                .iter()
                .filter(|s| s.rule.kind == StepKind::Bottle)
                .any(|s| match s.status {
                    StepStatus::Done { .. } => true,
                    StepStatus::Open => s.moved_to.is_some_and(|d| d <= self.now.day()),
                    StepStatus::Skipped { .. } => false,
                })
    }

    /// Temperatures of the last days, as (of what, when, how warm).
    fn recent(&self) -> Vec<(Subject, Moment, Celsius)> {
        let all = self
            .dossier
            .readings
            .iter()
            .chain(&self.dossier.place_readings);
        let mut out: Vec<_> = all.filter_map(|r| self.temperature(r)).collect();
        out.sort_by_key(|(_, at, _)| *at);
        out
    }

    fn temperature(&self, r: &Reading) -> Option<(Subject, Moment, Celsius)> {
        let recent = r.at <= self.now && self.now.days_since(r.at) <= LOOK_BACK;
        match r.seen.measure() {
            Measure::Temperature(t) if recent => Some((r.subject, r.at, t)),
            _ => None,
        }
    }

    fn heat(&self) -> Option<Flag> {
        let (_, at, peak) = self
            .recent()
            .into_iter()
            .max_by(|a, b| a.2.get().total_cmp(&b.2.get()))?;
        (peak >= HEAT).then_some(Flag::Heat { peak, at })
    }

    fn band(&self) -> Option<Flag> {
        let band = self.dossier.batch.band?;
        let (now, at) = self.told.temperature?;
        if self.now.days_since(at) > LOOK_BACK || now >= HEAT {
            return None;
        }
        // A rise that the routine asks for is no trouble.
        let meant = self.dossier.steps.iter().any(|s| {
            s.rule.kind == StepKind::Temperature && matches!(s.status, StepStatus::Done { .. })
        });
        let outside = now < band.low || (now > band.high && !meant);
        let beyond = now < band.min || (now > band.max && !meant);
        let (low, high) = if beyond {
            (band.min, band.max)
        } else {
            (band.low, band.high)
        };
        outside.then_some(Flag::OutsideBand {
            now,
            at,
            low,
            high,
            beyond,
        })
    }

    fn swing(&self) -> Option<Flag> {
        let points = self.recent();
        let mut worst: Option<(f64, f64, Moment)> = None;
        for (i, (of, from, a)) in points.iter().enumerate() {
            for (also, to, b) in &points[i + 1..] {
                let hours = to.days_since(*from) * 24.0;
                if of != also || hours > 24.0 {
                    continue;
                }
                let by = b.get() - a.get();
                if by.abs() >= SWING && worst.is_none_or(|(w, ..)| by.abs() > w.abs()) {
                    worst = Some((by, hours, *to));
                }
            }
        }
        worst.map(|(by, hours, at)| Flag::Swing {
            by: CelsiusDelta::clamped(by),
            hours,
            at,
        })
    }

    fn no_reading(&self) -> Option<Flag> {
        if self.plan.rest.is_some_and(|r| r.under_way) {
            return None;
        }
        let pitched = self.told.facts.pitched?;
        let wanted = self.settings.reading_gap_days;
        let seen = self
            .told
            .observations
            .iter()
            .filter(|o| !matches!(o.seen, crate::engine::Seen::Acidity { .. }))
            .map(|o| o.at)
            .next_back();
        let days = self
            .now
            .days_since(seen.map_or(pitched, |s| s.max(pitched)));
        (days > f64::from(wanted)).then_some(Flag::NoReading {
            days,
            wanted,
            never: seen.is_none(),
        })
    }

    fn late(&self, due: &Due) -> Option<Flag> {
        if due.weight == 0 {
            return None;
        }
        match due.timing {
            Timing::Late | Timing::Overdue => Some(Flag::StepLate {
                step: due.step,
                kind: due.kind,
                title: due.title.clone(),
                due: due.due,
                days: (self.now.day() - due.due).num_days(),
                overdue: due.timing == Timing::Overdue,
                harm: due.harm.clone(),
                weight: due.weight,
            }),
            Timing::TooLate => {
                let placed = self
                    .plan
                    .placed
                    .iter()
                    .find(|p| self.dossier.steps[p.index].id == due.step)?;
                Some(Flag::StepTooLate {
                    step: due.step,
                    title: due.title.clone(),
                    why: placed.past_use?,
                })
            }
            _ => None,
        }
    }
}
