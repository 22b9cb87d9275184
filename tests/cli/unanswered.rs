//! An answer that cannot be written: what was saved is said to be saved, on the other output and
//! by a code of its own.

use super::home::{Home, five_days_ago, text};
use std::fs::{self, OpenOptions};
use std::io::Write;
use std::process::{Output, Stdio};

/// Runs a line whose output has no room, with words for its input.
fn unanswered(home: &Home, line: &str, input: &str) -> Output {
    let full = OpenOptions::new().write(true).open("/dev/full").unwrap();
    let mut child = home
        .process()
        .args(line.split(' '))
        .stdin(Stdio::piped())
        .stdout(full)
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(input.as_bytes())
        .unwrap();
    child.wait_with_output().unwrap()
}

#[test]
fn every_verb_that_saved_says_so_and_only_those() {
    let home = Home::with_mead(20);
    let table = format!("vessel,date,gravity\nJ2,{},1.050\n", five_days_ago());
    fs::write(home.path("table.csv"), table).unwrap();
    let at = crate::clock::now().plus_days(-5.0).utc_ms() / 1000;
    let logged = &format!(r#"{{"vessel":"J2","at":{at},"ph":3.4}}"#);
    // Each with a word of what it says, and whether something was saved.
    for (line, input, said, saved) in [
        ("read J2 38 --dry-run", "", "", false),
        ("read J2 38", "", "reading 1.038 of J2", true),
        ("note J2 pear", "", "J2", true),
        ("done J2 swirl-8", "", "swirl", true),
        ("places add attic", "", "attic", true),
        ("settings adults 2", "", "", true),
        ("undo", "", "taken back", true),
        ("redo", "", "done again", true),
        ("import table.csv", "", "", false),
        ("import table.csv --keep", "", "1.050", true),
        ("listen", logged, "1 values", true),
        ("listen", "", "", false),
        ("backup", "", "a verified copy lies at", true),
        ("calendar --into steps.ics", "", "steps.ics", true),
        ("export all --into all.json", "", "all.json", true),
        (
            "plan --style mead --volume 1gal --og 1.090 --write p.toml",
            "",
            "p.toml",
            true,
        ),
        ("rebuild all.json --store new.store", "", "new.store", true),
        ("restore --yes", "", "is back", true),
        ("today", "", "", false),
        ("export readings", "", "", false),
        ("history --json", "", "", false),
    ] {
        let done = unanswered(&home, line, input);
        let told = text(&done.stderr);
        assert_eq!(
            done.status.code(),
            Some(if saved { 8 } else { 1 }),
            "{line}: {told}"
        );
        assert!(
            told.contains("the output can't be written"),
            "{line}: {told}"
        );
        assert_eq!(told.contains("it was saved: "), saved, "{line}: {told}");
        assert!(told.contains(said), "{line}: {told}");
    }
    home.skep("check").success();
}

/// A reader that has seen enough is no failure, and what was saved is saved.
#[test]
fn a_reader_that_went_away_is_no_failure() {
    let home = Home::with_mead(20);
    let mut child = home
        .process()
        .args(["read", "J2", "38"])
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    assert_eq!(child.wait().unwrap().code(), Some(0));
    assert!(home.out("export readings").contains("1.038"));
}
