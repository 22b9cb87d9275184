//! A home with a store for the real program, and what to look for afterwards.

use crate::clock;
use crate::terminal::Terminal;
use crate::wait;
use skep::domain::records::Subject;
use skep::domain::units::Moment;
use skep::store::Store;
use skep::work;
use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// A number from the environment for the long form, or that of the short form.
pub(crate) fn times(name: &str, short: u64) -> u64 {
    std::env::var(name).map_or(short, |n| n.parse().unwrap())
}

/// A small number machine, so that a failure can be had again (splitmix64 by
/// Vigna, <https://prng.di.unimi.it/splitmix64.c>; any would do).
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Below a bound.
    pub(crate) fn below(&mut self, bound: u64) -> u64 {
        self.next() % bound
    }

    /// A while below a bound of milliseconds.
    pub(crate) fn pause(&mut self, most_ms: u64) -> Duration {
        Duration::from_micros(self.below(most_ms * 1000))
    }
}

/// The program to try; `SKEP_PROGRAM` names another one than this build's,
/// which must be built with the feature `test-clock`.
fn program() -> String {
    std::env::var("SKEP_PROGRAM").unwrap_or_else(|_| env!("CARGO_BIN_EXE_skep").to_owned())
}

pub(crate) struct Home {
    folder: TempDir,
}

impl Home {
    /// A closet, two jugs, and a mead in J1 since a week. Invented.
    pub(crate) fn new() -> Self {
        Self::within(&std::env::temp_dir())
    }

    /// The same in a folder of the caller's.
    pub(crate) fn within(folder: &Path) -> Self {
        let home = Self {
            folder: tempfile::tempdir_in(folder).unwrap(),
        };
        for line in [
            "places add closet --usual 68f",
            "vessels add J1 jug 1gal",
            "vessels add J2 jug 1gal",
            "start J1 one-gallon-traditional-mead --name heather --og 1.092 --at -7d",
        ] {
            let done = home.run(line);
            assert!(done.status.success(), "{line}: {}", said(&done));
        }
        home
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn store(&self) -> PathBuf {
        self.path("home.store")
    }

    pub(crate) fn command<'a>(&self, words: impl IntoIterator<Item = &'a str>) -> Command {
        let mut command = Command::new(program());
        command
            .args(words)
            .env_clear()
            .env("HOME", self.folder.path())
            .envs(clock::environment())
            .env("SKEP_STORE", self.store())
            .current_dir(self.folder.path())
            .stdin(Stdio::null());
        command
    }

    /// Runs a line of words parted by blanks.
    pub(crate) fn run(&self, line: &str) -> Output {
        self.command(line.split_whitespace()).output().unwrap()
    }

    pub(crate) fn screen(&self, env: &[(&str, &str)]) -> Terminal {
        self.terminal(&[], env)
    }

    /// Words in a terminal.
    pub(crate) fn terminal(&self, words: &[&str], env: &[(&str, &str)]) -> Terminal {
        Terminal::start_with(&program(), &self.store(), self.folder.path(), words, env)
    }

    /// The store, by this process.
    pub(crate) fn open(&self) -> Store {
        Store::open(&self.store(), now()).unwrap()
    }

    /// How often each note stands at a reading.
    pub(crate) fn notes(&self) -> BTreeMap<String, usize> {
        let mut notes = BTreeMap::new();
        for dossier in self.open().household(now()).unwrap().dossiers {
            for reading in dossier.readings {
                if !reading.note.is_empty() {
                    *notes.entry(reading.note).or_default() += 1;
                }
            }
        }
        notes
    }

    /// How many samples of J1 a source has given.
    pub(crate) fn samples(&self, source: &str) -> usize {
        let store = self.open();
        let vessel = store.household(now()).unwrap().vessels[0].id;
        let mut count = 0;
        let (from, to) = (now().plus_days(-1000.0), now().plus_days(1.0));
        let count_one = |name: &str, _| count += usize::from(name == source);
        store
            .each_sample(Subject::Vessel(vessel), from, to, count_one)
            .unwrap();
        count
    }

    /// Whole, and undo and redo still work.
    pub(crate) fn sound(&self) {
        let mut store = self.open();
        assert_eq!(store.check(now()).unwrap(), vec![]);
        assert!(work::undo(&mut store, now()).unwrap().is_some());
        assert!(work::redo(&mut store, now()).unwrap().is_some());
    }
}

/// A day since the mead was pitched, as a table has it.
pub(crate) fn lately() -> String {
    now().plus_days(-2.0).day().to_string()
}

/// A moment of it, as a logger has it: seconds since 1970.
pub(crate) fn lately_in_seconds() -> i64 {
    now().plus_days(-2.0).utc_ms() / 1000
}

pub(crate) fn now() -> Moment {
    clock::now()
}

/// All that a run printed.
pub(crate) fn said(done: &Output) -> String {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    text(&done.stdout) + &text(&done.stderr)
}

/// Whether it ended well within the time; it is killed where it has not ended.
pub(crate) fn ends_well(child: &mut Child, within: Duration) -> bool {
    let begun = Instant::now();
    loop {
        if let Some(status) = child.try_wait().unwrap() {
            assert!(status.success(), "{status}");
            return true;
        }
        if begun.elapsed() >= within {
            // SIGKILL.
            child.kill().unwrap();
            child.wait().unwrap();
            return false;
        }
        std::thread::sleep(Duration::from_micros(300));
    }
}

impl Terminal {
    /// Types; false where the program is gone.
    pub(crate) fn types(&mut self, keys: &str) -> bool {
        let typed = self.writer.write_all(keys.as_bytes());
        typed.and_then(|()| self.writer.flush()).is_ok()
    }

    /// Whether the screen comes to be as wanted before the program is gone.
    pub(crate) fn comes(&self, wanted: impl Fn(&vt100::Screen) -> bool) -> bool {
        let screen = self.shared.parser.lock().unwrap();
        let (screen, timeout) = self
            .shared
            .changed
            .wait_timeout_while(screen, wait::PATIENCE, |(parser, over)| {
                !wanted(parser.screen()) && !*over
            })
            .unwrap();
        let shown = screen.0.screen();
        assert!(
            !timeout.timed_out(),
            "waited in vain:\n{}",
            shown.contents()
        );
        wanted(shown)
    }
}

/// Python's own SQLite opens the store, reads, closes, and at times writes the journal
/// into the store, over and over.
const FOREIGN: &str = "
import os, sqlite3, sys, time
store, stop, looks = sys.argv[1], sys.argv[2], 0
while not os.path.exists(stop):
    try:
        other = sqlite3.connect(store, timeout=5)
        other.execute('SELECT count(*) FROM reading').fetchall()
        if looks % 7 == 3:
            other.execute('PRAGMA wal_checkpoint(TRUNCATE)').fetchall()
        other.close()
        looks += 1
        if looks == 1:
            print('looking', flush=True)
    except sqlite3.OperationalError as busy:
        if 'locked' not in str(busy):
            raise
    time.sleep(0.002)
print(looks)
";

/// The foreign reader beside a home.
pub(crate) struct Foreign {
    child: Child,
    stop: PathBuf,
}

impl Foreign {
    pub(crate) fn start(home: &Home) -> Self {
        let stop = home.path("stop");
        let _ = std::fs::remove_file(&stop);
        let mut command = Command::new("python3");
        command.args(["-c", FOREIGN]).arg(home.store()).arg(&stop);
        command.stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("python3 is needed");
        // What comes after this comes beside it.
        let mut first = [0; 8];
        let said = child.stdout.as_mut().unwrap().read_exact(&mut first);
        assert!(said.is_ok() && first == *b"looking\n", "it never looked");
        Self { child, stop }
    }

    /// How often it looked in.
    pub(crate) fn end(self) -> u64 {
        std::fs::write(&self.stop, "").unwrap();
        let done = self.child.wait_with_output().unwrap();
        assert!(done.status.success(), "{}", said(&done));
        let looks = String::from_utf8_lossy(&done.stdout).trim().parse();
        looks.unwrap()
    }
}
