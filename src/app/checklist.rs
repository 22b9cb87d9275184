//! The day itself: lines ticked one by one, left and resumed at any time.

use super::cell::{self, CellFor};
use super::clock::Clock;
use super::keys::Action;
use super::measure;
use super::msg::{Effect, Spot, Ticket};
use super::overlay::Overlay;
use super::say;
use super::screen::Screen;
use super::state::{Effects, NoticeTone, State};
use crate::domain::checklist::{Checklist, Doing, Entry, feeding, lines};
use crate::domain::deeds::{Deed, Given};
use crate::domain::plan::{Plan, outcome};
use crate::domain::records::{BatchId, Stage, StepId, Subject, VesselId};
use crate::domain::slip::{self, SlipContext};
use crate::domain::units::{Grams, Litres, Moment, batch_day};
use crate::engine::Morning;

/// The day.
#[derive(Debug, Clone, Default)]
pub struct Day {
    /// Whose.
    pub batch: Option<BatchId>,
    /// The line that has the keys.
    pub at: usize,
    /// The line that was asked about once because it is too early for it.
    pub insisting: Option<String>,
    /// The tick under way, with the line it is for.
    pub sent: Option<Ticket>,
}

/// A step number that no step has: the clock of a line, not of a step.
pub const OF_A_LINE: StepId = StepId(0);

/// Goes to the day of a batch, at its first open line.
pub fn open(state: &mut State, batch: Option<BatchId>) {
    let batch = batch.or_else(|| next_batch(state));
    state.day = Day {
        batch,
        ..Day::default()
    };
    to_next(state);
    state.go(Screen::Checklist);
}

/// The planned batch whose day comes first.
fn next_batch(state: &State) -> Option<BatchId> {
    let household = state.household.as_ref()?;
    if let Some(chosen) = state.chosen
        && state.supplies.plan(chosen.batch).is_some()
    {
        return Some(chosen.batch);
    }
    household
        .dossiers
        .iter()
        .filter(|d| d.batch.stage == Stage::Planned)
        .filter(|d| state.supplies.plan(d.batch.id).is_some())
        .min_by_key(|d| d.batch.planned_day)
        .map(|d| d.batch.id)
}

/// The list of the day with its plan.
pub fn list(state: &State) -> Option<(Checklist, &Plan)> {
    let batch = state.day.batch?;
    let plan = state.supplies.plan(batch)?;
    let all = lines(plan, &outcome(plan), state.settings().units);
    let dossier = state.household.as_ref().and_then(|h| h.dossier(batch));
    let steps = dossier.map_or(&[][..], |d| &d.steps);
    let lines = feeding::fitting(all, steps);
    let ticks: Vec<_> = state
        .supplies
        .ticks
        .iter()
        .filter(|t| t.batch == batch)
        .cloned()
        .collect();
    Some((Checklist::new(lines, &ticks), plan))
}

/// The first step to come once the day is done, with its vessel and day:
/// `Next: J8, day 2, tomorrow: swirl gently.`
pub fn to_come(morning: &Morning, pitched: Moment, batch: BatchId) -> Option<String> {
    let row = morning.accounts.iter().find(|r| r.batch == batch)?;
    let due = row.next.as_ref()?;
    let today = morning.now.day();
    let on = due.opens.max(today);
    let about = if due.forecast || due.waits.is_some() {
        "about "
    } else {
        ""
    };
    let whose = if due.tag.is_empty() {
        &row.name
    } else {
        &due.tag
    };
    Some(format!(
        "Next: {whose}, {}, {about}{}: {}.",
        say::batch_day(batch_day(pitched, on)),
        say::day_short(on, today),
        due.title.trim_end_matches('.')
    ))
}

/// The same of the day that is shown, once its list is closed.
pub fn coming(state: &State) -> Option<String> {
    let batch = state.day.batch?;
    let dossier = state.household.as_ref()?.dossier(batch)?;
    to_come(state.morning.as_ref()?, dossier.batch.pitched?, batch)
}

/// Whether there is a day to go through.
pub fn can_begin(state: &State) -> bool {
    next_batch(state).is_some()
}

/// The line that has the keys.
pub fn current(state: &State) -> Option<Entry> {
    let (list, _) = list(state)?;
    list.entries.into_iter().nth(state.day.at)
}

fn to_next(state: &mut State) {
    let Some((list, _)) = list(state) else { return };
    if let Some(at) = list.entries.iter().position(|e| e.done.is_none()) {
        state.day.at = at;
    }
}

/// After the store was read: on to the next open line.
pub fn loaded(state: &mut State) {
    if state.screen != Screen::Checklist {
        return;
    }
    let done = current(state).is_some_and(|e| e.done.is_some());
    if done && state.day.sent.is_none() {
        to_next(state);
    }
}

/// Carries an action out that belongs to this screen.
pub fn act(state: &mut State, action: Action, typed: Option<char>) -> Effects {
    let last = list(state).map_or(0, |(l, _)| l.entries.len().saturating_sub(1));
    let page = state.rows.max(2) - 1;
    let at = state.day.at;
    match action {
        Action::Up => state.day.at = at.saturating_sub(1),
        Action::Down => state.day.at = (at + 1).min(last),
        Action::PageUp => state.day.at = at.saturating_sub(page),
        Action::PageDown => state.day.at = (at + page).min(last),
        Action::First => state.day.at = 0,
        Action::Last => state.day.at = last,
        Action::Accept => return tick(state),
        Action::Type => amount(state, typed),
        Action::LineClock => start_clock(state),
        Action::Remove => return untick(state),
        _ => {}
    }
    if matches!(action, Action::Up | Action::Down) {
        state.day.insisting = None;
    }
    Vec::new()
}

/// Enter on a line.
fn tick(state: &mut State) -> Effects {
    let (Some(batch), Some(entry)) = (state.day.batch, current(state)) else {
        return Vec::new();
    };
    if state.day.sent.is_some() {
        return Vec::new();
    }
    if entry.done.is_some() {
        to_next(state);
        return Vec::new();
    }
    if matches!(entry.line.doing, Doing::ReadOriginal) {
        amount(state, None);
        return Vec::new();
    }
    let early = list(state).and_then(|(l, _)| l.too_early(&entry.line.key));
    if let Some(why) = early
        && state.day.insisting.as_deref() != Some(entry.line.key.as_str())
    {
        state.day.insisting = Some(entry.line.key.clone());
        state.say(
            NoticeTone::Trouble,
            format!("{why} Enter again does it all the same."),
        );
        return Vec::new();
    }
    let mut deeds = vec![tick_deed(state, batch, &entry, None)];
    if entry.line.doing == Doing::Pitch {
        let vessel = vessel_of(state, batch);
        if vessel.is_none() {
            state.say(
                NoticeTone::Trouble,
                "The plan's vessel is not among yours: choose another in the planner.",
            );
            return Vec::new();
        }
        deeds.push(Deed::Pitch {
            batch,
            vessel,
            at: state.now,
        });
    }
    let ticket = state.ticket();
    state.day.sent = Some(ticket);
    vec![Effect::CarryOut(ticket, deeds)]
}

/// The vessel that the batch lies in, or that its plan is for.
fn vessel_of(state: &State, batch: BatchId) -> Option<VesselId> {
    let household = state.household.as_ref()?;
    if let Some(id) = household.dossier(batch).and_then(|d| d.vessels().next()) {
        return Some(id);
    }
    let tag = &state.supplies.plan(batch)?.vessel.as_ref()?.tag;
    household.vessel_by_tag(tag).map(|v| v.id)
}

/// What really went in, where it differs from the plan.
type Really = (Option<Grams>, Option<Litres>);

fn tick_deed(state: &State, batch: BatchId, entry: &Entry, really: Option<Really>) -> Deed {
    let units = state.settings().units;
    let mut what = entry.line.what.clone();
    let added = match &entry.line.doing {
        Doing::Add {
            kind,
            substance,
            mass,
            volume,
        } => {
            let (mass, volume) = really.unwrap_or((*mass, *volume));
            what = match (mass, volume) {
                (Some(m), _) => format!("{} {substance} in", say::mass(m, units)),
                (None, Some(v)) => format!("{} {substance} in", say::volume(v, units)),
                (None, None) => what,
            };
            Some((
                *kind,
                Given {
                    substance: substance.clone(),
                    mass,
                    volume,
                },
            ))
        }
        _ => None,
    };
    Deed::Tick {
        batch,
        line: entry.line.key.clone(),
        at: Some(state.now),
        added,
        what,
    }
}

/// Opens the pad for what was really used, or for the gravity.
fn amount(state: &mut State, typed: Option<char>) {
    let (Some(batch), Some(entry)) = (state.day.batch, current(state)) else {
        return;
    };
    if entry.done.is_some() {
        return;
    }
    let text = typed.map(String::from).unwrap_or_default();
    match entry.line.doing {
        Doing::ReadOriginal => cell::open(
            state,
            CellFor::Original(batch),
            "original gravity",
            "95 68f is 1.095 read at 68 °F; or 22.7p, 22.7bx",
            &text,
        ),
        Doing::Add { .. } => cell::open(
            state,
            CellFor::Used {
                batch,
                line: entry.line.key.clone(),
            },
            "really used",
            "2.4lb, 1.1kg, 900g, 3.7l: what went in instead",
            &text,
        ),
        _ => {}
    }
}

fn really(state: &State, text: &str) -> Result<Really, String> {
    let units = state.settings().units;
    let wants_volume = current(state).is_some_and(|e| {
        matches!(
            e.line.doing,
            Doing::Add {
                volume: Some(_),
                mass: None,
                ..
            }
        )
    });
    if wants_volume {
        measure::volume(text, units).map(|v| (None, Some(v)))
    } else {
        measure::mass(text, units).map(|m| (Some(m), None))
    }
}

/// What a typed amount would mean.
pub fn used_means(state: &State, text: &str) -> Result<String, String> {
    let units = state.settings().units;
    let (mass, volume) = really(state, text)?;
    let name = match current(state).map(|e| e.line.doing) {
        Some(Doing::Add { substance, .. }) => substance,
        _ => String::new(),
    };
    Ok(match (mass, volume) {
        (Some(m), _) => format!("{} of {name} went in", say::mass(m, units)),
        (_, Some(v)) => format!("{} of {name} went in", say::volume(v, units)),
        _ => String::new(),
    })
}

/// Enter on the pad for what was really used.
pub fn used(state: &mut State, batch: BatchId, line: &str, text: &str) -> Option<(Ticket, Effect)> {
    let really = really(state, text).ok()?;
    let (list, _) = list(state)?;
    let entry = list.entries.into_iter().find(|e| e.line.key == line)?;
    let deed = tick_deed(state, batch, &entry, Some(really));
    let ticket = state.ticket();
    state.day.sent = Some(ticket);
    Some((ticket, Effect::CarryOut(ticket, vec![deed])))
}

fn slip_of(
    state: &State,
    batch: BatchId,
    text: &str,
) -> Result<Vec<crate::domain::deeds::NewReading>, String> {
    let Some(vessel) = vessel_of(state, batch) else {
        return Err("The plan's vessel is not among yours.".to_owned());
    };
    let slip =
        slip::parse(text, state.now, &SlipContext::vessel(state.now)).map_err(|e| e.to_string())?;
    let readings = slip.into_readings(Subject::Vessel(vessel), "hand", false);
    let gravity = readings.iter().any(|r| {
        matches!(
            r.seen.kind(),
            crate::domain::records::MeasureKind::Hydrometer
                | crate::domain::records::MeasureKind::Refractometer
        )
    });
    if gravity {
        Ok(readings)
    } else {
        Err("A gravity is wanted here, such as 95 or 1.095; 68f beside it is the sample's temperature.".to_owned())
    }
}

/// What a typed gravity would mean beside the plan.
pub fn original_means(state: &State, batch: BatchId, text: &str) -> Result<String, String> {
    let readings = slip_of(state, batch, text)?;
    let scale = state.settings().gravity;
    let plan = state
        .supplies
        .plan(batch)
        .ok_or("there is no plan for this batch")?;
    let planned = plan.original();
    let seen = readings
        .iter()
        .find_map(|r| slip::corrected(r.seen, r.sample_temp, None, None))
        .ok_or("that is not a gravity skep can read here")?;
    let off = seen.get() - planned.get();
    let beside = if off.abs() < 0.0005 {
        "as planned".to_owned()
    } else {
        format!(
            "{:.3} {} than planned",
            off.abs(),
            if off > 0.0 { "higher" } else { "lower" }
        )
    };
    Ok(format!("{} corrected, {beside}", say::gravity(seen, scale)))
}

/// Enter on the pad for the original gravity.
pub fn original(state: &mut State, batch: BatchId, text: &str) -> Option<(Ticket, Effect)> {
    let readings = slip_of(state, batch, text).ok()?;
    let (list, _) = list(state)?;
    let entry = list
        .entries
        .into_iter()
        .find(|e| e.line.doing == Doing::ReadOriginal)?;
    let mut deeds = vec![Deed::Record(readings)];
    if entry.done.is_none() {
        deeds.push(Deed::Tick {
            batch,
            line: entry.line.key,
            at: Some(state.now),
            added: None,
            what: "original gravity read".to_owned(),
        });
    }
    let ticket = state.ticket();
    state.day.sent = Some(ticket);
    Some((ticket, Effect::CarryOut(ticket, deeds)))
}

fn start_clock(state: &mut State) {
    let (Some(batch), Some(entry)) = (state.day.batch, current(state)) else {
        return;
    };
    if let Some(seconds) = entry.line.countdown {
        let spot = Spot {
            batch,
            vessel: None,
        };
        state.clock = Some(Clock::start(
            OF_A_LINE,
            spot,
            entry.line.what,
            seconds,
            state.now,
        ));
    }
    if state.clock.is_some() {
        state.overlays.push(Overlay::Clock);
    }
}

/// Whether the line wants the clock.
pub fn can_clock(state: &State) -> bool {
    state.clock.is_some() || current(state).is_some_and(|e| e.line.countdown.is_some())
}

/// Takes the tick off a line that put nothing in.
fn untick(state: &mut State) -> Effects {
    let (Some(batch), Some(entry)) = (state.day.batch, current(state)) else {
        return Vec::new();
    };
    if entry.done.is_none() {
        return Vec::new();
    }
    let deed = Deed::Tick {
        batch,
        line: entry.line.key,
        at: None,
        added: None,
        what: entry.line.what,
    };
    let ticket = state.ticket();
    vec![Effect::CarryOut(ticket, vec![deed])]
}

/// The store has kept it.
pub fn kept(state: &mut State) {
    state.day.sent = None;
    state.day.insisting = None;
}
