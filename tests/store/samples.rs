//! Logger data: fast in, thinned out, nothing hidden and nothing doubled.

use crate::kit::*;
use skep::domain::deeds::Deed;
use skep::domain::records::{MeasureKind, Reading, Seen, Stage, Subject, Unit};
use skep::domain::units::Moment;
use skep::store::{Intake, Sample, Store};
use std::time::Instant;

const MINUTE: i64 = 60_000;

fn temp(subject: Subject, ms: i64, value: f64) -> Sample {
    Sample {
        subject,
        at: Moment::from_stored(ms, -480).unwrap(),
        seen: Seen::new(MeasureKind::Temperature, value, Unit::Celsius).unwrap(),
    }
}

/// A day's swing around 20 °C, and one minute of 35 °C.
fn wave(n: i64) -> f64 {
    if n == 700 {
        return 35.0;
    }
    20.0 + ((n % 1440) as f64 / 1440.0 * std::f64::consts::TAU).sin()
}

#[test]
fn what_is_sent_twice_is_kept_once() {
    let mut home = home();
    let subject = Subject::Place(home.closet);
    let start = at("2026-11-20T00:00:00-08:00").utc_ms();
    let day = || (0..1440).map(|n| temp(subject, start + n * MINUTE, wave(n)));
    let first = home.store.take_samples("probe", day()).unwrap();
    assert_eq!(
        first,
        Intake {
            kept: 1440,
            known: 0
        }
    );
    let again = home.store.take_samples("probe", day()).unwrap();
    assert_eq!(
        again,
        Intake {
            kept: 0,
            known: 1440
        }
    );
    // The same probe cannot have been in a vessel at the same minute.
    let moved = (0..10).map(|n| temp(Subject::Vessel(home.j1), start + n * MINUTE, 21.0));
    assert_eq!(home.store.take_samples("probe", moved).unwrap().known, 10);
    // Another probe can.
    let other = (0..10).map(|n| temp(Subject::Vessel(home.j1), start + n * MINUTE, 21.0));
    assert_eq!(
        home.store.take_samples("second probe", other).unwrap().kept,
        10
    );
    assert_eq!(home.store.sample_count().unwrap(), 1450);
}

#[test]
fn thinning_hides_no_extreme_and_loses_no_sample() {
    let mut home = home();
    let subject = Subject::Place(home.closet);
    let start = at("2026-11-01T00:00:00-08:00").utc_ms();
    let days = 20 * 1440;
    let all = (0..days).map(|n| temp(subject, start + n * MINUTE, wave(n)));
    home.store.take_samples("probe", all).unwrap();
    let (from, to) = (at("2026-10-01T00:00:00-08:00"), now());
    for wanted in [1, 7, 19, 50, 300, 500, 5000, 100_000] {
        let thinned = home.store.thinned(subject, from, to, wanted).unwrap();
        assert_eq!(thinned.len(), 1);
        let buckets = &thinned[0].buckets;
        assert!(
            buckets.len() <= wanted + 2,
            "{} for {wanted}",
            buckets.len()
        );
        assert_eq!(buckets.iter().map(|b| b.count).sum::<u64>(), days as u64);
        let high = buckets.iter().map(|b| b.high).fold(f64::MIN, f64::max);
        assert!((high - 35.0).abs() < 1e-9);
        assert!(buckets.is_sorted_by(|a, b| a.at < b.at));
        assert!(buckets.iter().all(|b| b.low <= b.mean && b.mean <= b.high));
    }
}

#[test]
fn a_batch_sees_the_loggers_means() {
    let mut home = home();
    start(&mut home.store, home.j1);
    let begin = at("2026-10-20T19:00:00-08:00").utc_ms();
    let end = now().utc_ms();
    let minutes = (end - begin) / MINUTE;
    let all = (0..minutes).map(|n| temp(Subject::Place(home.closet), begin + n * MINUTE, 20.0));
    home.store.take_samples("probe", all).unwrap();
    let house = home.store.household(now()).unwrap();
    let seen = &house.dossiers[0].place_readings;
    // From pitching on the 20th, 19:00, to the 25th, 7:00: 108 hours.
    assert_eq!(seen.len(), 108);
    assert!(seen.iter().all(|r| (r.seen.value() - 20.0).abs() < 1e-9));
    assert!(
        seen.iter()
            .all(|r| r.at >= house.dossiers[0].batch.pitched.unwrap())
    );
}

#[test]
fn calm_days_come_as_one_and_no_hot_hour_is_hidden() {
    let mut home = home();
    start(&mut home.store, home.j1);
    let later = now().plus_days(12.0);
    let begin = at("2026-10-20T19:00:00-08:00").utc_ms();
    let minutes = (later.utc_ms() - begin) / MINUTE;
    // Three hot hours, six days ago.
    let hot = (later.utc_ms() - 6 * 1440 * MINUTE - begin) / MINUTE;
    let warmth = |n: i64| {
        let day = (n as f64 / 1440.0 * std::f64::consts::TAU).sin();
        if (hot..hot + 180).contains(&n) {
            33.0
        } else {
            20.0 + 0.9 * day
        }
    };
    let place = Subject::Place(home.closet);
    let all = (0..minutes).map(|n| temp(place, begin + n * MINUTE, warmth(n)));
    home.store.take_samples("probe", all).unwrap();
    let fahrenheit = (0..minutes).map(|n| Sample {
        subject: Subject::Vessel(home.j1),
        at: Moment::from_stored(begin + n * MINUTE, 0).unwrap(),
        seen: Seen::new(
            MeasureKind::Temperature,
            32.0 + 1.8 * warmth(n),
            Unit::Fahrenheit,
        )
        .unwrap(),
    });
    home.store.take_samples("other probe", fahrenheit).unwrap();

    let house = home.store.household(later).unwrap();
    let dossier = &house.dossiers[0];
    for (seen, scale) in [(&dossier.place_readings, 1.0), (&dossier.readings, 1.8)] {
        let times: Vec<Moment> = seen.iter().map(|r| r.at).collect();
        assert!(times.is_sorted());
        // By the hour are the day of the pitch, the hot day and the last three or four;
        // the other days of seventeen come as one each.
        let hours = (later.utc_ms() - begin) as f64 / (60 * MINUTE) as f64;
        assert!(
            (seen.len() as f64) < 0.5 * hours,
            "{} of {hours}",
            seen.len()
        );
        let top = seen.iter().map(|r| r.seen.value()).fold(f64::MIN, f64::max);
        let real = if scale > 1.0 {
            (top - 32.0) / scale
        } else {
            top
        };
        assert!((real - 33.0).abs() < 1e-6, "{real}");
        // No day is left out.
        let gaps = times
            .windows(2)
            .map(|t| (t[1].utc_ms() - t[0].utc_ms()) / MINUTE);
        assert!(gaps.max().unwrap() <= 1440);
    }
}

#[test]
fn a_fall_comes_by_the_hour_and_calm_days_of_gravity_as_one() {
    let begin = at("2026-10-20T19:00:00-08:00");
    let later = now().plus_days(12.0);
    let minutes = (later.utc_ms() - begin.utc_ms()) / MINUTE;
    // A floating sensor's unrest of three points, and a fall of twenty that begins eight
    // days ago and takes a day.
    let fell = minutes - 8 * 1440;
    let gravity = |n: i64| {
        let unrest = 0.0015 * (n as f64 * 0.37).sin();
        let gone = (n - fell).clamp(0, 1440) as f64 / 1440.0;
        1.030 - 0.020 * gone + unrest
    };
    for (unit, shown) in [
        (Unit::Sg, (|g| g) as fn(f64) -> f64),
        // Four points to a degree, as is usual (a rule of thumb: only the steps matter here).
        (Unit::Plato, |g| (g - 1.0) * 250.0),
    ] {
        let mut home = home();
        start(&mut home.store, home.j1);
        let sample = |n: i64| Sample {
            subject: Subject::Vessel(home.j1),
            at: Moment::from_stored(begin.utc_ms() + n * MINUTE, 0).unwrap(),
            seen: Seen::new(MeasureKind::Hydrometer, shown(gravity(n)), unit).unwrap(),
        };
        home.store
            .take_samples("float", (0..minutes).step_by(5).map(sample))
            .unwrap();
        let house = home.store.household(later).unwrap();
        let told = &house.dossiers[0].readings;
        let ago = |r: &Reading| later.days_since(r.at);
        let between =
            |from: f64, to: f64| told.iter().filter(|r| (to..from).contains(&ago(r))).count();
        assert!(between(2.9, 0.0) >= 69, "the last days, by the hour");
        assert!(between(8.0, 7.0) >= 23, "the fall, by the hour");
        assert!((2..=3).contains(&between(6.5, 4.0)), "after it, by the day");
        assert!(
            (4..=5).contains(&between(14.0, 9.5)),
            "before it, by the day"
        );
        // The course is there whole: no gap beyond a day, and no step of the fall is hidden.
        for pair in told.windows(2) {
            assert!(pair[1].at.days_since(pair[0].at) < 1.5);
            let step = (pair[1].seen.value() - pair[0].seen.value()).abs();
            assert!(step < shown(1.0 + 0.004) - shown(1.0), "{pair:?}");
        }
    }
}

/// Ten million rows: `cargo test --release --test store -- --ignored --nocapture million`.
#[test]
#[ignore = "takes a minute; prints figures"]
#[expect(clippy::disallowed_methods, reason = "it measures")]
fn ten_million_samples_leave_the_morning_quick() {
    let folder = tempfile::tempdir().unwrap();
    let mut home = home_in(Store::open(&folder.path().join("s.skep"), now()).unwrap());
    start(&mut home.store, home.j1);
    let end = now().utc_ms();
    let clock = Instant::now();
    let mut kept = 0;
    for (probe, subject) in [
        ("one", Subject::Place(home.closet)),
        ("two", Subject::Vessel(home.j1)),
    ] {
        let all = (0..5_000_000).map(|n| temp(subject, end - n * 6_000, wave(n)));
        kept += home.store.take_samples(probe, all).unwrap().kept;
    }
    let took = clock.elapsed();
    println!(
        "{kept} rows in {took:?}: {:.0} a second",
        kept as f64 / took.as_secs_f64()
    );
    assert_eq!(kept, 10_000_000);
    let clock = Instant::now();
    let house = home.store.household(now()).unwrap();
    println!(
        "household: {:?}, {} readings",
        clock.elapsed(),
        house.dossiers[0].readings.len()
    );
    let clock = Instant::now();
    let from = Moment::from_stored(0, 0).unwrap();
    let thinned = home
        .store
        .thinned(Subject::Vessel(home.j1), from, now(), 200)
        .unwrap();
    println!(
        "trend of all: {:?}, {} buckets",
        clock.elapsed(),
        thinned[0].buckets.len()
    );
    let clock = Instant::now();
    let from = now().plus_days(-5.0);
    let thinned = home
        .store
        .thinned(Subject::Vessel(home.j1), from, now(), 200)
        .unwrap();
    println!(
        "trend of 5 days: {:?}, {} buckets",
        clock.elapsed(),
        thinned[0].buckets.len()
    );
    println!(
        "{} bytes",
        std::fs::metadata(home.store.path().unwrap()).unwrap().len()
    );
}

/// `cargo test --release --test store -- --ignored --nocapture years`.
#[test]
#[ignore = "takes a minute; prints figures"]
#[expect(clippy::disallowed_methods, reason = "it measures")]
fn years_of_batches_leave_the_morning_quick() {
    let mut home = home();
    let place = home.closet;
    let mut open = 0;
    for n in 0..600 {
        let tag = format!("V{n}");
        let vessel = good(&mut home.store, &jug(&tag, place)).vessel().unwrap();
        let id = start(&mut home.store, vessel);
        let readings: Vec<_> = (0..60)
            .map(|k| {
                let mut one = sg(
                    vessel,
                    1.1 - f64::from(k) / 1000.0,
                    "2026-11-24T07:00:00-08:00",
                );
                one.at = now().plus_days(-f64::from(k) / 15.0);
                one
            })
            .collect();
        good(&mut home.store, &Deed::Record(readings));
        if n < 560 {
            let (at, note) = (now(), String::new());
            let stage = Stage::Closed;
            good(
                &mut home.store,
                &Deed::SetStage {
                    batch: id,
                    stage,
                    at,
                    note,
                },
            );
        } else {
            open += 1;
        }
    }
    let clock = Instant::now();
    let house = home.store.household(now()).unwrap();
    println!(
        "household of {open} open and 560 closed batches: {:?}",
        clock.elapsed()
    );
    assert_eq!(house.dossiers.len(), open);
    let clock = Instant::now();
    let vessel = house.vessels.last().unwrap().id;
    let one = sg(vessel, 1.03, "2026-11-25T07:00:00-08:00");
    good(&mut home.store, &Deed::Record(vec![one]));
    println!("one reading (in memory): {:?}", clock.elapsed());
    let clock = Instant::now();
    home.store.ledger(house.dossiers[0].batch.id).unwrap();
    println!("ledger: {:?}", clock.elapsed());
    let clock = Instant::now();
    assert_eq!(home.store.check(now()).unwrap(), vec![]);
    println!("check: {:?}", clock.elapsed());
    let clock = Instant::now();
    assert_eq!(home.store.find_batches("orange").unwrap().len(), 600);
    println!("search: {:?}", clock.elapsed());
}
