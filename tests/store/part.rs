//! One vessel of a split batch is bottled; the rest goes on.

use crate::kit::*;
use skep::domain::deeds::{Deed, Fill};
use skep::domain::records::{BottleClass, EventKind, Stage};
use skep::domain::units::{Litres, Moment};
use skep::engine::facts;
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
        overruled: false,
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
