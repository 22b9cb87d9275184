//! What the register asks of empty bottles: fields of the pantry's form.

use super::form::{Form, FormField, Objected};
use super::say;
use crate::domain::bottles;
use crate::domain::records::{Bottle, BottleClass, PantryKind, UnitSystem};
use crate::domain::sums::carbonation::Rating;
use crate::domain::units::Litres;
use crate::engine::bottling::BottleStock;

/// Keys of the fields that only bottles have.
const KEYS: [&str; 6] = ["size", "class", "rated", "filled", "rejected", "glass"];

const UNKNOWN: &str = "not known: takes no gas";

/// Puts the fields of bottles into the form, or takes them out, as its kind asks.
pub(super) fn follow(form: &mut Form, had: Option<Bottle>) {
    let wanted = form.value("kind") == PantryKind::Bottle.word();
    let there = form.field("size").is_some();
    if wanted && !there {
        let told = had.or_else(|| bottles::read(form.value("name"), form.value("note")));
        let at = form
            .fields
            .iter()
            .position(|f| f.key == "lot")
            .unwrap_or(form.fields.len());
        form.fields.splice(at..at, fields(told));
        form.set("unit", "pieces");
    } else if !wanted && there {
        form.fields.retain(|f| !KEYS.contains(&f.key));
        form.at = form.at.min(form.fields.len().saturating_sub(1));
    }
}

fn fields(told: Option<Bottle>) -> Vec<FormField> {
    let number = |n: Option<u32>| n.map_or_else(|| "0".to_owned(), |n| n.to_string());
    let class = told.and_then(|b| b.class);
    let classes = BottleClass::ALL.iter().map(|c| c.word().to_owned());
    vec![
        FormField::text(
            "size",
            "one holds",
            "Filled to its usual height: 12 fl oz, 500 mL, 0.75 L.",
            &told.map_or_else(String::new, |b| typed_size(b.size)),
        ),
        FormField::choice(
            "class",
            "class",
            "Left and right select. Decorative glass and still-wine bottles never take gas.",
            std::iter::once(UNKNOWN.to_owned()).chain(classes).collect(),
            class
                .and_then(|c| BottleClass::ALL.iter().position(|o| *o == c))
                .map_or(0, |i| i + 1),
        ),
        FormField::text(
            "rated",
            "rating printed",
            "4 volumes, 4 bar or 60 psi of working pressure, never a burst pressure; empty: the trade's ceiling for its class counts.",
            &told
                .and_then(|b| b.rating)
                .map_or_else(String::new, typed_rating),
        ),
        FormField::text(
            "filled",
            "filled before",
            "How often. After ten times glass is no longer trusted with gas (common practice, no source).",
            &number(told.map(|b| b.filled)),
        ),
        FormField::text(
            "rejected",
            "put aside",
            "Chipped, scuffed, bruised or dropped ones; they are not among those that are there.",
            &number(told.map(|b| b.rejected)),
        ),
        FormField::choice(
            "glass",
            "glass",
            "Clear glass lets light in; such bottles want a dark place.",
            vec!["coloured".into(), "clear".into()],
            usize::from(told.is_some_and(|b| b.clear_glass)),
        ),
    ]
}

/// A size as it is typed: ounces where it is a whole number of them.
fn typed_size(size: Litres) -> String {
    let ounces = say::ounces(size);
    if (ounces - ounces.round()).abs() < 0.001 {
        format!("{ounces:.0} fl oz")
    } else {
        format!("{:.0} mL", size.get() * 1000.0)
    }
}

fn typed_rating(rating: Rating) -> String {
    match rating {
        Rating::Volumes(v) => format!("{} volumes", v.get()),
        Rating::Gauge(p) => format!("{:.2} bar", p.get()),
        Rating::None => String::new(),
    }
}

/// What the form says of bottles; none for another shelf.
pub(super) fn read(form: &mut Form) -> Result<Option<Bottle>, Objected> {
    if form.field("size").is_none() {
        return Ok(None);
    }
    let Some(size) = bottles::size(form.value("size")) else {
        let why = match form.value("size") {
            "" => "Say what one holds: 12 fl oz, 500 mL, 0.75 L.".to_owned(),
            text => format!("'{text}' is no size: 12 fl oz, 500 mL, 0.75 L."),
        };
        form.object("size", why);
        return Err(Objected);
    };
    let rating = match form.value("rated") {
        "" => None,
        text => match bottles::rating(text) {
            Ok(rating) => Some(rating),
            Err(why) => {
                form.object("rated", why);
                return Err(Objected);
            }
        },
    };
    let class = form.chosen("class");
    Ok(Some(Bottle {
        size,
        class: class
            .checked_sub(1)
            .and_then(|i| BottleClass::ALL.get(i).copied()),
        rating,
        filled: whole(form, "filled")?,
        rejected: whole(form, "rejected")?,
        clear_glass: form.chosen("glass") == 1,
    }))
}

fn whole(form: &mut Form, key: &'static str) -> Result<u32, Objected> {
    let text = form.value(key).to_owned();
    match text.parse::<u32>() {
        _ if text.is_empty() => Ok(0),
        Ok(n) if n <= 10_000 => Ok(n),
        _ => {
            form.object(key, format!("'{text}' is no whole number up to 10000."));
            Err(Objected)
        }
    }
}

/// What bottles are rated for, as the register shows it: `3.0 volumes, 58 psi`.
pub fn rated_for(bottle: Bottle, units: UnitSystem) -> String {
    let Some(class) = bottle.class else {
        return "class not known: no gas".into();
    };
    let one = BottleStock {
        class,
        known: true,
        size: bottle.size,
        have: 1,
        rating: bottle.rating,
        reused: bottle.filled,
        clear_glass: bottle.clear_glass,
    };
    match one.limit() {
        Some(limit) => format!(
            "{:.1} volumes, {}",
            limit.volumes.get(),
            say::pressure(limit.pressure, units)
        ),
        None if one.large() && class != BottleClass::NoPressure => {
            "above 2 L, no printed working pressure: no gas".into()
        }
        None => "no gas".into(),
    }
}

/// How bottles were used, as the register shows it; empty for new ones.
pub fn wear(bottle: Bottle) -> String {
    let filled = match bottle.filled {
        0 => None,
        1 => Some("filled once".to_owned()),
        n => Some(format!("filled {n} times")),
    };
    let aside = (bottle.rejected > 0).then(|| format!("{} put aside", bottle.rejected));
    let clear = bottle.clear_glass.then(|| "clear".to_owned());
    [filled, aside, clear]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(", ")
}
