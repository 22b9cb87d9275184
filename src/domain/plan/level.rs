use super::{Filler, Part, PartKind, Plan};
use crate::domain::records::Style;
use crate::domain::sums::ingredients::{self, Ingredient};
use crate::domain::sums::{SumError, must};
use crate::domain::units::{Grams, Litres, Share};

/// How high the vessel stands after one more thing went in.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// What went in, such as `half the water`.
    pub what: String,
    /// How much of it by mass.
    pub mass: Grams,
    /// Volume in the vessel then, pulp included.
    pub volume: Litres,
    /// Share of the vessel's brimful volume, where a vessel is chosen. May
    /// pass 1: it would run over.
    pub of_vessel: Option<f64>,
}

/// Room above the must.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Headspace {
    /// Volume of it, L; negative when the must does not fit.
    pub litres: f64,
    /// Share of the brimful volume; negative when it does not fit.
    pub share: f64,
    /// Share that a ferment of this kind wants.
    pub wanted: Share,
}

/// One pour of the day: what, and how many grams of which ingredient.
struct Pour {
    what: String,
    ingredient: Ingredient,
    grams: f64,
}

impl Plan {
    /// The pours of the day in their order: half the water, the honey by
    /// thirds (it takes up room), the other parts, water up to the mark.
    fn pours(&self) -> Vec<Pour> {
        let water = ingredients::find("water").filter(|_| self.filler == Filler::Water);
        let half = self.water_mass().max(0.0) / 2.0;
        let pour = |what: String, ingredient: &Ingredient, grams: f64| Pour {
            what,
            ingredient: ingredient.clone(),
            grams,
        };
        let mut pours = Vec::new();
        if let Some(water) = water.filter(|_| half > 0.0) {
            pours.push(pour("half the water".to_owned(), water, half));
        }
        for part in self.parts.iter().filter(|p| p.mass.get() > 0.0) {
            let pieces: &[&str] = if part.kind == PartKind::Honey {
                &[
                    "first third of the ",
                    "second third of the ",
                    "last third of the ",
                ]
            } else {
                &[""]
            };
            let grams = part.mass.get() / pieces.len() as f64;
            for piece in pieces {
                pours.push(pour(
                    format!("{piece}{}", part.name),
                    &part.ingredient(),
                    grams,
                ));
            }
        }
        if let Some(water) = water.filter(|_| half > 0.0) {
            pours.push(pour("water to the mark".to_owned(), water, half));
        }
        pours
    }

    /// The must of these parts and this water, as the sums work it out
    /// ([`must::solve`] with every amount given); an error where it is none.
    pub fn must(&self) -> Result<must::Must, SumError> {
        self.must_of(&self.pours())
    }

    fn must_of(&self, pours: &[Pour]) -> Result<must::Must, SumError> {
        must::solve(&must::Design {
            parts: pours
                .iter()
                .map(|p| must::Part {
                    ingredient: &p.ingredient,
                    amount: must::Amount::Mass(Grams::clamped(p.grams)),
                })
                .collect(),
            wanted: must::Wanted::default(),
            tolerance: Some(self.yeast.tolerance),
        })
    }

    /// How high the vessel stands after each pour; nothing for what is no must.
    pub fn levels(&self) -> Vec<Level> {
        let capacity = self.vessel.as_ref().map(|v| v.capacity.get());
        let pours = self.pours();
        let Ok(must) = self.must_of(&pours) else {
            return Vec::new();
        };
        pours
            .into_iter()
            .zip(must.levels)
            .map(|(pour, level)| Level {
                what: pour.what,
                mass: level.amount,
                volume: level.filled,
                of_vessel: capacity.map(|c| level.filled.get() / c.max(1e-9)),
            })
            .collect()
    }

    /// Room that pulp takes on top of the must, L.
    pub fn pulp(&self) -> f64 {
        self.parts.iter().map(Part::pulp_volume).sum()
    }

    /// Room above the must, where a vessel is chosen.
    pub fn headspace(&self) -> Option<Headspace> {
        let capacity = self.vessel.as_ref()?.capacity.get();
        let litres = capacity - self.volume.get() - self.pulp();
        Some(Headspace {
            litres,
            share: litres / capacity.max(1e-9),
            wanted: self.headspace_wanted(),
        })
    }

    /// Headspace at the start: a fifth with fruit, whose cap rises; a seventh
    /// for the foam of a wort; a little for a must of honey or juice. Common
    /// practice, no source.
    pub fn headspace_wanted(&self) -> Share {
        let has = |kind| {
            self.parts
                .iter()
                .any(|p| p.kind == kind && p.mass.get() > 0.0)
        };
        if has(PartKind::Fruit) {
            Share::known(0.20)
        } else if has(PartKind::Malt) || self.style == Style::Beer {
            Share::known(0.15)
        } else {
            Share::known(0.04)
        }
    }

    /// The volume of must that leaves the headspace wanted in a vessel.
    pub fn volume_for(&self, capacity: Litres) -> Litres {
        let pulp_share = self.pulp() / self.volume.get().max(1e-9);
        let room = capacity.get() * (1.0 - self.headspace_wanted().get());
        Litres::clamped(room / (1.0 + pulp_share))
    }
}
