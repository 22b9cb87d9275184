//! How a ferment ends: what is forecast must agree with what would be measured,
//! and nothing of a must is lost on the way.

use proptest::prelude::*;
use skep::domain::sums::carbonation::{self, Drink};
use skep::domain::sums::must::{Amount, Design, Must, Part, Wanted, solve};
use skep::domain::sums::{
    acidity, alcohol, density, finish, gravity, hydrometer, ingredients, mass,
};
use skep::domain::units::*;

fn g(v: f64) -> Gravity {
    Gravity::new(v).unwrap()
}

fn must(parts: &[(&str, Amount)], wanted: Wanted) -> Must {
    let part = |(key, amount): &(&str, Amount)| Part {
        ingredient: ingredients::find(key).unwrap(),
        amount: *amount,
    };
    let parts = parts.iter().map(part).collect();
    let design = Design {
        parts,
        wanted,
        tolerance: None,
    };
    solve(&design).unwrap()
}

fn mass(grams: f64) -> Amount {
    Amount::Mass(Grams::new(grams).unwrap())
}

proptest! {
    /// Balling's balance forward (what will be) and backward (what a hydrometer
    /// then says) are the same equation.
    #[test]
    fn the_forecast_end_is_what_the_balance_finds_there(
        og in 1.02_f64..1.17, share in 0.3_f64..1.0, bears in 3.0_f64..20.0,
    ) {
        for tolerance in [None, Some(Abv::new(bears).unwrap())] {
            let end = finish::finish(g(og), Share::new(share).unwrap(), tolerance).unwrap();
            let found = alcohol::balance(g(og), end.gravity).unwrap();
            prop_assert!((found.by_volume.get() - end.alcohol.get()).abs() < 1e-6, "{end:?} {found:?}");
            prop_assert!((found.real_extract.get() - end.real_extract.get()).abs() < 1e-6);
            prop_assert!(tolerance.is_none_or(|t| end.alcohol.get() < t.get() + 1e-6));
            // Extract at the end is sugar that is left and what no yeast eats; the latter
            // is that of the must, in less: 100 g at the end were 100 + 1.0665 A g.
            let litre = 10.0 * end.gravity.get() * 998.2;
            let shrunk = 1.0 + 0.010665 * found.by_mass.get();
            let never = found.original_extract.get() * (1.0 - share) * shrunk;
            let left = (end.real_extract.get() - never) * litre / 1000.0;
            prop_assert!((left - end.sugar_left.get()).abs() < 0.002 * (1.0 + left), "{left} {end:?}");
        }
    }

    /// Brix of a must is percent sugar by mass: a definition.
    #[test]
    fn brix_is_the_extract_of_a_must(p in 0.0_f64..60.0) {
        let sg = gravity::from_brix(Brix::new(p).unwrap()).unwrap();
        prop_assert!((gravity::brix(sg).unwrap().get() - p).abs() < 1e-6);
        let rho = density::sucrose(Plato::new(p).unwrap(), Celsius::new(20.0).unwrap()).unwrap();
        let water = density::water(Celsius::new(20.0).unwrap()).unwrap();
        prop_assert!((sg.get() - rho.get() / water.get()).abs() < 1e-9);
    }

    /// Air that is shut in with still drink presses outwards by Amontons's law.
    #[test]
    fn still_drink_presses_by_its_air_alone(t in 20.0_f64..40.0) {
        let drink = Drink {
            alcohol: Abv::new(12.0).unwrap(),
            sugar: GramsPerLitre::new(0.0).unwrap(),
        };
        let storage = Celsius::new(t).unwrap();
        let none = Volumes::new(0.0).unwrap();
        let pressure = carbonation::bottle_pressure(none, drink, storage).unwrap();
        let air = 1.01325 * (t - 20.0) / 293.15;
        prop_assert!((pressure.safe.get() - air).abs() < 1e-6, "{pressure:?} {air}");
    }

    /// The share that ferments is that of the solids, each by its mass.
    #[test]
    fn what_ferments_is_shared_by_mass(honey in 100.0_f64..1500.0, malt in 0.0_f64..1500.0) {
        let share = |key| ingredients::find(key).unwrap().fermentable().get();
        let solids = |key| ingredients::find(key).unwrap().solids.get();
        let got = must(
            &[("honey", mass(honey)), ("malt-dry", mass(malt)), ("water", mass(5000.0))],
            Wanted::default(),
        );
        let (h, m) = (honey * solids("honey"), malt * solids("malt-dry"));
        let mean = (h * share("honey") + m * share("malt-dry")) / (h + m);
        prop_assert!((got.fermentable.get() - mean).abs() < 1e-9, "{got:?} {mean}");
    }

    /// Two open parts that both bring sugar and water meet both wishes.
    #[test]
    fn juice_and_honey_meet_gravity_and_volume(og in 1.06_f64..1.20, litres in 1.0_f64..20.0) {
        let wanted = Wanted {
            gravity: Some(g(og)),
            volume: Some(Litres::new(litres).unwrap()),
            alcohol: None,
        };
        let parts = [("honey", Amount::Unknown), ("apple-juice", Amount::Unknown)];
        for parts in [parts, [parts[1], parts[0]]] {
            let got = must(&parts, wanted);
            prop_assert!((got.original.get() - og).abs() < 1e-8, "{got:?}");
            prop_assert!((got.volume.get() - litres).abs() < 1e-6, "{got:?}");
        }
    }

    /// What a scale tells of a ferment is what a hydrometer would tell: 0.9565 g of gas
    /// go with a gram of alcohol, and the balance holds for what is left.
    #[test]
    fn scale_and_hydrometer_tell_one_ferment(og in 1.03_f64..1.15, gone in 0.05_f64..0.9) {
        let (original, start) = (g(og), Litres::new(4.0).unwrap());
        let most = finish::co2_per_litre(original, original, g(1.0)).unwrap().get() * 4.0;
        // What stays dissolved at 20 °C never leaves: 0.9 volumes, 1.98 g/L each.
        let loss = Grams::new((most - 4.0 * 1.8) * gone).unwrap();
        let (none, t) = (Grams::new(0.0).unwrap(), Celsius::new(20.0).unwrap());
        let told = mass::from_loss(original, start, loss, none, t, Days::new(0.0).unwrap()).unwrap();
        let found = alcohol::balance(original, g(told.gravity.value)).unwrap();
        prop_assert!((found.real_extract.get() - told.real_extract.get()).abs() < 1e-4, "{told:?} {found:?}");
        prop_assert!((found.by_volume.get() - told.alcohol.value).abs() < 1e-4);
        // The gas lies between the loss and the loss less all vapour, and half of what
        // stays dissolved may be there or not: both, by the slope of the gravity, are its
        // error.
        let nearby = Grams::new(loss.get() * 1.01).unwrap();
        let next = mass::from_loss(original, start, nearby, none, t, Days::new(0.0).unwrap()).unwrap();
        let gas = |lost: &mass::Lost| {
            lost.co2.get() - lost.vapour_at_most.get() / 2.0 + lost.dissolved.get()
        };
        let slope = (told.gravity.value - next.gravity.value) / (gas(&next) - gas(&told));
        let error = slope * (told.vapour_at_most.get() / 2.0).hypot(told.dissolved.get() / 2.0);
        prop_assert!((told.gravity.plus_minus - error).abs() < 0.05 * error, "{told:?} {error}");
    }

    #[test]
    fn an_alcohol_wanted_of_nothing_but_honey_and_water_is_met(abv in 4.0_f64..16.0) {
        let wanted = Wanted {
            alcohol: Some(Abv::new(abv).unwrap()),
            volume: Some(Litres::new(4.0).unwrap()),
            gravity: None,
        };
        let got = must(&[("honey", Amount::Unknown), ("water", Amount::Unknown)], wanted);
        prop_assert!((got.finish.alcohol.get() - abv).abs() < 1e-3, "{got:?}");
        prop_assert!((got.volume.get() - 4.0).abs() < 1e-6);
    }
}

#[test]
fn where_the_acidity_is_as_wanted_nothing_is_added() {
    let (now, drink) = (GramsPerLitre::new(6.0).unwrap(), Litres::new(4.0).unwrap());
    for acid in acidity::Acid::ALL {
        let grams = acidity::raise(now, now, drink, acid).unwrap();
        assert!(grams.get().abs() < 1e-12);
    }
    for salt in [
        acidity::Salt::PotassiumBicarbonate,
        acidity::Salt::CalciumCarbonate,
    ] {
        let grams = acidity::lower(now, now, drink, salt).unwrap();
        assert!(grams.get().abs() < 1e-12);
    }
}

/// A jug that the rest fills already has no room for the open part.
#[test]
fn more_than_the_volume_wanted_is_refused_with_the_part_named() {
    let part = |key, amount| Part {
        ingredient: ingredients::find(key).unwrap(),
        amount,
    };
    let design = |litres| Design {
        parts: vec![part("water", mass(4000.0)), part("honey", Amount::Unknown)],
        wanted: Wanted {
            volume: Some(Litres::new(litres).unwrap()),
            ..Wanted::default()
        },
        tolerance: None,
    };
    let said = solve(&design(3.9)).unwrap_err().to_string();
    assert!(said.contains("no amount of honey"), "{said}");
    // 4 kg of water fill 4.007 l at 20 °C (998.2 kg/m³).
    let room = solve(&design(4.1)).unwrap().levels[1].amount;
    assert!((100.0..200.0).contains(&room.get()), "{room:?}");
}

/// What is sold dry, or in pieces, is weighed: it has no volume to pour.
#[test]
fn only_what_is_poured_has_a_density() {
    let density = |key| ingredients::find(key).unwrap().density();
    for dry in ["table-sugar", "dextrose", "malt-dry", "raspberry"] {
        assert_eq!(density(dry), None, "{dry}");
    }
    for poured in ["honey", "water", "malt-liquid", "apple-juice"] {
        assert!(density(poured).is_some(), "{poured}");
    }
}

#[test]
fn the_range_of_a_correction_holds_in_a_ferment_too() {
    let at = |t| {
        let shown = g(1.050);
        hydrometer::corrected_in_ferment(
            hydrometer::Hydrometer::TRUE_20,
            shown,
            Celsius::new(t).unwrap(),
            g(1.100),
        )
    };
    assert!(at(0.0).is_ok() && at(40.0).is_ok());
    // A must of hardly any sugar is one too.
    let thin = hydrometer::corrected_in_ferment(
        hydrometer::Hydrometer::TRUE_20,
        g(0.999),
        Celsius::new(25.0).unwrap(),
        g(1.002),
    );
    assert!((thin.unwrap().get() - 1.000).abs() < 0.001);
    for outside in [-1.0, 41.0, 60.0] {
        let said = at(outside).unwrap_err().to_string();
        assert!(said.contains("40"), "{said}");
    }
}
