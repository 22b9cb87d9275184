//! A form on top of a screen, for things with several fields.

use super::cellar;
use super::editor;
use super::form::Form;
use super::keys::Action;
use super::overlay::{Errand, Overlay};
use super::pantry;
use super::planner;
use super::state::{Effects, State};
use super::steps::reopen;
use crate::domain::records::{BatchId, LotId, PantryId};

/// What a form is for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SheetFor {
    /// A part more in the plan.
    Part,
    /// A thing in the pantry; 0 for a new one.
    Pantry(PantryId),
    /// A tasting of a batch, of one of its lots.
    Taste(BatchId, Option<LotId>),
    /// The head of a routine.
    Routine,
    /// A step of a routine; none for a new one.
    Step(Option<usize>),
}

/// A form on top.
#[derive(Debug, Clone)]
pub struct FormSheet {
    /// Its heading.
    pub title: String,
    /// For what.
    pub what: SheetFor,
    /// The fields.
    pub form: Form,
    /// What became of it.
    pub errand: Errand,
}

/// Opens a form.
pub fn open(state: &mut State, title: impl Into<String>, what: SheetFor, form: Form) {
    state.overlays.push(Overlay::Sheet(FormSheet {
        title: title.into(),
        what,
        form,
        errand: Errand::default(),
    }));
}

/// What a key means on it.
pub fn act(state: &mut State, mut sheet: FormSheet, action: Action) -> Effects {
    if action == Action::Accept {
        return accept(state, sheet);
    }
    sheet.form.act(action);
    sheet.errand.touched();
    follow(state, &mut sheet);
    reopen(state, Overlay::Sheet(sheet), Vec::new())
}

/// Fields that hang on what was chosen in another come and go with it.
pub(super) fn follow(state: &State, sheet: &mut FormSheet) {
    if let SheetFor::Pantry(id) = sheet.what {
        pantry::follow(state, id, &mut sheet.form);
    }
}

fn accept(state: &mut State, mut sheet: FormSheet) -> Effects {
    if sheet.errand.sent.is_some() {
        return reopen(state, Overlay::Sheet(sheet), Vec::new());
    }
    let done = match &sheet.what {
        SheetFor::Part => planner::add_part(state, &mut sheet.form),
        SheetFor::Routine => editor::head(state, &mut sheet.form),
        SheetFor::Step(at) => editor::step(state, *at, &mut sheet.form),
        SheetFor::Taste(batch, lot) => {
            let (ticket, effect) = cellar::taste(state, *batch, *lot, &sheet.form);
            sheet.errand.sent = Some(ticket);
            return reopen(state, Overlay::Sheet(sheet), vec![effect]);
        }
        SheetFor::Pantry(id) => {
            let Some((ticket, effect)) = pantry::stock(state, *id, &mut sheet.form) else {
                return reopen(state, Overlay::Sheet(sheet), Vec::new());
            };
            sheet.errand.sent = Some(ticket);
            return reopen(state, Overlay::Sheet(sheet), vec![effect]);
        }
    };
    if done {
        Vec::new()
    } else {
        reopen(state, Overlay::Sheet(sheet), Vec::new())
    }
}
