//! Bottles drunk, tasted; the pantry; the settings.

use super::check::{self, refuse};
use super::{Done, Made, WorkError, done, empties};
use crate::domain::bottles;
use crate::domain::deeds::Deed;
use crate::domain::records::{
    BatchId, Bottle, Draw, DrawId, DrawKind, LotId, PantryId, PantryItem, Settings, Tasting,
    TastingId,
};
use crate::domain::units::Moment;
use crate::store::Writer;

pub(super) fn write(w: &mut Writer<'_>, deed: &Deed, now: Moment) -> Done {
    match deed {
        Deed::Draw {
            lot,
            count,
            kind,
            at,
            whom,
            note,
        } => {
            let draw = Draw {
                id: DrawId(0),
                lot: *lot,
                count: *count,
                kind: *kind,
                at: *at,
                whom: whom.trim().to_owned(),
                note: check::note(note)?,
            };
            draw_bottles(w, &draw, now)
        }
        Deed::Taste {
            batch,
            lot,
            at,
            marks,
            words,
        } => taste(w, *batch, *lot, *at, *marks, words, now),
        _ => unreachable!("routed by the deed"),
    }
}

fn draw_bottles(w: &mut Writer<'_>, draw: &Draw, now: Moment) -> Done {
    check::past(draw.at, now, "taking bottles out")?;
    if !draw.whom.is_empty() {
        check::name(&draw.whom, "the name of the person")?;
    }
    let lot = check::lot(w.read(), draw.lot)?;
    let batch = check::batch(w.read(), lot.batch)?;
    if draw.count == 0 {
        return refuse("0 bottles change nothing: give how many");
    }
    if draw.count < 0 && draw.kind != DrawKind::Counted {
        return refuse(format!(
            "{} bottles cannot be {}: only a count may find more than there were",
            draw.count, draw.kind
        ));
    }
    if draw.at < lot.bottled {
        return refuse(format!(
            "they were filled on {} only",
            check::when(lot.bottled)
        ));
    }
    let left = w.read().left_in(&lot)?;
    let then = left - i64::from(draw.count);
    if then < 0 {
        return refuse(format!(
            "only {left} bottles of '{}' are left in that lot: accepted are up to {left}",
            batch.name
        ));
    }
    // A count that finds more than were ever filled means a wrong lot.
    if then > i64::from(lot.count) {
        return refuse(format!(
            "{then} bottles of '{}' would be more than the {} that were filled",
            batch.name, lot.count
        ));
    }
    let id = DrawId(w.add(draw)?);
    let mut said = match draw.kind {
        DrawKind::Counted => format!("{then} bottles of '{}' counted", batch.name),
        kind => format!(
            "{} of '{}' {kind}, {then} left",
            bottles_of(draw.count),
            batch.name
        ),
    };
    if !draw.whom.is_empty() {
        said = format!("{said} ({})", draw.whom);
    }
    let back = empties::put_back(w, &lot, draw)?;
    if back > 0 {
        said = format!("{said}; {} back in the pantry", empty(back));
    }
    Ok(done(said, Some(batch.id), vec![Made::Draw(id)]))
}

fn empty(count: u32) -> String {
    if count == 1 {
        "1 empty".into()
    } else {
        format!("{count} empties")
    }
}

fn bottles_of(count: i32) -> String {
    if count == 1 {
        "1 bottle".into()
    } else {
        format!("{count} bottles")
    }
}

fn taste(
    w: &mut Writer<'_>,
    id: BatchId,
    lot: Option<LotId>,
    at: Moment,
    marks: [u8; 5],
    words: &str,
    now: Moment,
) -> Done {
    check::past(at, now, "a tasting")?;
    let batch = check::batch(w.read(), id)?;
    if let Some(lot) = lot
        && check::lot(w.read(), lot)?.batch != id
    {
        return refuse(format!(
            "those bottles are not of '{}': name a lot of it",
            batch.name
        ));
    }
    if let Some(mark) = marks.iter().find(|m| !(1..=5).contains(*m)) {
        return refuse(format!(
            "a mark of {mark} is not possible: accepted is 1 to 5"
        ));
    }
    let made = TastingId(w.add(&Tasting {
        id: TastingId(0),
        batch: id,
        lot,
        at,
        marks,
        words: check::note(words)?,
    })?);
    Ok(done(
        format!("tasting of '{}' kept", batch.name),
        Some(id),
        vec![Made::Tasting(made)],
    ))
}

pub(super) fn stock(w: &mut Writer<'_>, item: &PantryItem) -> Done {
    let name = check::name(&item.name, "the name of a thing in the pantry")?;
    check::within(item.amount, 0.0, 1e8, "an amount of")?;
    for (x, what) in [
        (item.price, "a price of"),
        (item.keep_at_least, "a stock of"),
    ] {
        if let Some(x) = x {
            check::within(x, 0.0, 1e8, what)?;
        }
    }
    if !matches!(item.unit.as_str(), "g" | "mL" | "pieces") {
        return refuse(format!(
            "the pantry counts in g, mL or pieces, not in '{}'",
            item.unit.chars().take(20).collect::<String>()
        ));
    }
    if let Some(day) = item.best_before {
        check::day(day, "the best-before day")?;
    }
    check::note(&item.note)?;
    check::note(&item.lot)?;
    if item.id.0 > 0 && w.read().get::<PantryItem>(item.id.0)?.is_none() {
        return refuse("there is no such thing in the pantry (it may have been undone meanwhile)");
    }
    let bottle = bottles::registered(item);
    if let Some(b) = bottle {
        check::within(b.size.get(), 0.001, 1000.0, "a bottle of litres, of")?;
        refuse_false_label(&b)?;
    }
    let id = w.put_or_add(&PantryItem {
        name: name.clone(),
        bottle,
        ..item.clone()
    })?;
    Ok(done(
        format!("pantry: {} {} of {name}", item.amount, item.unit),
        None,
        vec![Made::Pantry(PantryId(id))],
    ))
}

/// No printed rating beyond what bottles of that class can have.
fn refuse_false_label(bottle: &Bottle) -> Result<(), WorkError> {
    let (Some(class), Some(rating)) = (bottle.class, bottle.rating) else {
        return Ok(());
    };
    if bottles::believed(class, rating) {
        return Ok(());
    }
    match bottles::most_rated(class) {
        None => refuse(format!("a {class} takes no gas, whatever is printed on it")),
        Some(most) => refuse(format!(
            "no {class} is rated so high: accepted are up to {:.1} volumes or {:.1} bar ({:.0} psi) \
             of working pressure; a burst pressure is no rating",
            most.volumes.get(),
            most.pressure.get(),
            most.pressure.get() * 14.503774
        )),
    }
}

pub(super) fn save_settings(w: &mut Writer<'_>, settings: &Settings) -> Done {
    check::within(
        settings.stall_prior,
        0.0001,
        0.9999,
        "a share of stuck ferments of",
    )?;
    check::within(
        f64::from(settings.reading_gap_days),
        1.0,
        365.0,
        "a gap of days of",
    )?;
    check::within(
        f64::from(settings.adults),
        1.0,
        100.0,
        "a number of adults of",
    )?;
    w.put_or_add(settings)?;
    Ok(done("settings changed", None, vec![]))
}
