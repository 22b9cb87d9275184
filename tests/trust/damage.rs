//! A damaged store, by the real program: never a panic, never written over,
//! always a way out; what can be read can be exported, and a backup comes back.
//!
//! Thousands of flips of the store alone: `SKEP_FLIPS=20000 cargo test --test store flipped`.

use crate::kit::*;
use rusqlite::Connection;
use std::fs;
use std::path::Path;
use std::process::Output;

/// A home with a reading, a backup, and logger data.
fn home() -> Home {
    let home = Home::new();
    for line in ["read J1 68f --note before", "note J1 foamy", "backup"] {
        let done = home.run(line);
        assert!(done.status.success(), "{}", said(&done));
    }
    let _ = home.open().revision().unwrap();
    home
}

/// Ended by itself, with a code of the table, and no panic.
#[track_caller]
fn ended(line: &str, done: &Output) -> i32 {
    let said = said(done);
    let code = done
        .status
        .code()
        .unwrap_or_else(|| panic!("{line}: {}: {said}", done.status));
    assert!(code != 101 && !said.contains("panicked"), "{line}: {said}");
    code
}

/// One bad store: every verb says why and what to do, and touches nothing; then
/// the backup comes back and the bad one is kept.
fn way_out(home: &Home, name: &str, way: &str, refused: bool) {
    let bad = fs::read(home.store()).unwrap();
    for line in [
        "today",
        "read J1 68f --anyway",
        "check",
        "export salvage",
        "history",
        "undo",
    ] {
        if !refused && (line.starts_with("read") || line == "undo") {
            continue;
        }
        let done = home.run(line);
        let code = ended(line, &done);
        if refused && line != "export salvage" {
            assert_eq!(code, 3, "{name}: {line}: {}", said(&done));
            assert!(said(&done).contains(way), "{name}: {line}: {}", said(&done));
        }
        assert!(
            fs::read(home.store()).unwrap() == bad,
            "{name}: {line} wrote"
        );
    }
    let done = home.run("restore --yes");
    assert!(done.status.success(), "{name}: {}", said(&done));
    let kept = fs::read_dir(home.path(""))
        .unwrap()
        .map(|e| e.unwrap().path());
    let kept = kept.filter(|p| p.to_string_lossy().contains("replaced"));
    if refused {
        assert!(
            kept.into_iter().any(|p| fs::read(p).unwrap() == bad),
            "{name}: not kept"
        );
    }
    assert!(home.run("check").status.success(), "{name}");
    assert_eq!(home.notes().get("before"), Some(&1), "{name}");
    home.sound();
}

#[test]
fn every_kind_of_ruin_is_refused_with_a_way_out() {
    let home = home();
    let whole = fs::read(home.store()).unwrap();
    let with = |at: usize, new: &[u8]| {
        let mut bytes = whole.clone();
        bytes[at..at + new.len()].copy_from_slice(new);
        bytes
    };
    let cases: Vec<(&str, Vec<u8>, &str)> = vec![
        ("zero length", Vec::new(), "skep restore"),
        ("one byte", whole[..1].to_vec(), "skep restore"),
        ("half a head", whole[..60].to_vec(), "skep restore"),
        ("wrong magic", with(0, b"XQLite"), "skep restore"),
        ("another program's", with(68, &[0, 0, 0, 1]), "skep restore"),
        ("newer", with(60, &[0, 0, 1, 0]), "newer skep"),
        ("no pages", whole[..100].to_vec(), "skep restore"),
        ("wiped", vec![0; whole.len()], "skep restore"),
    ];
    for (name, bytes, way) in &cases {
        for suffix in ["-wal", "-shm"] {
            let _ = fs::remove_file(home.path(&format!("home.store{suffix}")));
        }
        fs::write(home.store(), bytes).unwrap();
        way_out(&home, name, way, true);
    }
    println!(
        "{} kinds of ruin, each refused, kept and restored",
        cases.len()
    );
}

/// The first page of a table gone: the store may still open, and the way out must
/// not need what can't be read.
#[test]
fn a_table_that_can_t_be_read_stops_no_restoring() {
    let home = home();
    let conn = Connection::open(home.store()).unwrap();
    let size: i64 = conn
        .query_row("PRAGMA page_size", [], |row| row.get(0))
        .unwrap();
    let mut ask = conn
        .prepare("SELECT name, rootpage FROM sqlite_schema WHERE type = 'table' AND rootpage > 1")
        .unwrap();
    let tables: Vec<(String, i64)> = ask
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
        .unwrap()
        .map(|t| t.unwrap())
        .collect();
    drop(ask);
    drop(conn);
    let whole = fs::read(home.store()).unwrap();
    for (table, page) in &tables {
        let mut bytes = whole.clone();
        let begin = usize::try_from((page - 1) * size).unwrap();
        let end = usize::try_from(page * size).unwrap();
        bytes[begin..end].fill(0xa5);
        for suffix in ["-wal", "-shm"] {
            let _ = fs::remove_file(home.path(&format!("home.store{suffix}")));
        }
        fs::write(home.store(), &bytes).unwrap();
        let done = home.run("restore --yes");
        assert!(done.status.success(), "{table}: {}", said(&done));
        assert_eq!(home.notes().get("before"), Some(&1), "{table}");
    }
    assert!(tables.len() > 20, "{}", tables.len());
    println!("{} tables, each ruined once, each restored", tables.len());
}

/// All values that an archive tells, but for the counters; none where it could not be written.
fn values(done: &Output) -> Option<serde_json::Value> {
    let mut all: serde_json::Value = serde_json::from_slice(&done.stdout).ok()?;
    let tables = all["tables"].as_object_mut()?;
    for counter in ["state", "sqlite_sequence"] {
        tables.remove(counter);
    }
    done.status.success().then(|| all["tables"].take())
}

#[test]
fn a_value_that_another_hand_changed_is_named_with_what_to_do() {
    let home = home();
    let logged = format!(
        "{{\"vessel\":\"J1\",\"at\":{},\"temperature_c\":20.1,\"source\":\"probe\"}}\n",
        lately_in_seconds()
    );
    fs::write(home.path("probe.jsonl"), logged).unwrap();
    assert!(home.run("listen probe.jsonl").status.success());
    let whole = fs::read(home.store()).unwrap();
    for (table, sql, name) in [
        (
            "reading",
            "UPDATE reading SET value = value + 0.001",
            "row 1 of reading is not as skep wrote it",
        ),
        (
            "batch",
            "UPDATE batch SET planned_og = 1.029",
            "row 1 of batch is not as skep wrote it",
        ),
        (
            "event",
            "DELETE FROM event WHERE id = 1",
            "row 1 of event is missing",
        ),
        (
            "change",
            "UPDATE change SET name = 'x' WHERE id = 2",
            "row 2 of change is not as skep wrote it",
        ),
        (
            "change_line",
            "UPDATE change_line SET new = 'x' WHERE change = 3 AND seq = 1",
            "row 3 of change is not as skep wrote it",
        ),
        (
            "sample",
            "UPDATE sample SET value = 20.2",
            "samples of 'probe' on ",
        ),
    ] {
        for suffix in ["-wal", "-shm"] {
            let _ = fs::remove_file(home.path(&format!("home.store{suffix}")));
        }
        fs::write(home.store(), &whole).unwrap();
        assert!(home.run("check").status.success(), "{table}");
        let conn = Connection::open(home.store()).unwrap();
        conn.execute_batch("PRAGMA foreign_keys = OFF").unwrap();
        assert_eq!(conn.execute(sql, []).unwrap(), 1, "{table}");
        drop(conn);
        let done = home.run("check");
        assert_eq!(ended(table, &done), 3, "{table}");
        let said = said(&done);
        assert!(
            said.contains(name) && said.contains("Look at what is named and correct it"),
            "{table}: {said}"
        );
        let json: serde_json::Value =
            serde_json::from_slice(&home.run("check --json").stdout).unwrap();
        assert!(json["findings"].to_string().contains(name), "{json}");
    }
}

#[test]
fn flipped_and_cut_stores_never_end_in_a_panic() {
    let flips = times("SKEP_RUINS", 24);
    let home = home();
    let whole = fs::read(home.store()).unwrap();
    let mut dice = Dice(times("SKEP_SEED", 20261125));
    let (mut refused, mut exported, mut altered) = (0, 0, 0);
    let before = values(&home.run("export all")).unwrap();
    for n in 0..flips {
        let mut bytes = whole.clone();
        if n % 4 == 0 {
            bytes.truncate(dice.below(bytes.len() as u64) as usize);
        } else {
            for _ in 0..1 << (n % 5) {
                let at = dice.below(bytes.len() as u64) as usize;
                bytes[at] ^= 1 << dice.below(8);
            }
        }
        for suffix in ["-wal", "-shm"] {
            let _ = fs::remove_file(home.path(&format!("home.store{suffix}")));
        }
        fs::write(home.store(), &bytes).unwrap();
        let checked = home.run("check");
        let code = ended("check", &checked);
        if let Some(now) = values(&home.run("export all"))
            && now != before
        {
            altered += 1;
            assert_eq!(code, 3, "{n} says something else, and no check names it");
        }
        for line in ["today", "show J1 --ledger", "export salvage", "export all"] {
            let done = home.run(line);
            let code = ended(line, &done);
            refused += usize::from(code == 3 && line == "today");
            let begun = done.stdout.starts_with(b"{");
            exported += usize::from(line == "export salvage" && begun);
        }
        assert!(
            fs::read(home.store()).unwrap() == bytes,
            "{n} was written to"
        );
        let done = home.run("restore --yes");
        assert!(done.status.success(), "{n}: {}", said(&done));
        assert_eq!(home.notes().get("before"), Some(&1), "{n}");
        for entry in fs::read_dir(home.path("")).unwrap() {
            let path = entry.unwrap().path();
            if path.to_string_lossy().contains("replaced") {
                fs::remove_file(path).unwrap();
            }
        }
    }
    println!(
        "{flips} ruins by the program: {refused} refused, {exported} exported, {altered} with \
         other values, each named by check; all restored"
    );
    assert!(exported > 0);
}

#[test]
fn what_is_salvaged_makes_a_whole_store_again() {
    let home = home();
    let done = home.run("export salvage --into saved.json");
    assert!(done.status.success(), "{}", said(&done));
    let done = home.run("rebuild saved.json --store new.store");
    assert!(done.status.success(), "{}", said(&done));
    let done = home.run("check --store new.store");
    assert!(done.status.success(), "{}", said(&done));
    let all = |store: &str| {
        let done = home.run(&format!("export all --store {store}"));
        let all: serde_json::Value = serde_json::from_slice(&done.stdout).unwrap();
        all["tables"].clone()
    };
    assert_eq!(all("home.store"), all("new.store"));
}

#[test]
fn a_journal_alone_is_told_and_not_played_into_another_store() {
    let home = home();
    let open = home.open();
    fs::copy(home.path("home.store-wal"), home.path("kept-wal")).unwrap();
    drop(open);
    fs::remove_file(home.store()).unwrap();
    fs::rename(home.path("kept-wal"), home.path("home.store-wal")).unwrap();
    let wal = fs::read(home.path("home.store-wal")).unwrap();
    for line in ["today", "places add attic", "check"] {
        let done = home.run(line);
        assert_eq!(ended(line, &done), 3, "{line}");
        assert!(
            said(&done).contains("moved or lost"),
            "{line}: {}",
            said(&done)
        );
        assert!(!home.store().exists(), "{line}");
        assert_eq!(fs::read(home.path("home.store-wal")).unwrap(), wal);
    }
    let done = home.run("restore --yes");
    assert!(done.status.success(), "{}", said(&done));
    assert_eq!(home.notes().get("before"), Some(&1));
    home.sound();
}

/// A change that another program began and could not end: its journal is hot.
#[test]
fn a_hot_journal_is_rolled_back() {
    let home = home();
    let hot = home.path("hot.store");
    {
        let before = home.path("b.store");
        fs::copy(home.store(), &before).unwrap();
        let conn = Connection::open(&before).unwrap();
        conn.execute_batch(
            "PRAGMA journal_mode = DELETE; PRAGMA cache_size = 1; PRAGMA cache_spill = 1; BEGIN;
             UPDATE change_line SET new = new || zeroblob(500) WHERE typeof(new) = 'text';
             UPDATE reading SET note = 'half-written ' || note;
             UPDATE change SET name = name || ' half-written' || hex(randomblob(4000));",
        )
        .unwrap();
        let journal = home.path("b.store-journal");
        assert!(
            fs::metadata(&journal).unwrap().len() > 512,
            "no hot journal"
        );
        fs::copy(&before, &hot).unwrap();
        fs::copy(&journal, home.path("hot.store-journal")).unwrap();
        assert!(
            fs::read(&hot).unwrap() != fs::read(home.store()).unwrap(),
            "nothing spilled"
        );
    }
    let done = home.run("export all --store hot.store");
    assert_eq!(ended("export", &done), 0);
    let tables = |done: &Output| -> serde_json::Value {
        serde_json::from_slice::<serde_json::Value>(&done.stdout).unwrap()["tables"].clone()
    };
    assert!(
        tables(&done) == tables(&home.run("export all")),
        "not rolled back"
    );
    assert!(home.run("check --store hot.store").status.success());
    assert!(!Path::new(&home.path("hot.store-journal")).exists());
}
