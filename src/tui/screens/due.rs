//! What is due across all vessels: late, today, the coming week.

use super::shelf::{timing_mark, title, when};
use crate::app::State;
use crate::domain::records::StepKind;
use crate::engine::{Account, Due, Errand, Morning, Timing};
use crate::tui::ink::Ink;
use crate::tui::text::width;
use crate::tui::theme::{Mark, Role};
use chrono::NaiveDate;
use ratatui::layout::Rect;

/// One line of the list, as drawn: the mouse asks for them too.
#[derive(Debug, Clone, PartialEq)]
pub struct DueLine {
    /// Place of its step in the morning's list; none for a heading or a sentence.
    pub due: Option<usize>,
    /// Place on the shelf of what a gravity reading is due of.
    pub row: Option<usize>,
    kind: Kind,
}

#[derive(Debug, Clone, PartialEq)]
enum Kind {
    Heading(&'static str),
    Step(usize),
    Harm(usize),
    Read(usize),
    Blank,
    More(usize),
    Nothing,
}

/// A heading with what belongs under it.
type Group = (&'static str, fn(&Due, NaiveDate) -> bool);

/// Under this heading stand gravity readings too that no step asks for.
const TODAY: &str = "today";

const GROUPS: &[Group] = &[
    ("late", |d, _| {
        matches!(d.timing, Timing::Late | Timing::Overdue)
    }),
    (TODAY, |d, today| {
        d.timing == Timing::InWindow && d.presses(today)
    }),
    ("when you have time", |d, today| {
        d.timing == Timing::InWindow && d.wants_hands() && !d.presses(today)
    }),
    ("the coming week", |d, _| d.timing == Timing::Soon),
    ("leave alone", |d, _| {
        d.timing == Timing::InWindow && d.kind == StepKind::Rest
    }),
    ("too late to do", |d, _| d.timing == Timing::TooLate),
];

/// The lines that an area shows.
pub fn lines(state: &State, area: Rect) -> Vec<DueLine> {
    let Some(morning) = &state.morning else {
        return Vec::new();
    };
    let today = state.now.day();
    let roomy = area.height > 14;
    let mut lines = Vec::new();
    for (title, belongs) in GROUPS {
        let of_group: Vec<usize> = (0..morning.due.len())
            .filter(|i| morning.due.get(*i).is_some_and(|d| belongs(d, today)))
            .collect();
        let readings = if *title == TODAY {
            readings(morning)
        } else {
            Vec::new()
        };
        if of_group.is_empty() && readings.is_empty() {
            continue;
        }
        if roomy && !lines.is_empty() {
            lines.push(line(Kind::Blank));
        }
        lines.push(line(Kind::Heading(title)));
        lines.extend(readings.into_iter().map(|i| line(Kind::Read(i))));
        for i in of_group {
            lines.push(line(Kind::Step(i)));
            let harm = morning
                .due
                .get(i)
                .is_some_and(|d| matches!(d.timing, Timing::Overdue) && !d.harm.is_empty());
            if roomy && harm {
                lines.push(line(Kind::Harm(i)));
            }
        }
    }
    if lines.is_empty() {
        lines.push(line(Kind::Nothing));
    }
    let room = usize::from(area.height);
    if lines.len() > room && room > 1 {
        let hidden = lines.split_off(room - 1);
        let steps = hidden
            .iter()
            .filter(|l| matches!(l.kind, Kind::Step(_) | Kind::Read(_)));
        while matches!(
            lines.last().map(|l| &l.kind),
            Some(Kind::Heading(_) | Kind::Blank)
        ) {
            lines.pop();
        }
        lines.push(line(Kind::More(steps.count())));
    }
    lines
}

/// Places on the shelf of what a reading is due of that no step asks for.
fn readings(morning: &Morning) -> Vec<usize> {
    morning
        .errands()
        .into_iter()
        .filter(|(_, errand)| matches!(errand, Errand::Read(_)))
        .filter_map(|(account, _)| {
            let here = |a: &Account| (a.batch, a.vessel) == (account.batch, account.vessel);
            morning.accounts.iter().position(here)
        })
        .collect()
}

fn line(kind: Kind) -> DueLine {
    let due = match kind {
        Kind::Step(i) | Kind::Harm(i) => Some(i),
        _ => None,
    };
    let row = match kind {
        Kind::Read(i) => Some(i),
        _ => None,
    };
    DueLine { due, row, kind }
}

/// Draws the list.
pub(super) fn draw(state: &State, ink: &mut Ink) {
    let Some(morning) = &state.morning else {
        return;
    };
    for (y, line) in lines(state, ink.area).iter().enumerate() {
        let y = y as u16;
        match line.kind {
            Kind::Heading(title) => {
                ink.say(0, y, title, Role::Title);
            }
            Kind::Step(i) => {
                if let Some(due) = morning.due.get(i) {
                    step(state, due, y, ink);
                }
            }
            Kind::Read(i) => {
                if let Some(account) = morning.accounts.get(i) {
                    reading(state, account, y, ink);
                }
            }
            Kind::Harm(i) => {
                if let Some(due) = morning.due.get(i) {
                    ink.say(4, y, &due.harm, Role::Muted);
                }
            }
            Kind::More(0) | Kind::Blank => {}
            Kind::More(n) => {
                ink.say(0, y, &format!("and {n} more"), Role::Muted);
            }
            Kind::Nothing => {
                ink.say(0, y, "Nothing is due this week.", Role::Muted);
            }
        }
    }
}

/// A gravity reading that no step asks for.
fn reading(state: &State, account: &Account, y: u16, ink: &mut Ink) {
    let mine = state.chosen.is_some_and(|c| c.batch == account.batch);
    let x = ink.mark(0, y, Mark::InWindow) + 1;
    let role = if mine { Role::Accent } else { Role::Ink };
    let tag_end = ink.column(x, y, 6, &account.tag, role);
    let when = "today";
    let at = ink.area.width.saturating_sub(width(when) as u16);
    let x = tag_end.max(x + 3) + 1;
    let room = at.saturating_sub(x + 1);
    let long = "take a gravity reading";
    let title = if width(long) <= usize::from(room) {
        long
    } else {
        StepKind::Read.short()
    };
    ink.column(x, y, room, title, Role::Ink);
    ink.say(at, y, when, Role::Title);
}

fn step(state: &State, due: &Due, y: u16, ink: &mut Ink) {
    let mine = state.chosen.is_some_and(|c| c.batch == due.batch);
    let x = ink.mark(0, y, timing_mark(due.timing)) + 1;
    let role = if mine { Role::Accent } else { Role::Ink };
    let tag_end = ink.column(x, y, 6, &due.tag, role);
    let (said, when_role) = when(state, due);
    let wide = width(&said) as u16;
    let at = ink.area.width.saturating_sub(wide);
    let x = tag_end.max(x + 3) + 1;
    let room = at.saturating_sub(x + 1);
    let title = title(due, room);
    ink.column(x, y, room, title, Role::Ink);
    ink.column(at, y, wide, &said, when_role);
}
