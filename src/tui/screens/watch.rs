//! The countdown, in figures that can be read from the closet floor.

use crate::app::{State, say};
use crate::tui::ink::Ink;
use crate::tui::theme::Role;

/// Figures of three by five cells, the colon of one by five; each row a string.
const FIGURES: [(char, [&str; 5]); 11] = [
    ('0', ["███", "█ █", "█ █", "█ █", "███"]),
    ('1', [" █ ", "██ ", " █ ", " █ ", "███"]),
    ('2', ["███", "  █", "███", "█  ", "███"]),
    ('3', ["███", "  █", "███", "  █", "███"]),
    ('4', ["█ █", "█ █", "███", "  █", "  █"]),
    ('5', ["███", "█  ", "███", "  █", "███"]),
    ('6', ["███", "█  ", "███", "█ █", "███"]),
    ('7', ["███", "  █", "  █", "  █", "  █"]),
    ('8', ["███", "█ █", "███", "█ █", "███"]),
    ('9', ["███", "█ █", "███", "  █", "███"]),
    (':', [" ", "█", " ", "█", " "]),
];

/// Draws the countdown.
pub(super) fn draw(state: &State, ink: &mut Ink) {
    let Some(clock) = &state.clock else {
        ink.say(0, 0, "No countdown runs.", Role::Muted);
        return;
    };
    ink.say(0, 0, &clock.title, Role::Title);
    let left = clock.left(state.now);
    let (word, role) = match (clock.over(state.now), clock.stopped()) {
        (true, _) => ("Time is up. Enter marks it done.", Role::Good),
        (false, true) => ("Stopped.", Role::Watch),
        (false, false) => ("Running; it goes on when you look elsewhere.", Role::Muted),
    };
    let big = ink.area.height >= 10;
    let text = say::countdown(left);
    let mut y = 2;
    if big {
        figures(&text, y, ink);
        y += 6;
    } else {
        ink.say(0, y, &text, Role::Title);
        y += 1;
    }
    let gone = 1.0 - f64::from(left) / f64::from(clock.total.max(1));
    let room = ink.area.width.min(40);
    ink.share(0, y, room, gone, Role::Accent);
    ink.say(0, y + 1, word, role);
}

fn figures(text: &str, y: u16, ink: &mut Ink) {
    let block = ink.theme.symbol("█", "#").to_owned();
    let mut x = 0;
    for c in text.chars() {
        let Some((_, rows)) = FIGURES.iter().find(|(f, _)| *f == c) else {
            continue;
        };
        for (dy, row) in rows.iter().enumerate() {
            for (dx, cell) in row.chars().enumerate() {
                if cell == '█' {
                    let at = x + 2 * dx as u16;
                    ink.say(at, y + dy as u16, &block.repeat(2), Role::Accent);
                }
            }
        }
        x += 2 * rows.first().map_or(0, |r| r.chars().count() as u16) + 2;
    }
}
