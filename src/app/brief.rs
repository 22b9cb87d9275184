//! The sentence of the morning: what needs the maker today, and where.

use super::state::State;
use super::{overridden, say};
use crate::domain::records::clock_behind;
use crate::engine::{Account, Due, Errand, Flag, Morning, State as Doing, Timing, Urgency};

/// The sentence, in order of harm. Short enough to be read standing.
pub fn sentence(state: &State) -> String {
    let Some(morning) = &state.morning else {
        return match &state.household {
            None => "Reading the store.".into(),
            Some(_) => "Working the morning out.".into(),
        };
    };
    if morning.accounts.is_empty() {
        return "Nothing ferments yet.".into();
    }
    let mut said = Vec::new();
    let behind = state
        .household
        .as_ref()
        .and_then(|h| clock_behind(h.last_entry, morning.now));
    said.extend(behind.map(|last| say::clock_behind(last, morning.now)));
    said.extend(trouble(morning));
    said.push(today(morning));
    said.extend(readings(morning));
    said.extend(alone(morning));
    let home = state.household.as_ref();
    said.extend(home.and_then(|h| overridden::brief(&state.supplies, h)));
    said.join(" ")
}

fn named(row: &Account) -> &str {
    if row.tag.is_empty() {
        &row.name
    } else {
        &row.tag
    }
}

/// What goes wrong, apart from steps, one sentence a kind: `J4 is stuck.`
fn trouble(morning: &Morning) -> Vec<String> {
    let mut kinds: Vec<(&'static str, Vec<&str>)> = Vec::new();
    for row in &morning.accounts {
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
        Flag::NoFall { .. } => "does not drop as it should",
        Flag::Heat { .. } => "is too hot",
        Flag::OutsideBand { now, low, .. } if now < low => "is too cold",
        Flag::OutsideBand { .. } => "is too warm",
        Flag::Swing { .. } => "had a swing of temperature",
        Flag::NoReading { .. } => "needs a reading",
        Flag::StepLate { .. } | Flag::StepTooLate { .. } => return None,
    })
}

/// The vessels of some steps, each once; a batch without one by its name.
fn places<'a>(morning: &'a Morning, dues: &[&'a Due]) -> String {
    let mut places: Vec<&str> = Vec::new();
    for due in dues {
        let name = || {
            let of = morning.accounts.iter().find(|a| a.batch == due.batch);
            of.map_or("", |a| a.name.as_str())
        };
        let place = if due.tag.is_empty() {
            name()
        } else {
            due.tag.as_str()
        };
        if !place.is_empty() && !places.contains(&place) {
            places.push(place);
        }
    }
    if places.is_empty() {
        String::new()
    } else {
        format!(" in {}", say::list(&places))
    }
}

/// Late steps first, then what is due, then what can wait.
fn today(morning: &Morning) -> String {
    let steps = morning.errands().into_iter().filter_map(|(_, e)| match e {
        Errand::Step(due) => Some(due),
        Errand::TooLate(_) | Errand::Read(_) => None,
    });
    let late = |d: &&Due| matches!(d.timing, Timing::Late | Timing::Overdue);
    let (late, due): (Vec<&Due>, Vec<&Due>) = steps.partition(late);
    let said = |dues: &[&Due], one: &str, many: &str| {
        (!dues.is_empty()).then(|| {
            let count = say::count_of(dues.len(), one, many);
            format!("{count}{}", places(morning, dues))
        })
    };
    let parts: Vec<String> = [
        said(&late, "step late", "steps late"),
        said(&due, "step today", "steps today"),
    ]
    .into_iter()
    .flatten()
    .collect();
    let more = match (morning.optional().count(), parts.is_empty()) {
        (0, _) => String::new(),
        (n, true) => format!(" {n} if you have time."),
        (n, false) => format!(" {n} more if you have time."),
    };
    if parts.is_empty() {
        format!("Nothing is due today.{more}")
    } else {
        format!("{}.{more}", parts.join("; "))
    }
}

/// Vessels whose gravity the round asks for without any step: `Check the gravity
/// of J1.` What is said above to need a reading, or to stick, is not said twice.
fn readings(morning: &Morning) -> Option<String> {
    let told = |account: &Account| {
        let pressing = account.urgency <= Urgency::Trouble;
        pressing && account.flags.iter().find_map(spoken).is_some()
    };
    let due: Vec<&str> = morning
        .errands()
        .into_iter()
        .filter(|(account, errand)| matches!(errand, Errand::Read(_)) && !told(account))
        .map(|(account, _)| named(account))
        .collect();
    (!due.is_empty()).then(|| format!("Check the gravity of {}.", say::list(&due)))
}

fn alone(morning: &Morning) -> Option<String> {
    let rest: Vec<&str> = morning
        .accounts
        .iter()
        .filter(|r| r.rest_until.is_some() || r.state == Doing::Resting)
        .filter(|r| !morning.due_of(r.batch).any(Due::wants_hands) && r.reading.is_none())
        .map(named)
        .collect();
    (!rest.is_empty()).then(|| format!("Leave {} alone.", say::list(&rest)))
}
