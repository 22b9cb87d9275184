//! Holds of the bottles: gas and pressure against what each kind is rated for.

use super::day::{BottlingDay, BottlingWish, Stored};
use super::{BottleStock, Hold};
use crate::domain::sums::SumError;
use crate::domain::sums::carbonation::{self, Drink, Verdict};
use crate::domain::units::{Celsius, GaugeBar, Volumes};

pub(super) fn stored(
    held: Volumes,
    worst: Volumes,
    drink: Drink,
    at: Celsius,
) -> Result<Stored, SumError> {
    let usual = carbonation::bottle_pressure(held, drink, at)?;
    // A must that has hardly begun would make more than any gauge shows; then
    // the most that a pressure can be stands for it.
    let most = match carbonation::bottle_pressure(worst, drink, at) {
        Ok(most) => most.safe,
        Err(SumError::Quantity(_)) => GaugeBar::clamped(GaugeBar::MAX),
        Err(other) => return Err(other),
    };
    Ok(Stored {
        at,
        gauge: usual.gauge,
        safe: usual.safe,
        worst: most,
    })
}

pub(super) fn verdict(
    bottle: &BottleStock,
    held: Volumes,
    gassy: bool,
    warm: Option<Stored>,
) -> Verdict {
    match warm {
        Some(warm) if gassy => {
            let pressure = carbonation::Pressure {
                gauge: warm.gauge,
                safe: warm.safe,
            };
            carbonation::against(bottle.rating(), held, pressure)
        }
        _ => Verdict::Within,
    }
}

pub(super) fn bottle_holds(wish: &BottlingWish, gassy: bool, day: &mut BottlingDay) {
    if !gassy {
        return;
    }
    let Some(warm) = day.stored.last().copied() else {
        return;
    };
    for (i, bottle) in wish.bottles.iter().enumerate() {
        if day.fitted.counts.get(i).copied().unwrap_or(0) == 0 {
            continue;
        }
        let class = bottle.class;
        if bottle.rating() == carbonation::Rating::None {
            day.holds.push(Hold::NotForPressure { class });
            continue;
        }
        if bottle.worn() {
            day.holds.push(Hold::Worn {
                class,
                reused: bottle.reused,
            });
        }
        let at = |volumes, safe| {
            let pressure = carbonation::Pressure {
                gauge: warm.gauge,
                safe,
            };
            carbonation::against(bottle.rating(), volumes, pressure)
        };
        if at(day.held, warm.safe) == Verdict::Beyond {
            day.holds.push(Hold::OverRating {
                class,
                held: day.held,
                pressure: warm.safe,
            });
        } else if at(day.worst, warm.worst) == Verdict::Beyond {
            day.holds.push(Hold::WorstCaseOverRating {
                class,
                worst: day.worst,
            });
        }
    }
}
