use super::axis::lanes;
use super::scale::Span;
use crate::app::trend::{DayTime, TrendData, TrendView};
use ratatui::layout::Rect;

/// Columns for the labels of the value axis: five of number, one blank.
const LEFT: u16 = 6;

/// Where the parts of a trend lie. Parts without rows have none to draw.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Frame {
    /// One line that says the present, or the values at the cursor.
    pub(super) readout: Rect,
    /// Gravity.
    pub(super) plot: Rect,
    /// Steps and finish window.
    pub(super) ticks: Rect,
    /// Names of steps.
    pub(super) names: Rect,
    /// Temperature.
    pub(super) strip: Rect,
    /// Days or dates.
    pub(super) labels: Rect,
    /// What the shapes mean.
    pub(super) legend: Rect,
}

impl Frame {
    /// Divides an area. Nothing is cut: a part that does not fit is left out,
    /// the plot last of all.
    pub(super) fn of(area: Rect, data: &TrendData, view: &TrendView) -> Option<Self> {
        if area.width < 20 || area.height < 4 {
            return None;
        }
        let h = area.height;
        let names = name_rows(area, data, view);
        let has_warmth = !data.warmth.is_empty();
        let strip = match h.saturating_sub(names) {
            _ if !has_warmth => 0,
            0..12 => 0,
            12..15 => 2,
            15..26 => 3,
            _ => 5,
        };
        let gap = u16::from(strip > 0 && h >= 22);
        let legend = u16::from(h >= 14 && area.width >= 44);
        let plot = h.saturating_sub(3 + names + strip + gap + legend);
        let (left, wide) = (area.x + LEFT, area.width - LEFT);
        let mut y = area.y;
        let mut row = |rows: u16, x: u16, width: u16| {
            let rect = Rect::new(x, y, width, rows);
            y += rows;
            rect
        };
        let readout = row(1, area.x, area.width);
        let plot = row(plot, left, wide);
        let ticks = row(1, left, wide);
        let names = row(names, left, wide);
        row(gap, left, wide);
        let strip = row(strip, left, wide);
        let labels = row(1, left, wide);
        let legend = row(legend, area.x, area.width);
        Some(Self {
            readout,
            plot,
            ticks,
            names,
            strip,
            labels,
            legend,
        })
    }
}

/// As many rows as the names of the steps need, within bounds.
fn name_rows(area: Rect, data: &TrendData, view: &TrendView) -> u16 {
    if !view.names {
        return 0;
    }
    let most = (area.height / 6).clamp(1, 5);
    let (from, to) = view.shown(data);
    let width = area.width - LEFT;
    let dots = i32::from(width) * 2;
    let (placed, _) = lanes(data, Span { from, to, dots }, width, most);
    placed.iter().map(|p| p.0 + 1).max().unwrap_or(0)
}

/// The time under a column of the screen, if the plot or what lies below it
/// is there: for a click or a touch.
pub fn trend_time_at(
    data: &TrendData,
    view: &TrendView,
    area: Rect,
    column: u16,
    row: u16,
) -> Option<DayTime> {
    let frame = Frame::of(area, data, view)?;
    let plot = frame.plot;
    let inside = (plot.left()..plot.right()).contains(&column)
        && (plot.top()..frame.labels.bottom()).contains(&row);
    let (from, to) = view.shown(data);
    let share = (f64::from(column.saturating_sub(plot.x)) + 0.5) / f64::from(plot.width.max(1));
    inside.then_some(from + share * (to - from))
}
