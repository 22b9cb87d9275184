//! Musts, blends, sweetening: nothing is lost, nothing comes from nowhere.

use proptest::prelude::*;
use skep::domain::sums::blend::{self, Lot, Property, Wish};
use skep::domain::sums::ingredients::{self, Ingredient};
use skep::domain::sums::must::{Amount, Design, Part, Wanted, solve};
use skep::domain::sums::nitrogen::{self, AtHand, Nutrient, Stage};
use skep::domain::sums::serving;
use skep::domain::units::*;

fn find(key: &str) -> &'static Ingredient {
    ingredients::find(key).unwrap()
}

fn any_lot() -> impl Strategy<Value = Lot> {
    (0.5_f64..25.0, 0.992_f64..1.06, 0.0_f64..16.0, 0.0_f64..10.0).prop_map(|(v, sg, a, acid)| {
        Lot::new(
            Litres::new(v).unwrap(),
            Gravity::new(sg).unwrap(),
            Abv::new(a).unwrap(),
            GramsPerLitre::new(acid).unwrap(),
        )
        .unwrap()
    })
}

proptest! {
    #[test]
    fn a_blend_keeps_mass_alcohol_extract_and_acid(lots in prop::collection::vec(any_lot(), 1..6)) {
        let all = lots.iter().fold(Lot::EMPTY, |sum, l| sum.with(*l));
        let seen = blend::mix(&lots).unwrap();
        let sum = |f: fn(&Lot) -> f64| lots.iter().map(f).sum::<f64>();
        prop_assert!((seen.mass.get() - sum(|l| l.mass().get())).abs() < 1e-6);
        prop_assert!((all.ethanol().get() - sum(|l| l.ethanol().get())).abs() < 1e-6);
        prop_assert!((all.extract() - sum(|l| l.extract())).abs() < 1e-6);
        let acid = seen.acidity.get() * seen.volume.get();
        let before: f64 = lots.iter().map(|l| {
            let s = l.seen().unwrap();
            s.acidity.get() * s.volume.get()
        }).sum();
        prop_assert!((acid - before).abs() < 1e-6);
        // The blend lies between its lots.
        let gravities: Vec<f64> = lots.iter().map(|l| l.seen().unwrap().gravity.get()).collect();
        let low = gravities.iter().copied().fold(f64::INFINITY, f64::min);
        let high = gravities.iter().copied().fold(0.0, f64::max);
        // Alcohol and water contract, so a blend may be a shade denser than both.
        prop_assert!(seen.gravity.get() > low - 0.002 && seen.gravity.get() < high + 0.002);
    }

    #[test]
    fn sweetening_keeps_mass_and_alcohol(lot in any_lot(), up in 0.001_f64..0.05, solids in 0.7_f64..1.0) {
        let before = lot.seen().unwrap();
        let to = Gravity::new(before.gravity.get() + up).unwrap();
        let (grams, after) = blend::sweeten(lot, Share::new(solids).unwrap(), to).unwrap();
        prop_assert!((after.gravity.get() - to.get()).abs() < 1e-7);
        prop_assert!((after.mass.get() - before.mass.get() - grams.get()).abs() < 1e-6);
        let alcohol = |s: &blend::Seen| s.alcohol.get() * s.volume.get();
        prop_assert!((alcohol(&after) - alcohol(&before)).abs() < 1e-6);
        prop_assert!(after.volume > before.volume);
    }

    #[test]
    fn an_addition_meets_its_wish(base in any_lot(), add in any_lot(), x in 0.05_f64..0.95) {
        let (a, b) = (base.seen().unwrap(), add.seen().unwrap());
        prop_assume!((a.alcohol.get() - b.alcohol.get()).abs() > 0.5);
        let wish = Wish {
            property: Property::Alcohol,
            value: a.alcohol.get() + x * (b.alcohol.get() - a.alcohol.get()),
        };
        let more = blend::add_until(base, add, wish).unwrap();
        let got = base.with(more).seen().unwrap().alcohol.get();
        prop_assert!((got - wish.value).abs() < 1e-6, "{got} {}", wish.value);
    }

    #[test]
    fn the_nearest_blend_is_no_worse_than_any_single_lot(
        lots in prop::collection::vec(any_lot(), 2..4), sg in 0.995_f64..1.04,
    ) {
        let wish = [Wish { property: Property::Gravity, value: sg }];
        let (shares, seen) = blend::nearest(&lots, &wish).unwrap();
        prop_assert!(shares.iter().all(|s| (0.0..=1.0).contains(s)));
        for lot in &lots {
            let alone = (lot.seen().unwrap().gravity.get() - sg).abs();
            prop_assert!((seen.gravity.get() - sg).abs() <= alone + 1e-4);
        }
    }

    #[test]
    fn a_must_keeps_its_mass_and_meets_its_wishes(
        og in 1.03_f64..1.15, litres in 1.0_f64..30.0, fruit in 0.0_f64..0.2,
    ) {
        let berries = Grams::new(1000.0 * litres * fruit).unwrap();
        let parts = vec![
            Part { ingredient: find("raspberry"), amount: Amount::Mass(berries) },
            Part { ingredient: find("honey"), amount: Amount::Unknown },
            Part { ingredient: find("water"), amount: Amount::Unknown },
        ];
        let must = solve(&Design {
            parts: parts.clone(),
            wanted: Wanted {
                gravity: Some(Gravity::new(og).unwrap()),
                volume: Some(Litres::new(litres).unwrap()),
                alcohol: None,
            },
            tolerance: None,
        }).unwrap();
        prop_assert!((must.original.get() - og).abs() < 1e-8);
        prop_assert!((must.volume.get() - litres).abs() < 1e-6);
        let weighed: f64 = must.levels.iter().map(|l| l.amount.get()).sum();
        prop_assert!((weighed - must.mass.get()).abs() < 1e-6 * weighed);
        // Given back as known amounts it is the same must.
        let known = parts.iter().zip(&must.levels).map(|(p, l)| Part {
            ingredient: p.ingredient,
            amount: Amount::Mass(l.amount),
        }).collect();
        let again = solve(&Design { parts: known, wanted: Wanted::default(), tolerance: None }).unwrap();
        prop_assert!((again.original.get() - og).abs() < 1e-8);
        let levels: Vec<f64> = must.levels.iter().map(|l| l.filled.get()).collect();
        prop_assert!(levels.windows(2).all(|w| w[0] <= w[1] + 1e-9), "{levels:?}");
        let last = levels.last().unwrap();
        prop_assert!((last - must.volume.get() - must.pulp.get()).abs() < 1e-6);
    }

    #[test]
    fn each_single_unknown_finds_the_same_must(honey in 200.0_f64..2000.0, water in 2000.0_f64..5000.0) {
        let honey_part = |a| Part { ingredient: find("honey"), amount: a };
        let water_part = |a| Part { ingredient: find("water"), amount: a };
        let run = |h, w, wanted| solve(&Design {
            parts: vec![honey_part(h), water_part(w)], wanted, tolerance: None,
        }).unwrap();
        let h = Amount::Mass(Grams::new(honey).unwrap());
        let w = Amount::Mass(Grams::new(water).unwrap());
        let whole = run(h, w, Wanted::default());
        let gravity = Wanted { gravity: Some(whole.original), ..Wanted::default() };
        let volume = Wanted { volume: Some(whole.volume), ..Wanted::default() };
        for found in [
            run(Amount::Unknown, w, gravity).levels[0].amount.get() - honey,
            run(Amount::Unknown, w, volume).levels[0].amount.get() - honey,
            run(h, Amount::Unknown, gravity).levels[1].amount.get() - water,
            run(h, Amount::Unknown, volume).levels[1].amount.get() - water,
        ] {
            prop_assert!(found.abs() < 1e-3, "{found}");
        }
        let alcohol = Wanted { alcohol: Some(whole.finish.alcohol), ..Wanted::default() };
        let by_alcohol = run(Amount::Unknown, w, alcohol).levels[0].amount.get();
        prop_assert!((by_alcohol - honey).abs() < 0.05, "{by_alcohol} {honey}");
    }

    #[test]
    fn bottles_and_losses_add_up(v in 0.1_f64..40.0, loss in 0.0_f64..0.3, size in 0.1_f64..1.0) {
        let b = serving::bottles(
            Litres::new(v).unwrap(), Share::new(loss).unwrap(),
            Litres::new(0.05).unwrap(), Litres::new(size).unwrap(),
        ).unwrap();
        let sum = f64::from(b.full) * size + b.over.get() + b.lost.get();
        prop_assert!((sum - v).abs() < 1e-6);
        prop_assert!(b.over.get() < size + 1e-6);
    }

    #[test]
    fn feedings_never_pass_a_limit(aim in 150.0_f64..350.0, must in 0.0_f64..200.0, v in 1.0_f64..25.0, n in 1_u32..6) {
        let all = [Nutrient::Organic, Nutrient::Complex, Nutrient::Dap].map(|class| AtHand {
            class, label_most: None, label_nitrogen: None,
        });
        let start = Stage { gone: Share::new(0.0).unwrap(), alcohol: Abv::new(0.0).unwrap() };
        let p = nitrogen::plan(
            MilligramsPerLitre::new(aim).unwrap(), MilligramsPerLitre::new(must).unwrap(),
            Litres::new(v).unwrap(), &all, n, start,
        ).unwrap();
        let added: f64 = p.given.iter().map(|g| g.nitrogen.get()).sum();
        prop_assert!((added + p.unmet.get() - p.missing.get()).abs() < 1e-6);
        for g in &p.given {
            prop_assert!(g.total.get() / v <= g.class.most() + 1e-9);
            prop_assert!((g.each.get() * f64::from(n) - g.total.get()).abs() < 1e-9);
        }
    }
}
