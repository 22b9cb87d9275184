//! Designing a must: what to weigh, what it gives, how full the vessel gets.
//!
//! Masses of solids and water add; gravity and volume follow from the density
//! equation. All volumes are at 20 °C.

use super::SumError;
use super::density::SUCROSE_20;
use super::finish::{self, Finish};
use super::gravity::fraction;
use super::ingredients::Ingredient;
use crate::domain::units::{Abv, Grams, Gravity, Litres, MilligramsPerLitre, Plato, Share};

/// Density of pulp, kg/m³, for the room it takes (like water: safe side).
const PULP: f64 = 1000.0;
/// Density of dry sugar, kg/m³, for the room it takes before any water is in
/// (sucrose crystal, 1.5877 g/cm³: Museum of Fine Arts Boston, CAMEO, 'Sucrose').
const DRY_SUGAR: f64 = 1587.7;

/// How much of a part there is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// By mass.
    Mass(Grams),
    /// By volume at 20 °C, for what is poured.
    Volume(Litres),
    /// To be found.
    Unknown,
}

/// One part of a must.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part<'a> {
    /// What.
    pub ingredient: &'a Ingredient,
    /// How much.
    pub amount: Amount,
}

/// What the must shall meet. As many are stated as amounts are unknown.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Wanted {
    /// Original gravity.
    pub gravity: Option<Gravity>,
    /// Volume of liquid.
    pub volume: Option<Litres>,
    /// Alcohol of the finished drink; stated instead of a gravity.
    pub alcohol: Option<Abv>,
}

/// A must to be solved.
#[derive(Debug, Clone, PartialEq)]
pub struct Design<'a> {
    /// Parts in the order they go in.
    pub parts: Vec<Part<'a>>,
    /// What is wanted.
    pub wanted: Wanted,
    /// Alcohol that the yeast bears.
    pub tolerance: Option<Abv>,
}

/// How full after a part went in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// Amount of that part.
    pub amount: Grams,
    /// Volume in the vessel afterwards, pulp included.
    pub filled: Litres,
    /// Gravity of the liquid afterwards, once there is water to dissolve in.
    pub gravity: Option<Gravity>,
}

/// A must with all its figures.
#[derive(Debug, Clone, PartialEq)]
pub struct Must {
    /// Original gravity.
    pub original: Gravity,
    /// Original extract.
    pub extract: Plato,
    /// Volume of liquid.
    pub volume: Litres,
    /// Room that pulp takes beside it.
    pub pulp: Litres,
    /// Mass in all.
    pub mass: Grams,
    /// Sugars in all.
    pub sugar: Grams,
    /// Nitrogen that the parts bring.
    pub nitrogen: MilligramsPerLitre,
    /// Share of the extract that can ferment.
    pub fermentable: Share,
    /// Expected end.
    pub finish: Finish,
    /// Amounts and levels, one for each part, in their order.
    pub levels: Vec<Level>,
}

impl Must {
    /// Room left in a vessel of this brimful volume; negative when it runs over.
    pub fn headspace(&self, capacity: Litres) -> f64 {
        capacity.get() - self.volume.get() - self.pulp.get()
    }
}

/// Sums of some parts, in grams.
#[derive(Debug, Clone, Copy, Default)]
struct Tally {
    solids: f64,
    water: f64,
    pulp: f64,
    sugar: f64,
    nitrogen: f64,
    fermentable: f64,
}

impl Tally {
    fn add(&mut self, what: &Ingredient, grams: f64) {
        let solids = grams * what.solids.get();
        self.solids += solids;
        self.water += grams * what.water().get();
        self.pulp += grams * what.insoluble.get();
        self.sugar += grams * what.sugar.get();
        self.nitrogen += grams * what.nitrogen / 1000.0;
        self.fermentable += solids * what.fermentable().get();
    }

    fn liquid(&self) -> f64 {
        self.solids + self.water
    }

    fn strength(&self) -> f64 {
        self.solids / self.liquid().max(1e-12)
    }

    /// Litres of liquid; beyond 85 % towards dry sugar in a straight line.
    fn litres(&self) -> f64 {
        let w = self.strength();
        let rho = if w <= 0.85 {
            SUCROSE_20.density(w)
        } else {
            let top = SUCROSE_20.density(0.85);
            top + (DRY_SUGAR - top) * (w - 0.85) / 0.15
        };
        self.liquid() / rho
    }

    fn share(&self) -> f64 {
        self.fermentable / self.solids.max(1e-12)
    }
}

/// Solves a must for its unknown amounts, and tells all its figures.
///
/// Any one unknown amount needs one of gravity, volume or alcohol; any two
/// need volume and one of the others; none unknown needs nothing. Gravity
/// makes the solids a fixed share of the liquid (a linear equation); volume
/// with gravity fixes the mass; volume alone is found by bisection. Error:
/// gravity 0.0005 from the equation, more from the ingredients (honey of 13 to
/// 23 % water: 0.004; fruit: a fifth of its sugar). Source of the density:
/// [`super::source::SUCROSE`].
///
/// ```
/// use skep::domain::sums::{ingredients, must::*};
/// use skep::domain::units::{Grams, Gravity, Litres};
/// let honey = ingredients::find("honey").unwrap();
/// let water = ingredients::find("water").unwrap();
/// let must = solve(&Design {
///     parts: vec![
///         Part { ingredient: honey, amount: Amount::Mass(Grams::from_pounds(3.0)?) },
///         Part { ingredient: water, amount: Amount::Unknown },
///     ],
///     wanted: Wanted { volume: Some(Litres::from_us_gallons(1.0)?), ..Wanted::default() },
///     tolerance: None,
/// })?;
/// assert!((must.original.get() - 1.112).abs() < 0.004); // trade figure for 3 lb to the gallon
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn solve(design: &Design<'_>) -> Result<Must, SumError> {
    let mut known = Tally::default();
    let mut unknown = Vec::new();
    let mut grams = Vec::with_capacity(design.parts.len());
    for (i, part) in design.parts.iter().enumerate() {
        if let Some(mass) = mass_of(part)? {
            known.add(part.ingredient, mass);
            grams.push(mass);
        } else {
            unknown.push(i);
            grams.push(0.0);
        }
    }
    check_count(unknown.len(), design.wanted)?;
    let mut share = usual_share(design, known);
    find(design, &unknown, known, share, &mut grams)?;
    if design.wanted.alcohol.is_some() {
        // The share that ferments hangs on the amounts found.
        for _ in 0..8 {
            let next = tally(design, &grams).share();
            if (next - share).abs() < 1e-9 {
                break;
            }
            share = next;
            find(design, &unknown, known, share, &mut grams)?;
        }
    }
    figures(design, &grams)
}

fn usual_share(design: &Design<'_>, known: Tally) -> f64 {
    if known.solids > 0.0 {
        return known.share();
    }
    design
        .parts
        .iter()
        .find(|p| p.ingredient.solids.get() > 0.0)
        .map_or(finish::DRY_SHARE, |p| p.ingredient.fermentable().get())
}

fn mass_of(part: &Part<'_>) -> Result<Option<f64>, SumError> {
    match part.amount {
        Amount::Mass(g) => Ok(Some(g.get())),
        Amount::Unknown => Ok(None),
        Amount::Volume(v) => match part.ingredient.density() {
            Some(rho) => Ok(Some(v.get() * rho.get())),
            None => Err(SumError::Contradiction(format!(
                "{} is weighed, not measured by volume",
                part.ingredient.name
            ))),
        },
    }
}

fn check_count(unknown: usize, wanted: Wanted) -> Result<(), SumError> {
    if wanted.gravity.is_some() && wanted.alcohol.is_some() {
        return Err(SumError::Contradiction(
            "state the gravity or the alcohol wanted, not both: one follows from the other"
                .to_owned(),
        ));
    }
    let stated = usize::from(wanted.gravity.is_some() || wanted.alcohol.is_some())
        + usize::from(wanted.volume.is_some());
    if unknown == stated {
        return Ok(());
    }
    Err(SumError::Contradiction(match (unknown, stated) {
        (0, _) => "all amounts are given: leave one open to meet what is wanted".to_owned(),
        (u, 0) => format!("{u} amount is open: state a gravity, a volume or an alcohol"),
        (u, s) if u > s => format!("{u} amounts are open but only {s} thing is wanted"),
        (u, s) => format!("{s} things are wanted but only {u} amount is open"),
    }))
}

/// Fills in the unknown amounts.
fn find(
    design: &Design<'_>,
    unknown: &[usize],
    known: Tally,
    share: f64,
    grams: &mut [f64],
) -> Result<(), SumError> {
    let target = strength_wanted(design, share)?;
    match (unknown, target, design.wanted.volume) {
        ([], _, _) => Ok(()),
        ([i], Some(w), _) => {
            let part = design.parts[*i].ingredient;
            let (s, h) = (part.solids.get(), part.water().get());
            let x = (w * known.water - (1.0 - w) * known.solids) / (s * (1.0 - w) - w * h);
            grams[*i] = possible(part, x)?;
            Ok(())
        }
        ([i], None, Some(v)) => {
            let part = design.parts[*i].ingredient;
            grams[*i] = by_volume(part, known, v)?;
            Ok(())
        }
        ([i, j], Some(w), Some(v)) => {
            let mass = v.get() * SUCROSE_20.density(w);
            let (a, b) = (design.parts[*i].ingredient, design.parts[*j].ingredient);
            let (x, y) = two(
                [a.solids.get(), b.solids.get(), w * mass - known.solids],
                [
                    a.water().get(),
                    b.water().get(),
                    (1.0 - w) * mass - known.water,
                ],
            )
            .ok_or_else(|| {
                SumError::NoAnswer(format!("{} and {} are too alike", a.name, b.name))
            })?;
            grams[*i] = possible(a, x)?;
            grams[*j] = possible(b, y)?;
            Ok(())
        }
        _ => Err(SumError::Contradiction(
            "more than two amounts are open".to_owned(),
        )),
    }
}

fn strength_wanted(design: &Design<'_>, share: f64) -> Result<Option<f64>, SumError> {
    if let (Some(wanted), Some(limit)) = (design.wanted.alcohol, design.tolerance)
        && wanted > limit
    {
        return Err(SumError::Contradiction(format!(
            "{:.1} % vol is wanted, but the yeast bears only {:.1}",
            wanted.get(),
            limit.get()
        )));
    }
    Ok(match (design.wanted.gravity, design.wanted.alcohol) {
        (Some(g), _) => Some(fraction(g.get())),
        (None, Some(a)) => Some(fraction(
            finish::original_for(a, Share::clamped(share))?.get(),
        )),
        (None, None) => None,
    })
}

fn possible(part: &Ingredient, x: f64) -> Result<f64, SumError> {
    if x.is_finite() && x >= -1e-6 {
        return Ok(x.max(0.0));
    }
    Err(SumError::NoAnswer(format!(
        "no amount of {} meets what is wanted: the rest already goes beyond it",
        part.name
    )))
}

fn by_volume(part: &Ingredient, known: Tally, wanted: Litres) -> Result<f64, SumError> {
    let with = |x: f64| {
        let mut t = known;
        t.add(part, x);
        t.litres()
    };
    if known.liquid() > 0.0 && known.litres() > wanted.get() + 1e-9 {
        return possible(part, f64::NAN);
    }
    let (mut low, mut high) = (0.0, 4000.0 * wanted.get());
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if with(middle) < wanted.get() {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(f64::midpoint(low, high))
}

/// Two linear equations a x + b y = c.
fn two([a, b, c]: [f64; 3], [d, e, f]: [f64; 3]) -> Option<(f64, f64)> {
    let det = a * e - b * d;
    (det.abs() > 1e-9).then(|| ((c * e - b * f) / det, (a * f - c * d) / det))
}

fn tally(design: &Design<'_>, grams: &[f64]) -> Tally {
    let mut all = Tally::default();
    for (part, g) in design.parts.iter().zip(grams) {
        all.add(part.ingredient, *g);
    }
    all
}

fn figures(design: &Design<'_>, grams: &[f64]) -> Result<Must, SumError> {
    let all = tally(design, grams);
    if all.water <= 0.0 {
        return Err(SumError::Contradiction(
            "a must needs water or juice".to_owned(),
        ));
    }
    let extract = Plato::new(100.0 * all.strength())?;
    let original = super::gravity::from_plato(extract)?;
    let litres = all.litres();
    let share = Share::clamped(all.share());
    Ok(Must {
        original,
        extract,
        volume: Litres::new(litres)?,
        pulp: Litres::new(all.pulp / PULP)?,
        mass: Grams::new(all.liquid() + all.pulp)?,
        sugar: Grams::new(all.sugar)?,
        nitrogen: MilligramsPerLitre::new(all.nitrogen / litres.max(1e-9))?,
        fermentable: share,
        finish: finish::finish(original, share, design.tolerance)?,
        levels: levels(design, grams)?,
    })
}

fn levels(design: &Design<'_>, grams: &[f64]) -> Result<Vec<Level>, SumError> {
    let mut so_far = Tally::default();
    let mut levels = Vec::with_capacity(grams.len());
    for (part, g) in design.parts.iter().zip(grams) {
        so_far.add(part.ingredient, *g);
        let w = so_far.strength();
        let gravity = if w <= 0.85 && so_far.water > 0.0 {
            Some(super::gravity::from_plato(Plato::new(100.0 * w)?)?)
        } else {
            None
        };
        levels.push(Level {
            amount: Grams::new(*g)?,
            filled: Litres::new(so_far.litres() + so_far.pulp / PULP)?,
            gravity,
        });
    }
    Ok(levels)
}

/// Gravity of a must after fruit or sugar goes into a running ferment: the
/// original gravity as if it had been there from the start.
///
/// The rise of sugar counts as original extract, the water thins it; alcohol
/// so far belongs to the old part. Use the result as original gravity from
/// then on.
pub fn original_with(
    original: Gravity,
    volume: Litres,
    added: &Ingredient,
    amount: Grams,
) -> Result<(Gravity, Litres), SumError> {
    let mass = volume.get() * original.get() * SUCROSE_20.water();
    let w = fraction(original.get());
    let mut all = Tally {
        solids: mass * w,
        water: mass * (1.0 - w),
        ..Tally::default()
    };
    all.add(added, amount.get());
    let gravity = super::gravity::from_plato(Plato::new(100.0 * all.strength())?)?;
    Ok((gravity, Litres::new(all.litres())?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::sums::ingredients::find;

    fn part(key: &str, amount: Amount) -> Part<'static> {
        Part {
            ingredient: find(key).unwrap(),
            amount,
        }
    }

    fn gallon() -> Litres {
        Litres::known(3.785411784)
    }

    #[test]
    fn honey_and_water_to_gravity_and_volume() {
        let must = solve(&Design {
            parts: vec![
                part("honey", Amount::Unknown),
                part("water", Amount::Unknown),
            ],
            wanted: Wanted {
                gravity: Some(Gravity::known(1.100)),
                volume: Some(gallon()),
                alcohol: None,
            },
            tolerance: None,
        })
        .unwrap();
        assert!((must.original.get() - 1.100).abs() < 1e-9);
        assert!((must.volume.get() - gallon().get()).abs() < 1e-9);
        // Between the trade's 2.5 lb (1.092 to 1.095) and 3 lb (1.110 to 1.114) to the gallon.
        let lb = must.levels[0].amount.pounds();
        assert!((2.6..2.8).contains(&lb), "{lb}");
        assert!(must.levels[0].filled < must.levels[1].filled);
    }

    #[test]
    fn alcohol_wanted_is_met() {
        let must = solve(&Design {
            parts: vec![
                part("raspberry", Amount::Mass(Grams::known(500.0))),
                part("honey", Amount::Unknown),
                part("water", Amount::Unknown),
            ],
            wanted: Wanted {
                gravity: None,
                volume: Some(gallon()),
                alcohol: Some(Abv::known(12.0)),
            },
            tolerance: Some(Abv::known(14.0)),
        })
        .unwrap();
        assert!((must.finish.alcohol.get() - 12.0).abs() < 1e-3, "{must:?}");
        assert!(must.pulp.get() > 0.03);
        assert!(must.headspace(gallon()) < 0.0);
    }

    #[test]
    fn too_many_wishes_are_named() {
        let said = solve(&Design {
            parts: vec![
                part("honey", Amount::Mass(Grams::known(1000.0))),
                part("water", Amount::Unknown),
            ],
            wanted: Wanted {
                gravity: Some(Gravity::known(1.1)),
                volume: Some(gallon()),
                alcohol: None,
            },
            tolerance: None,
        })
        .unwrap_err()
        .to_string();
        assert_eq!(said, "2 things are wanted but only 1 amount is open");
    }

    #[test]
    fn water_alone_cannot_sweeten() {
        let said = solve(&Design {
            parts: vec![
                part("apple-juice", Amount::Volume(Litres::known(4.0))),
                part("water", Amount::Unknown),
            ],
            wanted: Wanted {
                gravity: Some(Gravity::known(1.1)),
                ..Wanted::default()
            },
            tolerance: None,
        })
        .unwrap_err()
        .to_string();
        assert!(said.starts_with("no amount of water meets"), "{said}");
    }

    #[test]
    fn fruit_thins_a_strong_must() {
        let (og, volume) = original_with(
            Gravity::known(1.110),
            Litres::known(4.0),
            find("blueberry").unwrap(),
            Grams::known(1000.0),
        )
        .unwrap();
        assert!(og.get() < 1.110 && volume.get() > 4.8);
    }
}
