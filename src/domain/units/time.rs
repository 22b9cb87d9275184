use chrono::{DateTime, FixedOffset, NaiveDate, Utc};
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::ops::RangeInclusive;

/// An instant, to the millisecond, with the offset from UTC at which it was entered.
///
/// Ordered and compared by the instant alone; the offset only tells which
/// local day the maker lived in then.
#[derive(Debug, Clone, Copy)]
pub struct Moment {
    /// Since 1970 UTC; an instant that the calendar has.
    ms: i64,
    offset: FixedOffset,
}

/// The ends of the calendar, in milliseconds since 1970 UTC: a day within those of chrono,
/// so that there is a local day everywhere.
const CALENDAR: RangeInclusive<i64> = DateTime::<Utc>::MIN_UTC.timestamp_millis() + DAY
    ..=DateTime::<Utc>::MAX_UTC.timestamp_millis() - DAY;
const DAY: i64 = 86_400_000;

impl Moment {
    /// Wraps an instant that knows its offset. Saturates a day within the ends of the calendar.
    pub fn new(at: DateTime<FixedOffset>) -> Self {
        let (least, most) = (*CALENDAR.start(), *CALENDAR.end());
        Self {
            ms: at.timestamp_millis().clamp(least, most),
            offset: *at.offset(),
        }
    }

    /// From milliseconds since 1970 UTC and an offset in minutes east;
    /// `None` when either cannot be a date.
    pub fn from_stored(utc_ms: i64, offset_minutes: i32) -> Option<Self> {
        let offset = FixedOffset::east_opt(offset_minutes.checked_mul(60)?)?;
        CALENDAR
            .contains(&utc_ms)
            .then_some(Self { ms: utc_ms, offset })
    }

    /// Milliseconds since 1970 UTC.
    pub fn utc_ms(self) -> i64 {
        self.ms
    }

    /// Minutes east of UTC.
    pub fn offset_minutes(self) -> i32 {
        self.offset.local_minus_utc() / 60
    }

    /// The instant with its offset.
    pub fn datetime(self) -> DateTime<FixedOffset> {
        // All instants here are of the calendar.
        let utc = DateTime::<Utc>::from_timestamp_millis(self.ms).unwrap_or_default();
        utc.with_timezone(&self.offset)
    }

    /// The local calendar day on which it was entered.
    pub fn day(self) -> NaiveDate {
        self.datetime().date_naive()
    }

    /// Days from `earlier` to here, by the instants.
    pub fn days_since(self, earlier: Self) -> f64 {
        (self.utc_ms() - earlier.utc_ms()) as f64 / 86_400_000.0
    }

    /// This instant moved by a number of days of 24 hours; the offset stays.
    /// Where the calendar has no such instant, it stays where it is.
    #[must_use]
    pub fn plus_days(self, days: f64) -> Self {
        let ms = self.ms + (days * 86_400_000.0).clamp(-9e15, 9e15) as i64;
        if CALENDAR.contains(&ms) {
            Self { ms, ..self }
        } else {
            self
        }
    }
}

/// For people's eyes as RFC 3339, else as two numbers.
impl Serialize for Moment {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        if to.is_human_readable() {
            self.datetime().serialize(to)
        } else {
            (self.utc_ms(), self.offset_minutes()).serialize(to)
        }
    }
}

impl<'de> Deserialize<'de> for Moment {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        if from.is_human_readable() {
            return DateTime::deserialize(from).map(Self::new);
        }
        let (ms, offset) = Deserialize::deserialize(from)?;
        Self::from_stored(ms, offset).ok_or_else(|| D::Error::custom("no instant"))
    }
}

impl From<DateTime<FixedOffset>> for Moment {
    fn from(at: DateTime<FixedOffset>) -> Self {
        Self::new(at)
    }
}

impl From<Moment> for DateTime<FixedOffset> {
    fn from(m: Moment) -> Self {
        m.datetime()
    }
}

impl PartialEq for Moment {
    fn eq(&self, other: &Self) -> bool {
        self.utc_ms() == other.utc_ms()
    }
}

impl Eq for Moment {}

impl PartialOrd for Moment {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Moment {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.utc_ms().cmp(&other.utc_ms())
    }
}

/// Day of a batch as the maker counts: day 1 is the local day of pitching,
/// day 2 the next local day, whatever daylight saving does.
pub fn batch_day(pitched: Moment, today: NaiveDate) -> i64 {
    (today - pitched.day()).num_days() + 1
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moment(text: &str) -> Moment {
        Moment::new(DateTime::parse_from_rfc3339(text).unwrap())
    }

    /// Held against chrono's own instants, at the ends of its calendar too.
    #[test]
    fn an_instant_is_what_the_calendar_has() {
        let (least, most) = (*CALENDAR.start(), *CALENDAR.end());
        for (ms, offset) in [
            (0, 0),
            (-1, 330),
            (1_764_514_424_123, -480),
            (least, -840),
            (most, 840),
        ] {
            let moment = Moment::from_stored(ms, offset).unwrap();
            let utc = DateTime::<Utc>::from_timestamp_millis(ms).unwrap();
            assert_eq!(moment.datetime(), utc);
            assert_eq!((moment.utc_ms(), moment.offset_minutes()), (ms, offset));
            assert_eq!(Moment::new(moment.datetime()), moment);
            let _ = (moment.day(), moment.plus_days(1e9), moment.plus_days(-1e9));
        }
        for (ms, offset) in [
            (least - 1, 0),
            (most + 1, 0),
            (i64::MIN, 0),
            (i64::MAX, 0),
            (0, 1440),
        ] {
            assert!(Moment::from_stored(ms, offset).is_none(), "{ms} {offset}");
        }
        let beyond = DateTime::<Utc>::MAX_UTC.fixed_offset();
        assert_eq!(Moment::new(beyond).utc_ms(), most);
        let last = Moment::from_stored(most, 0).unwrap();
        assert_eq!(last.plus_days(1.0), last);
        // What lies between two milliseconds is the earlier one, also before 1970.
        for (text, ms) in [
            ("1970-01-01T00:00:00.0019Z", 1),
            ("1969-12-31T23:59:59.9985Z", -2),
        ] {
            assert_eq!(moment(text).utc_ms(), ms);
            assert_eq!(moment(text).datetime().timestamp_millis(), ms);
        }
    }

    #[test]
    fn pitching_is_day_one_also_across_a_clock_change() {
        // Late evening before the US spring change; the next local day is day 2.
        let pitched = moment("2026-03-07T23:30:00-08:00");
        let next = moment("2026-03-08T07:00:00-07:00");
        assert_eq!(batch_day(pitched, pitched.day()), 1);
        assert_eq!(batch_day(pitched, next.day()), 2);
    }

    #[test]
    fn stored_form_reads_back() {
        let m = moment("2026-11-25T07:15:00+05:30");
        let back = Moment::from_stored(m.utc_ms(), m.offset_minutes()).unwrap();
        assert_eq!(back.datetime(), m.datetime());
        assert_eq!(back.day(), m.day());
    }
}
