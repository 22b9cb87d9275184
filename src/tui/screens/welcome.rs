//! The first minute.

use crate::app::State;
use crate::tui::ink::Ink;
use crate::tui::theme::Role;
use crate::tui::widgets::form::form;
use ratatui::layout::{Position, Rect};

const HELLO: &str = "Welcome. Nine answers and the first batch is on the shelf; each can stay as it stands. Enter goes on, on the last line it begins.";

/// Draws the screen; gives where the cursor stands.
pub(super) fn draw(state: &State, ink: &mut Ink) -> Option<Position> {
    let rows = ink.paragraph(0, 0, HELLO, Role::Ink);
    let below = Rect {
        y: ink.area.y + rows + 1,
        height: ink.area.height.saturating_sub(rows + 2),
        ..ink.area
    };
    let cursor = form(&state.welcome.form, &mut ink.on(below));
    let last = ink.area.height.saturating_sub(1);
    if let Some(why) = &state.welcome.refused {
        ink.say(0, last, why, Role::Alarm);
    } else if state.welcome.sent.is_some() {
        ink.say(0, last, "Setting it up.", Role::Muted);
    }
    cursor
}
