//! Racking, splitting, pouring together, topping up, stabilising, sweetening:
//! a form, and beside it what comes of it before it is done.

mod form;
mod outcome;
mod treat;

pub use outcome::{Outcome, brimful, outcome};

use super::form::{Acted, Form};
use super::keys::Action;
use super::msg::{Effect, Spot, Ticket};
use super::panel::{Line, LineTone, line};
use super::screen::Screen;
use super::state::{Effects, NoticeTone, State};
use crate::domain::records::{Dossier, Vessel};
use crate::engine::handling::Drink;
use form::build;

/// What is done to a drink.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Job {
    /// All of it into another vessel.
    #[default]
    Rack,
    /// A part of it into another vessel.
    Split,
    /// Another batch, or a part of it, poured in.
    Blend,
    /// A drink from outside poured in.
    TopUp,
    /// Sulfite and sorbate.
    Stabilise,
    /// Sweetened after the ferment.
    Sweeten,
}

impl Job {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Rack,
        Self::Split,
        Self::Blend,
        Self::TopUp,
        Self::Stabilise,
        Self::Sweeten,
    ];

    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Rack => "rack all of it",
            Self::Split => "split: rack a part",
            Self::Blend => "blend another batch in",
            Self::TopUp => "top up",
            Self::Stabilise => "stabilise",
            Self::Sweeten => "sweeten",
        }
    }
}

/// What is being made ready.
#[derive(Debug, Clone, Default)]
pub struct HandlingView {
    /// For which vessel.
    pub spot: Option<Spot>,
    /// What is chosen and typed.
    pub form: Form,
    /// Sent, and not answered yet.
    pub sent: Option<Ticket>,
    /// The store's refusal.
    pub refused: Option<String>,
    /// Lines left out above in the panel.
    pub scroll: usize,
}

impl HandlingView {
    /// What is done.
    pub fn job(&self) -> Job {
        Job::ALL
            .get(self.form.chosen("job"))
            .copied()
            .unwrap_or_default()
    }
}

/// Something lies in a vessel.
pub fn can_open(state: &State) -> bool {
    state.chosen_vessel().is_some()
        && state.chosen_row().is_some()
        && state
            .chosen_dossier()
            .is_some_and(|d| d.batch.pitched.is_some())
}

/// Opens the screen for the chosen vessel; what was typed for it before stays.
pub fn open(state: &mut State) {
    if !can_open(state) {
        return;
    }
    if state.handling.spot != state.chosen {
        state.handling = HandlingView {
            spot: state.chosen,
            ..HandlingView::default()
        };
        build(state);
    }
    state.go(Screen::Handling);
}

/// What is known of the chosen vessel.
fn here(state: &State) -> Option<(&Dossier, &Vessel, Drink)> {
    let dossier = state.chosen_dossier()?;
    let vessel = state.chosen_vessel()?;
    let row = state.chosen_row()?;
    Some((dossier, vessel, Drink::of(dossier, row)))
}

/// What stands beside the form.
pub fn lines(state: &State) -> Vec<Line> {
    match outcome(state) {
        Ok(outcome) => outcome.lines,
        Err(w) => vec![line(LineTone::Alarm, w.why)],
    }
}

/// Carries an action out that belongs to this screen.
pub fn act(state: &mut State, action: Action) -> Effects {
    match state.handling.form.act(action) {
        Acted::Chosen => changed(state),
        Acted::Keep => return keep(state),
        Acted::Scrolled(by) => {
            let last = lines(state).len();
            state.handling.scroll = state.handling.scroll.saturating_add_signed(by).min(last);
        }
        Acted::Nothing => {}
    }
    Vec::new()
}

/// After a choice: fields that hang on it follow.
pub fn changed(state: &mut State) {
    let key = state.handling.form.current().map_or("", |f| f.key);
    if key == "job" {
        build(state);
    }
    state.handling.refused = None;
    state.handling.scroll = 0;
}

fn keep(state: &mut State) -> Effects {
    if state.handling.sent.is_some() {
        return Vec::new();
    }
    match outcome(state) {
        Ok(Outcome {
            deed: Some(deed), ..
        }) => {
            let ticket = state.ticket();
            state.handling.sent = Some(ticket);
            state.handling.refused = None;
            vec![Effect::CarryOut(ticket, vec![deed])]
        }
        Ok(Outcome { wants: Some(w), .. }) | Err(w) => {
            state.handling.form.object(w.key, w.why);
            Vec::new()
        }
        Ok(_) => Vec::new(),
    }
}

/// The store has done it.
pub fn kept(state: &mut State, said: &str) {
    state.handling = HandlingView::default();
    if !state.go_back() {
        state.screen = Screen::Shelf;
    }
    state.say(NoticeTone::Kept, said);
}
