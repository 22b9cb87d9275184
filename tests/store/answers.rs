//! What was said of bottles before is said again only where the engine, asked
//! directly, says the very same: over the demo, over households made at random,
//! whatever is changed in them, and whatever befalls the file.

use crate::kit::*;
use proptest::prelude::*;
use skep::domain::deeds::{Deed, Fill, NewEvent, NewReading};
use skep::domain::records::{
    BatchId, BottleClass, EventKind, HoldKind, Household, InstrumentKind, MeasureKind, Seen,
    Settings, Stage, StepKind, Subject, Unit, VesselId,
};
use skep::domain::units::{Celsius, Litres, Moment, Zone};
use skep::engine::{History, Morning, State, morning};
use skep::store::{Sample, Store};
use skep::work::{self, Answers};
use std::fs;
use std::path::{Path, PathBuf};

/// The engine asked directly, and as the dashboard asks it.
fn agree(store: &Store, file: &Path, at: Moment, after: &str) -> Morning {
    let household = store.household(at).unwrap();
    let history = work::learned(store, &household, at).unwrap();
    let anew = morning(&household, &history, at);
    as_asked(file, (&household, &history, at), &anew, after);
    anew
}

/// The same where it is known what the engine says when it is asked directly.
fn as_asked(
    file: &Path,
    (household, history, at): (&Household, &History, Moment),
    anew: &Morning,
    after: &str,
) {
    let mut answers = Answers::of(Some(file.to_path_buf()));
    for time in ["first", "second"] {
        let said = answers.morning(household, history, (at, Zone::of(at)));
        assert_eq!(said, *anew, "the {time} time after {after}");
    }
    answers.keep();
}

/// Whether all that is asked now was said before.
fn remembered(store: &Store, file: &Path, at: Moment) -> bool {
    let household = store.household(at).unwrap();
    let history = work::learned(store, &household, at).unwrap();
    let mut answers = Answers::of(Some(file.to_path_buf()));
    let there = fs::read(file).unwrap_or_default();
    let _ = fs::remove_file(file);
    answers.morning(&household, &history, (at, Zone::of(at)));
    answers.keep();
    let written = file.exists();
    fs::write(file, there).unwrap();
    !written
}

fn bottles(morning: &Morning) -> usize {
    let rows = morning.accounts.iter();
    rows.filter(|r| r.state == State::Bottled).count()
}

/// A ferment that is made up.
#[derive(Debug, Clone)]
struct Life {
    /// Days ago that it was pitched, and days until it was bottled.
    pitched: f64,
    bottled: f64,
    /// Original gravity, fall to its end, share of that fall that came true.
    og: f64,
    fall: f64,
    done: f64,
    readings: usize,
    log: bool,
}

fn lives() -> impl Strategy<Value = Vec<Life>> {
    let life = (
        (60.0..300.0, 10.0..50.0),
        (1.040..1.120, 0.030..0.100, 0.4..1.0),
        1..12_usize,
        any::<bool>(),
    );
    let life = life.prop_map(
        |((pitched, bottled), (og, fall, done), readings, log)| Life {
            pitched,
            bottled,
            og,
            fall,
            done,
            readings,
            log,
        },
    );
    prop::collection::vec(life, 1..4)
}

fn reading(vessel: VesselId, gravity: f64, at: Moment) -> NewReading {
    NewReading {
        at,
        seen: Seen::new(
            MeasureKind::Hydrometer,
            (gravity * 1000.0).round() / 1000.0,
            Unit::Sg,
        )
        .unwrap(),
        ..sg(vessel, 1.0, "2026-11-24T07:00:00-08:00")
    }
}

fn live(store: &mut Store, life: &Life, number: usize, home: &Rooms) -> BatchId {
    let deed = |store: &mut Store, deed: &Deed, at: Moment| {
        work::carry_out(store, deed, at).unwrap_or_else(|e| panic!("{deed:?}: {e}"))
    };
    let vessel = home.vessels[number];
    let pitched = now().plus_days(-life.pitched);
    let mut new = mead(Some(vessel));
    new.name = format!("number {number}");
    new.pitched = Some(pitched);
    new.steps.push(rule("taste", StepKind::Taste, 40));
    let batch = deed(store, &Deed::StartBatch(Box::new(new)), pitched)
        .batch
        .unwrap();
    for n in 0..life.readings {
        let day = life.bottled * n as f64 / life.readings as f64;
        let gone = 1.0 - (-day / (0.2 * life.bottled)).exp();
        let gravity = life.og - life.fall * life.done * gone;
        let at = pitched.plus_days(day + 0.01);
        deed(
            store,
            &Deed::Record(vec![reading(vessel, gravity, at)]),
            at.plus_days(0.01),
        );
    }
    if life.log {
        let sample = |n: u32| Sample {
            subject: Subject::Vessel(vessel),
            at: pitched.plus_days(f64::from(n) / 24.0),
            seen: Seen::new(
                MeasureKind::Temperature,
                18.0 + f64::from(n % 7),
                Unit::Celsius,
            )
            .unwrap(),
        };
        let all = (0..(life.bottled * 24.0) as u32).map(sample);
        store.take_samples("probe", all).unwrap();
    }
    let at = pitched.plus_days(life.bottled);
    let bottle = Deed::Bottle {
        vessel: None,
        batch,
        at,
        fizz: None,
        fills: vec![Fill {
            class: BottleClass::Crown,
            size: Litres::known(0.355),
            count: 8,
            clear_glass: false,
        }],
        place: home.closet,
        ready_from: None,
        drink_by: None,
        note: "drunk soon, kept cold".into(),
        overrides: vec![HoldKind::Unfinished],
    };
    deed(store, &bottle, at.plus_days(0.01));
    batch
}

struct Rooms {
    closet: skep::domain::records::PlaceId,
    vessels: Vec<VesselId>,
}

fn furnished(count: usize) -> (Store, Rooms) {
    let mut home = home();
    let mut vessels = vec![home.j1, home.j2];
    for n in 3..=count {
        let deed = jug(&format!("J{n}"), home.closet);
        vessels.push(good(&mut home.store, &deed).vessel().unwrap());
    }
    let rooms = Rooms {
        closet: home.closet,
        vessels,
    };
    (home.store, rooms)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_said_again_is_what_the_engine_says_when_asked(lives in lives()) {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("bottles.txt");
        let (mut store, home) = furnished(lives.len());
        let ids: Vec<BatchId> = lives
            .iter()
            .enumerate()
            .map(|(n, life)| live(&mut store, life, n, &home))
            .collect();
        let first = agree(&store, &file, now(), "the beginning");
        prop_assert_eq!(bottles(&first), lives.len());
        prop_assert!(remembered(&store, &file, now()));
        // An hour later the same is known of bottles, and the rest is of that hour.
        prop_assert!(remembered(&store, &file, now().plus_days(1.0 / 24.0)));
        agree(&store, &file, now().plus_days(1.0 / 24.0), "an hour");

        // The filling of the last is taken back, and made again.
        work::undo(&mut store, now()).unwrap();
        let without = agree(&store, &file, now(), "an undone filling");
        prop_assert_eq!(bottles(&without), lives.len() - 1);
        work::redo(&mut store, now()).unwrap();
        prop_assert_eq!(&agree(&store, &file, now(), "a filling made again"), &first);

        let dossier = store.dossier(ids[0], now()).unwrap().unwrap();
        let seen = dossier.readings.iter().find(|r| r.id.0 > 0).unwrap().clone();
        let moved = Deed::EditReading {
            reading: seen.id,
            to: reading(home.vessels[0], seen.seen.value() + 0.004, seen.at.plus_days(0.1)),
        };
        good(&mut store, &moved);
        prop_assert!(!remembered(&store, &file, now()));
        agree(&store, &file, now(), "a moved reading");
        good(&mut store, &Deed::RemoveReading { reading: seen.id });
        agree(&store, &file, now(), "a reading that was taken off");
        let note = Deed::AddEvent(NewEvent {
            batch: ids[0],
            vessel: None,
            step: None,
            at: now().plus_days(-1.0),
            kind: EventKind::Note,
            substance: String::new(),
            mass: None,
            volume: None,
            note: "hissed when opened".into(),
        });
        good(&mut store, &note);
        agree(&store, &file, now(), "a note");
        let settings = Settings { stall_prior: 0.31, ..Settings::default() };
        good(&mut store, &Deed::SaveSettings(settings));
        prop_assert!(!remembered(&store, &file, now()));
        agree(&store, &file, now(), "another choice");

        // Clocks ahead of the filling, before it, and back again.
        for days in [1.0, 45.0, 400.0, -20.0, -200.0, 0.0] {
            agree(&store, &file, now().plus_days(days), &format!("a clock at {days} days"));
        }
    }
}

#[test]
fn over_the_demo_whatever_is_changed_in_it() {
    let folder = tempfile::tempdir().unwrap();
    let file: PathBuf = folder.path().join("cache/bottles.txt");
    let mut store = Store::in_memory().unwrap();
    work::demo::build(&mut store, now()).unwrap();
    let first = agree(&store, &file, now(), "the beginning");
    assert!(bottles(&first) > 0, "nothing is in bottles");
    assert!(remembered(&store, &file, now()));
    let household = store.household(now()).unwrap();
    let attic = good(&mut store, &place("attic")).place();
    for vessel in &household.vessels {
        let moved = Deed::EditVessel {
            vessel: vessel.id,
            tag: None,
            place: attic,
            tare: None,
            clean: None,
            retired: None,
        };
        good(&mut store, &moved);
        agree(&store, &file, now(), "a vessel that was moved");
    }
    let glass = Deed::AddInstrument {
        name: "another glass".into(),
        kind: InstrumentKind::Hydrometer,
        calibrated_at: Some(Celsius::known(15.56)),
        offset: 0.003,
        resolution: 0.002,
        factor: 1.0,
        preferred: true,
    };
    good(&mut store, &glass);
    agree(&store, &file, now(), "another hydrometer");
    // One more has ended: all may have learned of it.
    let lying = household
        .dossiers
        .iter()
        .find(|d| d.batch.stage == Stage::Fermenting)
        .unwrap();
    let closed = Deed::SetStage {
        batch: lying.batch.id,
        stage: Stage::Closed,
        at: now(),
        note: "poured away".into(),
    };
    good(&mut store, &closed);
    agree(&store, &file, now(), "one more that ended");
    while work::undo(&mut store, now()).unwrap().is_some() {
        let changes = store.changes(1).unwrap();
        if changes.is_empty() || store.household(now()).unwrap().dossiers.len() < 3 {
            break;
        }
    }
    agree(&store, &file, now(), "much that was taken back");
}

#[test]
fn a_damaged_file_is_never_believed() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bottles.txt");
    let mut store = Store::in_memory().unwrap();
    work::demo::build(&mut store, now()).unwrap();
    let mut household = store.household(now()).unwrap();
    let history = work::learned(&store, &household, now()).unwrap();
    household
        .dossiers
        .retain(|d| d.batch.stage == Stage::Bottled);
    let anew = morning(&household, &history, now());
    let asked = (&household, &history, now());
    as_asked(&file, asked, &anew, "the beginning");
    let whole = fs::read(&file).unwrap();
    assert!(whole.len() > 1000);
    for n in 0..45_usize {
        let mut bytes = whole.clone();
        let at = (n * 7919) % bytes.len();
        match n % 3 {
            0 => bytes[at] ^= 1 << (n % 8),
            1 => bytes.truncate(at),
            _ => drop(bytes.drain(..at)),
        }
        fs::write(&file, &bytes).unwrap();
        as_asked(&file, asked, &anew, &format!("damage {n} at {at}"));
    }
    // A folder in its place, and one that cannot be made.
    fs::remove_file(&file).unwrap();
    fs::create_dir(&file).unwrap();
    as_asked(&file, asked, &anew, "a folder in its place");
    let nowhere = file.join("under/no.txt");
    fs::remove_dir(&file).unwrap();
    fs::write(&file, "a file").unwrap();
    as_asked(&nowhere, asked, &anew, "a file in place of its folder");
}
