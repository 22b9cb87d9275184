//! What stands beside the form of bottling day.

use super::keg;
use super::outcome::{Outcome, outcome};
use crate::app::panel::{Line, LineTone, line};
use crate::app::state::State;
use crate::app::{cautions, say};
use crate::domain::records::{Fizz, UnitSystem};
use crate::domain::sums::carbonation::Verdict;
use crate::domain::units::Litres;
use crate::engine::Voice;
use crate::engine::bottling::{self, BottleStock, Hold};
use chrono::Days;

/// Whether it may be bottled, said first and over the whole width.
#[derive(Debug, Clone)]
pub struct VerdictLines {
    /// The verdict itself.
    pub head: Line,
    /// Each hold, and what would lift it and from when, where that is not said
    /// for the next one too.
    pub holds: Vec<(String, Option<String>)>,
    /// The same in few words, one row each, for a small screen.
    pub brief: Vec<(String, String)>,
    /// What else there is to say about it.
    pub notes: Vec<Line>,
}

/// The verdict; none while something typed can't be understood.
pub fn verdict(state: &State) -> Option<VerdictLines> {
    let outcome = outcome(state).ok()?;
    let holds = &outcome.holds;
    if holds.is_empty() {
        return Some(VerdictLines {
            head: line(LineTone::Good, "Clear to bottle: no holds."),
            holds: Vec::new(),
            brief: Vec::new(),
            notes: vec![line(
                LineTone::Muted,
                "Steady gravity, the forecast and the expected final gravity agree.",
            )],
        });
    }
    let unit = Voice::of(&state.settings());
    let mut said = Vec::new();
    let mut earliest = None;
    for (hold, way) in holds.iter().zip(bottling::ways_out(holds, state.now)) {
        let way = way.map(|(way, day)| {
            earliest = earliest.max(day);
            let when = day.map(|d| format!(" Not before {}.", say::date_of(d, state.now.day())));
            format!("> {way}{}", when.unwrap_or_default())
        });
        said.push((hold.sentence(unit), way));
    }
    let count = say::count_of(holds.len(), "reason", "reasons");
    let when = earliest.map(|d| format!("; not before {}", say::date_of(d, state.now.day())));
    let mut notes = Vec::new();
    if holds.iter().any(Hold::guards_against_bursting) {
        notes.push(line(LineTone::Watch, cautions::BOTTLES));
    }
    notes.push(line(
        LineTone::Muted,
        "Only a typed reason overrides a hold; the ledger records it.",
    ));
    Some(VerdictLines {
        head: line(
            LineTone::Alarm,
            format!("HOLD: not yet. {count}{}.", when.unwrap_or_default()),
        ),
        holds: said,
        brief: holds
            .iter()
            .map(|h| h.brief(unit, state.now))
            .map(|(why, way)| (why, format!("> {way}")))
            .collect(),
        notes,
    })
}

/// What stands beside the form.
pub fn lines(state: &State) -> Vec<Line> {
    let outcome = match outcome(state) {
        Ok(outcome) => outcome,
        Err(w) => return vec![line(LineTone::Alarm, w.why)],
    };
    let units = state.settings().units;
    let mut lines = vec![line(LineTone::Title, "bottles")];
    match &outcome.keg {
        Some(keg) => lines = keg::lines(keg, units),
        None => bottle_lines(&outcome, units, &mut lines),
    }
    if outcome.fizz != Fizz::Still {
        gas_lines(&outcome, units, &mut lines);
    }
    later_lines(state, &outcome, &mut lines);
    lines
}

fn bottle_lines(outcome: &Outcome, units: UnitSystem, lines: &mut Vec<Line>) {
    let counts = &outcome.day.fitted.counts;
    for ((kind, count), verdict) in outcome.kinds.iter().zip(counts).zip(&outcome.day.verdicts) {
        if *count == 0 {
            continue;
        }
        let (said, tone) = match verdict {
            _ if outcome.fizz == Fizz::Still => ("", LineTone::Plain),
            Verdict::Within => (": strong enough", LineTone::Good),
            Verdict::Tight => (": just strong enough", LineTone::Watch),
            Verdict::Beyond => (": not strong enough", LineTone::Alarm),
        };
        let limit = BottleStock::of(kind, *count).limit();
        let rated = limit
            .filter(|_| outcome.fizz != Fizz::Still)
            .map_or_else(String::new, |l| {
                format!(", rated for {}", say::pressure(l.pressure, units))
            });
        lines.push(line(tone, format!("{count} x {}{said}{rated}", kind.name)));
    }
    if counts.iter().all(|c| *c == 0) {
        lines.push(line(LineTone::Watch, "No bottle takes any of it."));
    }
    let volume = |v: Litres| say::volume(v, units);
    lines.push(line(
        LineTone::Plain,
        format!(
            "{} in bottles, {} over for a glass, {} left behind on the lees",
            volume(outcome.shares.bottled),
            volume(outcome.shares.over),
            volume(outcome.shares.lost)
        ),
    ));
    if bottling::run_out(&outcome.shares, &outcome.stock, counts) {
        lines.push(line(
            LineTone::Watch,
            "Bottles run out: put more into the pantry, or count the rest as left behind.",
        ));
    }
}

fn gas_lines(outcome: &Outcome, units: UnitSystem, lines: &mut Vec<Line>) {
    let day = &outcome.day;
    if let Some(priming) = day.priming {
        lines.push(line(
            LineTone::Title,
            format!(
                "{} of {}",
                say::weighed(priming.amount, units),
                outcome.primer
            ),
        ));
        lines.push(line(
            LineTone::Plain,
            format!(
                "{:.1} volumes already dissolved, {:.1} added: boil in a little water, cool, mix gently. It adds {} of alcohol and {} of drink.",
                day.residual.get(),
                priming.added.get(),
                say::abv(priming.alcohol),
                say::volume(day.swelling, units)
            ),
        ));
    }
    for stored in &day.stored {
        lines.push(line(
            LineTone::Plain,
            format!(
                "at {}: {}, with safety margin {}; worst case {}",
                say::temperature(stored.at, units),
                say::pressure(stored.gauge, units),
                say::pressure(stored.safe, units),
                say::pressure(stored.worst, units)
            ),
        ));
    }
    lines.push(line(
        LineTone::Muted,
        format!(
            "The worst case: all that is left ferments too, {:.1} volumes.",
            day.worst.get()
        ),
    ));
    if outcome.holds.is_empty() {
        lines.push(line(LineTone::Watch, cautions::BOTTLES));
    }
}

fn later_lines(state: &State, outcome: &Outcome, lines: &mut Vec<Line>) {
    if outcome.keg.is_some() {
        return;
    }
    let today = state.now.day();
    let on = |days: i64| today + Days::new(days.max(0).unsigned_abs());
    lines.push(line(
        LineTone::Plain,
        format!(
            "Ready from {}, best until {}.",
            say::date_of(on(outcome.ready), today),
            say::date_of(on(outcome.keep), today)
        ),
    ));
    let places = state.household.as_ref().map_or(&[][..], |h| &h.places);
    let bright = places.iter().any(|p| p.id == outcome.place && !p.dark);
    let clear = outcome
        .kinds
        .iter()
        .zip(&outcome.day.fitted.counts)
        .any(|(k, n)| k.clear_glass && *n > 0);
    if bright && clear {
        lines.push(line(
            LineTone::Watch,
            "Clear glass in a place that is not dark: light spoils it. Box the bottles.",
        ));
    }
    if state.chosen_dossier().is_some_and(|d| {
        let vessel = state.chosen.and_then(|c| c.vessel);
        bottling::sulfited(d, vessel, state.now)
    }) {
        lines.push(line(LineTone::Watch, cautions::SULFITE));
    }
}
