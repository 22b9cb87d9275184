use super::{
    Assessment, BottlingGate, BottlingHold, Evidence, Facts, FermentState, Headline, History,
    Observation, StateProbabilities, StuckReport, TemperaturePoint,
};
use crate::domain::units::{Moment, Share};

/// Says what one ferment is doing, from its facts and readings, as of `now`.
///
/// Readings and temperatures may come in any order; those after `now` are left
/// out. Pure, deterministic, and takes any input without a panic.
pub fn assess(
    facts: &Facts,
    readings: &[Observation],
    temperatures: &[TemperaturePoint],
    history: &History,
    now: Moment,
) -> Assessment {
    let _ = (facts, readings, temperatures, history);
    Assessment {
        now,
        states: StateProbabilities {
            by_state: [1.0, 0.0, 0.0, 0.0, 0.0],
        },
        headline: Headline::Doubtful(FermentState::Lag, FermentState::Active),
        stuck: StuckReport {
            probability: facts.stall_prior,
            since: None,
            ever: facts.stall_prior,
        },
        gravity_now: None,
        final_gravity: None,
        finish: None,
        rate: None,
        alcohol: None,
        sugar_gone: None,
        suspicious: Vec::new(),
        evidence: vec![Evidence::FewReadings {
            count: readings.len(),
        }],
        causes: Vec::new(),
        advice: Vec::new(),
        curve: Vec::new(),
        next_reading: None,
        bottling: BottlingGate {
            refermentation: Share::known(1.0),
            holds: vec![BottlingHold::NotRepeated {
                readings: 0,
                days: 0.0,
                days_wanted: 7.0,
                readings_wanted: 3,
            }],
        },
        learned: None,
    }
}
