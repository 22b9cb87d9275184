//! From a finished jug to the last bottle drunk. The household is invented.

use crate::clock;
use crate::terminal::Terminal;
use skep::domain::deeds::{Deed, NewBatch, NewReading};
use skep::domain::records::*;
use skep::domain::units::*;
use skep::store::Store;
use skep::work;
use std::path::{Path, PathBuf};

/// A jug of dry mead, pitched sixty days ago and steady for three weeks.
fn household(folder: &Path) -> PathBuf {
    let path = folder.join("skep.db");
    let now = clock::now();
    let ago = |days: f64| now.plus_days(-days);
    let mut store = Store::open(&path, now).unwrap();
    let mut tell = |deed: Deed, at: Moment| work::carry_out(&mut store, &deed, at).unwrap();
    let place = Deed::AddPlace {
        name: "closet".into(),
        dark: true,
        usual_temp: Some(Celsius::known(20.0)),
    };
    let place = tell(place, ago(70.0)).place().unwrap();
    let jug = Deed::AddVessel {
        tag: "J1".into(),
        kind: VesselKind::Jug,
        capacity: Litres::from_us_gallons(1.05).unwrap(),
        place,
        tare: None,
    };
    let jug = tell(jug, ago(70.0)).vessel().unwrap();
    let batch = NewBatch {
        name: "Clover".into(),
        style: Style::Mead,
        variety: "traditional".into(),
        vessel: Some(jug),
        routine: None,
        steps: Vec::new(),
        yeast: None,
        tolerance: None,
        band: None,
        planned_og: Some(Gravity::known(1.09)),
        expected_fg: Some(Gravity::known(0.997)),
        volume: Some(Litres::from_us_gallons(1.0).unwrap()),
        fizz: Fizz::Still,
        pitched: Some(ago(60.0)),
        planned_day: None,
        note: String::new(),
    };
    tell(Deed::StartBatch(Box::new(batch)), ago(60.0));
    for (days, sg) in [
        (60.0, 1.09),
        (52.0, 1.045),
        (42.0, 1.004),
        (21.0, 0.997),
        (14.0, 0.997),
        (7.0, 0.997),
        (0.5, 0.997),
    ] {
        let reading = NewReading {
            subject: Subject::Vessel(jug),
            at: ago(days),
            seen: Seen::new(MeasureKind::Hydrometer, sg, Unit::Sg).unwrap(),
            sample_temp: Some(Seen::new(MeasureKind::Temperature, 20.0, Unit::Celsius).unwrap()),
            instrument: None,
            source: "hand".into(),
            doubted: false,
            note: String::new(),
        };
        tell(Deed::Record(vec![reading]), ago(days));
    }
    path
}

const DOWN: &str = "\x1b[B";
const RIGHT: &str = "\x1b[C";
/// Ctrl-S.
const NOW: &str = "\x13";

#[test]
fn from_finished_to_the_last_bottle_drunk() {
    let home = tempfile::tempdir().unwrap();
    let path = household(home.path());
    let mut t = Terminal::start(&path, home.path(), &[]);
    t.see("Clover").see("finished");
    // Bottling day: nothing holds it, the sugar is told.
    t.send("f").see("Clear to bottle").see("10 x 12 fl oz");
    t.send(DOWN).send(RIGHT).see("lightly").send(RIGHT);
    t.see("of table sugar").see("already dissolved");
    t.send(NOW).see("10/10").see("nothing is ready before");
    // Two are given away, one breaks, the rest is drunk; one is tasted.
    t.send("2 given to Anna")
        .see("8 left then")
        .send("\r")
        .see("8/10");
    t.send("1 broken\r").see("7/10");
    t.send("t").see("how does Clover taste?");
    t.send(RIGHT).see("4 good").send(RIGHT).see("5 lovely");
    t.send("\r").see("6/10");
    t.send("7")
        .see("Only 6 are left")
        .send("\x7f6")
        .see("0 left then");
    t.send("\r").see("All is drunk");
    t.send("e").see("0/10").see("all gone");
    t.send("q");
    assert!(t.ended());
    let now = clock::now();
    let store = Store::open(&path, now).unwrap();
    assert!(store.cellar(false).unwrap().is_empty());
    let all = store.cellar(true).unwrap();
    assert_eq!((all.len(), all[0].lot.count, all[0].left), (1, 10, 0));
    let draws = store.draws(all[0].lot.id).unwrap();
    let told: Vec<_> = draws.iter().map(|d| (d.count, d.kind)).collect();
    assert_eq!(
        told,
        [
            (2, DrawKind::Given),
            (1, DrawKind::Broken),
            (1, DrawKind::Drunk),
            (6, DrawKind::Drunk)
        ]
    );
    let tastings = store.tastings(all[0].batch.id).unwrap();
    assert_eq!(tastings[0].marks, [5, 3, 3, 3, 3]);
    // What comes after the caps was put on the list.
    let dossier = store.dossier(all[0].batch.id, now).unwrap().unwrap();
    let keys: Vec<_> = dossier.steps.iter().map(|s| s.rule.key.as_str()).collect();
    assert_eq!(keys, ["test-bottle", "into-the-cold", "first-taste"]);
    let primed = dossier.events.iter().find(|e| e.kind == EventKind::Prime);
    // 0.94 US gal from 0.87 to 2.5 volumes take 22 g of sucrose, by the
    // published solubility and molar masses, as the sums' own tests check.
    let grams = primed.unwrap().mass.unwrap().get();
    assert!((21.0..24.0).contains(&grams), "{grams}");
}

#[test]
fn from_finished_to_the_last_glass_of_a_keg() {
    let home = tempfile::tempdir().unwrap();
    let path = household(home.path());
    let now = clock::now();
    let mut store = Store::open(&path, now).unwrap();
    let place = store.household(now).unwrap().places[0].id;
    let keg = Deed::AddVessel {
        tag: "K1".into(),
        kind: VesselKind::Keg,
        capacity: Litres::from_us_gallons(5.0).unwrap(),
        place,
        tare: None,
    };
    work::carry_out(&mut store, &keg, now).unwrap();
    drop(store);
    let mut t = Terminal::start(&path, home.path(), &[]);
    t.see("Clover").see("finished");
    t.send("f").see("Clear to bottle").send(RIGHT).see("a keg");
    // A keg is drunk from cold, whatever the closet has.
    t.see("39f").see("psi at the regulator");
    t.see("10 glasses");
    t.send(NOW).see("keg K1").see("holds its gas from about");
    t.send("4")
        .see("6 left then")
        .send("\r")
        .see("6 glasses of 12 fl oz left");
    t.send("6").see("the keg is empty then").send("\r");
    t.see("Nothing is in bottles yet").send("q");
    assert!(t.ended());
    let store = Store::open(&path, clock::now()).unwrap();
    let batches = store.all_batches().unwrap();
    assert_eq!(batches[0].stage, Stage::Closed);
    let dossier = store.dossier(batches[0].id, clock::now()).unwrap().unwrap();
    let drawn: f64 = dossier
        .events
        .iter()
        .filter(|e| e.kind == EventKind::Loss && e.note.contains("glass"))
        .filter_map(|e| e.volume)
        .map(|v| v.get() * 1000.0)
        .sum();
    // Ten glasses of 12 US fluid ounces of 29.5735 mL (NIST Handbook 44).
    assert!((drawn - 3548.8).abs() < 0.1, "{drawn}");
}
