//! The pantry and the shopping list.

use crate::app::{State, pantry, register, say};
use crate::domain::bottles;
use crate::domain::checklist::{Want, Wanted};
use crate::domain::records::{PantryItem, UnitSystem};
use crate::domain::units::GRAMS_PER_POUND;
use crate::tui::areas::{WIDE, first_shown, split};
use crate::tui::ink::Ink;
use crate::tui::text::width;
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
    let columns = Columns::of(all, ink.area.width);
    ink.say(2, 0, "what", Role::Muted);
    ink.number(columns.amount, 0, AMOUNT, "there", Role::Muted);
    ink.say(columns.best, 0, "best before", Role::Muted);
    if let Some(x) = columns.lot {
        ink.say(x, 0, "lot", Role::Muted);
    }
    for (y, (i, item)) in (1u16..).zip(all.iter().enumerate().skip(first).take(room)) {
        one(state, item, i == state.pantry.at, &columns, y, ink);
    }
}

/// Where the columns of the list begin.
struct Columns {
    amount: u16,
    best: u16,
    lot: Option<u16>,
}

/// Columns of an amount: five digits, a point, two decimals; then its unit.
const AMOUNT: u16 = 8;
const UNIT: u16 = 7;
const BEST: u16 = 16;

impl Columns {
    /// As much room for the names as the longest takes; lots only where there
    /// are some.
    fn of(all: &[PantryItem], total: u16) -> Self {
        let longest = all.iter().map(|i| {
            let kind = i.kind.word();
            let told = i.name.contains(kind);
            width(&i.name) + if told { 0 } else { 2 + width(kind) }
        });
        let lots = all.iter().map(|i| width(&i.lot)).max().unwrap_or(0) as u16;
        let lots = if lots == 0 { 0 } else { lots.clamp(3, 12) + 1 };
        let others = 2 + 1 + AMOUNT + 1 + UNIT + BEST + lots;
        let most = total.saturating_sub(others).max(12);
        let name = (longest.max().unwrap_or(0) as u16).clamp(12, most);
        let amount = 2 + name + 1;
        let best = amount + AMOUNT + 1 + UNIT;
        Self {
            amount,
            best,
            lot: (lots > 0 && best + BEST < total).then_some(best + BEST),
        }
    }
}

fn one(state: &State, item: &PantryItem, here: bool, columns: &Columns, y: u16, ink: &mut Ink) {
    if here {
        ink.here(y);
    }
    let empty = item.amount <= 0.0;
    let role = match (here, empty) {
        (true, _) => Role::Title,
        (false, true) => Role::Muted,
        (false, false) => Role::Ink,
    };
    let room = columns.amount.saturating_sub(3);
    let x = ink.column(2, y, room, &item.name, role);
    let kind = item.kind.word();
    let told = item.name.contains(kind);
    if !told && usize::from((2 + room).saturating_sub(x + 2)) >= width(kind) {
        ink.say(x + 2, y, kind, Role::Muted);
    }
    let (number, unit) = amount(item, state.settings().units);
    ink.number(columns.amount, y, AMOUNT, &number, role);
    ink.column(columns.amount + AMOUNT + 1, y, UNIT, unit, Role::Muted);
    let today = state.now.day();
    if let Some(bottle) = bottles::registered(item) {
        let rated = register::rated_for(bottle, state.settings().units);
        let text = match register::wear(bottle) {
            wear if wear.is_empty() => rated,
            wear => format!("{rated}, {wear}"),
        };
        let room = ink.area.width.saturating_sub(columns.best);
        ink.column(columns.best, y, room, &text, Role::Muted);
        return;
    }
    if let Some(day) = item.best_before {
        let stale = day < today;
        let role = if stale { Role::Alarm } else { Role::Muted };
        let mark = if stale { " past" } else { "" };
        let text = format!("{}{mark}", say::date_of(day, today));
        ink.column(columns.best, y, BEST, &text, role);
    }
    if let Some(x) = columns.lot {
        let room = ink.area.width.saturating_sub(x);
        ink.column(x, y, room, &item.lot, Role::Muted);
    }
}

/// Number and unit of an amount. Numbers without decimals keep the columns of
/// the point and what follows it free, so that all align on the point.
fn amount(item: &PantryItem, units: UnitSystem) -> (String, &str) {
    let n = item.amount;
    let whole = |n: f64| format!("{n:.0}   ");
    let small = |n: f64| format!("{n:.1} ");
    match item.unit.as_str() {
        "pieces" => (
            whole(n),
            if (n - 1.0).abs() < 1e-9 {
                "piece"
            } else {
                "pieces"
            },
        ),
        unit => match (unit, units) {
            ("g", UnitSystem::Us) if n >= GRAMS_PER_POUND => {
                (format!("{:.2}", n / GRAMS_PER_POUND), "lb")
            }
            ("g", UnitSystem::Metric) if n >= 1000.0 => (format!("{:.2}", n / 1000.0), "kg"),
            ("mL", _) if n >= 1000.0 => (format!("{:.2}", n / 1000.0), "L"),
            _ if n < 20.0 => (small(n), unit),
            _ => (whole(n), unit),
        },
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
