use crate::domain::text::safe;
use maud::{Markup, html};
use std::fmt::Write as _;

/// A step done, as a tick on the time axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    /// Days since pitching.
    pub day: f64,
    /// What was done.
    pub name: String,
}

/// Gravity against days since pitching.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SheetTrend {
    /// Readings: days, SG.
    pub points: Vec<(f64, f64)>,
    /// Curve: days, SG at 10, 50 and 90 %.
    pub curve: Vec<(f64, [f64; 3])>,
    /// Steps done.
    pub ticks: Vec<Tick>,
}

const WIDTH: f64 = 720.0;
const HEIGHT: f64 = 280.0;
const LEFT: f64 = 52.0;
const BOTTOM: f64 = 34.0;
const TOP: f64 = 12.0;
const RIGHT: f64 = 12.0;

struct Scale {
    days: (f64, f64),
    gravity: (f64, f64),
}

impl Scale {
    fn of(trend: &SheetTrend) -> Self {
        let mut scale = Self {
            days: (0.0, 1.0),
            gravity: (f64::INFINITY, f64::NEG_INFINITY),
        };
        let curve = trend.curve.iter().flat_map(|(d, g)| g.map(|g| (*d, g)));
        for (day, gravity) in trend.points.iter().copied().chain(curve) {
            if day.is_finite() && gravity.is_finite() {
                scale.days.0 = scale.days.0.min(day);
                scale.days.1 = scale.days.1.max(day);
                scale.gravity.0 = scale.gravity.0.min(gravity);
                scale.gravity.1 = scale.gravity.1.max(gravity);
            }
        }
        if scale.gravity.0 > scale.gravity.1 {
            scale.gravity = (1.0, 1.1);
        }
        // A little air, so that flat series have a height too.
        scale.gravity.0 -= 0.002;
        scale.gravity.1 += 0.002;
        scale
    }

    fn x(&self, day: f64) -> f64 {
        LEFT + (day - self.days.0) / (self.days.1 - self.days.0) * (WIDTH - LEFT - RIGHT)
    }

    fn y(&self, gravity: f64) -> f64 {
        let share = (gravity - self.gravity.0) / (self.gravity.1 - self.gravity.0);
        HEIGHT - BOTTOM - share * (HEIGHT - BOTTOM - TOP)
    }
}

/// A round step that divides a span into four to nine parts.
fn round_step(span: f64) -> f64 {
    let rough = span / 6.0;
    let power = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|s| s * power >= rough)
        .unwrap_or(10.0);
    step * power
}

fn marks(from: f64, to: f64) -> Vec<f64> {
    let step = round_step(to - from);
    let first = (from / step).ceil() as i64;
    let last = (to / step).floor() as i64;
    (first..=last).take(40).map(|i| i as f64 * step).collect()
}

fn path(points: impl Iterator<Item = (f64, f64)>) -> String {
    let mut d = String::new();
    for (x, y) in points.filter(|(x, y)| x.is_finite() && y.is_finite()) {
        let sign = if d.is_empty() { 'M' } else { 'L' };
        let _ = write!(d, "{sign}{x:.1} {y:.1}");
    }
    d
}

fn band(trend: &SheetTrend, scale: &Scale) -> String {
    let up = trend.curve.iter().map(|(d, g)| (*d, g[2]));
    let down = trend.curve.iter().rev().map(|(d, g)| (*d, g[0]));
    path(up.chain(down).map(|(d, g)| (scale.x(d), scale.y(g))))
}

/// The trend as an SVG element.
pub(super) fn svg(trend: &SheetTrend) -> Markup {
    let s = Scale::of(trend);
    let n = |v: f64| format!("{v:.1}");
    let middle = path(trend.curve.iter().map(|(d, g)| (s.x(*d), s.y(g[1]))));
    let floor = HEIGHT - BOTTOM;
    html! {
        svg viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="img" aria-label="gravity against days since pitching" {
            @for g in marks(s.gravity.0, s.gravity.1) {
                line x1=(n(LEFT)) x2=(n(WIDTH - RIGHT)) y1=(n(s.y(g))) y2=(n(s.y(g))) stroke="#dddddd" {}
                text x=(n(LEFT - 6.0)) y=(n(s.y(g) + 4.0)) text-anchor="end" font-size="11" { (format!("{g:.3}")) }
            }
            @for d in marks(s.days.0, s.days.1) {
                text x=(n(s.x(d))) y=(n(floor + 16.0)) text-anchor="middle" font-size="11" { (format!("{d:.0}")) }
            }
            text x=(n(WIDTH - RIGHT)) y=(n(HEIGHT - 4.0)) text-anchor="end" font-size="11" { "days since pitching" }
            line x1=(n(LEFT)) x2=(n(WIDTH - RIGHT)) y1=(n(floor)) y2=(n(floor)) stroke="#595959" {}
            @if !trend.curve.is_empty() {
                path d=(band(trend, &s)) fill="#e8a33d" fill-opacity="0.25" stroke="none" {}
                path d=(middle) fill="none" stroke="#7a4a00" stroke-width="1.5" {}
            }
            @for t in trend.ticks.iter().filter(|t| t.day.is_finite()) {
                line x1=(n(s.x(t.day))) x2=(n(s.x(t.day))) y1=(n(floor - 7.0)) y2=(n(floor)) stroke="#1d1d1b" {
                    title { (safe(&t.name)) }
                }
            }
            @for (d, g) in trend.points.iter().filter(|(d, g)| d.is_finite() && g.is_finite()) {
                circle cx=(n(s.x(*d))) cy=(n(s.y(*g))) r="3.2" fill="#1d1d1b" {
                    title { (format!("day {:.1}: {g:.3}", d + 1.0)) }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_lie_inside_the_frame_and_fall_to_the_right() {
        let trend = SheetTrend {
            points: vec![(0.0, 1.1), (10.0, 1.05), (20.0, 1.0)],
            ..SheetTrend::default()
        };
        let s = Scale::of(&trend);
        let first = (s.x(0.0), s.y(1.1));
        let last = (s.x(20.0), s.y(1.0));
        assert!(first.0 >= LEFT && last.0 <= WIDTH - RIGHT + 0.01);
        assert!(first.1 < last.1 && last.1 < HEIGHT - BOTTOM && first.1 > TOP);
        assert_eq!(svg(&trend).into_string().matches("<circle").count(), 3);
    }

    #[test]
    fn marks_are_round_and_few() {
        let m = marks(0.998, 1.112);
        assert!((4..=9).contains(&m.len()), "{m:?}");
        assert!((m[0] - 1.0).abs() < 1e-9);
    }

    #[test]
    fn no_number_of_the_wrong_kind_reaches_the_page() {
        let trend = SheetTrend {
            points: vec![(f64::NAN, 1.0), (1.0, f64::INFINITY)],
            curve: vec![(f64::NAN, [1.0, 1.0, 1.0])],
            ticks: Vec::new(),
        };
        let out = svg(&trend).into_string();
        assert!(!out.contains("NaN") && !out.contains("inf"));
    }
}
