use super::dots::{Dots, Layer};
use super::scale::{self, Ruler, Span, along, around, extremes, on_scale};
use super::{Pen, write};
use crate::app::trend::{PointKind, TrendPoint};
use crate::tui::theme::{Role, Theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Gravity: band, lines, readings, value axis.
pub(super) fn draw(pen: &Pen, area: Rect, buf: &mut Buffer) {
    if area.is_empty() {
        return;
    }
    let Some(ruler) = value_span(pen, area) else {
        let said = "the first reading begins the curve";
        let style = pen.style(Role::Muted);
        write(buf, area, area.x, area.y + area.height / 2, said, style);
        return;
    };
    let value = ruler.span;
    let mut dots = Dots::new(area);
    present(pen, &mut dots);
    band(pen, value, &mut dots);
    if pen.view.earlier {
        for (gap, batch) in (3_i32..).zip(&pen.data.earlier) {
            let line = line_of(pen, batch.line.iter().map(|p| (p.0, p.1.get())));
            stroke(pen, value, &line, Layer::Earlier, &mut dots, |x| {
                x % gap != 0
            });
        }
    }
    let healthy = line_of(pen, pen.data.healthy.iter().map(|p| (p.0, p.1.get())));
    stroke(pen, value, &healthy, Layer::Healthy, &mut dots, |x| {
        x % 4 == 0
    });
    median(pen, value, &mut dots);
    let thick = is_dense(pen, area);
    for point in &pen.data.points {
        error_bar(pen, value, point, &mut dots);
    }
    if thick {
        dense(pen, value, &mut dots);
    }
    dots.draw(area, pen.theme, role_of, buf);
    for point in pen.data.points.iter().filter(|p| p.odd || !thick) {
        glyph(pen, value, point, area, buf);
    }
    letters(pen, value, area, buf);
    value_axis(pen, &ruler, area, buf);
}

const fn role_of(layer: Layer) -> Role {
    match layer {
        Layer::Ground => Role::Faint,
        Layer::Band => Role::Band,
        Layer::Earlier => Role::Earlier,
        Layer::Healthy => Role::Healthy,
        Layer::Curve => Role::Curve,
        Layer::Outside => Role::Watch,
        Layer::Point => Role::Point,
    }
}

/// A line on the maker's scale.
fn line_of(pen: &Pen, line: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    line.map(|(x, sg)| (x, on_scale(sg, pen.view.scale)))
        .filter(|p| p.0.is_finite() && p.1.is_finite())
        .collect()
}

fn middle(pen: &Pen) -> Vec<(f64, f64)> {
    let curve = pen.data.curve.iter();
    line_of(pen, curve.map(|c| (c.at, c.gravity.p50.get())))
}

/// Values shown: all readings and all of the band in view, a healthy ferment
/// and earlier batches too, with a little air, and round values in the middle
/// of rows. Turned over: dots count down.
fn value_span(pen: &Pen, area: Rect) -> Option<Ruler> {
    let (from, to) = (pen.time.from, pen.time.to);
    let within = |x: f64| (from..=to).contains(&x);
    let data = pen.data;
    let points = data.points.iter().filter(|p| within(p.at)).flat_map(|p| {
        let error = p.error.get();
        [p.gravity.get() - error, p.gravity.get() + error]
    });
    let curve = data.curve.iter().filter(|c| within(c.at));
    let curve = curve.flat_map(|c| [c.gravity.p10.get(), c.gravity.p90.get()]);
    let ends = [from, to].into_iter().filter_map(|x| data.curve_at(x));
    let ends = ends.flat_map(|s| [s.p10, s.p90]);
    let healthy = data
        .healthy
        .iter()
        .filter(|p| within(p.0))
        .map(|p| p.1.get());
    let earlier = data.earlier.iter().filter(|_| pen.view.earlier);
    let earlier = earlier.flat_map(|e| e.line.iter().filter(|p| within(p.0)).map(|p| p.1.get()));
    let all = points
        .chain(curve)
        .chain(ends)
        .chain(healthy)
        .chain(earlier);
    let (lo, hi) = around(all.map(|sg| on_scale(sg, pen.view.scale)))?;
    let least = scale::finest(pen.view.scale) * 4.0;
    let air = ((hi - lo) * 0.03).max((least - (hi - lo)) / 2.0);
    let finest = scale::finest(pen.view.scale);
    Some(Ruler::around(lo - air, hi + air, area.height, finest))
}

/// A dotted line where the present is.
fn present(pen: &Pen, dots: &mut Dots) {
    let x = pen.time.dot(pen.data.now);
    for y in (0..dots.height()).step_by(2) {
        dots.set(Layer::Ground, x, y);
    }
}

/// A screen of dots between the edges, firmer edges.
fn band(pen: &Pen, value: Span, dots: &mut Dots) {
    let curve = pen.data.curve.iter();
    let low = line_of(pen, curve.clone().map(|c| (c.at, c.gravity.p10.get())));
    let high = line_of(pen, curve.map(|c| (c.at, c.gravity.p90.get())));
    for x in 0..dots.width() {
        let (from, to) = column(pen.time, x);
        let (Some(lo), Some(hi)) = (extremes(&low, from, to), extremes(&high, from, to)) else {
            continue;
        };
        let (top, bottom) = (value.dot(hi.1), value.dot(lo.0));
        for y in top.max(0)..=bottom.min(dots.height() - 1) {
            let edge = (y == top || y == bottom) && x % 2 == 0;
            if edge || (y % 2 == 0 && (x + y) % 4 == 0) {
                dots.set(Layer::Band, x, y);
            }
        }
    }
}

/// The stretch of time under a column of dots.
fn column(time: Span, x: i32) -> (f64, f64) {
    let half = (time.to - time.from) / f64::from(time.dots.max(1)) / 2.0;
    let middle = time.value(x);
    (middle - half, middle + half)
}

/// Dots of height from which the known part of the median is two dots thick.
const THICK_FROM: i32 = 36;

/// The median: full where it is known, dashed where it is forecast.
fn median(pen: &Pen, value: Span, dots: &mut Dots) {
    let now = pen.time.dot(pen.data.now);
    let line = middle(pen);
    let known = |x: i32| x <= now;
    stroke(pen, value, &line, Layer::Curve, dots, |x| {
        known(x) || (x - now) % 5 < 3
    });
    if dots.height() >= THICK_FROM {
        // What is known is drawn twice as thick as what is forecast.
        let dot = (value.from - value.to) / f64::from(value.dots.max(1));
        let below = Span {
            from: value.from + dot,
            to: value.to + dot,
            ..value
        };
        stroke(pen, below, &line, Layer::Curve, dots, known);
    }
}

/// A line through all columns of dots that `wanted` lets through, joined
/// upright where it is steep.
fn stroke(
    pen: &Pen,
    value: Span,
    line: &[(f64, f64)],
    layer: Layer,
    dots: &mut Dots,
    wanted: impl Fn(i32) -> bool,
) {
    let mut last: Option<i32> = None;
    for x in 0..dots.width() {
        let (from, to) = column(pen.time, x);
        let Some(here) = along(line, pen.time.value(x)).map(|v| value.dot(v)) else {
            // A line shorter than one column still shows.
            if let Some((lo, hi)) = extremes(line, from, to).filter(|_| wanted(x)) {
                dots.upright(layer, x, value.dot(lo), value.dot(hi));
            }
            last = None;
            continue;
        };
        if wanted(x) {
            let start = match last {
                Some(y) if y < here - 1 => y + 1,
                Some(y) if y > here + 1 => y - 1,
                _ => here,
            };
            let spread = (start - here).abs();
            if layer == Layer::Healthy && spread > 0 {
                for y in (start.min(here)..=start.max(here)).step_by(4) {
                    dots.set(layer, x, y);
                }
            } else {
                dots.upright(layer, x, start, here);
            }
        }
        last = Some(here);
    }
}

/// More readings in view than there are columns: they are drawn as one upright
/// stroke a column, from the lowest to the highest, so that none is hidden.
fn is_dense(pen: &Pen, area: Rect) -> bool {
    let (from, to) = (pen.time.from, pen.time.to);
    let shown = pen.data.points.iter();
    shown.filter(|p| (from..=to).contains(&p.at)).count() > usize::from(area.width)
}

fn dense(pen: &Pen, value: Span, dots: &mut Dots) {
    for point in pen.data.points.iter().filter(|p| !p.odd) {
        let y = value.dot(on_scale(point.gravity.get(), pen.view.scale));
        dots.set(Layer::Point, pen.time.dot(point.at), y);
    }
}

/// Up and down by the error of the reading.
fn error_bar(pen: &Pen, value: Span, point: &TrendPoint, dots: &mut Dots) {
    let at = |sg: f64| value.dot(on_scale(sg, pen.view.scale));
    let (sg, error) = (point.gravity.get(), point.error.get().abs());
    let (top, bottom) = (at(sg + error), at(sg - error));
    if bottom - top >= 4 {
        dots.upright(Layer::Point, pen.time.dot(point.at), top, bottom);
    }
}

/// The glyph of a reading: shape by instrument, a cross when it is doubted.
pub(super) fn symbol(theme: Theme, kind: PointKind, odd: bool) -> &'static str {
    match kind {
        _ if odd => theme.symbol("×", "x"),
        PointKind::Hydrometer => theme.symbol("●", "o"),
        PointKind::Refractometer => theme.symbol("◆", "d"),
        PointKind::Mass => theme.symbol("■", "m"),
        PointKind::Sensor => theme.symbol("•", "."),
    }
}

fn glyph(pen: &Pen, value: Span, point: &TrendPoint, area: Rect, buf: &mut Buffer) {
    let y = value.dot(on_scale(point.gravity.get(), pen.view.scale));
    let (Some(x), true) = (pen.column(point.at, area), (0..value.dots).contains(&y)) else {
        return;
    };
    let role = if point.odd { Role::Watch } else { Role::Point };
    if let Some(cell) = buf.cell_mut((x, area.y + (y / 4) as u16)) {
        cell.reset();
        cell.set_symbol(symbol(pen.theme, point.kind, point.odd))
            .set_style(pen.style(role));
    }
}

/// A letter at the last shown point of each earlier batch.
fn letters(pen: &Pen, value: Span, area: Rect, buf: &mut Buffer) {
    if !pen.view.earlier {
        return;
    }
    for (batch, letter) in pen.data.earlier.iter().zip('a'..='z') {
        let shown = batch.line.iter().rev().find(|p| pen.time.holds(p.0));
        let Some((at, gravity)) = shown else { continue };
        let y = value.dot(on_scale(gravity.get(), pen.view.scale));
        let (Some(x), true) = (pen.column(*at, area), (0..value.dots).contains(&y)) else {
            continue;
        };
        if let Some(cell) = buf.cell_mut((x, area.y + (y / 4) as u16)) {
            cell.reset();
            cell.set_char(letter).set_style(pen.style(Role::Earlier));
        }
    }
}

/// Round values beside the plot, each on the row whose middle it is.
fn value_axis(pen: &Pen, ruler: &Ruler, area: Rect, buf: &mut Buffer) {
    let left = Rect::new(area.x.saturating_sub(6), area.y, 6, area.height);
    for (row, value) in ruler.marks(area.height) {
        let label = scale::scale_label(value, pen.view.scale);
        write(
            buf,
            left,
            left.x,
            area.y + row,
            &label,
            pen.style(Role::Muted),
        );
    }
}
