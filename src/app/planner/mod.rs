//! The planner: a plan on the left, what it leads to on the right; any number
//! can be changed and the others follow at once.

mod fresh;
mod leads;
mod part;
mod rows;
mod turn;
mod typed;

use crate::app::keys::Action;
use crate::app::msg::{Effect, Ticket};
use crate::app::screen::Screen;
use crate::app::state::{Effects, NoticeTone, State};
use crate::domain::deeds::Deed;
use crate::domain::plan::{Plan, fitted, outcome};
use crate::domain::records::{BatchId, Stage, StepRule};
pub use fresh::again;
use fresh::{begin, free_vessels, routine_of, usual_vessel};
pub use leads::{LaidStep, Leads, last_time, refresh};
pub use part::add_part;
use part::open_part;
pub use rows::{Row, RowKey, RowKind, current, rows};
use std::sync::Arc;
use turn::{fit, lock, remove, turn};
use typed::edit;
pub use typed::{forget_preview, preview, type_in};

/// The planner.
#[derive(Debug, Clone, Default)]
pub struct Planner {
    /// The plan; none before the planner was opened.
    pub plan: Option<Plan>,
    /// The planned batch it belongs to, once kept.
    pub batch: Option<BatchId>,
    /// The row that has the keys.
    pub at: usize,
    /// The plan as it would be by what is being typed.
    pub preview: Option<Plan>,
    /// What the shown plan leads to.
    pub leads: Option<Arc<Leads>>,
    /// Something was changed since it was kept.
    pub touched: bool,
    /// Being kept.
    pub sent: Option<Ticket>,
    /// Go on to the day once it is kept.
    pub then_day: bool,
    /// All that is to be known, in the place of the vessel's picture.
    pub in_words: bool,
}

impl Planner {
    /// The plan that is shown: with what is being typed.
    pub fn shown(&self) -> Option<&Plan> {
        self.preview.as_ref().or(self.plan.as_ref())
    }
}

/// Goes to the planner; begins a plan where there is none.
pub fn open(state: &mut State) -> Effects {
    if state.planner.plan.is_none() {
        begin(state);
    }
    state.go(Screen::Planner);
    refresh(state);
    vec![Effect::ReadStories]
}

/// Carries an action out that belongs to this screen.
pub fn act(state: &mut State, action: Action, typed: Option<char>) -> Effects {
    let last = rows(state).len().saturating_sub(1);
    let page = state.rows.max(2) - 1;
    let at = state.planner.at;
    match action {
        Action::Up => state.planner.at = at.saturating_sub(1),
        Action::Down => state.planner.at = (at + 1).min(last),
        Action::PageUp => state.planner.at = at.saturating_sub(page),
        Action::PageDown => state.planner.at = (at + page).min(last),
        Action::First => state.planner.at = 0,
        Action::Last => state.planner.at = last,
        Action::Left => turn(state, -1),
        Action::Right => turn(state, 1),
        Action::Type => edit(state, typed),
        Action::Open => edit(state, None),
        Action::Lock => lock(state),
        Action::Add => open_part(state),
        Action::Remove => remove(state),
        Action::Fit => fit(state),
        Action::Fresh => begin(state),
        Action::Next => state.planner.in_words = !state.planner.in_words,
        Action::Keep => return keep(state, false),
        Action::Day => return keep(state, true),
        _ => {}
    }
    Vec::new()
}

/// Keeps the plan; and goes on to its day where that is wanted.
fn keep(state: &mut State, then_day: bool) -> Effects {
    let Some(plan) = state.planner.plan.clone() else {
        return Vec::new();
    };
    if state.planner.sent.is_some() {
        return Vec::new();
    }
    if state.planner.batch.is_some() && !state.planner.touched {
        if then_day {
            crate::app::checklist::open(state, state.planner.batch);
        } else {
            state.say(NoticeTone::Plain, "kept already");
        }
        return Vec::new();
    }
    let mut plan = plan;
    if plan.name.trim().is_empty() {
        plan.name = usual_name(state, &plan);
    }
    let steps = steps_of(state, &plan);
    state.planner.plan = Some(plan.clone());
    let ticket = state.ticket();
    state.planner.sent = Some(ticket);
    state.planner.then_day = then_day;
    let deed = Deed::KeepPlan {
        batch: state.planner.batch,
        plan: Box::new(plan),
        steps,
    };
    vec![Effect::CarryOut(ticket, vec![deed])]
}

/// A name where the maker gave none: what it is and its day.
fn usual_name(state: &State, plan: &Plan) -> String {
    let day = plan.pitch_on.unwrap_or(state.now.day());
    format!(
        "{} {} of {}",
        plan.variety,
        plan.style,
        day.format("%-d %b")
    )
}

/// The routine's steps with this plan's amounts.
fn steps_of(state: &State, plan: &Plan) -> Vec<StepRule> {
    let units = state.settings().units;
    routine_of(state, plan).map_or_else(Vec::new, |routine| {
        fitted(routine, plan, &outcome(plan), units)
    })
}

/// The store has kept it.
pub fn kept(state: &mut State, said: &str) {
    state.planner.sent = None;
    state.planner.touched = false;
    state.say(NoticeTone::Kept, said.to_owned());
}

/// A plan begun before the vessels were read has none yet: it gets the usual
/// one now, and where nothing was changed in it, it begins with it.
fn begin_late(state: &mut State) {
    let planner = &state.planner;
    let without = planner.batch.is_none()
        && planner.sent.is_none()
        && planner.plan.as_ref().is_some_and(|p| p.vessel.is_none());
    if !without || free_vessels(state).is_empty() {
        return;
    }
    let at = state.planner.at;
    if !state.planner.touched {
        begin(state);
        state.planner.at = at;
        return;
    }
    let vessel = usual_vessel(state);
    if let Some(plan) = &mut state.planner.plan {
        plan.vessel = vessel;
    }
}

/// After the store was read: the kept plan's batch is known, and the day may
/// begin.
pub fn loaded(state: &mut State) {
    begin_late(state);
    if state.planner.batch.is_none()
        && state.planner.sent.is_none()
        && !state.planner.touched
        && let (Some(plan), Some(household)) = (&state.planner.plan, &state.household)
    {
        state.planner.batch = household
            .dossiers
            .iter()
            .filter(|d| d.batch.stage == Stage::Planned && d.batch.name == plan.name.trim())
            .map(|d| d.batch.id)
            .max();
    }
    if state.planner.then_day && state.planner.sent.is_none() && state.planner.batch.is_some() {
        state.planner.then_day = false;
        let batch = state.planner.batch;
        crate::app::checklist::open(state, batch);
    }
    if state.screen == Screen::Planner {
        refresh(state);
    }
}
