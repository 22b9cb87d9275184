//! The trend of one batch, as large as the screen.

use super::batch::title;
use super::shelf::draw_trend;
use crate::app::State;
use crate::tui::areas;
use crate::tui::ink::Ink;

/// Draws the trend in large.
pub(super) fn draw(state: &State, ink: &mut Ink) {
    let parts = areas::trend(ink.area);
    title(state, &mut ink.on(parts.head));
    draw_trend(state, &mut ink.on(parts.trend));
}
