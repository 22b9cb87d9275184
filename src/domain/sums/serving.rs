//! A serving: energy, sugar, alcohol and standard drinks. And bottles from a
//! volume, and the dilution of a sanitiser.

use super::density::ETHANOL_PURE_20;
use super::error::within;
use super::{SumError, blend};
use crate::domain::units::{
    Grams, Kilocalories, Litres, ML_PER_US_FL_OZ, MilligramsPerLitre, Share,
};

/// Energy of alcohol, kcal/g (general Atwater factor, from memory).
pub const KCAL_PER_ALCOHOL: f64 = 7.0;
/// Energy of extract as carbohydrate, kcal/g (same).
pub const KCAL_PER_EXTRACT: f64 = 4.0;
/// Alcohol of a US standard drink, g (University of Pittsburgh SBIRT glossary).
pub const STANDARD_DRINK: f64 = 14.0;

/// What one serving holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Serving {
    /// Energy.
    pub energy: Kilocalories,
    /// Extract that is left: sugar, and what yeast leaves.
    pub extract: Grams,
    /// Alcohol by mass.
    pub alcohol: Grams,
    /// US standard drinks.
    pub standard_drinks: f64,
}

/// Energy and more of a serving from a lot.
///
/// 7 kcal per gram of alcohol, 4 per gram of extract: general factors, good
/// to about 5 %; extract counts whole though yeast leaves some that is no
/// sugar, so sugar is at most this.
pub fn serving(drink: blend::Seen, size: Litres) -> Result<Serving, SumError> {
    let alcohol = drink.alcohol.get() / 100.0 * ETHANOL_PURE_20 * size.get();
    let per_litre = drink.mass.get() / drink.volume.get().max(1e-12);
    let extract = (drink.real_extract.get() / 100.0).max(0.0) * per_litre * size.get();
    Ok(Serving {
        energy: Kilocalories::new(KCAL_PER_ALCOHOL * alcohol + KCAL_PER_EXTRACT * extract)?,
        extract: Grams::new(extract)?,
        alcohol: Grams::new(alcohol)?,
        standard_drinks: alcohol / STANDARD_DRINK,
    })
}

/// Bottles that a volume fills.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bottles {
    /// Full ones.
    pub full: u32,
    /// What is left over.
    pub over: Litres,
    /// What was lost before.
    pub lost: Litres,
}

/// Bottles from a volume: `loss` is the share left on the lees and in the
/// hose (3 to 6 % of 5 gal, 5 to 10 % of 1 gal a racking: common practice),
/// `samples` what was drawn and not returned.
pub fn bottles(
    volume: Litres,
    loss: Share,
    samples: Litres,
    size: Litres,
) -> Result<Bottles, SumError> {
    let size_l = within("bottling", "the bottle", " L", 0.05..=30.0, size.get())?;
    let lost = (volume.get() * loss.get() + samples.get()).min(volume.get());
    let left = volume.get() - lost;
    let full = (left / size_l + 1e-9).floor();
    Ok(Bottles {
        full: full as u32,
        over: Litres::new((left - full * size_l).max(0.0))?,
        lost: Litres::new(lost)?,
    })
}

/// Litres of stock for a working solution by strength: target x litres /
/// stock, both in parts per million (mg/L). A definition.
pub fn stock_for(
    target: MilligramsPerLitre,
    stock_ppm: f64,
    solution: Litres,
) -> Result<Litres, SumError> {
    let stock = within(
        "a dilution",
        "the stock",
        " ppm",
        1.0..=1_000_000.0,
        stock_ppm,
    )?;
    if target.get() > stock {
        return Err(SumError::Contradiction(format!(
            "the stock ({stock:.0} ppm) is weaker than the solution wanted ({:.0} ppm)",
            target.get()
        )));
    }
    Ok(Litres::new(target.get() * solution.get() / stock)?)
}

/// Litres of concentrate for a label that says so much concentrate in so much
/// water, for `water` litres of water. A proportion.
pub fn by_label(label: Litres, label_water: Litres, water: Litres) -> Result<Litres, SumError> {
    let of = within(
        "a dilution",
        "the label's water",
        " L",
        0.01..=2000.0,
        label_water.get(),
    )?;
    Ok(Litres::new(label.get() * water.get() / of)?)
}

/// Litres of US fluid ounces, exactly.
pub fn fluid_ounces(oz: f64) -> Result<Litres, SumError> {
    Ok(Litres::new(oz * ML_PER_US_FL_OZ / 1000.0)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::units::{Abv, GramsPerLitre, Gravity};

    fn drink(abv: f64, sg: f64) -> blend::Seen {
        blend::Lot::new(
            Litres::known(1.0),
            Gravity::new(sg).unwrap(),
            Abv::new(abv).unwrap(),
            GramsPerLitre::known(0.0),
        )
        .unwrap()
        .seen()
        .unwrap()
    }

    #[test]
    fn standard_drinks_as_published() {
        // 12 oz at 5 % is one standard drink, at 12 % 2.4 (SBIRT glossary: 14 g).
        let size = fluid_ounces(12.0).unwrap();
        let beer = serving(drink(5.0, 1.010), size).unwrap();
        let mead = serving(drink(12.0, 1.000), size).unwrap();
        assert!((beer.standard_drinks - 1.0).abs() < 0.05);
        assert!((mead.standard_drinks - 2.4).abs() < 0.05);
    }

    #[test]
    fn a_gallon_fills_ten_bottles() {
        let b = bottles(
            Litres::known(3.785411784),
            Share::known(0.05),
            Litres::known(0.0),
            fluid_ounces(12.0).unwrap(),
        )
        .unwrap();
        assert_eq!(b.full, 10);
    }

    #[test]
    fn iodine_stock_as_in_the_trade() {
        // 1.6 % stock, 12.5 ppm in 4 L: 3.1 mL.
        let l = stock_for(
            MilligramsPerLitre::known(12.5),
            16_000.0,
            Litres::known(4.0),
        )
        .unwrap();
        assert!((l.get() * 1000.0 - 3.125).abs() < 0.001);
    }
}
