//! Steps to do as an iCalendar file (RFC 5545), so that a phone reminds.
//!
//! Each step is an all-day event with a UID that stays the same. A file written
//! later brings updates: its SEQUENCE is higher, what was done or left out comes
//! as cancelled, and what moved comes with its new day.

use crate::domain::text::safe;
use crate::domain::units::Moment;
use chrono::{NaiveDate, NaiveTime, TimeDelta, Timelike};
use icalendar::{Alarm, Calendar, Component, Event, EventLike, EventStatus, Property, Trigger};

/// One step in the calendar.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// What tells it from every other, for good.
    pub uid: String,
    /// The day on which it is to be done.
    pub day: NaiveDate,
    /// One line.
    pub title: String,
    /// More lines.
    pub about: Vec<String>,
    /// Whether it is still to do; else it comes as cancelled.
    pub open: bool,
}

/// 2020-01-01 in UTC, from which updates are numbered.
const BEGINNING_MS: i64 = 1_577_836_800_000;

/// The calendar, with an alarm at `alarm` on each day. Lines end as the standard
/// wants them.
pub fn calendar(entries: &[Entry], alarm: NaiveTime, now: Moment) -> String {
    let mut calendar = Calendar::empty();
    calendar
        .append_property(Property::new("VERSION", "2.0"))
        .append_property(Property::new("PRODID", "-//skep//skep//EN"))
        .append_property(Property::new("CALSCALE", "GREGORIAN"))
        .append_property(Property::new("METHOD", "PUBLISH"))
        .append_property(Property::new("X-WR-CALNAME", "skep"));
    for entry in entries {
        calendar.push(event(entry, alarm, now));
    }
    folded(&calendar.to_string())
}

/// Lines folded anew: the library's continued lines have 76 octets, one more
/// than RFC 5545 (3.1) likes, since it does not count the blank in front.
fn folded(text: &str) -> String {
    const LONGEST: usize = 75;
    let mut out = String::with_capacity(text.len() + text.len() / 16);
    for line in text.replace("\r\n ", "").split_inclusive("\r\n") {
        let mut octets = 0;
        for c in line.trim_end_matches("\r\n").chars() {
            if octets + c.len_utf8() > LONGEST {
                out.push_str("\r\n ");
                octets = 1;
            }
            out.push(c);
            octets += c.len_utf8();
        }
        out.push_str("\r\n");
    }
    out
}

fn event(entry: &Entry, alarm: NaiveTime, now: Moment) -> Event {
    let title = safe(&entry.title);
    let about: Vec<String> = entry
        .about
        .iter()
        .map(|line| safe(line))
        .filter(|line| !line.is_empty())
        .collect();
    let mut event = Event::new();
    event
        .uid(&entry.uid)
        .timestamp(now.datetime().to_utc())
        .sequence(sequence(now))
        // A day without an end is that one day (RFC 5545, 3.6.1).
        .starts(entry.day)
        .summary(&title)
        .add_property("TRANSP", "TRANSPARENT");
    if !about.is_empty() {
        event.description(&about.join("\n"));
    }
    if entry.open {
        let after_midnight = TimeDelta::seconds(i64::from(alarm.num_seconds_from_midnight()));
        let mut alarm = Alarm::display(&title, Trigger::after_start(after_midnight));
        // A name that stays (RFC 9074, 4), so that putting it off is remembered.
        alarm
            .uid(&format!("alarm-{}", entry.uid))
            .timestamp(now.datetime().to_utc());
        event.status(EventStatus::Confirmed).alarm(alarm);
    } else {
        event.status(EventStatus::Cancelled);
    }
    event.done()
}

/// Seconds since 2020: a later file has a higher number.
fn sequence(now: Moment) -> u32 {
    let seconds = (now.utc_ms() - BEGINNING_MS).max(0) / 1000;
    // RFC 5545 has a signed number of 32 bits here; it lasts until 2088.
    u32::try_from(seconds.min(i64::from(i32::MAX))).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(title: &str, open: bool) -> String {
        let now = Moment::from_stored(1_795_592_400_000, -480).unwrap();
        let entry = Entry {
            uid: "step-1-2@skep".into(),
            day: NaiveDate::from_ymd_opt(2026, 11, 27).unwrap(),
            title: title.into(),
            about: vec!["half a packet, or so; more".into(), String::new()],
            open,
        };
        calendar(&[entry], NaiveTime::from_hms_opt(7, 30, 0).unwrap(), now)
    }

    #[test]
    fn an_open_step_has_a_day_an_alarm_and_a_number() {
        let text = text("J2: swirl", true);
        for line in [
            "DTSTART;VALUE=DATE:20261127\r\n",
            "UID:step-1-2@skep\r\n",
            "SEQUENCE:217755600\r\n",
            "TRIGGER;RELATED=START:PT27000S\r\n",
            "UID:alarm-step-1-2@skep\r\n",
            "STATUS:CONFIRMED\r\n",
            "DESCRIPTION:half a packet\\, or so\\; more\r\n",
        ] {
            assert!(text.contains(line), "{line:?} in {text}");
        }
        assert!(text.starts_with("BEGIN:VCALENDAR\r\n"));
    }

    #[test]
    fn a_done_step_comes_as_cancelled_without_alarm() {
        let text = text("J2: swirl", false);
        assert!(text.contains("STATUS:CANCELLED\r\n") && !text.contains("VALARM"));
    }

    #[test]
    fn no_name_can_add_lines_and_none_is_too_long() {
        let text = text(
            "J2\r\nEND:VEVENT\u{1b}[31m évènement ".repeat(9).as_str(),
            true,
        );
        assert_eq!(text.lines().filter(|l| *l == "END:VEVENT").count(), 1);
        // RFC 5545, 3.1: no line longer than 75 octets.
        assert!(text.split("\r\n").all(|l| l.len() <= 75), "{text}");
    }
}
