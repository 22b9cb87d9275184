use super::home::Home;
use predicates::str::contains;

fn state(home: &Home, key: &str) -> String {
    let out = home.out("show J2");
    let line = out
        .lines()
        .find(|l| l.split_whitespace().nth(1) == Some(key))
        .unwrap_or_else(|| panic!("no step {key} in\n{out}"));
    line.to_owned()
}

#[test]
fn a_step_is_named_by_number_key_or_the_beginning_of_a_word() {
    let home = Home::with_mead(1);
    // Day 2 of the routine: swirl and feed.
    home.skep("done J2 swirl")
        .success()
        .stdout(contains("swirl"));
    assert!(state(&home, "swirl-feed-2").contains("done"));
    home.skep("done J2 swirl-feed-5").success();
    assert!(state(&home, "swirl-feed-5").contains("done"));
    home.skep("done J2 3").success();
    assert!(state(&home, "read-og").contains("done"));
    home.skep("done J2 3")
        .code(2)
        .stderr(contains("settled already"));
    home.skep("done J2 99")
        .code(5)
        .stderr(contains("there is no step 99"));
    home.skep("done J2 dance")
        .code(5)
        .stderr(contains("no open step is called 'dance'; open are"));
    home.skep("done J1 swirl")
        .code(5)
        .stderr(contains("nothing lies in J1"));
}

#[test]
fn what_was_really_added_goes_into_the_ledger() {
    let home = Home::with_mead(1);
    home.command()
        .args([
            "done",
            "J2",
            "swirl",
            "--added",
            "dap",
            "--mass",
            "1.5g",
            "--note",
            "half a packet",
        ])
        .assert()
        .success();
    let out = home.out("show J2 --ledger");
    assert!(out.contains("1.50 g dap"), "{out}");
    home.skep("done J2 swirl --mass 1.5g").code(2);
    home.command()
        .args(["done", "J2", "swirl", "--added", "dap", "--mass", "heavy"])
        .assert()
        .code(2)
        .stderr(contains("'heavy' is not understood"));
}

#[test]
fn a_step_is_left_out_with_a_reason_or_moved() {
    let home = Home::with_mead(1);
    home.skep("skip J2 swirl-feed-2 was away").success();
    assert!(state(&home, "swirl-feed-2").contains("left out"));
    assert!(home.out("show J2 --ledger").contains("was away"));
    home.skep("skip J2 swirl").code(2);
    home.skep("move J2 swirl-8 +9d").success();
    assert!(
        state(&home, "swirl-8").contains("in 9 days"),
        "{}",
        state(&home, "swirl-8")
    );
    home.skep("move J2 swirl-8 noonish").code(2);
}

#[test]
fn a_batch_starts_from_a_routine_and_knows_its_own_units() {
    let home = Home::with_jugs();
    home.skep("start J1 cider --name windfall --og 50 --volume 3.5l")
        .success();
    let row = &home.json("show J1")["row"];
    assert_eq!(row["name"], "windfall");
    assert_eq!(row["style"], "cider");
    assert_eq!(row["day"], 1);
    home.skep("start J1 cider").code(2).stderr(contains("J1"));
    home.skep("start J2 wine-of-stones")
        .code(5)
        .stderr(contains("there is no routine 'wine-of-stones'; there are"));
    home.skep("start J2 one-gallon --plan +2d --name later")
        .success();
    assert_eq!(home.json("show J2")["row"]["state"], "planned");
    home.skep("pitch J2").success();
    assert_eq!(home.json("show J2")["row"]["day"], 1);
}

#[test]
fn the_thirty_days_of_the_one_gallon_mead() {
    // Dates as the trade has them for a one-gallon mead (common practice, no
    // source): feed on days 2 and 5, swirl until day 20, ten days' rest, bottle
    // on day 30.
    let home = Home::with_mead(0);
    let due = home.json("today --all")["due"].clone();
    let day = |text: &str| {
        text.get(..10)
            .unwrap()
            .parse::<chrono::NaiveDate>()
            .unwrap()
    };
    let today = day(home.json("today")["at"].as_str().unwrap());
    let day_of = |title: &str| -> Option<i64> {
        let found = due
            .as_array()
            .unwrap()
            .iter()
            .find(|d| d["title"].as_str().unwrap().to_lowercase().contains(title))?;
        Some((day(found["due"].as_str()?) - today).num_days() + 1)
    };
    assert_eq!(day_of("swirl the gas out"), Some(2));
    assert_eq!(day_of("swirl for the last time"), Some(20));
}

#[test]
fn vessels_and_places_are_listed_and_added() {
    let home = Home::with_mead(0);
    home.skep("vessels")
        .success()
        .stdout(contains("heather"))
        .stdout(contains("free"));
    home.skep("places")
        .success()
        .stdout(contains("closet"))
        .stdout(contains("J1, J2"));
    home.skep("vessels add J1 jug 1gal")
        .code(2)
        .stderr(contains("J1"));
    home.skep("vessels add J3 kettle 1gal")
        .code(2)
        .stderr(contains(
            "'kettle' is no kind of vessel; accepted: jug, carboy, bucket, tank, keg, other",
        ));
    home.skep("vessels add J3 jug 68f")
        .code(2)
        .stderr(contains("'68f' is not a volume"));
    home.skep("places add garage --light").success();
    home.skep("vessels add J3 jug 1gal")
        .code(2)
        .stderr(contains("--place"));
    home.skep("vessels add J3 jug 1gal --place attic")
        .code(5)
        .stderr(contains("closet and garage"));
    home.skep("vessels add J3 jug 1gal --place garage")
        .success();
    let empty = Home::empty();
    empty
        .skep("vessels add J1 jug 1gal")
        .code(5)
        .stderr(contains("skep places add closet"));
}
