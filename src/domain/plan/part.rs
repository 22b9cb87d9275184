use crate::domain::records::words;
use crate::domain::units::{Grams, Share};
use serde::{Deserialize, Serialize};

words! {
    /// What a part of the must is.
    PartKind {
        /// Honey.
        Honey = "honey",
        /// Sugar or syrup that ferments out.
        Sugar = "sugar",
        /// Whole or crushed fruit: sugar, water, and pulp that takes room.
        Fruit = "fruit",
        /// Juice without pulp.
        Juice = "juice",
        /// Malt extract or wort: the yeast leaves part of it.
        Malt = "malt",
        /// A sugar the yeast leaves, such as lactose.
        Unfermentable = "unfermentable sugar",
    }
}

/// One thing that goes into the must, by its mass and what it is made of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Part {
    /// Key in the list of ingredients, or empty for one of the maker's own.
    pub key: String,
    /// Name for people.
    pub name: String,
    /// What it is.
    pub kind: PartKind,
    /// How much of it.
    pub mass: Grams,
    /// Share of its mass that is sugar, counted as sucrose.
    pub sugar: Share,
    /// Share of its mass that is water; what is left of fruit is pulp.
    pub water: Share,
    /// How far the sugar share may be off, as a share of the mass.
    pub doubt: Share,
    /// Nitrogen that yeast can use, mg in a kilogram of it.
    pub nitrogen: f64,
    /// Price of a kilogram, in the maker's own money.
    pub price: Option<f64>,
    /// Whether its mass stays when other numbers change.
    pub locked: bool,
}

impl Part {
    /// Honey with this share of water. Solids are counted as sugar; the share
    /// the yeast can't use is under 1 % of it.
    ///
    /// Usual water 17.2 % (range 13.4 to 22.9), mean of 490 US samples: J. W.
    /// White et al., Composition of American Honeys, USDA Technical Bulletin
    /// 1261, 1962. The doubt of 1.5 % is from memory of the same bulletin.
    /// Nitrogen 15 mg per litre of must at 3 lb per gallon, from memory.
    pub fn honey(name: &str, mass: Grams, water: Share) -> Self {
        Self {
            key: String::new(),
            name: name.to_owned(),
            kind: PartKind::Honey,
            mass,
            sugar: Share::clamped(1.0 - water.get()),
            water,
            doubt: Share::known(0.015),
            nitrogen: 42.0,
            price: None,
            locked: false,
        }
    }

    /// Mass of its sugar, g.
    pub fn sugar_mass(&self) -> f64 {
        self.mass.get() * self.sugar.get()
    }

    /// Mass of what becomes liquid, g: sugar and water.
    pub fn liquid_mass(&self) -> f64 {
        self.mass.get() * (self.sugar.get() + self.water.get()).min(1.0)
    }

    /// Room that its pulp takes, L, at about the density of water (common
    /// practice, no source).
    pub fn pulp_volume(&self) -> f64 {
        match self.kind {
            PartKind::Fruit => (self.mass.get() - self.liquid_mass()).max(0.0) / 1000.0,
            _ => 0.0,
        }
    }
}
