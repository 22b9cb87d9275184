//! From an empty store to a pitched, scheduled batch, in the real program in a
//! pseudo-terminal: every key is counted, and the screen is waited for, never time.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on shall stop")]

#[path = "../hours/clock.rs"]
mod clock;

use portable_pty::{CommandBuilder, PtySize, native_pty_system};
use skep::domain::records::{EventKind, Stage, StepKind};
use skep::store::Store;
use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::sync::{Arc, Condvar, Mutex};
use std::thread;
use std::time::Duration;

/// Far longer than anything takes on a busy machine; only a failure waits so long.
const PATIENCE: Duration = Duration::from_mins(5);
const ROWS: u16 = 24;
const COLUMNS: u16 = 80;

type Shared = Arc<(Mutex<(vt100::Parser, bool)>, Condvar)>;

/// A running skep and the hands at it.
struct Hands {
    screen: Shared,
    writer: Box<dyn Write + Send>,
    keys: usize,
}

impl Hands {
    /// Presses keys, each counted.
    fn press(&mut self, keys: &[&str]) -> &mut Self {
        for key in keys {
            self.writer.write_all(key.as_bytes()).unwrap();
            self.writer.flush().unwrap();
            self.keys += 1;
        }
        self
    }

    /// Types a text, each character a key.
    fn text(&mut self, text: &str) -> &mut Self {
        for c in text.chars() {
            self.press(&[&c.to_string()]);
        }
        self
    }

    /// Waits until the screen is as wanted.
    fn until(&mut self, what: &str, wanted: impl Fn(&str) -> bool) -> &mut Self {
        let (lock, changed) = &*self.screen;
        let held = lock.lock().unwrap();
        let (held, timeout) = changed
            .wait_timeout_while(held, PATIENCE, |(parser, over)| {
                !wanted(&parser.screen().contents()) && !*over
            })
            .unwrap();
        let shown = held.0.screen().contents();
        assert!(
            !timeout.timed_out() && wanted(&shown),
            "waited for {what}; on the screen:\n{shown}"
        );
        drop(held);
        self
    }

    fn see(&mut self, words: &str) -> &mut Self {
        let words = words.to_owned();
        self.until(&format!("'{words}'"), |s| s.contains(&words))
    }
}

fn read_all(mut reader: Box<dyn Read + Send>, screen: &Shared) {
    let (lock, changed) = &**screen;
    let mut bytes = [0; 4096];
    loop {
        let n = reader.read(&mut bytes).unwrap_or(0);
        let mut held = lock.lock().unwrap();
        held.0.process(bytes.get(..n).unwrap_or(&[]));
        held.1 = n == 0;
        changed.notify_all();
        if n == 0 {
            return;
        }
    }
}

fn start(home: &Path) -> Hands {
    let size = PtySize {
        rows: ROWS,
        cols: COLUMNS,
        pixel_width: 0,
        pixel_height: 0,
    };
    let pair = native_pty_system().openpty(size).unwrap();
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_skep"));
    command.env_clear();
    for (name, value) in clock::environment() {
        command.env(name, value);
    }
    command.env("SKEP_STORE", home.join("own.store"));
    for folder in ["HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME"] {
        command.env(folder, home);
    }
    command.env("TERM", "xterm-256color");
    let mut child = pair.slave.spawn_command(command).unwrap();
    drop(pair.slave);
    let parser = vt100::Parser::new(
        NonZero::new(ROWS).unwrap(),
        NonZero::new(COLUMNS).unwrap(),
        0,
    );
    let screen: Shared = Arc::new((Mutex::new((parser, false)), Condvar::new()));
    let reader = pair.master.try_clone_reader().unwrap();
    let writer = pair.master.take_writer().unwrap();
    let theirs = Arc::clone(&screen);
    thread::spawn(move || read_all(reader, &theirs));
    thread::spawn(move || {
        // Keeps the terminal open until the program has ended.
        let _ = child.wait();
        drop(pair.master);
    });
    Hands {
        screen,
        writer,
        keys: 0,
    }
}

const ENTER: &str = "\r";
const RIGHT: &str = "\x1b[C";

#[test]
fn from_nothing_to_a_pitched_mead_in_under_sixty_keys() {
    let home = tempfile::tempdir().unwrap();
    let mut hands = start(home.path());
    hands.see("Welcome").see("what ferments first");
    // Every answer of the welcome as it stands, but no batch yet: the planner
    // makes it. Right of the usual choice is 'nothing yet'.
    hands.press(&[ENTER; 5]).press(&[RIGHT]).see("nothing yet");
    hands.press(&[ENTER; 4]).see("J1");
    hands.until("the shelf", |s| {
        s.contains("plan") && !s.contains("Welcome")
    });
    // The default mead, named, kept, its day begun.
    hands.press(&["p"]).see("original").see("2.50 lb");
    hands.press(&[ENTER]).see("what you call it");
    hands.text("Fern").press(&[ENTER]).see("Fern");
    hands.press(&["g"]).see("0 of 16 done");
    // The cautions stand at their lines.
    hands.see("Never mix cleaners with bleach or acid");
    for done in 1..=8 {
        if done == 4 {
            hands.until("the caution of honey", |s| s.contains("under 12 months"));
        }
        hands.press(&[ENTER]).see(&format!("{done} of 16 done"));
    }
    hands.see("From a well-mixed sample");
    hands
        .text("95 68f")
        .see("corrected, as planned")
        .press(&[ENTER]);
    hands.see("9 of 16 done");
    for done in 10..=15 {
        if done == 14 {
            hands.see("Never a closed vessel");
        }
        hands.press(&[ENTER]).see(&format!("{done} of 16 done"));
    }
    hands.see("leave the door ajar");
    hands.press(&[ENTER]).see("all done");
    let keys = hands.keys;
    hands.press(&["q"]);
    let (lock, changed) = &*hands.screen;
    let held = lock.lock().unwrap();
    drop(changed.wait_timeout_while(held, PATIENCE, |(_, over)| !*over));
    println!("{keys} keys from nothing to pitched");
    assert!(keys < 60, "{keys} keys");
    look_into_the_store(home.path());
}

/// What the keys left behind: a pitched batch with its original gravity, its
/// amounts and its steps on their days.
fn look_into_the_store(home: &Path) {
    // A little later than the last key.
    let now = clock::now().plus_days(0.001);
    let store = Store::open(&home.join("own.store"), now).unwrap();
    let household = store.household(now).unwrap();
    let [dossier] = household.dossiers.as_slice() else {
        panic!("{} batches", household.dossiers.len())
    };
    assert_eq!(dossier.batch.name, "Fern");
    assert_eq!(dossier.batch.stage, Stage::Fermenting);
    let vessel = dossier.vessels().next().unwrap();
    assert_eq!(household.vessel(vessel).unwrap().tag, "J1");
    assert!(
        dossier
            .readings
            .iter()
            .any(|r| (r.seen.value() - 1.095).abs() < 1e-9)
    );
    let honey: f64 = dossier
        .events
        .iter()
        .filter(|e| e.kind == EventKind::Sugar)
        .filter_map(|e| e.mass)
        .map(skep::domain::units::Grams::pounds)
        .sum();
    // Common practice: 2.5 lb of honey to the gallon.
    assert!((honey - 2.5).abs() < 0.05, "{honey} lb");
    let open = |kind| {
        dossier
            .steps
            .iter()
            .filter(|s| s.rule.kind == kind && s.is_open())
            .count()
    };
    assert_eq!(open(StepKind::Pitch), 0);
    assert_eq!(open(StepKind::Bottle), 1);
    assert!(open(StepKind::SwirlFeed) >= 2);
}
