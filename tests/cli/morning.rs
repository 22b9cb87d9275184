use super::home::Home;
use predicates::str::contains;

#[test]
fn without_a_store_a_look_makes_none_and_says_what_to_do() {
    let home = Home::empty();
    home.skep("today")
        .code(3)
        .stderr(contains("skep: there is no store at"))
        .stderr(contains("skep demo"));
    assert!(!home.store().exists());
}

#[test]
fn an_empty_shelf_wants_nothing() {
    let home = Home::with_jugs();
    home.skep("today")
        .code(0)
        .stdout(contains("No vessel holds anything."))
        .stdout(contains("Nothing is due today."))
        .stdout(contains("Free: J1, J2"));
}

#[test]
fn a_batch_just_pitched_wants_its_first_steps() {
    let home = Home::with_mead(0);
    home.skep("today")
        .code(10)
        .stdout(contains("J2     heather"))
        .stdout(contains("day 1"))
        .stdout(contains("To do today"));
}

#[test]
fn a_forgotten_swirl_is_late_in_words_with_its_harm() {
    let home = Home::with_mead(3);
    home.skep("today")
        .code(11)
        .stdout(contains("2 days late"))
        .stdout(contains("swirl"));
    home.skep("show J2").code(11).stdout(contains("late"));
}

#[test]
fn a_day_ahead_shows_what_will_be_wanted() {
    let home = Home::with_mead(0);
    home.skep("today --on tomorrow").stdout(contains("day 2"));
    home.skep("today --on +3d").stdout(contains("day 4"));
    home.skep("today --on noonish")
        .code(2)
        .stderr(contains("'noonish' is no day or time"));
}

#[test]
fn a_stuck_ferment_has_a_code_of_its_own() {
    let home = Home::with_mead(30);
    for (day, sg) in [
        (30, 92),
        (27, 70),
        (24, 62),
        (20, 60),
        (16, 60),
        (12, 60),
        (8, 60),
        (4, 60),
        (0, 60),
    ] {
        home.skep(&format!("read J2 {sg} 68f -{day}d --anyway"))
            .success();
    }
    home.skep("today").code(13).stdout(contains("stuck"));
    assert_eq!(home.json("show J2")["exit"]["code"], 13);
}

#[test]
fn the_demo_household_fills_a_store_of_its_own() {
    let home = Home::empty();
    let file = home.path("demo.store");
    home.command()
        .args(["demo", "--into"])
        .arg(&file)
        .assert()
        .success();
    home.command()
        .arg("--store")
        .arg(&file)
        .arg("today")
        .assert()
        .code(13)
        .stdout(contains("stuck"));
    // A second time it touches nothing.
    home.command()
        .args(["demo", "--into"])
        .arg(&file)
        .assert()
        .code(2)
        .stderr(contains("is there already"));
    assert!(!home.store().exists());
}
