//! Bottling day: the form, and the gate beside it.

use super::pads;
use crate::app::form::Form;
use crate::app::overlay::Errand;
use crate::app::panel::Line;
use crate::app::{State, bottling};
use crate::tui::areas::{WIDE, split};
use crate::tui::ink::Ink;
use crate::tui::theme::Role;
use crate::tui::widgets::form::form;
use crate::tui::widgets::lines::lines;
use ratatui::layout::{Position, Rect};

/// Draws the screen; gives where the cursor stands.
pub(super) fn draw(state: &State, ink: &mut Ink) -> Option<Position> {
    let Some(dossier) = state.chosen_dossier() else {
        ink.say(0, 0, "This batch is no longer on the shelf.", Role::Muted);
        return None;
    };
    let tag = state.chosen_vessel().map_or("", |v| v.tag.as_str());
    let view = &state.bottling;
    let errand = Errand {
        sent: view.sent,
        refused: view.refused.clone(),
        ..Errand::default()
    };
    let head = (tag, dossier.batch.name.as_str());
    desk(
        head,
        &view.form,
        &bottling::lines(state),
        view.scroll,
        &errand,
        ink,
    )
}

/// A form with lines beside it.
pub(super) fn desk(
    (tag, name): (&str, &str),
    fields: &Form,
    beside: &[Line],
    scroll: usize,
    errand: &Errand,
    ink: &mut Ink,
) -> Option<Position> {
    let x = ink.say(0, 0, tag, Role::Accent);
    ink.say(if x > 0 { x + 2 } else { 0 }, 0, name, Role::Title);
    let body = Rect {
        y: ink.area.y + 1,
        height: ink.area.height.saturating_sub(1),
        ..ink.area
    };
    let left = if ink.area.width >= WIDE {
        60
    } else {
        ink.area.width / 2
    };
    let (left, right) = split(body, left, 2);
    let said = u16::from(errand.sent.is_some() || errand.refused.is_some());
    let left = Rect {
        height: left.height.saturating_sub(2 * said),
        ..left
    };
    let cursor = form(fields, &mut ink.on(left));
    if said > 0 {
        let last = Rect {
            y: body.bottom().saturating_sub(2),
            height: 2,
            ..left
        };
        pads::message(errand, 0, &mut ink.on(last));
    }
    lines(beside, scroll, &mut ink.on(right));
    cursor
}
