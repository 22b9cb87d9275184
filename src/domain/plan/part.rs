use crate::domain::records::words;
use crate::domain::sums::ingredients::{Ferments, How, Ingredient, Kind};
use crate::domain::sums::source;
use crate::domain::units::{Grams, Share};
use serde::{Deserialize, Serialize};

words! {
    /// What a part of the must is.
    PartKind {
        /// Honey.
        Honey = "honey",
        /// Dry sugar.
        Sugar = "sugar",
        /// Syrup.
        Syrup = "syrup",
        /// Malt extract or wort: the yeast leaves part of it.
        Malt = "malt",
        /// Whole or crushed fruit: sugar, water, and pulp that takes room.
        Fruit = "fruit",
        /// Juice without pulp.
        Juice = "juice",
    }
}

impl PartKind {
    fn of(kind: Kind) -> Option<Self> {
        Some(match kind {
            Kind::Water => return None,
            Kind::Honey => Self::Honey,
            Kind::Sugar => Self::Sugar,
            Kind::Syrup => Self::Syrup,
            Kind::Malt => Self::Malt,
            Kind::Fruit => Self::Fruit,
            Kind::Juice => Self::Juice,
        })
    }

    fn sum(self) -> Kind {
        match self {
            Self::Honey => Kind::Honey,
            Self::Sugar => Kind::Sugar,
            Self::Syrup => Kind::Syrup,
            Self::Malt => Kind::Malt,
            Self::Fruit => Kind::Fruit,
            Self::Juice => Kind::Juice,
        }
    }

    /// How far the solids may be off, as a share of themselves. Fruit varies
    /// by a fifth, juice by a tenth (common practice); honey's water has a
    /// deviation of 1.5 of 82.8 (J. W. White et al., USDA Technical Bulletin
    /// 1261, 1962, from memory).
    fn doubt(self) -> f64 {
        match self {
            Self::Honey => 0.018,
            Self::Sugar => 0.0,
            Self::Syrup | Self::Malt => 0.02,
            Self::Fruit => 0.20,
            Self::Juice => 0.10,
        }
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
    /// Share of its mass that dissolves: what a hydrometer sees.
    pub solids: Share,
    /// Share of its mass that is sugar the yeast can eat.
    pub sugar: Share,
    /// Share of its mass that is pulp. All else is water.
    pub insoluble: Share,
    /// Nitrogen that yeast can use, mg in a kilogram of it.
    pub nitrogen: f64,
    /// Price of a kilogram, in the maker's own money.
    pub price: Option<f64>,
    /// Whether its mass stays when other numbers change.
    pub locked: bool,
}

impl Part {
    /// An ingredient of the table; none for water, which is no part.
    pub fn of(ingredient: &Ingredient, mass: Grams) -> Option<Self> {
        Some(Self {
            key: ingredient.key.clone(),
            name: ingredient.name.clone(),
            kind: PartKind::of(ingredient.kind)?,
            mass,
            solids: ingredient.solids,
            sugar: ingredient.sugar,
            insoluble: ingredient.insoluble,
            nitrogen: ingredient.nitrogen,
            price: None,
            locked: false,
        })
    }

    /// One of the maker's own, of which only the share that dissolves is
    /// known: all of it sugar, the rest water, or pulp in fruit by half of it.
    pub fn own(name: &str, kind: PartKind, mass: Grams, solids: Share) -> Self {
        Self {
            key: String::new(),
            name: name.to_owned(),
            kind,
            mass,
            solids,
            sugar: solids,
            insoluble: Share::known(0.0),
            nitrogen: 0.0,
            price: None,
            locked: false,
        }
    }

    /// The same as the sums know it.
    pub fn ingredient(&self) -> Ingredient {
        Ingredient {
            key: self.key.clone(),
            name: self.name.clone(),
            kind: self.kind.sum(),
            solids: self.solids,
            sugar: self.sugar,
            insoluble: self.insoluble,
            nitrogen: self.nitrogen,
            ferments: if self.kind == PartKind::Malt {
                Ferments::Wort
            } else {
                Ferments::Dry
            },
            how: How::Practice,
            source: source::PRACTICE.to_owned(),
            note: String::new(),
        }
    }

    /// Water by mass.
    pub fn water(&self) -> Share {
        Share::clamped(1.0 - self.solids.get() - self.insoluble.get())
    }

    /// The same with another water content, solids and sugar in proportion.
    #[must_use]
    pub fn with_water(&self, water: Share) -> Self {
        let made = self.ingredient().with_water(water);
        Self {
            solids: made.solids,
            sugar: made.sugar,
            nitrogen: made.nitrogen,
            ..self.clone()
        }
    }

    /// Mass of what dissolves of it, g.
    pub fn solids_mass(&self) -> f64 {
        self.mass.get() * self.solids.get()
    }

    /// Share of its mass that becomes liquid: solids and water.
    pub(super) fn liquid_share(&self) -> f64 {
        1.0 - self.insoluble.get()
    }

    /// Mass of what becomes liquid, g.
    pub fn liquid_mass(&self) -> f64 {
        self.mass.get() * self.liquid_share()
    }

    /// Room that its pulp takes, L: as heavy as water, the safe side.
    pub fn pulp_volume(&self) -> f64 {
        self.mass.get() * self.insoluble.get() / 1000.0
    }

    /// How far the mass of its solids may be off, g.
    pub(super) fn doubt(&self) -> f64 {
        self.solids_mass() * self.kind.doubt()
    }
}
