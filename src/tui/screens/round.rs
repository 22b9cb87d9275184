//! The round: one stop, one question, and a line of how far it has come.

use super::shelf::{draw_trend, lines_about, mark, timing_mark, unit, when};
use crate::app::round::{Ask, Outcome, Round, Stop};
use crate::app::{State, advice, cautions, say, state::spot};
use crate::engine::{Account, Action, Due, Flag, Timing, Warning};
use crate::tui::ink::Ink;
use crate::tui::text::width;
use crate::tui::theme::{Mark, Role};
use ratatui::layout::Rect;

/// Draws the round.
pub(super) fn draw(state: &State, ink: &mut Ink) {
    let Some(round) = &state.round else {
        ink.say(0, 0, "No round is under way.", Role::Muted);
        return;
    };
    let y = beads(round, ink) + 1;
    match round.stop() {
        Some(stop) => draw_stop(state, stop, y, ink),
        None => over(state, round, y, ink),
    }
}

/// One mark a stop: done, left, here, to come.
fn beads(round: &Round, ink: &mut Ink) -> u16 {
    let mut x = 0;
    for (i, stop) in round.stops.iter().enumerate() {
        if x + 2 > ink.area.width.saturating_sub(12) {
            ink.say(x, 0, ink.theme.symbol("…", "..."), Role::Muted);
            break;
        }
        if i == round.at {
            ink.say(x, 0, ink.theme.symbol("●", "@"), Role::Accent);
        } else {
            let mark = match &stop.outcome {
                Some(Outcome::Done(_) | Outcome::Gone) => Mark::Done,
                Some(Outcome::Left) => Mark::Skipped,
                None => Mark::Later,
            };
            ink.mark(x, 0, mark);
        }
        x += 2;
    }
    if round.stop().is_some() {
        let text = format!("{} of {}", round.at + 1, round.stops.len());
        ink.right(0, &text, Role::Muted);
    }
    1
}

fn draw_stop(state: &State, stop: &Stop, y: u16, ink: &mut Ink) {
    let row = stop
        .spot
        .and_then(|s| state.shelf_rows().iter().find(|r| spot(r) == s));
    let x = ink.say(0, y, &stop.title, Role::Accent);
    let mut x = ink.say(x + 2, y, &stop.name, Role::Title);
    if let Some(row) = row {
        let mark = mark(row.state);
        x = ink.mark(x + 2, y, mark);
        ink.say(x + 1, y, row.state.word(), mark.tone().role());
    }
    let mut y = y + 1;
    if let Some(row) = row {
        let room = usize::from(ink.area.width);
        ink.say(0, y, &facts(state, row, room), Role::Muted);
        y += 1;
    }
    y += 1;
    y += question(state, stop, y, ink);
    if let Some(row) = row {
        y += 1;
        let asked = asked(state, stop, row);
        let about = lines_about(row, &state.settings(), state.now).into_iter();
        for (text, role) in about.filter(|(text, _)| !asked.contains(text)).take(4) {
            if y >= ink.area.height {
                break;
            }
            y += ink.paragraph(0, y, &text, role);
        }
        beneath(state, stop, y + 1, ink);
    }
}

/// Sentences about a vessel that would only say the question once more.
fn asked(state: &State, stop: &Stop, row: &Account) -> Vec<String> {
    let settings = state.settings();
    let (why, step) = match &stop.ask {
        Ask::Reading(why) => (Some(why.clone()), None),
        Ask::Step(due) | Ask::TooLate(due) => (None, Some(due.step)),
        Ask::Temperature(_) => return Vec::new(),
    };
    let of_step = |flag: &&Flag| match flag {
        Flag::StepLate { step: s, .. } | Flag::StepTooLate { step: s, .. } => Some(*s) == step,
        _ => false,
    };
    let flags = row.flags.iter().filter(of_step);
    let mut asked: Vec<String> = flags.map(|f| f.sentence(&settings)).collect();
    asked.extend(why);
    let alone = row.assessment.advice.iter();
    let alone = alone.filter(|a| a.action == Action::LeaveAlone);
    let (unit, now) = (unit(&settings), state.now);
    asked.extend(alone.map(|a| advice::sentence(row, a, unit, now)));
    asked
}

/// The trend of the vessel one stands at, where there is room left for it.
fn beneath(state: &State, stop: &Stop, y: u16, ink: &mut Ink) {
    const LEAST: u16 = 8;
    let left = ink.area.height.saturating_sub(y);
    if left >= LEAST && stop.spot.is_some() && state.chosen == stop.spot {
        let area = Rect {
            y: ink.area.y + y,
            height: left.min(24),
            width: ink.area.width.min(110),
            ..ink.area
        };
        draw_trend(state, &mut ink.on(area));
    }
}

/// Day, gravity and share, in a line: as many as there is room for.
fn facts(state: &State, row: &Account, room: usize) -> String {
    let settings = state.settings();
    let day = row.day.map(say::batch_day);
    let last = row.last.map(|l| {
        let ago = say::ago(l.at, state.now);
        format!(
            "{}, read {ago}",
            say::gravity(l.corrected, settings.gravity)
        )
    });
    let gone = row
        .fermented()
        .map(|s| format!("{} fermented", say::share(s)));
    let warm = row
        .temperature
        .map(|(t, _)| say::temperature(t, settings.units));
    let mut parts: Vec<String> = [day, last, gone, warm].into_iter().flatten().collect();
    while parts.len() > 1 && width(&parts.join(" · ")) > room {
        parts.pop();
    }
    parts.join(" · ")
}

fn question(state: &State, stop: &Stop, y: u16, ink: &mut Ink) -> u16 {
    match &stop.ask {
        Ask::Step(due) => step(state, due, y, ink),
        Ask::TooLate(due) => {
            let mut rows = ink.paragraph(0, y, &format!("Too late: {}.", due.title), Role::Title);
            if let Some(Warning::PastUse(why)) = &due.warning {
                rows += ink.paragraph(0, y + rows, &why.sentence(), Role::Watch);
            }
            rows + ink.paragraph(0, y + rows, "Enter leaves it out.", Role::Ink)
        }
        Ask::Reading(why) => {
            let rows = ink.paragraph(
                0,
                y,
                "Take a gravity reading. Type it and press Enter.",
                Role::Title,
            );
            rows + ink.paragraph(0, y + rows, why, Role::Ink)
        }
        Ask::Temperature(_) => ink.paragraph(
            0,
            y,
            "What does the thermometer say? Type it and press Enter.",
            Role::Title,
        ),
    }
}

fn step(state: &State, due: &Due, y: u16, ink: &mut Ink) -> u16 {
    let mut rows = ink.paragraph(0, y, &due.title, Role::Title);
    let x = ink.mark(0, y + rows, timing_mark(due.timing)) + 1;
    let (said, role) = when(state, due);
    let x = ink.say(x, y + rows, &said, role);
    if !due.amount.is_empty() {
        ink.say(x + 2, y + rows, &due.amount, Role::Ink);
    }
    rows += 1;
    let late = matches!(due.timing, Timing::Late | Timing::Overdue) && !due.harm.is_empty();
    let text = if late { &due.harm } else { &due.why };
    rows += ink.paragraph(
        0,
        y + rows,
        text,
        if late { Role::Watch } else { Role::Muted },
    );
    if let Some(warning) = &due.warning {
        rows += ink.paragraph(0, y + rows, &warning.sentence(), Role::Watch);
    }
    let vessel = due.vessel.and_then(|v| state.household.as_ref()?.vessel(v));
    if let Some(caution) = cautions::of_step(due.kind, vessel.map(|v| v.kind)) {
        rows += ink.paragraph(0, y + rows, caution, Role::Alarm);
    }
    rows
}

fn over(state: &State, round: &Round, y: u16, ink: &mut Ink) {
    let mut y = y + ink.paragraph(0, y, &round.last_line(), Role::Title) + 1;
    for stop in &round.stops {
        if y >= ink.area.height {
            break;
        }
        let (mark, text) = match &stop.outcome {
            Some(Outcome::Done(said)) => (Mark::Done, without_tag(said, &stop.title).to_owned()),
            Some(Outcome::Left) => (Mark::Skipped, format!("left: {}", wanted(stop))),
            Some(Outcome::Gone) => (Mark::Done, format!("taken care of: {}", wanted(stop))),
            None => (Mark::Later, format!("not reached: {}", wanted(stop))),
        };
        let x = ink.mark(0, y, mark) + 1;
        let x = ink.column(x, y, 10, &stop.title, Role::Title) + 1;
        ink.say(x, y, &text, Role::Ink);
        y += 1;
    }
    y = can_wait(state, y, ink);
    if y + 1 < ink.area.height {
        ink.say(0, y + 1, "Enter goes back to the shelf.", Role::Muted);
    }
}

/// What was kept without the tag that stands before it anyway.
fn without_tag<'s>(said: &'s str, tag: &str) -> &'s str {
    let rest = said.strip_prefix(tag).and_then(|s| s.strip_prefix(": "));
    rest.unwrap_or(said)
}

/// What may be done already, under what was: nothing is left is not said of it.
fn can_wait(state: &State, y: u16, ink: &mut Ink) -> u16 {
    let Some(morning) = &state.morning else {
        return y;
    };
    let open: Vec<&Due> = morning.optional().collect();
    if open.is_empty() || y + 3 > ink.area.height {
        return y;
    }
    let mut y = y + u16::from(y > 2);
    ink.say(0, y, "when you have time", Role::Title);
    y += 1;
    let room = usize::from(ink.area.height.saturating_sub(y + 2)).max(1);
    let shown = if open.len() > room { room - 1 } else { room };
    for due in open.iter().take(shown) {
        let x = ink.mark(0, y, timing_mark(due.timing)) + 1;
        let x = ink.column(x, y, 10, &due.tag, Role::Title) + 1;
        let (said, role) = when(state, due);
        let at = ink.area.width.saturating_sub(width(&said) as u16);
        ink.column(x, y, at.saturating_sub(x + 1), &due.title, Role::Ink);
        ink.say(at, y, &said, role);
        y += 1;
    }
    if open.len() > shown {
        ink.say(
            0,
            y,
            &format!("and {} more", open.len() - shown),
            Role::Muted,
        );
        y += 1;
    }
    y
}

fn wanted(stop: &Stop) -> String {
    match &stop.ask {
        Ask::Step(due) | Ask::TooLate(due) => due.title.clone(),
        Ask::Reading(_) => "a gravity".into(),
        Ask::Temperature(_) => "the temperature".into(),
    }
}
