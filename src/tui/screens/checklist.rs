//! The day itself.

use crate::app::{State, checklist, say};
use crate::domain::checklist::{Doing, Entry};
use crate::domain::text::{width, wrap};
use crate::tui::ink::Ink;
use crate::tui::theme::{Mark, Role};
use ratatui::layout::Rect;

/// Draws the screen.
pub(super) fn draw(state: &State, ink: &mut Ink) {
    let Some((list, plan)) = checklist::list(state) else {
        ink.paragraph(
            0,
            0,
            "No batch is planned with the planner yet: p on the shelf begins a plan, and g there its day.",
            Role::Muted,
        );
        return;
    };
    let (done, all) = list.progress();
    let vessel = plan.vessel.as_ref().map_or("", |v| v.tag.as_str());
    let title = format!("{} {}", vessel, plan.name);
    let word = if list.closed() {
        "all done".to_owned()
    } else {
        format!("{done} of {all} done")
    };
    let roomy = all > 0 && ink.area.width > 60;
    let bar = if roomy { BAR + 2 } else { 0 };
    let room = ink.area.width.saturating_sub(bar + width(&word) as u16 + 2);
    let x = ink.column(0, 0, room, title.trim(), Role::Title);
    ink.say(x + 2, 0, &word, Role::Muted);
    if roomy {
        let share = done as f64 / all as f64;
        ink.share(ink.area.width - BAR, 0, BAR, share, Role::Good);
    }
    let coming = checklist::coming(state).filter(|_| list.closed());
    let said = coming.map_or(0, |next| ink.paragraph(0, 1, &next, Role::Ink));
    let below = Rect {
        y: ink.area.y + 2 + said,
        height: ink.area.height.saturating_sub(2 + said),
        ..ink.area
    };
    entries(state, &list.entries, &mut ink.on(below));
}

/// Column at which what is to be done begins.
const WHAT: u16 = 11;
/// Columns of how far the day has come.
const BAR: u16 = 20;

fn entries(state: &State, entries: &[Entry], ink: &mut Ink) {
    let width = ink.area.width;
    let at = state.day.at;
    let rows_of = |i: usize| {
        let room = usize::from(width.saturating_sub(WHAT)).max(1);
        entries.get(i).map_or(0, |e| {
            let why = if i == at {
                wrap(&e.line.why, room).len()
            } else {
                0
            };
            wrap(&text(state, e), room).len().max(1) + why
        })
    };
    let first = first_that_shows(at, usize::from(ink.area.height), rows_of);
    let mut y = 0;
    for (i, entry) in entries.iter().enumerate().skip(first) {
        if y >= ink.area.height {
            break;
        }
        let here = i == at;
        y += one(state, entry, here, y, ink);
        if here && !entry.line.why.is_empty() {
            y += ink.paragraph(WHAT, y, &entry.line.why, Role::Muted);
        }
    }
}

/// First entry from which the chosen one is seen whole, with some of what went
/// before it.
fn first_that_shows(at: usize, rows: usize, rows_of: impl Fn(usize) -> usize) -> usize {
    let mut first = at;
    let mut used = rows_of(at);
    while first > 0 && used + rows_of(first - 1) <= rows {
        first -= 1;
        used += rows_of(first);
    }
    // Something of what comes is seen too.
    let ahead = (rows / 3).min(used.saturating_sub(rows_of(at)));
    let mut given = 0;
    while first < at && used + ahead > rows && given < ahead {
        given += rows_of(first);
        used -= rows_of(first);
        first += 1;
    }
    first
}

/// A line in words: all amounts in it are shown, on as many rows as it takes.
fn text(state: &State, entry: &Entry) -> String {
    let what = &entry.line.what;
    if entry.done.is_some() {
        return really(state, entry).map_or_else(|| what.clone(), |r| format!("{what} ({r})"));
    }
    match entry.line.countdown {
        Some(seconds) => format!("{what} ({})", say::countdown(seconds)),
        None => what.clone(),
    }
}

/// Gives the rows it took.
fn one(state: &State, entry: &Entry, here: bool, y: u16, ink: &mut Ink) -> u16 {
    let role = match (entry.done.is_some(), here) {
        (true, _) => Role::Muted,
        (false, true) => Role::Title,
        (false, false) => Role::Ink,
    };
    let rows = ink.paragraph(WHAT, y, &text(state, entry), role).max(1);
    match entry.done {
        Some(at) => {
            let at = at.datetime().format("%H:%M").to_string();
            ink.mark(2, y, Mark::Done);
            ink.say(4, y, &at, Role::Muted);
        }
        None => {
            ink.mark(2, y, Mark::Later);
        }
    }
    if here {
        for row in y..y + rows {
            ink.here(row);
        }
    }
    rows
}

/// What was really used, where it is not what the line says.
fn really(state: &State, entry: &Entry) -> Option<String> {
    let units = state.settings().units;
    let Doing::Add { mass, volume, .. } = &entry.line.doing else {
        return None;
    };
    match (entry.mass, entry.volume) {
        (Some(m), _) if Some(m) != *mass => Some(format!("{} used", say::mass(m, units))),
        (_, Some(v)) if Some(v) != *volume => Some(format!("{} used", say::volume(v, units))),
        _ => None,
    }
}
