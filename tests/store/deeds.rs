//! Every deed does what a maker means, and refuses with a sentence.

use crate::kit::*;
use skep::domain::deeds::{Deed, Given};
use skep::domain::records::{EventKind, Stage};
use skep::domain::units::{Grams, Litres};
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
    assert!(refused(&mut home.store, &deed).contains("was done on 2026-11-25 07:00"));
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
