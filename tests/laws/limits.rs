//! What bounds a must and its feeding: the room in the vessel, the law.

use proptest::prelude::*;
use skep::domain::sums::ingredients::{self, Ingredient};
use skep::domain::sums::must::{Amount, Design, Must, Part, Wanted, solve};
use skep::domain::sums::nitrogen::{self, AtHand, Nutrient, Plan, Stage};
use skep::domain::units::*;

fn find(key: &str) -> &'static Ingredient {
    ingredients::find(key).unwrap()
}

fn of(parts: &[(&str, f64)]) -> Must {
    let part = |(key, grams): &(&str, f64)| Part {
        ingredient: find(key),
        amount: Amount::Mass(Grams::new(*grams).unwrap()),
    };
    solve(&Design {
        parts: parts.iter().map(part).collect(),
        wanted: Wanted::default(),
        tolerance: None,
    })
    .unwrap()
}

/// Sugar with so much water in it, as it lies in the vessel: kg to the litre.
fn heaviness(water: f64) -> f64 {
    let must = of(&[
        ("table-sugar", 1000.0 - water),
        ("water", water),
        ("water", 4000.0),
    ]);
    1.0 / must.levels[1].filled.get()
}

/// Sucrose crystal, 1.5877 g/cm³ (Museum of Fine Arts Boston, CAMEO, 'Sucrose',
/// after Hawley and the Merck Index); syrup of 85 % by the same equation as all
/// others, which the reference tables hold to its sources.
#[test]
fn dry_sugar_takes_the_room_of_its_crystals_and_wet_sugar_lies_between() {
    assert!((heaviness(0.0) - 1.5877).abs() < 0.001);
    let steps: Vec<f64> = (0..=30).map(|n| heaviness(10.0 * f64::from(n))).collect();
    assert!(steps.is_sorted_by(|dry, wet| dry > wet), "{steps:?}");
    // No leap where the equation ends, and none of its falls is far from its neighbours'.
    for falls in steps.windows(2).map(|w| w[0] - w[1]) {
        assert!((0.003..0.012).contains(&falls), "{falls} in {steps:?}");
    }
}

const START: Stage = Stage {
    gone: Share::known(0.0),
    alcohol: Abv::known(0.0),
};

fn fed(aim: f64, classes: &[Nutrient]) -> Plan {
    let at_hand = |class: &Nutrient| AtHand {
        class: *class,
        label_most: None,
        label_nitrogen: None,
    };
    nitrogen::plan(
        MilligramsPerLitre::new(aim).unwrap(),
        MilligramsPerLitre::new(0.0).unwrap(),
        Litres::new(1.0).unwrap(),
        &classes.iter().map(at_hand).collect::<Vec<_>>(),
        3,
        START,
    )
    .unwrap()
}

/// Grams of ammonium salt in a litre: half of a complex nutrient is that.
fn ammonium(plan: &Plan) -> f64 {
    let share = |class| match class {
        Nutrient::Organic => 0.0,
        Nutrient::Complex => 0.5,
        Nutrient::Dap => 1.0,
    };
    let salt = |g: &nitrogen::Given| g.total.get() * share(g.class);
    plan.given.iter().map(salt).sum()
}

proptest! {
    #[test]
    fn what_is_filled_and_what_is_free_make_the_vessel(
        honey in 200.0_f64..2000.0, fruit in 0.0_f64..900.0, capacity in 1.0_f64..12.0,
    ) {
        let must = of(&[("honey", honey), ("raspberry", fruit), ("water", 3000.0)]);
        let room = must.headspace(Litres::new(capacity).unwrap());
        let filled = must.levels.last().unwrap().filled.get();
        prop_assert!((filled + room - capacity).abs() < 1e-9);
        // Pulp is there as far as fruit is, and takes room of its own.
        prop_assert!(fruit < 1.0 || filled > must.volume.get());
    }

    /// 1 g/L of ammonium salts: EC 606/2009, Annex I A; 0.96 g/L: 27 CFR 24.246.
    #[test]
    fn ammonium_of_all_nutrients_stays_within_the_law_and_uses_it(aim in 20.0_f64..350.0) {
        use Nutrient::{Complex, Dap, Organic};
        for classes in [&[Dap][..], &[Complex, Dap], &[Organic, Complex, Dap], &[Organic, Dap]] {
            let plan = fed(aim, classes);
            prop_assert!(ammonium(&plan) <= 0.96 + 1e-9, "{plan:?}");
            // Nitrogen is left unmet only when the law allows no more.
            prop_assert!(plan.unmet.get() <= 0.0 || ammonium(&plan) > 0.96 - 1e-9, "{plan:?}");
        }
    }
}
