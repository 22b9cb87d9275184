use super::design::density_of;
use super::{Filler, Part, PartKind, Plan};
use crate::domain::records::Style;
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

/// What has gone in so far.
#[derive(Default)]
struct Filled {
    sugar: f64,
    liquid: f64,
    pulp: f64,
}

impl Filled {
    fn add(&mut self, part: &Part, share: f64) {
        self.sugar += part.sugar_mass() * share;
        self.liquid += part.liquid_mass() * share;
        self.pulp += part.pulp_volume() * share;
    }

    /// By mass and density: volumes do not add up.
    fn litres(&self) -> f64 {
        let w = self.sugar / self.liquid.max(1e-9);
        self.liquid / density_of(w.min(super::design::MOST_SUGAR)) + self.pulp
    }
}

impl Plan {
    /// The vessel after each part, in the order of the day: half the water,
    /// the honey by thirds (it takes up room), the other parts, up to the mark.
    pub fn levels(&self) -> Vec<Level> {
        let mut so_far = Filled::default();
        let mut levels = Vec::new();
        let capacity = self.vessel.as_ref().map(|v| v.capacity.get());
        let mut push = |what: String, mass: f64, filled: &Filled| {
            let litres = filled.litres();
            levels.push(Level {
                what,
                mass: Grams::clamped(mass),
                volume: Litres::clamped(litres),
                of_vessel: capacity.map(|c| litres / c.max(1e-9)),
            });
        };
        let water = self.water_mass().max(0.0);
        if self.filler == Filler::Water && water > 0.0 {
            so_far.liquid += water / 2.0;
            push("half the water".to_owned(), water / 2.0, &so_far);
        }
        for part in self.parts.iter().filter(|p| p.mass.get() > 0.0) {
            let thirds = part.kind == PartKind::Honey;
            let pieces: &[&str] = if thirds {
                &["first third of the ", "second third of the ", "last third of the "]
            } else {
                &[""]
            };
            let share = 1.0 / pieces.len() as f64;
            for piece in pieces {
                so_far.add(part, share);
                push(format!("{piece}{}", part.name), part.mass.get() * share, &so_far);
            }
        }
        if self.filler == Filler::Water && water > 0.0 {
            so_far.liquid += water / 2.0;
            push("water to the mark".to_owned(), water / 2.0, &so_far);
        }
        levels
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
        let has = |kind| self.parts.iter().any(|p| p.kind == kind && p.mass.get() > 0.0);
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
