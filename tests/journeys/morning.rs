//! A morning: three readings, two steps, a skip, an undo; and all of it there
//! on the next start. The household is invented.

use crate::clock;
use crate::terminal::Terminal;
use skep::domain::deeds::{Deed, NewBatch, NewReading};
use skep::domain::records::*;
use skep::domain::units::*;
use skep::store::Store;
use skep::work;
use std::path::{Path, PathBuf};

fn rule(key: &str, title: &str, kind: StepKind, day: i32) -> StepRule {
    StepRule {
        key: key.into(),
        title: title.into(),
        kind,
        opens: Opens::Day { day },
        window: 0,
        slack: 3,
        too_late: TooLate::Never,
        why: "It keeps the yeast well.".into(),
        harm: "The yeast may tire.".into(),
        weight: 1,
        amount: String::new(),
        countdown: None,
        order: 0,
    }
}

fn deed(store: &mut Store, deed: &Deed, now: Moment) -> work::Receipt {
    work::carry_out(store, deed, now).unwrap()
}

/// The same for other journeys.
pub(crate) fn three_jugs(folder: &Path) -> PathBuf {
    household(folder)
}

/// Three jugs pitched five days ago, each with a step for today.
fn household(folder: &Path) -> PathBuf {
    let path = folder.join("skep.db");
    let now = clock::now();
    let pitched = now.plus_days(-4.0);
    let mut store = Store::open(&path, now).unwrap();
    let place = Deed::AddPlace {
        name: "closet".into(),
        dark: true,
        usual_temp: None,
    };
    let place = deed(&mut store, &place, now).place().unwrap();
    for (tag, name, step) in [
        ("J1", "Clover", "swirl the jug"),
        ("J2", "Heather", "wet the cap"),
        ("J3", "Linden", "look at it"),
    ] {
        let vessel = Deed::AddVessel {
            tag: tag.into(),
            kind: VesselKind::Jug,
            capacity: Litres::from_us_gallons(1.05).unwrap(),
            place,
            tare: None,
        };
        let vessel = deed(&mut store, &vessel, now).vessel().unwrap();
        let batch = NewBatch {
            name: name.into(),
            style: Style::Mead,
            variety: "traditional".into(),
            vessel: Some(vessel),
            routine: None,
            steps: vec![rule("one", step, StepKind::Other, 5)],
            yeast: None,
            tolerance: None,
            band: None,
            planned_og: Some(Gravity::known(1.1)),
            expected_fg: Some(Gravity::known(1.0)),
            volume: None,
            fizz: Fizz::Still,
            pitched: Some(pitched),
            planned_day: None,
            note: String::new(),
        };
        deed(&mut store, &Deed::StartBatch(Box::new(batch)), pitched);
        let reading = NewReading {
            subject: Subject::Vessel(vessel),
            at: pitched,
            seen: Seen::new(MeasureKind::Hydrometer, 1.1, Unit::Sg).unwrap(),
            sample_temp: None,
            instrument: None,
            source: "hand".into(),
            doubted: false,
            note: String::new(),
        };
        deed(&mut store, &Deed::Record(vec![reading]), pitched);
    }
    path
}

/// The chosen row of the shelf, and the last row.
fn rows(screen: &vt100::Screen) -> (Option<String>, Option<String>) {
    let shown = screen.contents();
    let list: Vec<&str> = shown
        .lines()
        .skip_while(|l| !(l.contains("state") && l.contains("batch")))
        .skip(1)
        .take_while(|l| !l.trim().is_empty())
        .collect();
    let chosen = list
        .iter()
        .find(|l| l.contains('▌'))
        .map(|l| (*l).to_owned());
    (chosen, list.last().map(|l| (*l).to_owned()))
}

/// Goes to a vessel: down, and from the last row to the first.
fn choose(terminal: &mut Terminal, tag: &str) {
    let mark = format!("▌ {tag} ");
    for _ in 0..4 {
        // Rows change places when an answer comes: from a row that has just become the
        // last there is no way down.
        terminal.quiet();
        terminal.until("a chosen vessel", |s| rows(s).0.is_some());
        let (chosen, last) = terminal.look(rows);
        let chosen = chosen.unwrap();
        if chosen.contains(&mark) {
            return;
        }
        let at_end = Some(&chosen) == last.as_ref();
        terminal.send(if at_end { "\x1b[H" } else { "j" });
        let tag_of = |row: &str| {
            row.trim_start_matches([' ', '▌'])
                .get(..2)
                .map(str::to_owned)
        };
        let was = tag_of(&chosen);
        terminal.until("another row", |s| {
            rows(s).0.is_some_and(|r| tag_of(&r) != was)
        });
    }
    panic!("{tag} can't be chosen");
}

#[test]
fn a_whole_morning_is_there_on_the_next_start() {
    let folder = tempfile::tempdir().unwrap();
    let store = household(folder.path());
    let mut t = Terminal::start(&store, folder.path(), &[]);
    t.see("Clover")
        .see("Heather")
        .see("Linden")
        .see("3 steps today");
    for (tag, typed, shown) in [
        ("J1", "80", "1.080"),
        ("J2", "75", "1.075"),
        ("J3", "82", "1.082"),
    ] {
        choose(&mut t, tag);
        t.send(typed).see(&format!("reading of {tag}")).send("\r");
        t.gone("reading of").see(shown);
    }
    choose(&mut t, "J1");
    t.send("d")
        .see("J1 done")
        .send("\r")
        .gone("J1 done")
        .see("2 steps today");
    choose(&mut t, "J2");
    t.send("d")
        .see("J2 done")
        .send("\r")
        .gone("J2 done")
        .see("1 step today");
    choose(&mut t, "J3");
    t.send("x")
        .see("J3 skip")
        .send("away")
        .see("because › away")
        .send("\r");
    t.gone("J3 skip").see("Nothing is due today");
    t.send("u").see("1 step today");
    t.send("q");
    assert!(t.ended());

    let mut again = Terminal::start(&store, folder.path(), &[]);
    again
        .see("1.080")
        .see("1.075")
        .see("1.082")
        .see("1 step today in J3");
    again.send("U").see("Nothing is due today");
    again.send("q");
    assert!(again.ended());

    let store = Store::open(&store, clock::now()).unwrap();
    let household = store.household(clock::now()).unwrap();
    let mut last: Vec<f64> = household
        .dossiers
        .iter()
        .filter_map(|d| d.readings.last())
        .map(|r| r.seen.value())
        .collect();
    last.sort_by(f64::total_cmp);
    assert_eq!(last, [1.075, 1.08, 1.082]);
    let steps: Vec<&StepStatus> = household
        .dossiers
        .iter()
        .flat_map(|d| &d.steps)
        .map(|s| &s.status)
        .collect();
    let done = steps
        .iter()
        .filter(|s| matches!(s, StepStatus::Done { .. }))
        .count();
    let skipped = steps
        .iter()
        .filter(|s| matches!(s, StepStatus::Skipped { reason, .. } if reason == "away"))
        .count();
    assert_eq!((done, skipped), (2, 1));
}

#[test]
fn a_change_from_outside_shows_by_itself() {
    let folder = tempfile::tempdir().unwrap();
    let path = household(folder.path());
    let mut t = Terminal::start(&path, folder.path(), &[]);
    t.see("3 steps today");
    let now = clock::now();
    let mut store = Store::open(&path, now).unwrap();
    let household = store.household(now).unwrap();
    let vessel = household.vessel_by_tag("J2").unwrap().id;
    let reading = NewReading {
        subject: Subject::Vessel(vessel),
        at: now,
        seen: Seen::new(MeasureKind::Hydrometer, 1.061, Unit::Sg).unwrap(),
        sample_temp: None,
        instrument: None,
        source: "shell".into(),
        doubted: false,
        note: String::new(),
    };
    deed(&mut store, &Deed::Record(vec![reading]), now);
    t.see("1.061").see("changed elsewhere");
    t.send("q");
    assert!(t.ended());
}

#[test]
fn signals_give_the_terminal_back() {
    for signal in ["TERM", "HUP", "INT", "QUIT"] {
        let folder = tempfile::tempdir().unwrap();
        let path = household(folder.path());
        let mut t = Terminal::start(&path, folder.path(), &[]);
        t.see("3 steps today");
        t.signal(signal);
        t.ended();
    }
}

#[test]
fn a_stop_gives_the_terminal_back_and_going_on_takes_it_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = household(folder.path());
    let mut t = Terminal::start(&path, folder.path(), &[]);
    t.see("3 steps today").send("77 68f").see("77 68f");
    for stop in ["\x1a", ""] {
        if stop.is_empty() {
            t.signal("TSTP");
        } else {
            t.send(stop);
        }
        t.until("the shell's screen", |s| {
            !s.alternate_screen() && !s.hide_cursor() && !s.bracketed_paste()
        });
        t.stopped();
        assert!(t.given_back(), "the shell has raw keys");
        t.signal("CONT");
        t.until("the screen again", vt100::Screen::alternate_screen);
        t.see("77 68f").see("3 steps today");
    }
    // Drawn afresh, it is empty for a moment: what says that it is kept is waited for.
    t.quiet();
    t.send("\r")
        .see("reading 1.077 of J1")
        .gone("─ reading of")
        .send("q");
    assert!(t.ended());
}

#[test]
fn resizing_while_typing_keeps_the_typing() {
    let folder = tempfile::tempdir().unwrap();
    let path = household(folder.path());
    let mut t = Terminal::start(&path, folder.path(), &[]);
    t.see("3 steps today").send("77 68f").see("77 68f");
    for (cols, rows) in [(30, 8), (140, 42), (40, 12), (80, 24)] {
        t.resize(cols, rows);
    }
    t.see("77 68f").see("reading of");
    // A screen drawn afresh is empty for a moment: words are gone then and come again.
    t.quiet();
    t.send("\x1b")
        .see("Esc again throws away")
        .send("\x1b")
        .gone("77 68f");
    t.send("q");
    assert!(t.ended());
}

#[test]
fn a_first_start_welcomes_and_begins_a_batch() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("new.db");
    let mut t = Terminal::start(&path, folder.path(), &[]);
    t.see("Welcome.").see("where they stand");
    for _ in 0..9 {
        t.send("\r");
    }
    t.gone("Welcome.").see("J1").see("lag");
    t.send("q");
    assert!(t.ended());
    let store = Store::open(&path, clock::now()).unwrap();
    let household = store.household(clock::now()).unwrap();
    assert_eq!(household.vessels.len(), 4);
    assert_eq!(household.dossiers.len(), 1);
}

#[test]
fn the_first_round_is_offered_until_somebody_has_answered() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("none.db");
    let start = || Terminal::start(&path, folder.path(), &["demo"]);
    for _ in 0..2 {
        // Nobody has said yes or no: it is offered again.
        let mut t = start();
        t.see("New here?").see("seems stuck").send("q");
        assert!(t.ended());
    }
    let mut t = start();
    t.see("New here?").send("\x1b").gone("New here?").send("q");
    assert!(t.ended());
    let mut t = start();
    t.see("seems stuck").see("q quit");
    assert!(!t.look(|s| s.contents().contains("New here?")));
    // Who wants it finds it all the same.
    t.send("\x07").see("Worst first").send("q");
    assert!(t.ended());
}

/// Nobody waits for the copy of the day, and who leaves at once leaves it whole.
#[test]
fn the_copy_of_the_day_is_made_behind_the_picture_and_is_whole() {
    let folder = tempfile::tempdir().unwrap();
    let store = household(folder.path());
    let copies = folder.path().join("skep-backups");
    let mut t = Terminal::start(&store, folder.path(), &[]);
    t.see("3 steps today").send("q");
    assert!(t.ended());
    let made = skep::store::backups(&copies).unwrap();
    assert_eq!(made.len(), 1);
    skep::store::verify_file(&made[0].path).unwrap();
    assert_eq!(
        std::fs::read_dir(&copies).unwrap().count(),
        1,
        "half a copy"
    );

    // One that cannot be made is said, and holds nothing up.
    std::fs::remove_dir_all(&copies).unwrap();
    std::fs::write(&copies, "no folder").unwrap();
    let mut t = Terminal::start(&store, folder.path(), &[]);
    t.see("3 steps today").see("skep-backups");
    choose(&mut t, "J1");
    t.send("80").see("reading of J1").send("\r");
    t.gone("reading of").see("1.080").send("q");
    assert!(t.ended());
}
