use super::{DayTime, TrendData};
use crate::domain::records::{GravityScale, UnitSystem};

/// The narrowest span that can be zoomed to, in days.
const NARROWEST: f64 = 0.5;

/// How the maker looks at a trend: span, cursor, what is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrendView {
    /// Units.
    pub units: UnitSystem,
    /// Gravity scale.
    pub scale: GravityScale,
    /// Dates on the axis instead of days.
    pub dates: bool,
    /// Names of the steps beside their ticks.
    pub names: bool,
    /// Earlier batches laid under it.
    pub earlier: bool,
    /// The part that was zoomed to; all of it when none.
    pub span: Option<(DayTime, DayTime)>,
    /// Where values are read off.
    pub cursor: Option<DayTime>,
}

impl TrendView {
    /// All of it, days on the axis, nothing extra.
    pub const fn new(units: UnitSystem, scale: GravityScale) -> Self {
        Self {
            units,
            scale,
            dates: false,
            names: false,
            earlier: false,
            span: None,
            cursor: None,
        }
    }

    /// The span that shows everything: from the first fact to the finish, or
    /// the present, whichever is later. A forecast never takes more than two
    /// thirds of the width.
    pub fn whole(&self, data: &TrendData) -> (DayTime, DayTime) {
        let finite = |x: &f64| x.is_finite() && x.abs() < 1e6;
        let firsts = data.points.first().map(|p| p.at);
        let from = firsts
            .into_iter()
            .chain(data.curve.first().map(|c| c.at))
            .chain(std::iter::once(0.0))
            .filter(finite)
            .fold(f64::INFINITY, f64::min);
        let known = data
            .points
            .last()
            .map(|p| p.at)
            .into_iter()
            .chain(std::iter::once(data.now))
            .filter(finite)
            .fold(from + 1.0, f64::max);
        let forecast = data
            .finish
            .map(|f| f.p90 + 1.0)
            .filter(finite)
            .map_or(known, |f| f.min(from + 3.0 * (known - from).max(5.0)));
        let nothing = data.points.is_empty() && data.curve.is_empty();
        let planned = data.healthy.last().filter(|_| nothing).map(|p| p.0);
        let to = planned
            .filter(finite)
            .map_or(known, |end| end.max(known))
            .max(forecast);
        (from, to + (to - from) * 0.03)
    }

    /// The span that is shown.
    pub fn shown(&self, data: &TrendData) -> (DayTime, DayTime) {
        match self.span {
            Some((from, to)) if from.is_finite() && to.is_finite() && to - from >= NARROWEST => {
                (from, to)
            }
            _ => self.whole(data),
        }
    }

    /// Narrows (factor below 1) or widens the span around the cursor, or the
    /// present. Wide enough to show everything, it follows the data again.
    pub fn zoom(&mut self, data: &TrendData, factor: f64) {
        let (from, to) = self.shown(data);
        let (first, last) = self.whole(data);
        let wide = ((to - from) * factor).max(NARROWEST);
        if !wide.is_finite() || wide >= last - first {
            self.span = None;
            return;
        }
        let middle = self.cursor.unwrap_or(data.now);
        let share = ((middle - from) / (to - from)).clamp(0.0, 1.0);
        self.place(data, middle - share * wide, wide);
    }

    /// Moves the span by a part of its width.
    pub fn pan(&mut self, data: &TrendData, part: f64) {
        let (from, to) = self.shown(data);
        self.place(data, from + part * (to - from), to - from);
    }

    /// Moves the cursor by a part of the width; the span follows it.
    pub fn move_cursor(&mut self, data: &TrendData, part: f64) {
        let (from, to) = self.shown(data);
        let start = self.cursor.unwrap_or(data.now).clamp(from, to);
        let at = if self.cursor.is_some() {
            start + part * (to - from)
        } else {
            start
        };
        self.put_cursor(data, at);
    }

    /// Puts the cursor on the next or the last reading before it.
    pub fn cursor_to_reading(&mut self, data: &TrendData, forward: bool) {
        let here = self
            .cursor
            .unwrap_or(if forward { f64::MIN } else { f64::MAX });
        let found = if forward {
            data.points.iter().find(|p| p.at > here + 1e-9)
        } else {
            data.points.iter().rev().find(|p| p.at < here - 1e-9)
        };
        if let Some(point) = found {
            self.put_cursor(data, point.at);
        }
    }

    /// Puts the cursor at a time and brings it into view.
    pub fn put_cursor(&mut self, data: &TrendData, at: DayTime) {
        let (first, last) = self.whole(data);
        let at = if at.is_finite() {
            at.clamp(first, last)
        } else {
            first
        };
        self.cursor = Some(at);
        let (from, to) = self.shown(data);
        if at < from {
            self.place(data, at, to - from);
        } else if at > to {
            self.place(data, at - (to - from), to - from);
        }
    }

    fn place(&mut self, data: &TrendData, from: DayTime, wide: f64) {
        let (first, last) = self.whole(data);
        if wide >= last - first {
            self.span = None;
            return;
        }
        let from = from.clamp(first, last - wide);
        self.span = Some((from, from + wide));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::units::Moment;
    use chrono::DateTime;

    fn data() -> TrendData {
        let now = Moment::new(DateTime::parse_from_rfc3339("2026-11-25T12:00:00Z").unwrap());
        TrendData::empty(now.plus_days(-20.0).day(), now)
    }

    fn view() -> TrendView {
        TrendView::new(UnitSystem::Metric, GravityScale::Sg)
    }

    #[test]
    fn zooming_in_and_out_comes_back_to_everything() {
        let (data, mut view) = (data(), view());
        let whole = view.whole(&data);
        view.zoom(&data, 0.5);
        let (from, to) = view.shown(&data);
        assert!((to - from - (whole.1 - whole.0) / 2.0).abs() < 1e-9);
        view.zoom(&data, 4.0);
        assert_eq!(view.span, None);
        for _ in 0..60 {
            view.zoom(&data, 0.5);
        }
        let (from, to) = view.shown(&data);
        assert!((to - from - NARROWEST).abs() < 1e-9);
    }

    #[test]
    fn panning_stops_at_the_ends() {
        let (data, mut view) = (data(), view());
        view.zoom(&data, 0.25);
        for _ in 0..50 {
            view.pan(&data, 0.5);
        }
        let whole = view.whole(&data);
        assert!((view.shown(&data).1 - whole.1).abs() < 1e-9);
        for _ in 0..50 {
            view.pan(&data, -0.5);
        }
        assert!((view.shown(&data).0 - whole.0).abs() < 1e-9);
    }

    #[test]
    fn the_span_follows_the_cursor() {
        let (data, mut view) = (data(), view());
        view.zoom(&data, 0.2);
        view.move_cursor(&data, 0.1);
        for _ in 0..100 {
            view.move_cursor(&data, -0.1);
            let (from, to) = view.shown(&data);
            let at = view.cursor.unwrap();
            assert!(from <= at && at <= to);
        }
        assert!((view.cursor.unwrap() - view.whole(&data).0).abs() < 1e-9);
    }
}
