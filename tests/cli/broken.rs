use super::home::Home;
use predicates::str::contains;
use std::io::Read;
use std::process::Stdio;

#[test]
fn a_reader_that_goes_away_is_no_error() {
    let home = Home::with_mead(3);
    for words in [
        ["figure", "--json"],
        ["export", "all"],
        ["export", "salvage"],
    ] {
        no_error_when_nobody_reads(&home, &words);
    }
}

fn no_error_when_nobody_reads(home: &Home, words: &[&str]) {
    let mut child = home
        .process()
        .args(words)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let mut said = String::new();
    child
        .stderr
        .take()
        .unwrap()
        .read_to_string(&mut said)
        .unwrap();
    let status = child.wait().unwrap();
    assert_eq!(said, "");
    assert_eq!(status.code(), Some(0));
}

#[test]
fn a_file_that_is_no_store_is_refused_and_left_untouched() {
    let home = Home::empty();
    std::fs::write(home.store(), "shopping list\nhoney\n").unwrap();
    home.skep("today").code(3).stderr(contains("skep: "));
    assert_eq!(
        std::fs::read_to_string(home.store()).unwrap(),
        "shopping list\nhoney\n"
    );
}

#[test]
fn a_store_that_cannot_be_written_is_told() {
    let home = Home::empty();
    home.command()
        .env("SKEP_STORE", "/proc/no/such/place/home.store")
        .args(["places", "add", "closet"])
        .assert()
        .code(3)
        .stderr(contains("skep: "));
}

#[test]
fn the_option_beats_the_environment() {
    let home = Home::with_jugs();
    let other = home.path("other.store");
    home.command()
        .arg("--store")
        .arg(&other)
        .args(["places", "add", "garage"])
        .assert()
        .success();
    assert!(other.exists());
    let out = home.out("places");
    assert!(out.contains("closet") && !out.contains("garage"), "{out}");
}

#[test]
fn without_option_and_environment_it_lies_in_the_data_folder() {
    let home = Home::empty();
    home.command()
        .env_remove("SKEP_STORE")
        .args(["places", "add", "closet"])
        .assert()
        .success();
    assert!(home.path(".local/share/skep/skep.store").exists());
}

#[test]
fn a_backup_tells_what_differs_before_it_comes_back() {
    let home = Home::with_mead(3);
    home.skep("backup")
        .success()
        .stdout(contains("A verified copy lies at"));
    home.skep("read J2 80").success();
    home.skep("restore")
        .success()
        .stdout(contains("1 change would be lost:"))
        .stdout(contains("reading 1.080 of J2"))
        .stdout(contains("Nothing was changed; --yes"));
    assert_eq!(
        home.json("show J2")["readings"].as_array().unwrap().len(),
        1
    );
    home.skep("restore --yes")
        .success()
        .stdout(contains("is kept at"));
    assert_eq!(
        home.json("show J2")["readings"].as_array().unwrap().len(),
        0
    );
    home.skep("restore")
        .success()
        .stdout(contains("nothing differs"));
    home.skep("restore 1999-01-01")
        .code(5)
        .stderr(contains("neither a file nor the day"));
    std::fs::write(home.path("not.backup"), "honey").unwrap();
    home.skep("restore not.backup --yes").code(3);
}

#[test]
fn a_copy_is_made_once_a_day_on_which_the_store_changed() {
    let home = Home::with_mead(3);
    let copies = |home: &Home| {
        home.json("backup --list")["backups"]
            .as_array()
            .unwrap()
            .len()
    };
    // The first change made the store; the second found no copy of today.
    assert_eq!(copies(&home), 1);
    home.skep("read J2 80").success();
    home.skep("today");
    assert_eq!(copies(&home), 1);
}

#[test]
fn a_check_tells_where_everything_is_and_that_it_is_whole() {
    let home = Home::with_mead(3);
    home.skep("check")
        .success()
        .stdout(contains("home.store"))
        .stdout(contains("Nothing is wrong."));
    assert_eq!(home.json("check")["findings"].as_array().unwrap().len(), 0);
}

#[test]
fn the_dashboard_needs_a_terminal() {
    let home = Home::with_jugs();
    home.skep("")
        .code(2)
        .stderr(contains("skep today prints the morning as text"));
    home.skep("--json").code(2);
}
