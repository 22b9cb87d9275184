use super::{BottleClass, PantryId, words};
use crate::domain::sums::carbonation::Rating;
use crate::domain::units::Litres;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

words! {
    /// Shelf in the pantry.
    PantryKind {
        /// Honey.
        Honey = "honey",
        /// Sugar, syrup, malt.
        Sugar = "sugar",
        /// Fruit and juice.
        Fruit = "fruit",
        /// Nutrient.
        Nutrient = "nutrient",
        /// Yeast.
        Yeast = "yeast",
        /// Sulfite, sorbate, acid, buffer, finings, tannin.
        Additive = "additive",
        /// Cleaner and sanitiser.
        Cleaning = "cleaning",
        /// Empty bottles.
        Bottle = "bottle",
        /// Caps, corks.
        Closure = "closure",
        /// Hops, spice, herbs, oak.
        Flavour = "flavour",
        /// Anything else.
        Other = "other",
    }
}

/// Something in the pantry, one lot of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PantryItem {
    /// Row number.
    pub id: PantryId,
    /// Shelf.
    pub kind: PantryKind,
    /// What it is: `orange-blossom honey`, `diammonium phosphate`.
    pub name: String,
    /// How much is left, in `unit`.
    pub amount: f64,
    /// `g`, `mL` or `pieces`.
    pub unit: String,
    /// The maker's or seller's lot.
    pub lot: String,
    /// Best before.
    pub best_before: Option<NaiveDate>,
    /// Price per unit, in the maker's own money.
    pub price: Option<f64>,
    /// Amount below which it goes on the shopping list.
    pub keep_at_least: Option<f64>,
    /// What the register knows of empty bottles; none for anything else, and
    /// for bottles whose size nobody said.
    pub bottle: Option<Bottle>,
    /// Free words.
    pub note: String,
}

/// Empty bottles of one kind, as the register keeps them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Bottle {
    /// Volume of one, filled to its usual height.
    pub size: Litres,
    /// Class; none where it is not known, and such bottles bear no gas.
    pub class: Option<BottleClass>,
    /// What their maker states; else the trade's ceiling for the class counts.
    pub rating: Option<Rating>,
    /// How often they were filled before.
    pub filled: u32,
    /// Chipped, scuffed or bruised ones that were put aside.
    pub rejected: u32,
    /// Clear glass lets light in.
    pub clear_glass: bool,
}

impl Bottle {
    /// Whether a fill of that size, give or take a twentieth, was of such bottles.
    pub fn holds(&self, size: Litres) -> bool {
        (self.size.get() / size.get() - 1.0).abs() < 0.05
    }
}
