//! One vessel of a split batch is bottled; the rest goes on.

use crate::kit::*;
use skep::domain::deeds::NewEvent;
use skep::domain::deeds::{Deed, Fill};
use skep::domain::records::{BottleClass, EventKind, Fizz, Stage};
use skep::domain::units::{Grams, Litres, Moment};
use skep::engine::{bottling, facts};
use skep::work;

fn bottle(batch: skep::domain::records::BatchId, home: &Home, count: u32, when: &str) -> Deed {
    Deed::Bottle {
        batch,
        vessel: Some(home.j2),
        at: at(when),
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

#[test]
fn the_other_part_goes_on_and_what_happened_here_is_not_its_own() {
    let mut home = home();
    let batch = start(&mut home.store, home.j1);
    let split = Deed::Rack {
        batch,
        from: home.j1,
        to: home.j2,
        at: at("2026-11-22T08:00:00-08:00"),
        volume: Some(Litres::known(1.8)),
        keep_rest: true,
        note: String::new(),
    };
    good(&mut home.store, &split);
    good(
        &mut home.store,
        &Deed::Record(vec![sg(home.j2, 1.012, "2026-11-23T08:00:00-08:00")]),
    );
    let deed = bottle(batch, &home, 4, "2026-11-24T08:00:00-08:00");
    good(&mut home.store, &deed);
    let household = home.store.household(now()).unwrap();
    assert!(household.in_vessel(home.j2).is_none());
    let dossier = household.in_vessel(home.j1).unwrap();
    assert_ne!(dossier.batch.stage, Stage::Bottled);
    assert_eq!(dossier.batch.bottled, None);
    let supplies = home.store.supplies().unwrap();
    assert_eq!(supplies.cellar.lots[0].lot.note, "out of J2");
    // A reading of the bottled part is none of the part that goes on.
    let gravities = |now: Moment| {
        let told = facts::told(&household, dossier, Some(home.j1), now);
        told.gravities.iter().map(|g| g.1.get()).collect::<Vec<_>>()
    };
    assert!(gravities(now()).iter().all(|g| (g - 1.012).abs() > 1e-9));
    assert_eq!(home.store.check(now()).unwrap(), vec![]);
    // The last part ends it.
    let mut rest = bottle(batch, &home, 4, "2026-11-25T06:00:00-08:00");
    let Deed::Bottle { vessel, .. } = &mut rest else {
        unreachable!()
    };
    *vessel = Some(home.j1);
    good(&mut home.store, &rest);
    let dossier = home.store.dossier(batch, now()).unwrap().unwrap();
    assert_eq!(dossier.batch.stage, Stage::Bottled);
    let bottled = dossier
        .events
        .iter()
        .filter(|e| e.kind == EventKind::Bottle);
    assert_eq!(bottled.count(), 2);
    work::undo(&mut home.store, now()).unwrap();
    work::undo(&mut home.store, now()).unwrap();
    let household = home.store.household(now()).unwrap();
    assert!(household.in_vessel(home.j2).is_some());
    assert_eq!(home.store.check(now()).unwrap(), vec![]);
}

/// Something that went into a vessel.
fn put(
    home: &mut Home,
    batch: skep::domain::records::BatchId,
    vessel: skep::domain::records::VesselId,
    (kind, substance, grams): (EventKind, &str, f64),
    when: &str,
) {
    good(
        &mut home.store,
        &Deed::AddEvent(NewEvent {
            batch,
            vessel: Some(vessel),
            step: None,
            at: at(when),
            kind,
            substance: substance.into(),
            mass: Some(Grams::known(grams)),
            volume: None,
            note: String::new(),
        }),
    );
}

#[test]
fn a_lot_is_what_its_part_was_when_it_was_bottled() {
    let mut home = home();
    let (j1, j2) = (home.j1, home.j2);
    let batch = start(&mut home.store, j1);
    good(
        &mut home.store,
        &Deed::Record(vec![
            sg(j1, 1.090, "2026-11-20T19:00:00-08:00"),
            sg(j1, 1.010, "2026-11-21T20:00:00-08:00"),
        ]),
    );
    let split = Deed::Rack {
        batch,
        from: j1,
        to: j2,
        at: at("2026-11-22T08:00:00-08:00"),
        volume: Some(Litres::known(1.8)),
        keep_rest: true,
        note: String::new(),
    };
    good(&mut home.store, &split);
    // One part goes dry and into bottles with gas, the other is kept sweet.
    good(
        &mut home.store,
        &Deed::Record(vec![
            sg(j1, 1.010, "2026-11-23T08:00:00-08:00"),
            sg(j2, 0.998, "2026-11-23T09:00:00-08:00"),
        ]),
    );
    let sulfite = (EventKind::Sulfite, "potassium metabisulfite", 0.3);
    put(&mut home, batch, j1, sulfite, "2026-11-23T10:00:00-08:00");
    let mut first = bottle(batch, &home, 4, "2026-11-24T08:00:00-08:00");
    let Deed::Bottle { fizz, .. } = &mut first else {
        unreachable!()
    };
    *fizz = Some(Fizz::Sparkling);
    let sugar = (EventKind::Prime, "sucrose", 11.0);
    put(&mut home, batch, j2, sugar, "2026-11-24T08:00:00-08:00");
    good(&mut home.store, &first);
    let mut rest = bottle(batch, &home, 4, "2026-11-25T06:00:00-08:00");
    let Deed::Bottle { vessel, fizz, .. } = &mut rest else {
        unreachable!()
    };
    (*vessel, *fizz) = (Some(j1), Some(Fizz::Still));
    good(&mut home.store, &rest);

    let household = home.store.household(now()).unwrap();
    let dossier = home.store.dossier(batch, now()).unwrap().unwrap();
    assert_eq!(dossier.batch.fizz, Fizz::Still);
    let told: Vec<_> = dossier
        .lots
        .iter()
        .map(|lot| bottling::filled(&household, &dossier, lot))
        .collect();
    let gas: Vec<_> = told.iter().map(|f| f.fizz).collect();
    assert_eq!(gas, [Some(Fizz::Sparkling), Some(Fizz::Still)]);
    assert_eq!([told[0].sulfite, told[1].sulfite], [false, true]);
    // 12 points further down are about 1.6 % vol more (131.25 % vol for a drop
    // of 1.000, the usual home sum), and 11 g of sugar in 1.8 L make about 0.4 more:
    // 1 % vol takes 17 g/L (the trade's usual figure).
    let [dry, sweet] = [0, 1].map(|i: usize| told[i].alcohol.unwrap().get());
    assert!((1.2..2.4).contains(&(dry - sweet)), "{dry} {sweet}");
}

#[test]
fn a_lot_holds_sulfite_where_nobody_knows_that_it_holds_none() {
    let mut home = home();
    let (j1, j2) = (home.j1, home.j2);
    let batch = start(&mut home.store, j1);
    let sulfited = |home: &Home, when: &str| {
        let dossier = home.store.dossier(batch, now()).unwrap().unwrap();
        bottling::may_hold_sulfite(&dossier, Some(j1), at(when))
    };
    assert!(!sulfited(&home, "2026-11-24T08:00:00-08:00"));
    // A dose without its mass, and one below what has to be declared, count.
    let trace = (EventKind::Sulfite, "sodium metabisulfite", 0.001);
    put(&mut home, batch, j1, trace, "2026-11-23T08:00:00-08:00");
    assert!(!sulfited(&home, "2026-11-23T07:59:00-08:00"));
    assert!(sulfited(&home, "2026-11-24T08:00:00-08:00"));
    work::undo(&mut home.store, now()).unwrap();
    // So does a drink of unknown making that was poured in, but not water.
    let pour = |what: &str| Deed::Pour {
        batch,
        vessel: j1,
        from: None,
        what: what.into(),
        volume: Litres::known(0.2),
        gravity: None,
        alcohol: None,
        at: at("2026-11-23T08:00:00-08:00"),
        note: String::new(),
    };
    good(&mut home.store, &pour("boiled water"));
    assert!(!sulfited(&home, "2026-11-24T08:00:00-08:00"));
    good(&mut home.store, &pour("white wine"));
    assert!(sulfited(&home, "2026-11-24T08:00:00-08:00"));
    // What went in before the split is in both parts.
    let split = Deed::Rack {
        batch,
        from: j1,
        to: j2,
        at: at("2026-11-24T08:00:00-08:00"),
        volume: Some(Litres::known(1.8)),
        keep_rest: true,
        note: String::new(),
    };
    good(&mut home.store, &split);
    let deed = bottle(batch, &home, 4, "2026-11-25T06:00:00-08:00");
    good(&mut home.store, &deed);
    let household = home.store.household(now()).unwrap();
    let dossier = home.store.dossier(batch, now()).unwrap().unwrap();
    assert!(bottling::filled(&household, &dossier, &dossier.lots[0]).sulfite);
}
