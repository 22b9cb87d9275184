//! Hands on the real program: paste, mouse, sizes that come in a storm, signals
//! in mid-typing, and how little is written for a key.

use crate::morning::three_jugs;
use crate::terminal::Terminal;

fn started(folder: &std::path::Path) -> Terminal {
    let path = three_jugs(folder);
    let mut t = Terminal::start(&path, folder, &[]);
    t.see("3 steps today").see("Linden");
    t
}

/// Tag of the chosen row of the list.
fn chosen(screen: &vt100::Screen) -> Option<String> {
    let shown = screen.contents();
    let line = shown.lines().find(|l| l.trim_start().starts_with('▌'))?;
    let tag = line.trim_start().trim_start_matches('▌');
    tag.split_whitespace().next().map(str::to_owned)
}

/// All below the line with the clock, without blanks at the ends of lines: where
/// a longer word stood they were written, after a redraw they were not.
fn below(screen: &vt100::Screen) -> Vec<String> {
    let shown = screen.contents();
    let lines = shown.lines().skip(1).map(str::trim_end);
    lines.map(str::to_owned).collect()
}

#[test]
fn a_paste_is_one_thing_and_no_commands() {
    let folder = tempfile::tempdir().unwrap();
    let mut t = started(folder.path());
    // 'q' would leave, Enter would keep: within a paste they are text.
    t.send("\x1b[200~91 68f\rq\x1b[201~").see("91 68f q");
    t.send("\x1b")
        .see("Esc again")
        .send("\x1b")
        .gone("reading of");
    t.send("q");
    assert!(t.ended());
}

#[test]
fn the_mouse_chooses_and_the_wheel_scrolls() {
    let folder = tempfile::tempdir().unwrap();
    let mut t = started(folder.path());
    t.until("a chosen vessel", |s| chosen(s).is_some());
    let first = t.look(chosen);
    let row = t.look(|s| {
        let shown = s.contents();
        shown
            .lines()
            .position(|l| l.trim_start().starts_with('▌'))
            .unwrap()
    });
    // The row below, counted from 1 as terminals do.
    t.send(&format!("\x1b[<0;6;{}M\x1b[<0;6;{}m", row + 2, row + 2));
    t.until("the row below", |s| {
        chosen(s).is_some() && chosen(s) != first
    });
    let second = t.look(chosen);
    t.send("\x1b[<65;6;8M");
    t.until("the next row", |s| {
        chosen(s).is_some() && chosen(s) != second
    });
    t.send("\x1b[<64;6;8M");
    t.until("the row before", |s| chosen(s) == second);
    t.send("q");
    assert!(t.ended());
}

#[test]
fn a_storm_of_sizes_leaves_the_screen_whole_and_the_typing_there() {
    let folder = tempfile::tempdir().unwrap();
    let mut t = started(folder.path());
    t.send("9");
    t.see("reading of");
    for i in 0..60_u16 {
        t.resize(20 + (i * 37) % 200, 5 + (i * 13) % 60);
        if i == 30 {
            t.send("1 68f");
        }
    }
    t.resize(80, 24);
    t.see("91 68f").see("Linden").see("Enter keep it");
    // What is drawn afresh is what stood there already, once the engine has said all.
    t.quiet();
    let shown = t.look(below);
    let before = t.written();
    t.send("\x0c");
    t.writes(before + 1000);
    t.quiet();
    assert_eq!(t.look(below), shown);
    t.send("\x1b")
        .see("Esc again")
        .send("\x1b")
        .gone("reading of");
    t.send("q");
    assert!(t.ended());
}

#[test]
fn a_signal_in_mid_typing_gives_the_terminal_back() {
    for signal in ["TERM", "HUP", "INT", "QUIT"] {
        let folder = tempfile::tempdir().unwrap();
        let mut t = started(folder.path());
        t.send("91").see("reading of");
        assert!(!t.given_back(), "keys are raw while skep runs");
        t.signal(signal);
        t.ended();
    }
}

#[test]
fn a_key_writes_what_changed_and_no_more() {
    let folder = tempfile::tempdir().unwrap();
    let mut t = started(folder.path());
    t.until("a chosen vessel", |s| chosen(s).is_some());
    t.send("t").see("reading of closet");
    let before = t.written();
    t.send("6").see("› 6");
    let written = t.written() - before;
    // A whole frame of 80 by 24 is 1920 cells at least.
    assert!(written < 600, "{written} bytes for one character");
    t.send("\x7f\x1b").gone("reading of closet");
    t.send("q");
    assert!(t.ended());
}

#[test]
fn keys_before_the_first_picture_wait_for_all_that_they_ask_for() {
    let folder = tempfile::tempdir().unwrap();
    let path = three_jugs(folder.path());
    let program = env!("CARGO_BIN_EXE_skep");
    // Without colours the terminal is not asked for its ground, and keys are read at once.
    let start = || Terminal::start_with(program, &path, folder.path(), &[], &[("NO_COLOR", "1")]);
    // The last one takes another yeast for a batch to be planned.
    for keys in ["i", "C", "pjjjjjjjjj\x1b[C"] {
        let mut t = start();
        t.see("3 steps today").see("Linden").quiet();
        t.send(keys).quiet();
        let wanted = t.look(below);
        drop(t);
        let mut hasty = start();
        // Something is drawn, and little is read as yet.
        hasty.until("a first sign", |s| !s.contents().trim().is_empty());
        hasty.send(keys);
        hasty.until(&format!("what {keys} shows"), |s| below(s) == wanted);
        hasty.quiet();
        assert_eq!(hasty.look(below), wanted, "{keys}");
    }
}
