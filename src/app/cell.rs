//! A small pad for one value: what is typed, and at once what it would mean.

use super::cellar;
use super::checklist;
use super::field::Field;
use super::key::Key;
use super::overlay::{Errand, Overlay};
use super::pantry;
use super::planner::{self, RowKey};
use super::season;
use super::state::{Effects, State};
use super::steps::reopen;
use crate::domain::records::{BatchId, LotId, PantryId, PlaceId, VesselId};

/// What a value is typed for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CellFor {
    /// A row of the planner.
    Plan(RowKey),
    /// What a line of the day really used.
    Used {
        /// Whose day.
        batch: BatchId,
        /// Key of the line.
        line: String,
    },
    /// The original gravity, as a slip.
    Original(BatchId),
    /// Days away.
    Away,
    /// The size of a place.
    Room(PlaceId),
    /// An amount out of the pantry.
    Take(PantryId),
    /// Bottles out of a lot.
    TakeBottles(LotId),
    /// Glasses out of a keg.
    Glasses(VesselId),
}

/// One value being typed.
#[derive(Debug, Clone)]
pub struct CellPad {
    /// For what.
    pub what: CellFor,
    /// What it asks.
    pub label: String,
    /// What is accepted, shown while nothing is typed.
    pub hint: String,
    /// What is typed.
    pub field: Field,
    /// What it would mean, or why it is not understood; nothing while empty.
    pub meaning: Option<Result<String, String>>,
    /// What became of it.
    pub errand: Errand,
}

/// Opens the pad, with the first character where one was typed.
pub fn open(
    state: &mut State,
    what: CellFor,
    label: impl Into<String>,
    hint: impl Into<String>,
    text: &str,
) {
    let mut pad = CellPad {
        what,
        label: label.into(),
        hint: hint.into(),
        field: Field::with(text),
        meaning: None,
        errand: Errand::default(),
    };
    understand(state, &mut pad);
    state.overlays.push(Overlay::Cell(pad));
}

/// A key for its text.
pub fn press(state: &mut State, pad: &mut CellPad, key: Key) {
    if pad.errand.sent.is_none() && pad.field.press(key) {
        pad.errand.touched();
        understand(state, pad);
    }
}

/// Text pasted into it.
pub fn paste(state: &mut State, pad: &mut CellPad, text: &str) {
    if pad.errand.sent.is_none() {
        pad.field.paste(text);
        pad.errand.touched();
        understand(state, pad);
    }
}

/// Works out what the text would mean.
pub fn understand(state: &mut State, pad: &mut CellPad) {
    let text = pad.field.text().trim().to_owned();
    if text.is_empty() {
        pad.meaning = None;
        if matches!(pad.what, CellFor::Plan(_)) {
            planner::forget_preview(state);
        }
        return;
    }
    pad.meaning = Some(match &pad.what {
        CellFor::Plan(row) => planner::preview(state, row, &text),
        CellFor::Used { .. } => checklist::used_means(state, &text),
        CellFor::Original(batch) => checklist::original_means(state, *batch, &text),
        CellFor::Away => season::away_means(state, &text),
        CellFor::Room(_) => season::room_means(&text),
        CellFor::Take(item) => pantry::take_means(state, *item, &text),
        CellFor::TakeBottles(lot) => cellar::take_means(state, *lot, &text),
        CellFor::Glasses(keg) => cellar::glasses_mean(state, *keg, &text),
    });
}

/// Enter.
pub fn accept(state: &mut State, mut pad: CellPad) -> Effects {
    if pad.errand.sent.is_some() {
        return reopen(state, Overlay::Cell(pad), Vec::new());
    }
    let empties = matches!(
        pad.what,
        CellFor::Plan(RowKey::Name | RowKey::Note | RowKey::Pitch | RowKey::Feast)
    );
    match &pad.meaning {
        Some(Ok(_)) => {}
        None if empties => {}
        Some(Err(why)) => {
            pad.errand.missing = Some(why.clone());
            return reopen(state, Overlay::Cell(pad), Vec::new());
        }
        None => {
            pad.errand.missing = Some(pad.hint.clone());
            return reopen(state, Overlay::Cell(pad), Vec::new());
        }
    }
    let text = pad.field.text().trim().to_owned();
    if let CellFor::Plan(row) = &pad.what {
        planner::type_in(state, row, &text);
        return Vec::new();
    }
    let effect = match &pad.what {
        CellFor::Plan(_) => None,
        CellFor::Used { batch, line } => checklist::used(state, *batch, line, &text),
        CellFor::Original(batch) => checklist::original(state, *batch, &text),
        CellFor::Away => season::away(state, &text),
        CellFor::Room(place) => season::room(state, *place, &text),
        CellFor::Take(item) => pantry::take(state, *item, &text),
        CellFor::TakeBottles(lot) => cellar::take(state, *lot, &text),
        CellFor::Glasses(keg) => cellar::glasses(state, *keg, &text),
    };
    match effect {
        Some((ticket, effect)) => {
            pad.errand.sent = Some(ticket);
            reopen(state, Overlay::Cell(pad), vec![effect])
        }
        None => reopen(state, Overlay::Cell(pad), Vec::new()),
    }
}
