//! Eight hands at one store: two screens, two loggers, two shells, one who looks
//! and copies, and one who takes back; the first of them brings an older store up
//! to date. No row is lost or doubled, nobody is told that the store is locked.
//!
//! `SKEP_SECONDS=300 cargo test --test trust hands -- --nocapture` for the long form.

use crate::kit::*;
use crate::terminal::Terminal;
use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::Stdio;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// What one hand did, and how long it waited at most.
#[derive(Debug, Default)]
struct Did {
    what: &'static str,
    kept: Vec<String>,
    samples: Vec<(String, usize)>,
    deeds: usize,
    longest: Duration,
}

#[test]
fn eight_hands_for_a_while_lose_and_double_nothing() {
    println!("{}", hands(false));
}

#[test]
fn eight_hands_beside_a_foreign_reader_lose_and_double_nothing() {
    println!("{}", hands(true));
}

/// Gives what it came to.
fn hands(beside_foreign: bool) -> String {
    let seconds = times("SKEP_SECONDS", 8);
    let home = Home::new();
    let foreign = beside_foreign.then(|| Foreign::start(&home));
    let over = AtomicBool::new(false);
    let all: Vec<Did> = std::thread::scope(|scope| {
        let (home, over) = (&home, &over);
        let hands = [
            scope.spawn(move || screen(home, over, "s1")),
            scope.spawn(move || screen(home, over, "s2")),
            scope.spawn(move || logger(home, over, "l1")),
            scope.spawn(move || logger(home, over, "l2")),
            scope.spawn(move || shell(home, over, "h1")),
            scope.spawn(move || shell(home, over, "h2")),
            scope.spawn(move || looker(home, over)),
            scope.spawn(move || importer(home, over, "i1")),
        ];
        std::thread::sleep(Duration::from_secs(seconds));
        over.store(true, Ordering::Relaxed);
        hands.into_iter().map(|h| h.join().unwrap()).collect()
    });
    let looks = foreign.map_or(0, Foreign::end);
    let mut came = format!("{looks} foreign looks\n");
    let notes = home.notes();
    let mut expected = 0;
    for did in &all {
        for note in &did.kept {
            assert_eq!(notes.get(note), Some(&1), "{note} of {}", did.what);
        }
        expected += did.kept.len();
        for (source, count) in &did.samples {
            assert_eq!(home.samples(source), *count, "{source}");
        }
        writeln!(
            came,
            "{}: {} deeds, the longest {:?}",
            did.what, did.deeds, did.longest
        )
        .unwrap();
    }
    assert_eq!(notes.len(), expected, "a row that nobody wrote");
    home.sound();
    assert!(home.run("check").status.success());
    let backups = fs::read_dir(home.path("home-backups")).unwrap();
    let mut whole = 0;
    for backup in backups.map(|e| e.unwrap().path()) {
        assert_eq!(
            backup.extension().unwrap(),
            "backup",
            "{}",
            backup.display()
        );
        skep::store::verify_file(&backup).unwrap();
        whole += 1;
    }
    came + &format!(
        "{seconds} seconds: {expected} readings, {whole} whole copies, nothing lost or doubled"
    )
}

/// Runs a command that must go well, and says how long it took.
fn well(home: &Home, words: &[&str], did: &mut Did) {
    let begun = Instant::now();
    let done = home.command(words.iter().copied()).output().unwrap();
    let said = said(&done);
    assert!(
        matches!(done.status.code(), Some(0 | 10..=13)) && !said.contains("locked"),
        "{words:?}: {said}"
    );
    did.longest = did.longest.max(begun.elapsed());
    did.deeds += 1;
}

fn shell(home: &Home, over: &AtomicBool, name: &str) -> Did {
    let mut did = Did {
        what: "shell",
        ..Did::default()
    };
    for n in 0.. {
        if over.load(Ordering::Relaxed) {
            break;
        }
        let note = format!("{name}-{n}");
        well(
            home,
            &[
                "read", "J1", "68f", "--anyway", "--source", name, "--note", &note,
            ],
            &mut did,
        );
        did.kept.push(note);
    }
    did
}

fn looker(home: &Home, over: &AtomicBool) -> Did {
    let mut did = Did {
        what: "looks, copies and exports",
        ..Did::default()
    };
    while !over.load(Ordering::Relaxed) {
        for words in [
            &["today"][..],
            &["backup"],
            &["export", "all"],
            &["check"],
            &["show", "J1"],
        ] {
            well(home, words, &mut did);
        }
    }
    did
}

fn importer(home: &Home, over: &AtomicBool, name: &str) -> Did {
    let mut did = Did {
        what: "imports",
        ..Did::default()
    };
    let day = now().plus_days(-2.0).day();
    for n in 0.. {
        if over.load(Ordering::Relaxed) {
            break;
        }
        let mut sheet = String::from("Date,Time,Temp (F),Notes\n");
        for line in 0..10 {
            let note = format!("{name}-{n}-{line}");
            writeln!(
                sheet,
                "{day},{:02}:{:02},68.{line},{note}",
                n / 60 % 24,
                n % 60
            )
            .unwrap();
            did.kept.push(note);
        }
        let file = format!("{name}-{n}.csv");
        fs::write(home.path(&file), sheet).unwrap();
        let source = format!("{name}-{n}");
        let words = [
            "import", &file, "--vessel", "J1", "--dates", "ymd", "--keep", "--source", &source,
        ];
        well(home, &words, &mut did);
        // The same again is known.
        well(home, &words, &mut did);
    }
    did
}

fn logger(home: &Home, over: &AtomicBool, name: &'static str) -> Did {
    let mut did = Did {
        what: "logger",
        ..Did::default()
    };
    let mut child = home
        .command(["listen", "--source", name])
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut pipe = child.stdin.take().unwrap();
    let begin = now().utc_ms() / 1000 - 5 * 86_400;
    let mut count = 0;
    while !over.load(Ordering::Relaxed) {
        for _ in 0..5 {
            let at = begin + count * 10;
            // Each line twice, as a logger does that got no answer.
            for _ in 0..2 {
                writeln!(
                    pipe,
                    "{{\"vessel\":\"J1\",\"at\":{at},\"temperature_c\":20.5}}"
                )
                .unwrap();
            }
            count += 1;
        }
        did.deeds += 1;
        std::thread::sleep(Duration::from_millis(400));
    }
    drop(pipe);
    let done = child.wait_with_output().unwrap();
    assert!(
        done.status.success() && done.stderr.is_empty(),
        "{}",
        said(&done)
    );
    did.samples.push((format!("{name} J1"), count as usize));
    did
}

fn screen(home: &Home, over: &AtomicBool, name: &str) -> Did {
    let mut did = Did {
        what: "screen",
        ..Did::default()
    };
    let mut screen = home.screen(&[]);
    screen.see("heather").see("▌");
    for n in 0.. {
        if over.load(Ordering::Relaxed) {
            break;
        }
        let note = format!("{name}-{n}");
        let begun = Instant::now();
        screen.send(&format!("{}f '{note}", 66 + n % 5)).see(&note);
        keep(&mut screen);
        did.longest = did.longest.max(begun.elapsed());
        did.deeds += 1;
        did.kept.push(note);
    }
    screen.send("q");
    assert!(screen.ended());
    did
}

/// Enter, and Enter again where it is asked for: what another hand has kept just
/// before may make it look typed twice.
pub(crate) fn keep(screen: &mut Terminal) {
    let open = |s: &vt100::Screen| s.contents().contains("reading of");
    let asks = |s: &vt100::Screen| s.contents().contains("Enter again");
    screen.send("\r").until("the slip gone or a question", |s| {
        let shown = s.contents();
        assert!(
            !shown.contains("locked") && !shown.contains("busy"),
            "{shown}"
        );
        !open(s) || asks(s)
    });
    if screen.look(open) {
        screen.send("\r").until("the slip gone", |s| !open(s));
    }
}

/// Many start at once at a store of the schema before: one brings it up to date,
/// the others wait, and all find what it held.
#[test]
fn eight_at_once_bring_an_older_store_up_to_date_once() {
    let oldest = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/stores/schema-1.store");
    for _ in 0..times("SKEP_ROUNDS", 3) {
        let home = Home::new();
        let store = home.path("old.store");
        fs::copy(&oldest, &store).unwrap();
        let lines: Vec<String> = std::thread::scope(|scope| {
            let home = &home;
            let hands: Vec<_> = (0..8)
                .map(|n| {
                    scope.spawn(move || {
                        let place = format!("place{n}");
                        let done = home
                            .command(["--store", "old.store", "places", "add", &place])
                            .output()
                            .unwrap();
                        assert!(done.status.success(), "{}", said(&done));
                        place
                    })
                })
                .collect();
            hands.into_iter().map(|h| h.join().unwrap()).collect()
        });
        let open = skep::store::Store::open(&store, now()).unwrap();
        assert_eq!(open.check(now()).unwrap(), vec![]);
        let house = open.household(now()).unwrap();
        for place in lines {
            assert_eq!(house.places.iter().filter(|p| p.name == place).count(), 1);
        }
        assert!(!house.dossiers.is_empty());
        // Each that looked before the first was done has made its copy; all are whole.
        let copies = fs::read_dir(home.path(""))
            .unwrap()
            .map(|e| e.unwrap().path());
        let mut whole = 0;
        for copy in copies.filter(|p| p.to_string_lossy().contains("old.store.schema-1")) {
            skep::store::verify_file(&copy).unwrap();
            whole += 1;
        }
        assert!(whole >= 1);
    }
}
