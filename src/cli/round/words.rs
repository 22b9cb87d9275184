//! What the round says, a sentence a line, and what an answer means. Nothing
//! is aligned or broken: a screen reader reads it as it stands.

use crate::app::overlay::Overlay;
use crate::app::round::{Ask, Stop};
use crate::app::slip::Understood;
use crate::app::state::spot;
use crate::app::{State, advice, cautions, say};
use crate::cli::report::text::{due_when, unit_of};
use crate::domain::records::StepKind;
use crate::engine::{Account, Due, Timing, Warning};

/// What can be answered.
pub(super) const HELP: &str = "\
Type what you saw, as in the dashboard: 42 is 1.042, then 68f a temperature, ph3.4, 4312g, and a note after a quote.
yes or an empty line: the step is done. done 2 g nutrient: done, with what was added.
later: leave it. back: the stop before. skip WHY: leave the step out. move DAY: put it on another day.
why: what skep makes of this vessel. due: everything that is due. undo: take the last change back. end: stop here.";

/// What an answer means.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Answer<'a> {
    Yes,
    Done(&'a str),
    Later,
    Back,
    Skip(&'a str),
    Move(&'a str),
    Undo,
    Due,
    Why,
    Help,
    End,
    Slip(&'a str),
}

pub(super) fn answer(line: &str) -> Answer<'_> {
    let line = line.trim();
    let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let rest = rest.trim();
    let alone = rest.is_empty();
    match word.to_lowercase().as_str() {
        "" => Answer::Yes,
        "yes" | "y" if alone => Answer::Yes,
        "done" | "d" => Answer::Done(rest),
        "later" | "l" | "no" | "n" if alone => Answer::Later,
        "back" if alone => Answer::Back,
        "skip" => Answer::Skip(rest),
        "move" => Answer::Move(rest),
        "undo" if alone => Answer::Undo,
        "due" if alone => Answer::Due,
        "why" | "why?" if alone => Answer::Why,
        "help" | "?" if alone => Answer::Help,
        "end" | "quit" | "q" if alone => Answer::End,
        _ => Answer::Slip(line),
    }
}

pub(super) fn beginning(state: &State) -> String {
    let stops = state.round.as_ref().map_or(0, |r| r.stops.len());
    let day = state.now.datetime().format("%A %-d %B").to_string();
    match stops {
        0 => format!("{day}."),
        n => format!(
            "{day}: {}. Type help to hear what can be answered.",
            say::count_of(n, "stop", "stops")
        ),
    }
}

fn row_of<'s>(state: &'s State, stop: &Stop) -> Option<&'s Account> {
    let here = stop.spot?;
    state.shelf_rows().iter().find(|r| spot(r) == here)
}

/// Where the round stands, and what is wanted there.
pub(super) fn stop(state: &State, stop: &Stop) -> Vec<String> {
    let round = state.round.as_ref();
    let (at, all) = round.map_or((0, 0), |r| (r.at + 1, r.stops.len()));
    let mut lines = vec![String::new()];
    let mut said = format!("{at} of {all}: {}", stop.title);
    if stop.title != stop.name {
        said = format!("{said}, {}", stop.name);
    }
    if let Some(row) = row_of(state, stop) {
        said = format!("{said}, {}", standing(state, row));
    }
    lines.push(format!("{said}."));
    match &stop.ask {
        Ask::Step(due) => lines.extend(step(state, due)),
        Ask::TooLate(due) => {
            lines.push(format!("Too late: {}.", due.title));
            lines.extend(due.warning.as_ref().map(Warning::sentence));
        }
        Ask::Reading(why) => lines.push(why.clone()),
        Ask::Temperature(_) => {}
    }
    lines
}

/// State, day, the last reading.
fn standing(state: &State, row: &Account) -> String {
    let scale = state.settings().gravity;
    let day = row.day.map(say::batch_day);
    let last = row.last.map(|l| {
        let ago = say::ago(l.at, state.now);
        format!("{} read {ago}", say::gravity(l.corrected, scale))
    });
    let parts = [Some(row.state.word().to_owned()), day, last];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    parts.join(", ")
}

fn step(state: &State, due: &Due) -> Vec<String> {
    let mut lines = vec![format!("{}.", line_of(state, due))];
    let late = matches!(due.timing, Timing::Late | Timing::Overdue) && !due.harm.is_empty();
    lines.push(if late {
        due.harm.clone()
    } else {
        due.why.clone()
    });
    lines.extend(due.warning.as_ref().map(Warning::sentence));
    let vessel = due
        .vessel
        .and_then(|v| state.household.as_ref()?.vessel(v))
        .map(|v| v.kind);
    let caution = cautions::of_step(due.kind, vessel);
    lines.extend(caution.map(|c| format!("Caution: {c}")));
    lines.retain(|l| !l.is_empty());
    lines
}

/// A step with its day and amount.
fn line_of(state: &State, due: &Due) -> String {
    let when = due_when(due, state.now.day());
    let amount = if due.amount.is_empty() {
        String::new()
    } else {
        format!(", {}", due.amount)
    };
    format!("{}, {when}{amount}", due.title)
}

/// The one question of a stop.
pub(super) fn question(stop: &Stop) -> &'static str {
    match &stop.ask {
        Ask::Step(due) if due.kind == StepKind::Read => "What does it say?",
        Ask::Step(_) => "Done?",
        Ask::TooLate(_) => "Leave it out?",
        Ask::Reading(_) => "What is its gravity?",
        Ask::Temperature(_) => "What does the thermometer say?",
    }
}

/// What skep makes of a vessel.
pub(super) fn about(state: &State, stop: &Stop) -> Vec<String> {
    let settings = state.settings();
    let unit = unit_of(&settings);
    let Some(row) = row_of(state, stop) else {
        return vec!["One reading here counts for every vessel of the place.".into()];
    };
    let flags = row.flags.iter().map(|f| f.sentence(&settings));
    let advice = row
        .assessment
        .advice
        .iter()
        .map(|a| advice::sentence(row, a, unit, state.now));
    let evidence = row.assessment.evidence.iter().map(|e| e.sentence(unit));
    let lines: Vec<String> = flags.chain(advice).chain(evidence).collect();
    if lines.is_empty() {
        return vec!["Nothing to say yet: take a reading.".into()];
    }
    lines
}

/// What may be done already and can wait, a sentence each.
pub(super) fn can_wait(state: &State) -> Vec<String> {
    let open: Vec<&Due> = state.morning.iter().flat_map(|m| m.optional()).collect();
    let mut lines: Vec<String> = open.iter().map(|due| whole(state, due)).collect();
    if !lines.is_empty() {
        lines.insert(0, "When you have time:".into());
    }
    lines
}

/// A step with whose it is, as a sentence.
fn whole(state: &State, due: &Due) -> String {
    let dossier = state.household.as_ref().and_then(|h| h.dossier(due.batch));
    let name = dossier.map_or("", |d| d.batch.name.as_str());
    let whose = format!("{} {name}", due.tag);
    format!("{}: {}.", whose.trim(), line_of(state, due))
}

/// Everything that is due or comes within a week, a sentence each.
pub(super) fn due(state: &State) -> Vec<String> {
    let all = state.morning.as_ref().map_or(&[][..], |m| &m.due);
    let listed = all
        .iter()
        .filter(|d| d.wants_hands() || (d.timing == Timing::Soon && d.waits.is_none()));
    let lines: Vec<String> = listed.map(|due| whole(state, due)).collect();
    if lines.is_empty() {
        return vec!["Nothing is due.".into()];
    }
    lines
}

/// Why a pad could not be accepted.
pub(super) fn objection(mut pad: Overlay) -> String {
    let unclear = match &pad {
        Overlay::Slip(slip) => match &slip.understood {
            Understood::Unclear(why) => Some(why.clone()),
            Understood::Nothing | Understood::Clear { .. } => None,
        },
        _ => None,
    };
    let errand = pad.errand_mut();
    let said = errand.and_then(|e| e.refused.take().or_else(|| e.missing.take()));
    match unclear.or(said) {
        Some(why) => format!("Not kept: {why}"),
        None => "Not kept.".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_commands_only_where_they_stand_first_and_fit() {
        assert_eq!(answer(""), Answer::Yes);
        assert_eq!(answer(" Yes "), Answer::Yes);
        assert_eq!(answer("done 2.1 g DAP"), Answer::Done("2.1 g DAP"));
        assert_eq!(answer("skip no time"), Answer::Skip("no time"));
        assert_eq!(answer("move +2d"), Answer::Move("+2d"));
        assert_eq!(answer("1.042 68f"), Answer::Slip("1.042 68f"));
        assert_eq!(answer("'done by Anna"), Answer::Slip("'done by Anna"));
        // More words after it: what was typed goes to the grammar, which says so.
        assert_eq!(answer("later maybe"), Answer::Slip("later maybe"));
    }
}
