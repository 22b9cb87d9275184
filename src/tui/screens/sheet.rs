//! A form on top of a screen.

use crate::app::sheet::FormSheet;
use crate::tui::ink::Ink;
use crate::tui::theme::Role;
use crate::tui::widgets::form::form;
use ratatui::layout::{Position, Rect};

/// Draws the form; gives where the cursor stands.
pub(super) fn draw(sheet: &FormSheet, ink: &mut Ink) -> Option<Position> {
    ink.say(0, 0, &sheet.title, Role::Title);
    let below = Rect {
        y: ink.area.y + 2,
        height: ink.area.height.saturating_sub(4),
        ..ink.area
    };
    let cursor = form(&sheet.form, &mut ink.on(below));
    super::pads::message(&sheet.errand, ink.area.height.saturating_sub(1), ink);
    cursor
}
