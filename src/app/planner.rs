//! The planner: a plan on the left, what it leads to on the right; any number
//! can be changed and the others follow at once.

use super::cell::{self, CellFor};
use super::form::{Form, FormField};
use super::keys::Action;
use super::measure;
use super::msg::{Effect, Ticket};
use super::say;
use super::screen::Screen;
use super::sheet::{self, SheetFor};
use super::state::{Effects, NoticeTone, State};
use super::when::parse_day;
use crate::domain::deeds::Deed;
use crate::domain::plan::{
    Aim, Change, Filler, FoodClass, Outcome, Part, PartKind, Plan, PlanVessel, Quantity,
    Surroundings, Warning, as_made, fitted, outcome, same_thing, scaled, warnings,
};
use crate::domain::records::{
    Batch, BatchId, Dossier, Fizz, PantryItem, PantryKind, Routine, Stage, Step, StepId, StepKind,
    StepRule, StepStatus, Style, Vessel, VesselKind,
};
use crate::domain::sums::ingredients::{self, Ingredient};
use crate::domain::units::{Gravity, Litres};
use crate::engine;
use crate::engine::season::{self, latest_pitch, lay, ready, usual_days};
use crate::engine::stories::{self, Story};
use chrono::{Datelike, NaiveDate};
use std::sync::Arc;

/// A row of the planner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowKey {
    /// What the batch is called.
    Name,
    /// Family.
    Style,
    /// Vessel.
    Vessel,
    /// Volume of the must.
    Volume,
    /// Original gravity.
    Original,
    /// Alcohol.
    Alcohol,
    /// Sweetness left.
    Sweetness,
    /// A part.
    Part(usize),
    /// A part more.
    Add,
    /// Water.
    Water,
    /// Class of yeast.
    Yeast,
    /// Gas.
    Fizz,
    /// Routine.
    Routine,
    /// Day of pitching.
    Pitch,
    /// Day of the feast.
    Feast,
    /// Bottle.
    Bottle,
    /// Free words.
    Note,
}

/// What can be done with a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowKind {
    /// A value is typed.
    Typed,
    /// Left and right choose.
    Chosen,
    /// Enter opens a form.
    Opens,
}

/// A row as it is shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Which.
    pub key: RowKey,
    /// Its name.
    pub label: String,
    /// Its value.
    pub value: String,
    /// What can be done with it.
    pub kind: RowKind,
    /// It stays when other numbers change.
    pub locked: bool,
    /// It is what is aimed at.
    pub aimed: bool,
}

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

/// A fresh plan: a mead in the first free vessel.
pub fn begin(state: &mut State) {
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
fn original_of(state: &State, dossier: &Dossier) -> Option<Gravity> {
    let household = state.household.as_ref()?;
    let told = crate::engine::facts::told(household, dossier, None, state.now);
    told.gravities.first().map(|(_, g)| *g)
}

fn plan_vessel(vessel: &Vessel) -> PlanVessel {
    PlanVessel {
        tag: vessel.tag.clone(),
        kind: vessel.kind,
        capacity: vessel.capacity,
    }
}

/// The free vessel to begin with: of about a gallon and clean, if there is one.
fn usual_vessel(state: &State) -> Option<PlanVessel> {
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
fn vessels(state: &State) -> Vec<Vessel> {
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

fn free_vessels(state: &State) -> Vec<Vessel> {
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
fn fit_routine(state: &State, plan: &mut Plan) {
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

fn routine_of<'a>(state: &'a State, plan: &Plan) -> Option<&'a Routine> {
    state
        .library
        .routines
        .iter()
        .find(|r| r.key == plan.routine)
}

/// Honey and nutrients that the pantry has take the place of nameless ones;
/// prices come with them.
fn stock_up(state: &State, plan: &mut Plan) {
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

/// The rows that are shown.
pub fn rows(state: &State) -> Vec<Row> {
    let Some(plan) = state.planner.shown() else {
        return Vec::new();
    };
    let settings = state.settings();
    let units = settings.units;
    let end = plan.ends();
    let row = |key, label: &str, value: String, kind| Row {
        key,
        label: label.to_owned(),
        value,
        kind,
        locked: false,
        aimed: false,
    };
    let aim = |key, label: &str, value: String, aimed: bool| Row {
        locked: aimed && plan.locks.aim,
        aimed,
        ..row(key, label, value, RowKind::Typed)
    };
    let mut all = vec![
        row(RowKey::Name, "name", plan.name.clone(), RowKind::Typed),
        row(
            RowKey::Style,
            "style",
            format!("{} ({})", plan.style, plan.variety),
            RowKind::Chosen,
        ),
        row(
            RowKey::Vessel,
            "vessel",
            plan.vessel.as_ref().map_or_else(
                || "none yet".to_owned(),
                |v| format!("{}, {}", v.tag, say::volume(v.capacity, units)),
            ),
            RowKind::Chosen,
        ),
        Row {
            locked: plan.locks.volume,
            ..row(
                RowKey::Volume,
                "made up to",
                say::volume(plan.volume, units),
                RowKind::Typed,
            )
        },
        aim(
            RowKey::Original,
            "original gravity",
            say::gravity(plan.original(), settings.gravity),
            matches!(plan.aim, Aim::Original(_)),
        ),
        aim(
            RowKey::Alcohol,
            "alcohol",
            say::abv(end.alcohol),
            matches!(plan.aim, Aim::Alcohol(_)),
        ),
        aim(
            RowKey::Sweetness,
            "ends at",
            say::gravity(end.gravity, settings.gravity),
            matches!(plan.aim, Aim::Sweetness(_)),
        ),
    ];
    for (at, part) in plan.parts.iter().enumerate() {
        all.push(Row {
            locked: part.locked,
            ..row(
                RowKey::Part(at),
                &part.name,
                say::mass(part.mass, units),
                RowKind::Typed,
            )
        });
    }
    all.push(row(
        RowKey::Add,
        "add a part",
        String::new(),
        RowKind::Opens,
    ));
    all.extend(more_rows(state, plan));
    all
}

fn more_rows(state: &State, plan: &Plan) -> Vec<Row> {
    let units = state.settings().units;
    let today = state.now.day();
    let day = |d: Option<NaiveDate>| d.map_or_else(|| "none".to_owned(), |d| say::day(d, today));
    let row = |key, label: &str, value: String, kind| Row {
        key,
        label: label.to_owned(),
        value,
        kind,
        locked: false,
        aimed: false,
    };
    let mut all = Vec::new();
    if plan.filler == Filler::Water {
        let water = state
            .planner
            .leads
            .as_ref()
            .map_or(Litres::known(0.0), |l| l.outcome.water_volume);
        all.push(row(
            RowKey::Water,
            "water",
            say::volume(water, units),
            RowKind::Typed,
        ));
    }
    let routine = routine_of(state, plan).map_or("none", |r| r.title.as_str());
    all.extend([
        row(
            RowKey::Yeast,
            "yeast",
            format!(
                "{}, to {:.0} %",
                plan.yeast.title,
                plan.yeast.tolerance.get()
            ),
            RowKind::Chosen,
        ),
        row(
            RowKey::Fizz,
            "gas",
            plan.fizz.word().to_owned(),
            RowKind::Chosen,
        ),
        row(
            RowKey::Routine,
            "routine",
            routine.to_owned(),
            RowKind::Chosen,
        ),
        row(
            RowKey::Pitch,
            "pitch on",
            day(plan.pitch_on),
            RowKind::Typed,
        ),
        row(
            RowKey::Feast,
            "for the feast of",
            day(plan.feast_on),
            RowKind::Typed,
        ),
        row(
            RowKey::Bottle,
            "bottles of",
            say::volume(plan.bottling.size, units),
            RowKind::Typed,
        ),
        row(RowKey::Note, "note", plan.note.clone(), RowKind::Typed),
    ]);
    all
}

/// The row that has the keys.
pub fn current(state: &State) -> Option<Row> {
    rows(state).into_iter().nth(state.planner.at)
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

/// Opens the pad for the row, with the character typed.
fn edit(state: &mut State, typed: Option<char>) {
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

fn hint(state: &State, row: RowKey) -> String {
    let us = state.settings().units == crate::domain::records::UnitSystem::Us;
    let text = match row {
        RowKey::Name => "what you call it",
        RowKey::Note => "free words, such as what to change next time",
        RowKey::Volume | RowKey::Water if us => "1 is a gallon; 3.8l, 750ml",
        RowKey::Volume | RowKey::Water => "3.8 is litres; 1gal, 750ml",
        RowKey::Original => "95 is 1.095",
        RowKey::Sweetness => "1.010 or 10: where the yeast gives up with sugar left",
        RowKey::Alcohol => "12 or 12.5, percent by volume",
        RowKey::Part(_) if us => "2.5 is pounds; 900g, 40oz; 17% sets a honey's water",
        RowKey::Part(_) => "1.2 is kilograms; 900g, 2.5lb; 17% sets a honey's water",
        RowKey::Pitch => "a day: today, +3d, sat, 12-24; empty for none",
        RowKey::Feast => "the day it is to be drunk: 12-24; empty for none",
        RowKey::Bottle => "12oz, 355ml, 750ml",
        RowKey::Style
        | RowKey::Vessel
        | RowKey::Yeast
        | RowKey::Fizz
        | RowKey::Routine
        | RowKey::Add => "",
    };
    text.to_owned()
}

/// The plan with a row typed anew, or why not.
fn typed(state: &State, row: RowKey, text: &str) -> Result<Plan, String> {
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

fn day_or_none(text: &str, today: NaiveDate) -> Result<Option<NaiveDate>, String> {
    if text.trim().is_empty() || text.trim() == "none" {
        return Ok(None);
    }
    parse_day(text, today).map(Some)
}

/// First letter large, a full stop at the end.
fn sentence(text: &str) -> String {
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
fn in_short(state: &State) -> String {
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

fn set(state: &mut State, plan: Plan) {
    state.planner.plan = Some(plan);
    state.planner.preview = None;
    state.planner.touched = true;
    refresh(state);
}

fn apply(state: &mut State, change: Change) {
    let Some(plan) = &state.planner.plan else {
        return;
    };
    match plan.change(change) {
        Ok(plan) => set(state, plan),
        Err(why) => state.say(NoticeTone::Trouble, sentence(&why.to_string())),
    }
}

fn next<T: Clone>(all: &[T], at: Option<usize>, by: isize) -> Option<T> {
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
fn turn(state: &mut State, by: isize) {
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

fn turn_style(state: &mut State, plan: &Plan, by: isize) {
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

fn turn_vessel(state: &mut State, plan: &Plan, by: isize) {
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
fn turn_part(state: &mut State, plan: &Plan, at: usize, by: isize) {
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

/// Ingredients: built in, with the maker's own laid over.
pub fn table(state: &State) -> Vec<Ingredient> {
    if state.library.ingredients.is_empty() {
        ingredients::built_in().to_vec()
    } else {
        state.library.ingredients.clone()
    }
}

fn lock(state: &mut State) {
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
fn aim_at(state: &mut State, row: RowKey) {
    if let Some(plan) = &mut state.planner.plan {
        let end = plan.ends();
        plan.aim = match row {
            RowKey::Alcohol => Aim::Alcohol(end.alcohol),
            RowKey::Sweetness => Aim::Sweetness(end.gravity),
            _ => Aim::Original(plan.original()),
        };
    }
}

fn remove(state: &mut State) {
    if let Some(Row {
        key: RowKey::Part(at),
        ..
    }) = current(state)
    {
        apply(state, Change::Remove(at));
    }
}

/// All amounts in proportion, so that the must fits the vessel.
fn fit(state: &mut State) {
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

/// The form for a part more.
fn open_part(state: &mut State) {
    if state.planner.plan.is_none() {
        return;
    }
    let names: Vec<String> = offered(state).into_iter().map(|p| p.name).collect();
    let form = Form::new(vec![
        FormField::choice(
            "what",
            "what",
            "Left and right choose: the pantry first, then the table of ingredients.",
            names,
            0,
        ),
        FormField::text("mass", "how much", "2.5lb, 900g, 1.2kg", ""),
        FormField::text("name", "called", "Only for one of your own: its name.", ""),
        FormField::text(
            "solids",
            "sugar in it, %",
            "Only for one of your own: what dissolves, by mass.",
            "",
        ),
    ]);
    sheet::open(state, "add a part", SheetFor::Part, form);
}

/// Parts that can be added: what the pantry has of them first.
fn offered(state: &State) -> Vec<Part> {
    let zero = crate::domain::units::Grams::known(0.0);
    let all: Vec<Part> = table(state)
        .iter()
        .filter_map(|i| Part::of(i, zero))
        .collect();
    let mut first: Vec<Part> = Vec::new();
    for item in state.supplies.pantry.iter().filter(|i| i.unit == "g") {
        let near = all
            .iter()
            .find(|p| p.name.eq_ignore_ascii_case(&item.name))
            .or_else(|| {
                let kind = match item.kind {
                    PantryKind::Honey => PartKind::Honey,
                    PantryKind::Sugar => PartKind::Sugar,
                    _ => return None,
                };
                all.iter().find(|p| p.kind == kind)
            });
        if let Some(part) = near
            && first
                .iter()
                .all(|p| !p.name.eq_ignore_ascii_case(&item.name))
        {
            first.push(Part {
                name: item.name.clone(),
                price: item.price.map(|p| p * 1000.0),
                ..part.clone()
            });
        }
    }
    first.extend(all);
    first
}

/// Enter on the form for a part; false when something is wrong with it.
pub fn add_part(state: &mut State, form: &mut Form) -> bool {
    let units = state.settings().units;
    let Some(mut part) = offered(state).into_iter().nth(form.chosen("what")) else {
        return false;
    };
    match measure::mass(form.value("mass"), units) {
        Ok(mass) => part.mass = mass,
        Err(why) => {
            form.object("mass", why);
            return false;
        }
    }
    let name = form.value("name").to_owned();
    if !name.is_empty() {
        let solids = form.value("solids").to_owned();
        match measure::share(&solids, "a share of sugar, such as 80%") {
            Ok(share) => part = Part::own(&name, part.kind, part.mass, share),
            Err(why) => {
                form.object("solids", why);
                return false;
            }
        }
    }
    let Some(plan) = &state.planner.plan else {
        return true;
    };
    match plan.change(Change::Add(part)) {
        Ok(plan) => {
            set(state, plan);
            true
        }
        Err(why) => {
            form.object("mass", sentence(&why.to_string()));
            false
        }
    }
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
            super::checklist::open(state, state.planner.batch);
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

/// After the store was read: the kept plan's batch is known, and the day may
/// begin.
pub fn loaded(state: &mut State) {
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
        super::checklist::open(state, batch);
    }
    if state.screen == Screen::Planner {
        refresh(state);
    }
}

/// Works out anew what the shown plan leads to.
pub fn refresh(state: &mut State) {
    let leads = state.planner.shown().map(|plan| leads(state, plan));
    state.planner.leads = leads.map(Arc::new);
}

fn leads(state: &State, plan: &Plan) -> Leads {
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
fn place_of(state: &State, plan: &Plan) -> (String, Option<crate::domain::units::Celsius>) {
    let found = state.household.as_ref().and_then(|h| {
        let vessel = h.vessel_by_tag(&plan.vessel.as_ref()?.tag)?;
        let place = h.place(vessel.place)?;
        Some((place.name.clone(), place.usual_temp))
    });
    found.unwrap_or_default()
}

fn surroundings(state: &State, plan: &Plan) -> Surroundings {
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
fn clashes_of(state: &State, plan: &Plan, rules: &[StepRule]) -> Vec<String> {
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

fn draft_name(plan: &Plan) -> String {
    let name = plan.name.trim();
    if name.is_empty() {
        "This plan".to_owned()
    } else {
        name.to_owned()
    }
}

/// The plan as a batch, for laying it beside the others.
fn draft(state: &State, plan: &Plan, rules: &[StepRule], id: BatchId) -> Dossier {
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
