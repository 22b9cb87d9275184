//! The trend of one batch: gravity over days, what is known and what is
//! forecast, with the temperature below.
//!
//! [`trend`] is a function from data and view to cells. Every shape tells
//! itself apart without colour: readings are glyphs with upright error bars,
//! the median is a full line that is dashed where it is forecast, the band a
//! thin screen of dots with firmer edges, a healthy ferment a dotted line.

mod axis;
mod dots;
mod frame;
mod plot;
mod readout;
mod scale;
mod strip;

pub use frame::trend_time_at;

use crate::app::trend::{TrendData, TrendView};
use crate::tui::theme::{Role, Theme};
use frame::Frame;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use scale::Span;

/// Draws a trend into an area of any size.
pub fn trend(data: &TrendData, view: &TrendView, theme: &Theme, area: Rect, buf: &mut Buffer) {
    let area = area.intersection(buf.area);
    if area.is_empty() {
        return;
    }
    let Some(frame) = Frame::of(area, data, view) else {
        readout::draw(data, view, *theme, Rect { height: 1, ..area }, buf);
        return;
    };
    let (from, to) = view.shown(data);
    let time = Span {
        from,
        to,
        dots: i32::from(frame.plot.width) * 2,
    };
    let pen = Pen {
        data,
        view,
        theme: *theme,
        time,
    };
    readout::draw(data, view, *theme, frame.readout, buf);
    plot::draw(&pen, frame.plot, buf);
    axis::ticks(&pen, frame.ticks, buf);
    axis::names(&pen, frame.names, buf);
    strip::draw(&pen, frame.strip, buf);
    axis::labels(&pen, frame.labels, buf);
    axis::legend(&pen, frame.legend, buf);
    cursor(&pen, &frame, buf);
}

/// What every part needs.
struct Pen<'a> {
    data: &'a TrendData,
    view: &'a TrendView,
    theme: Theme,
    time: Span,
}

impl Pen<'_> {
    fn style(&self, role: Role) -> Style {
        self.theme.style(role)
    }

    /// The column of a time within an area, if it is shown.
    fn column(&self, at: f64, area: Rect) -> Option<u16> {
        let dot = self.time.dot(at);
        (0..self.time.dots)
            .contains(&dot)
            .then(|| area.x + (dot / 2) as u16)
    }
}

/// Writes text if all of it fits into the row; a number is never cut.
fn write(buf: &mut Buffer, area: Rect, x: u16, y: u16, text: &str, style: Style) -> bool {
    let wide = crate::tui::text::width(text);
    let fits = x >= area.left()
        && usize::from(x) + wide <= usize::from(area.right())
        && (area.top()..area.bottom()).contains(&y);
    if fits {
        buf.set_string(x, y, text, style);
    }
    fits
}

/// An upright line through plot and strip; what it crosses stays readable.
fn cursor(pen: &Pen, frame: &Frame, buf: &mut Buffer) {
    let Some(x) = pen.view.cursor.and_then(|at| pen.column(at, frame.plot)) else {
        return;
    };
    let line = pen.theme.symbol("│", "|");
    let rows =
        (frame.plot.top()..frame.plot.bottom()).chain(frame.strip.top()..frame.strip.bottom());
    for y in rows {
        if let Some(cell) = buf.cell_mut((x, y)) {
            if cell.symbol() == " " {
                cell.set_symbol(line).set_style(pen.style(Role::Accent));
            } else {
                cell.set_style(pen.style(Role::Cursor));
            }
        }
    }
}
