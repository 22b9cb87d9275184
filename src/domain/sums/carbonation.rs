//! Gas in the drink: what it holds, what priming adds, what the bottle bears.
//!
//! Safe sides are opposite: for the sugar to add, a drink is taken to hold as
//! much gas as water does (so less sugar is added); for the pressure, as
//! little as wine does, with the published disagreement on top.

use super::alcohol::EXTRACT_PER_ALCOHOL;
use super::error::within;
use super::{SumError, density, finish};
use crate::domain::units::{
    Abv, Celsius, GaugeBar, Grams, GramsPerLitre, Gravity, Litres, Share, Volumes,
};
use serde::{Deserialize, Serialize};

/// Grams of CO2 in one volume: its density at 0 °C and 101.325 kPa as a real
/// gas ([`super::source::COOLPROP`]; the EU method's two coefficients give the same).
pub const GRAMS_PER_VOLUME: f64 = 1.9768;
/// Pressure of the air, bar.
pub const AIR: f64 = 1.01325;
/// Grams of CO2 from a gram of sucrose, all of it fermented: 4 x 44.010 /
/// 342.297, the upper bound.
pub const CO2_PER_SUCROSE: f64 = 0.5143;
/// Share by which a pressure may come out too low: 2.3 % between published
/// solubilities of CO2 in water (Carroll 1991, Weiss 1974), 1 % between this
/// temperature scaling and measured bottles ([`super::source::BOTTLES`]), and
/// 1.7 % for drinks that are no wine (common practice, no source).
pub const PRESSURE_MARGIN: f64 = 0.05;

/// What the drink is made of, as far as gas cares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drink {
    /// Its alcohol.
    pub alcohol: Abv,
    /// Its sugar.
    pub sugar: GramsPerLitre,
}

/// CO2 in water per bar of CO2, grams per litre, 0 to 40 °C.
///
/// ln K0 = -60.2409 + 93.4517 (100/T) + 23.3585 ln(T/100), mol/(kg atm).
/// Against the other review (Carroll 1991, [`super::source::CARROLL`]): +2.3 %
/// at 0 °C, -0.3 at 10, -1.7 at 20, -2.2 at 30. This one is used for it lies
/// nearer to what others measured: the IUPAC-NIST value at 25 °C (+0.7 %
/// against +2.7) and bottles at three temperatures (1 % against 3.4).
/// Source: [`super::source::WEISS`].
pub fn in_water(t: Celsius) -> Result<f64, SumError> {
    let celsius = within(
        "the solubility of CO2",
        "temperature",
        " °C",
        0.0..=40.0,
        t.get(),
    )?;
    let k = t.kelvin() / 100.0;
    let mol_per_kg_atm = (-60.2409 + 93.4517 / k + 23.3585 * k.ln()).exp();
    Ok(mol_per_kg_atm * 44.0095 * density::water_raw(celsius) / 1000.0 / AIR)
}

/// CO2 in a drink per bar of CO2, grams per litre: 0 to 40 °C, alcohol to
/// 20 % vol, sugar to 200 g/L.
///
/// At 20 °C the Community formula for wine, 1.951 (0.86 - 0.01 A)(1 - 0.00144 S)
/// per bar ([`super::source::EU_CO2`]); at other temperatures in proportion to
/// water. Against single published points: 11 g/L at 7.5 bar within 2.3 %,
/// 2.1 g/(L bar) at 10 °C 6 % low, beer at 6 °C 5 % high.
pub fn in_drink(drink: Drink, t: Celsius) -> Result<f64, SumError> {
    const SUM: &str = "the solubility of CO2 in a drink";
    let a = within(SUM, "alcohol", " % vol", 0.0..=20.0, drink.alcohol.get())?;
    let s = within(SUM, "sugar", " g/L", 0.0..=200.0, drink.sugar.get())?;
    within(SUM, "temperature", " °C", 0.0..=40.0, t.get())?;
    let at_20 = 1.951 * (0.86 - 0.01 * a) * (1.0 - 0.00144 * s);
    Ok(at_20 * in_water(t)? / in_water(Celsius::known(20.0))?)
}

/// CO2 left in a drink that has stood under an airlock: what water holds
/// under one atmosphere at the warmest temperature since the ferment ended.
///
/// A degassed or aged drink holds less; the figure is the safe one for
/// priming. Error about 0.1 volume. Range 0 to 40 °C.
pub fn residual(warmest: Celsius) -> Result<Volumes, SumError> {
    within(
        "CO2 left in a drink",
        "temperature",
        " °C",
        0.0..=40.0,
        warmest.get(),
    )?;
    Ok(Volumes::new(in_water(warmest)? * AIR / GRAMS_PER_VOLUME)?)
}

/// What makes the gas in the bottle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Primer {
    /// Table sugar.
    Sucrose,
    /// Dextrose as sold, with its water of crystallisation.
    DextroseMonohydrate,
    /// Dextrose without water.
    DextroseAnhydrous,
    /// Honey of this sugar content (USDA: 0.82).
    Honey {
        /// Sugars by mass.
        sugar: Share,
    },
    /// Unfermented must, juice or wort: its extract as a share of its mass.
    /// All extract counts as fermentable, the safe side.
    Must {
        /// Extract by mass.
        extract: Share,
    },
}

impl Primer {
    /// Grams of CO2 from one gram, all sugar fermented (Gay-Lussac, molar
    /// masses 44.010, 180.156, 198.171, 342.297).
    pub fn co2_per_gram(self) -> f64 {
        match self {
            Self::Sucrose => CO2_PER_SUCROSE,
            Self::DextroseMonohydrate => 0.4442,
            Self::DextroseAnhydrous => 0.4886,
            // 0.3867 for 82.12 % sugars, of which 2.3 are disaccharides (USDA 169640);
            // its 3.1 % galactose is left out: with it 0.40, 4 % more gas at most.
            Self::Honey { sugar } => 0.3867 / 0.8212 * sugar.get(),
            Self::Must { extract } => CO2_PER_SUCROSE * extract.get(),
        }
    }

    /// Soluble matter as a share of its mass: dextrose as the monohydrate by
    /// molar masses (180.156 of 198.171); honey by its sugars.
    pub fn solids(self) -> Share {
        match self {
            Self::Sucrose | Self::DextroseAnhydrous => Share::known(1.0),
            Self::DextroseMonohydrate => Share::known(0.909),
            Self::Honey { sugar } => sugar,
            Self::Must { extract } => extract,
        }
    }

    /// Density of the primer as added, kg/m³, if it is a liquid.
    pub fn liquid(self) -> Option<f64> {
        match self {
            Self::Must { extract } => Some(density::SUCROSE_20.density(extract.get())),
            _ => None,
        }
    }
}

/// A dose of priming sugar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Priming {
    /// How much to weigh.
    pub amount: Grams,
    /// Gas that it adds.
    pub added: Volumes,
    /// Alcohol that it adds, % vol.
    pub alcohol: Abv,
}

/// The primer that brings a still, finished drink to a target.
///
/// grams = (target - residual) x 1.9768 x litres / (CO2 per gram). Alcohol
/// made by Balling's yield, 1 g from 2.0665 g of sucrose. Error: that of the
/// residual, about 0.1 volume. A must added as primer also takes up room,
/// which is counted: the sum holds for drink and primer together.
pub fn priming(
    target: Volumes,
    residual: Volumes,
    drink: Litres,
    primer: Primer,
) -> Result<Priming, SumError> {
    let missing = target.get() - residual.get();
    if missing < 0.0 {
        return Err(SumError::NoAnswer(format!(
            "the drink already holds {:.2} volumes, more than the {:.2} wanted: add no sugar",
            residual.get(),
            target.get()
        )));
    }
    let per_gram = primer.co2_per_gram();
    let gas = missing * GRAMS_PER_VOLUME * drink.get();
    let room = primer
        .liquid()
        .map_or(0.0, |rho| target.get() * GRAMS_PER_VOLUME / rho);
    if per_gram <= room {
        return Err(SumError::NoAnswer(
            "that primer is too thin to reach the target".to_owned(),
        ));
    }
    let amount = gas / (per_gram - room);
    Ok(Priming {
        amount: Grams::new(amount)?,
        added: Volumes::new(missing)?,
        alcohol: Abv::new(
            missing * GRAMS_PER_VOLUME / CO2_PER_SUCROSE / EXTRACT_PER_ALCOHOL / 7.8924,
        )?,
    })
}

/// The gravity at which to bottle a ferment so that the sugar still in it
/// makes the gas: only with a well-known final gravity, for it is the least
/// certain way. Balance of extract, yield to its upper bound.
pub fn bottle_at(
    original: Gravity,
    end: Gravity,
    residual: Volumes,
    target: Volumes,
) -> Result<Gravity, SumError> {
    let missing = (target.get() - residual.get()) * GRAMS_PER_VOLUME;
    if missing < 0.0 {
        return Err(SumError::NoAnswer(
            "the drink already holds more gas than wanted".to_owned(),
        ));
    }
    let (mut low, mut high) = (end.get(), original.get().max(end.get()));
    if unfinished(original, Gravity::new(high)?, end)? < missing {
        return Err(SumError::NoAnswer(
            "the whole must does not hold sugar for so much gas".to_owned(),
        ));
    }
    for _ in 0..45 {
        let middle = f64::midpoint(low, high);
        if unfinished(original, Gravity::new(middle)?, end)? < missing {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(Gravity::new(f64::midpoint(low, high))?)
}

/// Grams of CO2 per litre still to come between `present` and `end`, the
/// balance's figure raised to the full yield of sugar (x 1.11).
fn unfinished(original: Gravity, present: Gravity, end: Gravity) -> Result<f64, SumError> {
    // Balling's 0.4629 g of CO2 per gram of extract against 0.5143 at most.
    let balance = finish::co2_per_litre(original, present, end)?;
    Ok(balance.get() * CO2_PER_SUCROSE / 0.462_86)
}

/// Gas in the worst case: all sugar that is left ferments in the bottle.
pub fn worst_case(held: Volumes, sugar: GramsPerLitre) -> Result<Volumes, SumError> {
    Ok(Volumes::new(
        held.get() + sugar.get() * CO2_PER_SUCROSE / GRAMS_PER_VOLUME,
    )?)
}

/// Gas that a ferment still has to give when it stands at `present` and may
/// fall to `lowest`, as volumes; upper bound.
pub fn still_to_come(
    original: Gravity,
    present: Gravity,
    lowest: Gravity,
) -> Result<Volumes, SumError> {
    Ok(Volumes::new(
        unfinished(original, present, lowest)? / GRAMS_PER_VOLUME,
    )?)
}

/// Pressure in a closed bottle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pressure {
    /// CO2 alone over the drink, less the air outside: the usual table figure.
    pub gauge: GaugeBar,
    /// On the safe side: with [`PRESSURE_MARGIN`] and the air shut in above
    /// the drink, which takes no part in the tables.
    pub safe: GaugeBar,
}

/// Pressure above the air in a full, closed bottle at a temperature.
///
/// p = (volumes x 1.9768) / solubility. The gas that goes into the headspace
/// is not taken off the drink, which errs on the safe side. Range as
/// [`in_drink`].
pub fn bottle_pressure(
    held: Volumes,
    drink: Drink,
    storage: Celsius,
) -> Result<Pressure, SumError> {
    let co2 = held.get() * GRAMS_PER_VOLUME / in_drink(drink, storage)?;
    let air = AIR * storage.kelvin() / 293.15;
    Ok(Pressure {
        gauge: GaugeBar::new((co2 - AIR).max(0.0))?,
        safe: GaugeBar::new((co2 * (1.0 + PRESSURE_MARGIN) + air - AIR).max(0.0))?,
    })
}

/// What a bottle bears, as its maker states it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Rating {
    /// Volumes of CO2 it was made for.
    Volumes(Volumes),
    /// Working pressure it was made for (not its burst pressure).
    Gauge(GaugeBar),
    /// Not made for pressure at all.
    None,
}

/// How a bottle's contents compare with its rating.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Within the rating with a tenth to spare.
    Within,
    /// Within the rating, but by less than a tenth.
    Tight,
    /// Beyond the rating: do not fill.
    Beyond,
}

/// Compares gas and pressure (the safe one, at the warmest storage) with a
/// rating. A tenth to spare is common practice, no source.
pub fn against(rating: Rating, held: Volumes, pressure: Pressure) -> Verdict {
    let (load, limit) = match rating {
        Rating::Volumes(limit) => (held.get(), limit.get()),
        Rating::Gauge(limit) => (pressure.safe.get(), limit.get()),
        Rating::None => return Verdict::Beyond,
    };
    if load > limit {
        Verdict::Beyond
    } else if load > 0.9 * limit {
        Verdict::Tight
    } else {
        Verdict::Within
    }
}

/// Regulator setting that keeps `target` in a keg at its temperature.
/// Range as [`in_drink`]; error about 5 %.
pub fn keg(target: Volumes, drink: Drink, t: Celsius) -> Result<GaugeBar, SumError> {
    let gauge = target.get() * GRAMS_PER_VOLUME / in_drink(drink, t)? - AIR;
    if gauge < 0.0 {
        return Err(SumError::NoAnswer(format!(
            "at {:.1} °C the drink holds {:.2} volumes without any pressure",
            t.get(),
            target.get()
        )));
    }
    Ok(GaugeBar::new(gauge)?)
}

/// Volumes that a keg or bottle holds at this gauge pressure and temperature.
pub fn held_at(gauge: GaugeBar, drink: Drink, t: Celsius) -> Result<Volumes, SumError> {
    Ok(Volumes::new(
        (gauge.get() + AIR) * in_drink(drink, t)? / GRAMS_PER_VOLUME,
    )?)
}

#[cfg(test)]
mod tests {
    use super::*;

    const WATER: Drink = Drink {
        alcohol: Abv::known(0.0),
        sugar: GramsPerLitre::known(0.0),
    };

    #[test]
    fn a_gallon_at_twenty_degrees_takes_the_published_dose() {
        // Practice check: 23.8 ± 1.5 g sucrose for 2.5 volumes.
        let p = priming(
            Volumes::known(2.5),
            residual(Celsius::known(20.0)).unwrap(),
            Litres::known(3.785411784),
            Primer::Sucrose,
        )
        .unwrap();
        assert!((p.amount.get() - 23.8).abs() < 1.5, "{p:?}");
    }

    #[test]
    fn a_drink_that_holds_enough_takes_no_sugar() {
        let said = priming(
            Volumes::known(1.0),
            Volumes::known(1.58),
            Litres::known(1.0),
            Primer::Sucrose,
        )
        .unwrap_err()
        .to_string();
        assert!(said.ends_with("add no sugar"), "{said}");
    }

    #[test]
    fn must_as_primer_counts_its_own_room() {
        let primer = Primer::Must {
            extract: Share::known(0.24),
        };
        let p = priming(
            Volumes::known(2.5),
            Volumes::known(0.9),
            Litres::known(10.0),
            primer,
        )
        .unwrap();
        let litres = p.amount.get() / primer.liquid().unwrap();
        let gas = p.amount.get() * primer.co2_per_gram() / GRAMS_PER_VOLUME + 9.0;
        assert!((gas / (10.0 + litres) - 2.5).abs() < 1e-9);
    }

    #[test]
    fn the_safe_pressure_is_above_the_table_figure() {
        let p = bottle_pressure(Volumes::known(2.5), WATER, Celsius::known(30.0)).unwrap();
        assert!(p.safe.get() > p.gauge.get() + 1.0);
        assert_eq!(
            against(Rating::Gauge(GaugeBar::known(4.0)), Volumes::known(2.5), p),
            Verdict::Beyond
        );
        assert_eq!(
            against(Rating::None, Volumes::known(1.0), p),
            Verdict::Beyond
        );
    }

    #[test]
    fn bottling_unfinished_meets_the_target() {
        let og = Gravity::known(1.060);
        let end = Gravity::known(0.998);
        let at = bottle_at(og, end, Volumes::known(0.9), Volumes::known(2.4)).unwrap();
        assert!((1.0..1.002).contains(&at.get()), "{at:?}");
    }
}
