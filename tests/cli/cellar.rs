//! From a finished jug to the last bottle, from the shell.

use super::home::Home;
use predicates::prelude::PredicateBooleanExt;
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
        .stdout(contains("contains honey"))
        // Meant to be still, bottled with gas: the label says what it is.
        .stdout(contains("sparkling traditional mead"));
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
        .stderr(contains("sealed bottles could explode"));
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
        .code(2)
        .stderr(contains("add no more"));
    home.skep("stabilise J1 --ph 3.4 --free 0 --acid 0 --dry-run")
        .success()
        .stdout(contains("total SO2 then 126"));
}

#[test]
fn a_jug_is_kegged_and_drunk_glass_by_glass() {
    let home = finished();
    let held = skep(&home, &["bottle", "J2", "--keg", "K1"]);
    held.code(5).stderr(contains("skep vessels add K1 keg"));
    home.skep("bottle J2 --keg J1")
        .code(2)
        .stderr(contains("only a keg takes the pressure"));
    home.skep("vessels add K1 keg 5gal").success();
    let line = "bottle J2 --keg K1 --volume 1gal --lost 0.04gal --target 2.5 --storage 5c";
    let dry = home.json(&format!("{line} --dry-run"));
    // Water takes 2.759 g/L of CO2 per bar at 5 °C and 1.726 at 20 °C (Carroll and
    // others, 1991); a wine of 12.4 % at 20 °C takes 1.951 x (0.86 - 0.124) = 1.436
    // (EU method), so 2.295 at 5 °C. A volume is 1.9768 g/L, the air 1.013 bar:
    // 2.5 volumes want 1.14 bar, within the 5 % of the sum.
    let bar = dry["regulator_bar"].as_f64().unwrap();
    assert!((bar - 1.14).abs() < 0.06, "{bar}");
    // 0.96 gal are 122.9 fl oz: ten glasses of 12.
    assert_eq!(
        (dry["glasses"].as_i64(), dry["days"].as_i64()),
        (Some(10), Some(10))
    );
    let sum = dry["kegged_l"].as_f64().unwrap() + dry["lost_l"].as_f64().unwrap();
    assert!((sum - 3.785411784).abs() < 1e-6, "{sum}");
    let mut words: Vec<&str> = line.split(' ').collect();
    words.extend(["--overrule", "read on paper for weeks"]);
    skep(&home, &words)
        .success()
        .stdout(contains("at the regulator for 2.5 volumes at 41 °F"))
        .stdout(contains("10 glasses of 12 fl oz"));
    home.skep("show K1").stdout(contains("heather"));
    home.skep("take K1 3 given Anna").success();
    home.skep("take K1 9").code(2).stderr(contains("7"));
    assert_eq!(home.json("cellar")["kegs"][0]["glasses"], 7);
    home.skep("cellar").stdout(contains("7 glasses in K1"));
    // The last glass closes the batch and frees the keg.
    home.skep("take K1 7").success();
    assert_eq!(home.json("cellar")["kegs"].as_array().unwrap().len(), 0);
    home.skep("undo").success();
    assert_eq!(home.json("cellar")["kegs"][0]["glasses"], 7);
}

#[test]
fn one_jug_of_a_split_batch_is_bottled_alone() {
    let home = finished();
    home.skep("rack J2 J1 --volume 0.5gal --split").success();
    let words = [
        "bottle",
        "J1",
        "--bottles",
        "4 x 12 fl oz crown-cap",
        "--lost",
        "0.1gal",
        "--overrule",
        "read on paper for weeks",
    ];
    skep(&home, &words).success().stdout(contains("4 bottles"));
    let cellar = home.json("cellar");
    assert_eq!(cellar["lots"][0]["left"], 4);
    home.skep("show J2").stdout(contains("heather"));
    home.skep("read J2 998 68f").success();
    home.skep("show J1").stdout(contains("heather").not());
}

#[test]
fn the_register_of_bottles_is_told_and_changed() {
    let home = Home::with_jugs();
    let add = |words: &[&str]| {
        let mut all = vec!["pantry", "add"];
        all.extend(words);
        all.extend(["--kind", "bottle"]);
        skep(&home, &all)
    };
    add(&[
        "12 fl oz crown-cap bottles",
        "24",
        "pieces",
        "--filled",
        "2",
    ])
    .success();
    add(&["odd bottles", "6", "pieces"])
        .code(2)
        .stderr(contains("--size"));
    add(&[
        "odd bottles",
        "6",
        "pieces",
        "--size",
        "75cl",
        "--class",
        "champagne",
    ])
    .code(2)
    .stderr(contains("is no class"));
    add(&[
        "odd bottles",
        "6",
        "pieces",
        "--size",
        "75cl",
        "--rated",
        "6 bar",
    ])
    .success();
    skep(
        &home,
        &[
            "pantry",
            "bottle",
            "12 fl oz crown-cap bottles",
            "--reject",
            "2",
        ],
    )
    .success();
    skep(
        &home,
        &[
            "pantry",
            "bottle",
            "12 fl oz crown-cap bottles",
            "--reject",
            "23",
        ],
    )
    .code(2);
    home.skep("pantry bottles")
        .success()
        .stdout(contains("22 x 12 fl oz crown-cap bottles"))
        .stdout(contains("3.0 volumes, 58 psi; filled 2 times, 2 put aside"))
        // Nobody said of what class they are: no gas, whatever they are rated.
        .stdout(contains("class not known: no gas"));
    let full = finished();
    let words = [
        "bottle",
        "J2",
        "--gas",
        "sparkling",
        "--lost",
        "0.5gal",
        "--volume",
        "1gal",
        "--bottles",
        "2 x 500ml attic bottles",
    ];
    skep(&full, &words).code(7).stdout(contains(
        "Bottles of unknown class count as not made for pressure",
    ));
    home.skep("undo").success();
    assert_eq!(home.json("pantry bottles")["bottles"][0]["there"], 24.0);
}

#[test]
fn the_reports_are_in_the_schema() {
    let home = finished();
    home.skep("vessels add K1 keg 5gal").success();
    let schema: serde_json::Value =
        serde_json::from_str(include_str!("../../assets/schema/report.schema.json")).unwrap();
    for (line, part) in [
        ("cellar", "cellar"),
        ("compare", "compare"),
        ("bottle J2 --volume 1gal --dry-run", "bottling"),
        ("bottle J2 --keg K1 --dry-run", "kegging"),
        ("pantry bottles", "bottles"),
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
