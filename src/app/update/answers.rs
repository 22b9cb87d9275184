//! Answers: of the store, of the engine.

use crate::app::msg::{Effect, Kept, Loaded, Ticket};
use crate::app::overlay::Overlay;
use crate::app::screen::Screen;
use crate::app::state::{Effects, NoticeTone, State, spot};
use crate::app::{bottling, checklist, editor, handling, planner, round, slip, welcome};
use crate::domain::plan::Supplies;
use crate::engine::Morning;
use std::sync::Arc;

/// The store was read. A household without a place is welcomed.
pub(super) fn loaded_anew(state: &mut State, loaded: Loaded) -> Effects {
    let revision = loaded.household.revision;
    let first = state.household.is_none();
    let foreign = !first && revision > state.own_revision && state.under_way.is_empty();
    if foreign
        && state
            .household
            .as_ref()
            .is_some_and(|h| h.revision < revision)
    {
        let what = loaded
            .last_change
            .clone()
            .unwrap_or_else(|| "something".into());
        state.say(NoticeTone::Plain, format!("changed elsewhere: {what}"));
    }
    state.own_revision = state.own_revision.max(revision);
    let empty = loaded.household.places.is_empty();
    state.undo = loaded.undo;
    state.redo = loaded.redo;
    state.household = Some(loaded.household);
    if let Some(supplies) = loaded.supplies {
        supplied(state, supplies);
    }
    if empty && state.screen != Screen::Welcome {
        state.screen = Screen::Welcome;
        state.trail.clear();
        state.overlays.clear();
        welcome::fill(state);
    } else if !empty && state.screen == Screen::Welcome {
        state.screen = Screen::Shelf;
    }
    understand_again(state);
    match (state.screen, state.chosen) {
        (Screen::Batch, Some(chosen)) => vec![Effect::ReadLedger(chosen.batch)],
        _ => Vec::new(),
    }
}

/// Plans and lines of a day are looked at once all that they hang on is there.
pub(super) fn supplied(state: &mut State, supplies: Supplies) {
    state.supplies = Arc::new(supplies);
    state.still_to_come = false;
    planner::loaded(state);
    checklist::loaded(state);
}

/// A slip being typed is understood anew by the facts as they stand now.
fn understand_again(state: &mut State) {
    if let Some(Overlay::Slip(mut pad)) = state.overlays.pop_if(|o| matches!(o, Overlay::Slip(_))) {
        let errand = pad.errand.clone();
        slip::understand(state, &mut pad);
        pad.errand = errand;
        state.overlays.push(Overlay::Slip(pad));
    }
}

/// The engine has answered; what was worked out from an older revision than
/// the one shown is dropped.
pub(super) fn assessed(state: &mut State, revision: i64, morning: Arc<Morning>) -> Effects {
    if revision < state.morning_of {
        return Vec::new();
    }
    state.morning_of = revision;
    state.morning = Some(morning);
    if state.chosen_index().is_none() && !matches!(state.screen, Screen::Batch | Screen::Trend) {
        state.chosen = state.shelf_rows().first().map(spot);
    }
    round::renew(state);
    Vec::new()
}

pub(super) fn was_kept(state: &mut State, ticket: Ticket, kept: &Kept) -> Effects {
    state.under_way.retain(|t| *t != ticket);
    state.own_revision = state.own_revision.max(kept.revision);
    state.has_kept |= !kept.said.is_empty();
    if state.welcome.sent == Some(ticket) {
        welcome::kept(state, &kept.said);
        return Vec::new();
    }
    if state.planner.sent == Some(ticket) {
        planner::kept(state, &kept.said);
        return Vec::new();
    }
    if state.editor.sent == Some(ticket) {
        editor::kept(state, &kept.said);
        return Vec::new();
    }
    if state.handling.sent == Some(ticket) {
        handling::kept(state, &kept.said);
        return Vec::new();
    }
    if state.bottling.sent == Some(ticket) {
        bottling::kept(state, &kept.said);
        return Vec::new();
    }
    if state.day.sent == Some(ticket) {
        checklist::kept(state);
    }
    let place = position(state, ticket);
    let pad = place.map(|i| state.overlays.remove(i));
    let clock_done = match (&pad, &state.clock) {
        (Some(Overlay::Done(pad)), Some(clock)) => pad.step().map(|s| s.step) == Some(clock.step),
        _ => false,
    };
    if clock_done {
        state.clock = None;
    }
    let answers = pad.as_ref().is_some_and(|p| round::answers(state, p));
    round::kept(state, &kept.said, answers);
    if kept.said.is_empty() {
        state.say(NoticeTone::Plain, "nothing to do");
    } else {
        state.say(NoticeTone::Kept, kept.said.clone());
    }
    Vec::new()
}

pub(super) fn was_refused(state: &mut State, ticket: Ticket, why: String) -> Effects {
    state.under_way.retain(|t| *t != ticket);
    if state.welcome.sent == Some(ticket) {
        state.welcome.sent = None;
        state.welcome.refused = Some(why);
        state.welcome.demo = false;
        return Vec::new();
    }
    if state.planner.sent == Some(ticket) {
        state.planner.sent = None;
        state.planner.then_day = false;
    }
    if state.editor.sent == Some(ticket) {
        state.editor.sent = None;
    }
    if state.handling.sent == Some(ticket) {
        state.handling.sent = None;
        state.handling.refused = Some(why);
        return Vec::new();
    }
    if state.bottling.sent == Some(ticket) {
        state.bottling.sent = None;
        state.bottling.refused = Some(why);
        return Vec::new();
    }
    if state.day.sent == Some(ticket) {
        state.day.sent = None;
    }
    let errand = position(state, ticket)
        .and_then(|i| state.overlays.get_mut(i))
        .and_then(Overlay::errand_mut);
    match errand {
        Some(errand) => {
            errand.sent = None;
            errand.insisting = false;
            errand.refused = Some(why);
        }
        None => state.say(NoticeTone::Trouble, why),
    }
    Vec::new()
}

/// The pad that sent an errand.
fn position(state: &mut State, ticket: Ticket) -> Option<usize> {
    state
        .overlays
        .iter_mut()
        .position(|o| o.errand_mut().is_some_and(|e| e.sent == Some(ticket)))
}
