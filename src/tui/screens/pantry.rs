//! The pantry and the shopping list.

use crate::app::{State, pantry, register, say};
use crate::domain::bottles;
use crate::domain::checklist::{Want, Wanted};
use crate::domain::records::PantryItem;
use crate::tui::areas::{WIDE, first_shown, split};
use crate::tui::ink::Ink;
use crate::tui::theme::{Mark, Role};

/// Draws the screen.
pub(super) fn draw(state: &State, ink: &mut Ink) {
    let wanted = pantry::wanted(state);
    if ink.area.width >= WIDE {
        let (left, right) = split(ink.area, ink.area.width * 11 / 20, 3);
        items(state, &mut ink.on(left));
        shop(&wanted, &mut ink.on(right));
    } else if state.pantry.shop {
        shop(&wanted, ink);
    } else {
        items(state, ink);
        if !wanted.is_empty() {
            let last = ink.area.height.saturating_sub(1);
            let text = format!(
                "{} to buy: Tab shows them.",
                say::count(wanted.len().cast_signed() as i64, "thing", "things")
            );
            ink.say(0, last, &text, Role::Watch);
        }
    }
}

fn items(state: &State, ink: &mut Ink) {
    let all = pantry::items(state);
    if all.is_empty() {
        ink.paragraph(
            0,
            0,
            "The pantry is empty. a puts the first thing in: honey, nutrient, yeast, bottles. Steps then draw from it by name, and undo gives back.",
            Role::Muted,
        );
        return;
    }
    let room = usize::from(ink.area.height.saturating_sub(3));
    let first = first_shown(state.pantry.at, all.len(), room);
    ink.say(2, 0, "what", Role::Muted);
    ink.number(30, 0, 14, "there", Role::Muted);
    ink.say(46, 0, "best before", Role::Muted);
    ink.say(60, 0, "lot", Role::Muted);
    for (y, (i, item)) in (1u16..).zip(all.iter().enumerate().skip(first).take(room)) {
        one(state, item, i == state.pantry.at, y, ink);
    }
}

fn one(state: &State, item: &PantryItem, here: bool, y: u16, ink: &mut Ink) {
    if here {
        ink.wash(y, Role::Chosen);
        ink.mark(0, y, Mark::Here);
    }
    let empty = item.amount <= 0.0;
    let role = match (here, empty) {
        (true, _) => Role::Title,
        (false, true) => Role::Muted,
        (false, false) => Role::Ink,
    };
    let name = format!("{} ({})", item.name, item.kind);
    ink.column(2, y, 28, &name, role);
    ink.number(30, y, 14, &amount(item), role);
    let today = state.now.day();
    if let Some(bottle) = bottles::registered(item) {
        let bears = register::bears(bottle, state.settings().units);
        let text = match register::wear(bottle) {
            wear if wear.is_empty() => bears,
            wear => format!("{bears}, {wear}"),
        };
        ink.column(46, y, ink.area.width.saturating_sub(46), &text, Role::Muted);
        return;
    }
    if let Some(day) = item.best_before {
        let stale = day < today;
        let role = if stale { Role::Alarm } else { Role::Muted };
        let mark = if stale { " past" } else { "" };
        let text = format!("{}{mark}", say::date_of(day, today));
        ink.column(46, y, 14, &text, role);
    }
    ink.column(
        60,
        y,
        ink.area.width.saturating_sub(60),
        &item.lot,
        Role::Muted,
    );
}

fn amount(item: &PantryItem) -> String {
    let n = item.amount;
    match item.unit.as_str() {
        "pieces" => format!("{n:.0} pieces"),
        unit if n >= 1000.0 => {
            format!("{:.2} {}", n / 1000.0, if unit == "g" { "kg" } else { "L" })
        }
        unit if n < 20.0 => format!("{n:.1} {unit}"),
        unit => format!("{n:.0} {unit}"),
    }
}

fn shop(wanted: &[Wanted], ink: &mut Ink) {
    ink.say(0, 0, "to buy", Role::Title);
    if wanted.is_empty() {
        ink.say(0, 1, "Nothing: the coming plans are covered.", Role::Good);
        return;
    }
    let mut y = 1;
    let mut cost = 0.0;
    for want in wanted {
        if y >= ink.area.height {
            return;
        }
        let (mark, role) = match want.why {
            Want::Plans { .. } => (Mark::InWindow, Role::Ink),
            Want::RunsLow { .. } => (Mark::Late, Role::Ink),
            Want::Stale { .. } => (Mark::Skipped, Role::Muted),
        };
        ink.mark(0, y, mark);
        y += ink.paragraph(2, y, &want.sentence(), role);
        cost += want.price.map_or(0.0, |p| p * want.buy);
    }
    if cost > 0.0 && y < ink.area.height {
        ink.say(
            2,
            y,
            &format!("about {cost:.2} in all, as far as prices are known"),
            Role::Muted,
        );
    }
}
