//! What does not fit. A doubt never stops a reading: the maker may insist.

use super::fact::{span, temperature};
use super::{Known, Slip};
use crate::domain::records::{Measure, MeasureKind, Seen, Settings, Subject, UnitSystem, Vessel};
use crate::domain::units::{
    Brix, Celsius, Grams, GramsPerLitre, Gravity, GravityDelta, Litres, Moment, Ph,
};

// The bounds below are common practice, no source: they only ask the maker to
// look twice.

/// A rise smaller than this is reading error: two steps of a good scale.
const RISE_TOLERANCE: f64 = 0.0025;
/// A refractometer is read to 0.2; a rise of more is none of the ferment's.
const BRIX_RISE: f64 = 0.5;
/// A vigorous warm ale loses some 0.045 in a day; nothing in a jug is faster.
const FASTEST_PER_DAY: f64 = 0.045;
/// Added to the fastest fall, for the reading error of both ends.
const FALL_TOLERANCE: f64 = 0.006;
/// The driest drinks end near 0.985.
const DRIEST: f64 = 0.984;
/// Few musts start above this.
const HEAVIEST: f64 = 1.170;
/// A must or drink kept indoors lies between these, °C.
const BEARABLE: std::ops::RangeInclusive<f64> = -5.0..=40.0;
/// A hydrometer sample is corrected between these, °C: the range of the equation.
const SAMPLE: std::ops::RangeInclusive<f64> = 0.0..=40.0;
/// Mead, cider, beer and their musts.
const PH: std::ops::RangeInclusive<f64> = 2.7..=6.2;
/// Titratable acidity of drinkable things, g/L.
const ACID: std::ops::RangeInclusive<f64> = 0.5..=20.0;
/// A vessel grows by a drop at most.
const MASS_RISE: f64 = 5.0;
/// No must loses more than a fifth of its mass as gas.
const MASS_SHARE_LOST: f64 = 0.2;
/// A vessel weighs less when empty than this and as much again as it holds, where nobody
/// has weighed it, g: jugs and demijohns far less, stoneware crocks and oak barrels nearly.
const EMPTY_AT_MOST: f64 = 2_000.0;
/// The heaviest musts, brimful and with a cap on top, g/L.
const FULL_AT_MOST: f64 = 1_300.0;
/// A reading this long ago is asked about, days.
const LONG_AGO: f64 = 60.0;
/// A clock a few minutes ahead is nobody's mistake, days.
const AHEAD: f64 = 20.0 / 1440.0;
/// The same value again within this is the same reading twice, days.
const SAME_AGAIN: f64 = 10.0 / 1440.0;

/// Why a slip does not fit, with its evidence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Doubt {
    /// Gravity above the reading before it.
    Rises {
        /// By this much.
        by: GravityDelta,
    },
    /// Gravity above what it started from.
    AboveOriginal {
        /// By this much.
        by: GravityDelta,
        /// The original gravity.
        original: Gravity,
    },
    /// Gravity below a later reading that is already kept.
    BelowLater {
        /// By this much.
        by: GravityDelta,
        /// When that was.
        later: Moment,
    },
    /// A fall that no yeast brings about.
    FallsTooFast {
        /// By this much.
        by: GravityDelta,
        /// In so many days.
        days: f64,
    },
    /// Lower than drinks get.
    TooLow(Gravity),
    /// Higher than musts are.
    TooHigh(Gravity),
    /// A refractometer's value rose.
    BrixRises {
        /// By so many degrees.
        by: f64,
    },
    /// A refractometer in a drink with alcohol, and no original gravity.
    NeedsHydrometer,
    /// A temperature that no vessel indoors has.
    OddTemperature(Celsius),
    /// A sample too cold or hot for the correction.
    SampleUncorrected(Celsius),
    /// A pH that no must has.
    OddPh(Ph),
    /// An acidity that no drink has.
    OddAcidity(GramsPerLitre),
    /// The vessel grew heavier.
    Heavier {
        /// By so many grams.
        grams: f64,
    },
    /// The vessel lost more than can leave as gas.
    TooLight {
        /// So many grams.
        grams: f64,
        /// Share of the mass before.
        share: f64,
    },
    /// Lighter than the empty vessel.
    BelowTare {
        /// Mass when empty.
        tare: Grams,
    },
    /// Heavier than the vessel is when full.
    HeavierThanFull {
        /// What it weighs full, at most.
        most: Grams,
    },
    /// Zero mass or volume, of a vessel that holds something.
    Nothing,
    /// More than the vessel holds.
    OverBrim {
        /// Brimful volume.
        capacity: Litres,
    },
    /// It lies ahead.
    Ahead {
        /// By so many days.
        days: f64,
    },
    /// Long ago.
    LongAgo {
        /// So many days.
        days: f64,
    },
    /// The batch did not lie in the vessel then.
    NotThereThen,
    /// Nothing lies in the vessel.
    EmptyVessel,
    /// The same value was kept a moment ago.
    SameAgain {
        /// So many days ago.
        days: f64,
    },
}

/// Everything that does not fit, worst first.
pub(super) fn doubts(slip: &Slip, known: &Known<'_>) -> Vec<Doubt> {
    let mut found = Vec::new();
    time(slip, known, &mut found);
    for reading in &slip.readings {
        let seen = reading.seen;
        match seen.measure() {
            Measure::Gravity(_) | Measure::Extract(_) => gravity(seen, slip, known, &mut found),
            Measure::Refraction(brix) => refraction(brix, slip, known, &mut found),
            Measure::Temperature(t) if !BEARABLE.contains(&t.get()) => {
                found.push(Doubt::OddTemperature(t));
            }
            Measure::Ph(ph) if !PH.contains(&ph.get()) => found.push(Doubt::OddPh(ph)),
            Measure::Acidity(a) if !ACID.contains(&a.get()) => found.push(Doubt::OddAcidity(a)),
            Measure::Mass(grams) => mass(grams, slip, known, &mut found),
            Measure::Volume(v) => {
                let brim = known.vessel.map(|v| v.capacity);
                // A tenth more: vessels hold a little above their name.
                if let Some(capacity) = brim.filter(|c| v.get() > c.get() * 1.1) {
                    found.push(Doubt::OverBrim { capacity });
                }
                if v.get() <= 0.0 {
                    found.push(Doubt::Nothing);
                }
            }
            Measure::Temperature(_) | Measure::Ph(_) | Measure::Acidity(_) => {}
        }
        same_again(seen, slip, known, &mut found);
    }
    if let Some(Measure::Temperature(t)) = slip.sample_temp.map(Seen::measure)
        && !SAMPLE.contains(&t.get())
    {
        found.push(Doubt::SampleUncorrected(t));
    }
    found
}

fn time(slip: &Slip, known: &Known<'_>, found: &mut Vec<Doubt>) {
    let ago = known.now.days_since(slip.at);
    if ago < -AHEAD {
        found.push(Doubt::Ahead { days: -ago });
    }
    if let Some(dossier) = known.dossier {
        let there = dossier
            .stays
            .iter()
            .any(|s| s.covers(slip.at) && known.vessel.is_none_or(|v| v.id == s.vessel));
        // Original gravity is taken while the batch is only planned.
        if !there && ago > 0.0 && !dossier.stays.is_empty() {
            found.push(Doubt::NotThereThen);
            return;
        }
    } else if known.vessel.is_some() {
        found.push(Doubt::EmptyVessel);
    }
    if ago > LONG_AGO {
        found.push(Doubt::LongAgo { days: ago });
    }
}

fn gravity(seen: Seen, slip: &Slip, known: &Known<'_>, found: &mut Vec<Doubt>) {
    let Some(now) = known.gravity_seen(seen, slip.sample_temp, slip.at) else {
        return;
    };
    let before = known.gravities().filter(|(r, _)| r.at < slip.at).last();
    match before {
        Some((r, was)) => {
            let days = slip.at.days_since(r.at);
            let by = now.get() - was.get();
            if by > RISE_TOLERANCE && !known.sugar_between(r.at, slip.at) {
                found.push(Doubt::Rises {
                    by: GravityDelta::clamped(by),
                });
            }
            if -by > FASTEST_PER_DAY * days + FALL_TOLERANCE && !known.poured_between(r.at, slip.at)
            {
                found.push(Doubt::FallsTooFast {
                    by: GravityDelta::clamped(-by),
                    days,
                });
            }
        }
        None => above_original(now, slip, known, found),
    }
    let after = known.gravities().find(|(r, _)| r.at > slip.at);
    if let Some((r, then)) = after {
        let by = then.get() - now.get();
        if by > RISE_TOLERANCE && !known.sugar_between(slip.at, r.at) {
            found.push(Doubt::BelowLater {
                by: GravityDelta::clamped(by),
                later: r.at,
            });
        }
    }
    if now.get() < DRIEST {
        found.push(Doubt::TooLow(now));
    }
    if now.get() > HEAVIEST {
        found.push(Doubt::TooHigh(now));
    }
}

/// Without a reading before, gravity is held against where the plan starts.
fn above_original(now: Gravity, slip: &Slip, known: &Known<'_>, found: &mut Vec<Doubt>) {
    let pitched = known.dossier.and_then(|d| d.batch.pitched);
    let (Some(pitched), Some((original, _))) = (pitched, known.original()) else {
        return;
    };
    let by = now.get() - original.get();
    // A plan is often several points off.
    if by > 0.010 && !known.sugar_between(pitched, slip.at) {
        found.push(Doubt::AboveOriginal {
            by: GravityDelta::clamped(by),
            original,
        });
    }
}

fn refraction(brix: Brix, slip: &Slip, known: &Known<'_>, found: &mut Vec<Doubt>) {
    let before = known
        .readings(MeasureKind::Refractometer)
        .filter(|r| r.at < slip.at)
        .last();
    if let Some((r, Measure::Refraction(was))) = before.map(|r| (r, r.seen.measure())) {
        let by = brix.get() - was.get();
        if by > BRIX_RISE && !known.sugar_between(r.at, slip.at) {
            found.push(Doubt::BrixRises { by });
        }
    }
    let pitched = known.dossier.and_then(|d| d.batch.pitched);
    if known.original().is_none() && pitched.is_some_and(|p| slip.at.days_since(p) > 0.5) {
        found.push(Doubt::NeedsHydrometer);
    }
}

fn mass(grams: Grams, slip: &Slip, known: &Known<'_>, found: &mut Vec<Doubt>) {
    if let Some(tare) = known.vessel.and_then(|v| v.tare)
        && grams < tare
    {
        found.push(Doubt::BelowTare { tare });
    } else if grams.get() <= 0.0 {
        found.push(Doubt::Nothing);
    }
    if let Some(most) = known.vessel.map(full_at_most).filter(|most| grams > *most) {
        found.push(Doubt::HeavierThanFull { most });
    }
    let before = known
        .readings(MeasureKind::Mass)
        .filter(|r| r.at < slip.at)
        .last();
    let Some((r, Measure::Mass(was))) = before.map(|r| (r, r.seen.measure())) else {
        return;
    };
    let lost = was.get() - grams.get();
    if lost < -MASS_RISE && !handled_between(known, r.at, slip.at) {
        found.push(Doubt::Heavier { grams: -lost });
    }
    let share = lost / was.get().max(1.0);
    if share > MASS_SHARE_LOST && !handled_between(known, r.at, slip.at) {
        found.push(Doubt::TooLight { grams: lost, share });
    }
}

/// Returns what a vessel weighs when it is full, at most.
fn full_at_most(vessel: &Vessel) -> Grams {
    let capacity = vessel.capacity.get();
    let empty = match vessel.tare {
        Some(tare) => tare.get(),
        None => EMPTY_AT_MOST + 1_000.0 * capacity,
    };
    Grams::clamped(empty + FULL_AT_MOST * capacity)
}

/// Whether anything went into or out of the vessel between two instants.
fn handled_between(known: &Known<'_>, from: Moment, to: Moment) -> bool {
    use crate::domain::records::EventKind as E;
    known.dossier.is_some_and(|d| {
        d.events.iter().any(|e| {
            e.at >= from
                && e.at <= to
                && !matches!(
                    e.kind,
                    E::Note | E::Degas | E::Aerate | E::Carry | E::Warm | E::Rouse | E::Overrule
                )
        })
    })
}

fn same_again(seen: Seen, slip: &Slip, known: &Known<'_>, found: &mut Vec<Doubt>) {
    let vessel = known.vessel.map(|v| Subject::Vessel(v.id));
    let again = known
        .readings(seen.kind())
        .filter(|r| r.seen == seen && vessel.is_none_or(|v| v == r.subject))
        .map(|r| slip.at.days_since(r.at))
        .find(|days| days.abs() < SAME_AGAIN);
    if let Some(days) = again {
        found.push(Doubt::SameAgain { days: days.abs() });
    }
}

impl Doubt {
    /// The doubt in one sentence.
    pub fn sentence(&self, settings: &Settings) -> String {
        match *self {
            Self::Rises { by } => format!(
                "{:.3} above the last reading: gravity does not rise",
                by.get()
            ),
            Self::AboveOriginal { by, original } => format!(
                "{:.3} above the start of {:.3}: gravity does not rise",
                by.get(),
                original.get()
            ),
            Self::BelowLater { by, later } => format!(
                "{:.3} below the reading of {}: gravity does not rise",
                by.get(),
                later.day().format("%-d %b")
            ),
            Self::FallsTooFast { by, days } => format!(
                "{:.3} lower within {}: no yeast is that fast",
                by.get(),
                span(days)
            ),
            Self::TooLow(g) => format!("{:.3} is lower than any drink ends", g.get()),
            Self::TooHigh(g) => format!("{:.3} is more sugar than a must holds", g.get()),
            Self::BrixRises { by } => {
                format!("{by:.1} °Bx above the last reading: it does not rise")
            }
            Self::NeedsHydrometer => {
                "without an original gravity a refractometer says little once there is alcohol"
                    .to_owned()
            }
            Self::OddTemperature(t) => {
                format!(
                    "{}: no vessel indoors is like that",
                    temperature(t, settings)
                )
            }
            Self::SampleUncorrected(t) => format!(
                "a sample at {} can't be corrected; bring it to {} to {}",
                temperature(t, settings),
                temperature(Celsius::known(0.0), settings),
                temperature(Celsius::known(40.0), settings)
            ),
            Self::OddPh(ph) => format!("pH {:.2} is outside what musts have", ph.get()),
            Self::OddAcidity(a) => {
                format!("{:.1} g/L of acid is outside what drinks have", a.get())
            }
            Self::Heavier { grams } => {
                format!("{grams:.0} g heavier, and nothing was added")
            }
            Self::TooLight { grams, share } => format!(
                "{grams:.0} g lighter, {:.0} % of all: more than leaves as gas",
                share * 100.0
            ),
            Self::BelowTare { tare } => {
                format!("lighter than the empty vessel ({:.0} g)", tare.get())
            }
            Self::HeavierThanFull { most } => match settings.units {
                UnitSystem::Us => format!("full it weighs {:.0} lb at most", most.pounds()),
                UnitSystem::Metric => {
                    format!("full it weighs {:.1} kg at most", most.get() / 1000.0)
                }
            },
            Self::Nothing => {
                "nothing is left: record the bottling or racking that emptied it".to_owned()
            }
            Self::OverBrim { capacity } => match settings.units {
                UnitSystem::Us => {
                    format!("the vessel holds {:.2} gal", capacity.us_gallons())
                }
                UnitSystem::Metric => {
                    format!("the vessel holds {:.2} L", capacity.get())
                }
            },
            Self::Ahead { days } => format!("{} ahead of now", span(days)),
            Self::LongAgo { days } => format!("{} ago", span(days)),
            Self::NotThereThen => "the batch did not lie in this vessel then".to_owned(),
            Self::EmptyVessel => "nothing lies in this vessel".to_owned(),
            Self::SameAgain { days } => {
                format!("the same was kept {} before or after", span(days))
            }
        }
    }
}

#[cfg(test)]
mod tests;
