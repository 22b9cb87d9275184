//! The line that finds anything, and what it found.

use crate::app::State;
use crate::app::find::{FindSheet, Found, found};
use crate::tui::areas::{self, first_shown};
use crate::tui::ink::Ink;
use crate::tui::text::width;
use crate::tui::theme::Role;
use ratatui::layout::Position;

/// Columns for what kind of thing it is.
const KIND: u16 = 9;

/// Draws the sheet; gives where the cursor stands.
pub(super) fn draw(state: &State, sheet: &FindSheet, ink: &mut Ink) -> Position {
    let x = ink.say(0, 0, "find ", Role::Muted);
    ink.say(x, 0, sheet.field.text(), Role::Field);
    let cursor = Position {
        x: ink.area.x + (x + sheet.field.column() as u16).min(ink.area.width.saturating_sub(1)),
        y: ink.area.y,
    };
    let list = areas::find(ink.area);
    let all = found(state, sheet);
    lines(sheet, &all, &mut ink.on(list));
    cursor
}

fn lines(sheet: &FindSheet, all: &[Found], ink: &mut Ink) {
    if all.is_empty() {
        let said = "Nothing has these letters in this order. Try fewer.";
        ink.paragraph(2, 0, said, Role::Muted);
        return;
    }
    let rows = usize::from(ink.area.height);
    let first = first_shown(sheet.at, all.len(), rows);
    let shown = all.iter().enumerate().skip(first).take(rows);
    let names = shown.clone().map(|(_, f)| width(&f.name)).max();
    let room = ink.area.width.saturating_sub(2 + KIND);
    let names = (names.unwrap_or(0) as u16).min(room);
    for (i, one) in shown {
        let y = (i - first) as u16;
        line(one, names, y, ink);
        if i == sheet.at {
            ink.here(y);
        }
    }
}

fn line(one: &Found, names: u16, y: u16, ink: &mut Ink) {
    ink.column(2, y, KIND, one.kind, Role::Muted);
    let x = 2 + KIND;
    ink.column(x, y, names, &one.name, Role::Ink);
    let keys = width(&one.keys) as u16;
    let more = x + names + 2;
    let room = ink.area.width.saturating_sub(more + keys + 2);
    if room >= 12 {
        ink.column(more, y, room, &one.more, Role::Muted);
    }
    if ink.area.width > x + names + keys + 1 {
        ink.right(y, &one.keys, Role::Key);
    }
}
