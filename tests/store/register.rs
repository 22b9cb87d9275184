//! The register of empty bottles: from notes of an earlier skep, and kept since.

use crate::kit::*;
use skep::domain::bottles::{BottleKind, register};
use skep::domain::deeds::{Deed, Fill};
use skep::domain::records::{
    BatchId, BottleClass, DrawKind, LotId, PantryId, PantryItem, PantryKind,
};
use skep::domain::sums::carbonation::Rating;
use skep::domain::units::{GaugeBar, Litres, Volumes};
use skep::store::Store;
use skep::work;
use std::fs;
use std::path::Path;

fn kinds(store: &Store) -> Vec<BottleKind> {
    register(&store.pantry().unwrap())
}

/// `tests/stores/bottles-2.store` was filled by hand in the skep of schema 2,
/// which had the register as words in the pantry's notes.
#[test]
fn notes_of_an_earlier_skep_become_columns() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("s");
    let old = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/stores/bottles-2.store");
    fs::copy(old, &path).unwrap();
    let mut store = Store::open(&path, now()).unwrap();
    assert_eq!(store.migrated().map(|m| m.from), Some(2));
    let pantry = store.pantry().unwrap();
    let found = |name: &str| pantry.iter().find(|i| i.name.contains(name)).unwrap();
    let brown = found("crown-cap").bottle.unwrap();
    assert_eq!(brown.class, Some(BottleClass::Crown));
    assert_eq!((brown.filled, brown.rejected), (3, 2));
    assert_eq!(brown.rating, Some(Rating::Volumes(Volumes::known(4.0))));
    assert!((brown.size.get() - 0.354_882).abs() < 1e-5 && !brown.clear_glass);
    let thick = found("sparkling").bottle.unwrap();
    assert_eq!(thick.rating, Some(Rating::Gauge(GaugeBar::known(6.0))));
    assert!(thick.clear_glass);
    // A size without a class: not known, and so never for gas. No size: no entry.
    let attic = found("attic").bottle.unwrap();
    assert_eq!((attic.class, attic.filled), (None, 0));
    assert_eq!(found("odd").bottle, None);
    // The words stay where they were.
    assert_eq!(
        found("crown-cap").note,
        "filled 3 times before, rated 4 volumes, 2 rejected"
    );
    assert_eq!(store.check(now()).unwrap(), vec![]);
    // What the old skep did can be taken back and brought again, all of it.
    let before = kinds(&store);
    let mut undone = 0;
    while work::undo(&mut store, now()).unwrap().is_some() {
        undone += 1;
    }
    assert!(undone >= 9, "{undone}");
    while work::redo(&mut store, now()).unwrap().is_some() {}
    assert_eq!(kinds(&store), before);
}

#[test]
fn what_is_said_of_bottles_is_kept_and_undone_by_column() {
    let mut home = home();
    let item = PantryItem {
        id: PantryId(0),
        kind: PantryKind::Bottle,
        name: "0.5 L swing-top bottles".into(),
        amount: 12.0,
        unit: "pieces".into(),
        lot: String::new(),
        best_before: None,
        price: None,
        keep_at_least: None,
        bottle: None,
        note: String::new(),
    };
    good(&mut home.store, &Deed::StockPantry(item));
    let mut item = home.store.pantry().unwrap().remove(0);
    let mut bottle = item.bottle.unwrap();
    assert_eq!(bottle.class, Some(BottleClass::Heavy));
    bottle.class = None;
    bottle.filled = 7;
    bottle.rejected = 1;
    bottle.rating = Some(Rating::Gauge(GaugeBar::known(4.5)));
    item.bottle = Some(bottle);
    good(&mut home.store, &Deed::StockPantry(item.clone()));
    assert_eq!(home.store.pantry().unwrap(), [item.clone()]);
    assert!(!kinds(&home.store)[0].known);
    // A name that says a class does not overrule the register.
    item.amount = 11.0;
    good(&mut home.store, &Deed::StockPantry(item));
    assert!(!kinds(&home.store)[0].known);
    work::undo(&mut home.store, now()).unwrap();
    work::undo(&mut home.store, now()).unwrap();
    let kind = kinds(&home.store).remove(0);
    assert_eq!((kind.known, kind.reused, kind.have), (true, 0, 12));
    assert_eq!(home.store.check(now()).unwrap(), vec![]);
}

fn bottles(name: &str, amount: f64, note: &str) -> Deed {
    Deed::StockPantry(PantryItem {
        id: PantryId(0),
        kind: PantryKind::Bottle,
        name: name.into(),
        amount,
        unit: "pieces".into(),
        lot: String::new(),
        best_before: None,
        price: None,
        keep_at_least: None,
        bottle: None,
        note: note.into(),
    })
}

fn fill(home: &Home, batch: BatchId, class: BottleClass, litres: f64, count: u32) -> Deed {
    Deed::Bottle {
        vessel: None,
        batch,
        at: now(),
        fizz: None,
        fills: vec![Fill {
            class,
            size: Litres::known(litres),
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

fn take(lot: LotId, count: i32, kind: DrawKind) -> Deed {
    Deed::Draw {
        lot,
        count,
        kind,
        at: now(),
        whom: String::new(),
        note: String::new(),
    }
}

/// How many are empty, and how often they were filled.
fn empties(store: &Store) -> Vec<(u32, u32)> {
    kinds(store).iter().map(|k| (k.have, k.reused)).collect()
}

#[test]
fn drunk_bottles_are_empties_again_filled_once_more() {
    let mut home = home();
    let brown = "12 fl oz crown-cap bottles";
    good(
        &mut home.store,
        &bottles(brown, 20.0, "filled 3 times before"),
    );
    let id = start(&mut home.store, home.j1);
    let deed = fill(&home, id, BottleClass::Crown, 0.355, 10);
    let lot = good(&mut home.store, &deed).lots().next().unwrap();
    assert_eq!(empties(&home.store), [(10, 3)]);
    let said = good(&mut home.store, &take(lot, 4, DrawKind::Drunk)).said;
    assert_eq!(
        said,
        "4 bottles of 'Orange' drunk, 6 left; 4 empties back in the pantry"
    );
    assert_eq!(empties(&home.store), [(14, 4)]);
    // What was given away, broke or was miscounted does not come home.
    good(&mut home.store, &take(lot, 2, DrawKind::Given));
    good(&mut home.store, &take(lot, 1, DrawKind::Broken));
    good(&mut home.store, &take(lot, 1, DrawKind::Counted));
    assert_eq!(empties(&home.store), [(14, 4)]);
    // The rest of the same filling is no second wear.
    let said = good(&mut home.store, &take(lot, 1, DrawKind::Drunk)).said;
    assert!(
        said.ends_with("1 left; 1 empty back in the pantry"),
        "{said}"
    );
    assert_eq!(empties(&home.store), [(15, 4)]);
    work::undo(&mut home.store, now()).unwrap();
    assert_eq!(empties(&home.store), [(14, 4)]);
    assert_eq!(home.store.check(now()).unwrap(), vec![]);
}

#[test]
fn no_more_empties_come_home_than_the_register_gave() {
    let mut home = home();
    good(
        &mut home.store,
        &bottles("12 fl oz crown-cap bottles", 6.0, ""),
    );
    let id = start(&mut home.store, home.j1);
    let deed = fill(&home, id, BottleClass::Crown, 0.355, 10);
    let lot = good(&mut home.store, &deed).lots().next().unwrap();
    assert_eq!(empties(&home.store), [(0, 0)]);
    good(&mut home.store, &take(lot, 5, DrawKind::Drunk));
    good(&mut home.store, &take(lot, 5, DrawKind::Drunk));
    assert_eq!(empties(&home.store), [(6, 1)]);
}

#[test]
fn a_sparkling_wine_bottle_is_new_once() {
    let mut home = home();
    good(
        &mut home.store,
        &bottles("750 mL new sparkling-wine bottles", 12.0, ""),
    );
    let id = start(&mut home.store, home.j1);
    let deed = fill(&home, id, BottleClass::SparklingNew, 0.75, 5);
    let lot = good(&mut home.store, &deed).lots().next().unwrap();
    // No kind of used ones is kept: nothing is put among the new.
    good(&mut home.store, &take(lot, 1, DrawKind::Drunk));
    assert_eq!(empties(&home.store), [(7, 0)]);
    good(
        &mut home.store,
        &bottles("750 mL sparkling-wine bottles, reused", 2.0, ""),
    );
    good(&mut home.store, &take(lot, 4, DrawKind::Drunk));
    let all: Vec<_> = kinds(&home.store)
        .iter()
        .map(|k| (k.class, k.have, k.reused))
        .collect();
    assert!(all.contains(&(BottleClass::SparklingNew, 7, 0)), "{all:?}");
    assert!(all.contains(&(BottleClass::SparklingUsed, 6, 1)), "{all:?}");
}
