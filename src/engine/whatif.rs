use super::assess::with_future;
use super::{Assessment, Facts, FermentState, History, Observation, TemperaturePoint, assess};
use crate::domain::units::{Celsius, CelsiusDelta, GravityDelta, Moment, Share};

/// One thing that could be changed today.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// Nothing.
    LeftAlone,
    /// Warmer (or, negative, cooler) by so much from now on.
    Warmer(CelsiusDelta),
    /// Fed now, with yeast-derived nutrient.
    Fed,
}

/// How finish and risk would move. `after` equals `before` where the model
/// honestly knows of no effect.
#[derive(Debug, Clone, PartialEq)]
pub struct WhatIf {
    /// What is changed.
    pub change: Change,
    /// Days by which the middle finish moves: negative is sooner. `None` when
    /// there is no finish to move.
    pub finish_moves_days: Option<f64>,
    /// Probability of being stuck in the end, before and after.
    pub risk: (Share, Share),
    /// Movement of the middle final gravity.
    pub end_moves: GravityDelta,
    /// What is not known of this change.
    pub caveat: Option<Caveat>,
    /// The assessment after the change.
    pub after: Assessment,
}

/// What the model does not know of a change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Caveat {
    /// Warming helps a stuck ferment only where cold was the cause.
    HelpsOnlyIfCold,
    /// It would stand above the yeast's band.
    TooWarm,
    /// Feeding helps only where nitrogen was short; late it helped in part in one trial.
    HelpsOnlyIfHungry,
    /// There are too few readings to say.
    TooFewReadings,
}

/// How finish and risk move if one thing is changed now.
///
/// Warmth acts on the pace from now on; it lifts a stop only where cold alone
/// holds the ferment. Feeding has no measured effect in the model: in one trial
/// late nitrogen helped in part, so no figure is moved and the caveat says it.
pub fn what_if(
    facts: &Facts,
    readings: &[Observation],
    temperatures: &[TemperaturePoint],
    history: &History,
    now: Moment,
    change: Change,
) -> WhatIf {
    let before = assess(facts, readings, temperatures, history, now);
    let warmer = |to| with_future(facts, readings, temperatures, history, now, Some(to));
    changed(facts, &before, change, warmer)
}

/// The same where it is known what stands before the change.
fn changed(
    facts: &Facts,
    before: &Assessment,
    change: Change,
    at: impl Fn(f64) -> Assessment,
) -> WhatIf {
    let here = before
        .rate
        .and_then(|r| r.temperature)
        .map_or(20.0, Celsius::get);
    let after = match change {
        Change::Warmer(by) => at(here + by.get()),
        Change::LeftAlone | Change::Fed => before.clone(),
    };
    let middle = |a: &Assessment| a.finish.map(|f| f.p50);
    let finish_moves_days = match (middle(before), middle(&after)) {
        (Some(b), Some(a)) => Some(a.days_since(b)),
        _ => None,
    };
    let end = |a: &Assessment| a.final_gravity.map_or(0.0, |g| g.p50.get());
    WhatIf {
        change,
        finish_moves_days,
        risk: (before.stuck.ever, after.stuck.ever),
        end_moves: GravityDelta::clamped(end(&after) - end(before)),
        caveat: caveat(facts, before, change, here),
        after,
    }
}

/// The changes worth asking about while a ferment is under way: 2 °C warmer,
/// fed now, left alone. Empty before the pitch and once it is surely finished.
pub fn what_ifs(
    facts: &Facts,
    readings: &[Observation],
    temperatures: &[TemperaturePoint],
    history: &History,
    now: Moment,
) -> Vec<WhatIf> {
    if facts.pitched.is_none() {
        return Vec::new();
    }
    let before = assess(facts, readings, temperatures, history, now);
    let warmer = |to| with_future(facts, readings, temperatures, history, now, Some(to));
    let ask = |change| changed(facts, &before, change, warmer);
    let alone = ask(Change::LeftAlone);
    if alone.after.states.of(FermentState::Finished).get() > 0.8 {
        return Vec::new();
    }
    let warmer = ask(Change::Warmer(CelsiusDelta::known(2.0)));
    vec![alone, warmer, ask(Change::Fed)]
}

/// Practice: never above this.
const WARMEST: f64 = 27.0;

fn caveat(facts: &Facts, before: &Assessment, change: Change, here: f64) -> Option<Caveat> {
    if before.final_gravity.is_none() || before.curve.is_empty() {
        return Some(Caveat::TooFewReadings);
    }
    let stuck = before.stuck.probability.get() > 0.5;
    match change {
        Change::LeftAlone => None,
        Change::Fed => Some(Caveat::HelpsOnlyIfHungry),
        Change::Warmer(by) => {
            let top = facts.yeast.band.map_or(WARMEST, |b| b.high.get());
            if here + by.get() > top {
                Some(Caveat::TooWarm)
            } else {
                stuck.then_some(Caveat::HelpsOnlyIfCold)
            }
        }
    }
}
