//! Flags with their evidence, in sentences with the maker's numbers.

use crate::jug::{Jug, moment};
use skep::domain::records::{
    BatchId, Event, EventId, EventKind, MeasureKind, PlaceId, Seen, Settings, Stage, Subject, Unit,
    UnitSystem, VesselId,
};
use skep::engine::{Account, Flag, History, Urgency, morning};

const MEAD: &str = "one-gallon-traditional-mead";
const PITCHED: &str = "2026-04-01T19:00:00-07:00";
const CLOSET: Subject = Subject::Place(PlaceId(1));
const JUG: Subject = Subject::Vessel(VesselId(1));

fn fahrenheit(f: f64) -> Seen {
    Seen::new(MeasureKind::Temperature, f, Unit::Fahrenheit).unwrap()
}

fn row(jug: &Jug, now: &str) -> Account {
    morning(&jug.household, &History::default(), moment(now))
        .accounts
        .remove(0)
}

fn find<'a>(row: &'a Account, short: &str) -> Option<&'a Flag> {
    row.flags.iter().find(|f| f.short() == short)
}

fn said(row: &Account, short: &str) -> String {
    find(row, short)
        .unwrap_or_else(|| panic!("{short} is not among {:?}", row.flags))
        .sentence(&Settings::default())
}

/// A mead that has begun well, read on day 1 and day 5.
fn begun() -> Jug {
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.gravity(1.095, "2026-04-01T18:50:00-07:00");
    jug.gravity(1.072, "2026-04-05T07:00:00-07:00");
    for key in ["feed-1", "swirl-feed-2", "swirl-feed-5"] {
        jug.done(key, "2026-04-05T07:10:00-07:00");
    }
    jug
}

#[test]
fn outside_its_band() {
    let mut jug = begun();
    jug.read(fahrenheit(58.0), CLOSET, "2026-04-06T06:30:00-07:00");
    let seen = row(&jug, "2026-04-06T07:00:00-07:00");
    assert_eq!(
        said(&seen, "too cold"),
        "58 °F on 6 April; its yeast likes 61 °F to 75 °F."
    );
    assert_eq!(find(&seen, "too cold").unwrap().weight(), 1);
    // Colder than it bears (13 °C is 55.4 °F): that weighs more.
    jug.read(fahrenheit(50.0), CLOSET, "2026-04-06T06:50:00-07:00");
    let seen = row(&jug, "2026-04-06T07:00:00-07:00");
    assert_eq!(
        said(&seen, "too cold"),
        "50 °F on 6 April; its yeast bears only near 55 °F to 81 °F."
    );
    assert_eq!(find(&seen, "too cold").unwrap().weight(), 2);
    // At the ends of the band nothing is said; nor of a temperature of last week.
    jug.read(fahrenheit(75.2), CLOSET, "2026-04-06T06:55:00-07:00");
    assert!(find(&row(&jug, "2026-04-06T07:00:00-07:00"), "too warm").is_none());
    let mut old = begun();
    old.read(fahrenheit(50.0), CLOSET, "2026-04-02T06:50:00-07:00");
    assert!(find(&row(&old, "2026-04-06T07:00:00-07:00"), "too cold").is_none());
}

#[test]
fn heat_from_30_degrees_is_a_danger() {
    let mut jug = begun();
    jug.read(fahrenheit(86.0), JUG, "2026-04-05T16:00:00-07:00");
    jug.read(fahrenheit(72.0), JUG, "2026-04-06T06:00:00-07:00");
    let seen = row(&jug, "2026-04-06T07:00:00-07:00");
    assert_eq!(
        said(&seen, "heat"),
        "It was 86 °F on 5 April: heat harms yeast from 86 °F."
    );
    assert_eq!(seen.urgency, Urgency::Danger);
    let mut below = begun();
    below.read(fahrenheit(85.8), JUG, "2026-04-05T16:00:00-07:00");
    assert!(find(&row(&below, "2026-04-06T07:00:00-07:00"), "heat").is_none());
}

#[test]
fn a_swing_within_a_day_is_seen_with_one_thermometer_only() {
    let mut jug = begun();
    jug.read(fahrenheit(70.0), CLOSET, "2026-04-05T20:00:00-07:00");
    jug.read(fahrenheit(64.0), CLOSET, "2026-04-06T06:00:00-07:00");
    let seen = row(&jug, "2026-04-06T07:00:00-07:00");
    assert_eq!(
        said(&seen, "temperature swing"),
        "The temperature fell 6 °F within 10 hours, up to 6 April."
    );
    // A jug is warmer than its closet: that is no swing.
    let mut two = begun();
    two.read(fahrenheit(74.0), JUG, "2026-04-05T20:00:00-07:00");
    two.read(fahrenheit(68.0), CLOSET, "2026-04-06T06:00:00-07:00");
    assert!(find(&row(&two, "2026-04-06T07:00:00-07:00"), "temperature swing").is_none());
}

#[test]
fn no_reading_for_too_long() {
    let jug = begun();
    let quiet = row(&jug, "2026-04-09T07:00:00-07:00"); // four days: still fine
    assert!(find(&quiet, "no reading").is_none());
    let seen = row(&jug, "2026-04-10T08:00:00-07:00");
    assert_eq!(
        said(&seen, "no reading"),
        "No gravity reading for 5 days; one every 4 days is wanted."
    );
    let mut never = Jug::with(MEAD, PITCHED);
    never.dossier().readings.clear();
    let seen = row(&never, "2026-04-08T20:00:00-07:00");
    assert_eq!(
        said(&seen, "no reading"),
        "No gravity reading since pitching, 7 days; one every 4 days is wanted."
    );
}

#[test]
fn never_started() {
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.gravity(1.095, "2026-04-01T18:50:00-07:00");
    jug.gravity(1.094, "2026-04-02T19:00:00-07:00");
    assert!(find(&row(&jug, "2026-04-02T20:00:00-07:00"), "never started").is_none());
    jug.gravity(1.094, "2026-04-04T07:00:00-07:00");
    let seen = row(&jug, "2026-04-04T08:00:00-07:00");
    assert_eq!(
        said(&seen, "never started"),
        "No drop 3 days after pitching: 1.095 then, 1.094 now."
    );
    assert_eq!(seen.urgency, Urgency::Trouble);
    // 0.002 is a start.
    let mut slow = Jug::with(MEAD, PITCHED);
    slow.gravity(1.095, "2026-04-01T18:50:00-07:00");
    slow.gravity(1.093, "2026-04-04T07:00:00-07:00");
    assert!(find(&row(&slow, "2026-04-04T08:00:00-07:00"), "never started").is_none());
    // Nor has one stopped before it began whose last reading alone says so.
    let mut runs = Jug::with(MEAD, PITCHED);
    runs.gravity(1.095, "2026-04-01T18:50:00-07:00");
    runs.gravity(1.088, "2026-04-03T07:00:00-07:00");
    runs.gravity(1.077, "2026-04-05T07:00:00-07:00");
    runs.gravity(1.070, "2026-04-06T07:00:00-07:00");
    runs.gravity(1.094, "2026-04-06T08:00:00-07:00");
    assert!(find(&row(&runs, "2026-04-06T09:00:00-07:00"), "never started").is_none());
}

#[test]
fn flat_with_sugar_left_is_flagged_one_way_or_the_other() {
    let mut jug = begun();
    jug.gravity(1.050, "2026-04-09T07:00:00-07:00");
    jug.gravity(1.049, "2026-04-11T07:00:00-07:00");
    jug.gravity(1.050, "2026-04-13T07:00:00-07:00");
    let seen = row(&jug, "2026-04-13T08:00:00-07:00");
    let flag = find(&seen, "stuck").or(find(&seen, "no fall")).unwrap();
    assert_eq!(flag.weight(), 2);
    let sentence = flag.sentence(&Settings::default());
    assert!(
        sentence.contains("1.050 now, should end near 0.998"),
        "{sentence}"
    );
    // Plato for those who read it: 1.050 is 12.4 °P (sugar tables).
    let plato = Settings {
        gravity: skep::domain::records::GravityScale::Plato,
        ..Settings::default()
    };
    assert!(flag.sentence(&plato).contains("12.4 °P now"));
    // A healthy one at the same gravity is not.
    let mut healthy = begun();
    healthy.gravity(1.050, "2026-04-09T07:00:00-07:00");
    healthy.gravity(1.033, "2026-04-12T07:00:00-07:00");
    let seen = row(&healthy, "2026-04-12T08:00:00-07:00");
    assert!(
        seen.flags.iter().all(|f| f.weight() < 2),
        "{:?}",
        seen.flags
    );
}

#[test]
fn late_steps_say_what_lateness_does() {
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.gravity(1.095, "2026-04-01T18:50:00-07:00");
    jug.done("feed-1", "2026-04-01T19:10:00-07:00");
    let late = row(&jug, "2026-04-03T07:00:00-07:00");
    assert_eq!(late.urgency, Urgency::Today);
    assert_eq!(
        said(&late, "late"),
        "Swirl the gas out for 2 minutes, then nutrient: due 2 April, 1 day ago. \
         Hungry yeast slows down and may stick; late nutrient feeds spoilers instead."
    );
    let overdue = row(&jug, "2026-04-04T07:00:00-07:00");
    assert_eq!(find(&overdue, "overdue").unwrap().weight(), 2);
    assert_eq!(overdue.urgency, Urgency::Trouble);
}

#[test]
fn bottled_while_not_finished() {
    let mut jug = begun();
    jug.gravity(1.050, "2026-04-09T07:00:00-07:00");
    jug.gravity(1.033, "2026-04-12T07:00:00-07:00");
    // Sugar for gas goes in: on its way to the bottles.
    jug.dossier().events.push(Event {
        id: EventId(1),
        batch: BatchId(1),
        vessel: None,
        step: None,
        at: moment("2026-04-12T09:00:00-07:00"),
        kind: EventKind::Prime,
        substance: "sugar".into(),
        mass: None,
        volume: None,
        gravity: None,
        alcohol: None,
        note: String::new(),
    });
    let seen = row(&jug, "2026-04-12T10:00:00-07:00");
    let sentence = said(&seen, "bottled unfinished");
    assert!(
        sentence
            .starts_with("Marked for bottling and not finished: 1.033 now, should end near 0.998;"),
        "{sentence}"
    );
    assert_eq!(seen.urgency, Urgency::Danger);
    let at = moment("2026-04-12T11:00:00-07:00");
    let dossier = jug.dossier();
    dossier.batch.stage = Stage::Bottled;
    dossier.batch.bottled = Some(at);
    dossier.stays[0].to = Some(at);
    let seen = row(&jug, "2026-04-20T10:00:00-07:00");
    assert!(
        said(&seen, "bottled unfinished").starts_with("Bottled 12 April and not finished: 1.033")
    );
    assert_eq!(seen.vessel, None);
    let months_later = morning(
        &jug.household,
        &History::default(),
        moment("2026-07-20T10:00:00-07:00"),
    );
    assert!(
        months_later
            .accounts
            .iter()
            .all(|r| find(r, "bottled unfinished").is_none())
    );
}

#[test]
fn in_metric_the_numbers_are_metric() {
    let mut jug = begun();
    jug.read(fahrenheit(58.0), CLOSET, "2026-04-06T06:30:00-07:00");
    let seen = row(&jug, "2026-04-06T07:00:00-07:00");
    let metric = Settings {
        units: UnitSystem::Metric,
        ..Settings::default()
    };
    assert_eq!(
        find(&seen, "too cold").unwrap().sentence(&metric),
        "14 °C on 6 April; its yeast likes 16 °C to 24 °C."
    );
}

#[test]
fn a_split_batch_has_one_row_a_vessel_each_with_its_own_trouble() {
    use skep::domain::records::{Stay, StayId};
    let mut jug = begun();
    let mut second = jug.household.vessels[0].clone();
    second.id = VesselId(2);
    second.tag = "J2".into();
    jug.household.vessels.push(second);
    let split = moment("2026-04-06T12:00:00-07:00");
    jug.dossier().stays.push(Stay {
        id: StayId(2),
        batch: BatchId(1),
        vessel: VesselId(2),
        from: split,
        to: None,
        volume: None,
    });
    jug.gravity(1.044, "2026-04-09T07:00:00-07:00");
    let hydrometer = |sg| Seen::new(MeasureKind::Hydrometer, sg, Unit::Sg).unwrap();
    let other = Subject::Vessel(VesselId(2));
    jug.read(hydrometer(1.071), other, "2026-04-07T07:00:00-07:00");
    jug.read(hydrometer(1.071), other, "2026-04-11T06:50:00-07:00");
    jug.gravity(1.030, "2026-04-11T07:00:00-07:00");
    let m = morning(
        &jug.household,
        &History::default(),
        moment("2026-04-11T08:00:00-07:00"),
    );
    let tags: Vec<&str> = m.accounts.iter().map(|r| r.tag.as_str()).collect();
    assert_eq!(tags, ["J2", "J1"], "the one in trouble stands first");
    assert!(m.accounts[0].flags.iter().any(|f| f.weight() >= 2));
    assert!(
        m.accounts[1].flags.iter().all(|f| f.weight() < 2),
        "{:?}",
        m.accounts[1].flags
    );
    let last = |r: &Account| (r.last.unwrap().corrected.get() * 1000.0).round();
    assert!((last(&m.accounts[0]) - 1071.0).abs() < 0.5);
    assert!((last(&m.accounts[1]) - 1030.0).abs() < 0.5);
    // One list of steps for both.
    assert!(m.due.iter().all(|d| d.tag == "J1+J2"));
}
