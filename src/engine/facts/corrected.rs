//! Readings with all known corrections.

use crate::domain::records::{Household, InstrumentKind, Measure, Reading};
use crate::domain::slip;
use crate::domain::units::{Brix, Celsius, Grams, Gravity, GravityDelta};
use crate::engine::Seen as Saw;

pub(super) fn sample_temperature(reading: &Reading) -> Option<Celsius> {
    match reading.sample_temp?.measure() {
        Measure::Temperature(t) => Some(t),
        _ => None,
    }
}

/// A reading's gravity, SG 20/20, with all known corrections; none for what is no
/// gravity.
pub fn corrected(
    household: &Household,
    reading: &Reading,
    original: Option<Gravity>,
) -> Option<Gravity> {
    let tool = slip::instrument_for(reading.seen, reading.instrument, &household.instruments);
    slip::corrected(reading.seen, reading.sample_temp, tool, original)
}

/// What the engine is told of a reading, whose gravity, put right, is this.
pub(super) fn saw(
    household: &Household,
    reading: &Reading,
    gravity: Option<Gravity>,
) -> Option<Saw> {
    let by = |kind| {
        let all = &household.instruments;
        match reading.instrument {
            Some(id) => all.iter().find(|i| i.id == id),
            None => all.iter().find(|i| i.kind == kind && i.preferred),
        }
    };
    let sensor = reading
        .instrument
        .and_then(|id| household.instruments.iter().find(|i| i.id == id))
        .is_some_and(|i| i.kind == InstrumentKind::Sensor);
    match reading.seen.measure() {
        Measure::Gravity(_) | Measure::Extract(_) => {
            let gravity = gravity?;
            Some(if sensor {
                Saw::Sensor { gravity }
            } else {
                let step = by(InstrumentKind::Hydrometer).map_or(0.001, |i| i.resolution);
                Saw::Hydrometer {
                    gravity,
                    resolution: GravityDelta::clamped(if step > 0.0 { step } else { 0.001 }),
                }
            })
        }
        Measure::Refraction(brix) => {
            let tool = by(InstrumentKind::Refractometer);
            let offset = tool.map_or(0.0, |i| i.offset);
            Some(Saw::Refractometer {
                brix: Brix::new(brix.get() - offset).unwrap_or(brix),
                factor: tool.map_or(1.0, |i| i.factor),
            })
        }
        Measure::Mass(grams) => Some(Saw::Mass {
            grams,
            resolution: Grams::clamped(by(InstrumentKind::Scale).map_or(1.0, |i| i.resolution)),
        }),
        Measure::Ph(ph) => Some(Saw::Acidity { ph }),
        _ => None,
    }
}
