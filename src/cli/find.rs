//! Vessels, places and steps by the words a maker types.

use super::trouble::Trouble;
use crate::domain::records::{Dossier, Household, Place, Step, Vessel};
use crate::domain::text::safe;
use crate::engine::Morning;
use crate::work;
use chrono::NaiveDate;

/// The vessel with that tag.
pub(super) fn vessel<'h>(household: &'h Household, tag: &str) -> Result<&'h Vessel, Trouble> {
    work::vessel_by_tag(household, tag).map_err(|why| Trouble::not_found(why.to_string()))
}

/// What lies in the vessel with that tag.
pub(super) fn dossier<'h>(
    household: &'h Household,
    tag: &str,
) -> Result<(&'h Vessel, &'h Dossier), Trouble> {
    let vessel = vessel(household, tag)?;
    let lies = household.in_vessel(vessel.id);
    lies.map(|dossier| (vessel, dossier))
        .ok_or_else(|| empty(vessel))
}

/// That nothing lies in a vessel.
pub(super) fn empty(vessel: &Vessel) -> Trouble {
    let tag = safe(&vessel.tag);
    Trouble::not_found(format!(
        "nothing lies in {tag}; skep start {tag} ROUTINE begins a batch in it"
    ))
}

/// The place of that name, without regard to case.
pub(super) fn place<'h>(household: &'h Household, name: &str) -> Option<&'h Place> {
    let name = name.trim().to_lowercase();
    household
        .places
        .iter()
        .find(|p| p.name.to_lowercase() == name)
}

/// The open step that a word means: its number, its key, or the beginning of
/// its key, kind or title. Of several the one that is due, or else the next,
/// is meant.
pub(super) fn step<'d>(
    dossier: &'d Dossier,
    morning: &Morning,
    word: &str,
) -> Result<&'d Step, Trouble> {
    if let Ok(number) = word.parse::<usize>() {
        return numbered(dossier, number);
    }
    let word = word.trim().to_lowercase();
    if let Some(exact) = open(dossier).find(|s| s.rule.key.to_lowercase() == word) {
        return Ok(exact);
    }
    let found: Vec<&Step> = open(dossier).filter(|s| begins(s, &word)).collect();
    let Some(first) = next_of(&found, morning) else {
        return Err(Trouble::not_found(format!(
            "no open step is called '{word}'; {}",
            open_list(dossier)
        )));
    };
    let rivals: Vec<&Step> = found
        .iter()
        .copied()
        .filter(|s| rank(s, morning) == rank(first, morning) && s.rule.kind != first.rule.kind)
        .chain([first])
        .collect();
    if rivals.len() > 1 {
        return Err(Trouble::usage(format!(
            "'{word}' can mean several steps: {}; name one by its number or key",
            listed(dossier, &rivals)
        )));
    }
    Ok(first)
}

/// The one open step that wants hands today.
pub(super) fn wanted_step<'d>(
    dossier: &'d Dossier,
    morning: &Morning,
) -> Result<&'d Step, Trouble> {
    let wanted: Vec<&Step> = open(dossier)
        .filter(|s| {
            morning
                .due
                .iter()
                .any(|d| d.step == s.id && d.wants_hands())
        })
        .collect();
    match wanted.as_slice() {
        [only] => Ok(only),
        [] => Err(Trouble::not_found(format!(
            "no step is due today; name one: {}",
            open_list(dossier)
        ))),
        several => Err(Trouble::usage(format!(
            "several steps are due: {}; name one by its number or key",
            listed(dossier, several)
        ))),
    }
}

fn numbered(dossier: &Dossier, number: usize) -> Result<&Step, Trouble> {
    let step = number.checked_sub(1).and_then(|i| dossier.steps.get(i));
    match step {
        Some(step) if step.is_open() => Ok(step),
        Some(step) => Err(Trouble::usage(format!(
            "step {number} ({}) is settled already; skep undo takes the last change back",
            safe(&step.rule.title)
        ))),
        None => Err(Trouble::not_found(format!(
            "there is no step {number}; {}",
            open_list(dossier)
        ))),
    }
}

fn open(dossier: &Dossier) -> impl Iterator<Item = &Step> {
    dossier.steps.iter().filter(|s| s.is_open())
}

fn begins(step: &Step, word: &str) -> bool {
    let rule = &step.rule;
    let title = rule.title.to_lowercase();
    rule.key.to_lowercase().starts_with(word)
        || rule.kind.word().starts_with(word)
        || title.starts_with(word)
        || title.split_whitespace().any(|w| w == word)
}

/// What is due comes first, then what has a day, by that day.
fn rank(step: &Step, morning: &Morning) -> (u8, NaiveDate) {
    match morning.due.iter().find(|d| d.step == step.id) {
        Some(due) if due.wants_hands() => (0, due.due),
        Some(due) => (1, due.due),
        None => (2, NaiveDate::MAX),
    }
}

fn next_of<'d>(steps: &[&'d Step], morning: &Morning) -> Option<&'d Step> {
    steps.iter().copied().min_by_key(|s| rank(s, morning))
}

fn open_list(dossier: &Dossier) -> String {
    let steps: Vec<&Step> = open(dossier).collect();
    if steps.is_empty() {
        "all its steps are settled".to_owned()
    } else {
        format!("open are {}", listed(dossier, &steps))
    }
}

fn listed(dossier: &Dossier, steps: &[&Step]) -> String {
    let names: Vec<String> = dossier
        .steps
        .iter()
        .enumerate()
        .filter(|(_, s)| steps.iter().any(|t| t.id == s.id))
        .map(|(i, s)| format!("{} {}", i + 1, safe(&s.rule.key)))
        .collect();
    names.join(", ")
}
