use super::home::Home;
use predicates::str::contains;

#[test]
fn a_reading_takes_a_few_keys_and_says_what_it_means() {
    let home = Home::with_mead(7);
    home.skep("read J2 92 68f -7d").success();
    home.skep("read j2 42 68f")
        .success()
        .stdout(contains("reading 1.042"))
        .stdout(contains("0.050 down in 7 days"))
        .stdout(contains("% alcohol"));
    let row = &home.json("show J2")["row"];
    assert_eq!(row["gravity"]["seen"], 1.042);
    assert_eq!(row["gravity"]["unit"], "SG");
}

#[test]
fn three_spellings_are_kept_as_the_same_value() {
    let home = Home::with_mead(9);
    for slip in ["-8d 1.080", "-6d 1070", "-4d 60"] {
        home.skep(&format!("read J2 {slip}")).success();
    }
    let readings = home.json("show J2")["readings"].clone();
    let values: Vec<f64> = readings
        .as_array()
        .unwrap()
        .iter()
        .map(|r| r["value"].as_f64().unwrap())
        .collect();
    assert_eq!(values, [1.080, 1.070, 1.060]);
}

#[test]
fn a_temperature_of_a_place_needs_no_unit() {
    let home = Home::with_mead(2);
    home.skep("read closet 66").success().stdout(contains("66"));
    let row = &home.json("show J2")["row"];
    // 66 °F is 18.89 °C by definition.
    assert_eq!(row["temperature"]["celsius"], 18.89);
    home.skep("settings units metric").success();
    home.skep("read closet 19").success();
    assert_eq!(home.json("show J2")["row"]["temperature"]["celsius"], 19.0);
}

#[test]
fn a_doubtful_reading_is_kept_only_when_asked() {
    let home = Home::with_mead(7);
    home.skep("read J2 60 -1d").success();
    home.skep("read J2 72").code(4).stderr(contains(
        "0.012 above the last reading: gravity does not rise; not kept, --anyway keeps it",
    ));
    assert_eq!(
        home.json("show J2")["readings"].as_array().unwrap().len(),
        1
    );
    home.skep("read J2 72 --dry-run")
        .code(4)
        .stdout(contains("nothing was kept"));
    home.skep("read J2 72 --anyway")
        .success()
        .stdout(contains("Doubtful:"));
    let readings = home.json("show J2")["readings"].clone();
    assert_eq!(readings[1]["doubted"], true);
}

#[test]
fn what_is_not_understood_is_named_and_nothing_is_kept() {
    let home = Home::with_mead(7);
    home.skep("read J2 42 pear").code(2).stderr(contains(
        "skep: 'pear' is not understood; accepted: a gravity",
    ));
    home.skep("read J9 42").code(5).stderr(contains("J9"));
    assert!(
        home.json("show J2")["readings"]
            .as_array()
            .unwrap()
            .is_empty()
    );
}

#[test]
fn notes_go_with_a_reading_or_stand_alone() {
    let home = Home::with_mead(3);
    home.command()
        .args(["read", "J2", "80", "'smells of pear"])
        .assert()
        .success();
    home.command()
        .args(["read", "J2", "ph3.4", "--note", "new strips"])
        .assert()
        .success();
    home.command()
        .args(["note", "J2", "moved", "to", "the", "top", "shelf"])
        .assert()
        .success();
    let readings = home.json("show J2")["readings"].clone();
    assert_eq!(readings[0]["note"], "smells of pear");
    assert_eq!(readings[1]["note"], "new strips");
    home.skep("show J2 --ledger")
        .stdout(contains("moved to the top shelf"));
}

#[test]
fn undo_and_redo_walk_over_runs() {
    let home = Home::with_mead(3);
    home.skep("read J2 80").success();
    home.skep("undo")
        .success()
        .stdout(contains("taken back: reading 1.080 of J2"));
    assert!(
        home.json("show J2")["readings"]
            .as_array()
            .unwrap()
            .is_empty()
    );
    home.skep("redo")
        .success()
        .stdout(contains("done again: reading 1.080 of J2"));
    assert_eq!(
        home.json("show J2")["readings"].as_array().unwrap().len(),
        1
    );
    home.skep("redo")
        .code(5)
        .stderr(contains("nothing to bring back"));
    home.skep("history -n 1")
        .stdout(contains("reading 1.080 of J2"));
}

#[test]
fn a_name_full_of_control_characters_does_not_reach_the_terminal() {
    let hostile = "red\u{1b}[31m\u{7}\u{202e}evil\u{9b}2J";
    let home = Home::with_mead(1);
    // Names are refused at the door, and the refusal is clean too.
    let refused = home
        .command()
        .args(["start", "J1", "cider", "--name", hostile])
        .assert()
        .code(2);
    let said = crate::home::text(&refused.get_output().stderr);
    assert!(said.chars().all(|c| !c.is_control() || c == '\n'));
    let refused = home
        .command()
        .args(["read", hostile, "42"])
        .assert()
        .code(5);
    let said = crate::home::text(&refused.get_output().stderr);
    assert!(
        said.chars().all(|c| !c.is_control() || c == '\n'),
        "{said:?}"
    );
    // A note with a control character is refused.
    for line in [
        ["note", "J2", hostile].as_slice(),
        &["read", "J2", "80", "--note", hostile],
    ] {
        home.command().args(line).assert().code(2);
    }
    for line in ["today", "show J2", "vessels", "history", "show J2 --ledger"] {
        let out = home.out(line);
        assert!(
            out.chars().all(|c| !c.is_control() || c == '\n'),
            "{line}: {out:?}"
        );
        assert!(!out.contains('\u{202e}'), "{line}");
    }
}

#[test]
fn a_stuck_jug_that_falls_again_is_not_said_to_have_stood_still() {
    let home = Home::with_mead(22);
    // As one line: the sentences are broken to the width.
    let said = |home: &Home| {
        let out = home.out("show J2");
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    for slip in [
        "92 -22d", "86 -20d", "79 -18d", "71 -16d", "64 -14d", "62 -12d", "62 -10d", "62 -8d",
        "61 -6d",
    ] {
        home.skep(&format!("read J2 {slip}")).success();
    }
    let text = said(&home);
    assert!(text.contains("no drop since"), "{text}");
    home.skep("read J2 54 -3d").success();
    let text = said(&home);
    assert!(!text.contains("no drop since"), "{text}");
    assert!(text.contains("Moving again"), "{text}");
    home.skep("read J2 46 -1d").success();
    let text = said(&home);
    assert!(!text.contains("Stuck ("), "{text}");
    assert!(text.contains("Moving again"), "{text}");
}
