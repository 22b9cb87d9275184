//! Mixing and sweetening: by mass, for volumes do not add up.
//!
//! Every mixture keeps the mass of water, extract, alcohol and acid that went
//! in; its gravity follows from extract and alcohol (Tabarie), its volume
//! from mass and density. Two pHs cannot be mixed by any sum: measure.

use super::SumError;
use super::density::{ETHANOL_PURE_20, ETHANOL_WATER_20, SUCROSE_20, ethanol_20};
use super::gravity::{fraction, sg};
use crate::domain::units::{Abv, Grams, GramsPerLitre, Gravity, Litres, Plato, Share};

/// A lot of liquid, held as masses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lot {
    mass: f64,
    extract: f64,
    ethanol: f64,
    /// Acid as tartaric, in grams.
    acid: f64,
}

/// What a lot is, as a maker sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Volume at 20 °C.
    pub volume: Litres,
    /// Specific gravity.
    pub gravity: Gravity,
    /// Alcohol by volume.
    pub alcohol: Abv,
    /// Acidity as tartaric.
    pub acidity: GramsPerLitre,
    /// Real extract.
    pub real_extract: Plato,
    /// Mass.
    pub mass: Grams,
}

impl Lot {
    /// A lot from what a maker measures: volume, gravity, alcohol, acidity.
    /// Range: alcohol to 25 % vol.
    pub fn new(
        volume: Litres,
        gravity: Gravity,
        alcohol: Abv,
        acidity: GramsPerLitre,
    ) -> Result<Self, SumError> {
        super::error::within("a blend", "alcohol", " % vol", 0.0..=25.0, alcohol.get())?;
        let density = gravity.get() * SUCROSE_20.water();
        let mass = volume.get() * density;
        let a = alcohol.get() / 100.0 * ETHANOL_PURE_20 / density;
        let er = fraction(gravity.get() - ethanol_20(a) / ETHANOL_WATER_20 + 1.0);
        Ok(Self {
            mass,
            extract: mass * er,
            ethanol: mass * a,
            acid: acidity.get() * volume.get(),
        })
    }

    /// Dry sugar, honey or syrup: so much soluble matter in so much mass.
    pub fn sweetener(mass: Grams, solids: Share) -> Self {
        Self {
            mass: mass.get(),
            extract: mass.get() * solids.get(),
            ethanol: 0.0,
            acid: 0.0,
        }
    }

    /// Water by volume at 20 °C.
    pub fn water(volume: Litres) -> Self {
        Self {
            mass: volume.get() * SUCROSE_20.water(),
            extract: 0.0,
            ethanol: 0.0,
            acid: 0.0,
        }
    }

    /// Nothing yet.
    pub const EMPTY: Self = Self {
        mass: 0.0,
        extract: 0.0,
        ethanol: 0.0,
        acid: 0.0,
    };

    /// So many times as much of it.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self::EMPTY.plus(self, factor)
    }

    /// Both together: masses add.
    #[must_use]
    pub fn with(self, other: Self) -> Self {
        self.plus(other, 1.0)
    }

    fn plus(self, other: Self, times: f64) -> Self {
        Self {
            mass: self.mass + times * other.mass,
            extract: self.extract + times * other.extract,
            ethanol: self.ethanol + times * other.ethanol,
            acid: self.acid + times * other.acid,
        }
    }

    /// Mass.
    pub fn mass(self) -> Grams {
        Grams::clamped(self.mass)
    }

    /// Mass of ethanol.
    pub fn ethanol(self) -> Grams {
        Grams::clamped(self.ethanol)
    }

    /// Mass of extract; a dry lot may hold slightly less than none.
    pub fn extract(self) -> f64 {
        self.extract
    }

    fn sg(self) -> f64 {
        let m = self.mass.max(1e-12);
        sg(self.extract / m) + ethanol_20(self.ethanol / m) / ETHANOL_WATER_20 - 1.0
    }

    fn litres(self) -> f64 {
        self.mass / (self.sg() * SUCROSE_20.water())
    }

    fn value(self, property: Property) -> f64 {
        match property {
            Property::Gravity => self.sg(),
            Property::Alcohol => 100.0 * self.ethanol / ETHANOL_PURE_20 / self.litres(),
            Property::Acidity => self.acid / self.litres(),
        }
    }

    /// The lot as a maker sees it.
    pub fn seen(self) -> Result<Seen, SumError> {
        if self.mass <= 0.0 {
            return Err(SumError::Contradiction(
                "a blend of nothing has no gravity".to_owned(),
            ));
        }
        Ok(Seen {
            volume: Litres::new(self.litres())?,
            gravity: Gravity::new(self.sg())?,
            alcohol: Abv::new(self.value(Property::Alcohol))?,
            acidity: GramsPerLitre::new(self.value(Property::Acidity))?,
            real_extract: Plato::new(100.0 * self.extract / self.mass)?,
            mass: Grams::new(self.mass)?,
        })
    }
}

/// Soluble matter of what sweetens, by what it is called: honey 82.8 % (White
/// and others, Composition of American Honeys, 1962), dextrose as the
/// monohydrate 91 % (molar masses 180.16 and 198.17), anything else as dry sugar.
pub fn solids(substance: &str) -> Share {
    let word = substance.to_lowercase();
    if word.contains("honey") {
        Share::known(0.828)
    } else if word.contains("dextrose") && !word.contains("dry") {
        Share::known(0.91)
    } else {
        Share::known(1.0)
    }
}

/// By how much a sweetener makes a drink more once it is dissolved: about
/// 0.62 mL for a gram of sugar, from the densities of sugar solutions. Error:
/// below 1 % of it, for alcohol makes little difference.
pub fn swelling(volume: Litres, mass: Grams, solids: Share) -> Litres {
    let before = Lot::water(volume);
    let after = before.with(Lot::sweetener(mass, solids));
    Litres::clamped(after.litres() - before.litres())
}

/// All lots together.
pub fn mix(lots: &[Lot]) -> Result<Seen, SumError> {
    lots.iter()
        .fold(Lot::EMPTY, |sum, lot| sum.with(*lot))
        .seen()
}

/// What a blend is steered by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Property {
    /// Specific gravity.
    Gravity,
    /// Alcohol, % vol.
    Alcohol,
    /// Acidity as tartaric, g/L.
    Acidity,
}

impl Property {
    fn name(self) -> &'static str {
        match self {
            Self::Gravity => "gravity",
            Self::Alcohol => "alcohol",
            Self::Acidity => "acidity",
        }
    }

    /// Size of one step that matters, to weigh properties against each other.
    fn step(self) -> f64 {
        match self {
            Self::Gravity => 0.001,
            Self::Alcohol | Self::Acidity => 0.1,
        }
    }
}

/// One wish for a blend, in the property's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wish {
    /// Of what.
    pub property: Property,
    /// How much.
    pub value: f64,
}

/// How much of the second lot brings the first to the wish; the first is used
/// whole. Works for thinning with water, sharpening, strengthening with must.
pub fn add_until(base: Lot, addition: Lot, wish: Wish) -> Result<Lot, SumError> {
    let part = part_until(base, addition, wish)?;
    Ok(Lot::EMPTY.plus(addition, part))
}

/// As [`add_until`], as a multiple of the addition given.
fn part_until(base: Lot, addition: Lot, wish: Wish) -> Result<f64, SumError> {
    let miss = |part: f64| base.plus(addition, part).value(wish.property) - wish.value;
    let start = miss(0.0);
    if start.abs() < 1e-12 {
        return Ok(0.0);
    }
    // The blend can at most become the addition itself: a million parts of it.
    let (mut low, mut high) = (0.0, 1e6 * base.mass / addition.mass.max(1e-9));
    if (miss(high) > 0.0) == (start > 0.0) {
        return Err(SumError::NoAnswer(format!(
            "the {} {} lies outside what these two can give ({} to {})",
            wish.property.name(),
            shown(wish.property, wish.value),
            shown(wish.property, base.value(wish.property)),
            shown(wish.property, addition.value(wish.property)),
        )));
    }
    for _ in 0..100 {
        let middle = f64::midpoint(low, high);
        if (miss(middle) > 0.0) == (start > 0.0) {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(f64::midpoint(low, high))
}

fn shown(property: Property, value: f64) -> String {
    match property {
        Property::Gravity => format!("{value:.3}"),
        Property::Alcohol => format!("{value:.1} % vol"),
        Property::Acidity => format!("{value:.1} g/L"),
    }
}

/// The sweetener that brings a drink to a gravity, with what becomes of it.
///
/// By mass: the drink keeps its alcohol, thinned by the sweetener's volume.
/// `solids` is the soluble share of the sweetener (sugar 1, honey 0.829).
/// Only a stabilised drink may be sweetened and bottled. Error: that of the
/// gravity reading; honey's water (13 to 23 %) changes the weight by 5 %.
pub fn sweeten(drink: Lot, solids: Share, to: Gravity) -> Result<(Grams, Seen), SumError> {
    if to.get() < drink.sg() - 1e-9 {
        return Err(SumError::Contradiction(format!(
            "the drink stands at {:.3}, above {:.3}: sweetening cannot lower it",
            drink.sg(),
            to.get()
        )));
    }
    let unit = Lot::sweetener(Grams::known(1.0), solids);
    let wish = Wish {
        property: Property::Gravity,
        value: to.get(),
    };
    let part = part_until(drink, unit, wish)?;
    Ok((Grams::new(part)?, drink.plus(unit, part).seen()?))
}

/// Parts of each lot, as shares of what is there, that come nearest to all
/// wishes; as much is made as the scarcest lot allows.
///
/// Any number of lots. The misses, in steps of 0.001 gravity, 0.1 % vol and
/// 0.1 g/L, are squared and made least over all compositions by mass: nearly
/// a convex problem, for each property is nearly linear in them. It starts
/// from all there is, so of equal blends the one that uses more is taken. The
/// second value is the blend.
pub fn nearest(lots: &[Lot], wishes: &[Wish]) -> Result<(Vec<f64>, Seen), SumError> {
    let there = lots.iter().map(|l| l.mass).sum::<f64>();
    if wishes.is_empty() || there <= 0.0 || lots.iter().any(|l| l.mass <= 0.0) {
        return Err(SumError::Contradiction(
            "a blend needs lots and at least one wish".to_owned(),
        ));
    }
    let mut parts: Vec<f64> = lots.iter().map(|l| l.mass / there).collect();
    for _ in 0..400 {
        let before = misses(lots, wishes, &parts);
        for i in 0..lots.len() {
            for j in i + 1..lots.len() {
                trade(lots, wishes, &mut parts, i, j);
            }
        }
        if before - misses(lots, wishes, &parts) < 1e-12 {
            break;
        }
    }
    let most = lots
        .iter()
        .zip(&parts)
        .filter(|(_, part)| **part > 1e-9)
        .map(|(lot, part)| lot.mass / part)
        .fold(f64::INFINITY, f64::min);
    let shares: Vec<f64> = lots
        .iter()
        .zip(&parts)
        .map(|(lot, part)| (part * most / lot.mass).clamp(0.0, 1.0))
        .collect();
    let blend = lots
        .iter()
        .zip(&shares)
        .fold(Lot::EMPTY, |sum, (lot, share)| sum.plus(*lot, *share));
    Ok((shares, blend.seen()?))
}

/// Sum of the squared misses of a composition by mass.
fn misses(lots: &[Lot], wishes: &[Wish], parts: &[f64]) -> f64 {
    let blend = lots.iter().zip(parts).fold(Lot::EMPTY, |sum, (lot, part)| {
        sum.plus(*lot, part / lot.mass)
    });
    wishes
        .iter()
        .map(|w| ((blend.value(w.property) - w.value) / w.property.step()).powi(2))
        .sum()
}

/// Moves mass between two lots to where the misses are least, the rest kept.
fn trade(lots: &[Lot], wishes: &[Wish], parts: &mut [f64], i: usize, j: usize) {
    let both = parts[i] + parts[j];
    let cost = |x: f64, parts: &mut [f64]| {
        parts[i] = x;
        parts[j] = both - x;
        misses(lots, wishes, parts)
    };
    let (mut low, mut high) = (0.0, both);
    for _ in 0..60 {
        let third = (high - low) / 3.0;
        if cost(low + third, parts) < cost(high - third, parts) {
            high -= third;
        } else {
            low += third;
        }
    }
    // The ends themselves, for a third never reaches them.
    let best = [0.0, both, f64::midpoint(low, high)]
        .into_iter()
        .map(|x| (cost(x, parts), x))
        .fold((f64::INFINITY, 0.0), |a, b| if b.0 < a.0 { b } else { a });
    cost(best.1, parts);
}

/// Alcohol of a drink after `added` litres of water, for a quick look.
pub fn thinned(drink: Lot, added: Litres) -> Result<Seen, SumError> {
    drink.with(Lot::water(added)).seen()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lot(litres: f64, sg: f64, abv: f64, acid: f64) -> Lot {
        Lot::new(
            Litres::new(litres).unwrap(),
            Gravity::new(sg).unwrap(),
            Abv::new(abv).unwrap(),
            GramsPerLitre::new(acid).unwrap(),
        )
        .unwrap()
    }

    #[test]
    fn a_lot_reads_back_as_it_was_measured() {
        let seen = lot(4.0, 1.012, 12.5, 6.0).seen().unwrap();
        assert!((seen.volume.get() - 4.0).abs() < 1e-9);
        assert!((seen.gravity.get() - 1.012).abs() < 1e-9);
        assert!((seen.alcohol.get() - 12.5).abs() < 1e-9);
        assert!((seen.acidity.get() - 6.0).abs() < 1e-9);
    }

    #[test]
    fn alcohol_and_water_shrink_together() {
        // 50 mL of ethanol and 50 mL of water give about 96.5 mL: the classic demonstration.
        let strong = Lot {
            mass: 50.0 * 0.78924,
            extract: 0.0,
            ethanol: 50.0 * 0.78924,
            acid: 0.0,
        };
        let mixed = strong.with(Lot::water(Litres::known(0.05)));
        assert!((1000.0 * mixed.litres() - 96.5).abs() < 0.3);
    }

    #[test]
    fn sweetening_thins_the_alcohol() {
        let (grams, seen) = sweeten(
            lot(3.785, 0.998, 13.0, 5.0),
            Share::known(0.829),
            Gravity::known(1.012),
        )
        .unwrap();
        // 3.1 to 3.3 g of honey a litre for each 0.001 (derived in the trade).
        let per_point = grams.get() / 3.785 / 14.0;
        assert!((3.0..3.4).contains(&per_point), "{per_point}");
        assert!(seen.alcohol.get() < 12.8);
        assert!(
            sweeten(
                lot(1.0, 1.02, 12.0, 5.0),
                Share::known(1.0),
                Gravity::known(1.01)
            )
            .is_err()
        );
    }

    #[test]
    fn a_drink_is_sweetened_up_only_and_to_where_it_stands_by_nothing() {
        let (drink, sugar) = (lot(1.0, 1.02, 12.0, 5.0), Share::known(1.0));
        let said = sweeten(drink, sugar, Gravity::known(1.01)).unwrap_err();
        assert_eq!(
            said.to_string(),
            "the drink stands at 1.020, above 1.010: sweetening cannot lower it"
        );
        let (none, seen) = sweeten(drink, sugar, Gravity::new(drink.sg()).unwrap()).unwrap();
        assert!(none.get() < 1e-3, "{none:?}");
        assert!((seen.gravity.get() - 1.02).abs() < 1e-6);
    }

    #[test]
    fn dissolved_sugar_takes_its_room() {
        // 104 g of sucrose make a litre of 10 % solution of density 1.0381
        // (sugar tables): 934 g of water, which took 0.9359 L before.
        let more = swelling(
            Litres::known(0.9359),
            Grams::known(103.81),
            Share::known(1.0),
        );
        assert!((more.get() - 0.0641).abs() < 2e-4, "{more:?}");
        assert!((solids("wildflower honey").get() - 0.828).abs() < 1e-12);
    }

    #[test]
    fn three_lots_meet_two_wishes() {
        let lots = [
            lot(4.0, 0.996, 14.0, 5.0),
            lot(4.0, 1.030, 10.0, 7.0),
            lot(4.0, 1.000, 6.0, 9.0),
        ];
        let wishes = [
            Wish {
                property: Property::Gravity,
                value: 1.008,
            },
            Wish {
                property: Property::Acidity,
                value: 6.5,
            },
        ];
        let (shares, blend) = nearest(&lots, &wishes).unwrap();
        assert!(
            (blend.gravity.get() - 1.008).abs() < 1e-4,
            "{shares:?} {blend:?}"
        );
        assert!((blend.acidity.get() - 6.5).abs() < 0.01);
    }

    #[test]
    fn an_impossible_blend_says_between_what() {
        let said = add_until(
            lot(4.0, 0.998, 13.0, 5.0),
            lot(4.0, 1.010, 9.0, 5.0),
            Wish {
                property: Property::Gravity,
                value: 1.020,
            },
        )
        .unwrap_err()
        .to_string();
        assert_eq!(
            said,
            "the gravity 1.020 lies outside what these two can give (0.998 to 1.010)"
        );
    }
}
