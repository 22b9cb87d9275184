//! Keys and words, with a line to search them.

use crate::app::help::{HelpLine, HelpSheet};
use crate::tui::ink::Ink;
use crate::tui::text::width;
use crate::tui::theme::Role;
use ratatui::layout::{Position, Rect};

/// Draws the sheet; gives where the cursor stands.
pub(super) fn draw(sheet: &HelpSheet, ink: &mut Ink) -> Position {
    let what = if sheet.words { "words" } else { "keys" };
    let what = if sheet.field.is_blank() {
        what
    } else {
        "found"
    };
    let x = ink.say(0, 0, what, Role::Title) + 2;
    let x = ink.say(x, 0, "type to search ", Role::Muted);
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
    cursor
}

fn list(sheet: &HelpSheet, ink: &mut Ink) {
    let lines = sheet.lines();
    if lines.is_empty() {
        ink.say(
            0,
            0,
            "No key and no word of the trade has these letters in it.",
            Role::Muted,
        );
        return;
    }
    let of_keys = widest(&lines, |line| match line {
        HelpLine::Key(name, _, _) => Some(name),
        _ => None,
    });
    let of_words = widest(&lines, |line| match line {
        HelpLine::Entry(name, _) => Some(name),
        _ => None,
    });
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
            HelpLine::Entry(name, text) => entry(name, text, of_words, y, ink),
            HelpLine::Key(name, _, text) => entry(name, text, of_keys, y, ink),
            HelpLine::Text(text) => ink.paragraph(0, y, text, Role::Muted).max(1) + 1,
        };
    }
}

/// Width of the longest name of a kind: they stand in one column.
fn widest(lines: &[HelpLine], name: fn(&HelpLine) -> Option<&String>) -> u16 {
    let longest = lines.iter().filter_map(name).map(|n| width(n)).max();
    longest.unwrap_or(0).min(20) as u16
}

fn entry(name: &str, text: &str, names: u16, y: u16, ink: &mut Ink) -> u16 {
    ink.column(0, y, names, name, Role::Key);
    ink.paragraph(names + 2, y, text, Role::Ink).max(1)
}
