//! One batch: its trend in large, its plan, its ledger, and what it says.

use super::shelf::{advised, draw_trend, lines_about, mark, sureness, timing_mark, when};
use crate::app::batch::{Part, plan_order};
use crate::app::{State, say};
use crate::domain::records::{Event, Fate, LedgerEntry, LedgerLine, Reading, Step, StepStatus};
use crate::engine::{Account, Due, Standing, Timing};
use crate::tui::areas::{self, first_shown};
use crate::tui::ink::Ink;
use crate::tui::text::width;
use crate::tui::theme::{Mark, Role};

/// Draws the batch screen.
pub(super) fn draw(state: &State, ink: &mut Ink) {
    let parts = areas::batch(state, ink.area);
    head(state, &mut ink.on(parts.head));
    draw_trend(state, &mut ink.on(parts.trend));
    tabs(state, &mut ink.on(parts.tabs));
    part(state, state.batch.part, true, &mut ink.on(parts.part));
    if parts.beside.width > 0 {
        let other = match state.batch.part {
            Part::Plan | Part::Ledger => Part::Says,
            Part::Says => Part::Plan,
        };
        part(state, other, false, &mut ink.on(parts.beside));
    }
}

fn head(state: &State, ink: &mut Ink) {
    title(state, ink);
    if let Some(row) = state.chosen_row() {
        let room = usize::from(ink.area.width);
        ink.say(0, 1, &numbers(state, row, room), Role::Ink);
    }
    advised(state, 2, 1, ink);
}

/// Tag, name and state of the chosen batch, in a line.
pub(super) fn title(state: &State, ink: &mut Ink) {
    let Some(dossier) = state.chosen_dossier() else {
        ink.say(0, 0, "This batch is no longer on the shelf.", Role::Muted);
        return;
    };
    let Some(row) = state.chosen_row() else {
        ink.say(0, 0, &dossier.batch.name, Role::Title);
        return;
    };
    let x = ink.say(0, 0, &row.tag, Role::Accent);
    let x = ink.say(if x > 0 { x + 2 } else { 0 }, 0, &row.name, Role::Title);
    let mark = mark(row.state);
    let x = ink.mark(x + 2, 0, mark) + 1;
    ink.say(x, 0, &sureness(row), mark.tone().role());
}

/// The numbers of a batch in a line.
fn numbers(state: &State, row: &Account, room: usize) -> String {
    let settings = state.settings();
    let scale = settings.gravity;
    let today = state.now.day();
    let figures = &row.figures;
    let parts = [
        row.day.map(say::batch_day),
        row.last.map(|l| {
            let ago = say::ago(l.at, state.now);
            format!("{} {ago}", say::gravity(l.corrected, scale))
        }),
        row.fermented()
            .map(|s| format!("{} fermented", say::share(s))),
        figures
            .alcohol
            .map(|a| format!("{} alcohol now", say::abv(a))),
        figures
            .alcohol_end
            .map(|a| format!("{} at the finish", say::abv(a))),
        figures
            .expected_end
            .map(|g| format!("expected final gravity {}", say::gravity_number(g, scale))),
        row.finish_ahead(today)
            .map(|f| format!("finish about {}", say::day_short(f.p50, today))),
    ];
    let mut said = String::new();
    for part in parts.into_iter().flatten() {
        let next = if said.is_empty() {
            part
        } else {
            format!("{said} · {part}")
        };
        // What does not fit whole is left out: a number is never cut.
        if width(&next) > room {
            break;
        }
        said = next;
    }
    said
}

fn tabs(state: &State, ink: &mut Ink) {
    let mut x = 0;
    for part in Part::ALL {
        let role = if part == state.batch.part {
            Role::Accent
        } else {
            Role::Muted
        };
        x = ink.say(x, 0, part.title(), role) + 3;
    }
}

fn part(state: &State, part: Part, keys: bool, ink: &mut Ink) {
    match part {
        Part::Plan => plan(state, keys, ink),
        Part::Ledger => ledger(state, ink),
        Part::Says => says(state, ink),
    }
}

fn plan(state: &State, keys: bool, ink: &mut Ink) {
    let Some(dossier) = state.chosen_dossier() else {
        return;
    };
    let steps = plan_order(dossier);
    if steps.is_empty() {
        ink.say(2, 0, "No steps: this batch has no routine.", Role::Muted);
        return;
    }
    let rows = usize::from(ink.area.height);
    let at = state.batch.plan_at;
    let first = first_shown(at, steps.len(), rows);
    for (i, step) in steps.iter().enumerate().skip(first).take(rows) {
        let y = (i - first) as u16;
        plan_line(state, step, y, ink);
        if keys && i == at {
            ink.here(y);
        }
    }
}

fn plan_line(state: &State, step: &Step, y: u16, ink: &mut Ink) {
    let now = state.now;
    let due = state
        .morning
        .as_ref()
        .and_then(|m| m.due.iter().find(|d| d.step == step.id));
    let (mark, said, role) = match (&step.status, due) {
        (StepStatus::Done { at }, _) => {
            (Mark::Done, say::date_of(at.day(), now.day()), Role::Muted)
        }
        (StepStatus::Skipped { .. }, _) => (Mark::Skipped, "skipped".into(), Role::Muted),
        (StepStatus::Open, Some(due)) => {
            let (said, role) = when_in_full(state, due);
            (timing_mark(due.timing), said, role)
        }
        (StepStatus::Open, None) => unmarked(state, step),
    };
    ink.mark(2, y, mark);
    ink.column(4, y, WHEN, &said, role);
    let text_role = if step.is_open() && passed(state, step).is_none() {
        Role::Ink
    } else {
        Role::Muted
    };
    let mut text = step.rule.title.clone();
    if let StepStatus::Skipped { reason, .. } = &step.status {
        text = format!("{text} ({reason})");
    } else if !step.rule.amount.is_empty() {
        text = format!("{text}: {}", step.rule.amount);
    }
    ink.say(5 + WHEN, y, &text, text_role);
}

/// What became of a step that nobody marked: settled by a reading or the pitch,
/// passed over for a later one, too late.
fn unmarked(state: &State, step: &Step) -> (Mark, String, Role) {
    let Some(standing) = passed(state, step) else {
        return (Mark::Later, String::new(), Role::Muted);
    };
    let mark = match standing {
        Standing::Settled => Mark::Done,
        Standing::Lapsed => Mark::TooLate,
        _ => Mark::Skipped,
    };
    (mark, standing.word().to_owned(), Role::Muted)
}

fn passed(state: &State, step: &Step) -> Option<Standing> {
    state.morning.as_ref()?.passed(step.id)
}

/// Columns for when a step is due.
const WHEN: u16 = 18;

/// When a step is due, as a person says it: `in 3 days, Sat`.
fn when_in_full(state: &State, due: &Due) -> (String, Role) {
    let today = state.now.day();
    let ahead = matches!(due.timing, Timing::Soon | Timing::Later);
    match due.waits {
        Some(waits) if ahead => (waits.when().into(), Role::Muted),
        None if ahead && !due.forecast => (say::day(due.opens, today), Role::Muted),
        _ => when(state, due),
    }
}

fn ledger(state: &State, ink: &mut Ink) {
    let mine = state.chosen.map(|c| c.batch);
    let view = &state.batch;
    if view.ledger.as_ref().map(|(b, _)| *b) != mine {
        ink.say(2, 0, "Reading the ledger.", Role::Muted);
        return;
    }
    let length = view.lines().count();
    if length == 0 {
        ink.say(2, 0, "Nothing is written down yet.", Role::Muted);
        return;
    }
    let rows = usize::from(ink.area.height);
    let first = first_shown(view.ledger_at, length, rows);
    for (i, line) in view.lines().enumerate().skip(first).take(rows) {
        let y = (i - first) as u16;
        ledger_line(state, line, y, ink);
        if view.part == Part::Ledger && i == view.ledger_at {
            ink.here(y);
        }
    }
}

fn ledger_line(state: &State, line: &LedgerLine, y: u16, ink: &mut Ink) {
    let gone = match line.fate {
        Fate::Stands => None,
        Fate::Mended { .. } => Some("mended"),
        Fate::Removed { .. } => Some("taken out"),
        Fate::Undone { .. } => Some("undone"),
    };
    let role = if gone.is_some() {
        Role::Faint
    } else {
        Role::Ink
    };
    // A narrow screen has no room for the hour.
    let roomy = ink.area.width >= 56;
    let (when, kinds, texts) = if roomy {
        (say::when(line.at, state.now), 21, 34)
    } else {
        (say::day_short(line.at.day(), state.now.day()), 13, 23)
    };
    ink.column(2, y, kinds - 3, &when, Role::Muted);
    let (kind, text) = words(state, &line.entry);
    ink.column(kinds, y, texts - kinds - 1, &kind, role);
    let text = match gone {
        Some(gone) => format!("{text}  ({gone})"),
        None => text,
    };
    ink.say(texts, y, &text, role);
}

/// An entry as a kind and the rest.
fn words(state: &State, entry: &LedgerEntry) -> (String, String) {
    match entry {
        LedgerEntry::Reading(reading) => reading_words(reading),
        LedgerEntry::Event(event) => (event.kind.word().into(), event_words(state, event)),
        LedgerEntry::StepDone { title, .. } => ("done".into(), title.clone()),
        LedgerEntry::StepSkipped { title, reason, .. } => {
            ("skipped".into(), format!("{title}: {reason}"))
        }
        LedgerEntry::StepMoved { title, to, .. } => {
            let day = say::date_of(*to, state.now.day());
            ("moved".into(), format!("{title} to {day}"))
        }
        LedgerEntry::Arrived(stay) => ("into".into(), tag(state, stay.vessel)),
        LedgerEntry::Left(stay) => ("out of".into(), tag(state, stay.vessel)),
        LedgerEntry::Filled(lot) => {
            let size = say::volume(lot.size, state.settings().units);
            ("bottled".into(), format!("{} of {size}", lot.count))
        }
        LedgerEntry::Drawn(draw) => (
            draw.kind.word().into(),
            format!("{} {}", draw.count, draw.whom),
        ),
        LedgerEntry::Tasted(taste) => ("tasted".into(), taste.words.clone()),
        LedgerEntry::Changed { name } => ("changed".into(), name.clone()),
    }
}

fn tag(state: &State, vessel: crate::domain::records::VesselId) -> String {
    state
        .household
        .as_ref()
        .and_then(|h| h.vessel(vessel))
        .map_or_else(String::new, |v| v.tag.clone())
}

fn reading_words(reading: &Reading) -> (String, String) {
    use crate::domain::records::{MeasureKind, Unit};
    let seen = reading.seen;
    let mut text = match (seen.kind(), seen.unit()) {
        (MeasureKind::Hydrometer, Unit::Sg) => format!("{:.3} SG", seen.value()),
        (_, unit) => format!("{} {unit}", seen.value()),
    };
    if let Some(t) = reading.sample_temp {
        text = format!("{text}, sample {} {}", t.value(), t.unit());
    }
    if reading.doubted {
        text = format!("{text}, kept in spite of a doubt");
    }
    if !matches!(reading.source.as_str(), "hand" | "shell") {
        text = format!("{text}, from {}", reading.source);
    }
    if !reading.note.is_empty() {
        text = format!("{text}  '{}'", reading.note);
    }
    let kind = match seen.kind() {
        MeasureKind::Hydrometer => "gravity",
        kind => kind.word(),
    };
    (kind.into(), text)
}

fn event_words(state: &State, event: &Event) -> String {
    let units = state.settings().units;
    let parts = [
        event.mass.map(|m| say::mass(m, units)),
        event.volume.map(|v| say::volume(v, units)),
        (!event.substance.is_empty()).then(|| event.substance.clone()),
        (!event.note.is_empty()).then(|| format!("'{}'", event.note)),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    parts.join(" ")
}

fn says(state: &State, ink: &mut Ink) {
    let Some(row) = state.chosen_row() else {
        return;
    };
    let settings = state.settings();
    let skip = if state.batch.part == Part::Says {
        state.batch.says_at
    } else {
        0
    };
    let mut lines = lines_about(row, &settings, state.now);
    let unit = super::shelf::unit(&settings);
    let said = &row.assessment;
    let avoid = said.advice.first().into_iter().flat_map(|a| &a.avoid);
    lines.extend(avoid.map(|a| (a.sentence(unit), Role::Watch)));
    let causes = said.causes.iter();
    lines.extend(causes.map(|c| (c.sentence(unit), Role::Muted)));
    let holds = row.holds.iter();
    lines.extend(holds.map(|h| (format!("Hold: {}", h.sentence(unit)), Role::Muted)));
    let beside = state.healthy.get(&crate::app::state::spot(row));
    let what_ifs = beside.iter().flat_map(|b| b.what_ifs.iter().flatten());
    lines.extend(what_ifs.map(|w| (w.sentence(unit), Role::Muted)));
    if lines.is_empty() {
        ink.say(2, 0, "Nothing to say yet: take a reading.", Role::Muted);
    }
    let skip = skip.min(lines.len().saturating_sub(1));
    let mut y = 0;
    for (text, role) in lines.iter().skip(skip) {
        if y >= ink.area.height {
            break;
        }
        y += ink.paragraph(2, y, text, *role);
    }
}
