//! Sugar, additions, dilution, sulfite and sorbate.

use crate::kit::{self, Case, Drink, Outcome};

const BOTTLE_J2: &str = "bottle J2 --gas still --bottles '4 x 750ml still-wine' --lost 0.1gal";

#[test]
fn what_still_ferments_is_held_and_what_is_dry_and_steady_is_not() {
    kit::run(&[
        Case {
            name: "a jug on its fourth day",
            drink: Drink::ActiveMead,
            before: &[],
            line: BOTTLE_J2,
            outcome: Outcome::Held(&["HOLD"]),
        },
        Case {
            name: "a dry mead, bottled still",
            drink: Drink::DryMead,
            before: &[],
            line: "bottle C1 --gas still --bottles '21 x 750ml still-wine' --lost 0.2gal",
            outcome: Outcome::Fine,
        },
        Case {
            name: "a litre of nothing",
            drink: Drink::DryMead,
            before: &[],
            line: "pour C1 0l --with water",
            outcome: Outcome::Refused(&["0"]),
        },
        Case {
            name: "a dose by weight",
            drink: Drink::NearlyDryMead,
            before: &[],
            line: "stabilise J2 --ph 3.4 --dry-run",
            outcome: Outcome::Says(&["0.38 g of potassium metabisulfite"]),
        },
    ]);
}

#[test]
fn every_drink_of_the_cases_can_be_told() {
    for drink in [Drink::SweetMead, Drink::Cider, Drink::Ale, Drink::None] {
        kit::Household::with(drink);
    }
}

/// 2 x 64.064 / 222.32 of potassium metabisulfite is SO2 (molar masses): 0.8 mg/L of
/// molecular SO2 at pH 3.4 (pK 1.81) is 31.9 mg/L of free SO2, and of a dose half stays free.
#[test]
fn a_dose_of_sulfite_is_what_molar_masses_give() {
    let said = kit::Household::new().json("figure sulfite volume=1gal ph=3.4");
    let free = 0.8 * (1.0 + 10f64.powf(3.4 - 1.81));
    let grams = 2.0 * free * 3.785411784 / 1000.0 * 222.32 / (2.0 * 64.064);
    let weighed = said["lines"][0]["value"].as_f64().unwrap();
    assert!((weighed - grams).abs() < 0.001, "{said} {grams}");
}
