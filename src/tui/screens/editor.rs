//! Routines, drawn as a line of days.

use crate::app::{State, editor, say};
use crate::domain::records::{Opens, Routine, StepKind, StepRule};
use crate::tui::areas::first_shown;
use crate::tui::ink::Ink;
use crate::tui::text;
use crate::tui::theme::Role;
use ratatui::layout::Rect;

/// Draws the screen.
pub(super) fn draw(state: &State, ink: &mut Ink) {
    match &state.editor.draft {
        Some(draft) => routine(state, draft, ink),
        None => list(state, ink),
    }
}

fn list(state: &State, ink: &mut Ink) {
    let rows = ink.paragraph(
        0,
        0,
        "Enter opens a routine. Change it and save it: under its own key it takes the place of the built-in one, under a new key it is a new one.",
        Role::Muted,
    );
    let all = &state.library.routines;
    let top = rows + 1;
    let room = usize::from(ink.area.height.saturating_sub(top));
    let first = first_shown(state.editor.at, all.len(), room);
    let titles = (ink.area.width / 2).clamp(24, 34);
    for (y, (i, r)) in (top..).zip(all.iter().enumerate().skip(first).take(room)) {
        let here = i == state.editor.at;
        if here {
            ink.here(y);
        }
        let role = if here { Role::Title } else { Role::Ink };
        ink.column(2, y, titles, &r.title, role);
        let last = editor::days(r).iter().map(|(d, _)| *d).max().unwrap_or(0);
        let text = format!("{}, {} steps, to day {last}", r.style, r.steps.len());
        ink.say(titles + 4, y, &text, Role::Muted);
    }
}

fn routine(state: &State, draft: &Routine, ink: &mut Ink) {
    let x = ink.say(0, 0, &draft.title, Role::Title);
    let mut x = ink.say(x + 2, 0, &draft.key, Role::Muted);
    if state.editor.touched {
        x = ink.say(x + 2, 0, "changed, not saved yet", Role::Watch);
    }
    let days = editor::days(draft);
    line_of_days(state, draft, &days, x, ink);
    let below = Rect {
        y: ink.area.y + 5,
        height: ink.area.height.saturating_sub(5),
        ..ink.area
    };
    steps(state, draft, &days, &mut ink.on(below));
}

/// One letter for what a step does, on the line of days.
fn letter(kind: StepKind) -> &'static str {
    match kind {
        StepKind::Clean => "c",
        StepKind::Mix => "m",
        StepKind::Pitch => "P",
        StepKind::Swirl => "s",
        StepKind::Feed => "f",
        StepKind::SwirlFeed => "F",
        StepKind::Aerate => "a",
        StepKind::Read => "r",
        StepKind::Cap => "w",
        StepKind::Unfruit | StepKind::Fruit => "b",
        StepKind::Flavour => "v",
        StepKind::Rack => "R",
        StepKind::Rest => "z",
        StepKind::Temperature => "t",
        StepKind::Stabilise => "S",
        StepKind::Sweeten => "h",
        StepKind::Bottle => "B",
        StepKind::Condition => "k",
        StepKind::Taste => "T",
        StepKind::Other => "o",
    }
}

/// The days of the routine with a letter where something is done; rests as a line.
fn line_of_days(
    state: &State,
    draft: &Routine,
    days: &[(i64, crate::engine::season::Laid)],
    after: u16,
    ink: &mut Ink,
) {
    let width = i64::from(ink.area.width.max(20)) - 2;
    let last = days.iter().map(|(d, _)| *d).max().unwrap_or(1).max(30);
    let column = |day: i64| ((day - 1).max(0) * (width - 1) / (last - 1).max(1)) as u16;
    let thin = ink.theme.symbol("·", ".").repeat(width as usize);
    ink.say(0, 3, &thin, Role::Faint);
    let here = days.iter().find(|(_, l)| l.index == state.editor.step);
    for (day, laid) in days {
        let Some(step) = draft.steps.get(laid.index) else {
            continue;
        };
        let chosen = laid.index == state.editor.step;
        let x = column(*day);
        if step.kind == StepKind::Rest {
            let end = column(*day + i64::from(step.window));
            let length = usize::from(end.saturating_sub(x).max(1));
            let rest = ink.theme.symbol("─", "-").repeat(length);
            ink.say(x, 3, &rest, if chosen { Role::Accent } else { Role::Muted });
        } else {
            let role = if chosen { Role::Accent } else { Role::Ink };
            // Two steps of one day: the second above the first.
            let busy = days
                .iter()
                .take_while(|(_, l)| l.index != laid.index)
                .filter(|(d, _)| column(*d) == x)
                .count();
            let y = if busy == 0 { 3 } else { 2 };
            ink.say(x, y, letter(step.kind), role);
        }
    }
    for day in [1, last / 2, last] {
        let text = format!("day {day}");
        let x = column(day).min(ink.area.width.saturating_sub(8));
        ink.say(x, 4, &text, Role::Muted);
    }
    if let Some((day, laid)) = here
        && let Some(step) = draft.steps.get(laid.index)
    {
        let about = if laid.forecast { "about " } else { "" };
        let said = format!("{} = {}: {about}day {day}", letter(step.kind), step.kind);
        if after + 2 + text::width(&said) as u16 <= ink.area.width {
            ink.right(0, &said, Role::Muted);
        }
    }
}

fn steps(
    state: &State,
    draft: &Routine,
    days: &[(i64, crate::engine::season::Laid)],
    ink: &mut Ink,
) {
    let room = usize::from(ink.area.height);
    let first = first_shown(state.editor.step, draft.steps.len(), room);
    for (y, (i, step)) in (0u16..).zip(draft.steps.iter().enumerate().skip(first).take(room)) {
        let here = i == state.editor.step;
        if here {
            ink.here(y);
        }
        let laid = days.iter().find(|(_, l)| l.index == i);
        let day = laid.map_or_else(String::new, |(d, l)| {
            format!("{}{d}", if l.forecast { "~" } else { "" })
        });
        ink.number(2, y, 4, &day, Role::Muted);
        let role = if here { Role::Title } else { Role::Ink };
        ink.say(7, y, letter(step.kind), Role::Accent);
        let wide = ink.area.width.saturating_sub(42).clamp(20, 60);
        ink.column(9, y, wide, &step.title, role);
        ink.say(10 + wide, y, &opens(step), Role::Muted);
    }
}

/// When a step opens, in few words.
fn opens(step: &StepRule) -> String {
    let days = |n: i32| say::count(i64::from(n), "day", "days");
    match &step.opens {
        Opens::Day { day } => format!("day {day}"),
        Opens::SugarGone { share, or_day } => {
            let or = or_day.map_or_else(String::new, |d| format!(" or day {d}"));
            format!("{:.0} % of sugar gone{or}", share.get() * 100.0)
        }
        Opens::Finished {
            days: n,
            not_before,
        } => {
            let from = not_before.map_or_else(String::new, |d| format!(", from day {d}"));
            match n {
                0 => format!("when finished{from}"),
                n => format!("{} after the finish{from}", days(*n)),
            }
        }
        Opens::After { step, days: n } => format!("{} after {step}", days(*n)),
        Opens::Stable { days: n } => format!("steady {}", days(*n)),
    }
}
