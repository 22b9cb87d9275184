//! The register of empty bottles: from notes of an earlier skep, and kept since.

use crate::kit::*;
use skep::domain::bottles::{BottleKind, register};
use skep::domain::deeds::Deed;
use skep::domain::records::{BottleClass, PantryId, PantryItem, PantryKind};
use skep::domain::sums::carbonation::Rating;
use skep::domain::units::{GaugeBar, Volumes};
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
