//! The corpus of the fuzz targets, and what they once found, through the same doors.

#[path = "../fuzz/doors/mod.rs"]
mod doors;

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Instant;

fn seeds(door: &str) -> Vec<PathBuf> {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/fuzz/corpus")
        .join(door);
    let all = fs::read_dir(&corpus).unwrap_or_else(|e| panic!("{}: {e}", corpus.display()));
    let mut found: Vec<_> = all.map(|e| e.unwrap().path()).collect();
    found.sort();
    found
}

#[test]
fn every_seed_passes_its_door() {
    for (door, pass) in doors::DOORS {
        let (begun, seeds) = (Instant::now(), seeds(door));
        assert!(seeds.len() >= 5, "{door} has {} seeds", seeds.len());
        for seed in &seeds {
            // Shown only when the test fails.
            eprintln!("{}", seed.display());
            pass(&fs::read(seed).unwrap());
        }
        println!("{door}: {} seeds in {:?}", seeds.len(), begun.elapsed());
    }
}
