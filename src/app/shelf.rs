//! The shelf: which vessel is chosen.

use super::keys::Action;
use super::msg::Hit;
use super::state::{Effects, State, spot};
use super::trend;

/// Carries an action out that belongs to this screen.
pub fn act(state: &mut State, action: Action) -> Effects {
    let page = state.rows.max(2).cast_signed() - 1;
    match action {
        Action::Up => choose_by(state, -1),
        Action::Down => choose_by(state, 1),
        Action::PageUp => choose_by(state, -page),
        Action::PageDown => choose_by(state, page),
        Action::First => choose_at(state, 0),
        Action::Last => choose_at(state, usize::MAX),
        Action::Open => return super::batch::open(state),
        Action::Whole => return trend::act(state, action),
        _ => {}
    }
    Vec::new()
}

fn choose_by(state: &mut State, by: isize) {
    let at = state.chosen_index().unwrap_or(0);
    choose_at(state, at.saturating_add_signed(by));
}

/// Chooses a row by its place in the list.
pub fn choose_at(state: &mut State, at: usize) {
    let rows = state.shelf_rows();
    let at = at.min(rows.len().saturating_sub(1));
    state.chosen = rows.get(at).map(spot);
}

/// The mouse chose something.
pub fn hit(state: &mut State, hit: Hit) -> Effects {
    match hit {
        Hit::Row(i) if state.chosen_index() == Some(i) => return super::batch::open(state),
        Hit::Row(i) => choose_at(state, i),
        Hit::Due(i) => {
            let batch = state
                .morning
                .as_ref()
                .and_then(|m| m.due.get(i))
                .map(|d| d.batch);
            let at = batch.and_then(|b| state.shelf_rows().iter().position(|r| r.batch == b));
            if let Some(at) = at {
                choose_at(state, at);
            }
        }
        Hit::Trend(at) => trend::read_off(state, at),
        Hit::Line(_) => {}
    }
    Vec::new()
}
