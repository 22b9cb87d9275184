//! The planner: what can be changed on the left, what it leads to beside it.

use crate::app::planner::{self, Leads, Row, RowKind};
use crate::app::{State, say};
use crate::domain::plan::{FeedingPlan, Level, Outcome, Plan};
use crate::domain::records::{Settings, StepKind};
use crate::tui::areas::{first_shown, split};
use crate::tui::ink::Ink;
use crate::tui::text::shorten;
use crate::tui::theme::{Mark, Role};
use ratatui::layout::Rect;

/// Columns of the rows.
const ROWS: u16 = 42;
/// Width from which warnings and days have a column of their own.
const WIDE: u16 = 120;

/// Draws the screen.
pub(super) fn draw(state: &State, ink: &mut Ink) {
    let (Some(plan), Some(leads)) = (state.planner.shown(), state.planner.leads.as_deref()) else {
        ink.paragraph(0, 0, "The household is being read.", Role::Muted);
        return;
    };
    let area = ink.area;
    if area.width < 72 {
        // One at a time: what can be changed, or what it leads to.
        if state.planner.in_words {
            beside_rows(state, plan, leads, area, ink);
        } else {
            rows(state, ink);
        }
        return;
    }
    let (left, rest) = split(area, ROWS, 3);
    rows(state, &mut ink.on(left));
    if area.width >= WIDE {
        let (middle, right) = split(rest, rest.width / 2 - 1, 3);
        let used = numbers(state, plan, leads, &mut ink.on(middle));
        let below = beneath(middle, used + 1);
        vessel(plan, &leads.outcome, &state.settings(), &mut ink.on(below));
        let used = warnings(leads, &mut ink.on(right), u16::MAX);
        let below = beneath(right, used + 1);
        calendar(state, leads, &mut ink.on(below));
        return;
    }
    beside_rows(state, plan, leads, rest, ink);
}

/// The numbers, the vessel where there is room for it, and what speaks against
/// the plan.
fn beside_rows(state: &State, plan: &Plan, leads: &Leads, rest: Rect, ink: &mut Ink) {
    let kept = warning_rows(leads, rest.width).min(2);
    let above = Rect {
        height: rest.height.saturating_sub(kept),
        ..rest
    };
    let used = numbers(state, plan, leads, &mut ink.on(above));
    let used = used.min(above.height);
    let free = rest.height.saturating_sub(used);
    let wanted = warning_rows(leads, rest.width);
    let least = if state.planner.in_words { 0 } else { 7 };
    let warned = wanted.min(free.saturating_sub(least).max(1));
    let drawn = free.saturating_sub(warned + 1);
    if drawn >= 6 && !state.planner.in_words {
        let at = Rect {
            height: drawn,
            ..beneath(rest, used)
        };
        vessel(plan, &leads.outcome, &state.settings(), &mut ink.on(at));
    }
    let below = beneath(rest, rest.height.saturating_sub(warned));
    warnings(leads, &mut ink.on(below), warned);
}

/// What is left of an area below so many rows.
fn beneath(area: Rect, rows: u16) -> Rect {
    let rows = rows.min(area.height);
    Rect {
        y: area.y + rows,
        height: area.height - rows,
        ..area
    }
}

fn rows(state: &State, ink: &mut Ink) {
    let all = planner::rows(state);
    let room = usize::from(ink.area.height);
    let first = first_shown(state.planner.at, all.len(), room);
    for (y, (i, row)) in (0u16..).zip(all.iter().enumerate().skip(first).take(room)) {
        one_row(row, i == state.planner.at, y, ink);
    }
}

fn one_row(row: &Row, here: bool, y: u16, ink: &mut Ink) {
    if here {
        ink.here(y);
    }
    let label = if here { Role::Title } else { Role::Muted };
    let x = ink.column(2, y, 17, &row.label, label);
    let x = x.max(19) + 1;
    let tail = match (row.locked, row.aimed) {
        (true, _) => "stays",
        (false, true) => "aim",
        (false, false) => "",
    };
    let spare = if tail.is_empty() {
        0
    } else {
        tail.len() as u16 + 1
    };
    let spare = spare.max(if row.kind == RowKind::Chosen && here {
        4
    } else {
        0
    });
    let room = ink.area.width.saturating_sub(x + spare);
    let value = if row.kind == RowKind::Opens {
        "Enter"
    } else {
        row.value.as_str()
    };
    let role = match (row.kind, here) {
        (RowKind::Opens, _) => Role::Faint,
        (_, true) => Role::Accent,
        (_, false) => Role::Ink,
    };
    let x = ink.column(x, y, room.max(1), value, role);
    if row.kind == RowKind::Chosen && here {
        ink.say(x + 1, y, ink.theme.symbol("‹ ›", "< >"), Role::Muted);
    } else if !tail.is_empty() {
        ink.right(y, tail, Role::Accent);
    }
}

fn span(low: &str, high: &str) -> String {
    format!("{low} to {high}")
}

/// The numbers; gives the rows they took.
fn numbers(state: &State, plan: &Plan, leads: &Leads, ink: &mut Ink) -> u16 {
    let settings = state.settings();
    let out = &leads.outcome;
    let scale = settings.gravity;
    let g = |g| say::gravity_number(g, scale);
    let mut y = 0;
    let mut line = |label: &str, value: &str, more: &str| {
        ink.say(0, y, label, Role::Muted);
        let x = ink.say(10, y, value, Role::Title);
        ink.say(x.max(18) + 1, y, more, Role::Muted);
        y += 1;
    };
    line(
        "original",
        &g(out.original.likely),
        &span(&g(out.original.low), &g(out.original.high)),
    );
    line(
        "ends at",
        &g(out.finally.likely),
        &span(&g(out.finally.low), &g(out.finally.high)),
    );
    line(
        "alcohol",
        &say::abv(out.alcohol.likely),
        &span(
            &format!("{:.1}", out.alcohol.low.get()),
            &say::abv(out.alcohol.high),
        ),
    );
    if out.water.get() > 1.0 {
        line(
            "water",
            &say::volume(out.water_volume, settings.units),
            &say::mass(out.water, settings.units),
        );
    }
    if let Some(part) = plan.main().and_then(|m| out.parts.get(m)) {
        line(
            plan.main()
                .and_then(|m| plan.parts.get(m))
                .map_or("", |p| p.kind.word()),
            &say::mass(part.mass, settings.units),
            &say::volume(part.volume, settings.units),
        );
    }
    let price = out
        .cost
        .per_bottle
        .filter(|_| out.cost.total > 0.0)
        .map_or_else(String::new, |p| {
            format!("{p:.2} each, {:.2} in all", out.cost.total)
        });
    line("bottles", &out.bottles.to_string(), &price);
    y += fed(&out.fed, y, ink);
    y += days(state, leads, y, ink);
    y
}

/// Nitrogen and the feedings; gives the rows they took.
fn fed(fed: &FeedingPlan, y: u16, ink: &mut Ink) -> u16 {
    let Some(aim) = fed.aim else {
        ink.say(0, y, "feeding", Role::Muted);
        ink.say(10, y, "none: malt brings enough", Role::Muted);
        return 1;
    };
    ink.say(0, y, "nitrogen", Role::Muted);
    ink.say(
        10,
        y,
        &format!("{:.0} mg/L, {:.0} there", aim.get(), fed.brings.get()),
        Role::Ink,
    );
    if fed.portions.is_empty() {
        return 1;
    }
    let words = format!("{} times {}", fed.feedings, fed.each_in_words());
    let room = Rect {
        x: ink.area.x + 10,
        y: ink.area.y + y + 1,
        width: ink.area.width.saturating_sub(10),
        height: ink.area.height.saturating_sub(y + 1).min(4),
    };
    1 + ink.on(room).paragraph(0, 0, &words, Role::Ink)
}

/// The days that matter, in a line or two; gives the rows they took.
fn days(state: &State, leads: &Leads, y: u16, ink: &mut Ink) -> u16 {
    let today = state.now.day();
    let on = |kind: StepKind| leads.laid.iter().find(|s| s.kind == kind);
    let said = |word: &str, kind| {
        on(kind).map(|s| {
            let about = if s.forecast { "about " } else { "" };
            format!("{word} {about}{}", say::date_of(s.day, today))
        })
    };
    let all: Vec<String> = [
        said("rack", StepKind::Rack),
        said("rest", StepKind::Rest),
        said("bottle", StepKind::Bottle),
    ]
    .into_iter()
    .flatten()
    .collect();
    if all.is_empty() {
        return 0;
    }
    ink.say(0, y, "days", Role::Muted);
    let mut words = all.join(", ");
    if let Some(by) = leads.pitch_by {
        words = format!(
            "{words}; pitch by {} for the feast",
            say::date_of(by, today)
        );
    }
    let room = Rect {
        x: ink.area.x + 10,
        y: ink.area.y + y,
        width: ink.area.width.saturating_sub(10),
        height: ink.area.height.saturating_sub(y).min(2),
    };
    ink.on(room).paragraph(0, 0, &words, Role::Ink)
}

/// The vessel with its levels, as a picture of so many rows.
fn vessel(plan: &Plan, out: &Outcome, settings: &Settings, ink: &mut Ink) {
    // A narrow screen gives its columns to the words beside the picture.
    let wide = if ink.area.width < 50 { 7 } else { 11 };
    let rows = ink.area.height.saturating_sub(2).min(12);
    let (Some(v), true) = (&plan.vessel, rows >= 4) else {
        return;
    };
    let capacity = v.capacity.get().max(1e-9);
    let filled = out.levels.last().map_or(0.0, |l| l.volume.get()) / capacity;
    let head = out.headspace.map_or(0.0, |h| h.share.max(0.0));
    let title = format!(
        "{}: {:.0} % full, {:.0} % headspace",
        v.tag,
        100.0 * filled,
        100.0 * head
    );
    ink.say(0, 0, &title, Role::Muted);
    let wall = ink.theme.symbol("│", "|");
    let must = ink.theme.symbol("▒", ":").repeat(usize::from(wide - 2));
    let over = filled > 1.0 + 1e-6;
    for row in 0..rows {
        let y = row + 1;
        // Share of the vessel that lies below the middle of this row.
        let height = 1.0 - (f64::from(row) + 0.5) / f64::from(rows);
        ink.say(0, y, wall, Role::Muted);
        if height < filled {
            let role = if over { Role::Alarm } else { Role::Curve };
            ink.column(1, y, wide - 2, &must, role);
        }
        ink.say(wide - 1, y, wall, Role::Muted);
    }
    let floor = format!(
        "{}{}{}",
        ink.theme.symbol("╰", "+"),
        ink.theme.symbol("─", "-").repeat(usize::from(wide - 2)),
        ink.theme.symbol("╯", "+")
    );
    ink.say(0, rows + 1, &floor, Role::Muted);
    for (y, level) in rows_of_levels(&out.levels, capacity, rows) {
        let text = format!(
            "{} {}, {}",
            ink.theme.symbol("╴", "-"),
            say::volume(level.volume, settings.units),
            level.what
        );
        let room = usize::from(ink.area.width.saturating_sub(wide));
        ink.say(wide, y, &shorten(&text, room), Role::Ink);
    }
}

/// The row of each level, the last pour first where there is not room for all,
/// no two on one row.
fn rows_of_levels(levels: &[Level], capacity: f64, rows: u16) -> Vec<(u16, &Level)> {
    let shown = levels.len().min(usize::from(rows));
    let last = levels.iter().rev().take(shown);
    let mut above = 0;
    let mut left = shown as u16;
    let mut placed = Vec::with_capacity(shown);
    for level in last {
        let share = (level.volume.get() / capacity).clamp(0.0, 1.0);
        let wanted = ((1.0 - share) * f64::from(rows)).floor() as u16 + 1;
        left -= 1;
        let y = wanted.max(above + 1).min(rows - left);
        above = y;
        placed.push((y, level));
    }
    placed
}

/// What must be said, worst first, each with its mark and role.
fn said(leads: &Leads) -> Vec<(Mark, Role, String)> {
    let mut all: Vec<(Mark, Role, String)> = leads
        .warnings
        .iter()
        .map(|w| {
            let (mark, role) = match w.weight() {
                2 => (Mark::Overdue, Role::Alarm),
                1 => (Mark::Late, Role::Watch),
                _ => (Mark::Later, Role::Muted),
            };
            (mark, role, w.sentence())
        })
        .collect();
    let worst = all.iter().filter(|(m, ..)| *m == Mark::Overdue).count();
    let clashes = leads
        .clashes
        .iter()
        .map(|c| (Mark::Late, Role::Watch, c.clone()));
    all.splice(worst..worst, clashes);
    let last = leads.last_time.iter();
    all.extend(last.map(|l| (Mark::Later, Role::Ink, l.clone())));
    all
}

fn warning_rows(leads: &Leads, width: u16) -> u16 {
    let room = usize::from(width.saturating_sub(2)).max(1);
    said(leads)
        .iter()
        .map(|(_, _, s)| crate::domain::text::wrap(s, room).len() as u16)
        .sum::<u16>()
        .max(1)
}

/// Draws them in at most so many rows; gives the rows they took.
fn warnings(leads: &Leads, ink: &mut Ink, most: u16) -> u16 {
    let all = said(leads);
    if all.is_empty() {
        ink.mark(0, 0, Mark::Done);
        ink.say(2, 0, "Nothing speaks against it.", Role::Good);
        return 1;
    }
    let most = most.min(ink.area.height);
    let mut y = 0;
    for (n, (mark, role, text)) in all.iter().enumerate() {
        if y >= most {
            break;
        }
        let left = all.len() - n;
        if left > 1 && y + 1 >= most {
            ink.say(2, y, &format!("and {left} more to know: Tab"), Role::Muted);
            y += 1;
            break;
        }
        ink.mark(0, y, *mark);
        let style = ink.theme.style(*role);
        let keep = u16::from(left > 1);
        y += ink.lines(2, y, text, style, (most - y).saturating_sub(keep).max(1));
    }
    y
}

/// The routine on its days.
fn calendar(state: &State, leads: &Leads, ink: &mut Ink) {
    let today = state.now.day();
    ink.say(0, 0, "on the calendar", Role::Title);
    let room = ink.area.height.saturating_sub(1);
    for (y, step) in (1..=room).zip(&leads.laid) {
        let away = state.supplies.away.iter().any(|a| a.covers(step.day));
        let date = say::date_of(step.day, today);
        let about = if step.forecast { "~" } else { " " };
        ink.say(0, y, about, Role::Faint);
        ink.column(
            1,
            y,
            16,
            &format!("{} {date}", step.day.format("%a")),
            Role::Muted,
        );
        let role = if away { Role::Watch } else { Role::Ink };
        let room = ink.area.width.saturating_sub(18 + if away { 5 } else { 0 });
        let x = ink.column(18, y, room, &step.title, role);
        if away {
            ink.say(x + 1, y, "away", Role::Watch);
        }
    }
}
