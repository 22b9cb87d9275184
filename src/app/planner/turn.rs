//! A row with choices goes on to the next; numbers are locked, parts taken out.

use super::fresh::{fit_routine, plan_vessel, stock_up, vessels};
use super::part::offered;
use super::rows::{Row, RowKey, current};
use super::typed::{apply, set};
use crate::app::state::{NoticeTone, State};
use crate::domain::plan::{Aim, Change, Part, Plan, Quantity, scaled};
use crate::domain::records::{Fizz, Style};

pub(super) fn next<T: Clone>(all: &[T], at: Option<usize>, by: isize) -> Option<T> {
    if all.is_empty() {
        return None;
    }
    let n = all.len().cast_signed();
    let at = at.map_or(if by > 0 { 0 } else { n - 1 }, |i| {
        (i.cast_signed() + by).rem_euclid(n)
    });
    all.get(at.cast_unsigned()).cloned()
}

/// The choice before or after.
pub(super) fn turn(state: &mut State, by: isize) {
    let (Some(row), Some(plan)) = (current(state), state.planner.plan.clone()) else {
        return;
    };
    match row.key {
        RowKey::Style => turn_style(state, &plan, by),
        RowKey::Vessel => turn_vessel(state, &plan, by),
        RowKey::Yeast => {
            let all: Vec<_> = state
                .library
                .yeasts
                .iter()
                .filter(|y| y.styles.is_empty() || y.styles.contains(&plan.style))
                .cloned()
                .collect();
            let at = all.iter().position(|y| y.key == plan.yeast.key);
            if let Some(yeast) = next(&all, at, by) {
                apply(state, Change::Yeast(yeast));
            }
        }
        RowKey::Fizz => {
            let at = Fizz::ALL.iter().position(|f| *f == plan.fizz);
            if let Some(fizz) = next(Fizz::ALL, at, by) {
                set(state, Plan { fizz, ..plan });
            }
        }
        RowKey::Routine => {
            let all: Vec<String> = state
                .library
                .routines
                .iter()
                .filter(|r| r.style == plan.style)
                .map(|r| r.key.clone())
                .collect();
            let at = all.iter().position(|k| *k == plan.routine);
            if let Some(routine) = next(&all, at, by) {
                let mut plan = Plan { routine, ..plan };
                fit_routine(state, &mut plan);
                set(state, plan);
            }
        }
        RowKey::Part(at) => turn_part(state, &plan, at, by),
        RowKey::Pitch => {
            let day = plan.pitch_on.unwrap_or(state.now.day()) + chrono::TimeDelta::days(by as i64);
            let pitch_on = Some(day.max(state.now.day()));
            set(state, Plan { pitch_on, ..plan });
        }
        _ => {}
    }
}

pub(super) fn turn_style(state: &mut State, plan: &Plan, by: isize) {
    let at = Style::ALL.iter().position(|s| *s == plan.style);
    let Some(style) = next(Style::ALL, at, by) else {
        return;
    };
    let mut fresh = Plan::begin(style, plan.vessel.clone());
    fresh.name.clone_from(&plan.name);
    fresh.note.clone_from(&plan.note);
    fresh.pitch_on = plan.pitch_on;
    fresh.feast_on = plan.feast_on;
    fresh.bottling = plan.bottling;
    if let Some(class) = state
        .library
        .yeasts
        .iter()
        .find(|y| y.styles.contains(&style))
    {
        fresh.yeast = class.clone();
        if let Ok(followed) = fresh.change(Change::Volume(fresh.volume)) {
            fresh = followed;
        }
    }
    fit_routine(state, &mut fresh);
    stock_up(state, &mut fresh);
    set(state, fresh);
}

pub(super) fn turn_vessel(state: &mut State, plan: &Plan, by: isize) {
    let all = vessels(state);
    let at = plan
        .vessel
        .as_ref()
        .and_then(|v| all.iter().position(|a| a.tag.eq_ignore_ascii_case(&v.tag)));
    if let Some(vessel) = next(&all, at, by) {
        apply(state, Change::Vessel(Some(plan_vessel(&vessel))));
    }
}

/// Another ingredient of the same kind in the place of a part.
pub(super) fn turn_part(state: &mut State, plan: &Plan, at: usize, by: isize) {
    let Some(part) = plan.parts.get(at) else {
        return;
    };
    let all: Vec<Part> = offered(state)
        .into_iter()
        .filter(|p| p.kind == part.kind)
        .collect();
    let here = all.iter().position(|p| p.name == part.name);
    if let Some(other) = next(&all, here, by) {
        let mut other = other;
        other.locked = part.locked;
        apply(state, Change::Swap(at, other));
    }
}

pub(super) fn lock(state: &mut State) {
    let Some(row) = current(state) else { return };
    let quantity = match row.key {
        RowKey::Volume => Quantity::Volume,
        RowKey::Original | RowKey::Alcohol | RowKey::Sweetness => Quantity::Aim,
        RowKey::Part(at) => Quantity::Part(at),
        _ => return,
    };
    let on = !row.locked;
    if quantity == Quantity::Aim && !row.aimed {
        aim_at(state, row.key);
    }
    apply(state, Change::Lock(quantity, on));
}

/// The number of that row, as it stands, becomes the aim.
pub(super) fn aim_at(state: &mut State, row: RowKey) {
    if let Some(plan) = &mut state.planner.plan {
        let end = plan.ends();
        plan.aim = match row {
            RowKey::Alcohol => Aim::Alcohol(end.alcohol),
            RowKey::Sweetness => Aim::Sweetness(end.gravity),
            _ => Aim::Original(plan.original()),
        };
    }
}

pub(super) fn remove(state: &mut State) {
    if let Some(Row {
        key: RowKey::Part(at),
        ..
    }) = current(state)
    {
        apply(state, Change::Remove(at));
    }
}

/// All amounts in proportion, so that the must fits the vessel.
pub(super) fn fit(state: &mut State) {
    let Some(plan) = &state.planner.plan else {
        return;
    };
    let Some(vessel) = &plan.vessel else {
        state.say(NoticeTone::Plain, "Choose a vessel first.");
        return;
    };
    let volume = plan.volume_for(vessel.capacity);
    let plan = scaled(plan, None, volume);
    set(state, plan);
}
