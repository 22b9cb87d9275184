//! Lines in their tones, wrapped.

use crate::app::panel::{Line, LineTone};
use crate::tui::ink::Ink;
use crate::tui::theme::{Mark, Role};

/// Draws lines from one on; gives the row after them. What does not fit is
/// told in the last row.
pub fn lines(all: &[Line], skip: usize, ink: &mut Ink) -> u16 {
    let rows = ink.area.height;
    let mut y = 0;
    for (i, line) in all.iter().enumerate().skip(skip) {
        let left = all.len() - i;
        let role = role(line.tone);
        let (x, mark) = mark(line.tone);
        let needs = ink.rows(x, &line.text);
        // The last row is kept for saying that there is more.
        let fits = y + needs
            <= if left == 1 {
                rows
            } else {
                rows.saturating_sub(1)
            };
        if !fits && y > 0 {
            let text = format!("{left} more: PgDn");
            ink.say(0, rows.saturating_sub(1), &text, Role::Muted);
            return rows;
        }
        if let Some(mark) = mark {
            ink.mark(0, y, mark);
        }
        y += ink.paragraph(x, y, &line.text, role);
    }
    y
}

fn role(tone: LineTone) -> Role {
    match tone {
        LineTone::Title => Role::Title,
        LineTone::Plain => Role::Ink,
        LineTone::Muted => Role::Muted,
        LineTone::Good => Role::Good,
        LineTone::Watch => Role::Watch,
        LineTone::Alarm => Role::Alarm,
    }
}

/// Tones are told by a mark first, by colour second.
fn mark(tone: LineTone) -> (u16, Option<Mark>) {
    match tone {
        LineTone::Title => (0, None),
        LineTone::Plain | LineTone::Muted => (2, None),
        LineTone::Good => (2, Some(Mark::Done)),
        LineTone::Watch => (2, Some(Mark::Late)),
        LineTone::Alarm => (2, Some(Mark::Hold)),
    }
}
