//! What was acknowledged is there after the power goes.
//!
//! The test starts itself again as a writer, kills it at some moment, and looks.

use crate::kit::*;
use skep::domain::deeds::Deed;
use skep::domain::records::{MeasureKind, Seen, Subject, Unit};
use skep::domain::units::Moment;
use skep::store::{Sample, Store};
use skep::work;
use std::collections::HashMap;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

const STORE: &str = "SKEP_KILL_STORE";

/// The writer: readings, undo and redo, samples; says each one that is kept.
#[test]
#[ignore = "is started by the test below, which kills it"]
fn writer() {
    let Ok(path) = std::env::var(STORE) else {
        return;
    };
    let mut store = Store::open(Path::new(&path), now()).unwrap();
    let house = store.household(now()).unwrap();
    let vessel = house.vessels[0].id;
    let begin = i64::try_from(store.sample_count().unwrap()).unwrap();
    println!("ready");
    for n in 0..i64::MAX {
        let mut reading = sg(vessel, 1.05, "2026-11-24T07:00:00-08:00");
        reading.note = format!("{}-{n}", std::process::id());
        let note = reading.note.clone();
        good(&mut store, &Deed::Record(vec![reading]));
        if n % 3 == 0 {
            work::undo(&mut store, now()).unwrap();
            work::redo(&mut store, now()).unwrap();
        }
        println!("reading {note}");
        let samples = (0..20).map(|k| Sample {
            subject: Subject::Vessel(vessel),
            at: Moment::from_stored((begin + n * 20 + k) * 1000, 0).unwrap(),
            seen: Seen::new(MeasureKind::Temperature, 20.0, Unit::Celsius).unwrap(),
        });
        store.take_samples("probe", samples).unwrap();
        println!("samples {}", begin + (n + 1) * 20);
    }
}

/// `SKEP_KILLS=1000 cargo test --test store kill` for the long form.
#[test]
fn what_was_acknowledged_outlives_a_kill() {
    let kills: u64 = std::env::var("SKEP_KILLS").map_or(15, |n| n.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("s");
    let mut home = home_in(Store::open(&path, now()).unwrap());
    start(&mut home.store, home.j1);
    drop(home);
    let (mut notes, mut samples) = (Vec::new(), 0);
    for n in 0..kills {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "kill::writer", "--ignored", "--nocapture"])
            .env(STORE, &path)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let ready = |line: &str| line.ends_with("ready");
        while !lines.next().unwrap().is_ok_and(|line| ready(&line)) {}
        // Spread over the writing of the first few dozen; the same each run.
        std::thread::sleep(Duration::from_micros(n * 7919 % 60_000));
        child.kill().unwrap();
        child.wait().unwrap();
        for line in lines.map_while(Result::ok) {
            if let Some(note) = line.strip_prefix("reading ") {
                notes.push(note.to_owned());
            } else if let Some(count) = line.strip_prefix("samples ") {
                samples = count.parse().unwrap();
            }
        }
        look(&path, &notes, samples);
    }
    println!(
        "{kills} kills, {} readings and {samples} samples acknowledged",
        notes.len()
    );
    assert!(!notes.is_empty());
}

fn look(path: &Path, acknowledged: &[String], samples: u64) {
    let mut store = Store::open(path, now()).unwrap();
    assert_eq!(store.check(now()).unwrap(), vec![]);
    assert!(store.sample_count().unwrap() >= samples);
    let mut kept: HashMap<String, usize> = HashMap::new();
    for reading in &store.household(now()).unwrap().dossiers[0].readings {
        *kept.entry(reading.note.clone()).or_default() += 1;
    }
    for note in acknowledged {
        assert_eq!(kept.get(note), Some(&1), "{note}");
    }
    // Undo still works, and what it took back comes again.
    assert!(work::undo(&mut store, now()).unwrap().is_some());
    assert!(work::redo(&mut store, now()).unwrap().is_some());
}
