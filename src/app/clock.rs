//! The countdown of a timed step. It runs on whatever is on the screen.

use super::msg::Spot;
use crate::domain::records::StepId;
use crate::domain::units::Moment;

/// A countdown.
#[derive(Debug, Clone, PartialEq)]
pub struct Clock {
    /// The step it belongs to.
    pub step: StepId,
    /// The vessel it is done at.
    pub spot: Spot,
    /// Tag and title, for the line that shows it.
    pub title: String,
    /// Seconds in all.
    pub total: u32,
    running: Run,
    /// The end has been told.
    pub rang: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Run {
    Until(Moment),
    StoppedWith(i64),
}

impl Clock {
    /// Starts it.
    pub fn start(step: StepId, spot: Spot, title: String, seconds: u32, now: Moment) -> Self {
        let ends = now.plus_days(f64::from(seconds) / 86_400.0);
        Self {
            step,
            spot,
            title,
            total: seconds,
            running: Run::Until(ends),
            rang: false,
        }
    }

    /// Milliseconds left.
    fn left_ms(&self, now: Moment) -> i64 {
        match self.running {
            Run::Until(end) => (end.utc_ms() - now.utc_ms()).max(0),
            Run::StoppedWith(ms) => ms,
        }
    }

    /// Whole seconds left; a second that has begun counts.
    pub fn left(&self, now: Moment) -> u32 {
        u32::try_from((self.left_ms(now) + 999) / 1000).unwrap_or(0)
    }

    /// Whether it is over.
    pub fn over(&self, now: Moment) -> bool {
        self.left_ms(now) == 0
    }

    /// Whether it stands still.
    pub fn stopped(&self) -> bool {
        matches!(self.running, Run::StoppedWith(_))
    }

    /// Stops it, or lets it go on.
    pub fn stop_or_go_on(&mut self, now: Moment) {
        self.running = match self.running {
            Run::Until(_) => Run::StoppedWith(self.left_ms(now)),
            Run::StoppedWith(ms) => Run::Until(now.plus_days(ms as f64 / 86_400_000.0)),
        };
    }

    /// Milliseconds until its figure changes; none when it stands.
    pub fn wake_in(&self, now: Moment) -> Option<i64> {
        let left = self.left_ms(now);
        if self.stopped() || (left == 0 && self.rang) {
            return None;
        }
        let part = left % 1000;
        Some(if part == 0 { left.min(1000) } else { part })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::records::BatchId;

    fn at(text: &str) -> Moment {
        Moment::new(chrono::DateTime::parse_from_rfc3339(text).unwrap())
    }

    #[test]
    fn it_counts_down_stops_and_goes_on() {
        let start = at("2026-11-25T07:00:00Z");
        let spot = Spot {
            batch: BatchId(1),
            vessel: None,
        };
        let mut clock = Clock::start(StepId(1), spot, "J2 swirl".into(), 120, start);
        assert_eq!(clock.left(start), 120);
        let later = at("2026-11-25T07:00:30.500Z");
        assert_eq!(clock.left(later), 90);
        assert_eq!(clock.wake_in(later), Some(500));
        clock.stop_or_go_on(later);
        assert_eq!(clock.left(at("2026-11-25T08:00:00Z")), 90);
        clock.stop_or_go_on(at("2026-11-25T08:00:00Z"));
        assert!(clock.over(at("2026-11-25T08:01:29.500Z")));
    }
}
