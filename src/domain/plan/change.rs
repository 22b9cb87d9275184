use super::design::{MOST_SUGAR, density_of, gravity_of};
use super::{Aim, Filler, Part, Plan, PlanVessel};
use crate::domain::records::YeastClass;
use crate::domain::sums::gravity;
use crate::domain::units::{Abv, Grams, Gravity, Litres, Share};

/// A number of a plan that can stay or follow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Volume of the must.
    Volume,
    /// The aim.
    Aim,
    /// Mass of a part.
    Part(usize),
}

/// One thing the maker changes in a plan.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// Volume of the must.
    Volume(Litres),
    /// Mass of a part.
    Mass(usize, Grams),
    /// Water to add, by volume at 20 °C.
    Water(Litres),
    /// What is aimed at.
    Aim(Aim),
    /// Class of yeast.
    Yeast(YeastClass),
    /// Vessel.
    Vessel(Option<PlanVessel>),
    /// A part more.
    Add(Part),
    /// A part less.
    Remove(usize),
    /// Another thing in the place of a part, at the same mass.
    Swap(usize, Part),
    /// Water content of a part, such as a honey's moisture.
    Moisture(usize, Share),
    /// What makes it up to the mark.
    Filler(Filler),
    /// Stays or follows.
    Lock(Quantity, bool),
}

/// Why a change can't be made. Its `Display` is the sentence for the maker.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PlanError {
    /// All that could follow is locked.
    #[error("nothing is free to follow: {0}. Unlock one of them")]
    AllLocked(String),
    /// More alcohol than the yeast bears.
    #[error(
        "{wanted:.1} % is more than {yeast} bears (about {most:.1} %): choose a stronger yeast or aim lower"
    )]
    BeyondYeast {
        /// Wanted, % vol.
        wanted: f64,
        /// Borne, % vol.
        most: f64,
        /// Name of the yeast class.
        yeast: String,
    },
    /// A final gravity below what the yeast reaches.
    #[error(
        "this must is expected to end at {driest:.3} when dry; {wanted:.3} can't be reached by the yeast alone"
    )]
    BelowDry {
        /// Wanted.
        wanted: f64,
        /// Driest.
        driest: f64,
    },
    /// The other parts already bring more sugar than the aim allows.
    #[error("{others} bring more sugar than {aim:.3} in that volume: less of them, or more volume")]
    TooMuchSugar {
        /// Names of the other parts.
        others: String,
        /// Original gravity aimed at.
        aim: f64,
    },
    /// More than fits into the volume even without water.
    #[error("the parts alone are {over:.2} L more than the volume: less of them, or more volume")]
    NoRoom {
        /// By how much, L.
        over: f64,
    },
    /// No part could follow the aim.
    #[error("{0} alone gives what it gives: add honey or sugar to reach another gravity")]
    NothingToFollow(String),
    /// No such gravity with these parts.
    #[error("{0} can't make a must of {1:.3}")]
    OutOfReach(String, f64),
    /// The part that fills the vessel can't be locked.
    #[error("{0} makes it up to the mark and follows the rest: lock the volume instead")]
    FillerFollows(String),
    /// A plan without water.
    #[error("this plan has no water: {0} makes it up to the mark")]
    NoWater(String),
    /// No part with that place in the list.
    #[error("there is no part {0} in this plan")]
    NoPart(usize),
    /// A syrup rather than a must.
    #[error("that would be a syrup of {0:.0} % sugar: no yeast works above 50 %")]
    Syrup(f64),
    /// A plan needs a volume above nothing.
    #[error("a must needs a volume above nothing")]
    NoVolume,
}

/// Sugar fraction above which nothing is known of a ferment.
const THICKEST: f64 = 0.50;

/// Which of the three that hang together gives way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Follower {
    Main,
    Aim,
    Volume,
}

/// Sugar and liquid per gram of the filler, and the same sums of all that is
/// neither filler nor main part.
struct Balance {
    filler_solids: f64,
    filler_liquid: f64,
    rest_solids: f64,
    rest_liquid: f64,
}

impl Plan {
    /// The plan with one number changed and all others following.
    ///
    /// Volume, the mass of the main part and the aim hang together: of two
    /// given the third follows. A change of one moves the first of the others
    /// that is not locked: for the volume the main part, then the aim; for
    /// the main part the aim, then the volume; for the aim the main part,
    /// then the volume; for any other part or the yeast the main part, then
    /// the aim, then the volume. What is locked stays to 1e-6 of itself.
    pub fn change(&self, change: Change) -> Result<Self, PlanError> {
        use Follower as F;
        let mut plan = self.clone();
        match change {
            Change::Volume(volume) if volume.get() < 1e-3 => Err(PlanError::NoVolume),
            Change::Volume(volume) => {
                plan.volume = volume;
                plan.settle(&[F::Main, F::Aim])
            }
            Change::Mass(at, mass) => plan.set_mass(at, mass),
            Change::Water(water) => {
                if plan.filler == Filler::First {
                    return Err(PlanError::NoWater(plan.name_of(0)));
                }
                plan.set_filler(water.get() * density_of(0.0))
            }
            Change::Aim(aim) => {
                plan.aim = aim;
                plan.settle(&[F::Main, F::Volume])
            }
            Change::Yeast(yeast) => {
                plan.yeast = yeast;
                plan.settle(&[F::Main, F::Aim, F::Volume])
            }
            Change::Vessel(vessel) => {
                plan.vessel = vessel;
                Ok(plan)
            }
            Change::Add(part) => {
                plan.parts.push(part);
                plan.settle(&[F::Main, F::Aim, F::Volume])
            }
            Change::Remove(at) => {
                plan.part(at)?;
                plan.parts.remove(at);
                if at == 0 {
                    plan.filler = Filler::Water;
                }
                plan.settle(&[F::Main, F::Aim, F::Volume])
            }
            Change::Swap(at, part) => {
                let mass = plan.part(at)?.mass;
                plan.parts[at] = Part { mass, ..part };
                plan.settle(&[F::Main, F::Aim, F::Volume])
            }
            Change::Moisture(at, water) => {
                plan.parts[at] = plan.part(at)?.with_water(water);
                plan.settle(&[F::Main, F::Aim, F::Volume])
            }
            Change::Filler(filler) => {
                plan.filler = filler;
                if filler == Filler::First {
                    plan.part(0)?;
                    plan.parts[0].locked = false;
                }
                plan.settle(&[F::Main, F::Aim, F::Volume])
            }
            Change::Lock(quantity, on) => plan.lock(quantity, on),
        }
    }

    fn part(&self, at: usize) -> Result<&Part, PlanError> {
        self.parts.get(at).ok_or(PlanError::NoPart(at + 1))
    }

    fn name_of(&self, at: usize) -> String {
        self.parts
            .get(at)
            .map_or_else(|| "water".to_owned(), |p| p.name.clone())
    }

    fn lock(mut self, quantity: Quantity, on: bool) -> Result<Self, PlanError> {
        match quantity {
            Quantity::Volume => self.locks.volume = on,
            Quantity::Aim => {
                self.locks.aim = on;
            }
            Quantity::Part(at) => {
                self.part(at)?;
                if on && at == 0 && self.filler == Filler::First {
                    return Err(PlanError::FillerFollows(self.name_of(0)));
                }
                self.parts[at].locked = on;
            }
        }
        Ok(self)
    }

    fn set_mass(mut self, at: usize, mass: Grams) -> Result<Self, PlanError> {
        use Follower as F;
        self.part(at)?;
        if self.filler == Filler::First && at == 0 {
            return self.set_filler(mass.get());
        }
        self.parts[at].mass = mass;
        if Some(at) == self.main() {
            self.settle(&[F::Aim, F::Volume])
        } else {
            self.settle(&[F::Main, F::Aim, F::Volume])
        }
    }

    /// The amount of the filler is given: the volume follows, and with it the
    /// main part where the aim is locked, else the aim.
    fn set_filler(mut self, mass: f64) -> Result<Self, PlanError> {
        if self.locks.volume {
            return Err(PlanError::AllLocked("the volume is locked".to_owned()));
        }
        if self.locks.aim {
            let main = self.main().filter(|&m| !self.parts[m].locked);
            let Some(main) = main else {
                let name = self
                    .main()
                    .map_or_else(|| self.name_of(0), |m| self.name_of(m));
                return Err(PlanError::AllLocked(format!(
                    "{name} and the aim are locked"
                )));
            };
            let aim = self.aim;
            return self
                .reach(aim, |plan, og| plan.with_filler(main, og, mass))
                .and_then(Self::sound);
        }
        self.fill_with(mass);
        self.aim = self.aim_as_is();
        self.sound()
    }

    /// Puts this much of the filler in; the volume is what comes of it.
    fn fill_with(&mut self, mass: f64) {
        let mut whole = mass;
        if self.filler == Filler::First {
            self.parts[0].mass = Grams::clamped(mass);
            whole = 0.0;
        }
        whole += self.liquid_mass();
        let w = self.solids_mass() / whole.max(1e-9);
        self.volume = Litres::clamped(whole / density_of(w));
    }

    /// This much of the filler at this gravity, the main part following.
    fn with_filler(&self, main: usize, og: Gravity, mass: f64) -> Result<Self, PlanError> {
        let w = fraction_at(og)?;
        let b = self.balance();
        let p = &self.parts[main];
        let (s, l) = (p.solids.get(), p.liquid_share());
        let liquid = b.rest_liquid + b.filler_liquid * mass;
        let solids = b.rest_solids + b.filler_solids * mass;
        if (s - w * l).abs() < 1e-9 {
            return Err(PlanError::OutOfReach(self.names(), og.get()));
        }
        let mut plan = self.clone();
        plan.put_main(main, (w * liquid - solids) / (s - w * l), w)?;
        plan.fill_with(mass);
        Ok(plan)
    }

    fn balance(&self) -> Balance {
        let (filler_solids, filler_liquid) = match (self.filler, self.parts.first()) {
            (Filler::First, Some(p)) => (p.solids.get(), p.liquid_share()),
            _ => (0.0, 1.0),
        };
        let main = self.main();
        let skip = |at: usize| Some(at) == main || (self.filler == Filler::First && at == 0);
        let rest = || {
            self.parts
                .iter()
                .enumerate()
                .filter(|(at, _)| !skip(*at))
                .map(|(_, p)| p)
        };
        Balance {
            filler_solids,
            filler_liquid,
            rest_solids: rest().map(Part::solids_mass).sum(),
            rest_liquid: rest().map(Part::liquid_mass).sum(),
        }
    }

    /// Lets the first of these give way that is not locked and can.
    fn settle(self, order: &[Follower]) -> Result<Self, PlanError> {
        let mut first_error = None;
        for follower in order {
            if self.held(*follower) {
                continue;
            }
            let tried = match follower {
                Follower::Main => self.clone().follow_main(),
                Follower::Aim => self.clone().follow_aim(),
                Follower::Volume => self.clone().follow_volume(),
            };
            match tried.and_then(Self::sound) {
                Ok(plan) => return Ok(plan),
                Err(e) => first_error = first_error.or(Some(e)),
            }
            if order.len() < 3 {
                break;
            }
        }
        Err(first_error.unwrap_or_else(|| PlanError::AllLocked(self.locked_words(order))))
    }

    fn held(&self, follower: Follower) -> bool {
        match follower {
            Follower::Main => self.main().is_some_and(|m| self.parts[m].locked),
            Follower::Aim => self.locks.aim,
            Follower::Volume => self.locks.volume,
        }
    }

    fn locked_words(&self, order: &[Follower]) -> String {
        let names: Vec<String> = order
            .iter()
            .map(|f| match f {
                Follower::Main => self.main().map_or_else(String::new, |m| self.name_of(m)),
                Follower::Aim => "the aim".to_owned(),
                Follower::Volume => "the volume".to_owned(),
            })
            .collect();
        format!("{} are locked", names.join(" and "))
    }

    /// Volume and main part stay: the aim is what comes of them.
    fn follow_aim(mut self) -> Result<Self, PlanError> {
        if self.filler == Filler::First && !self.parts.is_empty() {
            let b = self.balance();
            let main = self.main().map(|m| &self.parts[m]);
            let sugar = b.rest_solids + main.map_or(0.0, Part::solids_mass);
            let liquid = b.rest_liquid + main.map_or(0.0, Part::liquid_mass);
            let mut w = 0.1;
            let mut mass = 0.0;
            for _ in 0..60 {
                let whole = self.volume.get() * density_of(w);
                mass = (whole - liquid) / b.filler_liquid.max(1e-9);
                let next = ((sugar + b.filler_solids * mass) / whole).clamp(0.0, MOST_SUGAR);
                let moved = (next - w).abs();
                w = next;
                if moved < 1e-14 {
                    break;
                }
            }
            self.put_filler(mass)?;
        }
        self.aim = self.aim_as_is();
        Ok(self)
    }

    /// Volume and aim stay: the main part brings the sugar that is missing.
    fn follow_main(self) -> Result<Self, PlanError> {
        if self.main().is_none() {
            return Err(PlanError::NothingToFollow(self.name_of(0)));
        }
        let aim = self.aim;
        self.reach(aim, Self::with_original)
    }

    /// Main part and aim stay: the volume is what they make.
    fn follow_volume(self) -> Result<Self, PlanError> {
        let aim = self.aim;
        self.reach(aim, Self::with_volume_for)
    }

    /// Finds the original gravity that the aim asks for and makes the must so.
    fn reach(
        &self,
        aim: Aim,
        make: impl Fn(&Self, Gravity) -> Result<Self, PlanError>,
    ) -> Result<Self, PlanError> {
        match aim {
            Aim::Original(og) => make(self, og),
            Aim::Alcohol(wanted) => {
                self.reach_end(aim, make, |p| p.ends().alcohol.get(), wanted.get())
            }
            Aim::Sweetness(wanted) => {
                self.reach_end(aim, make, |p| p.ends().gravity.get(), wanted.get())
            }
        }
    }

    /// Halves the span of original gravities until the end is as wanted.
    /// Alcohol never falls while the original rises; the final gravity does
    /// not either from the driest must on, which is where sweetness begins.
    fn reach_end(
        &self,
        aim: Aim,
        make: impl Fn(&Self, Gravity) -> Result<Self, PlanError>,
        end: impl Fn(&Self) -> f64,
        wanted: f64,
    ) -> Result<Self, PlanError> {
        self.check_aim(aim)?;
        let (mut low, mut high) = (1.000_1, 1.230);
        if matches!(aim, Aim::Sweetness(_)) {
            low = self.driest().0;
        }
        let mut best = None;
        let mut trouble = None;
        for _ in 0..50 {
            let middle = f64::midpoint(low, high);
            match make(self, Gravity::clamped(middle)) {
                Ok(plan) => {
                    if end(&plan) < wanted {
                        low = middle;
                    } else {
                        high = middle;
                    }
                    best = Some(plan);
                }
                // Below what the other parts bring alone: higher.
                Err(e @ PlanError::TooMuchSugar { .. }) => {
                    low = middle;
                    trouble = Some(e);
                }
                Err(e) => {
                    high = middle;
                    trouble = Some(e);
                }
            }
        }
        let missed = PlanError::OutOfReach(self.names(), low);
        match best {
            Some(mut plan) if (end(&plan) - wanted).abs() < 1e-5 * wanted.abs().max(1.0) => {
                plan.aim = aim;
                Ok(plan)
            }
            _ => Err(trouble.unwrap_or(missed)),
        }
    }

    /// Refuses an aim that the yeast can't meet.
    fn check_aim(&self, aim: Aim) -> Result<(), PlanError> {
        match aim {
            Aim::Alcohol(a) if a > self.yeast.tolerance => Err(PlanError::BeyondYeast {
                wanted: a.get(),
                most: self.yeast.tolerance.get(),
                yeast: self.yeast.title.clone(),
            }),
            Aim::Original(_) | Aim::Alcohol(_) => Ok(()),
            Aim::Sweetness(g) => {
                let driest = self.driest().1;
                if g.get() < driest {
                    return Err(PlanError::BelowDry {
                        wanted: g.get(),
                        driest,
                    });
                }
                Ok(())
            }
        }
    }

    /// The must that ends driest of all that these parts can make: its
    /// original gravity and where it ends.
    fn driest(&self) -> (f64, f64) {
        (0..=110)
            .map(|i| 1.000_1 + 0.002 * f64::from(i))
            .map(|og| {
                (
                    og,
                    super::forecast::ends_at(self, Gravity::clamped(og), 0.0),
                )
            })
            .map(|(og, end)| (og, end.gravity.get()))
            .fold((1.000_1, f64::INFINITY), |best, this| {
                if this.1 < best.1 { this } else { best }
            })
    }

    /// This volume at this gravity, the main part and the filler following.
    fn with_original(&self, og: Gravity) -> Result<Self, PlanError> {
        let Some(main) = self.main() else {
            return Err(PlanError::NothingToFollow(self.name_of(0)));
        };
        let w = fraction_at(og)?;
        let whole = self.volume.get() * density_of(w);
        let b = self.balance();
        let p = &self.parts[main];
        let (s, l) = (p.solids.get(), p.liquid_share());
        // Sugar and liquid of filler and main part together.
        let (sugar, liquid) = (w * whole - b.rest_solids, whole - b.rest_liquid);
        let det = s * b.filler_liquid - l * b.filler_solids;
        if det.abs() < 1e-9 {
            return Err(PlanError::OutOfReach(self.names(), og.get()));
        }
        let m = (sugar * b.filler_liquid - liquid * b.filler_solids) / det;
        let filler = (s * liquid - l * sugar) / det;
        let mut plan = self.clone();
        plan.put_main(main, m, w)?;
        if plan.filler == Filler::First {
            plan.put_filler(filler)?;
        }
        Ok(plan)
    }

    /// These amounts made up to this gravity, the volume following.
    fn with_volume_for(&self, og: Gravity) -> Result<Self, PlanError> {
        let w = fraction_at(og)?;
        let b = self.balance();
        let main = self.main().map(|m| &self.parts[m]);
        let sugar = b.rest_solids + main.map_or(0.0, Part::solids_mass);
        let liquid = b.rest_liquid + main.map_or(0.0, Part::liquid_mass);
        let det = w * b.filler_liquid - b.filler_solids;
        if det.abs() < 1e-9 || sugar < 1e-9 {
            return Err(PlanError::OutOfReach(self.names(), og.get()));
        }
        let filler = (sugar - w * liquid) / det;
        if filler < -1e-6 {
            return Err(PlanError::OutOfReach(self.names(), og.get()));
        }
        let whole = liquid + b.filler_liquid * filler;
        let mut plan = self.clone();
        plan.volume = Litres::clamped(whole / density_of(w));
        if plan.filler == Filler::First {
            plan.put_filler(filler)?;
        }
        Ok(plan)
    }

    fn put_main(&mut self, main: usize, mass: f64, w: f64) -> Result<(), PlanError> {
        if mass < -1e-6 {
            return Err(PlanError::TooMuchSugar {
                others: self.others(main),
                aim: gravity_of(w).get(),
            });
        }
        if mass > Grams::MAX {
            return Err(PlanError::OutOfReach(self.names(), gravity_of(w).get()));
        }
        self.parts[main].mass = Grams::clamped(mass);
        Ok(())
    }

    fn put_filler(&mut self, mass: f64) -> Result<(), PlanError> {
        if mass < -1e-6 {
            return Err(PlanError::NoRoom {
                over: -mass / 1000.0,
            });
        }
        self.parts[0].mass = Grams::clamped(mass);
        Ok(())
    }

    /// Refuses a plan whose parts are more than its volume.
    fn sound(self) -> Result<Self, PlanError> {
        if self.volume.get() >= Litres::MAX {
            return Err(PlanError::OutOfReach(self.names(), self.original().get()));
        }
        let water = self.water_mass();
        // A milligram is what rounding leaves.
        if water < -0.001 {
            return Err(PlanError::NoRoom {
                over: -water / density_of(0.0),
            });
        }
        let w = self.solids_mass() / (self.liquid_mass() + water).max(1e-9);
        if w > THICKEST {
            return Err(PlanError::Syrup(100.0 * w));
        }
        Ok(self)
    }

    fn names(&self) -> String {
        join(self.parts.iter().map(|p| p.name.as_str()))
    }

    fn others(&self, main: usize) -> String {
        join(
            self.parts
                .iter()
                .enumerate()
                .filter(|(at, _)| *at != main)
                .map(|(_, p)| p.name.as_str()),
        )
    }
}

fn join<'a>(names: impl Iterator<Item = &'a str>) -> String {
    let all: Vec<&str> = names.collect();
    if all.is_empty() {
        "these parts".to_owned()
    } else {
        all.join(" and ")
    }
}

/// Sugar fraction of a gravity, refused outside what can be a must.
fn fraction_at(og: Gravity) -> Result<f64, PlanError> {
    let w = gravity::plato(og).map_or(f64::NAN, |p| p.get() / 100.0);
    if (0.0..=MOST_SUGAR).contains(&w) {
        Ok(w)
    } else {
        Err(PlanError::OutOfReach(
            "sugar and water".to_owned(),
            og.get(),
        ))
    }
}

/// % vol as a quantity, for callers that typed a number.
impl From<Abv> for Aim {
    fn from(value: Abv) -> Self {
        Self::Alcohol(value)
    }
}
