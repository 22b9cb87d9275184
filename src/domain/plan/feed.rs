use super::Plan;
use crate::domain::records::{Demand, Style, words};
use crate::domain::sums::{gravity, nitrogen};
use crate::domain::units::{Abv, Grams, GramsPerLitre, MilligramsPerLitre, Share};
use serde::{Deserialize, Serialize};

words! {
    /// Class of a yeast nutrient.
    FoodClass {
        /// Made of yeast alone.
        Organic = "organic",
        /// Diammonium phosphate with yeast.
        Complex = "complex",
        /// Diammonium phosphate.
        Dap = "diammonium phosphate",
    }
}

impl FoodClass {
    fn sum(self) -> nitrogen::Nutrient {
        match self {
            Self::Organic => nitrogen::Nutrient::Organic,
            Self::Complex => nitrogen::Nutrient::Complex,
            Self::Dap => nitrogen::Nutrient::Dap,
        }
    }
}

/// A nutrient the maker has or will buy.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Food {
    /// Name for people.
    pub name: String,
    /// Class.
    pub class: FoodClass,
    /// mg N from one gram, where the label says so.
    pub nitrogen: Option<f64>,
    /// Most in a litre by the label, g.
    pub most: Option<f64>,
    /// Price of a kilogram.
    pub price: Option<f64>,
}

impl Food {
    /// A nutrient by its class alone, with the usual figures.
    pub fn of(class: FoodClass) -> Self {
        Self {
            name: class.sum().name().to_owned(),
            class,
            nitrogen: None,
            most: None,
            price: None,
        }
    }
}

/// How a batch is fed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Feeding {
    /// What is at hand.
    pub foods: Vec<Food>,
    /// In how many portions.
    pub portions: u32,
}

impl Default for Feeding {
    fn default() -> Self {
        Self {
            foods: vec![Food::of(FoodClass::Organic), Food::of(FoodClass::Dap)],
            portions: 3,
        }
    }
}

/// One nutrient over all portions.
#[derive(Debug, Clone, PartialEq)]
pub struct Portion {
    /// Which.
    pub food: Food,
    /// In all.
    pub total: Grams,
    /// At each feeding.
    pub each: Grams,
    /// What it brings, mg N/L.
    pub nitrogen: MilligramsPerLitre,
}

/// What the yeast needs and what it gets.
#[derive(Debug, Clone, PartialEq)]
pub struct FeedingPlan {
    /// The aim; nothing for a wort of malt, which has enough.
    pub aim: Option<MilligramsPerLitre>,
    /// Lowest and highest need that measured strains had, mg N/L.
    pub measured: (f64, f64),
    /// What the must brings.
    pub brings: MilligramsPerLitre,
    /// What is to be given.
    pub portions: Vec<Portion>,
    /// What the limits leave unmet.
    pub unmet: MilligramsPerLitre,
    /// Number of feedings.
    pub feedings: u32,
}

impl FeedingPlan {
    /// Each nutrient with its grams over all feedings.
    pub(super) fn totals(&self) -> impl Iterator<Item = (&Food, f64)> {
        self.portions.iter().map(|p| (&p.food, p.total.get()))
    }

    /// One feeding in words: `0.8 g organic nutrient and 0.5 g diammonium phosphate`.
    pub fn each_in_words(&self) -> String {
        let all: Vec<String> = self
            .portions
            .iter()
            .map(|p| format!("{:.1} g {}", p.each.get(), p.food.name))
            .collect();
        all.join(" and ")
    }
}

impl Plan {
    /// The feeding plan: the need by extract and the yeast's hunger, less what
    /// the must brings, by what is at hand ([`nitrogen::plan`]). A must of
    /// malt has enough (common practice).
    pub fn fed(&self) -> FeedingPlan {
        let extract = gravity::plato(self.original());
        let sugar = extract
            .and_then(gravity::sugar_per_litre)
            .map_or(0.0, GramsPerLitre::get);
        let brings = self
            .must()
            .map_or(MilligramsPerLitre::clamped(0.0), |m| m.nitrogen);
        let mut fed = FeedingPlan {
            aim: None,
            measured: nitrogen::need_range(sugar),
            brings,
            portions: Vec::new(),
            unmet: MilligramsPerLitre::clamped(0.0),
            feedings: self.feeding.portions.clamp(1, 8),
        };
        if self.style == Style::Beer {
            return fed;
        }
        let demand = match self.yeast.demand {
            Demand::Low => nitrogen::Demand::Low,
            Demand::Medium => nitrogen::Demand::Medium,
            Demand::High => nitrogen::Demand::High,
        };
        let extract = gravity::plato(self.original());
        let Ok(aim) = extract.and_then(|p| nitrogen::aim(p, demand)) else {
            return fed;
        };
        fed.aim = Some(aim);
        let at_hand: Vec<nitrogen::AtHand> = self
            .feeding
            .foods
            .iter()
            .map(|f| nitrogen::AtHand {
                class: f.class.sum(),
                label_most: f.most,
                label_nitrogen: f.nitrogen,
            })
            .collect();
        let start = nitrogen::Stage {
            gone: Share::known(0.0),
            alcohol: Abv::known(0.0),
        };
        if let Ok(p) = nitrogen::plan(aim, brings, self.volume, &at_hand, fed.feedings, start) {
            fed.unmet = p.unmet;
            fed.portions = p
                .given
                .iter()
                .filter_map(|g| {
                    let food = self
                        .feeding
                        .foods
                        .iter()
                        .find(|f| f.class.sum() == g.class)?;
                    Some(Portion {
                        food: food.clone(),
                        total: g.total,
                        each: g.each,
                        nitrogen: g.nitrogen,
                    })
                })
                .collect();
        }
        fed
    }
}
