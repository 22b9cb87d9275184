//! Planning from the shell: plans, their files, the day, the season, the pantry.

use super::home::Home;
use predicates::str::contains;
use std::fs;

#[test]
fn a_plan_goes_to_a_file_and_comes_back_the_same() {
    let home = Home::with_jugs();
    let file = home.path("fern.toml");
    let first = home.json(&format!(
        "plan --vessel J1 --og 100 --name Fern --pitch +2d --write {}",
        file.display()
    ));
    let text = fs::read_to_string(&file).unwrap();
    assert!(text.contains("skep_plan = 1"), "{text}");
    let again = home.json(&format!("plan --from {}", file.display()));
    assert_eq!(first, again);
    // 1.100 in a US gallon: between the trade's 2.5 lb (1.092 to 1.095) and
    // 3 lb (1.110 to 1.114).
    let honey = first["parts"][0]["mass_g"].as_f64().unwrap() / 453.59237;
    assert!((2.5..3.0).contains(&honey), "{honey} lb");
    fs::write(&file, text.replace("skep_plan = 1", "skep_plan = 7")).unwrap();
    home.skep(&format!("plan --from {}", file.display()))
        .code(2)
        .stderr(contains("reads plans up to version 1"));
}

#[test]
fn an_earlier_batch_is_planned_again_and_scaled() {
    let home = Home::with_mead(3);
    home.skep("read J2 96 -3d --anyway").success();
    let again = home.json("plan --again heather --vessel J1");
    assert_eq!(again["name"], "heather again");
    let og = again["original"]["likely"].as_f64().unwrap();
    // What was read: 1.096.
    assert!((og - 1.096).abs() < 0.001, "{og}");
    home.skep("plan --again nothing")
        .code(5)
        .stderr(contains("there is no batch 'nothing'"));
}

#[test]
fn what_can_t_be_says_what_can() {
    let home = Home::with_jugs();
    home.skep("plan --alcohol 18")
        .code(2)
        .stderr(contains("is more than wine yeast bears"));
    home.skep("plan --part moonbeam=1lb")
        .code(5)
        .stderr(contains(
            "there is no ingredient 'moonbeam'; there are honey",
        ));
    home.skep("plan --og 1.1 --alcohol 12").code(2);
    home.skep("plan --yeast bread")
        .code(5)
        .stderr(contains("there is no yeast 'bread'; there are wine"));
}

#[test]
fn the_whole_day_from_the_shell() {
    let home = Home::with_jugs();
    home.skep("plan --vessel J1 --name Fern --keep").success();
    home.skep("pantry add honey 3000 g --kind honey").success();
    home.skep("day Fern --tick pitch")
        .code(2)
        .stderr(contains("Take the original gravity first"));
    let lines = home.json("day Fern");
    for line in lines["lines"].as_array().unwrap() {
        let key = line["key"].as_str().unwrap();
        let used = if key == "original" { " --used 95" } else { "" };
        home.skep(&format!("day Fern --tick {key}{used}")).success();
    }
    // The day is over: what comes first, in which vessel and when.
    let next = "Next: J1, day 2, tomorrow: swirl the gas out for 2 minutes";
    home.skep("day Fern").stdout(contains(next));
    let lines = home.json("day Fern");
    let all = lines["lines"].as_array().unwrap();
    assert!(all.iter().all(|l| l["done"].is_string()), "{lines}");
    home.skep("show J1")
        .stdout(contains("Fern"))
        .stdout(contains("1.095"));
    let pantry = home.json("pantry");
    let left = pantry["items"][0]["amount"].as_f64().unwrap();
    // The default gallon takes about two and a half pounds.
    assert!((1750.0..2000.0).contains(&left), "{left} g");
}

#[test]
fn days_away_the_season_and_what_to_buy() {
    let home = Home::with_mead(1);
    home.skep("away add 12-24 to 12-30").success();
    home.skep("away").success().stdout(contains("12-24 to "));
    home.skep("away add later")
        .code(2)
        .stderr(contains("Type the first"));
    home.skep("plan --vessel J1 --name Fern --keep").success();
    let season = home.json("season --weeks 4");
    assert_eq!(season["weeks"].as_array().unwrap().len(), 4);
    let lanes = season["lanes"].as_array().unwrap();
    let of = |tag: &str| lanes.iter().find(|l| l["vessel"] == tag).unwrap();
    assert_eq!(of("J1")["spans"][0]["batch"], "Fern");
    assert_eq!(of("J2")["spans"][0]["state"], "lag");
    let buy = home.json("pantry buy");
    assert_eq!(buy["buy"][0]["name"], "honey");
    home.skep("away drop 1").success();
    home.skep("away drop 1").code(5);
    home.skep("undo").success();
    home.skep("away").success().stdout(contains("12-24"));
}

#[test]
fn the_new_reports_are_in_the_schema() {
    let home = Home::with_jugs();
    home.skep("plan --name Fern --vessel J1 --keep").success();
    let schema: serde_json::Value =
        serde_json::from_str(include_str!("../../assets/schema/report.schema.json")).unwrap();
    for (line, part) in [
        ("plan", "plan"),
        ("day", "day_list"),
        ("season", "season"),
        ("away", "away"),
        ("pantry", "pantry"),
        ("pantry buy", "shopping"),
    ] {
        let report = home.json(line);
        let wanted = &schema["$defs"][part];
        for key in wanted["required"].as_array().unwrap() {
            let key = key.as_str().unwrap();
            assert!(report.get(key).is_some(), "{line}: {key}");
        }
        let known = wanted["properties"].as_object().unwrap();
        for key in report.as_object().unwrap().keys() {
            let told = key == "format" || known.contains_key(key);
            assert!(told, "{line}: {key} is not in the schema");
        }
    }
}

#[test]
fn a_plan_calls_to_mind_what_was_written_last_time() {
    let home = Home::empty();
    home.command()
        .args(["demo", "--into"])
        .arg(home.store())
        .assert()
        .success();
    // Old Ladder is in bottles; its words of a tasting are in the demo's file.
    home.skep("plan --style mead --volume 1gal --og 1.095")
        .success()
        .stdout(predicates::str::contains("Last time"));
    let fresh = Home::with_jugs();
    let out = fresh.skep("plan --style mead --volume 1gal --og 1.095");
    let text = String::from_utf8(out.get_output().stdout.clone()).unwrap();
    assert!(!text.contains("Last time"), "{text}");
}
