//! Views: each a function from state to cells. They change nothing.
//!
//! [`draw`] draws a whole screen: the top, the body of the screen or the sheet
//! that covers it, the pad in which something is typed, and the foot.

pub mod batch;
pub mod bench;
mod bottling;
mod cellar;
mod checklist;
mod damage;
pub mod due;
mod editor;
mod find;
mod foot;
mod guide;
mod handling;
mod help;
mod pads;
mod pantry;
mod planner;
mod round;
mod season;
mod settings;
mod sheet;
mod shelf;
mod top;
mod trend;
mod watch;
mod welcome;
mod why;

use super::areas::{self, LEAST};
use super::ink::Ink;
use super::theme::{Role, Theme};
use crate::app::overlay::Overlay;
use crate::app::{Screen, State};
use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};

/// Draws everything; gives where the cursor stands, when something is typed.
pub fn draw(state: &State, theme: &Theme, screen: Rect, buf: &mut Buffer) -> Option<Position> {
    let mut ink = Ink::new(screen, theme, buf);
    if screen.width < LEAST.0 || screen.height < LEAST.1 {
        too_small(&mut ink);
        return None;
    }
    if let Some(damage) = &state.damage {
        damage::draw(damage, &mut ink);
        return None;
    }
    let parts = areas::areas(state, screen);
    top::draw(state, &mut ink.on(parts.top));
    let on_sheet = cover(state, &mut ink.on(parts.body));
    let on_pad = pads::draw(state, &mut ink.on(parts.pad));
    guide::draw(state, &mut ink.on(parts.guide));
    foot::draw(state, &mut ink.on(parts.foot));
    on_pad.or(on_sheet)
}

/// The sheet on top, or the screen.
fn cover(state: &State, ink: &mut Ink) -> Option<Position> {
    match state.overlays.last() {
        Some(Overlay::Why(sheet)) => why::draw(state, sheet, ink),
        Some(Overlay::Help(sheet)) => return Some(help::draw(sheet, ink)),
        Some(Overlay::Settings(sheet)) => return settings::draw(sheet, ink),
        Some(Overlay::Sheet(form)) => return sheet::draw(form, ink),
        Some(Overlay::Find(sheet)) => return Some(find::draw(state, sheet, ink)),
        Some(Overlay::Clock) => watch::draw(state, ink),
        _ => match state.screen {
            Screen::Shelf => shelf::draw(state, ink),
            Screen::Batch => batch::draw(state, ink),
            Screen::Trend => trend::draw(state, ink),
            Screen::Round => round::draw(state, ink),
            Screen::Bench => return bench::draw(state, ink),
            Screen::Planner => planner::draw(state, ink),
            Screen::Checklist => checklist::draw(state, ink),
            Screen::Season => season::draw(state, ink),
            Screen::Pantry => pantry::draw(state, ink),
            Screen::Editor => editor::draw(state, ink),
            Screen::Handling => return handling::draw(state, ink),
            Screen::Bottling => return bottling::draw(state, ink),
            Screen::Cellar => cellar::draw(state, ink),
            Screen::Welcome => return welcome::draw(state, ink),
        },
    }
    None
}

fn too_small(ink: &mut Ink) {
    let text = format!(
        "skep needs {} columns and {} rows. What you typed is kept.",
        LEAST.0, LEAST.1
    );
    ink.paragraph(0, 0, &text, Role::Ink);
}
