//! A plan to begin with: a fresh one, or an earlier batch once more.

use super::leads::refresh;
use super::{Planner, open};
use crate::app::msg::Effect;
use crate::app::screen::Screen;
use crate::app::state::{Effects, State};
use crate::domain::plan::{FoodClass, Plan, PlanVessel, as_made, same_thing};
use crate::domain::records::{
    Dossier, PantryItem, PantryKind, Routine, Stage, Style, Vessel, VesselKind,
};
use crate::domain::units::Gravity;
use crate::engine;

/// A fresh plan: a mead in the first free vessel.
pub(super) fn begin(state: &mut State) {
    let vessel = usual_vessel(state);
    let mut plan = Plan::begin(Style::Mead, vessel);
    plan.pitch_on = Some(state.now.day());
    fit_routine(state, &mut plan);
    stock_up(state, &mut plan);
    state.planner = Planner {
        plan: Some(plan),
        ..Planner::default()
    };
    refresh(state);
}

/// The chosen batch once more: a planned one is opened, an earlier one copied
/// as it was made, with its notes.
pub fn again(state: &mut State) -> Effects {
    let Some(dossier) = state.chosen_dossier().cloned() else {
        return open(state);
    };
    let id = dossier.batch.id;
    let kept = state.supplies.plan(id).cloned();
    if let (Stage::Planned, Some(plan)) = (dossier.batch.stage, kept.clone()) {
        state.planner = Planner {
            plan: Some(plan),
            batch: Some(id),
            ..Planner::default()
        };
    } else {
        let mut base = kept.unwrap_or_else(|| Plan::begin(dossier.batch.style, None));
        base.vessel = usual_vessel(state);
        let mut plan = as_made(&dossier, original_of(state, &dossier), &base);
        if let Some(class) = state
            .library
            .yeasts
            .iter()
            .find(|y| Some(&y.key) == dossier.batch.yeast.as_ref())
        {
            plan.yeast = class.clone();
        }
        plan.name = format!("{} again", dossier.batch.name);
        plan.pitch_on = Some(state.now.day());
        fit_routine(state, &mut plan);
        state.planner = Planner {
            plan: Some(plan),
            touched: true,
            ..Planner::default()
        };
    }
    state.go(Screen::Planner);
    refresh(state);
    vec![Effect::ReadStories]
}

/// The measured original gravity of a batch: its first reading of gravity.
pub(super) fn original_of(state: &State, dossier: &Dossier) -> Option<Gravity> {
    let household = state.household.as_ref()?;
    let told = crate::engine::facts::told(household, dossier, None, state.now);
    told.gravities.first().map(|(_, g)| *g)
}

pub(super) fn plan_vessel(vessel: &Vessel) -> PlanVessel {
    PlanVessel {
        tag: vessel.tag.clone(),
        kind: vessel.kind,
        capacity: vessel.capacity,
    }
}

/// The free vessel to begin with: of about a gallon and clean, if there is one.
pub(super) fn usual_vessel(state: &State) -> Option<PlanVessel> {
    let free = free_vessels(state);
    let far = |v: &Vessel| (v.capacity.us_gallons() - 1.0).abs();
    free.iter()
        .min_by(|a, b| {
            b.clean
                .cmp(&a.clean)
                .then_with(|| far(a).total_cmp(&far(b)))
        })
        .map(plan_vessel)
}

/// Vessels in use, the free ones first.
pub(super) fn vessels(state: &State) -> Vec<Vessel> {
    let mut all = free_vessels(state);
    let taken = state.household.as_ref().map_or(&[][..], |h| &h.vessels);
    let more: Vec<Vessel> = taken
        .iter()
        .filter(|v| !v.retired && v.kind != VesselKind::Keg && all.iter().all(|a| a.id != v.id))
        .cloned()
        .collect();
    all.extend(more);
    all
}

pub(super) fn free_vessels(state: &State) -> Vec<Vessel> {
    // From the household, not the morning: a plan may be begun while the
    // engine is still at work.
    let Some(household) = &state.household else {
        return Vec::new();
    };
    engine::free_vessels(household)
        .into_iter()
        .filter_map(|id| household.vessel(id))
        .filter(|v| v.kind != VesselKind::Keg)
        .cloned()
        .collect()
}

/// Takes the routine for the style and size where the plan's own is of another
/// style, and feeds as often as the routine does.
pub(super) fn fit_routine(state: &State, plan: &mut Plan) {
    let own = routine_of(state, plan).is_some_and(|r| r.style == plan.style);
    if !own {
        let far = |r: &Routine| (r.volume.get() / plan.volume.get().max(0.1)).ln().abs();
        let fits = state
            .library
            .routines
            .iter()
            .filter(|r| r.style == plan.style)
            .min_by(|a, b| far(a).total_cmp(&far(b)));
        if let Some(routine) = fits.or(state.library.routines.first()) {
            plan.routine.clone_from(&routine.key);
        }
    }
    if let Some(routine) = routine_of(state, plan) {
        let feeds = routine.steps.iter().filter(|s| s.kind.feeds()).count();
        if feeds > 0 {
            plan.feeding.portions = feeds as u32;
        }
    }
}

pub(super) fn routine_of<'a>(state: &'a State, plan: &Plan) -> Option<&'a Routine> {
    state
        .library
        .routines
        .iter()
        .find(|r| r.key == plan.routine)
}

/// Honey and nutrients that the pantry has take the place of nameless ones;
/// prices come with them.
pub(super) fn stock_up(state: &State, plan: &mut Plan) {
    let pantry = &state.supplies.pantry;
    let most = |kind: PantryKind| {
        pantry
            .iter()
            .filter(|i| i.kind == kind && i.unit == "g" && i.amount > 0.0)
            .max_by(|a, b| a.amount.total_cmp(&b.amount))
    };
    for part in &mut plan.parts {
        if part.key == "honey"
            && part.name == "honey"
            && let Some(item) = most(PantryKind::Honey)
        {
            part.name.clone_from(&item.name);
        }
        let known = pantry
            .iter()
            .find(|i| i.unit == "g" && same_thing(&i.name, &part.name));
        if let (None, Some(price)) = (part.price, known.and_then(|i| i.price)) {
            part.price = Some(price * 1000.0);
        }
    }
    for food in &mut plan.feeding.foods {
        let of_class = |i: &&PantryItem| {
            let name = i.name.to_lowercase();
            i.kind == PantryKind::Nutrient
                && i.unit == "g"
                && i.amount > 0.0
                && match food.class {
                    FoodClass::Organic => {
                        name.contains("organic") || name.contains("yeast-derived")
                    }
                    FoodClass::Complex => name.contains("complex"),
                    FoodClass::Dap => name.contains("phosphate"),
                }
        };
        if let Some(item) = pantry.iter().find(of_class) {
            food.name.clone_from(&item.name);
            food.price = item.price.map(|p| p * 1000.0);
        }
    }
}
