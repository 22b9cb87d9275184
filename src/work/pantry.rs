//! What leaves the pantry: by a step, by a line of the day, by hand.

use super::check::{self, refuse};
use super::{Done, WorkError, done, empties};
use crate::domain::bottles::registered;
use crate::domain::deeds::{Fill, Given};
use crate::domain::records::{
    BatchId, BottleClass, PantryDraw, PantryDrawId, PantryId, PantryItem, PantryKind, StepId,
};
use crate::domain::units::{Grams, Litres, Moment};
use crate::store::Writer;

/// Least amount that is worth a row.
const CRUMB: f64 = 1e-9;

/// Something taken out by hand.
pub(super) fn draw(
    w: &mut Writer<'_>,
    id: PantryId,
    amount: f64,
    at: Moment,
    why: &str,
    now: Moment,
) -> Done {
    check::past(at, now, "taking something out of the pantry")?;
    let Some(item) = w.read().get::<PantryItem>(id.0)? else {
        return refuse("there is no such thing in the pantry (it may have been undone meanwhile)");
    };
    check::within(amount, 1e-6, 1e8, "an amount of")?;
    if amount > item.amount + CRUMB {
        return refuse(format!(
            "the pantry has {} {} of {}: accepted is up to that",
            item.amount, item.unit, item.name
        ));
    }
    let why = check::note(why)?;
    let said = format!("{amount} {} of {} taken out", item.unit, item.name);
    let draw = PantryDraw {
        id: PantryDrawId(0),
        item: id,
        amount,
        batch: None,
        step: None,
        at,
        why,
    };
    take(w, item, &draw)?;
    Ok(done(said, None, vec![]))
}

fn take(w: &mut Writer<'_>, item: PantryItem, draw: &PantryDraw) -> Result<(), WorkError> {
    w.put(&PantryItem {
        amount: (item.amount - draw.amount).max(0.0),
        ..item
    })?;
    w.add(draw)?;
    Ok(())
}

/// What a step or a line really used leaves the pantry, where the pantry keeps
/// a thing of that name. What is not there in full is told, never refused:
/// the must has it already.
pub(super) fn draw_given(
    w: &mut Writer<'_>,
    given: &Given,
    batch: BatchId,
    step: Option<StepId>,
    at: Moment,
    why: &str,
) -> Result<Vec<String>, WorkError> {
    let mut cautions = Vec::new();
    for (name, amount, unit) in pieces(given) {
        cautions.extend(draw_named(w, &name, amount, unit, (batch, step), at, why)?);
    }
    Ok(cautions)
}

/// Takes an amount out of the lots of that name, what goes stale first before
/// the rest. Gives a sentence where there was less.
pub(super) fn draw_named(
    w: &mut Writer<'_>,
    name: &str,
    amount: f64,
    unit: &str,
    whose: (BatchId, Option<StepId>),
    at: Moment,
    why: &str,
) -> Result<Option<String>, WorkError> {
    let lots = w.read().lots_of(name, unit)?;
    if lots.is_empty() {
        return Ok(None);
    }
    let mut left = amount;
    for item in lots {
        if left <= CRUMB {
            break;
        }
        let part = left.min(item.amount);
        left -= part;
        let draw = PantryDraw {
            id: PantryDrawId(0),
            item: item.id,
            amount: part,
            batch: Some(whose.0),
            step: whose.1,
            at,
            why: why.to_owned(),
        };
        take(w, item, &draw)?;
    }
    Ok((left > 1e-6 * amount.max(1.0)).then(|| {
        format!(
            "the pantry had only {:.1} of {amount:.1} {unit} of {name}: it is empty now",
            amount - left
        )
    }))
}

/// Bottles that were filled leave the pantry, where it keeps some of that
/// size, and crown caps with them. Gives a sentence where there were fewer.
pub(super) fn draw_bottles(
    w: &mut Writer<'_>,
    fills: &[Fill],
    batch: BatchId,
    at: Moment,
) -> Result<Vec<String>, WorkError> {
    let mut cautions = Vec::new();
    for fill in fills {
        let all: Vec<PantryItem> = w.read().all()?;
        let empty: Vec<&PantryItem> = all
            .iter()
            .filter(|i| i.kind == PantryKind::Bottle && i.unit == "pieces")
            .collect();
        let fits = |i: &&&PantryItem| registered(i).is_some_and(|b| b.holds(fill.size));
        let of_class = |i: &&&PantryItem| {
            fits(i) && registered(i).is_some_and(|b| b.class == Some(fill.class))
        };
        let found = empty.iter().find(of_class).or(empty.iter().find(fits));
        let why = empties::bottling(found.and_then(|i| registered(i)).map(|b| b.filled));
        let name = match (found, empty.as_slice()) {
            (Some(item), _) => Some(item.name.clone()),
            (None, [only]) if registered(only).is_none() => Some(only.name.clone()),
            _ => None,
        };
        let count = f64::from(fill.count);
        let whose = (batch, None);
        if let Some(name) = name {
            cautions.extend(draw_named(w, &name, count, "pieces", whose, at, &why)?);
        }
        let caps = all
            .iter()
            .find(|i| i.kind == PantryKind::Closure && i.name.to_lowercase().contains("crown cap"));
        if let (BottleClass::Crown, Some(caps)) = (fill.class, caps) {
            let name = caps.name.clone();
            cautions.extend(draw_named(
                w, &name, count, "pieces", whose, at, "bottling",
            )?);
        }
    }
    Ok(cautions)
}

/// What was given, thing by thing: `0.8 g organic nutrient and 0.5 g
/// diammonium phosphate` comes as 0.8 g of `organic nutrient and 0.5 g ...`.
fn pieces(given: &Given) -> Vec<(String, f64, &'static str)> {
    let mut found = Vec::new();
    let mut words = given.substance.trim();
    let mut amount = amount_of(given.mass, given.volume);
    while let Some((here, rest)) = words.split_once(" and ") {
        let Some((next, name)) = leading(rest) else {
            break;
        };
        if let Some((n, unit)) = amount {
            found.push((here.trim().to_owned(), n, unit));
        }
        words = name;
        amount = Some(next);
    }
    if let Some((n, unit)) = amount
        && n > 0.0
        && !words.trim().is_empty()
    {
        found.push((words.trim().to_owned(), n, unit));
    }
    found
}

fn amount_of(mass: Option<Grams>, volume: Option<Litres>) -> Option<(f64, &'static str)> {
    match (mass, volume) {
        (Some(g), _) => Some((g.get(), "g")),
        (None, Some(l)) => Some((l.get() * 1000.0, "mL")),
        (None, None) => None,
    }
}

/// `0.5 g diammonium phosphate` as an amount and a name.
fn leading(text: &str) -> Option<((f64, &'static str), &str)> {
    let (number, rest) = text.trim_start().split_once(' ')?;
    let n: f64 = number.parse().ok()?;
    let (unit, name) = rest.trim_start().split_once(' ')?;
    let unit = match unit {
        "g" => "g",
        "mL" | "ml" => "mL",
        _ => return None,
    };
    let name = name.trim_start();
    Some(((n, unit), name.strip_prefix("of ").unwrap_or(name)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_nutrients_in_one_feeding_are_told_apart() {
        let given = Given {
            substance: "organic nutrient and 0.5 g diammonium phosphate".into(),
            mass: Some(Grams::known(0.8)),
            volume: None,
        };
        assert_eq!(
            pieces(&given),
            [
                ("organic nutrient".to_owned(), 0.8, "g"),
                ("diammonium phosphate".to_owned(), 0.5, "g")
            ]
        );
        let salt = Given {
            substance: "salt and pepper".into(),
            mass: Some(Grams::known(2.0)),
            volume: None,
        };
        assert_eq!(pieces(&salt), [("salt and pepper".to_owned(), 2.0, "g")]);
    }
}
