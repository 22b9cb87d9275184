//! Several series of points on one plain field, each by its own letter.

use crate::tui::ink::Ink;
use crate::tui::theme::Role;

/// Points that belong together.
pub struct Series {
    /// What stands for them.
    pub letter: char,
    /// Across and up.
    pub points: Vec<(f64, f64)>,
}

/// What the axes say.
pub struct Axes {
    /// Lowest and highest value shown; none takes them from the points.
    pub up: Option<(f64, f64)>,
    /// Decimals of the values.
    pub decimals: usize,
    /// What runs across.
    pub across: &'static str,
}

/// Draws the points; nothing where there are none or no room.
pub fn scatter(all: &[Series], axes: &Axes, ink: &mut Ink) {
    let points = || all.iter().flat_map(|s| s.points.iter().copied());
    let finite = |(x, y): &(f64, f64)| x.is_finite() && y.is_finite();
    let room = (ink.area.width, ink.area.height);
    if room.0 < 20 || room.1 < 4 || !points().any(|p| finite(&p)) {
        return;
    }
    let right = points().filter(finite).map(|p| p.0).fold(1.0, f64::max);
    let seen = points().filter(finite).map(|p| p.1);
    let (low, high) = axes.up.unwrap_or_else(|| {
        let low = seen.clone().fold(f64::INFINITY, f64::min);
        (low, seen.fold(f64::NEG_INFINITY, f64::max))
    });
    let span = (high - low).max(1e-9);
    let left = 7;
    let (wide, tall) = (room.0 - left - 1, room.1 - 2);
    for (y, value) in [(0, high), (tall, low)] {
        ink.number(
            0,
            y,
            left - 1,
            &format!("{value:.0$}", axes.decimals),
            Role::Muted,
        );
    }
    ink.rule_from(left, tall + 1, Role::Faint);
    let end = format!("{right:.0} {}", axes.across);
    ink.say(left, tall + 1, "0", Role::Muted);
    ink.right(tall + 1, &end, Role::Muted);
    for series in all {
        for (x, y) in series.points.iter().filter(|p| finite(p)) {
            let column = left + (x.max(0.0) / right * f64::from(wide)).round() as u16;
            let up = ((y - low) / span).clamp(0.0, 1.0);
            let row = tall - (up * f64::from(tall)).round() as u16;
            ink.say(column, row, &series.letter.to_string(), Role::Accent);
        }
    }
}
