use super::{
    Beside, DayTime, PointKind, StepFate, TrendCurve, TrendData, TrendEarlier, TrendPoint,
    TrendStep, day_time,
};
use crate::app::msg::Spot;
use crate::domain::records::{Dossier, Household, Stage, StepStatus};
use crate::domain::sums::{mass, refractometer};
use crate::domain::units::{Celsius, Days, Grams, Gravity, GravityDelta, Moment, Share};
use crate::engine::facts::{self, Told};
use crate::engine::stories::Story;
use crate::engine::{
    Account, Assessment, Due, EventKind, History, Observation, OriginalGravity, Seen, SuspicionWhy,
    WhatIf, assess, what_ifs,
};

/// Error of reading a hydrometer in a must that gives off gas, beside the step
/// of its scale: common practice, no source.
const HYDROMETER: f64 = 0.0010;
/// Error of a gravity from a refractometer in a ferment: 0.1 °Bx is about
/// 0.001, and the balance behind it about as much again (see `sums::refractometer`).
const REFRACTOMETER: f64 = 0.0020;
/// Error of a floating sensor, which foam and gas lift: common practice, no source.
const SENSOR: f64 = 0.0020;

impl TrendData {
    /// From what was written down of a batch and its account. Pure.
    pub fn gather(dossier: &Dossier, account: &Account, now: Moment) -> Self {
        let (told, assessment) = (&account.told, &account.assessment);
        let start = told
            .facts
            .pitched
            .or(dossier.batch.pitched)
            .unwrap_or(dossier.batch.created);
        let mut data = Self::empty(start.day(), now);
        let time = |at: Moment| day_time(start.day(), at);
        data.points = points(told, assessment, &time);
        data.curve = assessment
            .curve
            .iter()
            .map(|c| TrendCurve {
                at: time(c.at),
                gravity: c.gravity,
            })
            .collect();
        data.finish = account.finish.map(|f| f.map(time));
        data.end = account.figures.final_gravity;
        data.gravity = account.figures.likely;
        data.state = Some(account.state);
        data.steps = steps(dossier, &time);
        data.warmth = told
            .temperatures
            .iter()
            .map(|t| (time(t.at), t.celsius))
            .collect();
        data.band = dossier.batch.band;
        data
    }

    /// Adds the steps that are still to come, on the days where they are placed.
    #[must_use]
    pub fn with_dues<'a>(mut self, dues: impl IntoIterator<Item = &'a Due>) -> Self {
        let placed = dues.into_iter().map(|due| TrendStep {
            // At noon of its day.
            at: (due.due - self.first_day).num_days() as f64 + 0.5,
            name: due.title.clone(),
            fate: StepFate::Planned,
        });
        self.steps.extend(placed);
        self.steps.sort_by(|a, b| a.at.total_cmp(&b.at));
        self
    }

    /// Adds an earlier batch, laid over this one by its own days.
    pub fn add_earlier(&mut self, story: &Story) {
        let start = day_time(story.pitched.day(), story.pitched);
        self.earlier.push(TrendEarlier {
            name: story.name.clone(),
            line: story
                .trend
                .iter()
                .map(|(days, sg)| (start + days, Gravity::clamped(*sg)))
                .collect(),
        });
    }
}

/// The way a healthy ferment in the place of this one would go: what the
/// engine expects of the same must, yeast and temperatures before any reading.
/// It takes the engine as long as an assessment; none before the pitch.
pub fn healthy(told: &Told, history: &History) -> Vec<(DayTime, Gravity)> {
    let Some(pitched) = told.facts.pitched else {
        return Vec::new();
    };
    let mut facts = told.facts.clone();
    let first = told.gravities.first().map(|g| g.1);
    facts.og = facts.og.or(first.map(OriginalGravity::Measured));
    facts.stall_prior = Share::known(0.0);
    let healthy = assess(&facts, &[], &told.temperatures, history, pitched);
    healthy
        .curve
        .iter()
        .map(|c| (day_time(pitched.day(), c.at), c.gravity.p50))
        .collect()
}

/// The same for what lies in a vessel, with how finish and risk would move.
pub fn healthy_at(household: &Household, spot: Spot, history: &History, now: Moment) -> Beside {
    Beside {
        healthy: healthy_way(household, spot, history, now),
        what_ifs: Some(what_ifs_at(household, spot, history, now)),
    }
}

/// The way of a healthy ferment in the place of what lies in a vessel.
pub fn healthy_way(
    household: &Household,
    spot: Spot,
    history: &History,
    now: Moment,
) -> Vec<(DayTime, Gravity)> {
    let Some(dossier) = household.dossier(spot.batch) else {
        return Vec::new();
    };
    healthy(&facts::told(household, dossier, spot.vessel, now), history)
}

/// How finish and risk of what lies in a vessel would move.
pub fn what_ifs_at(
    household: &Household,
    spot: Spot,
    history: &History,
    now: Moment,
) -> Vec<WhatIf> {
    let Some(dossier) = household.dossier(spot.batch) else {
        return Vec::new();
    };
    if dossier.batch.stage == Stage::Fermenting {
        let told = facts::told(household, dossier, spot.vessel, now);
        what_ifs(
            &told.facts,
            &told.observations,
            &told.temperatures,
            history,
            now,
        )
    } else {
        Vec::new()
    }
}

fn points(told: &Told, assessment: &Assessment, time: &impl Fn(Moment) -> f64) -> Vec<TrendPoint> {
    let original = told.facts.og.map(OriginalGravity::gravity);
    let odd = |index: usize| {
        assessment.suspicious.iter().any(|s| {
            s.index == index
                && s.probability.get() >= 0.5
                && !matches!(s.why, SuspicionWhy::SaysLittle)
        })
    };
    let mut points: Vec<TrendPoint> = told
        .observations
        .iter()
        .enumerate()
        .filter_map(|(index, seen)| {
            let (kind, gravity, error) = gravity_of(seen, original)?;
            Some(TrendPoint {
                at: time(seen.at),
                gravity,
                error: GravityDelta::clamped(error),
                kind,
                odd: odd(index),
            })
        })
        .collect();
    points.extend(by_mass(told, time));
    points.sort_by(|a, b| a.at.total_cmp(&b.at));
    points
}

/// Gravity and its error, for what shows a gravity by itself.
fn gravity_of(seen: &Observation, original: Option<Gravity>) -> Option<(PointKind, Gravity, f64)> {
    match seen.seen {
        Seen::Hydrometer {
            gravity,
            resolution,
        } => {
            // Rounding to a step spreads by the step over the root of twelve.
            let error = HYDROMETER.hypot(resolution.get() / 12.0_f64.sqrt());
            Some((PointKind::Hydrometer, gravity, error))
        }
        Seen::Refractometer { brix, factor } => {
            let brix = refractometer::true_brix(brix, factor).ok()?;
            let in_ferment = refractometer::with_original(brix, original?).ok()?;
            Some((PointKind::Refractometer, in_ferment.gravity, REFRACTOMETER))
        }
        Seen::Sensor { gravity } => Some((PointKind::Sensor, gravity, SENSOR)),
        Seen::Mass { .. } | Seen::Acidity { .. } => None,
    }
}

/// Gravities from the mass that went off as gas since the first weighing, as
/// long as nothing else was added or taken out.
fn by_mass(told: &Told, time: &impl Fn(Moment) -> f64) -> Vec<TrendPoint> {
    let (Some(og), Some(volume)) = (told.facts.og, told.facts.volume) else {
        return Vec::new();
    };
    let weighed = told.observations.iter().filter_map(|o| match o.seen {
        Seen::Mass { grams, resolution } => Some((o.at, grams, resolution)),
        _ => None,
    });
    let mut weighed = weighed.collect::<Vec<_>>().into_iter();
    let Some((start, full, _)) = weighed.next() else {
        return Vec::new();
    };
    let changed = told.facts.events.iter().filter(|e| changes_mass(e.kind));
    let until = changed.map(|e| e.at).filter(|at| *at > start).min();
    let lost = |(at, grams, resolution): (Moment, Grams, Grams)| {
        let loss = Grams::new(full.get() - grams.get()).ok()?;
        let celsius = warmth_at(told, at);
        let days = Days::clamped(at.days_since(start));
        let lost = mass::from_loss(og.gravity(), volume, loss, resolution, celsius, days).ok()?;
        Some(TrendPoint {
            at: time(at),
            gravity: Gravity::clamped(lost.gravity.value),
            error: GravityDelta::clamped(lost.gravity.plus_minus),
            kind: PointKind::Mass,
            odd: false,
        })
    };
    weighed
        .take_while(|w| until.is_none_or(|end| w.0 < end))
        .filter_map(lost)
        .collect()
}

const fn changes_mass(kind: EventKind) -> bool {
    matches!(
        kind,
        EventKind::SugarAdded { .. }
            | EventKind::FruitAdded { .. }
            | EventKind::Diluted { .. }
            | EventKind::Blended { .. }
            | EventKind::Racked
    )
}

/// The last temperature before a time, else the usual one, else 20 °C.
fn warmth_at(told: &Told, at: Moment) -> Celsius {
    let before = told.temperatures.iter().rev().find(|t| t.at <= at);
    before
        .map(|t| t.celsius)
        .or(told.facts.usual_temperature)
        .unwrap_or(Celsius::known(20.0))
}

fn steps(dossier: &Dossier, time: &impl Fn(Moment) -> f64) -> Vec<TrendStep> {
    let mut steps: Vec<TrendStep> = dossier
        .steps
        .iter()
        .filter_map(|step| {
            let (at, fate) = match &step.status {
                StepStatus::Done { at } => (*at, StepFate::Done),
                StepStatus::Skipped { at, .. } => (*at, StepFate::Skipped),
                StepStatus::Open => return None,
            };
            Some(TrendStep {
                at: time(at),
                name: step.rule.title.clone(),
                fate,
            })
        })
        .collect();
    steps.sort_by(|a, b| a.at.total_cmp(&b.at));
    steps
}
