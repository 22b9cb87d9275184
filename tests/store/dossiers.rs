//! Dossiers of bottles are put together once and kept; whatever changes, they are
//! always what they would be if they were put together anew.

use crate::kit::*;
use rusqlite::Connection;
use skep::domain::deeds::{Deed, NewEvent, NewReading};
use skep::domain::records::{
    BatchId, Dossier, EventKind, MeasureKind, Reading, Seen, Stage, StepKind, Subject, Unit,
};
use skep::domain::units::Moment;
use skep::store::{Sample, Store};
use skep::work;
use std::path::PathBuf;
use tempfile::TempDir;

/// The demo in a file, with another way to the same file.
struct Kept {
    store: Store,
    path: PathBuf,
    _folder: TempDir,
}

impl Kept {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("store");
        let mut store = Store::open(&path, now()).unwrap();
        work::demo::build(&mut store, now()).unwrap();
        Self {
            store,
            path,
            _folder: folder,
        }
    }

    /// Batches whose dossier is kept.
    fn held(&self) -> Vec<i64> {
        let other = Connection::open(&self.path).unwrap();
        let mut ask = other
            .prepare("SELECT batch FROM dossier ORDER BY batch")
            .unwrap();
        let held = ask.query_map([], |row| row.get(0)).unwrap();
        held.map(|id| id.unwrap()).collect()
    }

    fn execute(&self, sql: &str) -> usize {
        Connection::open(&self.path)
            .unwrap()
            .execute(sql, [])
            .unwrap()
    }

    /// What is shown is what is put together from all rows, before it is kept and after.
    fn agree(&self, after: &str) {
        for _ in 0..2 {
            let household = self.store.household(now()).unwrap();
            for shown in &household.dossiers {
                let anew = self.store.dossier(shown.batch.id, now()).unwrap().unwrap();
                assert_eq!(*shown, anew, "{} after {after}", shown.batch.name);
            }
            work::learned(&self.store, &household, now()).unwrap();
            self.store.keep_dossiers(&household, now());
        }
    }

    /// One that is kept.
    fn one(&self) -> Dossier {
        let held = self.held();
        let household = self.store.household(now()).unwrap();
        let all = household.dossiers.into_iter();
        let mut kept = all.filter(|d| held.contains(&d.batch.id.0));
        kept.find(|d| !d.lots.is_empty() && d.readings.len() > 2)
            .unwrap()
    }

    /// Carries a deed out: the dossier of that batch is not kept any longer.
    fn forgets(&mut self, batch: BatchId, deed: &Deed, after: &str) {
        self.agree("before");
        assert!(self.held().contains(&batch.0), "before {after}");
        good(&mut self.store, deed);
        assert!(!self.held().contains(&batch.0), "after {after}");
        self.agree(after);
        assert!(self.held().contains(&batch.0), "kept anew after {after}");
    }
}

/// A gravity from before it was bottled.
fn gravity(dossier: &Dossier) -> &Reading {
    let of = |r: &&Reading| r.seen.kind() == MeasureKind::Hydrometer && r.id.0 > 0;
    dossier.readings.iter().filter(of).nth(1).unwrap()
}

fn mended(reading: &Reading) -> Deed {
    Deed::EditReading {
        reading: reading.id,
        to: NewReading {
            subject: reading.subject,
            at: reading.at,
            seen: Seen::new(
                MeasureKind::Hydrometer,
                reading.seen.value() + 0.001,
                Unit::Sg,
            )
            .unwrap(),
            sample_temp: reading.sample_temp,
            instrument: reading.instrument,
            source: reading.source.clone(),
            doubted: reading.doubted,
            note: String::new(),
        },
    }
}

#[test]
fn what_bottles_hang_on_takes_the_kept_dossier_away() {
    let mut kept = Kept::new();
    kept.agree("the beginning");
    let dossier = kept.one();
    let batch = dossier.batch.id;

    kept.forgets(batch, &mended(gravity(&dossier)), "a reading was mended");
    work::undo(&mut kept.store, now()).unwrap();
    assert!(!kept.held().contains(&batch.0), "after undo");
    kept.agree("undo");
    work::redo(&mut kept.store, now()).unwrap();
    kept.agree("redo");

    let name = Deed::EditBatch {
        batch,
        name: Some("another name".into()),
        note: None,
        expected_fg: None,
    };
    kept.forgets(batch, &name, "another name");

    let rule = rule("look", StepKind::Other, 300);
    kept.forgets(batch, &Deed::AddStep { batch, rule }, "a new step");
    let step = kept.one().steps.iter().find(|s| s.is_open()).unwrap().id;
    let to = now().plus_days(3.0).day();
    kept.forgets(batch, &Deed::StepMove { step, to }, "a moved step");
    let (at, given, note) = (now(), None, String::new());
    // One more stays open, so that its bottles are still shown.
    let more = Deed::AddStep {
        batch,
        rule: self::rule("look again", StepKind::Other, 301),
    };
    kept.forgets(batch, &more, "a second step");
    let done = Deed::StepDone {
        step,
        at,
        given,
        note,
    };
    kept.forgets(batch, &done, "a step was done");

    let event = Deed::AddEvent(NewEvent {
        batch,
        vessel: None,
        step: None,
        at: dossier.stays[0].from.plus_days(1.0),
        kind: EventKind::Note,
        substance: String::new(),
        mass: None,
        volume: None,
        note: "what was forgotten".into(),
    });
    kept.forgets(batch, &event, "a late entry");

    let gone = Deed::RemoveReading {
        reading: gravity(&kept.one()).id,
    };
    kept.forgets(batch, &gone, "a reading was removed");
}

#[test]
fn bottles_that_come_change_and_go_take_it_away_too() {
    let kept = Kept::new();
    kept.agree("the beginning");
    let batch = kept.one().batch.id.0;
    let copied = format!(
        "INSERT INTO lot (batch, class, size_l, count, clear_glass, place, bottled_ms, bottled_off, note)
         SELECT batch, class, size_l, 1, clear_glass, place, bottled_ms, bottled_off, 'found later'
         FROM lot WHERE batch = {batch} LIMIT 1"
    );
    for sql in [
        copied,
        format!("UPDATE lot SET count = count + 1 WHERE batch = {batch} AND note = 'found later'"),
        format!("DELETE FROM lot WHERE batch = {batch} AND note = 'found later'"),
    ] {
        assert_eq!(kept.execute(&sql), 1, "{sql}");
        assert!(!kept.held().contains(&batch), "{sql}");
        kept.agree(&sql);
        assert!(kept.held().contains(&batch), "{sql}");
    }
}

#[test]
fn a_logger_that_tells_of_the_past_and_moved_vessels_are_noticed() {
    let mut kept = Kept::new();
    kept.agree("the beginning");
    let dossier = kept.one();
    let sample = |n: i32| Sample {
        subject: Subject::Vessel(dossier.stays[0].vessel),
        at: dossier.stays[0].from.plus_days(f64::from(n) / 24.0),
        seen: Seen::new(MeasureKind::Temperature, 27.0, Unit::Celsius).unwrap(),
    };
    kept.store
        .take_samples("late probe", (1..72).map(sample))
        .unwrap();
    assert!(!kept.held().contains(&dossier.batch.id.0));
    kept.agree("a logger told of the past");
    let told = kept.one();
    assert!(told.readings.len() > dossier.readings.len());
    assert_eq!(
        kept.execute("UPDATE stream SET source = 'probe by the door'"),
        1
    );
    assert!(kept.held().is_empty());
    kept.agree("a logger got another name");

    let attic = good(&mut kept.store, &place("attic")).place();
    let moved = Deed::EditVessel {
        vessel: dossier.stays[0].vessel,
        tag: None,
        place: attic,
        tare: None,
        clean: None,
        retired: None,
    };
    kept.forgets(dossier.batch.id, &moved, "a vessel was moved");
}

#[test]
fn what_cannot_be_believed_is_put_together_anew() {
    let kept = Kept::new();
    kept.agree("the beginning");
    let held = kept.held();
    assert!(held.len() > 1, "{held:?}");
    // Another's, a damaged one, none at all, one of other sums.
    for garbled in [
        "whole = (SELECT whole FROM dossier d WHERE d.batch <> dossier.batch LIMIT 1)",
        "whole = CAST(substr(whole, 1, 40) || x'00' || substr(whole, 42) AS BLOB)",
        "whole = x''",
        "made_by = 'others'",
    ] {
        assert_eq!(
            kept.execute(&format!("UPDATE dossier SET {garbled}")),
            held.len()
        );
        kept.agree(garbled);
    }
    assert_eq!(kept.held(), held);
}

#[test]
fn what_is_kept_is_what_is_shown() {
    let kept = Kept::new();
    kept.agree("the beginning");
    let dossier = kept.one();
    // Behind the back of all that guards it.
    kept.execute("DROP TRIGGER lesson_event_new");
    let batch = dossier.batch.id.0;
    kept.execute(&format!(
        "INSERT INTO event (batch, at_ms, at_off, kind, substance, note)
         VALUES ({batch}, {}, 0, 'note', '', 'unseen')",
        dossier.stays[0].from.utc_ms() + 1
    ));
    assert_eq!(kept.one().events, dossier.events);
    let anew = kept
        .store
        .dossier(dossier.batch.id, now())
        .unwrap()
        .unwrap();
    assert_eq!(anew.events.len(), dossier.events.len() + 1);
}

#[test]
fn fresh_bottles_and_closed_batches_are_not_kept() {
    let mut kept = Kept::new();
    kept.agree("the beginning");
    let household = kept.store.household(now()).unwrap();
    let held = kept.held();
    let bottled = |d: &&Dossier| d.batch.stage == Stage::Bottled;
    for dossier in household.dossiers.iter().filter(bottled) {
        let days = now().days_since(dossier.batch.bottled.unwrap());
        assert_eq!(
            held.contains(&dossier.batch.id.0),
            days >= 15.0,
            "{days} days"
        );
    }
    let lying = |d: &&Dossier| d.vessels().next().is_some();
    assert!(household.dossiers.iter().any(|d| lying(&d)));
    for dossier in household.dossiers.iter().filter(lying) {
        assert!(!held.contains(&dossier.batch.id.0));
    }

    let (batch, at) = (kept.one().batch.id, now());
    let closed = Deed::SetStage {
        batch,
        stage: Stage::Closed,
        at,
        note: "all is drunk".into(),
    };
    good(&mut kept.store, &closed);
    kept.agree("a batch was closed");
    assert!(!kept.held().contains(&batch.0));
    // Nothing of all this is a change of the maker's.
    let revision = kept.store.revision().unwrap();
    kept.agree("nothing");
    assert_eq!(kept.store.revision().unwrap(), revision);
}

/// Kept by one moment, asked at another: days back, days ahead.
#[test]
fn the_day_on_which_it_was_kept_does_not_show() {
    let kept = Kept::new();
    kept.agree("the beginning");
    assert!(!kept.held().is_empty());
    for days in [-20.0, -3.0, 1.0, 9.0, 40.0, 400.0] {
        let then: Moment = now().plus_days(days);
        for shown in kept.store.household(then).unwrap().dossiers {
            let anew = kept.store.dossier(shown.batch.id, then).unwrap().unwrap();
            assert_eq!(shown, anew, "{days} days on");
        }
    }
}
