//! Opening: what is made, what is refused, and that the refused stays as it was.

use crate::kit::*;
use crate::wait;
use rusqlite::Connection;
use skep::domain::deeds::Deed;
use skep::domain::records::{MeasureKind, Reading, Seen, Subject, Unit, VesselId};
use skep::store::{self, Cause, SCHEMA, Sample, Store, StoreError};
use skep::work::{self, WorkError};
use std::fs;
use std::path::{Path, PathBuf};

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

fn refusal(path: &Path) -> StoreError {
    match Store::open(path, now()) {
        Err(error) => error,
        Ok(_) => panic!("{} was opened", path.display()),
    }
}

/// Names and bytes of all that lies in a folder.
fn all_files(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut files: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.is_file())
        .map(|p| (p.clone(), fs::read(&p).unwrap()))
        .collect();
    files.sort();
    files
}

/// A store with a batch and a reading, closed.
fn made(path: &Path) {
    let mut home = home_in(Store::open(path, now()).unwrap());
    start(&mut home.store, home.j1);
    let reading = sg(home.j1, 1.042, "2026-11-24T07:00:00-08:00");
    good(&mut home.store, &Deed::Record(vec![reading]));
    let samples = (0..300).map(|n| Sample {
        subject: Subject::Vessel(home.j1),
        at: now().plus_days(-f64::from(n) / 100.0),
        seen: Seen::new(MeasureKind::Temperature, 20.0, Unit::Celsius).unwrap(),
    });
    home.store.take_samples("probe", samples).unwrap();
}

#[cfg(unix)]
#[test]
fn a_new_store_is_its_owners_alone() {
    use std::os::unix::fs::PermissionsExt;
    let mode = |p: &Path| fs::metadata(p).unwrap().permissions().mode() & 0o777;
    let folder = folder();
    let path = folder.path().join("data/skep/skep.store");
    let mut home = home_in(Store::open(&path, now()).unwrap());
    start(&mut home.store, home.j1);
    assert_eq!(mode(path.parent().unwrap()), 0o700);
    let files = all_files(path.parent().unwrap());
    let names: Vec<_> = files.iter().map(|(p, _)| p.file_name().unwrap()).collect();
    // The store, its journal and its index; nothing left over from the making.
    assert_eq!(names, ["skep.store", "skep.store-shm", "skep.store-wal"]);
    for (file, _) in files {
        assert_eq!(mode(&file), 0o600, "{}", file.display());
    }
}

#[test]
fn what_is_no_store_is_refused_and_left_untouched() {
    let folder = folder();
    let at = |name: &str| folder.path().join(name);
    fs::write(at("note"), "bread recipe").unwrap();
    fs::write(at("long note"), "bread ".repeat(1000)).unwrap();
    fs::write(at("nothing"), "").unwrap();
    let other = Connection::open(at("other")).unwrap();
    other
        .execute_batch("PRAGMA journal_mode = WAL; CREATE TABLE t (x); INSERT INTO t VALUES (1)")
        .unwrap();
    other.close().unwrap();
    fs::create_dir(at("folder")).unwrap();
    let before = all_files(folder.path());
    for (name, said) in [
        (
            "note",
            "is not a skep store (its first bytes are those of something else)",
        ),
        (
            "long note",
            "is not a skep store (its first bytes are those of something else)",
        ),
        ("nothing", "is empty (0 bytes)"),
        (
            "other",
            "is not a skep store (it is a database of another program)",
        ),
        ("folder", "is not a skep store (it is no plain file)"),
    ] {
        let error = refusal(&at(name)).to_string();
        assert!(error.starts_with("opening the store"), "{error}");
        assert!(
            error.contains(said) && error.contains("left untouched"),
            "{error}"
        );
    }
    assert_eq!(all_files(folder.path()), before);
}

#[test]
fn a_newer_store_is_refused_and_left_untouched() {
    let folder = folder();
    let path = folder.path().join("s");
    made(&path);
    let newer = Connection::open(&path).unwrap();
    newer
        .pragma_update(None, "user_version", SCHEMA + 1)
        .unwrap();
    newer.close().unwrap();
    let before = all_files(folder.path());
    let error = refusal(&path);
    assert!(matches!(error.cause, Cause::Newer { theirs, .. } if theirs == SCHEMA + 1));
    assert!(error.to_string().contains("newer skep"), "{error}");
    assert_eq!(all_files(folder.path()), before);
}

#[test]
fn a_store_that_a_newer_skep_migrates_meanwhile_is_written_no_more() {
    let folder = folder();
    let path = folder.path().join("s");
    let mut home = home_in(Store::open(&path, now()).unwrap());
    Connection::open(&path)
        .unwrap()
        .pragma_update(None, "user_version", SCHEMA + 1)
        .unwrap();
    let error = work::carry_out(&mut home.store, &place("garage"), now()).unwrap_err();
    assert!(error.to_string().contains("newer schema"), "{error}");
}

#[test]
fn a_journal_without_its_store_is_not_played_into_a_new_one() {
    let folder = folder();
    let path = folder.path().join("s");
    let home = home_in(Store::open(&path, now()).unwrap());
    let wal = folder.path().join("s-wal");
    let journal = fs::read(&wal).unwrap();
    assert!(!journal.is_empty());
    drop(home);
    fs::remove_file(&path).unwrap();
    fs::write(&wal, &journal).unwrap();
    let error = refusal(&path);
    assert!(matches!(error.cause, Cause::Orphan { .. }), "{error}");
    assert_eq!(fs::read(&wal).unwrap(), journal);
    assert!(!path.exists());
}

#[cfg(unix)]
#[test]
fn no_link_laid_beforehand_is_followed() {
    let folder = folder();
    let victim = folder.path().join("victim");
    fs::write(&victim, "precious").unwrap();
    let path = folder.path().join("s");
    let day = now().day();
    for name in [
        format!("s.new-{}-0", std::process::id()),
        format!("s.schema-0-{day}"),
        format!("s.replaced-{day}"),
    ] {
        std::os::unix::fs::symlink(&victim, folder.path().join(name)).unwrap();
    }
    made(&path);
    let backup = Store::open(&path, now())
        .unwrap()
        .back_up(&folder.path().join("backups"), now())
        .unwrap();
    store::restore(&backup, &path, now()).unwrap();
    assert_eq!(fs::read_to_string(&victim).unwrap(), "precious");
}

#[test]
fn an_earlier_schema_is_copied_before_it_is_migrated() {
    // Schema 0 is a store of ours without any table yet.
    let folder = folder();
    let path = folder.path().join("s");
    let old = Connection::open(&path).unwrap();
    old.execute_batch("PRAGMA application_id = 1397441872; CREATE TABLE keepsake (x)")
        .unwrap();
    old.close().unwrap();
    let mut opened = Store::open(&path, now()).unwrap();
    let migrated = opened.migrated().unwrap().clone();
    assert_eq!((migrated.from, migrated.to), (0, SCHEMA));
    let copy = Connection::open(&migrated.copy).unwrap();
    assert!(copy.table_exists(None, "keepsake").unwrap());
    assert!(!copy.table_exists(None, "batch").unwrap());
    good(&mut opened, &place("closet"));
    drop(opened);
    assert!(Store::open(&path, now()).unwrap().migrated().is_none());
}

#[test]
fn undo_goes_on_after_a_restart() {
    let folder = folder();
    let path = folder.path().join("s");
    made(&path);
    let mut store = Store::open(&path, now()).unwrap();
    let name = work::undo(&mut store, now()).unwrap().unwrap();
    assert_eq!(name, "reading 1.042 of J1");
    drop(store);
    let mut store = Store::open(&path, now()).unwrap();
    assert_eq!(work::redo_name(&store).unwrap().unwrap(), name);
    assert_eq!(work::redo(&mut store, now()).unwrap().unwrap(), name);
    assert_eq!(by_hand(&store).len(), 1);
}

/// The readings without the logger's means.
fn by_hand(store: &Store) -> Vec<Reading> {
    let mut house = store.household(now()).unwrap();
    let mut readings = house.dossiers.remove(0).readings;
    readings.retain(|r| r.source == "hand");
    readings
}

#[test]
fn eight_hands_write_and_nothing_is_lost_or_doubled() {
    let folder = folder();
    let path = folder.path().join("s");
    made(&path);
    let j1 = Store::open(&path, now())
        .unwrap()
        .household(now())
        .unwrap()
        .vessels[0]
        .id;
    let hands: Vec<_> = (0..8)
        .map(|hand| {
            let path = path.clone();
            std::thread::spawn(move || {
                let mut store = Store::open(&path, now()).unwrap();
                for n in 0..25 {
                    let mut reading = sg(j1, 1.03, "2026-11-24T07:00:00-08:00");
                    reading.note = format!("{hand}-{n}");
                    good(&mut store, &Deed::Record(vec![reading]));
                    store.household(now()).unwrap();
                }
            })
        })
        .collect();
    for hand in hands {
        hand.join().unwrap();
    }
    let store = Store::open(&path, now()).unwrap();
    let readings = by_hand(&store);
    let mut notes: Vec<_> = readings.iter().map(|r| r.note.as_str()).collect();
    notes.sort_unstable();
    notes.dedup();
    assert_eq!((readings.len(), notes.len()), (201, 201));
    assert_eq!(store.check(now()).unwrap(), vec![]);
}

#[test]
fn eight_hands_make_one_new_store() {
    let folder = folder();
    let path = folder.path().join("s");
    let hands: Vec<_> = (0..8)
        .map(|hand| {
            let path = path.clone();
            std::thread::spawn(move || {
                let mut store = Store::open(&path, now()).unwrap();
                good(&mut store, &place(&format!("place {hand}")));
            })
        })
        .collect();
    for hand in hands {
        hand.join().unwrap();
    }
    let house = Store::open(&path, now()).unwrap().household(now()).unwrap();
    assert_eq!(house.places.len(), 8);
}

#[test]
fn what_another_writes_is_seen_by_the_revision() {
    let folder = folder();
    let path = folder.path().join("s");
    let mut home = home_in(Store::open(&path, now()).unwrap());
    let other = Store::open(&path, now()).unwrap();
    let before = other.revision().unwrap();
    good(&mut home.store, &place("garage"));
    let after = other.revision().unwrap();
    assert!(after > before);
    work::undo(&mut home.store, now()).unwrap();
    assert!(other.revision().unwrap() > after, "undo is news too");
}

/// The change to a journal that is written ahead does not wait of itself, as all else does.
/// How often this process has a file open, as Linux tells it.
fn descriptors(path: &Path) -> usize {
    let path = fs::canonicalize(path).unwrap();
    let all = fs::read_dir("/proc/self/fd").unwrap();
    let targets = all.filter_map(|entry| fs::read_link(entry.ok()?.path()).ok());
    targets.filter(|to| *to == path).count()
}

#[test]
fn a_store_with_another_journal_is_waited_for_while_another_writes() {
    let folder = folder();
    let path = folder.path().join("store");
    made(&path);
    let other = Connection::open(&path).unwrap();
    other
        .query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(()))
        .unwrap();
    // The eighteenth byte says how the file is written: 1 by a journal of what was, 2
    // ahead (the format of SQLite's files, section 1.3.3).
    let written = || fs::read(&path).unwrap()[18];
    assert_eq!(written(), 1);
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    std::thread::scope(|scope| {
        let opened = scope.spawn(|| Store::open(&path, now()).map(drop));
        wait::until("the file is open twice", || {
            descriptors(&path) >= 2 || opened.is_finished()
        });
        other.execute_batch("COMMIT").unwrap();
        opened.join().unwrap().unwrap();
    });
    assert_eq!(written(), 2);
}

#[test]
fn waiting_for_another_writer_is_bounded_and_told_in_a_sentence() {
    let folder = folder();
    let path = folder.path().join("s");
    let mut home = home_in(Store::open(&path, now()).unwrap());
    let hog = Connection::open(&path).unwrap();
    hog.execute_batch("BEGIN IMMEDIATE").unwrap();
    let error = work::carry_out(&mut home.store, &place("garage"), now()).unwrap_err();
    assert_eq!(
        error.to_string(),
        "adding a place: another program has kept the store busy for 5 seconds; nothing was changed. Try again"
    );
    assert!(matches!(
        error,
        WorkError::Store(StoreError {
            cause: Cause::Busy { .. },
            ..
        })
    ));
    hog.execute_batch("ROLLBACK").unwrap();
    good(&mut home.store, &place("garage"));
}

/// A small number machine, so that a failure can be had again (Numerical Recipes'
/// quick generator; any would do).
fn dice(state: &mut u64) -> usize {
    *state = state
        .wrapping_mul(6364136223846793005)
        .wrapping_add(1442695040888963407);
    (*state >> 33) as usize
}

/// What can be read of a store, as an archive.
fn salvaged(path: &Path, beside: &Path) -> Result<Vec<u8>, StoreError> {
    let scratch = tempfile::tempdir_in(beside).unwrap();
    let mut archive = Vec::new();
    Store::salvage(path, scratch.path(), &mut archive, now()).map(|_| archive)
}

/// All that a store says, but for counters and for what is worked out anew; none where a row
/// cannot be read.
fn content(store: &Store) -> Option<serde_json::Value> {
    let mut archive = Vec::new();
    store.archive(&mut archive, now()).ok()?;
    let mut all: serde_json::Value = serde_json::from_slice(&archive).ok()?;
    let tables = all["tables"].as_object_mut()?;
    for table in ["lesson", "state", "sqlite_sequence"] {
        tables.remove(table);
    }
    // Added up in another order, the last digits of a sum differ: a flip there hides nothing.
    for row in tables["digest"].as_array_mut()? {
        row["total"] = format!("{:.6e}", row["total"].as_f64()?).into();
    }
    Some(all["tables"].take())
}

/// The tables in which two contents differ.
fn differing(one: &serde_json::Value, other: &serde_json::Value) -> String {
    let tables = one.as_object().into_iter().flatten();
    let differ = tables.filter(|(name, rows)| other.get(name) != Some(rows));
    let said: Vec<String> = differ
        .map(|(name, rows)| format!("{name}: {rows} | {}", other[name]))
        .collect();
    said.join("\n")
}

/// `SKEP_FLIPS=20000 cargo test --test store flipped` for the long form.
#[test]
fn flipped_and_cut_files_never_panic_and_are_never_written_over() {
    let flips = std::env::var("SKEP_FLIPS").map_or(300, |n| n.parse().unwrap());
    // Thirty milliseconds for each without optimisation, and none of it for a disk.
    let memory = Path::new("/dev/shm");
    let folder = if memory.is_dir() {
        tempfile::tempdir_in(memory).unwrap()
    } else {
        folder()
    };
    let path = folder.path().join("s");
    made(&path);
    let whole = fs::read(&path).unwrap();
    let mut state = 20261125;
    let (mut refused, mut read, mut exported, mut rebuilt) = (0, 0, 0, 0);
    let mut altered = 0;
    let said = content(&Store::open(&path, now()).unwrap()).unwrap();
    for n in 0..flips {
        let mut bytes = whole.clone();
        if n % 4 == 0 {
            bytes.truncate(dice(&mut state) % bytes.len());
        } else {
            for _ in 0..=(n % 3) {
                let at = dice(&mut state) % bytes.len();
                bytes[at] ^= 1 << (dice(&mut state) % 8);
            }
        }
        let broken = folder.path().join(format!("b{n}"));
        fs::write(&broken, &bytes).unwrap();
        match Store::open(&broken, now()) {
            Err(error) => {
                refused += 1;
                assert!(error.to_string().len() > 40, "{error}");
            }
            Ok(store) => {
                read += 1;
                let _ = store.household(now());
                let _ = store.changes(100);
                for batch in store.all_batches().unwrap_or_default() {
                    let _ = store.ledger(batch.id);
                }
                let long_ago = now().plus_days(-1000.0);
                for wanted in [1, 100] {
                    let vessel = Subject::Vessel(VesselId(1));
                    let _ = store.thinned(vessel, long_ago, now(), wanted);
                }
                let found = store.check(now());
                if let Some(says) = content(&store)
                    && says != said
                {
                    altered += 1;
                    assert!(
                        found.is_ok_and(|f| !f.is_empty()),
                        "file {n} says something else, and no check names it: {}",
                        differing(&said, &says)
                    );
                }
            }
        }
        if let Ok(archive) = salvaged(&broken, folder.path()) {
            exported += 1;
            let again = folder.path().join(format!("again{n}"));
            if Store::rebuild(&again, archive.as_slice()).is_ok() {
                rebuilt += 1;
                let store = Store::open(&again, now()).unwrap();
                let found = store.check(now()).unwrap();
                let whole = |f: &&store::Finding| {
                    matches!(
                        f,
                        store::Finding::Damaged(_)
                            | store::Finding::Schema(_)
                            | store::Finding::Dangling(_)
                    )
                };
                assert_eq!(found.iter().find(whole), None, "file {n}");
                drop(store);
            }
            for suffix in ["", "-wal", "-shm"] {
                let _ = fs::remove_file(folder.path().join(format!("again{n}{suffix}")));
            }
        }
        // Reading, looking over and salvaging leave the file as it is.
        assert!(
            fs::read(&broken).unwrap() == bytes,
            "file {n} was written to"
        );
        for suffix in ["", "-wal", "-shm"] {
            let _ = fs::remove_file(folder.path().join(format!("b{n}{suffix}")));
        }
        if n % 1000 == 999 {
            println!("{} of {flips}", n + 1);
        }
    }
    println!(
        "{flips} broken files: {refused} refused, {read} opened, {altered} of them say something else \
         and each was named by the check; what could be read was exported of {exported} and made into a whole store again of {rebuilt}"
    );
    assert!(altered > 0 && refused > 0 && read > 0 && exported > 0 && rebuilt > 0);
}

#[test]
fn a_backup_is_whole_and_comes_back_and_the_replaced_store_is_kept() {
    let folder = folder();
    let path = folder.path().join("s");
    made(&path);
    let mut live = Store::open(&path, now()).unwrap();
    let backup = live.back_up(&folder.path().join("backups"), now()).unwrap();
    store::verify_file(&backup).unwrap();
    let saved = live.household(now()).unwrap();
    good(&mut live, &place("garage"));
    let after = live.household(now()).unwrap();
    let restored = store::restore(&backup, &path, now()).unwrap();
    // The skep that had it open sees the old content, as news.
    let back = live.household(now()).unwrap();
    assert_eq!(back.places, saved.places);
    assert_eq!(back.dossiers, saved.dossiers);
    assert!(back.revision > after.revision);
    assert_eq!(live.check(now()).unwrap(), vec![]);
    let kept = Store::open(&restored.replaced.unwrap(), now()).unwrap();
    assert_eq!(kept.household(now()).unwrap(), after);
    good(&mut live, &place("attic"));
}

#[test]
fn a_backup_comes_back_over_a_ruin_and_the_ruin_is_kept() {
    let folder = folder();
    let path = folder.path().join("s");
    made(&path);
    let backup = Store::open(&path, now())
        .unwrap()
        .back_up(&folder.path().join("backups"), now())
        .unwrap();
    let bytes = fs::read(&path).unwrap();
    for ruin in [b"ruin".repeat(2000), Vec::new(), bytes[..5000].to_vec()] {
        fs::write(&path, &ruin).unwrap();
        let restored = store::restore(&backup, &path, now()).unwrap();
        assert_eq!(fs::read(restored.replaced.unwrap()).unwrap(), ruin);
        let store = Store::open(&path, now()).unwrap();
        assert_eq!(store.household(now()).unwrap().dossiers.len(), 1);
        drop(store);
    }
    fs::remove_file(&path).unwrap();
    assert!(
        store::restore(&backup, &path, now())
            .unwrap()
            .replaced
            .is_none()
    );
    assert!(Store::open(&path, now()).is_ok());
    // A ruin is no backup, and the store stays as it is.
    let before = fs::read(&path).unwrap();
    let ruin = folder.path().join("ruin");
    fs::write(&ruin, &bytes[..5000]).unwrap();
    assert!(store::restore(&ruin, &path, now()).is_err());
    assert_eq!(fs::read(&path).unwrap(), before);
}

#[test]
fn old_backups_are_taken_away_and_nothing_else() {
    let folder = folder();
    let path = folder.path().join("s");
    made(&path);
    let live = Store::open(&path, now()).unwrap();
    let backups = folder.path().join("backups");
    for n in 0..40 {
        live.back_up(&backups, now().plus_days(-f64::from(n)))
            .unwrap();
    }
    fs::write(backups.join("skep-notes.backup"), "mine").unwrap();
    let gone = live
        .thin_out(&backups, now(), store::keep::Rule::default())
        .unwrap();
    let left = store::backups(&backups).unwrap();
    assert_eq!(gone.len() + left.len(), 40);
    assert!((10..=15).contains(&left.len()), "{}", left.len());
    assert_eq!(left.last().unwrap().at.date(), now().day());
    assert!(backups.join("skep-notes.backup").exists());
}

#[test]
fn a_check_finds_what_other_hands_did() {
    let folder = folder();
    let path = folder.path().join("s");
    made(&path);
    let store = Store::open(&path, now()).unwrap();
    assert_eq!(store.check(now()).unwrap(), vec![]);
    let other = Connection::open(&path).unwrap();
    other
        .execute_batch(
            "PRAGMA foreign_keys = OFF;
             UPDATE vessel SET place = 77 WHERE tag = 'J2';
             UPDATE reading SET at_ms = 9000000000000;
             UPDATE batch SET style = 'kvass';
             CREATE TABLE diary (x);
             INSERT INTO stay (batch, vessel, from_ms, from_off, to_ms, to_off)
                 VALUES (1, 1, 1795000000000, 0, 1795999999999, 0);",
        )
        .unwrap();
    let found = store.check(now()).unwrap();
    let said: Vec<_> = found.iter().map(ToString::to_string).collect();
    for part in [
        "row 2 of vessel speaks of a place that is not there",
        "reading 1 lies in the future",
        "style 'kvass' is not a known word",
        "'diary' does not belong here",
        "vessel J1 holds two batches at a time",
        "vessel J2 stands elsewhere than its history says",
    ] {
        assert!(
            said.iter().any(|s| s.contains(part)),
            "{part} not in {said:#?}"
        );
    }
}

#[test]
fn what_can_be_read_of_a_ruin_is_salvaged() {
    let folder = folder();
    let path = folder.path().join("s");
    let mut home = home_in(Store::open(&path, now()).unwrap());
    let id = start(&mut home.store, home.j1);
    for n in 0..400 {
        let mut reading = sg(home.j1, 1.05, "2026-11-24T07:00:00-08:00");
        reading.note = format!("{n} {}", "words ".repeat(20));
        good(&mut home.store, &Deed::Record(vec![reading]));
    }
    drop(home);
    let rows = |archive: &[u8]| -> serde_json::Value { serde_json::from_slice(archive).unwrap() };
    let whole = rows(&salvaged(&path, folder.path()).unwrap());
    let count =
        |all: &serde_json::Value, table: &str| all["tables"][table].as_array().unwrap().len();
    assert_eq!(
        (count(&whole, "reading"), count(&whole, "vessel")),
        (400, 2)
    );
    assert_eq!(whole["tables"]["batch"][0]["id"], id.0);
    assert_eq!(whole["lost"], serde_json::json!([]));
    // One page in the middle of the readings is wiped out.
    let conn = Connection::open(&path).unwrap();
    let pages: i64 = conn
        .query_row("PRAGMA page_size", [], |r| r.get(0))
        .unwrap();
    drop(conn);
    let mut bytes = fs::read(&path).unwrap();
    let needle = b"200 words words";
    let at = bytes
        .windows(needle.len())
        .position(|w| w == needle)
        .unwrap();
    let size = usize::try_from(pages).unwrap();
    let page = at / size * size;
    bytes[page..page + size].fill(0);
    fs::write(&path, &bytes).unwrap();
    // Not while the store is open here: nothing else may open its file then.
    let store = Store::open(&path, now()).unwrap();
    assert!(salvaged(&path, folder.path()).is_err());
    drop(store);
    let archive = salvaged(&path, folder.path()).unwrap();
    let saved = rows(&archive);
    let readings = saved["tables"]["reading"].as_array().unwrap();
    assert!((300..400).contains(&readings.len()), "{}", readings.len());
    for begin in ["0 ", "399 "] {
        let there = |row: &&serde_json::Value| row["note"].as_str().unwrap().starts_with(begin);
        assert!(readings.iter().find(there).is_some(), "{begin}");
    }
    assert_eq!((count(&saved, "batch"), count(&saved, "vessel")), (1, 2));
    let lost = saved["lost"].as_array().unwrap();
    assert!(
        lost.iter().any(|l| l.as_str().unwrap().contains("reading")),
        "{lost:?}"
    );
    let again = folder.path().join("again");
    Store::rebuild(&again, archive.as_slice()).unwrap();
    let rebuilt = Store::open(&again, now()).unwrap();
    assert_eq!(rebuilt.check(now()).unwrap(), vec![]);
    assert_eq!(by_hand(&rebuilt).len(), readings.len());
    let store = Store::open(&path, now()).unwrap();
    assert!(matches!(
        store.check(now()).unwrap()[0],
        store::Finding::Damaged(_)
    ));
}
