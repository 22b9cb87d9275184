use super::Moment;
use chrono::{FixedOffset, MappedLocalTime, NaiveDateTime, TimeDelta, TimeZone};

/// The rule by which a local clock time becomes an instant. Given to pure code
/// as a value, so that a test can have its own clock changes.
#[derive(Debug, Clone, Copy)]
pub enum Zone {
    /// The same offset all year.
    Fixed(FixedOffset),
    /// Looked up for each time, such as in the system's zone.
    Rules {
        /// Offset of a local clock time: one, two (clocks put back) or none (put forward).
        of_local: fn(NaiveDateTime) -> MappedLocalTime<FixedOffset>,
        /// Offset at an instant in UTC.
        of_utc: fn(NaiveDateTime) -> FixedOffset,
    },
}

/// What a local clock time means as an instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Local {
    /// One instant.
    Once(Moment),
    /// The clocks were put back: it came twice; the first and the second.
    Twice(Moment, Moment),
    /// The clocks were put forward over it; the same span after the change.
    Never(Moment),
}

impl Local {
    /// One instant for it: the first of two; moved past the change where there is none.
    pub fn first(self) -> Moment {
        match self {
            Self::Once(at) | Self::Twice(at, _) | Self::Never(at) => at,
        }
    }
}

impl Zone {
    /// The zone that keeps the offset of `now`.
    pub fn of(now: Moment) -> Self {
        Self::Fixed(*now.datetime().offset())
    }

    /// The instant of a local clock time.
    pub fn resolve(self, local: NaiveDateTime) -> Local {
        let mapped = match self {
            Self::Fixed(offset) => MappedLocalTime::Single(offset),
            Self::Rules { of_local, .. } => of_local(local),
        };
        let at = |offset: FixedOffset| match offset.from_local_datetime(&local).single() {
            Some(at) => Moment::new(at),
            None => Moment::new(offset.from_utc_datetime(&local)),
        };
        match mapped {
            MappedLocalTime::Single(offset) => Local::Once(at(offset)),
            MappedLocalTime::Ambiguous(a, b) => {
                let (first, second) = (at(a), at(b));
                Local::Twice(first.min(second), first.max(second))
            }
            MappedLocalTime::None => Local::Never(self.beyond_the_gap(local)),
        }
    }

    /// This instant as the local clock shows it.
    #[must_use]
    pub fn localise(self, at: Moment) -> Moment {
        let utc = at.datetime().naive_utc();
        let offset = match self {
            Self::Fixed(offset) => offset,
            Self::Rules { of_utc, .. } => of_utc(utc),
        };
        Moment::new(offset.from_utc_datetime(&utc))
    }

    /// A time in the hour that the clocks skipped, read with the offset from
    /// before the change: 02:30 becomes 03:30.
    fn beyond_the_gap(self, local: NaiveDateTime) -> Moment {
        // No clock change known skips more than a day.
        let earlier = local - TimeDelta::days(1);
        let before = match self {
            Self::Fixed(offset) => offset,
            Self::Rules { of_local, of_utc } => of_local(earlier)
                .earliest()
                .unwrap_or_else(|| of_utc(earlier)),
        };
        let utc = local - TimeDelta::seconds(i64::from(before.local_minus_utc()));
        self.localise(Moment::new(before.from_utc_datetime(&utc)))
    }
}
