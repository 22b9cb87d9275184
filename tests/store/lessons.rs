//! What ended batches teach is worked out once and kept; whatever changes, it is
//! always what it would be if it were worked out anew.

use crate::kit::*;
use skep::domain::deeds::{Deed, NewReading};
use skep::domain::records::{
    BatchId, InstrumentKind, MeasureKind, Reading, Seen, Stage, Subject, Unit,
};
use skep::domain::units::Moment;
use skep::engine::{History, facts};
use skep::store::{Sample, Store};
use skep::work;

/// From all that is stored, past what is kept of it. A month on, samples of
/// loggers come by the day, as they do for what is kept.
fn anew(store: &Store) -> History {
    let household = store.household(now()).unwrap();
    let ids = store.all_batches().unwrap().into_iter().map(|b| b.id);
    let mut ids: Vec<BatchId> = ids.collect();
    ids.sort();
    let month_on = now().plus_days(28.0);
    let all: Vec<_> = ids
        .into_iter()
        .map(|id| store.dossier(id, month_on).unwrap().unwrap())
        .filter(|d| matches!(d.batch.stage, Stage::Bottled | Stage::Closed))
        .collect();
    facts::history(&household, &all, now())
}

fn kept(store: &Store) -> History {
    let household = store.household(now()).unwrap();
    work::learned(store, &household, now()).unwrap()
}

/// Twice: worked out, and read back.
fn agree(store: &Store, after: &str) -> History {
    let wanted = anew(store);
    assert_eq!(kept(store), wanted, "after {after}");
    assert_eq!(kept(store), wanted, "read back after {after}");
    assert!(
        store.lessons(now()).unwrap().new.is_empty(),
        "after {after}"
    );
    wanted
}

/// A reading in the middle of an ended ferment.
fn of_an_ended(store: &Store) -> (BatchId, Reading) {
    let ended = store.all_batches().unwrap().into_iter().find_map(|b| {
        let dossier = store.dossier(b.id, now()).unwrap()?;
        let gravity = |r: &&Reading| r.seen.kind() == MeasureKind::Hydrometer;
        let readings: Vec<_> = dossier.readings.iter().filter(gravity).collect();
        let last = readings.last().copied().cloned()?;
        (b.stage == Stage::Closed && readings.len() > 2).then_some((b.id, last))
    });
    ended.unwrap()
}

fn mended(reading: &Reading, sg: f64) -> Deed {
    Deed::EditReading {
        reading: reading.id,
        to: NewReading {
            subject: reading.subject,
            at: reading.at,
            seen: Seen::new(MeasureKind::Hydrometer, sg, Unit::Sg).unwrap(),
            sample_temp: reading.sample_temp,
            instrument: reading.instrument,
            source: reading.source.clone(),
            doubted: false,
            note: String::new(),
        },
    }
}

fn logged(store: &mut Store, subject: Subject, at: Moment) {
    let sample = |n: i32| Sample {
        subject,
        at: at.plus_days(f64::from(n) / 24.0),
        seen: Seen::new(MeasureKind::Temperature, 27.0, Unit::Celsius).unwrap(),
    };
    store
        .take_samples("late probe", (0..72).map(sample))
        .unwrap();
}

#[test]
fn what_is_kept_is_what_would_be_worked_out_anew() {
    let mut store = Store::in_memory().unwrap();
    work::demo::build(&mut store, now()).unwrap();
    let first = agree(&store, "the beginning");
    assert!(first.batches.len() >= 2, "{} ended", first.batches.len());

    let (_, reading) = of_an_ended(&store);
    good(&mut store, &mended(&reading, reading.seen.value() + 0.004));
    let second = agree(&store, "a reading was mended");
    assert_ne!(first, second);
    work::undo(&mut store, now()).unwrap();
    assert_eq!(agree(&store, "undo"), first);
    work::redo(&mut store, now()).unwrap();
    assert_eq!(agree(&store, "redo"), second);

    let gone = Deed::RemoveReading {
        reading: reading.id,
    };
    good(&mut store, &gone);
    assert_ne!(agree(&store, "a reading was removed"), second);

    logged(&mut store, reading.subject, reading.at.plus_days(-4.0));
    let warmed = agree(&store, "a logger told of the past");
    let probe = Deed::AddInstrument {
        name: "second glass".into(),
        kind: InstrumentKind::Hydrometer,
        calibrated_at: None,
        offset: 0.002,
        resolution: 0.002,
        factor: 1.0,
        preferred: false,
    };
    good(&mut store, &probe);
    assert_eq!(agree(&store, "a new instrument"), warmed);
}

#[test]
fn moving_a_vessel_and_ending_a_batch_are_noticed() {
    let mut store = Store::in_memory().unwrap();
    work::demo::build(&mut store, now()).unwrap();
    agree(&store, "the beginning");
    let attic = good(&mut store, &place("attic")).place();
    for vessel in store.household(now()).unwrap().vessels {
        let moved = Deed::EditVessel {
            vessel: vessel.id,
            tag: None,
            place: attic,
            tare: None,
            clean: None,
            retired: None,
        };
        good(&mut store, &moved);
    }
    agree(&store, "all vessels moved");
    let household = store.household(now()).unwrap();
    let lying = household
        .dossiers
        .iter()
        .find(|d| d.vessels().next().is_some());
    let closed = Deed::SetStage {
        batch: lying.unwrap().batch.id,
        stage: Stage::Closed,
        at: now(),
        note: "poured away".into(),
    };
    let before = kept(&store).batches.len();
    good(&mut store, &closed);
    let after = agree(&store, "a batch was given up").batches.len();
    assert!(after >= before);
    // The maker's own work is never counted as a change of the store by this.
    let revision = store.revision().unwrap();
    kept(&store);
    assert_eq!(store.revision().unwrap(), revision);
}

#[test]
fn a_lesson_that_cannot_be_read_is_worked_out_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("store");
    let mut store = Store::open(&path, now()).unwrap();
    work::demo::build(&mut store, now()).unwrap();
    let first = agree(&store, "the beginning");
    let other = rusqlite::Connection::open(&path).unwrap();
    let garbled = other
        .execute("UPDATE lesson SET style = 'soup'", [])
        .unwrap();
    assert!(garbled > 1, "{garbled}");
    assert_eq!(agree(&store, "all lessons were garbled"), first);
}
