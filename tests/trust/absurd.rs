//! Absurd values: each gets a sentence that says what is accepted, and nothing
//! is kept; what is merely large is taken.

use crate::kit::*;
use skep::domain::deeds::Deed;
use skep::domain::records::VesselKind;
use skep::domain::units::Litres;
use skep::store::Store;
use skep::work;
use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::process::Stdio;
use std::time::Instant;

/// Refused by a sentence of skep's own; the store stays as it was.
#[track_caller]
fn refused(home: &Home, words: &[&str]) -> String {
    let before = home.open().revision().unwrap();
    let done = home.command(words.iter().copied()).output().unwrap();
    let said = said(&done);
    assert!(
        matches!(done.status.code(), Some(1..=9)),
        "{words:?}: {} {said}",
        done.status
    );
    assert!(!said.contains("panicked"), "{said}");
    assert!(said.len() > 20, "{words:?}: no sentence: {said}");
    assert_eq!(
        home.open().revision().unwrap(),
        before,
        "{words:?} was kept"
    );
    said
}

#[test]
fn absurd_words_get_a_sentence_that_says_what_is_accepted() {
    let home = Home::new();
    let mut tried = 0;
    // A bare 0 and 9 are points: 1.000 and 1.009, as a slip says beside them.
    for value in [
        "0.0", "9.0", "0.000", "9.999", "nan", "NaN", "inf", "1e308", "-1", "9e999", "1.9", "0.1",
        "1.0.4",
    ] {
        let said = refused(&home, &["read", "J1", value]);
        assert!(
            said.contains("accepted") || said.contains("such as") || said.contains("is"),
            "{said}"
        );
        tried += 1;
    }
    for words in [
        &["read", "J1", "42", "9999-12-31"][..],
        &["read", "J1", "42", "0000-01-01"],
        &["read", "J1", "42", "2026-02-30"],
        &["read", "J1", "-99999999d"],
        &["read", "J1", "1e308f"],
        &["read", "J1", "ph99"],
        &["read", "J1", "1e300g"],
        &["read", "closet", "-500c"],
        &["start", "J2", "one-gallon-traditional-mead", "--og", "9.5"],
        &["start", "J2", "one-gallon-traditional-mead", "--og", "NaN"],
        &[
            "start",
            "J2",
            "one-gallon-traditional-mead",
            "--at",
            "9999-12-31",
        ],
        &["vessels", "add", "J9", "jug", "1e308gal"],
        &["vessels", "add", "J9", "jug", "0l"],
        &["vessels", "add", "J9", "jug", "nanl"],
        &["vessels", "add", "J9", "jug", "-4l"],
        &["places", "add", "attic", "--usual", "1e308c"],
        &["figure", "alcohol", "og=1e308", "sg=NaN"],
        &["figure", "alcohol", "og=0", "sg=9"],
        &["away", "9999-12-31", "10000-01-01"],
    ] {
        refused(&home, words);
        tried += 1;
    }
    println!("{tried} absurd lines, each with its sentence, none kept");
    home.sound();
}

#[test]
fn absurd_numbers_of_a_logger_and_a_table_are_left_out_line_by_line() {
    let home = Home::new();
    let (mut lines, at) = (String::new(), lately_in_seconds());
    for value in [
        "0",
        "9",
        "1e308",
        "-1e308",
        "1e999",
        "NaN",
        "null",
        "\"1.042\"",
        "[1.042]",
        "true",
    ] {
        writeln!(
            lines,
            "{{\"vessel\":\"J1\",\"at\":{at},\"gravity\":{value}}}"
        )
        .unwrap();
    }
    for at in [
        "253402300800",
        "-1",
        "9223372036854775807",
        "1e308",
        "\"9999-12-31T23:59:59Z\"",
        "\"+262143-01-01T00:00:00Z\"",
    ] {
        writeln!(lines, "{{\"vessel\":\"J1\",\"at\":{at},\"gravity\":1.042}}").unwrap();
    }
    lines.push_str(&"[".repeat(60_000));
    lines.push('\n');
    let said = listened(&home, lines.as_bytes());
    assert!(said.contains("17 lines: 0 values kept"), "{said}");
    let mut table = "vessel,date,gravity\n".to_owned();
    let day = lately();
    for (day, gravity) in [
        (day.as_str(), "9.5"),
        (&day, "NaN"),
        ("9999-12-31", "1.042"),
        (&day, "1e308"),
        ("2026-02-30", "1.042"),
    ] {
        writeln!(table, "J1,{day},{gravity}").unwrap();
    }
    fs::write(home.path("t.csv"), table).unwrap();
    refused(&home, &["import", "t.csv", "--keep", "--dates", "ymd"]);
    refused(
        &home,
        &[
            "import",
            "t.csv",
            "--keep",
            "--good-lines",
            "--dates",
            "ymd",
        ],
    );
}

fn listened(home: &Home, lines: &[u8]) -> String {
    let mut command = home.command(["listen"]);
    command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    let mut into = child.stdin.take().unwrap();
    let lines = lines.to_vec();
    let writing = std::thread::spawn(move || into.write_all(&lines));
    let done = child.wait_with_output().unwrap();
    writing.join().unwrap().unwrap();
    let said = said(&done);
    assert!(!said.contains("panicked"), "{said}");
    said
}

#[test]
fn a_note_of_ten_megabytes_gets_a_sentence_on_every_way_in() {
    let home = Home::new();
    let long = "pear ".repeat(2_000_000);
    // A word of the shell is at most 128 kB on this system.
    let word = long.get(..120_000).unwrap();
    for words in [
        &["note", "J1", word][..],
        &["read", "J1", "68f", "--note", word],
        &["read", "J1", &format!("68f '{word}")],
    ] {
        assert!(refused(&home, words).contains("too long"));
    }
    fs::write(
        home.path("t.csv"),
        format!("vessel,date,gravity,note\nJ1,{},1.042,{long}\n", lately()),
    )
    .unwrap();
    let said = refused(&home, &["import", "t.csv", "--keep"]);
    assert!(
        said.contains("too long"),
        "{}",
        said.chars().take(300).collect::<String>()
    );
    let at = lately_in_seconds();
    let line = format!("{{\"vessel\":\"J1\",\"at\":{at},\"ph\":3.4,\"source\":\"{long}\"}}\n");
    assert!(listened(&home, line.as_bytes()).contains("longer than 64 kB"));
    for (name, text) in [
        ("plan.toml", format!("skep_plan = 1\nnote = \"{long}\"\n")),
        ("x", long.clone()),
    ] {
        fs::write(home.path(name), text).unwrap();
        let said = refused(&home, &["plan", "--from", name]);
        assert!(said.len() < 3000, "{} bytes of a sentence", said.len());
    }
    fs::write(home.path("all.json"), format!("{{\"skep\":\"{long}\"}}")).unwrap();
    let done = home.run("rebuild all.json --store new.store");
    assert!(!done.status.success() && self::said(&done).len() < 3000);
    assert!(!home.path("new.store").exists());
    println!("a note of {} bytes, told on seven ways in", long.len());
    home.sound();
}

/// A hundred thousand vessels: no one makes so many, and a store that other hands
/// filled is read all the same.
#[test]
fn a_hundred_thousand_vessels_get_a_sentence_and_are_listed_where_they_are() {
    let home = Home::new();
    let count = times("SKEP_VESSELS", 20_000);
    let mut store: Store = home.open();
    let place = store.household(now()).unwrap().places[0].id;
    let jug = |n| Deed::AddVessel {
        tag: format!("V{n}"),
        kind: VesselKind::Jug,
        capacity: Litres::known(4.0),
        place,
        tare: None,
    };
    let (name, deeds) = (
        "a great many jugs".to_owned(),
        (0..100_000).map(jug).collect(),
    );
    let why = work::carry_out(&mut store, &Deed::Together { name, deeds }, now()).unwrap_err();
    assert_eq!(
        why.to_string(),
        "there are 2000 vessels already: more are not accepted"
    );
    drop(store);
    let conn = rusqlite::Connection::open(home.store()).unwrap();
    conn.execute(
        "WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < ?1)
         INSERT INTO vessel (tag, kind, capacity_l, place, clean, retired, note)
         SELECT 'V' || i, 'jug', 4.0, 1, 1, 0, '' FROM n",
        [i64::try_from(count).unwrap()],
    )
    .unwrap();
    drop(conn);
    let begun = Instant::now();
    for line in [
        "today",
        "vessels",
        "season",
        "show J1",
        "read J1 68f",
        "undo",
    ] {
        let done = home.run(line);
        let said = said(&done);
        assert!(
            done.status.code().is_some() && !said.contains("panicked"),
            "{line}: {said}"
        );
        if line == "vessels" {
            assert!(
                said.lines().count() as u64 > count,
                "{}",
                said.lines().count()
            );
        }
    }
    println!(
        "100000 vessels refused; a store with {count}: six verbs in {:?}",
        begun.elapsed()
    );
}
