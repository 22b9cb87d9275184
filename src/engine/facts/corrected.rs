//! Readings with all known corrections.

use crate::domain::records::{Household, Instrument, InstrumentKind, Measure, Reading};
use crate::domain::sums::gravity::{self, Scale};
use crate::domain::sums::hydrometer::{self, Hydrometer};
use crate::domain::sums::refractometer;
use crate::domain::units::{Abw, Brix, Celsius, Grams, Gravity, GravityDelta};
use crate::engine::Seen as Saw;

fn instrument<'a>(
    household: &'a Household,
    reading: &Reading,
    kind: InstrumentKind,
) -> Option<&'a Instrument> {
    match reading.instrument {
        Some(id) => household.instruments.iter().find(|i| i.id == id),
        None => household
            .instruments
            .iter()
            .find(|i| i.kind == kind && i.preferred),
    }
}

pub(super) fn sample_temperature(reading: &Reading) -> Option<Celsius> {
    match reading.sample_temp?.measure() {
        Measure::Temperature(t) => Some(t),
        _ => None,
    }
}

fn scale(instrument: Option<&Instrument>) -> Scale {
    let at = instrument
        .and_then(|i| i.calibrated_at)
        .map_or(20.0, Celsius::get);
    if (at - 15.0).abs() < 0.3 {
        Scale::Sg15
    } else if (at - 15.56).abs() < 0.3 {
        Scale::Sg60F
    } else {
        Scale::Sg20
    }
}

/// A reading's gravity, SG 20/20, with all that is known put right; none for
/// what is no gravity.
pub fn corrected(
    household: &Household,
    reading: &Reading,
    original: Option<Gravity>,
) -> Option<Gravity> {
    match reading.seen.measure() {
        Measure::Gravity(shown) => Some(float(household, reading, shown, original)),
        Measure::Extract(p) => {
            let shown = gravity::from_plato(p).ok()?;
            Some(float(household, reading, shown, original))
        }
        Measure::Refraction(brix) => {
            let tool = instrument(household, reading, InstrumentKind::Refractometer);
            let shown = Brix::new(brix.get() - tool.map_or(0.0, |i| i.offset)).ok()?;
            let real = refractometer::true_brix(shown, tool.map_or(1.0, |i| i.factor)).ok()?;
            original
                .and_then(|og| refractometer::with_original(real, og).ok())
                .map(|seen| seen.gravity)
                .or_else(|| gravity::from_brix(real).ok())
        }
        _ => None,
    }
}

/// Corrects a floating glass; out of the range of the sums it stays as read.
fn float(
    household: &Household,
    reading: &Reading,
    shown: Gravity,
    original: Option<Gravity>,
) -> Gravity {
    let tool = instrument(household, reading, InstrumentKind::Hydrometer);
    let scale = scale(tool);
    let glass = Hydrometer {
        scale,
        offset: GravityDelta::clamped(tool.map_or(0.0, |i| i.offset)),
    };
    let t = sample_temperature(reading).unwrap_or(Celsius::clamped(scale.celsius()));
    let done = match original {
        Some(og) => hydrometer::corrected_in_ferment(glass, shown, t, og),
        None => hydrometer::corrected(glass, shown, t, Abw::known(0.0)),
    };
    done.unwrap_or(shown)
}

/// What the engine is told of a reading, whose gravity, put right, is this.
pub(super) fn saw(
    household: &Household,
    reading: &Reading,
    gravity: Option<Gravity>,
) -> Option<Saw> {
    let by = |kind| instrument(household, reading, kind);
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
