//! The line of the first round: what to press next.

use crate::app::{State, guide};
use crate::tui::areas::{GUIDE_INDENT, guide_lines};
use crate::tui::ink::Ink;
use crate::tui::theme::{Mark, Role};

/// Draws it, when somebody is led.
pub(super) fn draw(state: &State, ink: &mut Ink) {
    let Some((_, so_far)) = guide::line(state) else {
        return;
    };
    let last = ink.area.height.saturating_sub(1);
    for (y, line) in (0..ink.area.height).zip(guide_lines(state, ink.area.width)) {
        ink.say(0, y, ink.theme.mark(Mark::Here), Role::Accent);
        ink.say(GUIDE_INDENT, y, &line, Role::Accent);
    }
    if ink.area.height > 0 {
        ink.right(last, &so_far, Role::Muted);
    }
}
