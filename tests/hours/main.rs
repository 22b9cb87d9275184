//! The clock and the time zone: those of the tests reach the program, and the
//! program's days are those of the IANA tables, which `chrono-tz` carries.

#![expect(clippy::unwrap_used, reason = "a panic here is a failed test")]

mod clock;

use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;
use skep::domain::units::Moment;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use tempfile::TempDir;

/// A folder with a store that has one place.
struct Home(TempDir);

impl Home {
    fn new(time: [(&'static str, String); 2]) -> Self {
        let home = Self(tempfile::tempdir().unwrap());
        let done = home.run(&["places", "add", "closet"], time);
        assert!(done.status.success(), "{done:?}");
        home
    }

    fn run(&self, words: &[&str], time: [(&'static str, String); 2]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_skep"))
            .args(words)
            .env_clear()
            .envs(time)
            .env("HOME", self.0.path())
            .env("SKEP_STORE", self.0.path().join("home.store"))
            .output()
            .unwrap()
    }

    /// When the program says that it is.
    fn today(&self, time: [(&'static str, String); 2]) -> DateTime<FixedOffset> {
        let done = self.run(&["today", "--json"], time);
        let report: serde_json::Value = serde_json::from_slice(&done.stdout).unwrap();
        DateTime::parse_from_rfc3339(report["at"].as_str().unwrap()).unwrap()
    }
}

#[test]
fn the_program_has_the_clock_and_the_zone_of_the_test() {
    let home = Home::new(clock::environment());
    let before = clock::now();
    let at = Moment::new(home.today(clock::environment()));
    // The report's moment is in whole seconds.
    let (from, to) = (before.utc_ms() - 1000, clock::now().utc_ms());
    assert!((from..=to).contains(&at.utc_ms()), "{at:?}");
    assert_eq!(at.offset_minutes(), before.offset_minutes());
}

/// Days on which a zone is tried: a leap day, New Year's Eve, and clock changes
/// of the west coast, Lord Howe and Chatham.
const DAYS: [(i32, u32, u32); 7] = [
    (2024, 2, 29),
    (2025, 3, 9),
    (2025, 4, 6),
    (2025, 9, 28),
    (2025, 10, 5),
    (2025, 11, 2),
    (2025, 12, 31),
];

const ZONES: [Tz; 6] = [
    Tz::America__Los_Angeles,
    Tz::Asia__Kathmandu,
    Tz::Australia__Lord_Howe,
    Tz::Pacific__Chatham,
    Tz::Pacific__Kiritimati,
    Tz::UTC,
];

/// The variables for a program in a zone, at an instant.
fn at(zone: Tz, meant: DateTime<Utc>) -> [(&'static str, String); 2] {
    let ahead = meant - clock::now().datetime().to_utc();
    let [_, clock] = clock::environment_ahead(ahead.num_seconds());
    [("TZ", zone.name().to_owned()), clock]
}

#[test]
fn every_zone_has_its_own_day_and_offset() {
    let mut looks = 0;
    let founded = Utc.with_ymd_and_hms(2024, 1, 1, 0, 0, 0).unwrap();
    let home = Home::new(at(Tz::UTC, founded));
    for zone in ZONES {
        for (year, month, day) in DAYS {
            for (hour, minute) in [(0, 5), (12, 0), (23, 50)] {
                let day = NaiveDate::from_ymd_opt(year, month, day).unwrap();
                let wall: NaiveDateTime = day.and_hms_opt(hour, minute, 0).unwrap();
                let meant = zone.from_local_datetime(&wall).earliest().unwrap();
                let at = home.today(at(zone, meant.to_utc()));
                let late = at.to_utc() - meant.to_utc();
                assert!(
                    late >= TimeDelta::seconds(-1) && late < TimeDelta::minutes(5),
                    "{zone} {wall}: {at}"
                );
                // A slow machine may reach the next day; the table knows it as well.
                let there = at.to_utc().with_timezone(&zone).fixed_offset();
                assert_eq!(
                    (there.naive_local(), there.offset()),
                    (at.naive_local(), at.offset()),
                    "{zone} {wall}"
                );
                looks += 1;
            }
        }
    }
    println!("{looks} mornings, each with the day and offset of its zone");
}

/// Source files of the tests, with their text.
fn tests() -> Vec<(PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    let (mut found, mut waiting) = (Vec::new(), vec![root]);
    while let Some(path) = waiting.pop() {
        if path.is_dir() {
            waiting.extend(fs::read_dir(&path).unwrap().map(|e| e.unwrap().path()));
        } else if path.extension().is_some_and(|e| e == "rs") {
            let text = fs::read_to_string(&path).unwrap();
            found.push((path, text));
        }
    }
    found
}

/// Files that may name what reads the machine's clock: the clock of the tests, the
/// measuring program, whose times are the machine's, and the list of what is forbidden.
fn may(path: &Path) -> bool {
    let file = |name: &str| path.ends_with(name);
    file("hours/clock.rs") || file("speed/speed.rs") || file("layers.rs")
}

#[test]
fn no_test_asks_the_machine_what_day_it_is() {
    // In two parts, so that this line is none of them.
    let words = [
        ["skep::clock::", "now"].concat(),
        ["Local::", "now"].concat(),
        ["Utc::", "now"].concat(),
    ];
    let mut wrong = Vec::new();
    for (path, text) in tests() {
        if !may(&path) {
            let found = words.iter().filter(|word| text.contains(*word));
            wrong.extend(found.map(|word| format!("{}: {word}", path.display())));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_test_that_runs_the_program_gives_it_clock_and_zone() {
    let program = ["CARGO_BIN_EXE_skep", "cargo_bin!"];
    // The kits give it, or the file does so itself.
    let given = [
        "clock::environment()",
        "clock::environment_ahead(",
        ".process()",
        "Terminal::start_with(",
    ];
    let mut ran = 0;
    for (path, text) in tests() {
        if !program.iter().any(|name| text.contains(name)) {
            continue;
        }
        ran += 1;
        assert!(
            given.iter().any(|way| text.contains(way)),
            "{} runs the program in the machine's own time",
            path.display()
        );
    }
    assert!(ran >= 5, "only {ran} files run the program");
}
