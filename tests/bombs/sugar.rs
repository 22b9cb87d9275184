//! Sugar, additions, dilution, sulfite and sorbate.

use crate::kit::{self, Case, Drink, Household, Outcome};

const STILL_C1: &str = "bottle C1 --gas still";
const SPARKLING_C1: &str = "bottle C1 --gas sparkling --target 2.5";
const STILL_J2: &str = "bottle J2 --gas still";

const fn held(
    name: &'static str,
    drink: Drink,
    before: &'static [&'static str],
    line: &'static str,
    words: &'static [&'static str],
) -> Case {
    Case {
        name,
        drink,
        before,
        line,
        outcome: Outcome::Held(words),
    }
}

const fn fine(
    name: &'static str,
    drink: Drink,
    before: &'static [&'static str],
    line: &'static str,
) -> Case {
    Case {
        name,
        drink,
        before,
        line,
        outcome: Outcome::Fine,
    }
}

/// Something went in since the last reading, by every way of telling it.
const ADDITIONS: &[Case] = &[
    held(
        "juice in a dry mead, sparkling: 5 volumes and more",
        Drink::DryMead,
        &["pour C1 0.5gal --with 'apple juice' --gravity 1.050"],
        SPARKLING_C1,
        &[
            "apple juice",
            "is not stabilised",
            "bottle takes 77 psi at most",
        ],
    ),
    held(
        "juice of which nobody read the gravity",
        Drink::DryMead,
        &["pour C1 0.5gal --with 'apple juice'"],
        SPARKLING_C1,
        &[
            "apple juice",
            "usual amount is assumed",
            "is not stabilised",
        ],
    ),
    held(
        "a juice that no table has",
        Drink::DryMead,
        &["pour C1 0.5gal --with 'quince juice'"],
        STILL_C1,
        &["quince juice", "is not stabilised"],
    ),
    held(
        "concentrate, a cupful",
        Drink::DryMead,
        &["pour C1 0.1gal --with 'apple juice concentrate'"],
        STILL_C1,
        &["concentrate", "is not stabilised"],
    ),
    held(
        "honey told with a step",
        Drink::DryMead,
        &["done C1 read-21 --added honey --mass 500g"],
        SPARKLING_C1,
        &["honey", "is not stabilised", "bottle takes 77 psi at most"],
    ),
    held(
        "honey told with a step, of which nobody says how much",
        Drink::DryMead,
        &["done C1 read-21 --added honey"],
        STILL_C1,
        &["honey", "not in the ledger", "is not stabilised"],
    ),
    held(
        "sugar told with a racking",
        Drink::DryMead,
        &["done C1 rack --added 'brown sugar' --mass 400g"],
        STILL_C1,
        &["brown sugar", "is not stabilised"],
    ),
    held(
        "syrup by volume",
        Drink::DryMead,
        &["done C1 read-21 --added 'maple syrup' --volume 0.5l"],
        STILL_C1,
        &["maple syrup", "is not stabilised"],
    ),
    held(
        "fruit on a finished mead",
        Drink::DryMead,
        &["done C1 read-21 --added raspberries --mass 2kg"],
        STILL_C1,
        &["raspberries", "10 days", "is not stabilised"],
    ),
    held(
        "raisins told as a nutrient",
        Drink::DryMead,
        &["done C1 feed-4 --added raisins --mass 400g"],
        STILL_C1,
        &["raisins", "is not stabilised"],
    ),
    held(
        "an unfinished batch blended in",
        Drink::DryMead,
        &[
            "start J2 one-gallon-traditional-mead --name young --volume 0.9gal --og 1.100 --at -4d",
            "read J2 1.100 68f -4d --anyway",
            "read J2 1.070 68f -2h --anyway",
            "pour C1 0.5gal --from J2",
        ],
        STILL_C1,
        &["young", "is not stabilised"],
    ),
    held(
        "thinned with water, and nobody looked since",
        Drink::DryMead,
        &["pour C1 0.9gal --with water"],
        STILL_C1,
        &["water", "Leave it for 7 days"],
    ),
    held(
        "juice, and a reading before it could ferment",
        Drink::DryMead,
        &[
            "pour C1 0.5gal --with 'apple juice' --gravity 1.050 --at -2d",
            "read C1 1.003 68f -1d --anyway",
        ],
        SPARKLING_C1,
        &["apple juice", "Not before"],
    ),
    held(
        "honey in a finished ale",
        Drink::Ale,
        &["done C1 read-12 --added honey --mass 400g"],
        SPARKLING_C1,
        &["honey", "bottle takes 77 psi at most"],
    ),
    held(
        "a drink that nobody tasted for sugar",
        Drink::DryMead,
        &["done C1 read-21 --added 'old wine' --volume 2l"],
        STILL_C1,
        &["old wine", "usual amount is assumed", "is not stabilised"],
    ),
    held(
        "sweetened in spite of the hold, then bottled",
        Drink::DryMead,
        &["sweeten C1 1.010 --overrule 'the household likes it sweet'"],
        STILL_C1,
        &["honey", "is not stabilised"],
    ),
];

#[test]
fn what_went_in_since_the_last_reading_closes_bottling() {
    kit::run(ADDITIONS);
}

/// Sulfite and sorbate that do not protect what they went into.
const DOSES: &[Case] = &[
    held(
        "sweet, and nothing was given",
        Drink::SweetMead,
        &["read J2 1.020 68f -1d --anyway"],
        STILL_J2,
        &["is not stabilised"],
    ),
    held(
        "sulfite without sorbate",
        Drink::SweetMead,
        &[
            "stabilise J2 --ph 3.4 --acid 0",
            "read J2 1.020 68f --anyway",
        ],
        STILL_J2,
        &["is not stabilised"],
    ),
    Case {
        name: "a hundredth of the dose",
        drink: Drink::SweetMead,
        before: &[],
        line: "stabilise J2 --ph 3.4 --molecular 0.01 --acid 1",
        outcome: Outcome::Refused(&["molecular SO2"]),
    },
    held(
        "a quarter of the dose",
        Drink::SweetMead,
        &["stabilise J2 --ph 3.4 --molecular 0.2"],
        "sweeten J2 1.030",
        &["molecular SO2", "Yeast would ferment this sugar"],
    ),
    held(
        "a pinch of sorbate",
        Drink::SweetMead,
        &["stabilise J2 --ph 3.4 --acid 20"],
        "sweeten J2 1.030",
        &["20 mg/L of sorbic acid"],
    ),
    held(
        "a cider too weak for sorbate",
        Drink::Cider,
        &["stabilise J2 --ph 3.4"],
        "sweeten J2 1.010",
        &["% vol sorbate can't be relied on"],
    ),
    held(
        "a weak and hardly sour cider, sweetened in spite of it and bottled still",
        Drink::Cider,
        &[
            "stabilise J2 --ph 3.8 --molecular 0.6 --acid 0 --at -2d",
            "stabilise J2 --ph 3.8 --molecular 0.6 --acid 200 --at -1d",
            "sweeten J2 1.010 --overrule 'we drink it within the week'",
        ],
        STILL_J2,
        &[
            "% vol sorbate can't be relied on",
            "sealed bottles could explode",
        ],
    ),
    held(
        "a mead that is hardly sour",
        Drink::SweetMead,
        &["stabilise J2 --ph 3.9"],
        "sweeten J2 1.030",
        &["pH 3.9"],
    ),
    held(
        "given on the second day of a ferment",
        Drink::ActiveMead,
        &["stabilise J2 --ph 3.4 --at -2d"],
        "sweeten J2 1.070",
        &["dropped since the sulfite"],
    ),
    held(
        "given while it fermented, and nobody looked since",
        Drink::ActiveMead,
        &["stabilise J2 --ph 3.4"],
        "sweeten J2 1.070",
        &["no steady readings"],
    ),
    held(
        "given to one vessel of two, the other sweetened",
        Drink::DryMead,
        &[
            "rack C1 C2 --volume 2gal --split --at -2d",
            "stabilise C2 --ph 3.4 --at -1d",
        ],
        "sweeten C1 1.010",
        &["is not stabilised"],
    ),
    held(
        "given to one half, then brought together with the other",
        Drink::DryMead,
        &[
            "rack C1 C2 --volume 2.2gal --split --at -2d",
            "stabilise C2 --ph 3.4 --molecular 0.6 --acid 150 --at -1d",
            "rack C1 C2",
        ],
        "sweeten C2 1.010",
        &["does not count as stabilised"],
    ),
    held(
        "thinned by as much again of another mead",
        Drink::DryMead,
        &[
            "rack C1 C2 --volume 2gal --split --at -2d",
            "stabilise C2 --ph 3.4 --molecular 0.6 --at -1d",
            "pour C2 2gal --with 'dry mead' --gravity 0.997 --alcohol 13",
        ],
        "sweeten C2 1.010",
        &["molecular SO2"],
    ),
    held(
        "given in spring, sweetened in autumn",
        Drink::None,
        &[
            "start J2 one-gallon-traditional-mead --name heather --volume 0.9gal --og 1.120 --at -300d",
            "read J2 1.120 68f -300d --anyway",
            "read J2 1.010 68f -220d --anyway",
            "read J2 1.010 68f -210d --anyway",
            "stabilise J2 --ph 3.4 --at -200d",
            "read J2 1.010 68f -1d --anyway",
        ],
        "sweeten J2 1.020",
        &["molecular SO2"],
    ),
    held(
        "sweetened and safe, but bottled the next day",
        Drink::SweetAndSafe,
        &[
            "read J2 1.010 68f -3d --anyway",
            "sweeten J2 1.020 --at -1d",
        ],
        STILL_J2,
        &["honey", "Leave it for 7 days"],
    ),
    held(
        "sorbate, then sugar for gas",
        Drink::SweetAndSafe,
        &[
            "read J2 1.010 68f -10d --anyway",
            "read J2 1.010 68f -1d --anyway",
        ],
        "bottle J2 --gas sparkling --target 2.5",
        &["Sorbate"],
    ),
];

#[test]
fn a_dose_that_cannot_be_relied_on_protects_nothing() {
    kit::run(DOSES);
}

#[test]
fn doses_add_up_to_the_legal_limit() {
    const AGAIN: &str = "stabilise J2 --free 0 --acid 0";
    kit::run(&[
        // 50 mg/L free and half of a dose stays free: 100 mg/L each time.
        Case {
            name: "three doses of 100",
            drink: Drink::SweetMead,
            before: &[AGAIN, AGAIN],
            line: AGAIN,
            outcome: Outcome::Says(&["total SO2 then 300 of at most 350", "can be tasted"]),
        },
        Case {
            name: "a fourth",
            drink: Drink::SweetMead,
            before: &[AGAIN, AGAIN, AGAIN],
            line: AGAIN,
            outcome: Outcome::Refused(&["400 mg/L", "at most 350"]),
        },
        Case {
            name: "as much again at once",
            drink: Drink::SweetMead,
            before: &["stabilise J2 --ph 3.4 --acid 0"],
            line: "stabilise J2 --ph 3.4 --acid 0",
            outcome: Outcome::Refused(&["add no more"]),
        },
        Case {
            name: "one rule for an unknown pH, at the vessel",
            drink: Drink::SweetMead,
            before: &[],
            line: "stabilise J2 --acid 0 --dry-run",
            outcome: Outcome::Says(&["0.59 g", "for 100 mg/L of SO2", "pH is unknown"]),
        },
        Case {
            name: "and on the bench",
            drink: Drink::None,
            before: &[],
            line: "figure sulfite volume=0.9gal",
            outcome: Outcome::Says(&["0.59 g", "100 mg/L"]),
        },
        Case {
            name: "what is free is a part of the total",
            drink: Drink::None,
            before: &[],
            line: "figure sulfite volume=1gal ph=3.8 free=30",
            outcome: Outcome::Says(&["128 mg/L"]),
        },
        Case {
            name: "a drink that holds sugar, without a figure, is asked about",
            drink: Drink::DryMead,
            before: &[],
            line: "pour C1 0.2gal --with 'old wine' --dry-run",
            outcome: Outcome::Refused(&["gravity", "needed"]),
        },
    ]);
}

/// What may be bottled, or sweetened.
const SOUND: &[Case] = &[
    fine("a dry mead, still", Drink::DryMead, &[], STILL_C1),
    fine("a dry mead, sparkling", Drink::DryMead, &[], SPARKLING_C1),
    fine(
        "a mead at 1.001 after four equal readings",
        Drink::NearlyDryMead,
        &[],
        STILL_J2,
    ),
    fine("a dry cider, still", Drink::Cider, &[], STILL_J2),
    fine(
        "an ale that ended as planned",
        Drink::Ale,
        &[],
        SPARKLING_C1,
    ),
    fine(
        "sweet, stabilised, unmoved for six weeks",
        Drink::SweetMead,
        &[
            "stabilise J2 --ph 3.4 --at -42d",
            "read J2 1.020 68f -20d --anyway",
            "read J2 1.020 68f -1d --anyway",
        ],
        STILL_J2,
    ),
    fine(
        "stabilised, sweetened, watched, unmoved",
        Drink::SweetAndSafe,
        &[
            "sweeten J2 1.020 --at -18d",
            "read J2 1.020 68f -17d --anyway",
            "read J2 1.020 68f -9d --anyway",
            "read J2 1.020 68f -1d --anyway",
        ],
        STILL_J2,
    ),
    fine(
        "sweetened once it was safe",
        Drink::SweetAndSafe,
        &[],
        "sweeten J2 1.020",
    ),
    fine(
        "topped up with a dry mead, rested and read",
        Drink::DryMead,
        &["pour C1 0.4gal --with 'similar mead' --gravity 0.997 --alcohol 13 --at -12d"],
        STILL_C1,
    ),
    fine(
        "thinned long ago, steady since",
        Drink::DryMead,
        &["pour C1 0.5gal --with water --at -30d"],
        STILL_C1,
    ),
    fine(
        "spice and acid change nothing",
        Drink::DryMead,
        &[
            "done C1 read-21 --added 'vanilla beans' --mass 5g",
            "done C1 read-bulk --added 'tartaric acid' --mass 4g",
        ],
        STILL_C1,
    ),
    fine(
        "a sip of water from the airlock",
        Drink::DryMead,
        &["pour C1 0.05l --with water"],
        STILL_C1,
    ),
    fine(
        "sulfite alone in a dry mead",
        Drink::DryMead,
        &["stabilise C1 --ph 3.4 --acid 0"],
        STILL_C1,
    ),
    fine(
        "honey fed early, dry and steady since",
        Drink::None,
        &[
            "start J2 one-gallon-traditional-mead --name heather --volume 0.85gal --og 1.080 --at -90d",
            "read J2 1.080 68f -90d --anyway",
            "done J2 swirl-8 --added honey --mass 200g --at -84d",
            "read J2 1.030 68f -75d --anyway",
            "read J2 0.998 68f -24d --anyway",
            "read J2 0.998 68f -14d --anyway",
            "read J2 0.998 68f -3d --anyway",
        ],
        "bottle J2 --gas still",
    ),
];

#[test]
fn sound_fillings_are_not_held() {
    kit::run(SOUND);
}

/// Sugar weighed in is sugar present: 400 g of sucrose in 4.5 US gal that are dry at
/// 0.997 (13.4 % vol by the excise table's 0.135 for each point).
#[test]
fn a_balance_by_hand_of_sugar_and_water() {
    let home = Household::with(Drink::DryMead);
    home.must("done C1 read-21 --added 'table sugar' --mass 400g");
    let out = home.run(SPARKLING_C1);
    let said = kit::printed(&out);
    // 400 g in 17.03 L and the 0.25 L that they take: 23.1 g/L, of 0.5143 g CO2 each (molar
    // masses), are 6.0 volumes of 1.977 g/L. The mead's own 0.997 makes 1 more at most.
    let made = 400.0 / (4.5 * 3.785411784 + 0.25) * 0.5143 / 1.9768;
    let volumes = words_after(&said, "its sugar could make");
    assert!(
        (made..made + 1.2).contains(&volumes),
        "{volumes} {made}\n{said}"
    );
}

/// The line after a reading speaks of the drink that lies there, not of the must alone:
/// what `pour` said is what the next reading says.
#[test]
fn water_thins_the_alcohol_of_the_next_reading_too() {
    let home = Household::with(Drink::DryMead);
    let poured = home.must("pour C1 0.9gal --with water");
    let said = words_after(&poured, "at 0.99");
    assert!(said > 0.0, "{poured}");
    let percent = |text: &str| {
        let (head, _) = text.split_once(" %").unwrap_or_else(|| panic!("{text}"));
        head.rsplit([' ', ','])
            .next()
            .unwrap()
            .parse::<f64>()
            .unwrap()
    };
    let first = percent(&poured);
    let read = home.must("read C1 0.998 68f --anyway");
    let then = percent(&read);
    // 13.4 % (excise table: 0.135 x 103 less the last tenths) thinned by 4.5 to 5.4.
    assert!((first - then).abs() < 0.25, "{poured}{read}");
    assert!((first - 13.7 * 4.5 / 5.4).abs() < 0.4, "{poured}");
}

fn words_after(text: &str, mark: &str) -> f64 {
    let joined = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let (_, tail) = joined
        .split_once(mark)
        .unwrap_or_else(|| panic!("no '{mark}' in {text}"));
    let word = tail.split_whitespace().next().unwrap();
    word.trim_end_matches([',', '.', '%']).parse().unwrap()
}

/// 2 x 64.064 / 222.32 of potassium metabisulfite is SO2, and 2 x 64.064 / 190.10 of the
/// sodium salt (molar masses): 0.8 mg/L of molecular SO2 at pH 3.4 (pK 1.81) is 31.9 mg/L
/// of free SO2, and of a dose half stays free.
#[test]
fn a_dose_of_sulfite_is_what_molar_masses_give() {
    let home = Household::new();
    let free = 0.8 * (1.0 + 10f64.powf(3.4 - 1.81));
    for (salt, molar) in [("potassium", 222.32), ("sodium", 190.10)] {
        let said = home.json(&format!("figure sulfite volume=1gal ph=3.4 salt={salt}"));
        let grams = 2.0 * free * 3.785411784 / 1000.0 * molar / (2.0 * 64.064);
        let weighed = said["lines"][0]["value"].as_f64().unwrap();
        assert!((weighed - grams).abs() < 0.001, "{said} {grams}");
    }
}

/// Ticking the lines of the start day moves nothing, before the yeast or after it: they
/// are the batch being made.
#[test]
fn the_lines_of_the_start_day_leave_the_expected_end_alone() {
    for (style, og, end) in [("beer", "1.050", "1.01"), ("mead", "1.090", "0.99")] {
        let home = Household::new();
        home.must(&format!(
            "plan --style {style} --volume 5gal --og {og} --vessel C1 --keep"
        ));
        let expected = || home.json("show C1")["final_gravity"]["p50"].clone();
        let lines = home.json("day");
        let keys: Vec<String> = lines["lines"]
            .as_array()
            .unwrap()
            .iter()
            .map(|l| l["key"].as_str().unwrap().to_owned())
            .collect();
        let makes = |key: &str| key.starts_with("water") || key.starts_with("part");
        home.must("day --tick pitch --anyway");
        home.must(&format!("day C1 --tick original --used {og} --anyway"));
        let before = expected();
        assert!(before.to_string().starts_with(end), "{style}: {before}");
        for key in keys.iter().filter(|k| makes(k)) {
            home.must(&format!("day C1 --tick {key} --anyway"));
            assert_eq!(expected(), before, "{style}: {key}");
        }
    }
}
