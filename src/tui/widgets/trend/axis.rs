use super::scale::{Span, multiples};
use super::{Pen, plot, write};
use crate::app::trend::{PointKind, StepFate, TrendData, TrendStep};
use crate::tui::text;
use crate::tui::theme::{Role, Theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Steps between two labels of the time axis, in days.
const DAY_STEPS: [f64; 12] = [
    1.0, 2.0, 5.0, 7.0, 14.0, 28.0, 56.0, 91.0, 182.0, 364.0, 728.0, 3640.0,
];

fn tick(theme: Theme, fate: StepFate) -> &'static str {
    match fate {
        StepFate::Done => theme.symbol("▴", "^"),
        StepFate::Skipped => theme.symbol("╌", "~"),
        StepFate::Planned => theme.symbol("▵", "v"),
    }
}

/// The window of the finish, and a tick for every step.
pub(super) fn ticks(pen: &Pen, area: Rect, buf: &mut Buffer) {
    if area.is_empty() {
        return;
    }
    window(pen, area, buf);
    for step in &pen.data.steps {
        let Some(x) = pen.column(step.at, area) else {
            continue;
        };
        let role = match step.fate {
            StepFate::Done => Role::Tick,
            StepFate::Skipped | StepFate::Planned => Role::Muted,
        };
        buf.set_string(x, area.y, tick(pen.theme, step.fate), pen.style(role));
    }
}

/// `├──◇──┤`: eight in ten finishes, the middle one marked.
fn window(pen: &Pen, area: Rect, buf: &mut Buffer) {
    let Some(finish) = pen.data.finish else {
        return;
    };
    let shown = finish.p10 <= finish.p90 && finish.p90 >= pen.time.from && finish.p10 < pen.time.to;
    if !shown {
        return;
    }
    let clip = |at: f64| {
        let dot = pen.time.dot(at).clamp(0, pen.time.dots - 1);
        area.x + (dot / 2) as u16
    };
    let (left, right) = (clip(finish.p10), clip(finish.p90));
    let style = pen.style(Role::Curve);
    for x in left..=right {
        let symbol = match x {
            _ if x == left && pen.time.holds(finish.p10) => pen.theme.symbol("├", "["),
            _ if x == right && pen.time.holds(finish.p90) => pen.theme.symbol("┤", "]"),
            _ => pen.theme.symbol("─", "-"),
        };
        buf.set_string(x, area.y, symbol, style);
    }
    if let Some(x) = pen.column(finish.p50, area) {
        buf.set_string(x, area.y, pen.theme.symbol("◇", "+"), style);
    }
}

/// Names of the steps in view, each beginning under its tick, in as many lanes
/// as there are rows; those that find no room are counted.
pub(super) fn names(pen: &Pen, area: Rect, buf: &mut Buffer) {
    if area.is_empty() {
        return;
    }
    let (placed, left_out) = lanes(pen.data, pen.time, area.width, area.height);
    let mut last_end = 0;
    for (lane, x, name) in placed {
        if lane + 1 == area.height {
            last_end = x + text::width(&name) as u16;
        }
        write(
            buf,
            area,
            area.x + x,
            area.y + lane,
            &name,
            pen.style(Role::Muted),
        );
    }
    let said = format!("+{left_out}");
    let x = area.width.saturating_sub(said.len() as u16);
    if left_out > 0 && last_end < x {
        write(
            buf,
            area,
            area.x + x,
            area.bottom() - 1,
            &said,
            pen.style(Role::Muted),
        );
    }
}

/// Lane, column and words of each name that finds room, and how many do not.
pub(super) fn lanes(
    data: &TrendData,
    time: Span,
    width: u16,
    most: u16,
) -> (Vec<(u16, u16, String)>, usize) {
    let mut free = vec![0; usize::from(most)];
    let mut placed = Vec::new();
    let shown: Vec<&TrendStep> = data.steps.iter().filter(|s| time.holds(s.at)).collect();
    for step in &shown {
        let x = (time.dot(step.at) / 2) as u16;
        let room = usize::from(width.saturating_sub(x));
        let name = text::cut(&text::safe(&step.name), room.min(24));
        let lane = free
            .iter()
            .position(|&from| from <= x)
            .filter(|_| room >= 4);
        let Some((lane, from)) = lane.and_then(|l| Some((l, free.get_mut(l)?))) else {
            continue;
        };
        *from = x + text::width(&name) as u16 + 1;
        placed.push((lane as u16, x, name));
    }
    let left_out = shown.len() - placed.len();
    (placed, left_out)
}

/// Days or dates, at round distances; `now` where the present is.
pub(super) fn labels(pen: &Pen, area: Rect, buf: &mut Buffer) {
    if area.is_empty() {
        return;
    }
    let unit = if pen.view.dates { "" } else { "day" };
    let lead = Rect::new(area.x.saturating_sub(6), area.y, 6, 1);
    write(buf, lead, lead.x, area.y, unit, pen.style(Role::Muted));
    let now = if pen.view.dates { "today" } else { "now" };
    let mut taken: Vec<(u16, u16)> = Vec::new();
    if let Some(x) = pen.column(pen.data.now, area) {
        let wide = now.len() as u16;
        let x = (x.saturating_sub(wide / 2))
            .clamp(area.x, area.right().saturating_sub(wide).max(area.x));
        if write(buf, area, x, area.y, now, pen.style(Role::Ink)) {
            taken.push((x, x + wide));
        }
    }
    for (at, label) in marks(pen, area) {
        let Some(x) = pen.column(at, area) else {
            continue;
        };
        let end = x + text::width(&label) as u16;
        let clear = taken.iter().all(|&(a, b)| end + 1 < a || x > b + 1);
        if clear && write(buf, area, x, area.y, &label, pen.style(Role::Muted)) {
            taken.push((x, end));
        }
    }
}

/// Day starts at the finest step that leaves room, with their labels.
fn marks(pen: &Pen, area: Rect) -> Vec<(f64, String)> {
    let (from, to) = (pen.time.from, pen.time.to);
    let per_day = f64::from(area.width) / (to - from);
    let wide = if pen.view.dates { 9.0 } else { 5.0 };
    let step = DAY_STEPS
        .into_iter()
        .find(|step| step * per_day >= wide)
        .unwrap_or(36400.0);
    // Day n begins at n - 1: labels 1, then whole multiples for steps that
    // people count in; weeks begin with day 1.
    let whole = matches!(step as i64, 2 | 5);
    let shift = if whole { -1.0 } else { 0.0 };
    let mut starts = multiples(from - shift, to - shift, step);
    if whole && !starts.contains(&1.0) {
        starts.insert(0, 1.0);
    }
    starts
        .into_iter()
        .map(|start| start + shift)
        .filter_map(|start| Some((start, label(pen, start)?)))
        .collect()
}

fn label(pen: &Pen, start: f64) -> Option<String> {
    if !pen.view.dates {
        let day = (start.round() as i64).saturating_add(1);
        return Some(if day < 1 {
            (day - 1).to_string()
        } else {
            day.to_string()
        });
    }
    let date = pen.data.date(start + 0.5)?;
    Some(date.format("%-d %b").to_string())
}

/// What the shapes mean, as far as they are there and there is room.
pub(super) fn legend(pen: &Pen, area: Rect, buf: &mut Buffer) {
    if area.is_empty() {
        return;
    }
    let mut x = area.x + 6;
    for (symbol, words, role) in readings(pen).into_iter().chain(shapes(pen)) {
        let start = x + text::width(symbol) as u16 + 1;
        let end = start + text::width(&words) as u16;
        if end > area.right() {
            break;
        }
        write(buf, area, x, area.y, symbol, pen.style(role));
        write(buf, area, start, area.y, &words, pen.style(Role::Muted));
        x = end + 2;
    }
}

type Item = (&'static str, String, Role);

/// Kinds of reading, and earlier batches by their letters.
fn readings(pen: &Pen) -> Vec<Item> {
    let data = pen.data;
    let kinds = [
        (PointKind::Hydrometer, "read"),
        (PointKind::Refractometer, "refractometer"),
        (PointKind::Mass, "by mass"),
        (PointKind::Sensor, "sensor"),
    ];
    let there = |kind| data.points.iter().any(|p| p.kind == kind && !p.odd);
    let mut items: Vec<Item> = kinds
        .into_iter()
        .filter(|(kind, _)| there(*kind))
        .map(|(kind, words)| {
            let symbol = plot::symbol(pen.theme, kind, false);
            (symbol, words.into(), Role::Point)
        })
        .collect();
    if data.points.iter().any(|p| p.odd) {
        let symbol = plot::symbol(pen.theme, PointKind::Hydrometer, true);
        items.push((symbol, "doubted".into(), Role::Watch));
    }
    if pen.view.earlier {
        let letters = ["a", "b", "c", "d", "e", "f"];
        let named = data.earlier.iter().zip(letters).map(|(batch, letter)| {
            let name = text::cut(&text::safe(&batch.name), 18);
            (letter, name, Role::Earlier)
        });
        items.extend(named);
    }
    items
}

/// Lines, areas and ticks.
fn shapes(pen: &Pen) -> Vec<Item> {
    let data = pen.data;
    let done = data.steps.iter().any(|s| s.fate == StepFate::Done);
    let symbol = |fine, ascii| pen.theme.symbol(fine, ascii);
    [
        (
            !data.curve.is_empty(),
            symbol("⠒⠒", "**"),
            "likely",
            Role::Curve,
        ),
        (
            !data.curve.is_empty(),
            symbol("⡑⢌", "::"),
            "80 % sure",
            Role::Band,
        ),
        (
            !data.healthy.is_empty(),
            symbol("⠂⠐", ",,"),
            "healthy",
            Role::Healthy,
        ),
        (done, tick(pen.theme, StepFate::Done), "done", Role::Tick),
        (
            data.finish.is_some(),
            symbol("◇", "+"),
            "finish",
            Role::Curve,
        ),
    ]
    .into_iter()
    .filter(|item| item.0)
    .map(|(_, symbol, words, role)| (symbol, words.to_owned(), role))
    .collect()
}
