//! Scales and instruments: there and back, and always in one direction.

use proptest::prelude::*;
use skep::domain::sums::gravity::Scale;
use skep::domain::sums::hydrometer::{self, Hydrometer};
use skep::domain::sums::{
    alcohol, carbonation, density, finish, gravity, mass, refractometer, sulfite,
};
use skep::domain::units::*;

fn g(v: f64) -> Gravity {
    Gravity::new(v).unwrap()
}

fn c(v: f64) -> Celsius {
    Celsius::new(v).unwrap()
}

fn scale() -> impl Strategy<Value = Scale> {
    prop::sample::select(Scale::ALL.to_vec())
}

proptest! {
    #[test]
    fn gravity_and_plato_come_back(sg in 0.955_f64..1.445) {
        let back = gravity::from_plato(gravity::plato(g(sg)).unwrap()).unwrap();
        prop_assert!((back.get() - sg).abs() < 1e-9);
        let old = gravity::from_60f(gravity::to_60f(g(sg)).unwrap()).unwrap();
        prop_assert!((old.get() - sg).abs() < 1e-9);
        let oe = gravity::from_oechsle(gravity::oechsle(g(sg)).unwrap()).unwrap();
        prop_assert!((oe.get() - sg).abs() < 1e-12);
    }

    #[test]
    fn more_sugar_is_denser_and_warmth_thins(p in 0.0_f64..84.0, t in 5.0_f64..59.0) {
        let rho = |p: f64, t: f64| density::sucrose(Plato::new(p).unwrap(), c(t)).unwrap().get();
        prop_assert!(rho(p + 0.5, t) > rho(p, t));
        prop_assert!(rho(p, t + 1.0) < rho(p, t));
    }

    #[test]
    fn more_alcohol_is_lighter(p in 0.0_f64..99.0, t in -10.0_f64..40.0) {
        let rho = |p: f64| density::ethanol(Abw::new(p).unwrap(), c(t)).unwrap().get();
        // Below 8 °C the first tenths bend, but the fall goes on.
        prop_assert!(rho(p + 1.0) < rho(p));
    }

    #[test]
    fn alcohol_by_mass_and_volume_come_back(v in 0.0_f64..99.9) {
        let m = alcohol::mass_of_volume(Abv::new(v).unwrap()).unwrap();
        prop_assert!((alcohol::volume_of_mass(m).unwrap().get() - v).abs() < 1e-8);
        prop_assert!(m.get() <= v + 1e-9, "ethanol is lighter than water");
    }

    #[test]
    fn a_hydrometer_reads_back(
        sg in 0.985_f64..1.180, t in 0.0_f64..40.0, a in 0.0_f64..15.0,
        off in -0.01_f64..0.01, scale in scale(),
    ) {
        let it = Hydrometer { scale, offset: GravityDelta::new(off).unwrap() };
        let a = Abw::new(a).unwrap();
        let shown = hydrometer::shown(it, g(sg), c(t), a).unwrap();
        let back = hydrometer::corrected(it, shown, c(t), a).unwrap();
        prop_assert!((back.get() - sg).abs() < 1e-8);
    }

    #[test]
    fn a_warmer_sample_needs_a_higher_correction(sg in 1.0_f64..1.15, t in 6.0_f64..39.0) {
        let none = Abw::new(0.0).unwrap();
        let at = |t: f64| hydrometer::corrected(Hydrometer::TRUE_20, g(sg), c(t), none).unwrap().get();
        prop_assert!(at(t + 1.0) > at(t));
    }

    #[test]
    fn alcohol_grows_as_gravity_falls(og in 1.03_f64..1.15, a in 0.0_f64..1.0, b in 0.0_f64..1.0) {
        let at = |x: f64| g(og - x * (og - 0.995));
        let (low, high) = if a < b { (a, b) } else { (b, a) };
        prop_assume!(high - low > 1e-6);
        let less = alcohol::by_volume(g(og), at(low)).unwrap();
        let more = alcohol::by_volume(g(og), at(high)).unwrap();
        prop_assert!(more > less);
        let back = alcohol::gravity_at(g(og), more).unwrap();
        prop_assert!((back.get() - at(high).get()).abs() < 1e-7);
    }

    #[test]
    fn the_balance_keeps_its_mass(og in 1.03_f64..1.15, x in 0.0_f64..1.0) {
        let b = alcohol::balance(g(og), g(og - x * (og - 0.995))).unwrap();
        // Extract of the original mass = what is left + alcohol, gas and yeast.
        let a = b.by_mass.get();
        let original = 100.0 + 1.0665 * a;
        let extract = b.original_extract.get() / 100.0 * original;
        prop_assert!((extract - (b.real_extract.get() + 2.0665 * a)).abs() < 1e-6);
        prop_assert!(b.real_extract.get() >= b.apparent_extract.get() - 1e-9);
    }

    #[test]
    fn shares_come_back(og in 1.03_f64..1.15, s in 0.0_f64..1.0) {
        let share = Share::new(s).unwrap();
        let sg = alcohol::gravity_at_share(g(og), g(1.0), share).unwrap();
        let back = alcohol::share_gone(g(og), sg, g(1.0)).unwrap();
        prop_assert!((back.get() - s).abs() < 1e-9);
    }

    #[test]
    fn two_instruments_find_what_was_mixed(er in 0.0_f64..25.0, a in 0.2_f64..14.0) {
        let (er, a) = (Plato::new(er).unwrap(), Abw::new(a).unwrap());
        let brix = refractometer::shown(er, a).unwrap();
        let rho = density::must(er, a, c(20.0)).unwrap().get();
        let water = density::water(c(20.0)).unwrap().get();
        let seen = refractometer::with_hydrometer(brix, g(rho / water)).unwrap();
        prop_assert!((seen.by_mass.get() - a.get()).abs() < 0.01, "{seen:?}");
        prop_assert!((seen.real_extract.get() - er.get()).abs() < 0.01);
    }

    #[test]
    fn the_end_lies_below_and_tolerance_binds(og in 1.03_f64..1.16, tol in 2.0_f64..18.0) {
        let dry = finish::finish(g(og), Share::new(finish::DRY_SHARE).unwrap(), None).unwrap();
        let bound = finish::finish(
            g(og), Share::new(finish::DRY_SHARE).unwrap(), Some(Abv::new(tol).unwrap()),
        ).unwrap();
        prop_assert!(dry.gravity < g(og));
        prop_assert!(bound.gravity >= dry.gravity);
        prop_assert!(bound.alcohol.get() <= tol + 1e-6);
    }

    #[test]
    fn gas_escapes_as_it_warms(a in 0.0_f64..18.0, s in 0.0_f64..150.0, t in 0.0_f64..38.0) {
        let drink = carbonation::Drink {
            alcohol: Abv::new(a).unwrap(),
            sugar: GramsPerLitre::new(s).unwrap(),
        };
        let at = |t: f64| carbonation::in_drink(drink, c(t)).unwrap();
        prop_assert!(at(t + 1.0) < at(t));
        prop_assert!(at(t) < carbonation::in_water(c(t)).unwrap());
        let held = Volumes::new(2.5).unwrap();
        let p = carbonation::bottle_pressure(held, drink, c(t)).unwrap();
        prop_assert!(p.safe > p.gauge);
        if let Ok(keg) = carbonation::keg(held, drink, c(t)) {
            let back = carbonation::held_at(keg, drink, c(t)).unwrap();
            prop_assert!((back.get() - 2.5).abs() < 1e-9);
        }
    }

    #[test]
    fn sulfite_comes_back(ph in 2.6_f64..4.4, m in 0.1_f64..2.0) {
        let (ph, m) = (Ph::new(ph).unwrap(), MilligramsPerLitre::new(m).unwrap());
        let free = sulfite::free_for(m, ph, sulfite::Constant::Usual).unwrap();
        let back = sulfite::molecular(free, ph, sulfite::Constant::Usual).unwrap();
        prop_assert!((back.get() - m.get()).abs() < 1e-9);
    }

    #[test]
    fn more_mass_lost_is_less_gravity(lost in 0.0_f64..250.0) {
        let at = |l: f64| mass::from_loss(
            g(1.1), Litres::new(4.0).unwrap(), Grams::new(l).unwrap(),
            Grams::new(1.0).unwrap(), c(20.0), Days::new(5.0).unwrap(),
        ).unwrap().gravity.value;
        prop_assert!(at(lost + 10.0) < at(lost));
        prop_assert!(at(lost) <= 1.1 + 1e-6);
    }

    #[test]
    fn every_unit_comes_back(v in 0.001_f64..1000.0, i in 0_usize..NAMED_UNITS.len()) {
        let unit = &NAMED_UNITS[i];
        prop_assert!((unit.outward(unit.inward(v)) - v).abs() < 1e-9 * v.max(1.0));
        for word in unit.words {
            prop_assert_eq!(NamedUnit::find(word).unwrap().dimension, unit.dimension);
        }
    }
}
