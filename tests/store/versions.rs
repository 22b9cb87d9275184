//! A store of every schema there was is opened by today's skep, and what it held
//! is what it holds.
//!
//! `tests/stores/schema-N.store` was written by the skep of that schema, and
//! `schema-N.json` is what that skep read in it. Both are made by
//! `cargo test --test store -- --ignored write_the_store_of_this_schema` and
//! never changed once released.

use crate::kit::*;
use serde_json::{Value, json};
use skep::domain::deeds::{Deed, Fill, Given, NewEvent};
use skep::domain::records::{
    BatchId, BottleClass, DrawKind, EventKind, HoldKind, InstrumentKind, MeasureKind, PantryId,
    PantryItem, PantryKind, Seen, Settings, Stage, Subject, Unit, VesselId, VesselKind,
};
use skep::domain::units::{Abv, Celsius, GaugeBar, Grams, Gravity, Litres, Moment};
use skep::store::{SCHEMA, Sample, Store};
use skep::work;
use std::fs;
use std::path::{Path, PathBuf};

fn stores() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/stores")
}

/// All that a store says, as text for comparison.
fn content(store: &Store) -> Value {
    let batches = store.all_batches().unwrap();
    let ledgers: Vec<_> = batches
        .iter()
        .map(|b| store.ledger(b.id).unwrap())
        .collect();
    let dossiers: Vec<_> = batches
        .iter()
        .map(|b| store.dossier(b.id, now()).unwrap())
        .collect();
    let tastings: Vec<_> = batches
        .iter()
        .map(|b| store.tastings(b.id).unwrap())
        .collect();
    let changes = store.changes(1000).unwrap();
    let lines: Vec<_> = changes
        .iter()
        .map(|c| store.change_lines(c.id).unwrap())
        .collect();
    json!({
        "household": store.household(now()).unwrap(),
        "dossiers": dossiers, "ledgers": ledgers, "tastings": tastings,
        "changes": changes, "lines": lines, "pantry": store.pantry().unwrap(),
        "samples": store.sample_count().unwrap(),
    })
}

/// Everything in `old` is in `new` with the same value; `new` may know more.
fn holds(new: &Value, old: &Value, at: &str) {
    match (new, old) {
        (Value::Object(new), Value::Object(old)) => {
            for (key, value) in old {
                let found = new.get(key).unwrap_or_else(|| panic!("{at}.{key} is gone"));
                holds(found, value, &format!("{at}.{key}"));
            }
        }
        (Value::Array(new), Value::Array(old)) => {
            assert_eq!(new.len(), old.len(), "{at}");
            for (i, (new, old)) in new.iter().zip(old).enumerate() {
                holds(new, old, &format!("{at}[{i}]"));
            }
        }
        _ => assert_eq!(new, old, "{at}"),
    }
}

#[test]
fn a_store_of_every_schema_holds_today_what_it_held() {
    let folder = tempfile::tempdir().unwrap();
    for schema in 1..=SCHEMA {
        let old = stores().join(format!("schema-{schema}.store"));
        let copy = folder.path().join(format!("{schema}"));
        fs::copy(&old, &copy).unwrap();
        let mut store = Store::open(&copy, now()).unwrap();
        assert_eq!(
            store.migrated().map(|m| m.from),
            (schema < SCHEMA).then_some(schema)
        );
        let held = fs::read_to_string(old.with_extension("json")).unwrap();
        holds(
            &content(&store),
            &serde_json::from_str(&held).unwrap(),
            "store",
        );
        assert_eq!(store.check(now()).unwrap(), vec![]);
        // Its changes can still be taken back, one after the other, and brought again.
        let mut undone = 0;
        let stuck = loop {
            match work::undo(&mut store, now()) {
                Ok(name) => undone += usize::from(name.is_some()),
                Err(stuck) => break stuck.to_string(),
            }
        };
        assert!(undone > 15, "{undone}");
        // The logger's data is no change of the maker's, and needs its place.
        assert_eq!(
            stuck,
            "taking the last change back: 'place 'closet' added' cannot be taken back, because \
             other data hangs on it, such as a logger's; nothing was changed"
        );
        assert!(store.household(now()).unwrap().vessels.is_empty());
        while work::redo(&mut store, now()).unwrap().is_some() {
            undone -= 1;
        }
        assert_eq!(undone, 0);
        assert_eq!(store.check(now()).unwrap(), vec![]);
    }
}

#[test]
#[ignore = "writes into tests/stores; run once for a new schema"]
fn write_the_store_of_this_schema() {
    let path = stores().join(format!("schema-{SCHEMA}.store"));
    fs::create_dir_all(stores()).unwrap();
    let _ = fs::remove_file(&path);
    let folder = tempfile::tempdir().unwrap();
    let mut home = home_in(Store::open(&folder.path().join("s"), now()).unwrap());
    live(&mut home);
    let text = serde_json::to_string_pretty(&content(&home.store)).unwrap();
    fs::write(path.with_extension("json"), text + "\n").unwrap();
    // A month on, what is worked out of ended batches is kept too.
    let later = now().plus_days(40.0);
    let household = home.store.household(later).unwrap();
    work::learned(&home.store, &household, later).unwrap();
    home.store.keep_dossiers(&household, later);
    let backup = home.store.back_up(folder.path(), now()).unwrap();
    fs::copy(backup, &path).unwrap();
}

/// An invented household with a row in every table.
fn live(home: &mut Home) {
    let id = start(&mut home.store, home.j1);
    let when = "2026-11-24T07:00:00-08:00";
    let mut warm = sg(home.j1, 1.0, when);
    warm.seen = Seen::new(MeasureKind::Temperature, 68.0, Unit::Fahrenheit).unwrap();
    warm.subject = Subject::Place(home.closet);
    let mut read = sg(home.j1, 1.042, when);
    read.sample_temp = Some(warm.seen);
    read.note = "smells of pear; \u{1f41d} \u{202e}".into();
    let glass = Deed::AddInstrument {
        name: "long glass".into(),
        kind: InstrumentKind::Hydrometer,
        calibrated_at: Some(Celsius::known(15.56)),
        offset: -0.002,
        resolution: 0.002,
        factor: 1.0,
        preferred: true,
    };
    good(&mut home.store, &glass);
    let keg = Deed::AddVessel {
        tag: "K1".into(),
        kind: VesselKind::Keg,
        capacity: Litres::known(19.0),
        place: home.closet,
        tare: None,
    };
    let vessel = good(&mut home.store, &keg).vessel().unwrap();
    let rating = GaugeBar::known(4.1);
    good(&mut home.store, &Deed::KegRating { vessel, rating });
    let (place, warmest) = (home.closet, Celsius::known(29.0));
    good(&mut home.store, &Deed::PlaceSummer { place, warmest });
    let receipt = good(&mut home.store, &Deed::Record(vec![read.clone(), warm]));
    let reading = receipt.readings().next().unwrap();
    read.seen = Seen::new(MeasureKind::Hydrometer, 10.4, Unit::Plato).unwrap();
    good(
        &mut home.store,
        &Deed::EditReading {
            reading,
            to: read.clone(),
        },
    );
    good(&mut home.store, &Deed::Record(vec![read]));
    work::undo(&mut home.store, now()).unwrap();
    let step = home.store.household(now()).unwrap().dossiers[0].steps[1].id;
    let given = Some(Given {
        substance: "dap".into(),
        mass: Some(Grams::known(1.5)),
        volume: None,
    });
    good(
        &mut home.store,
        &Deed::StepMove {
            step,
            to: now().day(),
        },
    );
    let (at, note) = (now(), String::new());
    good(
        &mut home.store,
        &Deed::StepDone {
            step,
            at,
            given,
            note,
        },
    );
    let kind = EventKind::Fruit;
    good(
        &mut home.store,
        &Deed::AddEvent(NewEvent {
            batch: id,
            vessel: None,
            step: None,
            at,
            kind,
            substance: "cherry".into(),
            mass: Some(Grams::known(450.0)),
            volume: None,
            note: String::new(),
        }),
    );
    good(
        &mut home.store,
        &Deed::Rack {
            batch: id,
            from: home.j1,
            to: home.j2,
            at,
            volume: Some(Litres::known(3.6)),
            keep_rest: false,
            note: "clear".into(),
        },
    );
    rest(home, id);
}

/// The cellar, the pantry, the choices, a logger, and a second batch.
fn rest(home: &mut Home, id: BatchId) {
    let at = now();
    let receipt = good(
        &mut home.store,
        &Deed::Bottle {
            vessel: None,
            batch: id,
            at,
            fizz: None,
            fills: vec![Fill {
                class: BottleClass::Crown,
                size: Litres::known(0.355),
                count: 10,
                clear_glass: true,
            }],
            place: home.closet,
            ready_from: Some(now().plus_days(30.0).day()),
            drink_by: Some(now().plus_days(700.0).day()),
            note: "gravity stood for ten days".into(),
            overrides: vec![HoldKind::Unfinished],
        },
    );
    let lot = receipt.lots().next().unwrap();
    let (whom, note, kind) = ("a neighbour".to_owned(), String::new(), DrawKind::Given);
    good(
        &mut home.store,
        &Deed::Draw {
            lot,
            count: 2,
            kind,
            at,
            whom,
            note,
        },
    );
    let (marks, words) = ([5, 4, 4, 3, 5], "pear, honey".to_owned());
    good(
        &mut home.store,
        &Deed::Taste {
            batch: id,
            lot: Some(lot),
            at,
            marks,
            words,
        },
    );
    good(
        &mut home.store,
        &Deed::StockPantry(PantryItem {
            id: PantryId(0),
            kind: PantryKind::Honey,
            name: "clover".into(),
            amount: 1360.0,
            unit: "g".into(),
            lot: "L3".into(),
            best_before: Some(now().plus_days(365.0).day()),
            price: Some(0.01),
            keep_at_least: Some(500.0),
            bottle: None,
            note: String::new(),
        }),
    );
    good(&mut home.store, &Deed::SaveSettings(Settings::default()));
    let deed = jug("J3", home.closet);
    let j3 = good(&mut home.store, &deed).vessel().unwrap();
    let second = start(&mut home.store, j3);
    let note = "nothing to see".to_owned();
    good(
        &mut home.store,
        &Deed::SetStage {
            batch: second,
            stage: Stage::Resting,
            at,
            note,
        },
    );
    top_up(home, second, j3);
    let begin = at.plus_days(-3.0).utc_ms();
    let samples = (0..3000).map(|n| Sample {
        subject: Subject::Place(home.closet),
        at: Moment::from_stored(begin + n * 60_000, -480).unwrap(),
        seen: Seen::new(
            MeasureKind::Temperature,
            20.0 + (n % 60) as f64 / 60.0,
            Unit::Celsius,
        )
        .unwrap(),
    });
    home.store.take_samples("probe", samples).unwrap();
    let household = home.store.household(at).unwrap();
    work::learned(&home.store, &household, at).unwrap();
}

/// What was poured in keeps its gravity and alcohol.
fn top_up(home: &mut Home, batch: BatchId, vessel: VesselId) {
    good(
        &mut home.store,
        &Deed::Pour {
            batch,
            vessel,
            from: None,
            what: "a like mead".into(),
            volume: Litres::known(0.2),
            gravity: Some(Gravity::known(1.004)),
            alcohol: Some(Abv::known(12.5)),
            at: now(),
            note: String::new(),
        },
    );
}
