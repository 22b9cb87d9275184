//! A refractometer in a must that ferments, where alcohol bends light too.
//!
//! The light bent by sugar and by alcohol is taken to add up, as Tabarie's
//! relation does for density: n = n(sucrose) + n(ethanol) - n(water). Both
//! single curves are least-squares fits made for skep to the 20 °C table of
//! the CRC Handbook ([`super::source::HANDBOOK`]); they miss no row by more
//! than 0.00005, half a digit of the table. The readings must be taken at
//! 20 °C or with an instrument that compensates. Honey's sugars bend light a
//! little less than sucrose: a must of 30 % reads about 0.4 °Bx low.

use super::density::{ETHANOL_WATER_20, ethanol_20, horner};
use super::error::within;
use super::gravity::{fraction, rho_20, sg};
use super::{SumError, alcohol, density};
use crate::domain::units::{Abv, Abw, Brix, Gravity, Plato, RefractiveIndex, Share};

/// Refraction of water at 20 °C in air, 589 nm, as the table prints it.
const WATER: f64 = 1.3330;
/// Rise over water for sucrose, w^1 to w^5, 0 to 84 % by mass.
const SUCROSE: [f64; 5] = [0.1425074, 0.05866135, -0.004459903, 0.03996825, -0.0246832];
/// Rise over water for ethanol, p^1 to p^3, 0 to 30 % by mass.
const ETHANOL: [f64; 3] = [0.05508008, 0.1303818, -0.2861169];

/// Departure of the alcohol found by both instruments that comes from the
/// model: sugars other than sucrose, acids, and the adding up of refractions,
/// % vol. A guess, the lower end of the spread of published regressions (SD 7 to 14 g/L
/// of ethanol among table wines, which is 0.9 to 1.8 % vol: Bavcar and Kosmerl, Food
/// Technol. Biotechnol. 40, 2002).
pub const MODEL_ERROR: f64 = 0.9;

/// Sugar and alcohol seen by a refractometer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Specific gravity that a true hydrometer would show.
    pub gravity: Gravity,
    /// Sugar that is truly there.
    pub real_extract: Plato,
    /// Alcohol by mass.
    pub by_mass: Abw,
    /// Alcohol by volume.
    pub by_volume: Abv,
    /// Extract before the ferment (for two instruments: as the balance says).
    pub original: Plato,
}

fn sucrose_rise(w: f64) -> f64 {
    horner(&SUCROSE, w) * w
}

fn ethanol_rise(p: f64) -> f64 {
    horner(&ETHANOL, p) * p
}

/// Mass fraction of sucrose whose refraction rises this much over water.
fn sucrose_of_rise(rise: f64) -> f64 {
    let mut w = rise / 0.15;
    for _ in 0..30 {
        let h = 1e-6;
        let slope = (sucrose_rise(w + h) - sucrose_rise(w - h)) / (2.0 * h);
        let step = (sucrose_rise(w) - rise) / slope;
        w -= step;
        if step.abs() < 1e-12 {
            break;
        }
    }
    w
}

/// Refraction of sucrose in water at 20 °C, 0 to 80 % by mass. Error 0.00005
/// against the table, 0.0001 to 60 % and 0.0002 to 80 % against the ICUMSA 1974
/// values; above, those two part further.
pub fn index(extract: Plato) -> Result<RefractiveIndex, SumError> {
    let w = within(
        "the refraction of sugar",
        "extract",
        " °P",
        0.0..=80.0,
        extract.get(),
    )?;
    Ok(RefractiveIndex::new(WATER + sucrose_rise(w / 100.0))?)
}

/// Refraction of ethanol in water at 20 °C, 0 to 30 % by mass. Error 0.00005.
pub fn ethanol_index(alcohol: Abw) -> Result<RefractiveIndex, SumError> {
    let p = within(
        "the refraction of alcohol",
        "alcohol",
        " % mass",
        0.0..=30.0,
        alcohol.get(),
    )?;
    Ok(RefractiveIndex::new(WATER + ethanol_rise(p / 100.0))?)
}

/// Brix that a refractometer shows for this refraction at 20 °C.
pub fn brix_of_index(n: RefractiveIndex) -> Result<Brix, SumError> {
    Ok(Brix::new(100.0 * sucrose_of_rise(n.get() - WATER))?)
}

/// The reading with the instrument's factor taken out: reading / factor.
/// The factor is found in a must of known sugar; near 1.
pub fn true_brix(shown: Brix, factor: f64) -> Result<Brix, SumError> {
    let factor = within(
        "a refractometer reading",
        "the factor",
        "",
        0.8..=1.2,
        factor,
    )?;
    Ok(Brix::new(shown.get() / factor)?)
}

/// Brix that will be shown by a must of this real extract and alcohol.
pub fn shown(real_extract: Plato, alcohol: Abw) -> Result<Brix, SumError> {
    let p = within(
        "a refractometer",
        "alcohol",
        " % mass",
        0.0..=20.0,
        alcohol.get(),
    )? / 100.0;
    let rise = sucrose_rise(real_extract.get() / 100.0) + ethanol_rise(p);
    Ok(Brix::new(100.0 * sucrose_of_rise(rise))?)
}

/// Sugar, alcohol and gravity of a fermenting must whose original is known.
///
/// Balling's balance ties real extract to alcohol; the one free number is
/// found where the refractions add up to the reading. Range: original to
/// 45 °P, reading not above it. Alcohol bends light much like the sugar it came
/// from, so an error of 0.1 °Bx moves the alcohol by about 0.1 % vol and the
/// gravity by about 0.001.
pub fn with_original(shown: Brix, original: Gravity) -> Result<Seen, SumError> {
    let oe = within(
        "a refractometer in a ferment",
        "original extract",
        " °P",
        0.0..=45.0,
        100.0 * fraction(original.get()),
    )? / 100.0;
    let target = sucrose_rise(shown.get() / 100.0);
    let miss = |a: f64| sucrose_rise(extract_left(oe, a)) + ethanol_rise(a) - target;
    if miss(0.0) < -1e-5 {
        return Err(SumError::Contradiction(format!(
            "the refractometer shows {:.1} °Bx, above the original {:.1}",
            shown.get(),
            100.0 * oe
        )));
    }
    let most = oe / (alcohol::EXTRACT_PER_ALCOHOL - (alcohol::EXTRACT_PER_ALCOHOL - 1.0) * oe);
    if miss(most) > 0.0 {
        return Err(SumError::NoAnswer(format!(
            "{:.1} °Bx is less than a must of {:.1} °P shows when all its sugar is gone",
            shown.get(),
            100.0 * oe
        )));
    }
    let a = bisect(miss, 0.0, most);
    seen(extract_left(oe, a), a, oe)
}

fn extract_left(oe: f64, a: f64) -> f64 {
    oe * (1.0 + (alcohol::EXTRACT_PER_ALCOHOL - 1.0) * a) - alcohol::EXTRACT_PER_ALCOHOL * a
}

/// Sugar and alcohol from a refractometer and a hydrometer read in the same
/// must, original unknown.
///
/// Two equations, one for refraction and one for density (Tabarie), give real
/// extract and alcohol; the original follows from the balance. An error of
/// 0.1 °Bx moves the alcohol by about 0.2 % vol, one of 0.001 in gravity by
/// about 0.35; add [`MODEL_ERROR`].
pub fn with_hydrometer(shown: Brix, gravity: Gravity) -> Result<Seen, SumError> {
    let target = sucrose_rise(shown.get() / 100.0);
    let sugar = |a: f64| fraction(gravity.get() - ethanol_20(a) / ETHANOL_WATER_20 + 1.0);
    let miss = |a: f64| sucrose_rise(sugar(a)) + ethanol_rise(a) - target;
    let top = 0.20;
    if miss(0.0) > 1e-4 {
        return Err(SumError::Contradiction(format!(
            "gravity {:.3} means at least {:.1} °Bx, but the refractometer shows {:.1}: read both again",
            gravity.get(),
            100.0 * sugar(0.0),
            shown.get()
        )));
    }
    if miss(top) < 0.0 {
        return Err(SumError::NoAnswer(format!(
            "{:.1} °Bx with gravity {:.3} would mean more than 20 % alcohol by mass",
            shown.get(),
            gravity.get()
        )));
    }
    let a = if miss(0.0) >= 0.0 {
        0.0
    } else {
        bisect(miss, 0.0, top)
    };
    let er = sugar(a);
    let oe = alcohol::original_extract(Abw::new(100.0 * a)?, Plato::new(100.0 * er)?)?;
    seen(er, a, oe.get() / 100.0)
}

fn seen(er: f64, a: f64, oe: f64) -> Result<Seen, SumError> {
    let gravity = Gravity::new(sg(er) + ethanol_20(a) / ETHANOL_WATER_20 - 1.0)?;
    Ok(Seen {
        gravity,
        real_extract: Plato::new(100.0 * er)?,
        by_mass: Abw::new(100.0 * a)?,
        by_volume: Abv::new(100.0 * a * rho_20(gravity) / density::ETHANOL_PURE_20)?,
        original: Plato::new(100.0 * oe)?,
    })
}

fn bisect(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let rising = f(low) < f(high);
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if (f(middle) < 0.0) == rising {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// Water in honey from its refraction at 20 °C: W = (-0.26810 - log10(n - 1))
/// / 0.002243, in percent by mass.
///
/// Range 13 to 25 % water; error 0.022 % against the 61-row table. Away from
/// 20 °C first add 0.00023 to n per degree above. The formula is usually
/// misprinted, its characteristic -1 taken for +1.
/// Source: [`super::source::HONEY_WATER`].
pub fn honey_water(n: RefractiveIndex) -> Result<Share, SumError> {
    let percent = (-0.26810 - (n.get() - 1.0).log10()) / 0.002243;
    let percent = within("the honey table", "water", " %", 12.5..=25.5, percent)?;
    Ok(Share::new(percent / 100.0)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn alcohol_in_water_refracts_as_the_tables_say() {
        // CRC Handbook of Chemistry and Physics, aqueous ethanol at 20 °C (from memory).
        for (by_mass, n) in [(0.0, 1.3330), (10.0, 1.3395), (20.0, 1.3469)] {
            let got = ethanol_index(Abw::known(by_mass)).unwrap().get();
            assert!((got - n).abs() < 2e-4, "{by_mass}: {got}");
        }
    }

    #[test]
    fn both_ways_agree_on_one_must() {
        let og = Gravity::known(1.100);
        let balance = alcohol::balance(og, Gravity::known(1.020)).unwrap();
        let brix = shown(balance.real_extract, balance.by_mass).unwrap();
        let one = with_original(brix, og).unwrap();
        let two = with_hydrometer(brix, Gravity::known(1.020)).unwrap();
        assert!((one.gravity.get() - 1.020).abs() < 1e-6);
        assert!((one.by_volume.get() - balance.by_volume.get()).abs() < 1e-5);
        assert!((two.original.get() - balance.original_extract.get()).abs() < 1e-4);
    }

    #[test]
    fn a_reading_above_the_original_is_refused() {
        let said = with_original(Brix::known(26.0), Gravity::known(1.100))
            .unwrap_err()
            .to_string();
        assert_eq!(
            said,
            "the refractometer shows 26.0 °Bx, above the original 23.8"
        );
    }
}
