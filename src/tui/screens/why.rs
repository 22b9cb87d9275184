//! Where numbers come from: a list of them, and the chosen one's inputs,
//! formula and source.

use crate::app::State;
use crate::app::state::spot;
use crate::app::why::{Card, WhySheet, cards};
use crate::tui::areas::{first_shown, split};
use crate::tui::ink::Ink;
use crate::tui::text::width;
use crate::tui::theme::{Mark, Role};
use ratatui::layout::Rect;

/// Draws the sheet.
pub(super) fn draw(state: &State, sheet: &WhySheet, ink: &mut Ink) {
    let cards = cards(state, sheet.spot);
    if cards.is_empty() {
        ink.say(0, 0, "Nothing is known of it yet.", Role::Muted);
        return;
    }
    let name = heading(state, sheet);
    let x = ink.say(0, 0, "why?", Role::Accent) + 2;
    ink.say(x, 0, &name, Role::Title);
    let below = Rect {
        y: ink.area.y + 2,
        height: ink.area.height.saturating_sub(2),
        ..ink.area
    };
    let (list, right) = split(below, 14, 2);
    let rows = usize::from(list.height);
    let first = first_shown(sheet.at, cards.len(), rows);
    let mut pen = ink.on(list);
    for (i, card) in cards.iter().enumerate().skip(first).take(rows) {
        let y = (i - first) as u16;
        let role = if i == sheet.at {
            Role::Title
        } else {
            Role::Muted
        };
        if i == sheet.at {
            pen.say(0, y, pen.theme.mark(Mark::Here), Role::Accent);
        }
        pen.say(2, y, &card.title, role);
    }
    if let Some(card) = cards.get(sheet.at) {
        draw_card(card, &mut ink.on(right));
    }
}

/// Which vessel it is about.
fn heading(state: &State, sheet: &WhySheet) -> String {
    let row = state.shelf_rows().iter().find(|r| spot(r) == sheet.spot);
    row.map_or_else(String::new, |r| format!("{}  {}", r.tag, r.name))
        .trim()
        .to_owned()
}

/// Inputs stand in one column; a name said in the row above is not repeated.
fn draw_card(card: &Card, ink: &mut Ink) {
    const WIDEST: usize = 24;
    let mut y = ink.paragraph(0, 0, &card.value, Role::Title) + 1;
    let names = card.inputs.iter().map(|(name, _)| width(name));
    let column = names.filter(|w| *w <= WIDEST).max().unwrap_or(0).max(7) as u16;
    let mut above = "";
    for (name, value) in &card.inputs {
        if y >= ink.area.height {
            return;
        }
        let shown = if name == above { "" } else { name };
        above = name;
        let x = ink.say(0, y, shown, Role::Muted);
        y += ink.paragraph(x.max(column) + 2, y, value, Role::Ink).max(1);
    }
    y += 1;
    for (name, text) in [("formula", &card.formula), ("source", &card.source)] {
        if y >= ink.area.height {
            return;
        }
        ink.say(0, y, name, Role::Muted);
        y += ink.paragraph(column + 2, y, text, Role::Ink).max(1);
    }
}
