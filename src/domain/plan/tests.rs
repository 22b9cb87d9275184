use super::*;
use crate::domain::records::{PantryItem, Style, VesselKind};
use crate::domain::sums::ingredients;
use crate::domain::units::{Abv, Grams, Gravity, LITRES_PER_US_GALLON, Litres, Share};
use proptest::prelude::*;

fn jug() -> PlanVessel {
    PlanVessel {
        tag: "J1".to_owned(),
        kind: VesselKind::Jug,
        capacity: Litres::known(3.98),
    }
}

fn mead() -> Plan {
    Plan::begin(Style::Mead, Some(jug()))
}

fn honey(mass: Grams, water: f64) -> Part {
    Part::of(ingredients::find("honey").unwrap(), mass)
        .unwrap()
        .with_water(Share::known(water))
}

fn sugar(mass: Grams) -> Part {
    Part::of(ingredients::find("table-sugar").unwrap(), mass).unwrap()
}

/// Honey of `water` share, `pounds` of it, made up to `gallons`.
fn made_up(pounds: f64, gallons: f64, water: f64) -> Plan {
    let mut plan = mead();
    plan.vessel = None;
    plan.parts = vec![honey(Grams::from_pounds(pounds).unwrap(), water)];
    plan.volume = Litres::from_us_gallons(gallons).unwrap();
    plan
}

#[test]
fn honey_made_up_to_a_volume_is_the_published_gravity() {
    // Solids 82.9 % (USDA SR Legacy 169640: water 17.1 %) as sucrose after the
    // Sugar Technologists Manual: 3 lb, 2.5 lb to one US gallon, 12 lb to five.
    for (pounds, gallons, expected) in [(3.0, 1.0, 1.1139), (2.5, 1.0, 1.0951), (12.0, 5.0, 1.0914)]
    {
        let og = made_up(pounds, gallons, 0.171).original().get();
        assert!((og - expected).abs() < 0.0005, "{pounds} lb: {og}");
    }
    // 3 lb with 18.6 % water to one gallon, by mass balance: 1.112.
    let og = made_up(3.0, 1.0, 0.186).original().get();
    assert!((og - 1.112).abs() < 0.004, "{og}");
}

#[test]
fn sugar_takes_up_a_gallon_for_thirteen_and_a_half_pounds() {
    // 27 CFR 24.181: 13.5 lb of sugar add one gallon to the volume.
    let mut plan = made_up(0.0, 10.0, 0.172);
    plan.parts = vec![sugar(Grams::from_pounds(13.5).unwrap())];
    let levels = plan.levels();
    let before = Litres::clamped(outcome(&plan).water.get() / 998.2);
    let after = levels.last().unwrap().volume;
    let taken = after.us_gallons() - before.us_gallons();
    assert!((taken - 1.0).abs() < 0.02, "{taken} gallons");
}

#[test]
fn honey_alone_has_the_published_density() {
    // A beekeeping trade journal: 11.63 to 12.06 lb to the gallon, five
    // gallons are sixty pounds.
    let out = outcome(&made_up(60.0, 30.0, 0.172));
    let gallons = out.parts[0].volume.us_gallons();
    assert!((11.63..=12.06).contains(&(60.0 / gallons)), "{gallons}");
}

#[test]
fn a_gallon_fills_ten_bottles() {
    // 128 fl oz / 12 fl oz, rounded down (common practice).
    assert_eq!(outcome(&made_up(2.5, 1.0, 0.172)).bottles, 10);
}

#[test]
fn phosphate_brings_its_nitrogen_and_stays_within_the_law() {
    // 0.7 g/L brings 148 mg N/L (28.014/132.056); 0.96 g/L is 8 lb per 1000
    // US gallons, 27 CFR 24.246.
    let mut plan = made_up(3.5, 1.0, 0.172);
    plan.feeding.foods = vec![Food::of(FoodClass::Dap)];
    let fed = plan.fed();
    let portion = &fed.portions[0];
    let per_litre = portion.total.get() / plan.volume.get();
    assert!((portion.nitrogen.get() / per_litre - 148.0 / 0.7).abs() < 1.0);
    assert!(per_litre <= 0.96 + 1e-9);
    assert!((portion.each.get() * 3.0 - portion.total.get()).abs() < 1e-9);
}

#[test]
fn the_first_plan_is_the_trade_s_gallon() {
    // 2.5 lb of honey in a gallon (common practice).
    let plan = mead();
    assert!((plan.volume.us_gallons() - 1.0).abs() < 1e-9);
    let pounds = plan.parts[0].mass.pounds();
    assert!((2.4..=2.6).contains(&pounds), "{pounds} lb");
    let out = outcome(&plan);
    assert!(out.finally.low < out.finally.likely && out.finally.likely < out.finally.high);
    assert!(out.alcohol.low < out.alcohol.likely && out.alcohol.likely < out.alcohol.high);
    // Dry meads end between 0.994 and 1.000 (common practice).
    assert!(
        (0.993..=1.001).contains(&out.finally.likely.get()),
        "{:?}",
        out.finally
    );
}

#[test]
fn each_style_begins_sound() {
    for style in Style::ALL {
        let plan = Plan::begin(*style, Some(jug()));
        let out = outcome(&plan);
        assert!(
            out.original.likely.get() > 1.03,
            "{style}: {:?}",
            out.original
        );
        assert!(out.alcohol.likely.get() > 3.0, "{style}: {:?}", out.alcohol);
        assert!(out.bottles >= 9, "{style}: {}", out.bottles);
    }
}

#[test]
fn with_all_the_honey_there_is_the_volume_follows_a_stronger_aim() {
    let plan = mead()
        .change(Change::Lock(Quantity::Part(0), true))
        .unwrap();
    let stronger = plan
        .change(Change::Aim(Aim::Original(Gravity::known(1.120))))
        .unwrap();
    assert_eq!(stronger.parts[0].mass, plan.parts[0].mass);
    assert!(stronger.volume < plan.volume);
    assert!((stronger.original().get() - 1.120).abs() < 1e-7);
}

#[test]
fn when_all_is_locked_the_sentence_says_what() {
    let said = mead()
        .change(Change::Lock(Quantity::Part(0), true))
        .and_then(|p| p.change(Change::Lock(Quantity::Volume, true)))
        .and_then(|p| p.change(Change::Aim(Aim::Original(Gravity::known(1.120)))))
        .unwrap_err()
        .to_string();
    assert_eq!(
        said,
        "nothing is free to follow: honey and the volume are locked. Unlock one of them"
    );
}

#[test]
fn more_alcohol_than_the_yeast_bears_is_refused() {
    let said = mead()
        .change(Change::Aim(Aim::Alcohol(Abv::known(18.0))))
        .unwrap_err()
        .to_string();
    assert_eq!(
        said,
        "18.0 % is more than wine yeast bears (about 14.0 %): choose a stronger yeast or aim lower"
    );
}

#[test]
fn sweetness_is_reached_by_more_honey_than_the_yeast_can_take() {
    let plan = mead()
        .change(Change::Aim(Aim::Sweetness(Gravity::known(1.015))))
        .unwrap();
    let end = plan.ends();
    assert!(end.gives_up);
    assert!((end.gravity.get() - 1.015).abs() < 1e-5);
    assert!((end.alcohol.get() - 14.0).abs() < 0.01);
}

#[test]
fn a_cider_has_no_water_and_sugar_takes_the_place_of_juice() {
    let plan = Plan::begin(Style::Cider, Some(jug()));
    assert!(outcome(&plan).water.get() < 1e-9);
    let stronger = plan
        .change(Change::Add(sugar(Grams::known(100.0))))
        .and_then(|p| p.change(Change::Aim(Aim::Original(Gravity::known(1.060)))))
        .unwrap();
    assert!((stronger.original().get() - 1.060).abs() < 1e-7);
    assert!(stronger.parts[0].mass < plan.parts[0].mass);
    assert!((stronger.liquid_mass() - stronger.must_mass()).abs() < 0.01);
}

#[test]
fn juice_alone_can_t_be_made_stronger() {
    let said = Plan::begin(Style::Cider, Some(jug()))
        .change(Change::Aim(Aim::Original(Gravity::known(1.060))))
        .unwrap_err()
        .to_string();
    assert_eq!(
        said,
        "apple juice alone gives what it gives: add honey or sugar to reach another gravity"
    );
}

#[test]
fn levels_rise_to_the_mark_by_thirds_of_the_honey() {
    let plan = mead();
    let levels = plan.levels();
    let names: Vec<&str> = levels.iter().map(|l| l.what.as_str()).collect();
    assert_eq!(
        names,
        [
            "half the water",
            "first third of the honey",
            "second third of the honey",
            "last third of the honey",
            "water to the mark"
        ]
    );
    assert!(levels.windows(2).all(|w| w[0].volume < w[1].volume));
    let top = levels.last().unwrap().volume.get();
    assert!((top - plan.volume.get()).abs() < 1e-6);
}

#[test]
fn scaling_keeps_the_gravity() {
    let plan = mead();
    let carboy = PlanVessel {
        tag: "C1".to_owned(),
        kind: VesselKind::Carboy,
        capacity: Litres::from_us_gallons(5.0).unwrap(),
    };
    let five = scaled(
        &plan,
        Some(carboy),
        Litres::clamped(4.6 * LITRES_PER_US_GALLON),
    );
    assert!((five.original().get() - plan.original().get()).abs() < 1e-9);
    assert!((five.parts[0].mass.get() / plan.parts[0].mass.get() - 4.6).abs() < 1e-9);
}

fn said(plan: &Plan, around: &Surroundings) -> Vec<String> {
    warnings(plan, &outcome(plan), around)
        .iter()
        .map(Warning::sentence)
        .collect()
}

#[test]
fn a_lager_is_not_for_this_closet() {
    let mut plan = Plan::begin(Style::Beer, Some(jug()));
    plan.yeast.band = crate::domain::records::TempBand {
        low: crate::domain::units::Celsius::known(8.0),
        high: crate::domain::units::Celsius::known(13.0),
        min: crate::domain::units::Celsius::known(7.0),
        max: crate::domain::units::Celsius::known(15.0),
    };
    let around = Surroundings {
        place: "closet".to_owned(),
        temperature: Some(crate::domain::units::Celsius::known(20.0)),
        ..Surroundings::default()
    };
    assert!(said(&plan, &around).contains(
        &"Not in the closet: it stands at 20 °C (68 °F), this ferment wants 15 °C (59 °F) at most. It needs a cold place.".to_owned()
    ));
}

#[test]
fn sweet_and_sparkling_is_told_first() {
    let mut plan = mead()
        .change(Change::Aim(Aim::Sweetness(Gravity::known(1.020))))
        .unwrap();
    plan.fizz = crate::domain::records::Fizz::Sparkling;
    let first = &said(&plan, &Surroundings::default())[0];
    assert!(first.contains("can burst bottles"), "{first}");
}

#[test]
fn the_yearly_limit_is_told_from_four_fifths_on() {
    // 27 CFR 24.75: 100 US gallons of wine a year with one adult, 200 with more.
    let around = |gallons: f64, adults| Surroundings {
        made: Litres::from_us_gallons(gallons).unwrap(),
        adults,
        ..Surroundings::default()
    };
    let told = |around: &Surroundings| {
        said(&mead(), around)
            .iter()
            .any(|s| s.contains("The US federal limit for your household is"))
    };
    assert!(!told(&around(78.0, 1)));
    assert!(told(&around(85.0, 1)));
    assert!(!told(&around(85.0, 2)));
    assert!(told(&around(180.0, 2)));
}

#[test]
fn a_short_pantry_is_told_with_both_numbers() {
    let around = Surroundings {
        pantry: vec![PantryItem {
            id: crate::domain::records::PantryId(1),
            kind: crate::domain::records::PantryKind::Honey,
            name: "Honey".to_owned(),
            amount: 500.0,
            unit: "g".to_owned(),
            lot: String::new(),
            best_before: None,
            price: None,
            keep_at_least: None,
            bottle: None,
            note: String::new(),
        }],
        ..Surroundings::default()
    };
    let plan = mead();
    let wanted = plan.parts[0].mass.get();
    assert!(said(&plan, &around).contains(&format!(
        "The pantry has 500 g of honey, the plan takes {wanted:.0} g."
    )));
}

fn a_part() -> impl Strategy<Value = Part> {
    prop_oneof![
        (0.134..0.229f64).prop_map(|w| honey(Grams::known(200.0), w)),
        Just(sugar(Grams::known(100.0))),
        (100.0..900.0f64).prop_map(|g| {
            Part::of(ingredients::find("raspberry").unwrap(), Grams::clamped(g)).unwrap()
        }),
        (0.0..0.5f64, 0.0..0.5f64).prop_map(|(s, i)| Part {
            insoluble: Share::clamped(i),
            ..Part::own(
                "mystery",
                PartKind::Fruit,
                Grams::known(50.0),
                Share::clamped(s)
            )
        }),
    ]
}

fn a_change() -> impl Strategy<Value = Change> {
    prop_oneof![
        (0.5..25.0f64).prop_map(|v| Change::Volume(Litres::clamped(v))),
        (0usize..3, 0.0..3000.0f64).prop_map(|(i, m)| Change::Mass(i, Grams::clamped(m))),
        (0.2..20.0f64).prop_map(|v| Change::Water(Litres::clamped(v))),
        (1.02..1.16f64).prop_map(|g| Change::Aim(Aim::Original(Gravity::clamped(g)))),
        (3.0..20.0f64).prop_map(|a| Change::Aim(Aim::Alcohol(Abv::clamped(a)))),
        (0.99..1.05f64).prop_map(|g| Change::Aim(Aim::Sweetness(Gravity::clamped(g)))),
        a_part().prop_map(Change::Add),
        (0usize..4).prop_map(Change::Remove),
        (0usize..3, a_part()).prop_map(|(i, p)| Change::Swap(i, p)),
        (0usize..3, 0.0..0.9f64).prop_map(|(i, w)| Change::Moisture(i, Share::clamped(w))),
        prop_oneof![Just(Filler::Water), Just(Filler::First)].prop_map(Change::Filler),
        (0usize..5, any::<bool>()).prop_map(|(q, on)| {
            let q = match q {
                0 => Quantity::Volume,
                1 => Quantity::Aim,
                n => Quantity::Part(n - 2),
            };
            Change::Lock(q, on)
        }),
    ]
}

/// Which numbers this change sets itself.
fn sets(change: &Change) -> Option<Quantity> {
    match change {
        Change::Volume(_) => Some(Quantity::Volume),
        Change::Aim(_) => Some(Quantity::Aim),
        Change::Mass(at, _) => Some(Quantity::Part(*at)),
        _ => None,
    }
}

fn agrees(plan: &Plan) {
    // Conservation: what goes in is what is there.
    let whole = plan.liquid_mass() + plan.water_mass();
    assert!(
        (whole - plan.must_mass()).abs() < 0.02 + 1e-6 * whole,
        "{plan:#?}"
    );
    // The sums, asked apart, find the same must.
    if let Ok(must) = plan.must() {
        assert!(
            (must.original.get() - plan.original().get()).abs() < 1e-6,
            "{must:?}"
        );
        assert!((must.volume.get() - plan.volume.get()).abs() < 1e-4 * plan.volume.get().max(1.0));
    }
    // The aim is what comes of it.
    let (as_is, said) = match (plan.aim_as_is(), plan.aim) {
        (Aim::Original(a), Aim::Original(b)) | (Aim::Sweetness(a), Aim::Sweetness(b)) => {
            (a.get(), b.get())
        }
        (Aim::Alcohol(a), Aim::Alcohol(b)) => (a.get(), b.get()),
        _ => panic!("kinds differ"),
    };
    assert!(
        (as_is - said).abs() < 2e-4 * said.max(1.0),
        "{as_is} is not {said}: {plan:#?}"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn whatever_is_changed_locked_numbers_stay_and_all_agree(
        changes in prop::collection::vec(a_change(), 1..14)
    ) {
        let mut plan = mead();
        for change in changes {
            let own = sets(&change);
            let shifts = matches!(
                change,
                Change::Remove(_) | Change::Filler(_) | Change::Lock(..) | Change::Swap(..)
            );
            let Ok(next) = plan.change(change) else { continue };
            agrees(&next);
            if plan.locks.volume && own != Some(Quantity::Volume) && !shifts {
                prop_assert_eq!(plan.volume, next.volume);
            }
            if plan.locks.aim && own != Some(Quantity::Aim) {
                prop_assert_eq!(plan.aim, next.aim);
            }
            if !shifts {
                for (at, part) in plan.parts.iter().enumerate().filter(|(_, p)| p.locked) {
                    if own != Some(Quantity::Part(at)) {
                        prop_assert_eq!(part.mass, next.parts[at].mass);
                    }
                }
            }
            // What a plan leads to is always in order, whatever is in it.
            let out = outcome(&next);
            prop_assert!(out.original.low <= out.original.likely);
            prop_assert!(out.original.likely <= out.original.high);
            prop_assert!(out.finally.low <= out.finally.likely);
            prop_assert!(out.finally.likely <= out.finally.high);
            prop_assert!(out.alcohol.low <= out.alcohol.likely);
            prop_assert!(out.alcohol.likely <= out.alcohol.high);
            let _ = warnings(&next, &out, &Surroundings::default());
            plan = next;
        }
    }
}
