//! The only reader of the clock and of the system's time zone.

use crate::domain::units::{Moment, Zone};
use chrono::{FixedOffset, Local, MappedLocalTime, NaiveDateTime, TimeZone};

/// This instant, with the local offset of today.
#[expect(
    clippy::disallowed_methods,
    reason = "the one place that reads the clock"
)]
pub fn now() -> Moment {
    Moment::new(Local::now().fixed_offset())
}

/// The system's time zone.
pub fn zone() -> Zone {
    Zone::Rules {
        of_local: offset_of_local,
        of_utc: offset_of_utc,
    }
}

fn offset_of_local(local: NaiveDateTime) -> MappedLocalTime<FixedOffset> {
    Local.offset_from_local_datetime(&local)
}

fn offset_of_utc(utc: NaiveDateTime) -> FixedOffset {
    Local.offset_from_utc_datetime(&utc)
}
