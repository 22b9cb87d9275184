//! Every deed does what a maker means, and refuses with a sentence.

use crate::kit::*;
use skep::domain::deeds::{Deed, Fill, Given, NewEvent, NewReading};
use skep::domain::records::{
    BatchId, BottleClass, DrawKind, EventKind, Fate, HoldKind, InstrumentKind, LedgerEntry, LotId,
    MeasureKind, Opens, PlaceId, Seen, Settings, Stage, StepKind, StepStatus, Subject, Unit,
    VesselId,
};
use skep::domain::units::{Celsius, Grams, Litres};
use skep::work;

#[test]
fn a_batch_starts_with_its_stay_pitching_and_steps() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    let house = home.store.household(now()).unwrap();
    let dossier = house.in_vessel(home.j1).unwrap();
    assert_eq!(dossier.batch.id, id);
    assert_eq!(dossier.batch.stage, Stage::Fermenting);
    assert_eq!(dossier.events.len(), 1);
    assert_eq!(dossier.events[0].kind, EventKind::Pitch);
    assert_eq!(dossier.steps.len(), 4);
    assert!(!dossier.steps[0].is_open(), "pitching is done");
    assert!(dossier.steps[1].is_open());
}

#[test]
fn a_reading_goes_to_the_batch_and_can_be_undone_and_redone() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    let deed = Deed::Record(vec![sg(home.j1, 1.042, "2026-11-24T07:00:00-08:00")]);
    let receipt = good(&mut home.store, &deed);
    assert_eq!(receipt.said, "reading 1.042 of J1");
    assert_eq!(receipt.batch, Some(id));
    let count = |home: &Home| {
        home.store.household(now()).unwrap().dossiers[0]
            .readings
            .len()
    };
    assert_eq!(count(&home), 1);
    assert_eq!(
        work::undo(&mut home.store, now()).unwrap().unwrap(),
        receipt.said
    );
    assert_eq!(count(&home), 0);
    assert_eq!(
        work::redo(&mut home.store, now()).unwrap().unwrap(),
        receipt.said
    );
    assert_eq!(count(&home), 1);
}

#[test]
fn feeding_writes_the_ledger() {
    let mut home = home();
    start(&mut home.store, home.j1);
    let step = home.store.household(now()).unwrap().dossiers[0].steps[1].id;
    let deed = Deed::StepDone {
        step,
        at: now(),
        given: Some(Given {
            substance: "dap".into(),
            mass: Some(Grams::known(1.5)),
            volume: None,
        }),
        note: String::new(),
    };
    assert_eq!(
        good(&mut home.store, &deed).said,
        "J1: 'feed it' done with 1.5 g dap"
    );
    let house = home.store.household(now()).unwrap();
    let kinds: Vec<_> = house.dossiers[0].events.iter().map(|e| e.kind).collect();
    assert_eq!(kinds, [EventKind::Pitch, EventKind::Degas, EventKind::Feed]);
    assert!(refused(&mut home.store, &deed).contains("was done on Wed 25 Nov 2026, 07:00"));
}

#[test]
fn racking_moves_the_batch_and_leaves_a_dirty_vessel() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    let deed = Deed::Rack {
        batch: id,
        from: home.j1,
        to: home.j2,
        at: now(),
        volume: Some(Litres::known(3.5)),
        keep_rest: false,
        note: String::new(),
    };
    good(&mut home.store, &deed);
    let house = home.store.household(now()).unwrap();
    assert!(house.in_vessel(home.j1).is_none());
    assert_eq!(house.in_vessel(home.j2).unwrap().batch.id, id);
    assert!(!house.vessel(home.j1).unwrap().clean);
    assert!(
        !house.dossiers[0].steps[2].is_open(),
        "the racking step is done by it"
    );
    assert!(refused(&mut home.store, &deed).contains("does not lie in J1"));
}

fn planned(home: &mut Home) -> BatchId {
    let mut new = mead(None);
    new.pitched = None;
    good(&mut home.store, &Deed::StartBatch(Box::new(new)))
        .batch
        .unwrap()
}

fn pitch(batch: BatchId, vessel: Option<VesselId>) -> Deed {
    Deed::Pitch {
        batch,
        vessel,
        at: now(),
    }
}

fn rack(batch: BatchId, from: VesselId, to: VesselId) -> Deed {
    Deed::Rack {
        batch,
        from,
        to,
        at: now(),
        volume: None,
        keep_rest: false,
        note: String::new(),
    }
}

fn bottle(home: &Home, batch: BatchId, count: u32) -> Deed {
    Deed::Bottle {
        vessel: None,
        batch,
        at: now(),
        fizz: None,
        fills: vec![Fill {
            class: BottleClass::Crown,
            size: Litres::known(0.355),
            count,
            clear_glass: false,
        }],
        place: home.closet,
        ready_from: None,
        drink_by: None,
        note: String::new(),
        overrides: Vec::new(),
    }
}

fn draw(lot: LotId, count: i32, kind: DrawKind) -> Deed {
    Deed::Draw {
        lot,
        count,
        kind,
        at: now(),
        whom: String::new(),
        note: String::new(),
    }
}

fn stage(batch: BatchId, stage: Stage, note: &str) -> Deed {
    Deed::SetStage {
        batch,
        stage,
        at: now(),
        note: note.into(),
    }
}

#[test]
fn names_and_tags_are_unique_and_printable() {
    let mut home = home();
    let closet = home.closet;
    let mut said = |deed: Deed| refused(&mut home.store, &deed);
    assert_eq!(
        said(place("Closet")),
        "there is a place called 'Closet' already: give another name"
    );
    assert_eq!(
        said(jug("j1", closet)),
        "there is a vessel J1 already: give another tag"
    );
    assert!(said(place("  ")).contains("is missing"));
    assert!(said(place("a\u{1b}[2Jb")).contains("cannot be printed"));
    assert!(said(place("a\u{202e}b")).contains("cannot be printed"));
    assert!(said(jug("J 3", closet)).contains("has a space in it"));
    assert!(said(jug("a tag far too long", closet)).contains("up to 12 characters"));
    assert!(said(jug("J3", PlaceId(99))).contains("no such place"));
}

#[test]
fn a_vessel_is_told_apart_by_its_tag_in_sentences() {
    let home = home();
    let house = home.store.household(now()).unwrap();
    assert_eq!(work::vessel_by_tag(&house, " j2 ").unwrap().id, home.j2);
    let said = work::vessel_by_tag(&house, "J7").unwrap_err().to_string();
    assert_eq!(said, "there is no vessel 'J7': accepted are J1, J2");
    let said = work::batch_named(&house, "J2").unwrap_err().to_string();
    assert_eq!(said, "J2 is empty: start a batch in it first");
}

#[test]
fn a_carried_vessel_takes_its_batch_along_and_keeps_its_old_temperatures() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    let garage = good(&mut home.store, &place("garage")).place().unwrap();
    let warm = |place, value, when| NewReading {
        subject: Subject::Place(place),
        seen: Seen::new(MeasureKind::Temperature, value, Unit::Celsius).unwrap(),
        ..sg(home.j1, 1.0, when)
    };
    let before = vec![
        warm(home.closet, 20.0, "2026-11-22T07:00:00-08:00"),
        warm(garage, 8.0, "2026-11-22T07:00:00-08:00"),
    ];
    good(&mut home.store, &Deed::Record(before));
    let deed = Deed::EditVessel {
        vessel: home.j1,
        tag: None,
        place: Some(garage),
        tare: None,
        clean: None,
        retired: None,
    };
    let said = good(&mut home.store, &deed).said;
    assert_eq!(said, "J1: carried from closet to garage");
    let after = vec![
        warm(home.closet, 21.0, "2026-11-25T07:30:00-08:00"),
        warm(garage, 9.0, "2026-11-25T07:30:00-08:00"),
    ];
    good(&mut home.store, &Deed::Record(after));
    let dossier = home.store.dossier(id, now()).unwrap().unwrap();
    let values: Vec<_> = dossier
        .place_readings
        .iter()
        .map(|r| r.seen.value())
        .collect();
    assert_eq!(values, [20.0, 9.0]);
    assert_eq!(dossier.events.last().unwrap().kind, EventKind::Carry);
}

#[test]
fn a_vessel_in_use_is_not_taken_out_of_use() {
    let mut home = home();
    start(&mut home.store, home.j1);
    let retire = |vessel| Deed::EditVessel {
        vessel,
        tag: None,
        place: None,
        tare: None,
        clean: None,
        retired: Some(true),
    };
    let said = refused(&mut home.store, &retire(home.j1));
    assert_eq!(
        said,
        "J1 holds 'Orange': empty it before taking it out of use"
    );
    good(&mut home.store, &retire(home.j2));
    let said = refused(
        &mut home.store,
        &Deed::StartBatch(Box::new(mead(Some(home.j2)))),
    );
    assert!(said.contains("J2 is no longer used"), "{said}");
}

#[test]
fn one_instrument_of_a_kind_is_preferred_and_used_unless_another_is_named() {
    let mut home = home();
    start(&mut home.store, home.j1);
    let glass = |name: &str| Deed::AddInstrument {
        name: name.into(),
        kind: InstrumentKind::Hydrometer,
        calibrated_at: Some(Celsius::known(20.0)),
        offset: 0.001,
        resolution: 0.001,
        factor: 1.0,
        preferred: true,
    };
    good(&mut home.store, &glass("old"));
    good(&mut home.store, &glass("new"));
    let reading = sg(home.j1, 1.05, "2026-11-24T07:00:00-08:00");
    good(&mut home.store, &Deed::Record(vec![reading.clone()]));
    let house = home.store.household(now()).unwrap();
    let used = house.dossiers[0].readings[0].instrument.unwrap();
    let used = house.instruments.iter().find(|i| i.id == used).unwrap();
    assert_eq!((used.name.as_str(), used.preferred), ("new", true));
    assert!(
        house
            .instruments
            .iter()
            .any(|i| i.name == "old" && !i.preferred)
    );
    let ph = NewReading {
        seen: Seen::new(MeasureKind::Ph, 3.4, Unit::Ph).unwrap(),
        instrument: Some(used.id),
        ..reading
    };
    let said = refused(&mut home.store, &Deed::Record(vec![ph]));
    assert_eq!(said, "'new' is a hydrometer: it does not take a ph reading");
}

#[test]
fn one_vessel_holds_one_batch() {
    let mut home = home();
    start(&mut home.store, home.j1);
    let again = Deed::StartBatch(Box::new(mead(Some(home.j1))));
    assert_eq!(
        refused(&mut home.store, &again),
        "J1 holds 'Orange' since Fri 20 Nov 2026, 19:00: rack or bottle that first, or name another vessel"
    );
    let mut large = mead(Some(home.j2));
    large.volume = Some(Litres::known(19.0));
    let said = refused(&mut home.store, &Deed::StartBatch(Box::new(large)));
    assert_eq!(
        said,
        "19.00 L does not fit into J2, which holds 4.00 L brimful"
    );
    let mut nowhere = mead(None);
    nowhere.name = "Nowhere".into();
    let said = refused(&mut home.store, &Deed::StartBatch(Box::new(nowhere)));
    assert!(said.contains("say in which"), "{said}");
}

#[test]
fn a_list_of_steps_must_hang_together() {
    let mut home = home();
    let mut new = mead(Some(home.j1));
    new.steps.push(rule("feed", StepKind::Feed, 3));
    let said = refused(&mut home.store, &Deed::StartBatch(Box::new(new.clone())));
    assert_eq!(
        said,
        "two steps have the key 'feed': every step needs its own"
    );
    new.steps.pop();
    let mut hangs = rule("later", StepKind::Rack, 0);
    hangs.opens = Opens::After {
        step: "gone".into(),
        days: 3,
    };
    new.steps.push(hangs.clone());
    let said = refused(&mut home.store, &Deed::StartBatch(Box::new(new.clone())));
    assert_eq!(
        said,
        "step 'later' hangs on step 'gone', which is not in the list"
    );
    new.steps.pop();
    let id = good(&mut home.store, &Deed::StartBatch(Box::new(new)))
        .batch
        .unwrap();
    let said = refused(
        &mut home.store,
        &Deed::AddStep {
            batch: id,
            rule: hangs,
        },
    );
    assert!(
        said.contains("accepted are pitch, feed, rack, bottle"),
        "{said}"
    );
    let again = Deed::AddStep {
        batch: id,
        rule: rule("feed", StepKind::Feed, 5),
    };
    good(&mut home.store, &again);
    let house = home.store.household(now()).unwrap();
    assert!(
        house.dossiers[0]
            .steps
            .iter()
            .any(|s| s.rule.key == "feed-2")
    );
}

#[test]
fn a_plan_is_pitched_once_and_into_a_vessel() {
    let mut home = home();
    let id = planned(&mut home);
    let said = refused(&mut home.store, &pitch(id, None));
    assert_eq!(
        said,
        "'Orange' lies in no vessel: say in which it is pitched"
    );
    assert!(refused(&mut home.store, &stage(id, Stage::Resting, "")).contains("not pitched yet"));
    assert_eq!(
        good(&mut home.store, &pitch(id, Some(home.j2))).said,
        "'Orange' pitched in J2"
    );
    let house = home.store.household(now()).unwrap();
    let dossier = house.in_vessel(home.j2).unwrap();
    assert_eq!(dossier.batch.pitched, Some(now()));
    assert_eq!(dossier.batch.stage, Stage::Fermenting);
    assert!(
        refused(&mut home.store, &pitch(id, None))
            .contains("was pitched on Wed 25 Nov 2026, 07:00")
    );
}

#[test]
fn doing_the_pitching_step_pitches() {
    let mut home = home();
    let mut new = mead(Some(home.j1));
    new.pitched = None;
    good(&mut home.store, &Deed::StartBatch(Box::new(new)));
    let step = |home: &Home, n: usize| home.store.household(now()).unwrap().dossiers[0].steps[n].id;
    let done = |step| Deed::StepDone {
        step,
        at: now(),
        given: None,
        note: String::new(),
    };
    let feed = step(&home, 1);
    let said = refused(&mut home.store, &done(feed));
    assert_eq!(said, "'Orange' is not pitched yet: pitch it first");
    let first = step(&home, 0);
    good(&mut home.store, &done(first));
    let house = home.store.household(now()).unwrap();
    assert_eq!(house.dossiers[0].batch.pitched, Some(now()));
}

#[test]
fn an_original_gravity_read_before_pitching_belongs_to_the_batch() {
    let mut home = home();
    start(&mut home.store, home.j1);
    let early = sg(home.j1, 1.1, "2026-11-20T17:30:00-08:00");
    good(&mut home.store, &Deed::Record(vec![early]));
    let house = home.store.household(now()).unwrap();
    assert_eq!(house.dossiers[0].readings.len(), 1);
    let far = sg(home.j1, 1.1, "2026-11-10T17:30:00-08:00");
    let said = refused(&mut home.store, &Deed::Record(vec![far]));
    assert_eq!(
        said,
        "J1 held nothing on Tue 10 Nov 2026, 17:30: it held 'Orange' from Fri 20 Nov 2026, 17:30 on. \
         Give the time of the reading, or start a batch"
    );
    let empty = sg(home.j2, 1.1, "2026-11-24T17:30:00-08:00");
    let said = refused(&mut home.store, &Deed::Record(vec![empty]));
    assert_eq!(
        said,
        "J2 has never held anything: start a batch in it first"
    );
    let future = sg(home.j1, 1.1, "2026-12-24T17:30:00-08:00");
    let said = refused(&mut home.store, &Deed::Record(vec![future]));
    assert!(said.contains("lies in the future"), "{said}");
}

#[test]
fn a_reading_and_the_emptying_of_the_same_instant_keep_together() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    let last = sg(home.j1, 1.0, "2026-11-25T07:00:00-08:00");
    good(&mut home.store, &Deed::Record(vec![last.clone()]));
    let deed = bottle(&home, id, 9);
    good(&mut home.store, &deed);
    // And the other way round: bottled, then the reading of that instant typed.
    good(&mut home.store, &Deed::Record(vec![last]));
    let dossier = home.store.dossier(id, now()).unwrap().unwrap();
    assert_eq!(dossier.readings.len(), 2);
    assert_eq!(home.store.check(now()).unwrap(), vec![]);
}

#[test]
fn an_import_twice_is_kept_once_and_a_hand_twice_is_kept_twice() {
    let mut home = home();
    start(&mut home.store, home.j1);
    let mut reading = sg(home.j1, 1.05, "2026-11-24T07:00:00-08:00");
    good(&mut home.store, &Deed::Record(vec![reading.clone()]));
    good(&mut home.store, &Deed::Record(vec![reading.clone()]));
    reading.source = "import".into();
    good(&mut home.store, &Deed::Record(vec![reading.clone()]));
    let receipt = good(&mut home.store, &Deed::Record(vec![reading]));
    assert_eq!(receipt.said, "the reading was known already");
    assert_eq!(receipt.change, None);
    let house = home.store.household(now()).unwrap();
    assert_eq!(house.dossiers[0].readings.len(), 3);
}

#[test]
fn steps_are_skipped_moved_and_not_done_twice() {
    let mut home = home();
    start(&mut home.store, home.j1);
    let steps: Vec<_> = home.store.household(now()).unwrap().dossiers[0]
        .steps
        .iter()
        .map(|s| s.id)
        .collect();
    let to = now().plus_days(3.0).day();
    let shift = |step| Deed::StepMove { step, to };
    assert_eq!(
        good(&mut home.store, &shift(steps[1])).said,
        "J1: 'feed it' moved to Sat 28 Nov"
    );
    assert!(refused(&mut home.store, &shift(steps[1])).contains("is on Sat 28 Nov already"));
    assert!(refused(&mut home.store, &shift(steps[0])).contains("was done on"));
    let skip = Deed::StepSkip {
        step: steps[1],
        at: now(),
        reason: "fed enough".into(),
    };
    good(&mut home.store, &skip);
    assert!(refused(&mut home.store, &skip).contains("is left out already"));
    let bottling = Deed::StepDone {
        step: steps[3],
        at: now(),
        given: None,
        note: String::new(),
    };
    assert!(refused(&mut home.store, &bottling).contains("saying what was filled"));
}

#[test]
fn a_split_leaves_a_part_behind_and_comes_together_again() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    let mut split = rack(id, home.j1, home.j2);
    if let Deed::Rack {
        keep_rest, volume, ..
    } = &mut split
    {
        (*keep_rest, *volume) = (true, Some(Litres::known(1.5)));
    }
    good(&mut home.store, &split);
    let volumes = |home: &Home| -> Vec<f64> {
        let dossier = home.store.dossier(id, now()).unwrap().unwrap();
        let open = dossier.stays.iter().filter(|s| s.to.is_none());
        open.map(|s| s.volume.unwrap().get()).collect()
    };
    let parts = volumes(&home);
    assert_eq!(parts.len(), 2);
    assert!((parts.iter().sum::<f64>() - 3.7).abs() < 1e-9);
    let back = rack(id, home.j2, home.j1);
    good(&mut home.store, &back);
    let whole = volumes(&home);
    assert_eq!(whole.len(), 1);
    assert!((whole[0] - 3.7).abs() < 1e-9);
    assert_eq!(home.store.check(now()).unwrap(), vec![]);
}

#[test]
fn racking_into_an_uncleaned_vessel_is_told() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    let (there, back) = (rack(id, home.j1, home.j2), rack(id, home.j2, home.j1));
    assert!(good(&mut home.store, &there).cautions.is_empty());
    assert_eq!(
        good(&mut home.store, &back).cautions,
        ["J1 was not marked clean"]
    );
    let itself = rack(id, home.j1, home.j1);
    assert!(refused(&mut home.store, &itself).contains("into itself"));
}

#[test]
fn bottling_fills_the_cellar_and_empties_the_vessel() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    let deed = bottle(&home, id, 60);
    let said = refused(&mut home.store, &deed);
    assert_eq!(
        said,
        "21.30 L in bottles is more than the 4.00 L that its vessels hold: check count and size"
    );
    let deed = bottle(&home, id, 10);
    let receipt = good(&mut home.store, &deed);
    assert_eq!(receipt.said, "J1: 10 bottles of 'Orange' filled");
    let house = home.store.household(now()).unwrap();
    assert!(house.in_vessel(home.j1).is_none());
    assert!(!house.vessel(home.j1).unwrap().clean);
    let dossier = home.store.dossier(id, now()).unwrap().unwrap();
    assert_eq!(dossier.batch.stage, Stage::Bottled);
    assert!(dossier.steps.iter().all(|s| !s.is_open()));
    assert!(matches!(dossier.steps[3].status, StepStatus::Done { .. }));
    assert!(matches!(
        dossier.steps[1].status,
        StepStatus::Skipped { .. }
    ));
    assert_eq!(home.store.cellar(false).unwrap()[0].left, 10);
    let again = bottle(&home, id, 1);
    assert!(refused(&mut home.store, &again).contains("nothing to bottle"));
    assert!(refused(&mut home.store, &stage(id, Stage::Resting, "")).contains("is in bottles"));
}

#[test]
fn overriding_a_hold_needs_its_reason_and_stands_in_the_ledger() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    let mut deed = bottle(&home, id, 10);
    if let Deed::Bottle { overrides, .. } = &mut deed {
        *overrides = vec![HoldKind::Unfinished, HoldKind::Bottle];
    }
    assert!(refused(&mut home.store, &deed).contains("needs its reason"));
    if let Deed::Bottle { note, .. } = &mut deed {
        *note = "three equal readings on paper".into();
    }
    good(&mut home.store, &deed);
    let dossier = home.store.dossier(id, now()).unwrap().unwrap();
    let overrule = dossier
        .events
        .iter()
        .find(|e| e.kind == EventKind::Overrule);
    assert_eq!(overrule.unwrap().note, "three equal readings on paper");
}

#[test]
fn no_more_bottles_leave_than_there_are() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    let deed = bottle(&home, id, 10);
    let lot = good(&mut home.store, &deed).lots().next().unwrap();
    let said = good(&mut home.store, &draw(lot, 3, DrawKind::Drunk)).said;
    assert_eq!(said, "3 bottles of 'Orange' drunk, 7 left");
    assert_eq!(
        refused(&mut home.store, &draw(lot, 8, DrawKind::Given)),
        "only 7 bottles of 'Orange' are left in that lot: accepted are up to 7"
    );
    assert!(refused(&mut home.store, &draw(lot, 0, DrawKind::Drunk)).contains("give how many"));
    assert!(refused(&mut home.store, &draw(lot, -1, DrawKind::Drunk)).contains("only a count"));
    let said = good(&mut home.store, &draw(lot, -2, DrawKind::Counted)).said;
    assert_eq!(said, "9 bottles of 'Orange' counted");
    assert!(
        refused(&mut home.store, &draw(lot, -2, DrawKind::Counted)).contains("more than the 10")
    );
    let taste = |marks| Deed::Taste {
        batch: id,
        lot: Some(lot),
        at: now(),
        marks,
        words: "pear".into(),
    };
    good(&mut home.store, &taste([5, 4, 3, 2, 1]));
    assert!(refused(&mut home.store, &taste([6, 1, 1, 1, 1])).contains("accepted is 1 to 5"));
}

#[test]
fn closing_empties_the_vessel_and_leaves_only_notes() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    good(&mut home.store, &stage(id, Stage::Closed, "vinegar"));
    let house = home.store.household(now()).unwrap();
    assert!(house.dossiers.is_empty());
    let note = |kind| {
        Deed::AddEvent(NewEvent {
            batch: id,
            vessel: None,
            step: None,
            at: now(),
            kind,
            substance: String::new(),
            mass: None,
            volume: None,
            note: "keep it cooler".into(),
        })
    };
    good(&mut home.store, &note(EventKind::Note));
    assert!(refused(&mut home.store, &note(EventKind::Feed)).contains("is closed"));
    assert_eq!(home.store.find_batches("COOLER orange").unwrap().len(), 1);
    assert!(home.store.find_batches("cooler lager").unwrap().is_empty());
    assert_eq!(home.store.all_batches().unwrap().len(), 1);
}

#[test]
fn absurd_values_get_a_sentence() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    let edit = |note: String| Deed::EditBatch {
        batch: id,
        name: None,
        note: Some(note),
        expected_fg: None,
    };
    let said = refused(&mut home.store, &edit("x".repeat(10_000_000)));
    assert!(said.contains("up to 20000 characters"), "{said}");
    // Words that look like SQL are words.
    good(
        &mut home.store,
        &edit("'); DROP TABLE batch; --\0 \u{1b}[2J".into()),
    );
    let settings = Settings {
        stall_prior: f64::NAN,
        ..Settings::default()
    };
    assert!(refused(&mut home.store, &Deed::SaveSettings(settings)).contains("accepted is"));
    let step = home.store.household(now()).unwrap().dossiers[0].steps[1].id;
    let far = Deed::StepMove {
        step,
        to: chrono::NaiveDate::from_ymd_opt(123_456, 1, 1).unwrap(),
    };
    assert!(refused(&mut home.store, &far).contains("the years 1970 to 9999"));
}

#[test]
fn the_ledger_keeps_what_was_mended_removed_and_taken_back() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    let when = "2026-11-24T07:00:00-08:00";
    let first = good(
        &mut home.store,
        &Deed::Record(vec![sg(home.j1, 1.042, when)]),
    );
    let reading = first.readings().next().unwrap();
    let mend = Deed::EditReading {
        reading,
        to: sg(home.j1, 1.024, when),
    };
    assert_eq!(
        good(&mut home.store, &mend).said,
        "reading of J1 mended: 1.024 was 1.042"
    );
    let undone = "2026-11-23T07:00:00-08:00";
    good(
        &mut home.store,
        &Deed::Record(vec![sg(home.j1, 1.06, undone)]),
    );
    work::undo(&mut home.store, now()).unwrap();
    good(&mut home.store, &Deed::RemoveReading { reading });
    assert!(refused(&mut home.store, &mend).contains("removed already"));
    let story: Vec<_> = home
        .store
        .ledger(id)
        .unwrap()
        .into_iter()
        .filter_map(|line| match line.entry {
            LedgerEntry::Reading(r) => Some((r.seen.value(), line.fate)),
            _ => None,
        })
        .collect();
    let fates: Vec<_> = story
        .iter()
        .map(|(value, fate)| {
            let fate = match fate {
                Fate::Stands => "stands",
                Fate::Mended { .. } => "mended",
                Fate::Removed { .. } => "removed",
                Fate::Undone { .. } => "undone",
            };
            (*value, fate)
        })
        .collect();
    assert_eq!(
        fates,
        [(1.06, "undone"), (1.042, "mended"), (1.024, "removed")]
    );
    assert!(
        home.store.household(now()).unwrap().dossiers[0]
            .readings
            .is_empty()
    );
}

#[test]
fn the_ledger_tells_everything_in_order() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    let deed = rack(id, home.j1, home.j2);
    good(&mut home.store, &deed);
    let deed = bottle(&home, id, 10);
    let lot = good(&mut home.store, &deed).lots().next().unwrap();
    good(&mut home.store, &draw(lot, 1, DrawKind::Drunk));
    let lines = home.store.ledger(id).unwrap();
    assert!(lines.is_sorted_by(|a, b| a.at <= b.at));
    let count =
        |wanted: fn(&LedgerEntry) -> bool| lines.iter().filter(|l| wanted(&l.entry)).count();
    assert_eq!(count(|e| matches!(e, LedgerEntry::Arrived(_))), 2);
    assert_eq!(count(|e| matches!(e, LedgerEntry::Left(_))), 2);
    assert_eq!(count(|e| matches!(e, LedgerEntry::StepDone { .. })), 3);
    assert_eq!(count(|e| matches!(e, LedgerEntry::StepSkipped { .. })), 1);
    assert_eq!(count(|e| matches!(e, LedgerEntry::Filled(_))), 1);
    assert_eq!(count(|e| matches!(e, LedgerEntry::Drawn(_))), 1);
    assert!(lines.iter().all(|l| l.fate == Fate::Stands));
    let names: Vec<_> = home
        .store
        .changes(2)
        .unwrap()
        .into_iter()
        .map(|c| c.name)
        .collect();
    assert_eq!(
        names,
        [
            "1 bottle of 'Orange' drunk, 9 left",
            "J2: 10 bottles of 'Orange' filled"
        ]
    );
}
