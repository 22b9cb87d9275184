//! Where things are on the screen: one pure function serves the views and the
//! mouse.

use super::text::{width as text_width, wrap};
use super::widgets::trend::trend_time_at;
use crate::app::bench::BenchLine;
use crate::app::overlay::Overlay;
use crate::app::steps::DonePad;
use crate::app::{Hit, Screen, State, advice, brief, cautions, find, guide};
use ratatui::layout::Rect;

/// Smallest screen that is drawn on; below it a sentence stands alone.
pub const LEAST: (u16, u16) = (40, 12);

/// The parts of every screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Areas {
    /// Date and the sentence of the morning.
    pub top: Rect,
    /// The screen itself.
    pub body: Rect,
    /// What is being typed, above the foot.
    pub pad: Rect,
    /// What somebody who is led is to press next.
    pub guide: Rect,
    /// Notice and hints.
    pub foot: Rect,
}

/// The parts of a screen of that size.
pub fn areas(state: &State, screen: Rect) -> Areas {
    let inner = Rect {
        x: screen.x + 1,
        width: screen.width.saturating_sub(2),
        ..screen
    };
    let foot = Rect {
        y: inner.bottom().saturating_sub(1),
        height: inner.height.min(1),
        ..inner
    };
    let top_rows = top_rows(state, inner);
    let top = Rect {
        height: top_rows.min(inner.height),
        ..inner
    };
    let gap = u16::from(screen.height >= 20);
    let free = inner.height.saturating_sub(top.height + gap + foot.height);
    let guide_rows = guide_rows(state, inner.width).min(free.saturating_sub(4));
    let guide = Rect {
        y: foot.y.saturating_sub(guide_rows),
        height: guide_rows,
        ..inner
    };
    let free = free - guide_rows;
    let pad_rows = pad_rows(state, free);
    let pad = Rect {
        y: guide.y.saturating_sub(pad_rows),
        height: pad_rows,
        ..inner
    };
    let body = Rect {
        y: inner.y + top.height + gap,
        height: free.saturating_sub(pad_rows),
        ..inner
    };
    Areas {
        top,
        body,
        pad,
        guide,
        foot,
    }
}

/// The line of the first round in rows of words; how far it has come stands at
/// the right of the last one, or on a row of its own.
pub fn guide_lines(state: &State, width: u16) -> Vec<String> {
    let Some((says, so_far)) = guide::line(state) else {
        return Vec::new();
    };
    let room = usize::from(width.saturating_sub(GUIDE_INDENT)).max(1);
    let mut lines = wrap(&says, room);
    let after = lines.last().map_or(0, |l| text_width(l)) + 3 + text_width(&so_far);
    if after > room {
        lines.push(String::new());
    }
    lines
}

/// Columns before the words of the first round.
pub const GUIDE_INDENT: u16 = 2;

fn guide_rows(state: &State, width: u16) -> u16 {
    guide_lines(state, width).len() as u16
}

fn top_rows(state: &State, inner: Rect) -> u16 {
    if state.screen != Screen::Shelf || covered(state) {
        return 1;
    }
    let lines = wrap(&brief::sentence(state), usize::from(inner.width)).len() as u16;
    1 + lines.clamp(1, if inner.height < 18 { 2 } else { 3 })
}

/// Whether a sheet covers the body.
pub fn covered(state: &State) -> bool {
    matches!(
        state.overlays.last(),
        Some(
            Overlay::Why(_)
                | Overlay::Help(_)
                | Overlay::Settings(_)
                | Overlay::Sheet(_)
                | Overlay::Find(_)
                | Overlay::Clock
        )
    )
}

fn pad_rows(state: &State, free: u16) -> u16 {
    let wanted = match state.overlays.last() {
        Some(Overlay::Done(pad)) => done_rows(pad),
        Some(Overlay::Cell(_)) => 5,
        Some(Overlay::Slip(_) | Overlay::Skip(_) | Overlay::Move(_)) => 6,
        _ => 0,
    };
    wanted.min(free.saturating_sub(2))
}

/// The pad for done has room for what must be said before: a warning, a caution.
fn done_rows(pad: &DonePad) -> u16 {
    let Some(step) = pad.step() else {
        return 6;
    };
    let warned = step.warning.is_some();
    let caution = cautions::of_step(step.kind, None).is_some();
    6 + 2 * u16::from(warned) + 2 * u16::from(caution)
}

/// The parts of the shelf.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Shelf {
    /// The vessels, with a line of headings.
    pub list: Rect,
    /// What the chosen vessel says.
    pub says: Rect,
    /// Its trend.
    pub trend: Rect,
    /// What is due.
    pub due: Rect,
}

/// Width from which the shelf has room for a third column.
pub const WIDE: u16 = 120;

/// The parts of the shelf within a body.
pub fn shelf(state: &State, body: Rect) -> Shelf {
    let rows = state.shelf_rows().len() as u16;
    let narrow = body.width < 72;
    let least_below = if body.height >= 16 { 11 } else { 0 };
    let list_rows = (rows + 1).clamp(2, body.height.saturating_sub(least_below).max(2));
    let list = Rect {
        height: list_rows.min(body.height),
        ..body
    };
    let gap = u16::from(body.height > list.height + 4);
    let below = Rect {
        y: list.bottom() + gap,
        height: body.height.saturating_sub(list.height + gap),
        ..body
    };
    if below.height < 3 {
        return Shelf {
            list: Rect {
                height: body.height,
                ..list
            },
            ..Shelf::default()
        };
    }
    if narrow {
        return Shelf {
            list,
            due: below,
            ..Shelf::default()
        };
    }
    let advised = u16::from(advice::pressing(state).is_some());
    beside(list, below, advised)
}

fn beside(list: Rect, below: Rect, advised: u16) -> Shelf {
    if below.width < WIDE {
        let due_width = (below.width * 2 / 5).clamp(28, 40);
        let (left, due) = split(below, below.width - due_width - 2, 2);
        let says_rows = if left.height >= 10 {
            3 + advised
        } else {
            left.height.min(2)
        };
        let says = Rect {
            height: says_rows.min(left.height),
            ..left
        };
        let trend = Rect {
            y: says.bottom(),
            height: left.height - says.height,
            ..left
        };
        return Shelf {
            list,
            says,
            trend,
            due,
        };
    }
    let (left, right) = split(below, below.width * 9 / 16, 3);
    let says_rows = (right.height / 2).max(3);
    let says = Rect {
        height: says_rows.saturating_sub(1),
        ..right
    };
    let due = Rect {
        y: right.y + says_rows,
        height: right.height - says_rows,
        ..right
    };
    Shelf {
        list,
        says,
        trend: left,
        due,
    }
}

/// Two columns with a gap between them.
pub fn split(area: Rect, left: u16, gap: u16) -> (Rect, Rect) {
    let left = left.min(area.width);
    let right = Rect {
        x: area.x + left + gap,
        width: area.width.saturating_sub(left + gap),
        ..area
    };
    (
        Rect {
            width: left,
            ..area
        },
        right,
    )
}

/// First row of a list that is shown, so that the chosen one is among them.
pub fn first_shown(chosen: usize, length: usize, rows: usize) -> usize {
    if length <= rows || rows == 0 {
        return 0;
    }
    chosen
        .saturating_sub(rows.saturating_sub(1) / 2)
        .min(length - rows)
}

/// The parts of the batch screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Batch {
    /// Two lines about the batch, and one of what is advised in trouble.
    pub head: Rect,
    /// The trend.
    pub trend: Rect,
    /// Names of the parts below.
    pub tabs: Rect,
    /// The part that has the keys.
    pub part: Rect,
    /// The part beside it, where there is room.
    pub beside: Rect,
}

/// The parts of the batch screen within a body.
pub fn batch(state: &State, body: Rect) -> Batch {
    let advised = u16::from(advice::pressing(state).is_some());
    let head = Rect {
        height: body.height.min(2 + advised),
        ..body
    };
    let rest = body.height - head.height;
    let trend_rows = if rest < 14 { 0 } else { rest * 11 / 20 };
    let trend = Rect {
        y: head.bottom(),
        height: trend_rows,
        ..body
    };
    let tabs = Rect {
        y: trend.bottom(),
        height: (rest - trend_rows).min(1),
        ..body
    };
    let below = Rect {
        y: tabs.bottom(),
        height: rest - trend_rows - tabs.height,
        ..body
    };
    let (part, beside) = if body.width >= WIDE {
        split(below, below.width * 11 / 20, 3)
    } else {
        (below, Rect::default())
    };
    Batch {
        head,
        trend,
        tabs,
        part,
        beside,
    }
}

/// The parts of the trend in large, within a body: one line about the batch.
pub fn trend(body: Rect) -> Batch {
    let head = Rect {
        height: body.height.min(1),
        ..body
    };
    let gap = u16::from(body.height >= 24);
    Batch {
        head,
        trend: Rect {
            y: head.bottom() + gap,
            height: body.height.saturating_sub(head.height + gap),
            ..body
        },
        ..Batch::default()
    }
}

/// The list of what was found, within a body.
pub fn find(body: Rect) -> Rect {
    let above = body.height.min(2);
    Rect {
        y: body.y + above,
        height: body.height - above,
        ..body
    }
}

/// What a cell of the screen belongs to.
pub fn hit(state: &State, screen: Rect, x: u16, y: u16) -> Option<Hit> {
    let areas = areas(state, screen);
    if let Some(Overlay::Find(sheet)) = state.overlays.last() {
        let list = find(areas.body);
        let length = find::found(state, sheet).len();
        let rows = usize::from(list.height);
        let at = first_shown(sheet.at, length, rows) + row_in(list, x, y)?;
        return (at < length).then_some(Hit::Line(at));
    }
    match state.screen {
        Screen::Shelf => shelf_hit(state, shelf(state, areas.body), x, y),
        Screen::Batch => batch_hit(state, batch(state, areas.body), x, y),
        Screen::Trend => time_at(state, trend(areas.body).trend, x, y),
        Screen::Bench => bench_hit(state, areas.body, x, y),
        _ => None,
    }
}

fn row_in(area: Rect, x: u16, y: u16) -> Option<usize> {
    let inside =
        (area.left()..area.right()).contains(&x) && (area.top()..area.bottom()).contains(&y);
    inside.then(|| usize::from(y - area.y))
}

/// The time under a cell of the trend.
fn time_at(state: &State, area: Rect, x: u16, y: u16) -> Option<Hit> {
    let data = state.trend.as_ref()?;
    trend_time_at(data, &state.trend_view, area, x, y).map(Hit::Trend)
}

fn shelf_hit(state: &State, parts: Shelf, x: u16, y: u16) -> Option<Hit> {
    if let Some(row) = row_in(parts.list, x, y) {
        let rows = usize::from(parts.list.height).saturating_sub(1);
        let length = state.shelf_rows().len();
        let first = first_shown(state.chosen_index().unwrap_or(0), length, rows);
        let at = first + row.checked_sub(1)?;
        return (at < length).then_some(Hit::Row(at));
    }
    if let Some(row) = row_in(parts.due, x, y) {
        let lines = super::screens::due::lines(state, parts.due);
        let line = lines.get(row)?;
        return line.due.map(Hit::Due).or(line.row.map(Hit::Row));
    }
    time_at(state, parts.trend, x, y)
}

fn batch_hit(state: &State, parts: Batch, x: u16, y: u16) -> Option<Hit> {
    if let Some(row) = row_in(parts.part, x, y) {
        let rows = usize::from(parts.part.height);
        let length = match state.batch.part {
            crate::app::batch::Part::Plan => state.chosen_dossier().map_or(0, |d| d.steps.len()),
            crate::app::batch::Part::Ledger => state.batch.lines().count(),
            crate::app::batch::Part::Says => return None,
        };
        let at = first_shown(state.batch.chosen(), length, rows) + row;
        return (at < length).then_some(Hit::Line(at));
    }
    time_at(state, parts.trend, x, y)
}

fn bench_hit(state: &State, body: Rect, x: u16, y: u16) -> Option<Hit> {
    let (list, _) = super::screens::bench::parts(&state.bench, body);
    let row = row_in(list, x, y)?.checked_sub(2)?;
    let lines = state.bench.lines();
    let rows = usize::from(list.height).saturating_sub(2);
    let at = super::screens::bench::first_line(&lines, rows) + row;
    match lines.get(at)? {
        BenchLine::Figure(index, _) => Some(Hit::Line(*index)),
        BenchLine::Heading(_) => None,
    }
}

/// Rows that the list with the keys has, for paging.
pub fn list_rows(state: &State, screen: Rect) -> usize {
    let areas = areas(state, screen);
    let rows = if covered(state) {
        areas.body.height
    } else {
        match state.screen {
            Screen::Shelf => shelf(state, areas.body).list.height.saturating_sub(1),
            Screen::Batch => batch(state, areas.body).part.height,
            Screen::Bench => areas.body.height.saturating_sub(2),
            _ => areas.body.height,
        }
    };
    usize::from(rows.max(1))
}
