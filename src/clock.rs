//! The only reader of the clock and of the system's time zone.

use crate::domain::units::{Moment, Zone};
use chrono::{FixedOffset, Local, MappedLocalTime, NaiveDateTime, TimeDelta, TimeZone};

/// Names the seconds by which a program built for tests moves its clock.
const TEST_CLOCK: &str = "SKEP_TEST_CLOCK";

/// Returns this instant, with the local offset of today.
///
/// # Panics
///
/// In a build with the feature `test-clock`, if the variable is not a number of
/// seconds. Other builds do not read it.
#[expect(
    clippy::disallowed_methods,
    reason = "the one place that reads the clock"
)]
pub fn now() -> Moment {
    Moment::new((Local::now() + moved_by_tests()).fixed_offset())
}

/// Returns how far the tests have moved the clock: not at all in a released program.
fn moved_by_tests() -> TimeDelta {
    if !cfg!(feature = "test-clock") {
        return TimeDelta::zero();
    }
    let Some(seconds) = std::env::var_os(TEST_CLOCK) else {
        return TimeDelta::zero();
    };
    let seconds = seconds.to_str().and_then(|s| s.parse().ok());
    TimeDelta::seconds(seconds.expect("SKEP_TEST_CLOCK is a number of seconds"))
}

/// Returns the system's time zone.
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
