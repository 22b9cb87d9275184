//! Nitrogen for the yeast: what it needs, what the must brings, what to add
//! at which feeding, and when it is too late.

use super::SumError;
use super::error::within;
use crate::domain::units::{Abv, Grams, Litres, MilligramsPerLitre, Plato, Share};

/// Least aim, mg N/L: best for mead in one published design, where the must also held
/// at least 600 mg/L of potassium ([`super::source::MEAD_NITROGEN`]), and the low-risk minimum of white wine
/// ([`super::source::AWRI`]).
pub const LEAST: f64 = 150.0;
/// Highest aim, mg N/L: upper end for clean and fruity white wine (AWRI).
pub const HIGHEST: f64 = 350.0;
/// Nitrogen in diammonium phosphate by mass: 28.014 / 132.056.
pub const N_IN_DAP: f64 = 0.2121;
/// Most diammonium phosphate, g/L: 8 lb per 1000 US gal, 27 CFR 24.246 (from
/// memory); EU law allows 1 g/L of ammonium salts (EC 606/2009, Annex I A).
pub const MOST_DAP: f64 = 0.96;
/// Share of the sugar gone after which no nutrient is given (common practice).
pub const LAST_SHARE: f64 = 1.0 / 3.0;
/// Alcohol after which nothing with ammonium is given, % vol (common practice).
pub const LAST_ALCOHOL: f64 = 9.0;

/// How much nitrogen a yeast asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Demand {
    /// Content with little.
    Low,
    /// As most.
    Medium,
    /// Asks for much.
    High,
}

impl Demand {
    /// mg N/L per degree of extract: 7.5, 10, 12.5 (common practice, set
    /// between the sources; measured strains asked for 0.62 to 0.91 mg per
    /// gram of sugar, which is 6.7 to 9.8 at 24 °P).
    pub fn per_degree(self) -> f64 {
        match self {
            Self::Low => 7.5,
            Self::Medium => 10.0,
            Self::High => 12.5,
        }
    }
}

/// The aim: extract x the demand's factor, not under 150 nor over 350 mg N/L.
/// Range 0 to 45 °P. Sources disagree by a factor of two; see [`need_range`].
pub fn aim(extract: Plato, demand: Demand) -> Result<MilligramsPerLitre, SumError> {
    let p = within(
        "the need of nitrogen",
        "extract",
        " °P",
        0.0..=45.0,
        extract.get(),
    )?;
    Ok(MilligramsPerLitre::new(
        (p * demand.per_degree()).clamp(LEAST, HIGHEST),
    )?)
}

/// What four measured strains asked for, lowest and highest, mg N/L: 0.62 and
/// 0.91 mg per gram of sugar ([`super::source::TAILLANDIER`]).
pub fn need_range(sugar_per_litre: f64) -> (f64, f64) {
    (0.62 * sugar_per_litre, 0.91 * sugar_per_litre)
}

/// Nitrogen the yeast can use, from a laboratory's ammonia and alpha-amino
/// nitrogen: 0.8225 NH3 + AN ([`super::source::AWRI`]).
pub fn usable(ammonia: MilligramsPerLitre, amino: MilligramsPerLitre) -> MilligramsPerLitre {
    MilligramsPerLitre::clamped(0.8225 * ammonia.get() + amino.get())
}

/// A class of yeast nutrient.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Nutrient {
    /// Made of yeast alone; its nitrogen is all amino acids.
    Organic,
    /// Diammonium phosphate with yeast.
    Complex,
    /// Diammonium phosphate.
    Dap,
}

impl Nutrient {
    /// As printed.
    pub fn name(self) -> &'static str {
        match self {
            Self::Organic => "organic nutrient",
            Self::Complex => "complex nutrient",
            Self::Dap => "diammonium phosphate",
        }
    }

    /// mg N/L from 1 g/L. Organic 40 (35 to 60) and complex 100 (80 to 150)
    /// are common practice: the label rules.
    pub fn nitrogen(self) -> f64 {
        match self {
            Self::Organic => 40.0,
            Self::Complex => 100.0,
            Self::Dap => 1000.0 * N_IN_DAP,
        }
    }

    /// Most that is given, g/L: the law for DAP, common practice for the rest
    /// (the label rules).
    pub fn most(self) -> f64 {
        match self {
            Self::Organic => 0.6,
            Self::Complex => 0.5,
            Self::Dap => MOST_DAP,
        }
    }
}

/// One nutrient at hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtHand {
    /// Its class.
    pub class: Nutrient,
    /// Most by its label, g/L, if stated.
    pub label_most: Option<f64>,
    /// mg N/L from 1 g/L by its label, if stated.
    pub label_nitrogen: Option<f64>,
}

/// Amount of one nutrient, over all feedings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Given {
    /// Its class.
    pub class: Nutrient,
    /// In all.
    pub total: Grams,
    /// At each feeding.
    pub each: Grams,
    /// What it brings, mg N/L.
    pub nitrogen: MilligramsPerLitre,
}

/// A feeding plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// The aim.
    pub aim: MilligramsPerLitre,
    /// What is to be added.
    pub missing: MilligramsPerLitre,
    /// The nutrients, in the order of giving.
    pub given: Vec<Given>,
    /// What the limits leave unmet: shown, never forced.
    pub unmet: MilligramsPerLitre,
    /// Number of feedings, the last at a third of the sugar gone at latest.
    pub feedings: u32,
}

/// Where the ferment stands, for 'too late'.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stage {
    /// Share of the sugar gone.
    pub gone: Share,
    /// Alcohol so far.
    pub alcohol: Abv,
}

/// Plans the feedings of a must.
///
/// missing = aim - what the must brings; organic first, then complex, then
/// DAP, each to its limit; ammonium of DAP and complex together stays within
/// the law's DAP limit. Split in equal feedings. After a third of the sugar or
/// at 9 % vol it is refused: late nitrogen is left for spoilage.
pub fn plan(
    aim: MilligramsPerLitre,
    must: MilligramsPerLitre,
    volume: Litres,
    at_hand: &[AtHand],
    feedings: u32,
    stage: Stage,
) -> Result<Plan, SumError> {
    refuse_late(stage)?;
    let feedings = feedings.clamp(1, 8);
    let missing = (aim.get() - must.get()).max(0.0);
    let mut left = missing;
    let mut ammonium_left = MOST_DAP;
    let mut given = Vec::new();
    for class in [Nutrient::Organic, Nutrient::Complex, Nutrient::Dap] {
        let Some(nutrient) = at_hand.iter().find(|n| n.class == class) else {
            continue;
        };
        let per_gram = nutrient.label_nitrogen.unwrap_or(class.nitrogen());
        let most = nutrient
            .label_most
            .unwrap_or(class.most())
            .min(match class {
                Nutrient::Dap => ammonium_left,
                _ => f64::INFINITY,
            });
        let grams_per_litre = (left / per_gram.max(1.0)).min(most);
        if grams_per_litre <= 0.0 {
            continue;
        }
        left -= grams_per_litre * per_gram;
        if class == Nutrient::Complex {
            // Half of a complex nutrient counts as DAP (common practice; the label rules).
            ammonium_left = (ammonium_left - grams_per_litre / 2.0).max(0.0);
        }
        let total = grams_per_litre * volume.get();
        given.push(Given {
            class,
            total: Grams::new(total)?,
            each: Grams::new(total / f64::from(feedings))?,
            nitrogen: MilligramsPerLitre::new(grams_per_litre * per_gram)?,
        });
    }
    Ok(Plan {
        aim,
        missing: MilligramsPerLitre::new(missing)?,
        given,
        unmet: MilligramsPerLitre::new(if left < 1e-9 { 0.0 } else { left })?,
        feedings,
    })
}

fn refuse_late(stage: Stage) -> Result<(), SumError> {
    if stage.gone.get() > LAST_SHARE + 1e-9 {
        return Err(SumError::NoAnswer(format!(
            "too late for nutrient: {:.0} % of the sugar is gone, the last feeding is at a third",
            100.0 * stage.gone.get()
        )));
    }
    if stage.alcohol.get() > LAST_ALCOHOL {
        return Err(SumError::NoAnswer(format!(
            "too late for nutrient: {:.1} % vol, nothing is given above {LAST_ALCOHOL:.0}",
            stage.alcohol.get()
        )));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const START: Stage = Stage {
        gone: Share::known(0.0),
        alcohol: Abv::known(0.0),
    };
    const ALL: [AtHand; 2] = [
        AtHand {
            class: Nutrient::Organic,
            label_most: None,
            label_nitrogen: None,
        },
        AtHand {
            class: Nutrient::Dap,
            label_most: None,
            label_nitrogen: None,
        },
    ];

    #[test]
    fn feedings_add_up_and_stay_within_the_law() {
        let p = plan(
            MilligramsPerLitre::known(350.0),
            MilligramsPerLitre::known(15.0),
            Litres::known(4.0),
            &ALL,
            4,
            START,
        )
        .unwrap();
        let n: f64 = p.given.iter().map(|g| g.nitrogen.get()).sum();
        assert!((n + p.unmet.get() - p.missing.get()).abs() < 1e-9);
        assert!(p.unmet.get() > 0.0);
        let dap = p.given.iter().find(|g| g.class == Nutrient::Dap).unwrap();
        assert!(dap.total.get() <= MOST_DAP * 4.0 + 1e-12);
        assert!((dap.each.get() * 4.0 - dap.total.get()).abs() < 1e-12);
    }

    #[test]
    fn after_the_break_it_is_too_late() {
        let late = Stage {
            gone: Share::known(0.4),
            alcohol: Abv::known(5.0),
        };
        let said = plan(
            MilligramsPerLitre::known(200.0),
            MilligramsPerLitre::known(15.0),
            Litres::known(4.0),
            &ALL,
            2,
            late,
        )
        .unwrap_err()
        .to_string();
        assert_eq!(
            said,
            "too late for nutrient: 40 % of the sugar is gone, the last feeding is at a third"
        );
    }
}
