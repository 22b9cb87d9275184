//! The round as plain lines: what it asks, what answers do to the store.

use super::home::{Home, text};
use assert_cmd::assert::Assert;

/// Answers the round, a line each.
fn answer(home: &Home, lines: &[&str]) -> Assert {
    let answers = lines.join("\n") + "\n";
    home.command().arg("round").write_stdin(answers).assert()
}

fn said(home: &Home, lines: &[&str]) -> String {
    let ended = answer(home, lines).success();
    let said = text(&ended.get_output().stdout);
    // A screen reader reads every blank aloud: nothing is aligned, no colour is sent.
    assert!(!said.contains("  ") && !said.contains('\u{1b}'), "{said}");
    said
}

/// A mead of three days, whose swirls were forgotten.
fn home() -> Home {
    let home = Home::with_mead(3);
    home.skep("read J2 90 68f --note begin").success();
    home
}

#[test]
fn each_stop_is_a_question_and_yes_does_its_step() {
    let home = home();
    let all = said(&home, &["end"]);
    assert!(all.contains("1 of "), "{all}");
    assert!(all.contains("J2, heather, "), "{all}");
    assert!(all.contains("\nDone?\n"), "{all}");
    let steps = |home: &Home| home.json("today")["due"].as_array().unwrap().len();
    let before = steps(&home);
    let done = said(&home, &["yes", "end"]);
    assert!(done.contains("Kept: "), "{done}");
    assert!(done.contains("Round done: 1 thing done"), "{done}");
    assert!(steps(&home) < before);
    // The same store, the same undo.
    home.skep("undo").success();
    assert_eq!(steps(&home), before);
}

#[test]
fn a_slip_is_read_by_the_same_grammar_and_doubted_alike() {
    let home = home();
    // 1.150 is above the last reading: gravity does not rise.
    let doubted = said(&home, &["1.150", "no", "end"]);
    assert!(doubted.contains("Keep it anyway? yes or no."), "{doubted}");
    assert!(doubted.contains("Not kept."), "{doubted}");
    let gravity = |home: &Home| home.json("show J2")["row"]["gravity"]["seen"].clone();
    let before = gravity(&home);
    assert!(!before.is_null(), "{}", home.out("show J2 --json"));
    assert_eq!(gravity(&home), before);
    let kept = said(&home, &["1.150", "yes", "end"]);
    assert!(kept.contains("Kept: "), "{kept}");
    assert_ne!(gravity(&home), before);
    let unclear = said(&home, &["12 what", "end"]);
    assert!(unclear.contains("Not kept: "), "{unclear}");
}

#[test]
fn steps_are_left_out_with_a_reason_moved_and_left_for_later() {
    let home = home();
    let bare = said(&home, &["skip", "end"]);
    assert!(
        bare.contains("Not kept: Say why in a word or two"),
        "{bare}"
    );
    let skipped = said(&home, &["skip no time", "end"]);
    assert!(skipped.contains("Kept: "), "{skipped}");
    assert!(
        home.out("history").contains("skip"),
        "{}",
        home.out("history")
    );
    let moved = said(&home, &["move someday", "move tomorrow", "yes", "end"]);
    assert!(moved.contains("Not kept: "), "{moved}");
    let later = said(&home, &["later", "later", "later", "later", "later"]);
    assert!(later.contains("left in J2"), "{later}");
}

#[test]
fn the_list_alone_asks_nothing() {
    let home = home();
    let list = home.out("round --list");
    assert!(list.lines().all(|l| l.ends_with('.')), "{list}");
    assert!(list.contains("J2 heather: "), "{list}");
    assert!(!list.contains('?'), "{list}");
    let asked = said(&home, &["due", "why", "help", "end"]);
    for line in list.lines() {
        assert!(asked.contains(line), "{line}");
    }
    assert!(asked.contains("Type what you saw"), "{asked}");
}

#[test]
fn with_nothing_to_do_or_no_answers_it_ends_by_itself() {
    let home = Home::with_jugs();
    let said = said(&home, &[]);
    assert!(said.contains("Nothing needs you today."), "{said}");
    home.skep("round --json").code(2);
    let silent = Home::with_mead(3);
    silent
        .command()
        .arg("round")
        .write_stdin("")
        .assert()
        .success();
}
