//! The day itself.

use crate::app::{State, checklist, say};
use crate::domain::checklist::{Doing, Entry};
use crate::domain::text::wrap;
use crate::tui::areas::first_shown;
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
    let x = ink.say(0, 0, title.trim(), Role::Title);
    let word = if list.closed() {
        "all done".to_owned()
    } else {
        format!("{done} of {all} done")
    };
    ink.say(x + 2, 0, &word, Role::Muted);
    if all > 0 && ink.area.width > 60 {
        let share = done as f64 / all as f64;
        ink.share(ink.area.width - 20, 0, 20, share, Role::Good);
    }
    let below = Rect {
        y: ink.area.y + 2,
        height: ink.area.height.saturating_sub(2),
        ..ink.area
    };
    entries(state, &list.entries, &mut ink.on(below));
}

fn entries(state: &State, entries: &[Entry], ink: &mut Ink) {
    let why = entries
        .get(state.day.at)
        .map_or("", |e| e.line.why.as_str());
    let room = usize::from(ink.area.width.saturating_sub(12)).max(1);
    let why_rows = if why.is_empty() {
        0
    } else {
        wrap(why, room).len() as u16
    };
    let rows = ink.area.height.saturating_sub(why_rows);
    let first = first_shown(state.day.at, entries.len(), usize::from(rows));
    let mut y = 0;
    for (i, entry) in entries.iter().enumerate().skip(first) {
        if y >= ink.area.height {
            break;
        }
        let here = i == state.day.at;
        one(state, entry, here, y, ink);
        y += 1;
        if here && !why.is_empty() {
            y += ink.paragraph(12, y, why, Role::Muted);
        }
    }
}

fn one(state: &State, entry: &Entry, here: bool, y: u16, ink: &mut Ink) {
    if here {
        ink.here(y);
    }
    match entry.done {
        Some(at) => {
            ink.mark(2, y, Mark::Done);
            ink.say(
                4,
                y,
                &at.datetime().format("%H:%M").to_string(),
                Role::Muted,
            );
        }
        None => {
            ink.mark(2, y, Mark::Later);
        }
    }
    let role = match (entry.done.is_some(), here) {
        (true, _) => Role::Muted,
        (false, true) => Role::Title,
        (false, false) => Role::Ink,
    };
    let clock = entry.line.countdown.filter(|_| entry.done.is_none());
    let room = ink
        .area
        .width
        .saturating_sub(12 + if clock.is_some() { 6 } else { 0 });
    let x = ink.column(12, y, room, &entry.line.what, role);
    if entry.done.is_some() {
        if let Some(really) = really(state, entry) {
            ink.say(x + 1, y, &format!("({really})"), Role::Muted);
        }
    } else if let Some(seconds) = clock {
        ink.say(x + 1, y, &say::countdown(seconds), Role::Accent);
    }
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
