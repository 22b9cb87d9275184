//! A vessel on a scale: the CO2 that left tells gravity and alcohol.

use super::alcohol::{CO2_PER_ALCOHOL, EXTRACT_PER_ALCOHOL};
use super::density::{ETHANOL_PURE_20, ETHANOL_WATER_20, ethanol_20};
use super::error::within;
use super::gravity::{fraction, rho_20, sg};
use super::{SumError, Uncertain, carbonation};
use crate::domain::units::{Abv, Celsius, Days, Grams, Gravity, Litres, Plato};

/// Most water that creeps out through an airlock beside what the gas carries,
/// grams a day (common practice, no source).
pub const AIRLOCK_DRYING: f64 = 0.1;

/// What the loss of mass means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lost {
    /// CO2 that left, at most: the whole loss.
    pub co2: Grams,
    /// CO2 that was made and stays dissolved.
    pub dissolved: Grams,
    /// Most of the loss that can have been water and alcohol vapour.
    pub vapour_at_most: Grams,
    /// Specific gravity now; the half-width covers vapour, dissolved gas and scale.
    pub gravity: Uncertain,
    /// Alcohol by volume now, with its half-width.
    pub alcohol: Uncertain,
    /// Real extract now.
    pub real_extract: Plato,
}

/// Pressure of water vapour over water, Pa, 0 to 40 °C.
///
/// ln(p/pc) = Tc/T (a1 x + a2 x^1.5 + a3 x^3 + a4 x^3.5 + a5 x^4 + a6 x^7.5),
/// x = 1 - T/Tc. Error below 0.1 %. Source: W. Wagner, A. Pruss, J. Phys. Chem.
/// Ref. Data 22, 783, 1993 (coefficients from memory, checked against the
/// reference equation of water in the cross-check).
pub fn vapour_pressure(t: Celsius) -> Result<f64, SumError> {
    const CRITICAL_K: f64 = 647.096;
    const CRITICAL_PA: f64 = 22.064e6;
    within(
        "the vapour of water",
        "temperature",
        " °C",
        0.0..=40.0,
        t.get(),
    )?;
    let x = 1.0 - t.kelvin() / CRITICAL_K;
    let root = x.sqrt();
    let sum = -7.85951783 * x + 1.84408259 * x * root - 11.7866497 * x.powi(3)
        + 22.6807411 * x.powi(3) * root
        - 15.9618719 * x.powi(4)
        + 1.80122502 * x.powi(7) * root;
    Ok(CRITICAL_PA * (CRITICAL_K / t.kelvin() * sum).exp())
}

/// Most vapour that `co2` grams of gas carry off, plus the airlock's drying.
///
/// The gas leaves saturated at `t`: mole for mole p/(P - p); alcohol vapour is
/// taken as another third of the water's mass (its partial pressure over 10 %
/// vol is about 0.9 kPa times its share: from memory).
pub fn vapour_bound(co2: Grams, t: Celsius, days: Days) -> Result<Grams, SumError> {
    let p = vapour_pressure(t)?;
    let water_per_co2 = p / (101_325.0 - p) * 18.015 / 44.010;
    let carried = co2.get() * water_per_co2 * 4.0 / 3.0;
    Ok(Grams::new(carried + AIRLOCK_DRYING * days.get().max(0.0))?)
}

/// Half-width of the gas that stays dissolved, as a share of saturation: a must that
/// was degassed holds less, one that foams more (common practice, no source).
const DISSOLVED_ERROR: f64 = 0.5;

/// CO2 that stays dissolved in a ferment at a temperature: what the drink holds under
/// one atmosphere of it ([`carbonation::residual`]).
pub fn dissolved(volume: Litres, t: Celsius) -> Result<Grams, SumError> {
    let per_litre = carbonation::residual(t)?.get() * carbonation::GRAMS_PER_VOLUME;
    Ok(Grams::new(per_litre * volume.get())?)
}

/// Gravity and alcohol from the mass that a vessel lost since the original
/// gravity was taken.
///
/// Balling: with 1 g of ethanol go 0.9565 g of CO2, and 0.11 g of yeast grow.
/// `start` is the volume of must then. The loss counted as gas lies between
/// the whole and the whole less [`vapour_bound`]; the middle is taken. To it comes
/// the gas that was made and is [`dissolved`] still, no more than has left. A scale
/// that errs by `scale` grams errs so at both weighings. Samples taken out
/// must be added back by the caller. Range: original to 50 °P, loss not above
/// what its sugar can give. Source: [`super::source::BALLING`].
pub fn from_loss(
    original: Gravity,
    start: Litres,
    loss: Grams,
    scale: Grams,
    t: Celsius,
    days: Days,
) -> Result<Lost, SumError> {
    let must = start.get() * rho_20(original);
    if must <= 0.0 {
        return Err(SumError::Contradiction(
            "a loss of mass needs the volume of must at the start".to_owned(),
        ));
    }
    let vapour = vapour_bound(loss, t, days)?.get().min(loss.get());
    let oe = fraction(original.get());
    let left = loss.get() - vapour / 2.0;
    let stayed = dissolved(start, t)?.get().min(left);
    let gas = Uncertain::new(left + stayed, vapour / 2.0)
        .and(DISSOLVED_ERROR * stayed)
        .and(std::f64::consts::SQRT_2 * scale.get());
    let (_, er, _, _) = state(oe, gas.value / must)?;
    let gravity =
        super::uncertain::propagate([gas], |[g]| state(oe, (g / must).max(0.0)).map(|s| s.2))?;
    let alcohol =
        super::uncertain::propagate([gas], |[g]| state(oe, (g / must).max(0.0)).map(|s| s.3))?;
    Ok(Lost {
        co2: loss,
        dissolved: Grams::new(stayed)?,
        vapour_at_most: Grams::new(vapour)?,
        gravity,
        alcohol: alcohol.and(alcohol.value * super::alcohol::BALANCE_ERROR),
        real_extract: Plato::new(100.0 * er)?,
    })
}

/// Alcohol and extract by mass, gravity, and alcohol by volume, after `gas`
/// grams have left each gram of must.
fn state(oe: f64, gas: f64) -> Result<(f64, f64, f64, f64), SumError> {
    let ethanol = gas / CO2_PER_ALCOHOL;
    let used = ethanol * EXTRACT_PER_ALCOHOL;
    if used > oe + 1e-9 {
        return Err(SumError::Contradiction(format!(
            "{:.1} g lost from each kilogram is more than its sugar can give ({:.1} g)",
            1000.0 * gas,
            1000.0 * oe / EXTRACT_PER_ALCOHOL * CO2_PER_ALCOHOL
        )));
    }
    let rest = 1.0 - (EXTRACT_PER_ALCOHOL - 1.0) * ethanol;
    let (a, er) = (ethanol / rest, (oe - used) / rest);
    let present = sg(er) + ethanol_20(a) / ETHANOL_WATER_20 - 1.0;
    let by_volume = 100.0 * a * rho_20(Gravity::new(present)?) / ETHANOL_PURE_20;
    Ok((a, er, present, Abv::new(by_volume)?.get()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::sums::alcohol;

    #[test]
    fn mass_and_gravity_tell_the_same_story() {
        let og = Gravity::known(1.100);
        let sg = Gravity::known(1.040);
        let a = alcohol::by_mass(og, sg).unwrap().get() / 100.0;
        let must = 4.0 * rho_20(og);
        let gas = must * a / (1.0 + 1.0665 * a) * 0.9565;
        // 0.87 volumes stay in it at 20 °C (Henry's law, R. Sander 2023), 1.977 g/L each.
        let left = gas - 0.87 * 1.977 * 4.0;
        let lost = from_loss(
            og,
            Litres::known(4.0),
            Grams::new(left).unwrap(),
            Grams::known(1.0),
            Celsius::known(20.0),
            Days::known(0.0),
        )
        .unwrap();
        // Half the vapour that the gas can carry is taken off, well within the half-width.
        assert!((lost.gravity.value - 1.040).abs() < lost.gravity.plus_minus);
        assert!(lost.gravity.plus_minus < 0.0012, "{:?}", lost.gravity);
    }

    /// 100 g lost from 4 L of must at 1.050. By hand: 0.88 volumes of 1.977 g/L stay in
    /// it, so 107 g were made; 0.9565 g of CO2 go with a gram of ethanol (Balling), which
    /// in 4 L less what left is 3.5 % vol.
    #[test]
    fn gas_that_stays_dissolved_was_made_too() {
        let lost = from_loss(
            Gravity::known(1.050),
            Litres::known(4.0),
            Grams::known(100.0),
            Grams::known(1.0),
            Celsius::known(20.0),
            Days::known(7.0),
        )
        .unwrap();
        let by_hand = 107.0 / 0.9565 / 789.24 / 3.99 * 100.0;
        assert!(
            (lost.alcohol.value - by_hand).abs() < 0.05,
            "{lost:?} {by_hand}"
        );
        assert!(lost.alcohol.plus_minus > 0.12, "{lost:?}");
    }

    #[test]
    fn water_presses_as_the_tables_say_and_leaves_with_the_gas() {
        // kPa: CRC Handbook of Chemistry and Physics, vapour pressure of water
        // (from memory): 0 °C 0.6113, 20 °C 2.3393, 40 °C 7.3849.
        for (t, kpa) in [(0.0, 0.6113), (20.0, 2.3393), (40.0, 7.3849)] {
            let got = vapour_pressure(Celsius::known(t)).unwrap() / 1000.0;
            assert!((got / kpa - 1.0).abs() < 1e-3, "{t}: {got}");
        }
        // 10 g of gas at 20 °C, mole for mole: 10 x 2.339/98.986 x 18.015/44.010 x 4/3.
        let (gas, t) = (Grams::known(10.0), Celsius::known(20.0));
        let most = vapour_bound(gas, t, Days::known(0.0)).unwrap();
        assert!((most.get() - 0.1290).abs() < 2e-4, "{most:?}");
    }

    #[test]
    fn more_than_the_sugar_gives_is_refused() {
        let said = from_loss(
            Gravity::known(1.050),
            Litres::known(1.0),
            Grams::known(200.0),
            Grams::known(1.0),
            Celsius::known(20.0),
            Days::known(1.0),
        )
        .unwrap_err()
        .to_string();
        assert!(said.contains("more than its sugar can give"), "{said}");
    }
}
