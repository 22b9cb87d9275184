//! Keys and words, with a line to search them.

use crate::app::help::{HelpLine, HelpSheet};
use crate::tui::ink::Ink;
use crate::tui::text::width;
use crate::tui::theme::Role;
use ratatui::layout::{Position, Rect};

/// Draws the sheet; gives where the cursor stands.
pub(super) fn draw(sheet: &HelpSheet, ink: &mut Ink) -> Option<Position> {
    let what = if sheet.words { "words" } else { "keys" };
    let x = ink.say(0, 0, what, Role::Title) + 2;
    let x = ink.say(x, 0, "search ", Role::Muted);
    ink.say(x, 0, sheet.field.text(), Role::Field);
    let cursor = Position {
        x: ink.area.x + (x + sheet.field.column() as u16).min(ink.area.width.saturating_sub(1)),
        y: ink.area.y,
    };
    let below = Rect {
        y: ink.area.y + 2,
        height: ink.area.height.saturating_sub(2),
        ..ink.area
    };
    list(sheet, &mut ink.on(below));
    Some(cursor)
}

fn list(sheet: &HelpSheet, ink: &mut Ink) {
    let lines = sheet.lines();
    if lines.is_empty() {
        ink.say(0, 0, "Nothing has these words in it.", Role::Muted);
        return;
    }
    let key = lines
        .iter()
        .map(|l| match l {
            HelpLine::Entry(key, _) => width(key),
            _ => 0,
        })
        .max()
        .unwrap_or(0)
        .min(20) as u16;
    let mut y = 0;
    for line in lines.iter().skip(sheet.scroll) {
        if y >= ink.area.height {
            break;
        }
        y += match line {
            HelpLine::Heading(text) => {
                let gap = u16::from(y > 0);
                ink.say(0, y + gap, text, Role::Title);
                1 + gap
            }
            HelpLine::Entry(name, text) => {
                ink.column(0, y, key, name, Role::Key);
                ink.paragraph(key + 2, y, text, Role::Ink).max(1)
            }
            HelpLine::Text(text) => ink.paragraph(0, y, text, Role::Muted).max(1) + 1,
        };
    }
}
