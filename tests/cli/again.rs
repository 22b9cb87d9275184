//! The same answer for programs that ask again and again, and only while it is right.

use crate::home::Home;
use std::fs;
use std::time::SystemTime;

/// Seconds after which a store counts as settled; one written later is always asked itself.
const SETTLED: u64 = 3;

/// The machine's clock, by which the file system dates what is written, some
/// seconds ahead, in a zone whose midnight is hours away.
fn machine(ahead: u64) -> [(&'static str, String); 2] {
    let hour = SystemTime::UNIX_EPOCH.elapsed().unwrap().as_secs() / 3600 % 24;
    let zone = if (2..22).contains(&hour) {
        "UTC"
    } else {
        "Asia/Kathmandu"
    };
    [
        ("TZ", zone.to_owned()),
        ("SKEP_TEST_CLOCK", ahead.to_string()),
    ]
}

/// A home with a mead in J2, its store written just now.
fn home() -> Home {
    let home = Home::in_time(machine(0));
    home.add_jugs();
    home.start_mead(5);
    home
}

fn kept(home: &Home) -> std::path::PathBuf {
    home.path(".cache/skep/today.json")
}

#[test]
fn an_answer_is_given_again_until_the_store_is_touched() {
    let mut home = home();
    let fresh = home.out("today --json");
    assert!(!kept(&home).exists(), "the store was written just now");
    home.set_time(machine(SETTLED));
    let first = home.out("today --json");
    assert_ne!(first, fresh);
    assert!(kept(&home).exists());
    let second = home.skep("today --json");
    assert_eq!(second.get_output().stdout, first.as_bytes());
    assert_eq!(
        second.get_output().status.code(),
        home.skep("today").get_output().status.code()
    );
    // Another question, and another store, is another answer.
    let all = home.json("today --all");
    assert!(
        all["due"].as_array().unwrap().len() > home.json("today")["due"].as_array().unwrap().len()
    );
    let other = Home::with_jugs();
    let mut there = other.command();
    there.env("HOME", home.path(""));
    let said = there.args(["today", "--json"]).output().unwrap();
    assert!(!String::from_utf8(said.stdout).unwrap().contains("heather"));

    home.out("today --json");
    home.skep("read J2 1.080").success();
    let after = home.json("today");
    assert_eq!(after["rows"][0]["gravity"]["seen"], 1.08);
}

#[test]
fn a_store_put_back_with_its_old_times_is_noticed() {
    let mut home = home();
    home.set_time(machine(SETTLED));
    let first = home.json("today");
    let before = fs::metadata(home.store()).unwrap().modified().unwrap();
    let bytes = fs::read(home.store()).unwrap();
    fs::write(home.store(), bytes).unwrap();
    let file = fs::File::options().write(true).open(home.store()).unwrap();
    file.set_modified(before).unwrap();
    let second = home.json("today");
    assert_ne!(first["at"], second["at"]);
    assert_eq!(first["due"], second["due"]);
}

#[test]
fn a_garbled_answer_is_worked_out_again_and_is_its_owners_alone() {
    let mut home = home();
    home.set_time(machine(SETTLED));
    let first = home.json("today");
    let path = kept(&home);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(
            fs::metadata(&path).unwrap().permissions().mode() & 0o777,
            0o600
        );
    }
    for garbled in ["", "x", "x\n1 1\n{}", "\n\n\n", "\u{0}"] {
        fs::write(&path, garbled).unwrap();
        assert_eq!(home.json("today")["due"], first["due"], "{garbled:?}");
    }
    // An answer of another minute does not count.
    let text = fs::read_to_string(&path).unwrap();
    let mut lines: Vec<&str> = text.lines().collect();
    let (at, code) = lines[1].split_once(' ').unwrap();
    let at: i64 = at.parse().unwrap();
    let (earlier, later) = (
        format!("{} {code}", at - 60_000),
        format!("{} {code}", at + 60_000),
    );
    for when in [&earlier, &later] {
        lines[1] = when;
        lines[2] = "{\"wrong\": 1,";
        fs::write(&path, lines.join("\n")).unwrap();
        assert_eq!(home.json("today")["due"], first["due"]);
    }
}
