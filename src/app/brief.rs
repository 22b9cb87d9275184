//! The sentence of the morning: what needs the maker today, and where.

use super::advice::only_reading;
use super::say;
use super::state::State;
use crate::engine::{Due, Flag, Morning, Row, State as Doing, Timing, Urgency};

/// The sentence, in order of harm. Short enough to be read standing.
pub fn sentence(state: &State) -> String {
    let Some(morning) = &state.morning else {
        return match &state.household {
            None => "Reading the store.".into(),
            Some(_) => "Working the morning out.".into(),
        };
    };
    if morning.rows.is_empty() {
        return "Nothing ferments yet.".into();
    }
    let mut said = Vec::new();
    said.extend(trouble(morning));
    said.push(today(morning));
    said.extend(readings(morning));
    said.extend(alone(morning));
    said.join(" ")
}

fn named(row: &Row) -> &str {
    if row.tag.is_empty() {
        &row.name
    } else {
        &row.tag
    }
}

/// What goes wrong, apart from steps, one sentence a kind: `J4 is stuck.`
fn trouble(morning: &Morning) -> Vec<String> {
    let mut kinds: Vec<(&'static str, Vec<&str>)> = Vec::new();
    for row in &morning.rows {
        if row.urgency > Urgency::Trouble {
            continue;
        }
        let Some(word) = row.flags.iter().find_map(spoken) else {
            continue;
        };
        match kinds.iter_mut().find(|(w, _)| *w == word) {
            Some((_, tags)) => tags.push(named(row)),
            None => kinds.push((word, vec![named(row)])),
        }
    }
    kinds
        .into_iter()
        .map(|(word, tags)| match tags.as_slice() {
            [one] => format!("{one} {word}."),
            many => format!("{}: each {word}.", say::list(many)),
        })
        .collect()
}

/// A flag in words after a tag; steps are counted elsewhere.
fn spoken(flag: &Flag) -> Option<&'static str> {
    Some(match flag {
        Flag::BottledUnfinished { .. } => "is bottled but not finished",
        Flag::Stuck { .. } => "seems stuck",
        Flag::NeverStarted { .. } => "has not started",
        Flag::NoFall { .. } => "does not fall as it should",
        Flag::Heat { .. } => "is too hot",
        Flag::OutsideBand { now, low, .. } if now < low => "is too cold",
        Flag::OutsideBand { .. } => "is too warm",
        Flag::Swing { .. } => "had a swing of temperature",
        Flag::NoReading { .. } => "wants a reading",
        Flag::StepLate { .. } | Flag::StepTooLate { .. } => return None,
    })
}

fn tags<'a>(dues: impl Iterator<Item = &'a Due>) -> Vec<&'a str> {
    let mut tags: Vec<&str> = Vec::new();
    for due in dues {
        if !due.tag.is_empty() && !tags.contains(&due.tag.as_str()) {
            tags.push(&due.tag);
        }
    }
    tags
}

fn in_tags(tags: &[&str]) -> String {
    if tags.is_empty() {
        String::new()
    } else {
        format!(" in {}", say::list(tags))
    }
}

fn today(morning: &Morning) -> String {
    let today = morning.now.day();
    let (wanted, open): (Vec<&Due>, Vec<&Due>) = morning
        .due
        .iter()
        .filter(|d| d.wants_hands())
        .partition(|d| d.due <= today);
    let more = match (open.len(), wanted.is_empty()) {
        (0, _) => String::new(),
        (n, true) => format!(" {n} can be done."),
        (n, false) => format!(" {n} more can be done."),
    };
    if wanted.is_empty() {
        return format!("No step wants you today.{more}");
    }
    let overdue: Vec<&Due> = wanted
        .iter()
        .copied()
        .filter(|d| d.timing == Timing::Overdue)
        .collect();
    let all = say::count_of(wanted.len(), "step today", "steps today");
    let places = in_tags(&tags(wanted.iter().copied()));
    match overdue.len() {
        0 => format!("{all}{places}.{more}"),
        n if n == wanted.len() => {
            let late = say::count_of(n, "step is overdue", "steps are overdue");
            format!("{late}{places}.{more}")
        }
        n => format!(
            "{all}{places}; {n} overdue{}.{more}",
            in_tags(&tags(overdue.into_iter()))
        ),
    }
}

/// Vessels whose gravity the round asks for without any step: `Take a gravity
/// of J1.` What is said above to want a reading, or to stick, is not said twice.
fn readings(morning: &Morning) -> Option<String> {
    let told = |row: &Row| {
        let pressing = row.urgency <= Urgency::Trouble;
        pressing && row.flags.iter().find_map(spoken).is_some()
    };
    let wanted: Vec<&str> = morning
        .rows
        .iter()
        .filter(|r| only_reading(r, morning.now) && !told(r))
        .map(named)
        .collect();
    (!wanted.is_empty()).then(|| format!("Take a gravity of {}.", say::list(&wanted)))
}

fn alone(morning: &Morning) -> Option<String> {
    let rest: Vec<&str> = morning
        .rows
        .iter()
        .filter(|r| r.rest_until.is_some() || r.state == Doing::Resting)
        .filter(|r| {
            !morning
                .due
                .iter()
                .any(|d| d.batch == r.batch && d.wants_hands())
        })
        .filter(|r| !only_reading(r, morning.now))
        .map(named)
        .collect();
    (!rest.is_empty()).then(|| format!("Leave {} alone.", say::list(&rest)))
}
