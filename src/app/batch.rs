//! The batch screen: which part has the keys, and what is chosen in it.

use super::keys::Action;
use super::msg::{Effect, Hit, Spot};
use super::state::{Effects, State, spot};
use super::trend;
use crate::domain::deeds::Deed;
use crate::domain::records::{
    BatchId, Dossier, Fate, LedgerEntry, LedgerLine, Reading, Step, StepId,
};
use crate::engine::{Due, Timing};
use std::sync::Arc;

/// A part of the batch screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Part {
    /// Its steps.
    #[default]
    Plan,
    /// Its history.
    Ledger,
    /// What the readings say.
    Says,
}

impl Part {
    /// All of them, in the order of Tab.
    pub const ALL: [Self; 3] = [Self::Plan, Self::Ledger, Self::Says];

    /// Its heading.
    pub fn title(self) -> &'static str {
        match self {
            Self::Plan => "plan",
            Self::Ledger => "ledger",
            Self::Says => "outlook",
        }
    }
}

/// The batch screen.
#[derive(Debug, Clone, Default)]
pub struct BatchView {
    /// Which part has the keys.
    pub part: Part,
    /// The chosen line of the plan.
    pub plan_at: usize,
    /// The chosen line of the ledger, the newest being 0.
    pub ledger_at: usize,
    /// Lines left out above in the third part.
    pub says_at: usize,
    /// The ledger read last, oldest first.
    pub ledger: Option<(BatchId, Arc<Vec<LedgerLine>>)>,
}

impl BatchView {
    /// Whether the plan has the keys.
    pub fn on_plan(&self) -> bool {
        self.part == Part::Plan
    }

    /// The ledger, newest first.
    pub fn lines(&self) -> impl Iterator<Item = &LedgerLine> {
        let all = self.ledger.as_ref().map_or(&[][..], |(_, l)| l.as_slice());
        all.iter().rev()
    }

    /// The chosen reading of the ledger, while the ledger has the keys.
    pub fn reading(&self) -> Option<&Reading> {
        if self.part != Part::Ledger {
            return None;
        }
        let line = self.lines().nth(self.ledger_at)?;
        match (&line.entry, line.fate) {
            (LedgerEntry::Reading(reading), Fate::Stands) => Some(reading),
            _ => None,
        }
    }

    /// The chosen step of the plan, when it is still to do.
    pub fn step<'a>(&self, state: &'a State) -> Option<&'a Due> {
        let dossier = state.chosen_dossier()?;
        let step = plan_order(dossier).get(self.plan_at).map(|s| s.id)?;
        state.morning.as_ref()?.due.iter().find(|d| d.step == step)
    }

    fn length(&self, state: &State) -> usize {
        match self.part {
            Part::Plan => state.chosen_dossier().map_or(0, |d| d.steps.len()),
            Part::Ledger => self.lines().count(),
            // The view stops at the end by itself; this only bounds the count.
            Part::Says => 200,
        }
    }

    fn at(&mut self) -> &mut usize {
        match self.part {
            Part::Plan => &mut self.plan_at,
            Part::Ledger => &mut self.ledger_at,
            Part::Says => &mut self.says_at,
        }
    }

    /// Chosen line of the part that has the keys.
    pub fn chosen(&self) -> usize {
        match self.part {
            Part::Plan => self.plan_at,
            Part::Ledger => self.ledger_at,
            Part::Says => self.says_at,
        }
    }
}

/// The steps of a batch in the order of its plan.
pub fn plan_order(dossier: &Dossier) -> Vec<&Step> {
    dossier.steps.iter().collect()
}

/// Opens the screen for what is chosen, at the first step still to do.
pub fn open(state: &mut State) -> Effects {
    let Some(chosen) = state.chosen else {
        return Vec::new();
    };
    state.go(super::screen::Screen::Batch);
    look_at(state, chosen)
}

/// The first step of the plan that is to do: one that was passed over, or is
/// past its use, is not.
fn first_to_do(state: &State) -> usize {
    let (Some(dossier), Some(morning)) = (state.chosen_dossier(), &state.morning) else {
        return 0;
    };
    let to_do = |step: &&Step| {
        let due = morning.due.iter().find(|d| d.step == step.id);
        due.is_some_and(|d| d.timing != Timing::TooLate)
    };
    let order = plan_order(dossier);
    order.iter().position(to_do).unwrap_or(0)
}

pub(super) fn look_at(state: &mut State, chosen: Spot) -> Effects {
    state.chosen = Some(chosen);
    let first_open = first_to_do(state);
    let view = &mut state.batch;
    view.plan_at = first_open;
    view.ledger_at = 0;
    view.says_at = 0;
    if view
        .ledger
        .as_ref()
        .is_some_and(|(b, _)| *b != chosen.batch)
    {
        view.ledger = None;
    }
    vec![Effect::ReadLedger(chosen.batch)]
}

/// Carries an action out that belongs to this screen.
pub fn act(state: &mut State, action: Action) -> Effects {
    let page = state.rows.max(2).cast_signed() - 1;
    match action {
        Action::Up => step(state, -1),
        Action::Down => step(state, 1),
        Action::PageUp => step(state, -page),
        Action::PageDown => step(state, page),
        Action::First => step(state, isize::MIN / 2),
        Action::Last => step(state, isize::MAX / 2),
        Action::Left => return neighbour(state, -1),
        Action::Right => return neighbour(state, 1),
        Action::Next => {
            let here = Part::ALL.iter().position(|p| *p == state.batch.part);
            let next = (here.unwrap_or(0) + 1) % Part::ALL.len();
            state.batch.part = Part::ALL.get(next).copied().unwrap_or_default();
        }
        Action::Wider | Action::Closer | Action::Whole => return trend::act(state, action),
        Action::Edit => {
            if let Some(reading) = state.batch.reading().cloned() {
                super::slip::open_mend(state, &reading);
            }
        }
        Action::Remove => return remove(state),
        _ => {}
    }
    Vec::new()
}

fn remove(state: &mut State) -> Effects {
    let Some(reading) = state.batch.reading().map(|r| r.id) else {
        return Vec::new();
    };
    let ticket = state.ticket();
    vec![Effect::CarryOut(
        ticket,
        vec![Deed::RemoveReading { reading }],
    )]
}

fn step(state: &mut State, by: isize) {
    let last = state.batch.length(state).saturating_sub(1);
    let at = state.batch.at();
    *at = at.saturating_add_signed(by).min(last);
}

/// The plan has the keys, with a step chosen in it.
pub(super) fn choose_step(state: &mut State, step: StepId) {
    let at = state
        .chosen_dossier()
        .and_then(|d| plan_order(d).iter().position(|s| s.id == step));
    state.batch.part = Part::Plan;
    state.batch.plan_at = at.unwrap_or(state.batch.plan_at);
}

/// The vessel beside the chosen one, in the order of the shelf.
pub(super) fn neighbour(state: &mut State, by: isize) -> Effects {
    let rows = state.shelf_rows();
    let next = state
        .chosen_index()
        .map(|i| i.saturating_add_signed(by))
        .and_then(|i| rows.get(i))
        .map(spot);
    match next {
        Some(next) if Some(next) != state.chosen => look_at(state, next),
        _ => Vec::new(),
    }
}

/// The mouse chose a line.
pub fn hit(state: &mut State, hit: Hit) {
    match hit {
        Hit::Line(i) => {
            let last = state.batch.length(state).saturating_sub(1);
            *state.batch.at() = i.min(last);
        }
        Hit::Trend(at) => trend::read_off(state, at),
        Hit::Row(_) | Hit::Due(_) => {}
    }
}

/// The wheel turned.
pub fn wheel(state: &mut State, by: i32) {
    step(state, by as isize);
}
