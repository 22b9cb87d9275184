//! The invented household builds by ordinary deeds at any time of day and year,
//! and the morning says of it what it was made to show.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use chrono::DateTime;
use skep::domain::records::{
    Batch, Dossier, Household, Stage, Step, StepKind, StepStatus, Style, VesselId,
};
use skep::domain::units::Moment;
use skep::engine::{Account, Flag, History, Morning, State, Timing, Urgency, gas, morning};
use skep::store::Store;
use skep::work::{demo, learned};
use std::sync::OnceLock;

fn moment(text: &str) -> Moment {
    Moment::new(DateTime::parse_from_rfc3339(text).unwrap())
}

/// A morning in autumn, just after midnight on the day of the US spring change,
/// late on a summer night, noon on a leap day.
const TIMES: [&str; 4] = [
    "2026-11-25T07:00:00-05:00",
    "2027-03-14T00:05:00-08:00",
    "2026-07-01T23:50:00+02:00",
    "2028-02-29T12:00:00+05:30",
];

/// What there is to see of the demonstration at one time.
struct Sight {
    now: Moment,
    morning: Morning,
    household: Household,
    dossiers: Vec<Dossier>,
    learned: History,
    bottles: i64,
    tastings: usize,
    pantry: usize,
}

fn look(now: Moment) -> Sight {
    let mut store = Store::in_memory().unwrap();
    demo::build(&mut store, now).unwrap();
    let household = store.household(now).unwrap();
    let learned = learned(&store, &household, now).unwrap();
    let batches = store.all_batches().unwrap();
    let tasted = |b: &Batch| store.tastings(b.id).unwrap().len();
    Sight {
        now,
        morning: morning(&household, &learned, now),
        dossiers: batches
            .iter()
            .map(|b| store.dossier(b.id, now).unwrap().unwrap())
            .collect(),
        bottles: store.cellar(true).unwrap().iter().map(|s| s.left).sum(),
        tastings: batches.iter().map(tasted).sum(),
        pantry: store.pantry().unwrap().len(),
        household,
        learned,
    }
}

/// The demonstration at all the times, built once.
fn sights() -> &'static [Sight] {
    static SIGHTS: OnceLock<Vec<Sight>> = OnceLock::new();
    SIGHTS.get_or_init(|| TIMES.map(|t| look(moment(t))).into())
}

impl Sight {
    fn row(&self, tag: &str) -> &Account {
        self.morning.accounts.iter().find(|r| r.tag == tag).unwrap()
    }
}

#[test]
fn the_morning_says_of_each_vessel_what_it_was_made_to_show() {
    for sight in sights() {
        let row = |tag| sight.row(tag);

        let stuck = row("J2");
        assert_eq!(
            (stuck.state, stuck.urgency),
            (State::Stuck, Urgency::Trouble)
        );
        assert!(matches!(stuck.flags[0], Flag::Stuck { .. }));

        let late = row("J1");
        assert_eq!((late.day, late.urgency), (Some(22), Urgency::Today));
        assert!(matches!(
            late.flags[..],
            [Flag::StepLate {
                kind: StepKind::Swirl,
                days: 2,
                ..
            }]
        ));

        let resting = row("J3");
        assert_eq!(
            (resting.state, resting.urgency),
            (State::Resting, Urgency::Calm)
        );
        assert_eq!(
            (resting.rest_until.unwrap() - sight.now.day()).num_days(),
            5
        );

        assert_eq!(row("J4").state, State::Finished);

        let pitched = row("J5");
        assert_eq!((pitched.day, pitched.state), (Some(2), State::Lag));
        assert_eq!(pitched.next.as_ref().unwrap().kind, StepKind::SwirlFeed);

        let fruit = row("J6");
        assert_eq!(fruit.next.as_ref().unwrap().kind, StepKind::Cap);

        let healthy = row("C1");
        assert_eq!(
            (healthy.state, healthy.urgency),
            (State::Active, Urgency::Calm)
        );

        assert_eq!(row("B1").style, Style::Beer);
        assert_eq!(row("J7").style, Style::Cider);
        assert_eq!(row("C2").state, State::Ageing);
    }
}

#[test]
fn one_vessel_is_in_trouble_and_stands_first() {
    for sight in sights() {
        let rows = &sight.morning.accounts;
        assert_eq!(rows[0].tag, "J2");
        assert_eq!(rows.iter().filter(|r| r.vessel.is_some()).count(), 10);
        for r in rows {
            let worst = r.flags.iter().map(Flag::weight).max().unwrap_or(0);
            assert_eq!(worst >= 2, r.tag == "J2", "{} {:?}", r.tag, r.flags);
            if !["J1", "J2"].contains(&r.tag.as_str()) {
                assert!(r.flags.is_empty(), "{} {:?}", r.tag, r.flags);
            }
        }
        let tag = |v: &VesselId| sight.household.vessel(*v).unwrap().tag.as_str();
        let free: Vec<&str> = sight.morning.free_vessels.iter().map(tag).collect();
        assert_eq!(free, ["B2", "J8"]);
    }
}

#[test]
fn a_year_of_earlier_batches_lies_behind_it() {
    for sight in sights() {
        let all = &sight.dossiers;
        let ended = |stage: Stage| all.iter().filter(|d| d.batch.stage == stage).count();
        assert_eq!(ended(Stage::Bottled), 9);
        assert_eq!(ended(Stage::Closed), 1);
        let first = all.iter().filter_map(|d| d.batch.pitched).min().unwrap();
        assert!((330.0..366.0).contains(&sight.now.days_since(first)));
        assert!((60..200).contains(&sight.bottles), "{}", sight.bottles);
        assert!(sight.tastings >= 10);
        assert!(sight.pantry >= 12);
        // What ended teaches the engine: nine that came through and one that stuck.
        let learned = &sight.learned.batches;
        assert_eq!(learned.len(), 10);
        assert_eq!(learned.iter().filter(|b| b.stuck).count(), 1);
        for b in learned {
            let usual = if b.stuck { 2.0..20.0 } else { 4.0..45.0 };
            assert!(usual.contains(&b.days_to_finish), "{b:?}");
        }
    }
}

#[test]
fn nothing_lies_in_the_future_and_no_step_hangs_open_from_long_ago() {
    for Sight { now, dossiers, .. } in sights() {
        for d in dossiers {
            let name = &d.batch.name;
            assert!(d.readings.iter().all(|r| r.at <= *now), "{name}");
            assert!(d.events.iter().all(|e| e.at <= *now), "{name}");
            if d.batch.stage == Stage::Bottled {
                let done = |s: &&Step| matches!(s.status, StepStatus::Done { .. });
                let left: Vec<&str> = d
                    .steps
                    .iter()
                    .filter(|s| !done(s))
                    .map(|s| s.rule.key.as_str())
                    .filter(|k| !["taste", "condition"].contains(k))
                    .collect();
                assert!(left.is_empty(), "{name}: {left:?}");
            }
        }
    }
}

#[test]
fn a_file_of_it_is_a_store_like_any_other() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("demo.store");
    let now = moment(TIMES[0]);
    let store = demo::build_into(&file, now).unwrap();
    let again = Store::open(&file, now).unwrap();
    let household = again.household(now).unwrap();
    assert_eq!(household, store.household(now).unwrap());
    assert_eq!(household.vessels.len(), 12);
    assert!(skep::work::undo_name(&again).unwrap().is_some());
    // Never over something that is there.
    let said = demo::build_into(&file, now).err().unwrap().to_string();
    assert!(said.contains("demo.store"), "{said}");
    let names: Vec<_> = std::fs::read_dir(folder.path()).unwrap().collect();
    assert!(names.len() <= 3, "no copy is left behind: {names:?}");
}

#[test]
fn one_is_finished_and_waits_to_be_bottled() {
    for sight in sights() {
        let waiting = sight.row("J4");
        assert_eq!(
            (waiting.state, waiting.urgency),
            (State::Finished, Urgency::Today)
        );
        let mut due = sight.morning.due.iter();
        let bottle = due.find(|d| d.tag == "J4" && d.kind == StepKind::Bottle);
        assert_eq!(bottle.unwrap().timing, Timing::InWindow);
        assert!(waiting.assessment.bottling.open());
    }
}

#[test]
fn a_place_gives_off_what_its_ferments_do_together() {
    for sight in sights() {
        let places = gas(&sight.household, &sight.morning, |_| None);
        assert!(places.iter().any(|p| p.vessels.len() > 2));
        for place in &places {
            let sum: f64 = place.vessels.iter().map(|v| v.a_day.p50).sum();
            assert!(
                place.a_day >= 0.0 && (place.a_day - sum).abs() < 1e-9,
                "{}",
                place.name
            );
        }
        // A cider that begins gives off more than a mead that has been finished for weeks.
        let of = |tag: &str| {
            let vessels = places.iter().flat_map(|p| &p.vessels);
            vessels
                .filter(|v| v.tag == tag)
                .map(|v| v.a_day.p50)
                .sum::<f64>()
        };
        assert!(of("C1") > 10.0 * of("J4") && of("C2") < 1e-9);
    }
}
