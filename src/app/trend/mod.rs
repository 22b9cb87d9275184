//! What the trend of one batch shows, and how the maker looks at it.
//!
//! Pure data: gravities over days, where day 1 is the local day of pitching.
//! Drawn by `tui::widgets::trend`.

mod gather;
mod hands;
mod view;

pub use gather::{healthy, healthy_at, healthy_way, what_ifs_at};
pub use hands::{act, earlier, earlier_known, read_off, wheel, worked_out_beside};
pub use view::TrendView;

use crate::domain::records::TempBand;
use crate::domain::units::{Celsius, Gravity, GravityDelta, Moment};
use crate::engine::{Spread, State, WhatIf};
use chrono::{NaiveDate, NaiveTime, TimeDelta};
use std::sync::Arc;

/// Local time in days from the midnight that began day 1: day n runs from
/// n - 1 to n, whatever daylight saving does.
pub type DayTime = f64;

/// What is worked out beside the morning for the chosen batch.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Beside {
    /// The way of a healthy ferment over days, oldest first.
    pub healthy: Vec<(DayTime, Gravity)>,
    /// How finish and risk would move; none until that is worked out too.
    pub what_ifs: Option<Vec<WhatIf>>,
}

/// The same, shared between the threads.
pub type Healthy = Arc<Beside>;

/// Everything that the trend of one batch can show.
#[derive(Debug, Clone, PartialEq)]
pub struct TrendData {
    /// The local calendar day that is day 1.
    pub first_day: NaiveDate,
    /// The present.
    pub now: DayTime,
    /// Readings of gravity, oldest first.
    pub points: Vec<TrendPoint>,
    /// What is known and forecast, oldest first.
    pub curve: Vec<TrendCurve>,
    /// When it will be finished.
    pub finish: Option<Spread<DayTime>>,
    /// Final gravity as forecast.
    pub end: Option<Spread<Gravity>>,
    /// Gravity now, with its range.
    pub gravity: Option<Spread<Gravity>>,
    /// What it is doing.
    pub state: Option<State>,
    /// How a healthy ferment of this kind would go, oldest first.
    pub healthy: Vec<(DayTime, Gravity)>,
    /// Steps done, and those placed on a day to come.
    pub steps: Vec<TrendStep>,
    /// Temperatures, oldest first.
    pub warmth: Vec<(DayTime, Celsius)>,
    /// Temperatures that the yeast works well in.
    pub band: Option<TempBand>,
    /// Earlier batches, each by its own days.
    pub earlier: Vec<TrendEarlier>,
}

/// What a point was read with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PointKind {
    /// A hydrometer.
    Hydrometer,
    /// A refractometer, corrected for alcohol.
    Refractometer,
    /// Worked out from the mass that was lost.
    Mass,
    /// A sensor that reports by itself.
    Sensor,
}

/// One reading, corrected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrendPoint {
    /// When.
    pub at: DayTime,
    /// Corrected gravity.
    pub gravity: Gravity,
    /// Its error, up and down (one standard deviation).
    pub error: GravityDelta,
    /// What it was read with.
    pub kind: PointKind,
    /// The engine gives it little weight.
    pub odd: bool,
}

/// The 80 % band and its middle at one time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrendCurve {
    /// When.
    pub at: DayTime,
    /// Gravity.
    pub gravity: Spread<Gravity>,
}

/// A step on the time axis.
#[derive(Debug, Clone, PartialEq)]
pub struct TrendStep {
    /// When it was, or will be, done.
    pub at: DayTime,
    /// Its name.
    pub name: String,
    /// What became of it.
    pub fate: StepFate,
}

/// What became of a step on the time axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum StepFate {
    /// Done.
    Done,
    /// Left out.
    Skipped,
    /// To come.
    Planned,
}

/// The readings of an earlier batch.
#[derive(Debug, Clone, PartialEq)]
pub struct TrendEarlier {
    /// Its name.
    pub name: String,
    /// Gravities by its own days, oldest first.
    pub line: Vec<(DayTime, Gravity)>,
}

impl TrendData {
    /// A trend with nothing in it yet.
    pub fn empty(first_day: NaiveDate, now: Moment) -> Self {
        Self {
            first_day,
            now: day_time(first_day, now),
            points: Vec::new(),
            curve: Vec::new(),
            finish: None,
            end: None,
            gravity: None,
            state: None,
            healthy: Vec::new(),
            steps: Vec::new(),
            warmth: Vec::new(),
            band: None,
            earlier: Vec::new(),
        }
    }

    /// The calendar day at a time of the trend.
    pub fn date(&self, at: DayTime) -> Option<NaiveDate> {
        let days = at.floor();
        if !days.is_finite() || days.abs() > 1e6 {
            return None;
        }
        self.first_day
            .checked_add_signed(TimeDelta::days(days as i64))
    }

    /// The time of day at a time of the trend.
    pub fn time_of_day(&self, at: DayTime) -> NaiveTime {
        let minutes = ((at - at.floor()) * 1440.0).round().clamp(0.0, 1439.0) as u32;
        NaiveTime::from_hms_opt(minutes / 60, minutes % 60, 0).unwrap_or(NaiveTime::MIN)
    }

    /// Band and middle at a time, between the nearest known ones.
    pub fn curve_at(&self, at: DayTime) -> Option<Spread<f64>> {
        let i = self.curve.partition_point(|c| c.at < at);
        let right = self.curve.get(i)?;
        if (right.at - at).abs() < 1e-9 {
            return Some(right.gravity.map(Gravity::get));
        }
        let left = self.curve.get(i.checked_sub(1)?)?;
        let share = (at - left.at) / (right.at - left.at).max(1e-9);
        let mix = |a: Gravity, b: Gravity| a.get() + share * (b.get() - a.get());
        Some(Spread {
            p10: mix(left.gravity.p10, right.gravity.p10),
            p50: mix(left.gravity.p50, right.gravity.p50),
            p90: mix(left.gravity.p90, right.gravity.p90),
        })
    }

    /// The reading nearest to a time, if one is within `reach` days.
    pub fn point_near(&self, at: DayTime, reach: f64) -> Option<&TrendPoint> {
        let apart = |p: &TrendPoint| (p.at - at).abs();
        self.points
            .iter()
            .filter(|p| apart(p) <= reach)
            .min_by(|a, b| apart(a).total_cmp(&apart(b)))
    }

    /// The temperature nearest to a time, if one is within a day and a half.
    pub fn warmth_near(&self, at: DayTime) -> Option<Celsius> {
        let apart = |p: &(DayTime, Celsius)| (p.0 - at).abs();
        self.warmth
            .iter()
            .filter(|p| apart(p) <= 1.5)
            .min_by(|a, b| apart(a).total_cmp(&apart(b)))
            .map(|p| p.1)
    }
}

/// A moment as local time in days from the beginning of day 1.
pub fn day_time(first_day: NaiveDate, at: Moment) -> DayTime {
    let local = at.datetime().naive_local();
    let whole = (local.date() - first_day).num_days() as f64;
    let of_day = local.time().signed_duration_since(NaiveTime::MIN);
    whole + of_day.num_milliseconds() as f64 / 86_400_000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moment(text: &str) -> Moment {
        Moment::new(chrono::DateTime::parse_from_rfc3339(text).unwrap())
    }

    #[test]
    fn days_begin_at_local_midnight_across_a_clock_change() {
        let first = moment("2026-03-07T20:00:00-08:00");
        let day = first.day();
        assert!((day_time(day, first) - 20.0 / 24.0).abs() < 1e-9);
        let after = moment("2026-03-09T06:00:00-07:00");
        assert!((day_time(day, after) - 2.25).abs() < 1e-9);
        let data = TrendData::empty(day, after);
        assert_eq!(data.date(2.25), Some(after.day()));
        assert_eq!(data.time_of_day(2.25).to_string(), "06:00:00");
        assert_eq!(data.date(f64::NAN), None);
    }

    #[test]
    fn the_curve_is_read_between_its_points() {
        let mut data = TrendData::empty(
            moment("2026-03-07T20:00:00Z").day(),
            moment("2026-03-08T00:00:00Z"),
        );
        assert_eq!(data.curve_at(1.0), None);
        let at = |at, g: f64| TrendCurve {
            at,
            gravity: Spread {
                p10: Gravity::known(g - 0.002),
                p50: Gravity::known(g),
                p90: Gravity::known(g + 0.004),
            },
        };
        data.curve = vec![at(0.0, 1.1), at(2.0, 1.0)];
        assert!((data.curve_at(1.0).unwrap().p50 - 1.05).abs() < 1e-9);
        assert!((data.curve_at(2.0).unwrap().p90 - 1.004).abs() < 1e-9);
        assert!((data.curve_at(0.0).unwrap().p90 - 1.104).abs() < 1e-9);
        assert_eq!(data.curve_at(2.5), None);
        assert_eq!(data.curve_at(-0.5), None);
    }
}
