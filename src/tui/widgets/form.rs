//! A form: labels, fields, what is accepted, what is wrong.

use crate::app::form::{Entry, Form, FormField};
use crate::tui::areas::first_shown;
use crate::tui::ink::{Ink, window};
use crate::tui::text::{width, wrap};
use crate::tui::theme::{Mark, Role};
use ratatui::layout::Position;

/// Draws a form, one field a row and a row for the hint of the field that has
/// the keys; gives where the cursor stands.
pub fn form(form: &Form, ink: &mut Ink) -> Option<Position> {
    let widest = form.fields.iter().map(|f| width(&f.label)).max()?;
    let label = (widest as u16).min(ink.area.width / 2);
    let rows = usize::from(ink.area.height).saturating_sub(2);
    let high = |field: &FormField| wrap(&field.label, usize::from(label)).len().max(1);
    let mut first = first_shown(form.at, form.fields.len(), rows);
    // A label that takes two rows pushes the chosen field down.
    let until = |first: usize| -> usize {
        let above = form.fields.get(first..=form.at);
        above.map_or(0, |fields| fields.iter().map(high).sum())
    };
    while first < form.at && until(first) > rows {
        first += 1;
    }
    let mut y = 0;
    let mut cursor = None;
    for (i, field) in form.fields.iter().enumerate().skip(first) {
        if y >= ink.area.height {
            break;
        }
        let here = i == form.at;
        let at = one(field, here, label, y, ink);
        cursor = cursor.or(at);
        y += high(field) as u16;
        if here || field.problem.is_some() {
            let (text, role) = match &field.problem {
                Some(problem) => (problem.as_str(), Role::Alarm),
                None => (field.hint.as_str(), Role::Muted),
            };
            // Beside its field where there is room, else under its label too.
            let room = ink.area.width.saturating_sub(label + 4);
            let x = if room >= 36 { label + 4 } else { 4 };
            y += ink.paragraph(x, y, text, role);
        }
    }
    cursor
}

fn one(field: &FormField, here: bool, label: u16, y: u16, ink: &mut Ink) -> Option<Position> {
    if here {
        ink.say(0, y, ink.theme.mark(Mark::Here), Role::Accent);
    }
    let role = if here { Role::Title } else { Role::Muted };
    let words = wrap(&field.label, usize::from(label));
    for (row, line) in (y..).zip(&words) {
        ink.column(2, row, label, line, role);
    }
    let x = label + 4;
    let room = ink.area.width.saturating_sub(x);
    match &field.entry {
        Entry::Text(typed) => {
            let skip = typed.scroll(usize::from(room.saturating_sub(1)));
            let shown = window(typed.text(), skip, usize::from(room));
            let role = if here { Role::Field } else { Role::Ink };
            ink.column(x, y, room, &shown, role);
            if typed.text().is_empty() {
                ink.column(x, y, room, field.blank, Role::Muted);
            }
            here.then(|| Position {
                x: ink.area.x
                    + x
                    + (typed.column().saturating_sub(skip) as u16).min(room.max(1) - 1),
                y: ink.area.y + y,
            })
        }
        Entry::Choice { options, .. } => {
            let x = ink.column(
                x,
                y,
                room,
                field.value(),
                if here { Role::Accent } else { Role::Ink },
            );
            if here && options.len() > 1 {
                ink.say(x + 1, y, ink.theme.symbol("‹ ›", "< >"), Role::Muted);
            }
            None
        }
    }
}
