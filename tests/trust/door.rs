//! The one way to a store: programs that look in beside skep, restoring while others
//! write, a store that is lost, read-only or unfit to be written.
//!
//! Long form: `SKEP_ROUNDS=50 cargo test --test trust door -- --nocapture`.

use crate::disk::{SmallDisk, as_nobody};
use crate::hands::keep;
use crate::kit::*;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};

#[track_caller]
fn well(home: &Home, line: &str) -> String {
    let done = home.run(line);
    assert!(done.status.success(), "{line}: {}", said(&done));
    said(&done)
}

#[track_caller]
fn refused(done: &Output, part: &str) {
    assert_eq!(done.status.code(), Some(3), "{}", said(done));
    assert!(said(done).contains(part), "'{part}' not in {}", said(done));
}

#[test]
fn a_foreign_reader_beside_the_dashboard_loses_nothing() {
    let rounds = times("SKEP_ROUNDS", 4);
    let home = Home::new();
    let (mut kept, mut looks) = (Vec::new(), 0);
    for round in 0..rounds {
        // Each round makes the day's copy while the screen is open.
        let _ = fs::remove_dir_all(home.path("home-backups"));
        let foreign = Foreign::start(&home);
        let mut screen = home.screen(&[]);
        screen.see("heather").see("▌");
        for n in 0..6 {
            let note = format!("r{round}-{n}");
            screen.send(&format!("{}f '{note}", 66 + n % 5)).see(&note);
            keep(&mut screen);
            kept.push(note);
            let note = format!("shell{round}-{n}");
            well(&home, &format!("read J1 68f --anyway --note {note}"));
            kept.push(note);
            if n == 2 {
                while skep::store::backups(&home.path("home-backups"))
                    .unwrap()
                    .is_empty()
                {
                    std::thread::sleep(std::time::Duration::from_millis(10));
                }
            }
        }
        screen.send("q");
        assert!(screen.ended());
        looks += foreign.end();
        let notes = home.notes();
        for note in &kept {
            assert_eq!(notes.get(note), Some(&1), "{note} was acknowledged");
        }
        well(&home, "check");
    }
    println!(
        "{rounds} rounds of the dashboard, {looks} foreign looks: {} acknowledged, 0 lost",
        kept.len()
    );
    assert!(looks > 0);
}

#[test]
fn a_foreign_reader_beside_a_logger_loses_nothing() {
    let rounds = times("SKEP_ROUNDS", 4);
    let home = Home::new();
    let log = home.path("probe.jsonl");
    fs::write(&log, "").unwrap();
    let begin = now().utc_ms() / 1000 - 5 * 86_400;
    let (mut sent, mut looks) = (0, 0);
    for _ in 0..rounds {
        let foreign = Foreign::start(&home);
        let mut command = home.command(["listen", "probe.jsonl", "--follow", "--source", "probe"]);
        let mut child = command.stdout(Stdio::null()).spawn().unwrap();
        for _ in 0..5 {
            let mut lines = String::new();
            for _ in 0..200 {
                let at = begin + sent * 30;
                writeln!(
                    lines,
                    "{{\"vessel\":\"J1\",\"at\":{at},\"temperature_c\":20.5}}"
                )
                .unwrap();
                sent += 1;
            }
            let mut file = fs::File::options().append(true).open(&log).unwrap();
            file.write_all(lines.as_bytes()).unwrap();
            // Seen by another program: so it is kept, whatever comes.
            while home.samples("probe J1") < sent as usize {
                assert!(child.try_wait().unwrap().is_none(), "it ended");
                std::thread::sleep(std::time::Duration::from_millis(20));
            }
        }
        // SIGKILL.
        child.kill().unwrap();
        child.wait().unwrap();
        looks += foreign.end();
        assert_eq!(home.samples("probe J1"), sent as usize);
        well(&home, "check");
    }
    println!("{rounds} rounds of a logger, {looks} foreign looks: {sent} seen, 0 lost");
    assert!(looks > 0);
}

#[test]
fn a_logger_s_file_is_never_the_store_itself() {
    let home = Home::new();
    let open = home.open();
    for file in ["home.store", "./home.store-wal", "home.store-shm"] {
        let done = home.run(&format!("listen {file} --follow"));
        assert_eq!(done.status.code(), Some(2), "{file}: {}", said(&done));
        assert!(said(&done).contains("the store itself"), "{}", said(&done));
    }
    drop(open);
    home.sound();
}

/// Notes of a store and of all that restoring has put aside.
fn notes_of_all(home: &Home) -> BTreeMap<String, usize> {
    let mut notes = home.notes();
    for copy in files(&home.path(""), "home.store.replaced-") {
        let store = skep::store::Store::open(&copy, now()).unwrap();
        for dossier in store.household(now()).unwrap().dossiers {
            for reading in dossier.readings {
                *notes.entry(reading.note).or_default() += 1;
            }
        }
    }
    notes
}

/// Files of a folder by the beginning of their names, without journals.
fn files(folder: &Path, begins: &str) -> Vec<PathBuf> {
    let names = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut found: Vec<_> = names
        .map(|entry| entry.path())
        .filter(|path| {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            name.starts_with(begins) && !name.ends_with("-wal") && !name.ends_with("-shm")
        })
        .collect();
    found.sort();
    found
}

#[test]
fn restoring_while_others_write_loses_nothing() {
    let rounds = times("SKEP_ROUNDS", 4) * 3;
    let home = Home::new();
    well(&home, "backup");
    let over = AtomicBool::new(false);
    let kept: Vec<Vec<String>> = std::thread::scope(|scope| {
        let (home, over) = (&home, &over);
        let mut hands: Vec<_> = (0..3)
            .map(|hand| {
                scope.spawn(move || {
                    let mut kept = Vec::new();
                    for n in 0.. {
                        if over.load(Ordering::Relaxed) {
                            break;
                        }
                        let note = format!("h{hand}-{n}");
                        let done = home.run(&format!("read J1 68f --anyway --note {note}"));
                        if done.status.success() {
                            kept.push(note);
                        }
                    }
                    kept
                })
            })
            .collect();
        hands.push(scope.spawn(move || {
            let mut kept = Vec::new();
            let mut screen = home.screen(&[]);
            screen.see("heather").see("▌");
            for n in 0.. {
                if over.load(Ordering::Relaxed) {
                    break;
                }
                let note = format!("s-{n}");
                screen.send(&format!("{}f '{note}", 66 + n % 5)).see(&note);
                keep(&mut screen);
                kept.push(note);
            }
            screen.send("q");
            assert!(screen.ended());
            kept
        }));
        for _ in 0..rounds {
            let said = well(home, "restore --yes");
            assert!(said.contains("all that was written until then"), "{said}");
        }
        over.store(true, Ordering::Relaxed);
        hands.into_iter().map(|h| h.join().unwrap()).collect()
    });
    let notes = notes_of_all(&home);
    let kept: Vec<String> = kept.into_iter().flatten().collect();
    let lost: Vec<_> = kept.iter().filter(|n| !notes.contains_key(*n)).collect();
    assert!(lost.is_empty(), "{} lost: {lost:?}", lost.len());
    well(&home, "check");
    println!(
        "{rounds} restorations under 4 writers: {} acknowledged, 0 lost",
        kept.len()
    );
    assert!(!kept.is_empty());
}

/// A home whose store was deleted, and its backups from the oldest on.
fn lost() -> (Home, Vec<PathBuf>) {
    let home = Home::new();
    let _ = fs::remove_dir_all(home.path("home-backups"));
    for n in 0..3 {
        well(&home, &format!("read J1 68f --anyway --note before{n}"));
        // By hand each has a day of its own.
        let day = now().plus_days(f64::from(n) - 10.0).day();
        let made = home.open().back_up(&home.path("home-backups"), now());
        let name = format!("skep-{day}-120000.backup");
        fs::rename(made.unwrap(), home.path("home-backups").join(name)).unwrap();
    }
    for file in files(&home.path("home-backups"), "skep-") {
        if skep::store::backups(&home.path("home-backups"))
            .unwrap()
            .iter()
            .all(|b| b.path != file || b.at.date() == now().day())
        {
            fs::remove_file(file).unwrap();
        }
    }
    for suffix in ["", "-wal", "-shm"] {
        let _ = fs::remove_file(home.path(&format!("home.store{suffix}")));
    }
    let backups = files(&home.path("home-backups"), "skep-");
    assert_eq!(backups.len(), 3);
    (home, backups)
}

#[test]
fn a_lost_store_is_told_with_its_newest_whole_copy_and_comes_back() {
    let (home, backups) = lost();
    // The newest copy is damaged in the middle of a page.
    let mut bytes = fs::read(&backups[2]).unwrap();
    let half = bytes.len() / 2;
    bytes[half..half + 6000].fill(0xa5);
    fs::write(&backups[2], bytes).unwrap();
    let whole = backups[1].display().to_string();
    for line in ["today", "read J1 68f", "places add attic", "undo", "check"] {
        let done = home.run(line);
        refused(&done, &whole);
        refused(&done, "skep restore --yes");
        assert!(!home.store().exists(), "{line}");
    }
    let mut screen = home.screen(&[("COLUMNS", "80")]);
    screen.see("skep restore --yes");
    assert!(!screen.ended());
    let told = well(&home, "restore --yes");
    assert!(told.contains(&whole), "{told}");
    assert_eq!(home.notes().get("before1"), Some(&1));
    home.sound();
    // A damaged one that is named is refused, and the whole one named.
    let done = home.run(&format!("restore {} --yes", backups[2].display()));
    refused(&done, &whole);
}

#[test]
fn a_new_store_begins_only_when_asked_for_and_spares_the_other_s_copies() {
    let (home, backups) = lost();
    refused(&home.run("places add attic"), "--new-store");
    well(&home, "--new-store places add attic");
    // So many of the other store's that the rule would remove most.
    for n in 0..60 {
        let day = now().plus_days(-20.0 - f64::from(n)).day();
        let name = format!("skep-{day}-120000.backup");
        fs::copy(&backups[0], home.path("home-backups").join(name)).unwrap();
    }
    let before = files(&home.path("home-backups"), "skep-");
    well(&home, "places add cellar");
    well(&home, "places add garage");
    let after = files(&home.path("home-backups"), "skep-");
    assert_eq!(after.len(), before.len() + 1, "{after:?}");
    assert!(before.iter().all(|b| after.contains(b)));
}

#[test]
fn every_way_to_write_asks_the_same_before_it_writes() {
    let ruins = times("SKEP_RUINS", 24);
    let home = Home::new();
    for line in [
        "read J1 68f --note before",
        "note J1 foamy",
        "backup",
        "undo",
    ] {
        well(&home, line);
    }
    let day = lately();
    fs::write(
        home.path("book.csv"),
        format!("Date,Time,Temp (F)\n{day},12:00,68\n"),
    )
    .unwrap();
    let at = lately_in_seconds();
    let line = format!("{{\"vessel\":\"J1\",\"at\":{at},\"temperature_c\":20.5}}\n");
    fs::write(home.path("probe.jsonl"), line).unwrap();
    let whole = fs::read(home.store()).unwrap();
    let mut dice = Dice(times("SKEP_SEED", 20261125));
    let (mut unfit, mut fit) = (0, 0);
    for n in 0..ruins {
        let mut bytes = whole.clone();
        for _ in 0..1 << (n % 6) {
            let at = dice.below(bytes.len() as u64) as usize;
            bytes[at] ^= 1 << dice.below(8);
        }
        let again = || {
            for suffix in ["-wal", "-shm"] {
                let _ = fs::remove_file(home.path(&format!("home.store{suffix}")));
            }
            fs::write(home.store(), &bytes).unwrap();
        };
        again();
        let read = home.run("read J1 68f --anyway");
        let refuses = read.status.code() == Some(3);
        for line in [
            "undo",
            "redo",
            "note J1 foam",
            "import book.csv --vessel J1 --dates ymd --keep",
            "listen probe.jsonl",
        ] {
            again();
            let done = home.run(line);
            let code = done.status.code();
            assert!(code.is_some_and(|c| c != 101), "{line}: {}", said(&done));
            // What a verb needs to read may be damaged where another does not look.
            if refuses {
                assert_eq!(code, Some(3), "{n} {line}: {}", said(&done));
                let now = fs::read(home.store()).unwrap();
                assert!(now == bytes, "{n}: {line} wrote to an unfit store");
            }
        }
        unfit += usize::from(refuses);
        fit += usize::from(!refuses);
    }
    println!("{ruins} damaged copies: {unfit} refused by every verb alike, {fit} fit");
    assert!(unfit > 0);
}

#[test]
fn no_room_for_the_day_s_copy_stops_no_way_to_write() {
    let home = Home::new();
    well(&home, "read J1 68f --note before");
    let folder = home.path("home-backups");
    fs::remove_dir_all(&folder).unwrap();
    fs::write(&folder, "no folder").unwrap();
    let day = lately();
    let table = format!("Date,Time,Temp (F),Notes\n{day},12:00,68,imported\n");
    fs::write(home.path("book.csv"), table).unwrap();
    let at = lately_in_seconds();
    let line = format!("{{\"vessel\":\"J1\",\"at\":{at},\"temperature_c\":20.5}}\n");
    fs::write(home.path("probe.jsonl"), line).unwrap();
    for line in [
        "read J1 68f --anyway --note kept",
        "undo",
        "redo",
        "import book.csv --vessel J1 --dates ymd --keep",
        "listen probe.jsonl",
    ] {
        let said = well(&home, line);
        assert!(
            said.contains("no copy of today could be made"),
            "{line}: {said}"
        );
    }
    let notes = home.notes();
    assert_eq!(
        (notes.get("kept"), notes.get("imported")),
        (Some(&1), Some(&1))
    );
}

#[test]
fn what_killed_runs_left_behind_is_removed_when_their_process_is_gone() {
    let home = Home::new();
    well(&home, "backup");
    let mut child = Command::new("true").spawn().unwrap();
    let gone = child.id();
    child.wait().unwrap();
    let alive = std::process::id();
    let of = |process: u32| {
        let backup = "home-backups/skep-2026-01-01-000000.backup";
        [
            format!("home.store.new-{process}-0"),
            format!("home.store.rebuilt-{process}-1"),
            format!("{backup}.part-{process}-0"),
        ]
    };
    for name in of(gone).iter().chain(&of(alive)) {
        fs::write(home.path(name), "half").unwrap();
        fs::write(home.path(&format!("{name}-wal")), "half").unwrap();
    }
    well(&home, "history");
    for name in of(gone) {
        assert!(!home.path(&name).exists(), "{name}");
        assert!(!home.path(&format!("{name}-wal")).exists(), "{name}");
    }
    for name in of(alive) {
        assert!(home.path(&name).exists(), "{name} belongs to a process");
    }
}

#[test]
fn a_damaged_schema_number_makes_no_copy() {
    let home = Home::new();
    let mut bytes = fs::read(home.store()).unwrap();
    for wrong in [0, 1, 3] {
        bytes[63] = wrong;
        fs::write(home.store(), &bytes).unwrap();
        for line in ["today", "read J1 68f --anyway", "today"] {
            refused(&home.run(line), "damaged");
        }
        assert!(fs::read(home.store()).unwrap() == bytes, "{wrong}");
        assert_eq!(
            files(&home.path(""), "home.store.schema"),
            Vec::<PathBuf>::new()
        );
    }
}

#[test]
fn a_read_only_store_is_read_and_exported_and_written_again_afterwards() {
    let home = Home::new();
    let mode = |path: &Path, mode| fs::set_permissions(path, fs::Permissions::from_mode(mode));
    let elsewhere = tempfile::tempdir().unwrap();
    mode(elsewhere.path(), 0o777).unwrap();
    let export = format!("export all --into {}/all.json", elsewhere.path().display());
    assert!(
        as_nobody(&home, "read J1 68f --note before")
            .status
            .success()
    );
    for (path, locked, open) in [(home.store(), 0o400, 0o600), (home.path(""), 0o500, 0o700)] {
        mode(&path, locked).unwrap();
        let show = as_nobody(&home, "show J1");
        assert!(said(&show).contains("heather"), "{}", said(&show));
        let done = as_nobody(&home, &export);
        assert!(done.status.success(), "{}", said(&done));
        assert!(elsewhere.path().join("all.json").exists());
        for line in ["read J1 68f --anyway --note locked", "undo"] {
            refused(&as_nobody(&home, line), "read-only");
        }
        mode(&path, open).unwrap();
        let done = as_nobody(&home, "read J1 68f --anyway --note open");
        assert!(done.status.success(), "{}", said(&done));
        assert!(!home.notes().contains_key("locked"));
        fs::remove_file(elsewhere.path().join("all.json")).unwrap();
    }
    // As an older skep has left it.
    let index = home.path("home.store-shm");
    let open = home.open();
    mode(&index, 0o400).unwrap();
    let done = as_nobody(&home, "read J1 68f --anyway --note index");
    assert!(done.status.success(), "{}", said(&done));
    drop(open);
    home.sound();
}

#[test]
fn a_full_disk_still_lets_one_read_and_export_elsewhere() {
    let Some(disk) = SmallDisk::new("3m") else {
        println!("no right to mount a small disk here");
        return;
    };
    let home = Home::within(&disk.0);
    let full = disk.0.join("full");
    let _ = fs::write(&full, vec![0; 3 << 20]);
    let elsewhere = tempfile::tempdir().unwrap();
    let show = home.run("show J1");
    assert!(said(&show).contains("heather"), "{}", said(&show));
    let into = elsewhere.path().join("all.json");
    well(&home, &format!("export all --into {}", into.display()));
    assert!(into.exists());
    assert!(!home.run("read J1 68f --anyway").status.success());
    fs::remove_file(&full).unwrap();
    home.sound();
    well(&home, "read J1 68f --anyway");
}

#[test]
fn damage_has_a_screen_of_its_own_with_what_to_do() {
    let home = Home::new();
    well(&home, "backup");
    let conn = rusqlite::Connection::open(home.store()).unwrap();
    let number = |sql: &str| -> usize {
        conn.query_row(sql, [], |row| row.get::<_, u32>(0)).unwrap() as usize
    };
    let size = number("PRAGMA page_size");
    let page = number("SELECT rootpage FROM sqlite_schema WHERE name = 'vessel'");
    let event = number("SELECT rootpage FROM sqlite_schema WHERE name = 'change_line'");
    drop(conn);
    let whole = fs::read(home.store()).unwrap();
    let ruin = |page: usize| {
        let mut bytes = whole.clone();
        bytes[(page - 1) * size..page * size].fill(0xa5);
        fs::write(home.store(), &bytes).unwrap();
        bytes
    };
    // What is looked at is damaged: it is said at once.
    let bytes = ruin(page);
    let mut screen = home.screen(&[]);
    screen
        .see("The store is damaged")
        .see("skep restore")
        .see("What was found");
    screen.send("q");
    assert!(screen.ended());
    assert!(fs::read(home.store()).unwrap() == bytes);
    // What nobody looks at is damaged: the first write finds it, and is refused.
    let bytes = ruin(event);
    let mut screen = home.screen(&[]);
    screen
        .see("heather")
        .see("▌")
        .send("67f 'unkept")
        .see("unkept");
    screen
        .send("\r")
        .see("The store is damaged")
        .see("skep restore");
    screen.send("\x1b").gone("What was found").see("unkept");
    // Once to be asked, once to mean it.
    screen.send("\x1b").quiet();
    screen.send("\x1b").gone("reading of");
    screen.send("q");
    assert!(screen.ended());
    assert!(fs::read(home.store()).unwrap() == bytes);
    well(&home, "restore --yes");
    home.sound();
}
