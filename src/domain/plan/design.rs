use super::{Feeding, Part};
use crate::domain::records::{Fizz, Style, VesselKind, YeastClass};
use crate::domain::sums::{density::SUCROSE_20, gravity};
use crate::domain::units::{Abv, Gravity, Litres, Plato, Share};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// The vessel a plan is for; a plan that is shared names one that the reader
/// may not have, so its size travels with it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlanVessel {
    /// Tag as on the tape.
    pub tag: String,
    /// What it is.
    pub kind: VesselKind,
    /// Brimful volume.
    pub capacity: Litres,
}

/// What is aimed at: one number, the others follow from it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "by", content = "at", rename_all = "kebab-case")]
pub enum Aim {
    /// Original gravity.
    Original(Gravity),
    /// Alcohol when it is done.
    Alcohol(Abv),
    /// Gravity at which the yeast gives up: sweetness left.
    Sweetness(Gravity),
}

/// What the must is made up to the mark with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Filler {
    /// Water.
    #[default]
    Water,
    /// The first part, such as the juice of a cider: no water at all.
    First,
}

/// What stays as it is when another number changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Locks {
    /// Volume of the must.
    pub volume: bool,
    /// The aim: gravity, alcohol or sweetness.
    pub aim: bool,
}

/// Bottles the batch is meant for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Bottling {
    /// Volume of one.
    pub size: Litres,
    /// Share of the must lost to lees, samples and the siphon.
    pub loss: Share,
    /// Price of one bottle with its closure.
    pub price: Option<f64>,
}

impl Default for Bottling {
    fn default() -> Self {
        Self {
            // 12 US fluid ounces.
            size: Litres::known(0.354882355),
            // Common practice, no source.
            loss: Share::known(0.05),
            price: None,
        }
    }
}

/// A batch as planned. Its numbers always agree: the mass of the first part,
/// the volume and the aim hang together (see [`Plan::change`]).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// What the maker will call it.
    pub name: String,
    /// Family.
    pub style: Style,
    /// The trade's word within the family.
    pub variety: String,
    /// Gas it is meant for.
    pub fizz: Fizz,
    /// Into which vessel.
    pub vessel: Option<PlanVessel>,
    /// Volume of the must at pitching, made up to the mark; pulp comes on top.
    pub volume: Litres,
    /// What is aimed at.
    pub aim: Aim,
    /// What stays.
    pub locks: Locks,
    /// What goes in. The first that is not the filler follows the aim.
    pub parts: Vec<Part>,
    /// What makes it up to the mark.
    pub filler: Filler,
    /// Which class of yeast.
    pub yeast: YeastClass,
    /// How it is fed.
    pub feeding: Feeding,
    /// What it is filled into.
    pub bottling: Bottling,
    /// Key of the routine.
    pub routine: String,
    /// Day of pitching.
    pub pitch_on: Option<NaiveDate>,
    /// Day of the feast it is for.
    pub feast_on: Option<NaiveDate>,
    /// Free words, such as what to change next time.
    pub note: String,
}

impl Plan {
    /// Mass of the solids of all parts, g.
    pub(super) fn solids_mass(&self) -> f64 {
        self.parts.iter().map(Part::solids_mass).sum()
    }

    /// Mass of the liquid of all parts, g, without the water added.
    pub(super) fn liquid_mass(&self) -> f64 {
        self.parts.iter().map(Part::liquid_mass).sum()
    }

    /// Solids in the finished must, g per g: the fraction w with
    /// w * density(w) * volume = mass of solids.
    pub(super) fn fraction(&self) -> f64 {
        fraction_of(self.solids_mass(), self.volume.get())
    }

    /// Original gravity of the must as it stands.
    pub fn original(&self) -> Gravity {
        gravity_of(self.fraction())
    }

    /// Mass of the whole must, g.
    pub(super) fn must_mass(&self) -> f64 {
        self.volume.get() * density_of(self.fraction())
    }

    /// Mass of the water to add, g; near nothing where a part is the filler.
    pub(super) fn water_mass(&self) -> f64 {
        match self.filler {
            Filler::Water => self.must_mass() - self.liquid_mass(),
            Filler::First => 0.0,
        }
    }

    /// Place in the list of the part that follows the aim.
    pub fn main(&self) -> Option<usize> {
        let first = usize::from(self.filler == Filler::First);
        (first < self.parts.len()).then_some(first)
    }
}

/// Highest sugar fraction that is looked at: above it no yeast works.
pub(super) const MOST_SUGAR: f64 = 0.60;

/// Gravity of a sugar fraction.
pub(super) fn gravity_of(w: f64) -> Gravity {
    gravity::from_plato(Plato::clamped(100.0 * w)).unwrap_or(Gravity::clamped(1.0))
}

/// Density at 20 °C of a sugar fraction, g/L.
pub(super) fn density_of(w: f64) -> f64 {
    SUCROSE_20.density(w)
}

/// Fraction w with w * density(w) = sugar / volume.
pub(super) fn fraction_of(sugar: f64, litres: f64) -> f64 {
    let wanted = sugar / litres.max(1e-9);
    let mut w = (wanted / 1000.0).clamp(0.0, MOST_SUGAR);
    for _ in 0..60 {
        let next = (wanted / density_of(w)).clamp(0.0, MOST_SUGAR);
        if (next - w).abs() < 1e-14 {
            break;
        }
        w = next;
    }
    w
}
