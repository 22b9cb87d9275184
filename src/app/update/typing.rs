//! Text for whatever can be typed into: a key that is no command, a paste.

use crate::app::key::Key;
use crate::app::overlay::Overlay;
use crate::app::screen::Screen;
use crate::app::state::{Effects, State};
use crate::app::{bottling, cell, handling, sheet, slip, steps};

/// A key that is no command is text for whatever can be typed into.
pub(super) fn type_into(state: &mut State, key: Key) -> Effects {
    let Some(mut top) = state.overlays.pop() else {
        if state.screen == Screen::Welcome && state.welcome.sent.is_none() {
            state.welcome.form.press(key);
        } else if state.screen == Screen::Bench {
            state.bench.press(key);
        } else if state.screen == Screen::Bottling && state.bottling.sent.is_none() {
            state.bottling.form.press(key);
            bottling::changed(state);
        } else if state.screen == Screen::Handling && state.handling.sent.is_none() {
            state.handling.form.press(key);
            handling::changed(state);
        }
        return Vec::new();
    };
    let today = state.now.day();
    match &mut top {
        Overlay::Cell(pad) => cell::press(state, pad, key),
        Overlay::Sheet(sheet) => {
            if sheet.errand.sent.is_none() && sheet.form.press(key) {
                sheet.errand.touched();
                sheet::follow(state, sheet);
            }
        }
        Overlay::Slip(pad) => slip::press(state, pad, key),
        Overlay::Done(pad) => steps::type_done(pad, key),
        Overlay::Skip(pad) => steps::type_skip(pad, key),
        Overlay::Move(pad) => steps::type_move(pad, key, today),
        Overlay::Help(sheet) => {
            if sheet.field.press(key) {
                sheet.scroll = 0;
            }
        }
        Overlay::Find(sheet) => {
            if sheet.field.press(key) {
                sheet.at = 0;
            }
        }
        Overlay::Settings(sheet) => {
            if sheet.errand.sent.is_none() && sheet.form.press(key) {
                sheet.errand.touched();
            }
        }
        Overlay::Clock | Overlay::Why(_) => {}
    }
    state.overlays.push(top);
    Vec::new()
}

pub(super) fn paste(state: &mut State, text: &str) -> Effects {
    let Some(mut top) = state.overlays.pop() else {
        if state.screen == Screen::Welcome && state.welcome.sent.is_none() {
            state.welcome.form.paste(text);
        } else if state.screen == Screen::Handling {
            if state.handling.sent.is_none() {
                state.handling.form.paste(text);
            }
        } else if state.screen == Screen::Bottling {
            if state.bottling.sent.is_none() {
                state.bottling.form.paste(text);
                bottling::changed(state);
            }
        } else if state.screen == Screen::Bench {
            state.bench.paste(text);
        } else if let (true, Some(spot)) = (state.can_slip(), state.chosen) {
            // Pasted on a screen, it begins a slip; it is never run as keys.
            slip::open(state, spot, None);
            return if matches!(state.overlays.last(), Some(Overlay::Slip(_))) {
                paste(state, text)
            } else {
                Vec::new()
            };
        }
        return Vec::new();
    };
    let today = state.now.day();
    match &mut top {
        Overlay::Cell(pad) => cell::paste(state, pad, text),
        Overlay::Sheet(sheet) if sheet.errand.sent.is_none() => {
            sheet.form.paste(text);
            sheet.errand.touched();
        }
        Overlay::Slip(pad) if pad.errand.sent.is_none() => {
            pad.field.paste(text);
            slip::understand(state, pad);
        }
        Overlay::Done(pad) if pad.errand.sent.is_none() => {
            pad.field.paste(text);
            pad.touched = true;
            pad.errand.touched();
        }
        Overlay::Skip(pad) if pad.errand.sent.is_none() => {
            pad.field.paste(text);
            pad.touched = true;
            pad.errand.touched();
        }
        Overlay::Move(pad) if pad.errand.sent.is_none() => {
            pad.field.paste(text);
            pad.understand(today);
        }
        Overlay::Help(sheet) => {
            sheet.field.paste(text);
            sheet.scroll = 0;
        }
        Overlay::Find(sheet) => {
            sheet.field.paste(text);
            sheet.at = 0;
        }
        Overlay::Settings(sheet) if sheet.errand.sent.is_none() => {
            sheet.form.paste(text);
            sheet.errand.touched();
        }
        _ => {}
    }
    state.overlays.push(top);
    Vec::new()
}
