//! Vessels against weeks.

use crate::app::{State, say, season};
use crate::engine::AirState;
use crate::engine::State as Doing;
use crate::engine::season::{AwayAdvice, Lane, Season, Span};
use crate::tui::areas::first_shown;
use crate::tui::ink::Ink;
use crate::tui::theme::{Mark, Role};
use chrono::NaiveDate;
use ratatui::layout::Rect;

/// Columns before the weeks: tag and the day it falls free.
const HEAD: u16 = 15;
/// Columns of a week.
const WEEK: u16 = 7;

/// Draws the screen.
pub(super) fn draw(state: &State, ink: &mut Ink) {
    let Some(season) = season::shown(state) else {
        ink.paragraph(0, 0, "The household is being read.", Role::Muted);
        return;
    };
    let height = ink.area.height;
    let lanes = (season.lanes.len() as u16 + 4).min(height * 3 / 5).max(5);
    let above = Rect {
        height: lanes.min(height),
        ..ink.area
    };
    chart(state, &season, &mut ink.on(above));
    let below = Rect {
        y: ink.area.y + above.height + 1,
        height: height.saturating_sub(above.height + 1),
        ..ink.area
    };
    if state.season.leaving {
        leaving(state, &mut ink.on(below));
    } else {
        clashes(state, &season, &mut ink.on(below));
    }
}

/// How many weeks there is room for.
fn columns(ink: &Ink) -> usize {
    usize::from(ink.area.width.saturating_sub(HEAD) / WEEK).max(1)
}

fn chart(state: &State, season: &Season, ink: &mut Ink) {
    let n = columns(ink);
    let weeks = season.weeks.iter().skip(state.season.skip).take(n);
    for (i, week) in (0u16..).zip(weeks) {
        let x = HEAD + i * WEEK;
        let role = if week.away { Role::Watch } else { Role::Muted };
        ink.column(
            x,
            0,
            WEEK - 1,
            &week.monday.format("%-d %b").to_string(),
            role,
        );
        let wants = if week.away { "away" } else { "" };
        ink.column(x, 1, WEEK - 1, wants, Role::Watch);
    }
    let rows = usize::from(ink.area.height.saturating_sub(4));
    let first = first_shown(state.season.at, season.lanes.len(), rows);
    let from = season
        .weeks
        .get(state.season.skip)
        .map_or(state.now.day(), |w| w.monday);
    for (y, (i, lane)) in (2u16..).zip(season.lanes.iter().enumerate().skip(first).take(rows)) {
        one_lane(state, lane, i == state.season.at, (from, n), y, ink);
    }
    foot(state, season, n, ink);
}

/// Bottles wanted and vessels free in each week.
fn foot(state: &State, season: &Season, n: usize, ink: &mut Ink) {
    let y = ink.area.height.saturating_sub(2);
    ink.say(0, y, "free vessels", Role::Muted);
    ink.say(0, y + 1, "bottles wanted", Role::Muted);
    let weeks = season.weeks.iter().skip(state.season.skip).take(n);
    for (i, week) in (0u16..).zip(weeks) {
        let x = HEAD + i * WEEK;
        let short = week.vessels_wanted > week.vessels_free;
        let role = if short { Role::Alarm } else { Role::Muted };
        let mark = if short { "!" } else { "" };
        ink.column(
            x,
            y,
            WEEK - 1,
            &format!("{}{mark}", week.vessels_free),
            role,
        );
        if week.bottles_wanted > 0 {
            let short = week.bottles_left.is_some_and(|l| l < 0);
            let role = if short { Role::Alarm } else { Role::Ink };
            let mark = if short { "!" } else { "" };
            let text = format!("{}{mark}", week.bottles_wanted);
            ink.column(x, y + 1, WEEK - 1, &text, role);
        }
    }
}

fn one_lane(
    state: &State,
    lane: &Lane,
    here: bool,
    (from, weeks): (NaiveDate, usize),
    y: u16,
    ink: &mut Ink,
) {
    if here {
        ink.here(y);
    }
    let tag = if lane.tag.is_empty() {
        "none"
    } else {
        lane.tag.as_str()
    };
    let role = if here { Role::Title } else { Role::Ink };
    ink.column(2, y, 5, tag, role);
    let today = state.now.day();
    let free = match lane.free {
        Some(day) if day <= today && lane.spans.is_empty() => "free".to_owned(),
        Some(day) => say::date_of(day, today),
        None => "open".to_owned(),
    };
    ink.column(8, y, HEAD - 9, &free, Role::Muted);
    let mut named = None;
    for (n, span) in lane.spans.iter().enumerate() {
        let ends = lane
            .spans
            .get(n + 1)
            .is_none_or(|next| next.batch != span.batch);
        if bar(span, ends && named != Some(span.batch), from, weeks, y, ink) {
            named = Some(span.batch);
        }
    }
}

/// One stretch; gives whether its name stands on it.
fn bar(span: &Span, last: bool, from: NaiveDate, weeks: usize, y: u16, ink: &mut Ink) -> bool {
    let width = i64::from(WEEK) * weeks.cast_signed() as i64;
    let column = |day: NaiveDate| (day - from).num_days() * i64::from(WEEK) / 7;
    let start = column(span.from).max(0);
    let end = span.until.map_or(width, column).min(width);
    if end <= 0 || start >= width {
        return false;
    }
    let length = (end - start).max(1) as usize;
    let ferments = !matches!(
        span.state,
        Doing::Planned | Doing::Resting | Doing::Ageing | Doing::Bottled | Doing::Closed
    );
    let (thick, ascii, role) = match span.state {
        Doing::Planned => ("┄", ".", Role::Accent),
        Doing::Resting => ("─", "-", Role::Muted),
        _ if ferments => ("━", "=", Role::Curve),
        _ => ("═", "~", Role::Muted),
    };
    let x = HEAD + start as u16;
    let line = ink.theme.symbol(thick, ascii).repeat(length);
    ink.column(x, y, length as u16, &line, role);
    let name = format!(" {} ", span.name);
    let whole = name.chars().count();
    let fits = length >= whole + 2 || (length >= 8 && span.until.is_none());
    let inside = span.state != Doing::Resting && fits;
    if inside {
        let room = (length - 2).min(whole) as u16;
        ink.column(x + 1, y, room, &name, Role::Ink);
    } else if last {
        ink.column(HEAD + end as u16, y, u16::MAX, &name, Role::Ink);
    }
    if let Some(until) = span.until
        && column(until) <= width
        && !ferments
    {
        let at = HEAD + (end - 1).max(start) as u16;
        ink.say(at, y, ink.theme.symbol("╸", "]"), role);
    }
    inside
}

fn clashes(state: &State, season: &Season, ink: &mut Ink) {
    let mut y = 0;
    if season.clashes.is_empty() {
        ink.mark(0, y, Mark::Done);
        ink.say(2, y, "Nothing clashes.", Role::Good);
        y += 1;
    }
    let air: Vec<_> = season::air(state)
        .into_iter()
        .filter(|p| p.state() != AirState::Calm)
        .collect();
    // The air keeps three rows of its own where there is any.
    let kept = if air.is_empty() { 0 } else { 4 };
    let most = ink.area.height.saturating_sub(kept);
    for clash in &season.clashes {
        if y >= most {
            break;
        }
        let (mark, role) = match clash.weight() {
            2 => (Mark::Overdue, Role::Alarm),
            1 => (Mark::Late, Role::Watch),
            _ => (Mark::Later, Role::Ink),
        };
        ink.mark(0, y, mark);
        let style = ink.theme.style(role);
        y += ink.lines(2, y, &clash.sentence(), style, most - y);
    }
    for place in &air {
        if y + 1 >= ink.area.height {
            break;
        }
        y += 1;
        let role = match place.state() {
            AirState::Danger => Role::Alarm,
            AirState::Air => Role::Watch,
            _ => Role::Muted,
        };
        let style = ink.theme.style(role);
        y += ink.lines(2, y, &place.sentence(), style, ink.area.height - y);
        if place.state() >= AirState::Air && y < ink.area.height {
            y += ink.paragraph(2, y, season::air_caution(), Role::Muted);
        }
    }
}

fn leaving(state: &State, ink: &mut Ink) {
    let Some((away, met)) = season::before_leaving(state) else {
        ink.say(0, 0, "No days away are written down.", Role::Muted);
        return;
    };
    let today = state.now.day();
    let title = format!("away {}", say::dates(away.from, away.to, today));
    ink.say(0, 0, &title, Role::Title);
    let mut y = 1;
    if met.is_empty() {
        ink.say(2, y, "No step falls into those days.", Role::Good);
        y += 1;
    }
    for meeting in &met {
        if y >= ink.area.height {
            return;
        }
        let (mark, role) = match &meeting.advice {
            AwayAdvice::Missed { weight, .. } if *weight >= 2 => (Mark::Overdue, Role::Alarm),
            AwayAdvice::Before { .. } => (Mark::InWindow, Role::Watch),
            AwayAdvice::Missed { .. } => (Mark::Skipped, Role::Ink),
            AwayAdvice::Wait { .. } => (Mark::Later, Role::Ink),
            AwayAdvice::Still => (Mark::Hold, Role::Muted),
        };
        ink.mark(0, y, mark);
        let style = ink.theme.style(role);
        y += ink.lines(2, y, &meeting.sentence(), style, ink.area.height - y);
    }
    for line in season::always_before() {
        if y >= ink.area.height {
            return;
        }
        ink.mark(0, y, Mark::Later);
        y += ink.paragraph(2, y, line, Role::Muted);
    }
}
