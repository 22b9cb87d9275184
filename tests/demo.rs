//! The invented household builds by ordinary deeds at any time of day and year,
//! and the morning says of it what it was made to show.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use chrono::DateTime;
use skep::domain::records::{Dossier, Stage, StepKind, Style};
use skep::domain::units::Moment;
use skep::engine::{Flag, History, Morning, Row, State, Urgency, morning};
use skep::store::Store;
use skep::work::{demo, learned};

fn moment(text: &str) -> Moment {
    Moment::new(DateTime::parse_from_rfc3339(text).unwrap())
}

fn built(now: Moment) -> Store {
    let mut store = Store::in_memory().unwrap();
    demo::build(&mut store, now).unwrap();
    store
}

fn all(store: &Store, now: Moment) -> Vec<Dossier> {
    let batches = store.all_batches().unwrap();
    batches
        .iter()
        .map(|b| store.dossier(b.id, now).unwrap().unwrap())
        .collect()
}

fn history(store: &Store, now: Moment) -> History {
    learned(store, &store.household(now).unwrap(), now).unwrap()
}

fn see(store: &Store, now: Moment) -> Morning {
    morning(&store.household(now).unwrap(), &history(store, now), now)
}

fn row<'a>(m: &'a Morning, tag: &str) -> &'a Row {
    m.rows.iter().find(|r| r.tag == tag).unwrap()
}

/// A morning in autumn, just after midnight on the day of the US spring change,
/// late on a summer night, noon on a leap day.
const TIMES: [&str; 4] = [
    "2026-11-25T07:00:00-05:00",
    "2027-03-14T00:05:00-08:00",
    "2026-07-01T23:50:00+02:00",
    "2028-02-29T12:00:00+05:30",
];

#[test]
fn the_morning_says_of_each_vessel_what_it_was_made_to_show() {
    for now in TIMES.map(moment) {
        let store = built(now);
        let m = see(&store, now);

        let stuck = row(&m, "J2");
        assert_eq!(
            (stuck.state, stuck.urgency),
            (State::Stuck, Urgency::Trouble)
        );
        assert!(matches!(stuck.flags[0], Flag::Stuck { .. }));

        let late = row(&m, "J1");
        assert_eq!((late.day, late.urgency), (Some(22), Urgency::Today));
        assert!(matches!(
            late.flags[..],
            [Flag::StepLate {
                kind: StepKind::Swirl,
                days: 2,
                ..
            }]
        ));

        let resting = row(&m, "J3");
        assert_eq!(
            (resting.state, resting.urgency),
            (State::Resting, Urgency::Calm)
        );
        assert_eq!((resting.rest_until.unwrap() - now.day()).num_days(), 5);

        assert_eq!(row(&m, "J4").state, State::Finished);

        let pitched = row(&m, "J5");
        assert_eq!((pitched.day, pitched.state), (Some(2), State::Lag));
        assert_eq!(pitched.next.as_ref().unwrap().kind, StepKind::SwirlFeed);

        let fruit = row(&m, "J6");
        assert_eq!(fruit.next.as_ref().unwrap().kind, StepKind::Cap);

        let healthy = row(&m, "C1");
        assert_eq!(
            (healthy.state, healthy.urgency),
            (State::Active, Urgency::Calm)
        );

        assert_eq!(row(&m, "B1").style, Style::Beer);
        assert_eq!(row(&m, "J7").style, Style::Cider);
        assert_eq!(row(&m, "C2").state, State::Ageing);
    }
}

#[test]
fn one_vessel_is_in_trouble_and_stands_first() {
    for now in TIMES.map(moment) {
        let store = built(now);
        let m = see(&store, now);
        assert_eq!(m.rows[0].tag, "J2");
        let in_vessels = m.rows.iter().filter(|r| r.vessel.is_some()).count();
        assert_eq!(in_vessels, 10);
        for r in &m.rows {
            let worst = r.flags.iter().map(Flag::weight).max().unwrap_or(0);
            assert_eq!(worst >= 2, r.tag == "J2", "{} {:?}", r.tag, r.flags);
            if !["J1", "J2"].contains(&r.tag.as_str()) {
                assert!(r.flags.is_empty(), "{} {:?}", r.tag, r.flags);
            }
        }
        let household = store.household(now).unwrap();
        let free: Vec<&str> = m
            .free_vessels
            .iter()
            .map(|v| household.vessel(*v).unwrap().tag.as_str())
            .collect();
        assert_eq!(free, ["B2", "J8"]);
    }
}

#[test]
fn a_year_of_earlier_batches_lies_behind_it() {
    let now = moment(TIMES[0]);
    let store = built(now);
    let dossiers = all(&store, now);
    let ended = |stage: Stage| dossiers.iter().filter(|d| d.batch.stage == stage).count();
    assert_eq!(ended(Stage::Bottled), 9);
    assert_eq!(ended(Stage::Closed), 1);
    let first = dossiers
        .iter()
        .filter_map(|d| d.batch.pitched)
        .min()
        .unwrap();
    assert!((330.0..366.0).contains(&now.days_since(first)));
    let bottles: i64 = store.cellar(true).unwrap().iter().map(|s| s.left).sum();
    assert!((60..200).contains(&bottles), "{bottles}");
    let tastings: usize = dossiers
        .iter()
        .map(|d| store.tastings(d.batch.id).unwrap().len())
        .sum();
    assert!(tastings >= 10);
    assert!(store.pantry().unwrap().len() >= 12);
    // What ended teaches the engine: nine that came through and one that stuck.
    let learned = history(&store, now);
    assert_eq!(learned.batches.len(), 10);
    assert_eq!(learned.batches.iter().filter(|b| b.stuck).count(), 1);
    for b in &learned.batches {
        let usual = if b.stuck { 2.0..20.0 } else { 4.0..45.0 };
        assert!(usual.contains(&b.days_to_finish), "{b:?}");
    }
}

#[test]
fn nothing_lies_in_the_future_and_no_step_hangs_open_from_long_ago() {
    for now in TIMES.map(moment) {
        let store = built(now);
        for d in all(&store, now) {
            let name = &d.batch.name;
            assert!(d.readings.iter().all(|r| r.at <= now), "{name}");
            assert!(d.events.iter().all(|e| e.at <= now), "{name}");
            if d.batch.stage == Stage::Bottled {
                let left: Vec<&str> = d
                    .steps
                    .iter()
                    .filter(|s| !matches!(s.status, skep::domain::records::StepStatus::Done { .. }))
                    .map(|s| s.rule.key.as_str())
                    .filter(|k| !["taste", "condition"].contains(k))
                    .collect();
                assert!(left.is_empty(), "{name}: {left:?}");
            }
        }
    }
}
