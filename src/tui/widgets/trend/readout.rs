use crate::app::say;
use crate::app::trend::{DayTime, TrendData, TrendView};
use crate::domain::records::GravityScale;
use crate::domain::units::Gravity;
use crate::engine::{Spread, State};
use crate::tui::text;
use crate::tui::theme::{Role, Theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// One line: the present and the finish, or what stands at the cursor. Parts
/// that do not fit are left out whole, the last first.
pub(super) fn draw(data: &TrendData, view: &TrendView, theme: Theme, area: Rect, buf: &mut Buffer) {
    let parts = match view.cursor {
        Some(at) => at_cursor(data, view, at),
        None => at_present(data, view),
    };
    let mut x = area.x;
    for (role, words) in parts {
        let wide = text::width(&words);
        if usize::from(x) + wide > usize::from(area.right()) {
            break;
        }
        buf.set_string(x, area.y, &words, theme.style(role));
        x += wide as u16 + 2;
    }
}

type Parts = Vec<(Role, String)>;

fn number(sg: f64, scale: GravityScale) -> String {
    say::gravity_number(Gravity::clamped(sg), scale)
}

fn at_present(data: &TrendData, view: &TrendView) -> Parts {
    let mut parts = Parts::new();
    if let Some(now) = data.gravity {
        parts.push((Role::Title, say::gravity(now.p50, view.scale)));
        let range = range(now.map(Gravity::get), view.scale);
        parts.push((Role::Muted, format!("now, {range}")));
    } else if let Some(last) = data.points.last() {
        parts.push((Role::Title, say::gravity(last.gravity, view.scale)));
        parts.push((Role::Muted, format!("read {}", moment(data, last.at))));
    } else {
        parts.push((Role::Muted, "no gravity reading yet".into()));
    }
    let past = data.finish.is_some_and(|f| f.p50 < data.now);
    if let Some(end) = data.end {
        let end = say::gravity_number(end.p50, view.scale);
        let said = match data.state {
            Some(State::Stuck) => "ends here if it stays stuck".to_owned(),
            _ if past => format!("finished at {end}"),
            _ => format!("finish about {end}"),
        };
        parts.push((Role::Ink, said));
    }
    if let (Some(finish), Some(today)) = (data.finish, data.date(data.now)) {
        let date = |at| data.date(at);
        if let (Some(first), Some(middle), Some(last)) =
            (date(finish.p10), date(finish.p50), date(finish.p90))
        {
            parts.push((Role::Ink, say::day(middle, today)));
            parts.push((Role::Muted, format!("({})", say::dates(first, last, today))));
        }
    }
    parts
}

/// `1.040 to 1.044`.
fn range(spread: Spread<f64>, scale: GravityScale) -> String {
    let (low, high) = (number(spread.p10, scale), number(spread.p90, scale));
    if low == high {
        format!(
            "sure to {}",
            if scale == GravityScale::Sg {
                "0.001"
            } else {
                "0.1"
            }
        )
    } else {
        format!("{low} to {high}")
    }
}

/// `day 12, 24 Nov 14:00`.
fn moment(data: &TrendData, at: DayTime) -> String {
    let day = (at.floor() as i64).saturating_add(1);
    let time = data.time_of_day(at).format("%H:%M");
    match data.date(at) {
        Some(date) => format!("day {day}, {} {time}", date.format("%a %-d %b")),
        None => format!("day {day}"),
    }
}

fn at_cursor(data: &TrendData, view: &TrendView, at: DayTime) -> Parts {
    let (from, to) = view.shown(data);
    let reach = (to - from) / 60.0;
    let mut parts: Parts = vec![(Role::Accent, moment(data, at))];
    if let Some(point) = data.point_near(at, reach) {
        let error = say::gravity_amount(point.error, point.gravity, view.scale);
        let doubt = if point.odd { ", doubted" } else { "" };
        let read = say::gravity(point.gravity, view.scale);
        parts.push((Role::Title, format!("read {read} ±{error}{doubt}")));
    }
    if let Some(curve) = data.curve_at(at) {
        let verb = if at > data.now { "forecast" } else { "likely" };
        let middle = number(curve.p50, view.scale);
        parts.push((
            Role::Ink,
            format!("{verb} {middle} ({})", range(curve, view.scale)),
        ));
    }
    if let Some(t) = data.warmth_near(at) {
        parts.push((Role::Muted, say::temperature(t, view.units)));
    }
    let mut near: Vec<&str> = data
        .steps
        .iter()
        .filter(|s| (s.at - at).abs() <= reach)
        .map(|s| s.name.as_str())
        .collect();
    near.dedup();
    if !near.is_empty() {
        parts.push((Role::Muted, text::safe(&say::list(&near))));
    }
    parts
}
