//! From a finished jug to the last bottle, from the shell.

use super::home::Home;
use predicates::str::contains;

/// A dry cider-like mead in J2, steady for weeks.
fn finished() -> Home {
    let home = Home::with_mead(60);
    for (day, sg) in [
        (60, "92"),
        (45, "20"),
        (25, "999"),
        (16, "998"),
        (8, "998"),
        (1, "998"),
    ] {
        home.skep(&format!("read J2 {sg} 68f -{day}d --anyway"))
            .success();
    }
    home
}

fn skep(home: &Home, words: &[&str]) -> assert_cmd::assert::Assert {
    home.command().args(words).assert()
}

#[test]
fn a_jug_is_bottled_drunk_and_tasted() {
    let home = finished();
    let words = [
        "bottle",
        "J2",
        "--gas",
        "sparkling",
        "--target",
        "2.5",
        "--volume",
        "1gal",
        "--lost",
        "0l",
        "--warmest",
        "20c",
        "--bottles",
        "10 x 12 fl oz crown-cap",
        "--dry-run",
        "--json",
    ];
    let out = skep(&home, &words).get_output().stdout.clone();
    let dry: serde_json::Value = serde_json::from_slice(&out).unwrap();
    // 23.8 g of sucrose for a US gallon at 20 °C to 2.5 volumes, within 1.5 g:
    // Henry's law (R. Sander, Atmos. Chem. Phys. 2023) and molar masses.
    let sugar = dry["sugar_g"].as_f64().unwrap();
    assert!((sugar - 23.8).abs() < 1.5, "{sugar}");
    let sum: f64 = ["bottled_l", "over_l", "lost_l"]
        .iter()
        .map(|k| dry[k].as_f64().unwrap())
        .sum();
    // A gram of sucrose takes 0.61 to 0.63 mL in solution (partial volume by the
    // densities of sucrose solutions, CRC Handbook).
    let swelling = dry["swelling_l"].as_f64().unwrap();
    let per_gram = swelling * 1000.0 / sugar;
    assert!((0.61..0.63).contains(&per_gram), "{per_gram}");
    // 1 US gallon is 3.785411784 L.
    assert!((sum - swelling - 3.785411784).abs() < 1e-6, "{sum}");
    let words = [
        "bottle",
        "J2",
        "--gas",
        "sparkling",
        "--volume",
        "1gal",
        "--bottles",
        "10 x 12 fl oz crown-cap",
        "--lost",
        "0.05gal",
        "--overrule",
        "read on paper for weeks",
    ];
    skep(&home, &words).success().stdout(contains("10 bottles"));
    let cellar = home.json("cellar");
    assert_eq!(cellar["lots"][0]["left"], 10);
    home.skep("take heather 2 given Anna")
        .success()
        .stdout(contains("8 left"));
    home.skep("take heather 9").code(2);
    home.skep("take heather broken").success();
    home.skep("taste heather 4 4 3 5 4 --words pears --opened")
        .success();
    home.skep("take heather 6").success();
    let cellar = home.json("cellar --all");
    assert_eq!(cellar["lots"][0]["left"], 0);
    assert_eq!(cellar["lots"][0]["score"], 4.0);
    assert_eq!(home.json("cellar")["lots"].as_array().unwrap().len(), 0);
    home.skep("compare").success().stdout(contains("heather"));
    skep(&home, &["sheet", "heather", "--text"])
        .success()
        .stdout(contains("contains honey"));
}

#[test]
fn a_hold_gives_its_own_exit_code_and_bottles_nothing() {
    let home = Home::with_mead(9);
    home.skep("read J2 92 68f -9d").success();
    home.skep("read J2 50 68f -1d").success();
    let words = [
        "bottle",
        "J2",
        "--volume",
        "1gal",
        "--bottles",
        "10 x 12 fl oz crown-cap",
    ];
    skep(&home, &words)
        .code(7)
        .stdout(contains("HOLD"))
        .stderr(contains("--overrule"));
    assert_eq!(home.json("cellar")["lots"].as_array().unwrap().len(), 0);
}

#[test]
fn bottles_that_run_out_lose_nothing() {
    let home = finished();
    let words = [
        "bottle",
        "J2",
        "--volume",
        "1gal",
        "--bottles",
        "4 x 12 fl oz crown-cap",
        "--overrule",
        "read on paper for weeks",
    ];
    skep(&home, &words).code(2).stderr(contains("run out"));
    home.skep("show J2").stdout(contains("heather"));
}

#[test]
fn racking_pouring_and_doses_are_told_and_kept() {
    let home = finished();
    home.skep("rack J2 J1 --volume 0.95gal")
        .success()
        .stdout(contains("headspace"));
    skep(&home, &["pour", "J1", "0.03gal", "--with", "water"])
        .success()
        .stdout(contains("0.98 gal"));
    skep(&home, &["sweeten", "J1", "1.010"])
        .code(7)
        .stderr(contains("bomb"));
    // 0.8 mg/L molecular at pH 3.4 is 32 mg/L free (pKa 1.81): with half of the
    // dose bound, 64 mg/L; 0.98 gal then takes 0.41 g (57.6 % SO2).
    home.skep("stabilise J1 --ph 3.4")
        .success()
        .stdout(contains("0.41 g of potassium metabisulfite"))
        .stdout(contains("total SO2 then 64 of at most 350"));
    skep(&home, &["sweeten", "J1", "1.010"])
        .success()
        .stdout(contains("of honey"));
    // A second dose counts on the first, which the honey has thinned: 0.98 gal
    // and about 110 g of it are 2 % more (1.42 kg/L, White and others, 1962).
    home.skep("stabilise J1 --ph 3.4 --acid 0 --dry-run")
        .success()
        .stdout(contains("total SO2 then 126"));
}

#[test]
fn the_reports_are_in_the_schema() {
    let home = finished();
    let schema: serde_json::Value =
        serde_json::from_str(include_str!("../../assets/schema/report.schema.json")).unwrap();
    for (line, part) in [
        ("cellar", "cellar"),
        ("compare", "compare"),
        ("bottle J2 --volume 1gal --dry-run", "bottling"),
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
