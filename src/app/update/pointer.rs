//! The mouse: what was hit, and the wheel.

use crate::app::msg::Hit;
use crate::app::overlay::Overlay;
use crate::app::screen::Screen;
use crate::app::state::{Effects, State};
use crate::app::{batch, bench, find, shelf, trend};

pub(super) fn mouse(state: &mut State, hit: Hit) -> Effects {
    if let (Some(Overlay::Find(_)), Hit::Line(at)) = (state.overlays.last(), hit) {
        return find::hit(state, at);
    }
    if !state.overlays.is_empty() {
        return Vec::new();
    }
    match state.screen {
        Screen::Shelf => shelf::hit(state, hit),
        Screen::Batch => {
            batch::hit(state, hit);
            Vec::new()
        }
        Screen::Trend => {
            if let Hit::Trend(at) = hit {
                trend::read_off(state, at);
            }
            Vec::new()
        }
        Screen::Bench => {
            bench::hit(state, hit);
            Vec::new()
        }
        _ => Vec::new(),
    }
}

pub(super) fn wheel(state: &mut State, by: i32) -> Effects {
    if let Some(Overlay::Help(sheet)) = state.overlays.last_mut() {
        sheet.scroll(by as isize);
        return Vec::new();
    }
    if let Some(Overlay::Find(_)) = state.overlays.last() {
        find::wheel(state, by);
    }
    if !state.overlays.is_empty() {
        return Vec::new();
    }
    match state.screen {
        Screen::Shelf => {
            let at = state.chosen_index().unwrap_or(0);
            shelf::choose_at(state, at.saturating_add_signed(by as isize));
        }
        Screen::Batch => batch::wheel(state, by),
        Screen::Trend => trend::wheel(state, by),
        Screen::Bench => bench::wheel(state, by),
        _ => {}
    }
    Vec::new()
}
