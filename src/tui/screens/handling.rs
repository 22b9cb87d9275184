//! Racking, pouring together, stabilising, sweetening.

use super::bottling::desk;
use crate::app::overlay::Errand;
use crate::app::{State, handling};
use crate::tui::ink::Ink;
use crate::tui::theme::Role;
use ratatui::layout::Position;

/// Draws the screen; gives where the cursor stands.
pub(super) fn draw(state: &State, ink: &mut Ink) -> Option<Position> {
    let Some(dossier) = state.chosen_dossier() else {
        ink.say(0, 0, "This batch is no longer on the shelf.", Role::Muted);
        return None;
    };
    let tag = state.chosen_vessel().map_or("", |v| v.tag.as_str());
    let view = &state.handling;
    let errand = Errand {
        sent: view.sent,
        refused: view.refused.clone(),
        ..Errand::default()
    };
    let head = (tag, dossier.batch.name.as_str());
    let beside = handling::lines(state);
    desk(head, &view.form, &beside, view.scroll, &errand, ink)
}
