//! Empties: a bottle that was drunk is back among those that can be filled.
//!
//! Only bottles that came off the register go back to it, and only drunk ones:
//! what was given away or broke is gone. A kind counts as filled as often as
//! the most used of its bottles.

use super::WorkError;
use crate::domain::bottles::{filled_before, registered};
use crate::domain::records::{
    Bottle, BottleClass, Draw, DrawKind, Lot, PantryDraw, PantryId, PantryItem, PantryKind,
};
use crate::store::Writer;

/// Bottles of a kind on the register that one bottling took.
struct Taken {
    item: PantryId,
    bottle: Bottle,
    count: u32,
    filled_before: u32,
}

/// How the taking of bottles is told, with what the register said of them then.
pub(super) fn bottling(filled: Option<u32>) -> String {
    filled.map_or_else(
        || "bottling".to_owned(),
        |n| format!("bottling, filled {n} times before"),
    )
}

/// Puts what a draw emptied back on the register; gives how many that were.
/// The draw itself is written already.
pub(super) fn put_back(w: &mut Writer<'_>, lot: &Lot, draw: &Draw) -> Result<u32, WorkError> {
    if draw.kind != DrawKind::Drunk || draw.count <= 0 {
        return Ok(0);
    }
    let drunk = w.read().draws(lot.id)?.into_iter();
    let drunk: i32 = drunk
        .filter(|d| d.kind == DrawKind::Drunk)
        .map(|d| d.count)
        .sum();
    let mut skip = (drunk - draw.count).max(0).cast_unsigned();
    let mut left = draw.count.cast_unsigned();
    let mut back = 0;
    for taken in taken(w, lot)? {
        // Those that were drunk before are back already.
        let passed = skip.min(taken.count);
        skip -= passed;
        let here = left.min(taken.count - passed);
        if here == 0 {
            continue;
        }
        left -= here;
        if let Some((item, bottle)) = home_of(w, &taken)? {
            back += here;
            let filled = bottle.filled.max(taken.filled_before + 1);
            w.put(&PantryItem {
                amount: item.amount + f64::from(here),
                bottle: Some(Bottle { filled, ..bottle }),
                ..item
            })?;
        }
    }
    Ok(back)
}

/// Where on the register an empty belongs. A sparkling-wine bottle is new once:
/// used, it bears less, so it goes to the used ones, or to none.
fn home_of(w: &Writer<'_>, taken: &Taken) -> Result<Option<(PantryItem, Bottle)>, WorkError> {
    if taken.bottle.class != Some(BottleClass::SparklingNew) {
        // Read anew: two draws may have taken from one thing.
        let item = w.read().get::<PantryItem>(taken.item.0)?;
        return Ok(item.map(|i| (i, taken.bottle)));
    }
    let used = |item: PantryItem| {
        let bottle = registered(&item)?;
        let fits = bottle.class == Some(BottleClass::SparklingUsed);
        (fits && bottle.holds(taken.bottle.size)).then_some((item, bottle))
    };
    Ok(w.read().all::<PantryItem>()?.into_iter().find_map(used))
}

/// What the bottling of a lot took off the register: bottles of its class
/// before others of its size, as they were found when they were filled.
fn taken(w: &Writer<'_>, lot: &Lot) -> Result<Vec<Taken>, WorkError> {
    let mut found = Vec::new();
    for draw in w.read().all::<PantryDraw>()? {
        if draw.batch != Some(lot.batch) || draw.at != lot.bottled {
            continue;
        }
        let item = w.read().get::<PantryItem>(draw.item.0)?;
        let Some(item) = item.filter(|i| i.kind == PantryKind::Bottle) else {
            continue;
        };
        let Some(bottle) = registered(&item).filter(|b| b.holds(lot.size)) else {
            continue;
        };
        found.push(Taken {
            filled_before: filled_before(&draw.why).unwrap_or(bottle.filled),
            count: draw.amount.round().clamp(0.0, f64::from(lot.count)) as u32,
            item: draw.item,
            bottle,
        });
    }
    if found.iter().any(|t| t.bottle.class == Some(lot.class)) {
        found.retain(|t| t.bottle.class == Some(lot.class));
    }
    Ok(found)
}
