//! What the shown plan leads to.

use super::steps_of;
use crate::app::say;
use crate::app::state::State;
use crate::domain::plan::{Outcome, Plan, Surroundings, Warning, outcome, warnings};
use crate::domain::records::{
    Batch, BatchId, Dossier, Stage, Step, StepId, StepKind, StepRule, StepStatus, Style,
};
use crate::engine::season::{self, latest_pitch, lay, ready, usual_days};
use crate::engine::stories::{self, Story};
use chrono::{Datelike, NaiveDate};
use std::sync::Arc;

/// A step laid on its day.
#[derive(Debug, Clone, PartialEq)]
pub struct LaidStep {
    /// Its day.
    pub day: NaiveDate,
    /// Its one line.
    pub title: String,
    /// What it does.
    pub kind: StepKind,
    /// The day rests on how long such ferments usually take.
    pub forecast: bool,
}

/// What the plan that is shown leads to.
#[derive(Debug, Clone, PartialEq)]
pub struct Leads {
    /// Its numbers.
    pub outcome: Outcome,
    /// What the maker should know.
    pub warnings: Vec<Warning>,
    /// Its steps on their days.
    pub laid: Vec<LaidStep>,
    /// Day on which there is something to drink.
    pub ready: Option<NaiveDate>,
    /// Latest day of pitching for its feast.
    pub pitch_by: Option<NaiveDate>,
    /// What clashes with the rest of the household, as sentences.
    pub clashes: Vec<String>,
    /// What was written of a batch like it.
    pub last_time: Option<String>,
}

/// Works out anew what the shown plan leads to.
pub fn refresh(state: &mut State) {
    let leads = state.planner.shown().map(|plan| leads(state, plan));
    state.planner.leads = leads.map(Arc::new);
}

pub(super) fn leads(state: &State, plan: &Plan) -> Leads {
    let outcome = outcome(plan);
    let warnings = warnings(plan, &outcome, &surroundings(state, plan));
    let rules = steps_of(state, plan);
    let start = plan.pitch_on.unwrap_or(state.now.day());
    let days = usual_days(plan.style, Some(plan.original()), place_of(state, plan).1);
    let laid = lay(&rules, start, days);
    let mut steps: Vec<LaidStep> = laid
        .iter()
        .filter_map(|l| {
            let rule = rules.get(l.index)?;
            Some(LaidStep {
                day: l.opens,
                title: rule.title.clone(),
                kind: rule.kind,
                forecast: l.forecast,
            })
        })
        .collect();
    steps.sort_by_key(|s| s.day);
    Leads {
        ready: ready(&rules, &laid),
        pitch_by: plan.feast_on.and_then(|f| latest_pitch(&rules, days, f)),
        clashes: clashes_of(state, plan, &rules),
        laid: steps,
        last_time: last_time(
            state
                .cellar
                .stories
                .as_deref()
                .map_or(&[][..], Vec::as_slice),
            plan,
            state.planner.batch,
            state.now.day(),
        ),
        outcome,
        warnings,
    }
}

/// What was written of a batch like it, in a few sentences.
pub fn last_time(
    stories: &[Story],
    plan: &Plan,
    own: Option<BatchId>,
    today: NaiveDate,
) -> Option<String> {
    let main = plan.main().and_then(|m| plan.parts.get(m));
    let sugar = main.map(|p| p.name.as_str());
    let earlier: Vec<Story> = stories
        .iter()
        .filter(|s| Some(s.batch) != own)
        .cloned()
        .collect();
    let (story, like) = stories::last_time(&earlier, plan.style, &plan.yeast.key, sugar)?;
    let same = match (like.yeast, like.sugar) {
        (true, true) => format!("same yeast and {}", sugar.unwrap_or_default()),
        (true, false) => "same yeast".to_owned(),
        (false, _) => sugar.unwrap_or_default().to_owned(),
    };
    let mut facts = Vec::new();
    facts.extend(story.alcohol.map(say::abv));
    facts.extend(
        story
            .days_to_finish
            .map(|d| format!("done in {}", say::count(d.round() as i64, "day", "days"))),
    );
    facts.extend((story.stuck == Some(true)).then(|| "stuck".to_owned()));
    facts.extend(story.score.map(|(s, _)| format!("{s:.1} of 5")));
    let facts = if facts.is_empty() {
        String::new()
    } else {
        format!(": {}", facts.join(", "))
    };
    let quoted = |what: &str, text: &str| match text {
        "" => None,
        text => Some(format!("{what} '{text}'")),
    };
    let written: Vec<String> = [
        quoted("you wrote", &story.note),
        quoted("it tasted", &story.tasted),
    ]
    .into_iter()
    .flatten()
    .collect();
    let on = say::date_of(story.pitched.day(), today);
    let which = format!("{}, {on}, {same}{facts}", story.name);
    Some(if written.is_empty() {
        format!("Last time: {which}; nothing was written of it.")
    } else {
        format!("Last time {} ({which}).", written.join(", "))
    })
}

/// Name and temperature of the place where the plan's vessel stands.
pub(super) fn place_of(
    state: &State,
    plan: &Plan,
) -> (String, Option<crate::domain::units::Celsius>) {
    let found = state.household.as_ref().and_then(|h| {
        let vessel = h.vessel_by_tag(&plan.vessel.as_ref()?.tag)?;
        let place = h.place(vessel.place)?;
        Some((place.name.clone(), place.usual_temp))
    });
    found.unwrap_or_default()
}

pub(super) fn surroundings(state: &State, plan: &Plan) -> Surroundings {
    let (place, temperature) = place_of(state, plan);
    Surroundings {
        place,
        temperature,
        taken: None,
        pantry: state.supplies.pantry.clone(),
        today: state.now.day(),
        made: state
            .supplies
            .made_in(state.now.day().year(), plan.style == Style::Beer),
        adults: state.settings().adults,
    }
}

/// What clashes once this plan is among the others.
pub(super) fn clashes_of(state: &State, plan: &Plan, rules: &[StepRule]) -> Vec<String> {
    let (Some(household), Some(morning)) = (&state.household, &state.morning) else {
        return Vec::new();
    };
    let id = state.planner.batch.unwrap_or(BatchId(-1));
    let mut home = (**household).clone();
    let mut supplies = (*state.supplies).clone();
    home.dossiers.retain(|d| d.batch.id != id);
    home.dossiers.push(draft(state, plan, rules, id));
    supplies.plans.retain(|p| p.batch != id);
    supplies.plans.push(crate::domain::plan::KeptPlan {
        batch: id,
        plan: plan.clone(),
    });
    let name = draft_name(plan);
    season::season(&home, &supplies, morning, 16)
        .clashes
        .iter()
        .map(season::Clash::sentence)
        .filter(|s| s.contains(&name) || s.starts_with("Week of"))
        .collect()
}

pub(super) fn draft_name(plan: &Plan) -> String {
    let name = plan.name.trim();
    if name.is_empty() {
        "This plan".to_owned()
    } else {
        name.to_owned()
    }
}

/// The plan as a batch, for laying it beside the others.
pub(super) fn draft(state: &State, plan: &Plan, rules: &[StepRule], id: BatchId) -> Dossier {
    let steps = rules.iter().zip(1i64..).map(|(rule, n)| Step {
        id: StepId(-n),
        batch: id,
        rule: rule.clone(),
        status: StepStatus::Open,
        moved_to: None,
    });
    Dossier {
        batch: Batch {
            id,
            name: draft_name(plan),
            style: plan.style,
            variety: plan.variety.clone(),
            stage: Stage::Planned,
            routine: Some(plan.routine.clone()),
            yeast: Some(plan.yeast.key.clone()),
            tolerance: Some(plan.yeast.tolerance),
            band: Some(plan.yeast.band),
            planned_og: Some(plan.original()),
            expected_fg: None,
            volume: Some(plan.volume),
            fizz: plan.fizz,
            pitched: None,
            bottled: None,
            closed: None,
            created: state.now,
            planned_day: plan.pitch_on,
            note: String::new(),
        },
        stays: Vec::new(),
        readings: Vec::new(),
        place_readings: Vec::new(),
        events: Vec::new(),
        steps: steps.collect(),
        lots: Vec::new(),
    }
}
