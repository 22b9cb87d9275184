//! The pantry: what is there, what to buy.

use super::cell::{self, CellFor};
use super::form::{Form, FormField, Objected};
use super::keys::Action;
use super::measure;
use super::msg::{Effect, Ticket};
use super::register;
use super::sheet::{self, SheetFor};
use super::state::{Effects, State};
use crate::domain::bottles;
use crate::domain::checklist::{Wanted, shopping};
use crate::domain::deeds::Deed;
use crate::domain::records::{Batch, PantryId, PantryItem, PantryKind};
use crate::domain::slip;
use chrono::NaiveDate;

/// How the pantry is looked at.
#[derive(Debug, Clone, Default)]
pub struct PantryView {
    /// The thing that has the keys.
    pub at: usize,
    /// The shopping list in its place, where both do not fit.
    pub shop: bool,
}

/// Units that the pantry counts in.
const UNITS: [&str; 3] = ["g", "mL", "pieces"];

/// What there is.
pub fn items(state: &State) -> &[PantryItem] {
    &state.supplies.pantry
}

/// What to buy.
pub fn wanted(state: &State) -> Vec<Wanted> {
    let batches: Vec<&Batch> = state
        .household
        .as_ref()
        .map_or_else(Vec::new, |h| h.dossiers.iter().map(|d| &d.batch).collect());
    shopping(&state.supplies, &batches, state.now.day())
}

/// The thing that has the keys.
pub fn current(state: &State) -> Option<&PantryItem> {
    items(state).get(state.pantry.at)
}

/// Carries an action out that belongs to this screen.
pub fn act(state: &mut State, action: Action, typed: Option<char>) -> Effects {
    let last = items(state).len().saturating_sub(1);
    let page = state.rows.max(2) - 1;
    let at = state.pantry.at;
    match action {
        Action::Up => state.pantry.at = at.saturating_sub(1),
        Action::Down => state.pantry.at = (at + 1).min(last),
        Action::PageUp => state.pantry.at = at.saturating_sub(page),
        Action::PageDown => state.pantry.at = (at + page).min(last),
        Action::First => state.pantry.at = 0,
        Action::Last => state.pantry.at = last,
        Action::Next => state.pantry.shop = !state.pantry.shop,
        Action::Add => open_item(state, None),
        Action::Edit | Action::Open => {
            if let Some(item) = current(state).cloned() {
                open_item(state, Some(&item));
            }
        }
        Action::Type | Action::Remove => open_take(state, typed),
        _ => {}
    }
    Vec::new()
}

fn open_take(state: &mut State, typed: Option<char>) {
    if let Some(item) = current(state).cloned() {
        let text = typed.filter(char::is_ascii_digit).map(String::from);
        cell::open(
            state,
            CellFor::Take(item.id),
            format!("take out of {}", item.name),
            format!("how much, in {}; there are {}", item.unit, item.amount),
            &text.unwrap_or_default(),
        );
    }
}

fn open_item(state: &mut State, item: Option<&PantryItem>) {
    let text = |f: fn(&PantryItem) -> String| item.map(f).unwrap_or_default();
    let kinds: Vec<String> = PantryKind::ALL
        .iter()
        .map(|k| k.word().to_owned())
        .collect();
    let kind = item.map_or(0, |i| {
        PantryKind::ALL
            .iter()
            .position(|k| *k == i.kind)
            .unwrap_or(0)
    });
    let unit = item.map_or(0, |i| UNITS.iter().position(|u| *u == i.unit).unwrap_or(0));
    let number = |x: Option<f64>| x.map_or_else(String::new, |x| x.to_string());
    let mut form = Form::new(vec![
        FormField::text(
            "name",
            "name",
            "As plans and steps call it: honey, diammonium phosphate, wine yeast.",
            &text(|i| i.name.clone()),
        ),
        FormField::choice("kind", "shelf", "Left and right choose.", kinds, kind),
        FormField::text(
            "amount",
            "how much",
            "A number, in the unit below.",
            &number(item.map(|i| i.amount)),
        ),
        FormField::choice(
            "unit",
            "in",
            "g for what is weighed, mL, or pieces.",
            UNITS.iter().map(|u| (*u).to_owned()).collect(),
            unit,
        ),
        FormField::text(
            "lot",
            "lot",
            "The seller's or your own.",
            &text(|i| i.lot.clone()),
        ),
        FormField::text(
            "best",
            "best before",
            "A day: 2027-05-01, 05-01; empty for none.",
            &text(|i| i.best_before.map_or_else(String::new, |d| d.to_string())),
        ),
        FormField::text(
            "price",
            "price of one unit",
            "Of one g, mL or piece, in your own money; empty when unknown. 12 a kilogram is 0.012.",
            &number(item.and_then(|i| i.price)),
        ),
        FormField::text(
            "least",
            "keep at least",
            "Below it, it goes on the shopping list.",
            &number(item.and_then(|i| i.keep_at_least)),
        ),
        FormField::text("note", "note", "Free words.", &text(|i| i.note.clone())),
    ]);
    register::follow(&mut form, item.and_then(bottles::registered));
    let id = item.map_or(PantryId(0), |i| i.id);
    let title = if item.is_some() {
        "change what is in the pantry"
    } else {
        "into the pantry"
    };
    sheet::open(state, title, SheetFor::Pantry(id), form);
}

/// After a choice: bottles have fields of their own.
pub fn follow(state: &State, id: PantryId, form: &mut Form) {
    let had = items(state)
        .iter()
        .find(|i| i.id == id)
        .and_then(bottles::registered);
    register::follow(form, had);
}

fn number(form: &mut Form, key: &'static str, empty: Option<f64>) -> Result<Option<f64>, Objected> {
    let text = form.value(key).to_owned();
    if text.is_empty() {
        return Ok(empty);
    }
    match measure::amount(&text, "a number that is not negative") {
        Ok(n) => Ok(Some(n)),
        Err(why) => {
            form.object(key, why);
            Err(Objected)
        }
    }
}

fn day(form: &mut Form, today: NaiveDate) -> Result<Option<NaiveDate>, Objected> {
    let text = form.value("best").to_owned();
    if text.is_empty() {
        return Ok(None);
    }
    let day = text.parse().ok();
    if let Some(day) = day.or_else(|| slip::parse_day(&text, today).ok()) {
        return Ok(Some(day));
    }
    form.object("best", format!("'{text}' is no day: 2027-05-01 or 05-01."));
    Err(Objected)
}

/// Enter on the form; none when something is wrong with it.
pub fn stock(state: &mut State, id: PantryId, form: &mut Form) -> Option<(Ticket, Effect)> {
    let name = form.value("name").to_owned();
    if name.is_empty() {
        form.object("name", "Give it a name.");
        return None;
    }
    let amount = number(form, "amount", Some(0.0)).ok()??;
    let best_before = day(form, state.now.day()).ok()?;
    let price = number(form, "price", None).ok()?;
    let keep_at_least = number(form, "least", None).ok()?;
    let bottle = register::read(form).ok()?;
    let item = PantryItem {
        id,
        kind: *PantryKind::ALL.get(form.chosen("kind"))?,
        name,
        amount,
        unit: (*UNITS.get(form.chosen("unit"))?).to_owned(),
        lot: form.value("lot").to_owned(),
        best_before,
        price,
        keep_at_least,
        bottle,
        note: form.value("note").to_owned(),
    };
    let ticket = state.ticket();
    Some((
        ticket,
        Effect::CarryOut(ticket, vec![Deed::StockPantry(item)]),
    ))
}

/// What taking that out would leave.
pub fn take_means(state: &State, id: PantryId, text: &str) -> Result<String, String> {
    let item = items(state)
        .iter()
        .find(|i| i.id == id)
        .ok_or("it is not in the pantry any more")?;
    let n = measure::amount(text, "an amount")?;
    if n > item.amount {
        return Err(format!("There are {} {} only.", item.amount, item.unit));
    }
    Ok(format!("{} {} are left then", item.amount - n, item.unit))
}

/// Enter on the pad for taking something out.
pub fn take(state: &mut State, id: PantryId, text: &str) -> Option<(Ticket, Effect)> {
    let amount = measure::amount(text, "an amount").ok()?;
    let ticket = state.ticket();
    let deed = Deed::DrawPantry {
        item: id,
        amount,
        at: state.now,
        why: "by hand".to_owned(),
    };
    Some((ticket, Effect::CarryOut(ticket, vec![deed])))
}
