//! What is typed into a row: the plan as it would be, then as it is.

use super::leads::refresh;
use super::part::open_part;
use super::rows::{RowKey, RowKind, current, hint};
use super::turn::turn;
use crate::app::cell::{self, CellFor};
use crate::app::state::{NoticeTone, State};
use crate::app::when::parse_day;
use crate::app::{measure, say};
use crate::domain::plan::{Aim, Change, Plan};
use chrono::NaiveDate;

/// Opens the pad for the row, with the character typed.
pub(super) fn edit(state: &mut State, typed: Option<char>) {
    let Some(row) = current(state) else { return };
    match row.kind {
        RowKind::Opens => open_part(state),
        RowKind::Chosen => turn(state, 1),
        RowKind::Typed => {
            let Some(plan) = state.planner.plan.clone() else {
                return;
            };
            let text = match (row.key, typed) {
                (_, Some(c)) => c.to_string(),
                (RowKey::Name, None) => plan.name,
                (RowKey::Note, None) => plan.note,
                _ => String::new(),
            };
            let hint = hint(state, row.key);
            cell::open(state, CellFor::Plan(row.key), row.label, hint, &text);
        }
    }
}

/// The plan with a row typed anew, or why not.
pub(super) fn typed(state: &State, row: RowKey, text: &str) -> Result<Plan, String> {
    let plan = state.planner.plan.clone().ok_or("there is no plan")?;
    let units = state.settings().units;
    let today = state.now.day();
    let change = |change: Change| plan.change(change).map_err(|e| sentence(&e.to_string()));
    match row {
        RowKey::Name => Ok(Plan {
            name: text.to_owned(),
            ..plan.clone()
        }),
        RowKey::Note => Ok(Plan {
            note: text.to_owned(),
            ..plan.clone()
        }),
        RowKey::Pitch => Ok(Plan {
            pitch_on: day_or_none(text, today)?,
            ..plan.clone()
        }),
        RowKey::Feast => Ok(Plan {
            feast_on: day_or_none(text, today)?,
            ..plan.clone()
        }),
        RowKey::Bottle => {
            let size = measure::volume(text, units)?;
            if !(0.05..=30.0).contains(&size.get()) {
                return Err("a bottle holds 0.05 to 30 L".to_owned());
            }
            let mut plan = plan.clone();
            plan.bottling.size = size;
            Ok(plan)
        }
        RowKey::Volume => change(Change::Volume(measure::volume(text, units)?)),
        RowKey::Water => change(Change::Water(measure::volume(text, units)?)),
        RowKey::Original => change(Change::Aim(Aim::Original(measure::gravity(text)?))),
        RowKey::Sweetness => change(Change::Aim(Aim::Sweetness(measure::gravity(text)?))),
        RowKey::Alcohol => change(Change::Aim(Aim::Alcohol(measure::alcohol(text)?))),
        RowKey::Part(at) if text.ends_with('%') => change(Change::Moisture(
            at,
            measure::share(text, "a share of water, such as 17%")?,
        )),
        RowKey::Part(at) => change(Change::Mass(at, measure::mass(text, units)?)),
        RowKey::Style
        | RowKey::Vessel
        | RowKey::Yeast
        | RowKey::Fizz
        | RowKey::Routine
        | RowKey::Add => Ok(plan),
    }
}

pub(super) fn day_or_none(text: &str, today: NaiveDate) -> Result<Option<NaiveDate>, String> {
    if text.trim().is_empty() || text.trim() == "none" {
        return Ok(None);
    }
    parse_day(text, today).map(Some)
}

/// First letter large, a full stop at the end.
pub(super) fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let mut said: String = letters
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect());
    if !said.ends_with('.') {
        said.push('.');
    }
    said
}

/// What typing this would mean; the plan is shown as it would be.
pub fn preview(state: &mut State, row: &RowKey, text: &str) -> Result<String, String> {
    match typed(state, *row, text) {
        Ok(plan) => {
            state.planner.preview = Some(plan);
            refresh(state);
            Ok(in_short(state))
        }
        Err(why) => {
            forget_preview(state);
            Err(why)
        }
    }
}

/// The shown plan in one line.
pub(super) fn in_short(state: &State) -> String {
    let (Some(plan), Some(leads)) = (state.planner.shown(), &state.planner.leads) else {
        return String::new();
    };
    let settings = state.settings();
    let main = plan
        .main()
        .and_then(|m| plan.parts.get(m))
        .map_or_else(String::new, |p| {
            format!("{} {}, ", say::mass(p.mass, settings.units), p.name)
        });
    format!(
        "{main}{} made up, {} to {}, {}, {} bottles",
        say::volume(plan.volume, settings.units),
        say::gravity_number(leads.outcome.original.likely, settings.gravity),
        say::gravity_number(leads.outcome.finally.likely, settings.gravity),
        say::abv(leads.outcome.alcohol.likely),
        leads.outcome.bottles
    )
}

/// Nothing is being typed any more.
pub fn forget_preview(state: &mut State) {
    if state.planner.preview.take().is_some() {
        refresh(state);
    }
}

/// Enter on a row's pad.
pub fn type_in(state: &mut State, row: &RowKey, text: &str) {
    if let Ok(plan) = typed(state, *row, text) {
        set(state, plan);
    }
}

pub(super) fn set(state: &mut State, plan: Plan) {
    state.planner.plan = Some(plan);
    state.planner.preview = None;
    state.planner.touched = true;
    refresh(state);
}

pub(super) fn apply(state: &mut State, change: Change) {
    let Some(plan) = &state.planner.plan else {
        return;
    };
    match plan.change(change) {
        Ok(plan) => set(state, plan),
        Err(why) => state.say(NoticeTone::Trouble, sentence(&why.to_string())),
    }
}
