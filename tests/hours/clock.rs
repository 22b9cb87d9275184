//! The clock and the time zone of the tests: one of each, for the test and for
//! every program that it runs.
//!
//! The clock goes on from the morning in `tests/hours/morning`, so a test means the same at any hour
//! of any day. `tests/hours/run` moves it, and the zone, by two variables.

use chrono::{DateTime, NaiveDateTime, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;
use skep::domain::units::Moment;
use std::sync::LazyLock;

/// The name of an IANA time zone.
const ZONE: &str = "SKEP_TEST_ZONE";

/// Seconds by which the clock is ahead of the machine's; the program reads it as well.
const AHEAD: &str = "SKEP_TEST_CLOCK";

struct Clock {
    zone: Tz,
    ahead: i64,
}

/// A local time and a zone: an autumn morning without a clock change, later than all
/// that the stores in `tests/stores` hold.
const MORNING: &str = include_str!("morning");

static CLOCK: LazyLock<Clock> = LazyLock::new(|| {
    let (wall, zone) = MORNING.trim().rsplit_once(' ').expect("a time and a zone");
    let zone: Tz = std::env::var(ZONE)
        .map_or_else(|_| zone.parse(), |named| named.parse())
        .expect("a time zone");
    // Without the system's own table the program would take UTC for it.
    let table = format!("/usr/share/zoneinfo/{zone}");
    assert!(
        std::fs::exists(&table).is_ok_and(|there| there),
        "{table} is missing: install tzdata"
    );
    let ahead = match std::env::var(AHEAD) {
        Ok(seconds) => seconds.parse().expect("a number of seconds"),
        Err(_) => (instant(wall, zone) - machine()).num_seconds(),
    };
    Clock { zone, ahead }
});

/// The instant of a local time in a zone.
fn instant(wall: &str, zone: Tz) -> DateTime<Utc> {
    let wall = NaiveDateTime::parse_from_str(wall, "%Y-%m-%d %H:%M").expect("a local time");
    let at = zone.from_local_datetime(&wall).earliest();
    at.expect("every zone has this morning").to_utc()
}

#[expect(
    clippy::disallowed_methods,
    reason = "the clock of the tests goes on with the machine's"
)]
fn machine() -> DateTime<Utc> {
    Utc::now()
}

/// Returns this instant by the clock of the tests, with the offset of their zone.
pub(crate) fn now() -> Moment {
    let now = machine() + TimeDelta::seconds(CLOCK.ahead);
    Moment::new(now.with_timezone(&CLOCK.zone).fixed_offset())
}

/// Returns the variables that give a program this clock and this zone.
pub(crate) fn environment() -> [(&'static str, String); 2] {
    environment_ahead(0)
}

/// Returns the same for a program whose clock is ahead by some seconds more.
pub(crate) fn environment_ahead(seconds: i64) -> [(&'static str, String); 2] {
    [
        ("TZ", CLOCK.zone.name().to_owned()),
        (AHEAD, (CLOCK.ahead + seconds).to_string()),
    ]
}
