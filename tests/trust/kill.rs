//! Killed by SIGKILL at any moment, on every way by which something is kept:
//! what was acknowledged is there once, the rest whole or not at all.
//!
//! `SKEP_KILLS=1000 cargo test --test trust kill -- --nocapture` for the long form.

use crate::kit::*;
use crate::wait;
use std::fmt::Write as _;
use std::io::Write as _;
use std::process::Stdio;

/// What the kills came to.
#[derive(Default)]
struct Tally {
    kills: u64,
    /// What was killed while it ran, not just after.
    in_the_act: u64,
    acknowledged: usize,
    samples: usize,
    imports: (usize, usize),
}

/// Notes that must stand once, and notes that may stand once.
#[derive(Default)]
struct Expected {
    kept: Vec<String>,
    tried: Vec<String>,
}

#[test]
fn what_is_acknowledged_outlives_a_kill_on_every_way_in() {
    println!("{}", outlives_kills(false));
}

#[test]
fn it_outlives_a_kill_beside_a_foreign_reader_too() {
    println!("{}", outlives_kills(true));
}

/// Gives what it came to.
fn outlives_kills(beside_foreign: bool) -> String {
    let kills = times("SKEP_KILLS", 40);
    let mut dice = Dice(times("SKEP_SEED", 20261125));
    let (mut tally, mut looks) = (Tally::default(), 0);
    while tally.kills < kills {
        let home = Home::new();
        let foreign = beside_foreign.then(|| Foreign::start(&home));
        let mut expected = Expected::default();
        // A store of some size, but not so large that each round takes long.
        for _ in 0..60.min(kills - tally.kills) {
            let id = format!("k{}", tally.kills);
            match tally.kills % 4 {
                0 => by_shell(&home, &id, &mut dice, &mut tally, &mut expected),
                1 => on_screen(&home, &id, &mut dice, &mut tally, &mut expected),
                2 => by_logger(&home, &id, &mut dice, &mut tally),
                _ => by_import(&home, &id, &mut dice, &mut tally, &mut expected),
            }
            tally.kills += 1;
            look(&home, &expected);
        }
        looks += foreign.map_or(0, Foreign::end);
        let checked = home.run("check");
        assert!(checked.status.success(), "{}", said(&checked));
    }
    assert!(tally.in_the_act > 0 && tally.acknowledged > 0 && tally.samples > 0);
    format!(
        "{} kills beside {looks} foreign looks, {} of them in the act; acknowledged and found: {} readings by shell and screen, \
         {} samples, {} imports whole; {} imports not there at all",
        tally.kills,
        tally.in_the_act,
        tally.acknowledged,
        tally.samples,
        tally.imports.0,
        tally.imports.1
    )
}

fn look(home: &Home, expected: &Expected) {
    home.sound();
    let notes = home.notes();
    for note in &expected.kept {
        assert_eq!(notes.get(note), Some(&1), "{note} was acknowledged");
    }
    for note in &expected.tried {
        assert!(notes.get(note).is_none_or(|n| *n == 1), "{note} is doubled");
    }
}

/// One command after the other, until the kill.
fn by_shell(home: &Home, id: &str, dice: &mut Dice, tally: &mut Tally, expected: &mut Expected) {
    let mut left = dice.pause(400);
    for n in 0.. {
        let note = format!("{id}-{n}");
        let words = ["read", "J1", "68f", "--anyway", "--note", &note];
        let begun = std::time::Instant::now();
        let mut child = home.command(words).stdout(Stdio::null()).spawn().unwrap();
        expected.tried.push(note.clone());
        if !ends_well(&mut child, left) {
            tally.in_the_act += 1;
            return;
        }
        tally.acknowledged += 1;
        expected.kept.push(note);
        left = left.saturating_sub(begun.elapsed());
    }
}

/// Readings typed one after the other, until the kill.
fn on_screen(home: &Home, id: &str, dice: &mut Dice, tally: &mut Tally, expected: &mut Expected) {
    let mut screen = home.screen(&[]);
    screen.see("heather").see("▌");
    let pid = screen.child.process_id().unwrap();
    let pause = dice.pause(500);
    let killer = std::thread::spawn(move || {
        std::thread::sleep(pause);
        wait::signal(pid, "KILL");
    });
    let open = |s: &vt100::Screen| s.contents().contains("reading of");
    for n in 0.. {
        let note = format!("{id}-{n}");
        expected.tried.push(note.clone());
        let degrees = 66 + n % 5;
        if !screen.types(&format!("{degrees}f '{note}")) || !screen.comes(open) {
            break;
        }
        let shown = |s: &vt100::Screen| s.contents().contains(&note);
        if !screen.comes(shown) || !screen.types("\r") || !screen.comes(|s| !open(s)) {
            break;
        }
        tally.acknowledged += 1;
        expected.kept.push(note);
    }
    tally.in_the_act += 1;
    killer.join().unwrap();
    screen.child.wait().unwrap();
}

/// A logger's lines; sent again after the kill, as a logger does.
fn by_logger(home: &Home, id: &str, dice: &mut Dice, tally: &mut Tally) {
    const LINES: i64 = 40;
    let source = format!("probe {id}");
    let begin = now().utc_ms() / 1000 - 86_400;
    let lines = |from: i64, to: i64| {
        (from..to).fold(String::new(), |mut lines, n| {
            let at = begin + n * 60;
            writeln!(
                lines,
                "{{\"vessel\":\"J1\",\"at\":{at},\"temperature_c\":20.5,\"source\":\"{source}\"}}"
            )
            .unwrap();
            lines
        })
    };
    let start = || {
        let mut command = home.command(["listen"]);
        command.stdin(Stdio::piped()).stdout(Stdio::null());
        command.spawn().unwrap()
    };
    let mut child = start();
    let mut pipe = child.stdin.take().unwrap();
    let half = if dice.below(2) == 0 { 0 } else { LINES / 2 };
    if half > 0 {
        // Seen by another program: so it is kept, whatever comes.
        pipe.write_all(lines(0, half).as_bytes()).unwrap();
        let kept = || home.samples(&source);
        wait::until("half of the lines are kept", || kept() >= half as usize);
    }
    pipe.write_all(lines(half, LINES).as_bytes()).unwrap();
    drop(pipe);
    let whole = ends_well(&mut child, dice.pause(120));
    tally.in_the_act += u64::from(!whole);
    let kept = home.samples(&source);
    assert!(kept >= if whole { LINES } else { half } as usize, "{kept}");
    let mut again = start();
    again
        .stdin
        .take()
        .unwrap()
        .write_all(lines(0, LINES).as_bytes())
        .unwrap();
    assert!(ends_well(&mut again, wait::PATIENCE));
    assert_eq!(home.samples(&source), LINES as usize, "{source}");
    tally.samples += LINES as usize;
}

/// A spreadsheet: all of it, or nothing.
fn by_import(home: &Home, id: &str, dice: &mut Dice, tally: &mut Tally, expected: &mut Expected) {
    const LINES: usize = 20;
    let mut sheet = String::from("Date,Time,Temp (F),Notes\n");
    let day = now().plus_days(-2.0).day();
    let notes: Vec<String> = (0..LINES).map(|n| format!("{id}-{n}")).collect();
    let minute = dice.below(60);
    for (n, note) in notes.iter().enumerate() {
        writeln!(sheet, "{day},{n:02}:{minute:02},68.{n},{note}").unwrap();
    }
    std::fs::write(home.path("book.csv"), sheet).unwrap();
    let words = "import book.csv --vessel J1 --dates ymd --keep --source";
    let words = words.split(' ').chain([id]);
    let mut child = home.command(words).stdout(Stdio::null()).spawn().unwrap();
    let whole = ends_well(&mut child, dice.pause(150));
    tally.in_the_act += u64::from(!whole);
    let found = home.notes();
    let there = notes.iter().filter(|n| found.contains_key(*n)).count();
    assert!(
        there == LINES || (there == 0 && !whole),
        "{there} of {LINES}"
    );
    if there == LINES {
        tally.imports.0 += 1;
        expected.kept.extend(notes);
    } else {
        tally.imports.1 += 1;
    }
}
