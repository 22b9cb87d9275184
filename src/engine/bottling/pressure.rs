//! Gas and pressure on the warmest day against what bottles and kegs are rated for.

use super::day::{BottlingDay, BottlingWish, Stored};
use super::strength::{Load, Strength};
use super::{BottleStock, Hold};
use crate::domain::bottles::Limit;
use crate::domain::records::{BottleClass, Fizz, Place, Style, YeastClass};
use crate::domain::sums::SumError;
use crate::domain::sums::carbonation::{self, AIR, Drink, PRESSURE_MARGIN, Pressure, Verdict};
use crate::domain::units::{Celsius, GaugeBar, Gravity, Volumes};
use crate::engine::OriginalGravity;
use crate::engine::facts::Told;

/// Warmest day of a place of which nobody said how warm it gets (common
/// practice, no source).
pub const SUMMER: Celsius = Celsius::known(30.0);
/// Temperature at which primed bottles stand for two weeks, however cool the
/// cellar is (18 to 24 °C; common practice, no source).
const CONDITIONING: Celsius = Celsius::known(24.0);
/// Working pressure of a keg that nobody read the stamp of: 60 psi, the lower
/// of the two usual on stainless kegs (from memory).
pub const KEG_RATING: GaugeBar = GaugeBar::known(4.1);
/// Highest working pressure that is believed of a keg: 130 psi, the stamp of
/// kegs made for soda (an encyclopedia).
pub const MOST_KEG_RATING: GaugeBar = GaugeBar::known(9.0);
/// Where a yeast that ferments dextrins ends: 100 % apparent attenuation, the
/// upper end of 85 to 100 % (from memory; the wort sets the limit).
const DEXTRIN_END: Gravity = Gravity::known(1.0);
/// Attenuation in wort from which a yeast must be taken to ferment dextrins, %
/// (from memory: high-attenuating ale yeasts 76 to 82, dextrin-fermenting ones
/// from 85).
const DEXTRIN_ATTENUATION: f64 = 83.0;
/// Gas from sugar left that a still bottle bears without harm (common practice, no source).
const HARMLESS: f64 = 1.0;

/// Whether the yeast of a beer could ferment what other yeasts leave.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dextrins {
    /// The maker knows the yeast, and it does not.
    RuledOut,
    /// Nobody knows.
    Possible,
}

/// Returns whether dextrins are ruled out by what is known of a batch's yeast:
/// it is named, its class is on the list, and that class leaves dextrins. Only
/// malt brings them.
pub fn dextrins(style: Style, yeast: Option<&str>, classes: &[YeastClass]) -> Dextrins {
    let leaves = |c: &YeastClass| c.attenuation.is_some_and(|a| a < DEXTRIN_ATTENUATION);
    let known = yeast.map(str::trim).is_some_and(|name| {
        classes.iter().any(|c| {
            leaves(c) && (c.title.eq_ignore_ascii_case(name) || c.key.eq_ignore_ascii_case(name))
        })
    });
    if style != Style::Beer || known {
        Dextrins::RuledOut
    } else {
        Dextrins::Possible
    }
}

/// Returns the warmest day of a place: as the maker said, else [`SUMMER`], or
/// what the place usually has where that is more.
pub fn summer(place: Option<&Place>) -> Celsius {
    let usual = place.and_then(|p| p.usual_temp).unwrap_or(SUMMER);
    let safe = if usual > SUMMER { usual } else { SUMMER };
    place.and_then(|p| p.summer).unwrap_or(safe)
}

/// The warmest that bottles get: summer, the cellar, or the room in which the
/// gas is made.
pub(super) fn warmest_day(wish: &BottlingWish) -> Celsius {
    let room = (wish.fizz != Fizz::Still).then_some(CONDITIONING);
    [Some(wish.cellar), Some(wish.summer), room]
        .into_iter()
        .flatten()
        .fold(wish.cellar, |a, b| if b > a { b } else { a })
}

/// Gas that dextrins could still make in a beer.
pub(super) fn from_dextrins(
    style: Style,
    wish: Dextrins,
    told: &Told,
    present: Option<Gravity>,
) -> Result<Volumes, SumError> {
    let none = Ok(Volumes::known(0.0));
    let (Some(og), Some(present)) = (told.facts.og.map(OriginalGravity::gravity), present) else {
        return none;
    };
    if style != Style::Beer || wish == Dextrins::RuledOut || present <= DEXTRIN_END {
        return none;
    }
    let start = if og > present { og } else { present };
    carbonation::still_to_come(start, present, DEXTRIN_END)
}

pub(super) fn stored(
    held: Volumes,
    worst: Volumes,
    drink: Drink,
    at: Celsius,
) -> Result<Stored, SumError> {
    let usual = carbonation::bottle_pressure(held, drink, at)?;
    Ok(Stored {
        at,
        gauge: usual.gauge,
        safe: usual.safe,
        worst: in_bottle(worst, drink, at)?.safe,
    })
}

/// Pressure in a closed bottle. A must that has hardly begun would make more
/// than any gauge shows; then the most that a pressure can be stands for it.
fn in_bottle(held: Volumes, drink: Drink, at: Celsius) -> Result<Pressure, SumError> {
    match carbonation::bottle_pressure(held, drink, at) {
        Err(SumError::Quantity(_)) => Ok(Pressure {
            gauge: GaugeBar::clamped(GaugeBar::MAX),
            safe: GaugeBar::clamped(GaugeBar::MAX),
        }),
        other => other,
    }
}

/// The highest target, to a tenth of a volume, that keeps within a limit, and
/// within that of the worst case with what could come on top; none where the
/// drink holds more by itself.
fn most(
    limit: Limit,
    worst: Limit,
    to_come: ToCome,
    warm: Warm,
) -> Result<Option<Volumes>, SumError> {
    let aimed = warm.most(limit)?;
    let left = warm.most(worst)? - to_come.dextrins.get();
    let tenths = (aimed.min(left) * 10.0 + 1e-9).floor() / 10.0;
    Ok((tenths >= to_come.residual.get()).then(|| Volumes::clamped(tenths)))
}

/// The drink on the warmest day.
#[derive(Debug, Clone, Copy)]
pub(super) struct Warm {
    /// The drink.
    pub(super) drink: Drink,
    /// The warmest day.
    pub(super) at: Celsius,
}

impl Warm {
    /// Most gas that keeps within a limit, volumes.
    fn most(self, limit: Limit) -> Result<f64, SumError> {
        let gauge = if limit.printed {
            let air = AIR * self.at.kelvin() / 293.15;
            (limit.pressure.get() - air + AIR) / (1.0 + PRESSURE_MARGIN) - AIR
        } else {
            limit.pressure.get()
        };
        let held = carbonation::held_at(GaugeBar::clamped(gauge), self.drink, self.at)?;
        Ok(held.get().min(limit.volumes.get()))
    }

    fn load(self, limit: Limit, held: Volumes) -> Result<Load, SumError> {
        Ok(Load {
            held,
            at: self.at,
            pressure: limit.load(in_bottle(held, self.drink, self.at)?),
            limit: limit.pressure,
        })
    }
}

impl Load {
    fn beyond(&self, limit: Limit) -> bool {
        self.held > limit.volumes || self.pressure > self.limit
    }
}

pub(super) fn verdict(
    bottle: &BottleStock,
    held: Volumes,
    gassy: bool,
    warm: Warm,
) -> Result<Verdict, SumError> {
    if !gassy {
        return Ok(Verdict::Within);
    }
    let Some(limit) = bottle.limit() else {
        return Ok(Verdict::Beyond);
    };
    let load = warm.load(limit, held)?;
    let share = |a: f64, b: f64| if b > 0.0 { a / b } else { f64::INFINITY };
    let used =
        share(held.get(), limit.volumes.get()).max(share(load.pressure.get(), load.limit.get()));
    Ok(if load.beyond(limit) {
        Verdict::Beyond
    } else if used > 0.9 {
        Verdict::Tight
    } else {
        Verdict::Within
    })
}

/// Gas that could come on top of what is wanted.
#[derive(Debug, Clone, Copy)]
pub(super) struct ToCome {
    /// From sugar.
    pub(super) sugar: Volumes,
    /// From dextrins, that sugar among it.
    pub(super) dextrins: Volumes,
    /// What is dissolved before any is made.
    pub(super) residual: Volumes,
}

pub(super) fn bottle_holds(
    wish: &BottlingWish,
    to_come: ToCome,
    warm: Warm,
    day: &mut BottlingDay,
) -> Result<(), SumError> {
    let gassy = wish.fizz != Fizz::Still;
    let filled = wish.bottles.iter().zip(&day.fitted.counts);
    let mut found: Vec<Strength> = Vec::new();
    for (bottle, _) in filled.filter(|(_, n)| **n > 0) {
        let holds = if gassy {
            gassy_holds(bottle, day.held, to_come, warm)?
        } else {
            still_holds(bottle, day.held, to_come, warm)?
                .into_iter()
                .collect()
        };
        for hold in holds {
            if !found.contains(&hold) {
                found.push(hold);
            }
        }
    }
    day.holds.extend(found.into_iter().map(Hold::Strength));
    Ok(())
}

fn gassy_holds(
    bottle: &BottleStock,
    held: Volumes,
    to_come: ToCome,
    warm: Warm,
) -> Result<Vec<Strength>, SumError> {
    let class = bottle.class;
    let (Some(limit), Some(worst)) = (bottle.limit(), bottle.worst_limit()) else {
        return Ok(vec![match bottle {
            b if !b.known => Strength::UnknownClass,
            b if b.large() => Strength::TooLarge { size: b.size },
            _ => Strength::NotForPressure { class },
        }]);
    };
    let mut holds = Vec::new();
    if bottle.worn() {
        holds.push(Strength::Worn {
            class,
            reused: bottle.reused,
        });
    }
    let load = warm.load(limit, held)?;
    let most = most(limit, worst, to_come, warm)?;
    let over = if held > limit.volumes {
        Some(Strength::OverVolumes {
            class,
            held,
            limit: limit.volumes,
            most,
        })
    } else {
        let over = Strength::OverPressure { class, load, most };
        load.beyond(limit).then_some(over)
    };
    // What is far from its end says so too, whatever is aimed at.
    if over.is_none() || to_come.dextrins.get() > HARMLESS {
        holds.extend(worst_case(class, worst, held, most, (to_come, warm))?);
    }
    holds.extend(over);
    Ok(holds)
}

/// What comes of the sugar and the dextrins that are left.
fn worst_case(
    class: BottleClass,
    limit: Limit,
    held: Volumes,
    most: Option<Volumes>,
    (to_come, warm): (ToCome, Warm),
) -> Result<Option<Strength>, SumError> {
    let with = |more: Volumes| Volumes::clamped(held.get() + more.get());
    let load = warm.load(limit, with(to_come.sugar))?;
    if load.beyond(limit) {
        return Ok(Some(Strength::WorstCase { class, load, most }));
    }
    let load = warm.load(limit, with(to_come.dextrins))?;
    let end = DEXTRIN_END;
    let dextrins = Strength::Dextrins {
        class,
        load,
        end,
        most,
    };
    Ok(load.beyond(limit).then_some(dextrins))
}

/// A still beer whose yeast goes on makes gas as well.
fn still_holds(
    bottle: &BottleStock,
    held: Volumes,
    to_come: ToCome,
    warm: Warm,
) -> Result<Option<Strength>, SumError> {
    if to_come.dextrins.get() <= to_come.sugar.get().max(HARMLESS) {
        return Ok(None);
    }
    let none = Limit {
        volumes: Volumes::known(HARMLESS),
        pressure: GaugeBar::known(0.0),
        printed: false,
    };
    let limit = bottle.worst_limit().unwrap_or(none);
    let held = Volumes::clamped(held.get() + to_come.dextrins.get());
    let load = warm.load(limit, held)?;
    Ok(load.beyond(limit).then_some(Strength::Dextrins {
        class: bottle.class,
        load,
        end: DEXTRIN_END,
        most: None,
    }))
}

/// Holds of a keg: its regulator, and the day on which it gets warm.
pub fn keg_holds(
    target: Volumes,
    drink: Drink,
    at: Celsius,
    summer: Celsius,
    rating: Option<GaugeBar>,
) -> Result<Vec<Hold>, SumError> {
    let printed = rating.is_some();
    let limit = Limit {
        volumes: crate::domain::bottles::MOST_GAS,
        pressure: rating.unwrap_or(KEG_RATING),
        printed: false,
    };
    if let Ok(pressure) = carbonation::keg(target, drink, at)
        && pressure > limit.pressure
    {
        return Ok(vec![Hold::Strength(Strength::Regulator {
            pressure,
            limit: limit.pressure,
            printed,
        })]);
    }
    let warm = Warm {
        drink,
        at: if at > summer { at } else { summer },
    };
    let none = Volumes::known(0.0);
    let nothing = ToCome {
        sugar: none,
        dextrins: none,
        residual: none,
    };
    let load = warm.load(limit, target)?;
    if !load.beyond(limit) {
        return Ok(Vec::new());
    }
    Ok(vec![Hold::Strength(Strength::WarmKeg {
        load,
        printed,
        most: most(limit, limit, nothing, warm)?,
    })])
}
