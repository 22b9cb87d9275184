//! Where numbers come from: a list of them, and the chosen one's inputs,
//! formula and source.

use crate::app::State;
use crate::app::why::{Card, WhySheet, cards};
use crate::tui::areas::{first_shown, split};
use crate::tui::ink::Ink;
use crate::tui::text::width;
use crate::tui::theme::{Mark, Role};

/// Draws the sheet.
pub(super) fn draw(state: &State, sheet: &WhySheet, ink: &mut Ink) {
    let cards = cards(state, sheet.spot);
    if cards.is_empty() {
        ink.say(0, 0, "Nothing is known of it yet.", Role::Muted);
        return;
    }
    let (list, right) = split(ink.area, 14, 2);
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

fn draw_card(card: &Card, ink: &mut Ink) {
    let mut y = ink.paragraph(0, 0, &card.value, Role::Title) + 1;
    for (name, value) in &card.inputs {
        if y >= ink.area.height {
            return;
        }
        y += if width(name) > 24 {
            let x = ink.say(0, y, name, Role::Muted);
            ink.say(x + 2, y, value, Role::Ink);
            1
        } else {
            ink.column(0, y, 24, name, Role::Muted);
            ink.paragraph(26, y, value, Role::Ink).max(1)
        };
    }
    y += 1;
    for (name, text) in [("formula", &card.formula), ("source", &card.source)] {
        if y >= ink.area.height {
            return;
        }
        ink.say(0, y, name, Role::Muted);
        y += ink.paragraph(10, y, text, Role::Ink).max(1);
    }
}
