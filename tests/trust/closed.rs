//! The window is closed: nothing that was saved is lost, and the program ends quietly.

use crate::clock;
use crate::kit::{Home, times};
use portable_pty::{CommandBuilder, PtySize, native_pty_system};
use std::io::{Read, Write};

/// Types `keys` once the screen of these words says `seen`; then waits for `then` and closes
/// the window. Returns the signal by which the program ended, if one did.
fn close_after(home: &Home, words: &[&str], seen: &str, keys: &str, then: &str) -> Option<String> {
    let size = PtySize {
        rows: 24,
        cols: 80,
        ..PtySize::default()
    };
    let pair = native_pty_system().openpty(size).unwrap();
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_skep"));
    command.env_clear();
    for (name, value) in clock::environment() {
        command.env(name, value);
    }
    command.args(words);
    command.env("SKEP_STORE", home.store());
    command.env("HOME", home.path(""));
    command.env("TERM", "xterm-256color");
    let mut child = pair.slave.spawn_command(command).unwrap();
    drop(pair.slave);
    {
        let mut reader = pair.master.try_clone_reader().unwrap();
        let mut writer = pair.master.take_writer().unwrap();
        wait_for(&mut reader, seen);
        writer.write_all(keys.as_bytes()).unwrap();
        wait_for(&mut reader, then);
    }
    drop(pair.master);
    child.wait().unwrap().signal().map(str::to_owned)
}

fn wait_for(reader: &mut dyn Read, word: &str) {
    let mut seen = Vec::new();
    let mut bytes = [0; 4096];
    while !String::from_utf8_lossy(&seen).contains(word) {
        let n = reader.read(&mut bytes).unwrap();
        assert!(n > 0, "the program ended before it said {word:?}");
        seen.extend_from_slice(bytes.get(..n).unwrap());
    }
}

#[test]
fn a_closed_window_loses_nothing_and_aborts_nothing() {
    let home = Home::new();
    let rounds = times("SKEP_CLOSED", 5);
    for n in 0..rounds {
        let note = format!("closed-{n}");
        // Kept once, and then half a reading that nobody acknowledged.
        let keys = format!("{}f '{note}\r", 60 + n % 10);
        let signal = close_after(&home, &[], "shelf", &keys, "✓");
        assert_eq!(signal, None, "round {n}");
        assert_eq!(home.notes().get(&note), Some(&1), "round {n}");
        let signal = close_after(&home, &[], "shelf", "8", "8");
        assert_eq!(signal, None, "round {n}");
    }
    println!("windows closed: {}, aborted: 0, lost: 0", 2 * rounds);
    home.sound();
}

/// What waits for a line ends when the terminal is gone, by the system's own signal at the most.
#[test]
fn a_window_closed_in_the_round_loses_no_answer() {
    let home = Home::new();
    let rounds = times("SKEP_CLOSED", 5);
    for n in 0..rounds {
        let note = format!("closed-{n}");
        let keys = format!("{}f '{note}\r", 60 + n % 10);
        let signal = close_after(&home, &["round"], "1 of ", &keys, "Kept: ");
        assert!(
            signal.as_deref().is_none_or(|s| s.starts_with("Hangup")),
            "round {n}: {signal:?}"
        );
        assert_eq!(home.notes().get(&note), Some(&1), "round {n}");
    }
    home.sound();
}
