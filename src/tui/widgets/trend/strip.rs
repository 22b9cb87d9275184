use super::dots::{Dots, Layer};
use super::scale::{Span, around, extremes};
use super::{Pen, write};
use crate::domain::records::UnitSystem;
use crate::domain::units::Celsius;
use crate::tui::theme::Role;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Temperature over the same days, its band behind it. What lies outside the
/// band is drawn heavier as well as in another colour.
pub(super) fn draw(pen: &Pen, area: Rect, buf: &mut Buffer) {
    if area.is_empty() {
        return;
    }
    let degrees = |c: Celsius| match pen.view.units {
        UnitSystem::Us => c.fahrenheit(),
        UnitSystem::Metric => c.get(),
    };
    let line: Vec<(f64, f64)> = pen
        .data
        .warmth
        .iter()
        .map(|p| (p.0, degrees(p.1)))
        .filter(|p| p.0.is_finite())
        .collect();
    let band = pen.data.band.map(|b| (degrees(b.low), degrees(b.high)));
    let shown = line.iter().filter(|p| pen.time.holds(p.0)).map(|p| p.1);
    let ends = band.into_iter().flat_map(|b| [b.0, b.1]);
    let Some((lo, hi)) = around(shown.chain(ends)) else {
        return;
    };
    let air = ((hi - lo) * 0.12).max(1.0);
    let value = Span {
        from: hi + air,
        to: lo - air,
        dots: i32::from(area.height) * 4,
    };
    let mut dots = Dots::new(area);
    if let Some((low, high)) = band {
        screen(value, low, high, &mut dots);
    }
    temperatures(pen, value, &line, band, &mut dots);
    dots.draw(area, pen.theme, role_of, buf);
    labels(pen, value, band.unwrap_or((lo, hi)), area, buf);
}

const fn role_of(layer: Layer) -> Role {
    match layer {
        Layer::Ground => Role::Faint,
        Layer::Outside => Role::Watch,
        _ => Role::Warmth,
    }
}

fn screen(value: Span, low: f64, high: f64, dots: &mut Dots) {
    let (top, bottom) = (value.dot(high), value.dot(low));
    for x in 0..dots.width() {
        for y in top.max(0)..=bottom.min(dots.height() - 1) {
            let edge = (y == top || y == bottom) && x % 2 == 0;
            if edge || (y % 2 == 0 && (x + y) % 4 == 0) {
                dots.set(Layer::Ground, x, y);
            }
        }
    }
}

/// Readings are joined as long as they are not more than three days apart; a
/// longer silence stays empty.
fn temperatures(
    pen: &Pen,
    value: Span,
    line: &[(f64, f64)],
    band: Option<(f64, f64)>,
    dots: &mut Dots,
) {
    let pieces = line.chunk_by(|a, b| b.0 - a.0 <= 3.0);
    let half = (pen.time.to - pen.time.from) / f64::from(pen.time.dots.max(1)) / 2.0;
    for piece in pieces {
        for x in 0..dots.width() {
            let at = pen.time.value(x);
            let Some((lo, hi)) = extremes(piece, at - half, at + half) else {
                continue;
            };
            let outside = band.is_some_and(|(low, high)| lo < low || hi > high);
            let layer = if outside {
                Layer::Outside
            } else {
                Layer::Curve
            };
            let (top, bottom) = (value.dot(hi), value.dot(lo));
            dots.upright(layer, x, top, bottom + i32::from(outside));
        }
    }
}

/// Both ends of the band, or of what was seen. One unit is enough.
fn labels(pen: &Pen, value: Span, ends: (f64, f64), area: Rect, buf: &mut Buffer) {
    let unit = match pen.view.units {
        UnitSystem::Us => "°F",
        UnitSystem::Metric => "°C",
    };
    let row = |v: f64| area.y + (value.dot(v).clamp(0, value.dots - 1) / 4) as u16;
    let (mut top, mut bottom) = (row(ends.1), row(ends.0));
    if top == bottom {
        (top, bottom) = (area.top(), area.bottom() - 1);
    }
    let left = Rect::new(area.x.saturating_sub(6), area.y, 6, area.height);
    let style = pen.style(Role::Muted);
    write(
        buf,
        left,
        left.x,
        top,
        &format!("{:>2.0} {unit}", ends.1),
        style,
    );
    // Both the same, told twice, would look like a span.
    let told = format!("{:>2.0}", ends.0) != format!("{:>2.0}", ends.1);
    if bottom > top && told {
        write(
            buf,
            left,
            left.x,
            bottom,
            &format!("{:>2.0}", ends.0),
            style,
        );
    }
}
