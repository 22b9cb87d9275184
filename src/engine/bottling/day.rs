use super::super::Assessment;
use super::super::facts::Told;
use super::clearance::{addition_hold, finish_holds, sweetness, treatment_holds};
use super::pressure::{
    Dextrins, ToCome, Warm, bottle_holds, from_dextrins, stored, verdict, warmest_day,
};
use super::sugar::{drink, left_over, present};
use super::treatment::Treatment;
use super::{BottleStock, Fitted, Hold, fit};
use crate::domain::bottles::MOST_GAS;
use crate::domain::records::{Fizz, Style};
use crate::domain::sums::carbonation::{self, Primer, Priming, Verdict};
use crate::domain::sums::{SumError, blend};
use crate::domain::units::{Celsius, GaugeBar, Litres, Moment, Volumes};

/// What the maker wants of the bottles.
#[derive(Debug, Clone, PartialEq)]
pub struct BottlingWish {
    /// Still or with gas.
    pub fizz: Fizz,
    /// Gas wanted; for a still drink it counts for nothing.
    pub target: Volumes,
    /// What makes the gas.
    pub primer: Primer,
    /// Volume that goes into bottles, after losses.
    pub volume: Litres,
    /// Warmest that the drink has been since the ferment ended.
    pub warmest: Celsius,
    /// Temperature at which the bottles will lie.
    pub cellar: Celsius,
    /// Warmest that they may get.
    pub summer: Celsius,
    /// Bottles, in the order in which they are to be filled.
    pub bottles: Vec<BottleStock>,
    /// Whether the yeast of a beer could ferment dextrins.
    pub dextrins: Dextrins,
}

/// Gas and pressure at one temperature of storage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stored {
    /// The temperature.
    pub at: Celsius,
    /// Pressure as tables give it.
    pub gauge: GaugeBar,
    /// Pressure on the safe side.
    pub safe: GaugeBar,
    /// Pressure, on the safe side, if all sugar that is left ferments too.
    pub worst: GaugeBar,
}

/// All that a maker has to know before the first cap goes on.
#[derive(Debug, Clone, PartialEq)]
pub struct BottlingDay {
    /// Sugar for gas; none for a still drink.
    pub priming: Option<Priming>,
    /// Gas in the drink now.
    pub residual: Volumes,
    /// Gas in the bottle once the primer is used up.
    pub held: Volumes,
    /// Gas if all sugar that is left ferments as well.
    pub worst: Volumes,
    /// Pressures in the cellar and in the warmest storage.
    pub stored: Vec<Stored>,
    /// How each kind of bottle compares, in the order given.
    pub verdicts: Vec<Verdict>,
    /// What the sugar for gas adds to the volume.
    pub swelling: Litres,
    /// How many of each.
    pub fitted: Fitted,
    /// Why not; empty when it is clear to bottle.
    pub holds: Vec<Hold>,
}

/// Gas usually aimed at, volumes: out of the trade's ranges (common practice,
/// no source).
pub fn usual_target(style: Style, fizz: Fizz) -> Volumes {
    match (style, fizz) {
        (_, Fizz::Still) => Volumes::known(0.9),
        (Style::Beer, Fizz::Light) => Volumes::known(1.8),
        (_, Fizz::Light) => Volumes::known(1.9),
        (Style::Beer, Fizz::Sparkling) => Volumes::known(2.4),
        // The lower end, which a crown-cap bottle takes on a warm day too.
        (_, Fizz::Sparkling) => Volumes::known(2.5),
    }
}

/// Works out bottling day for one batch. Pure; an error is a sum outside its
/// published range, as a sentence.
pub fn plan(
    style: Style,
    told: &Told,
    assessment: &Assessment,
    treatment: &Treatment,
    wish: &BottlingWish,
    now: Moment,
) -> Result<BottlingDay, SumError> {
    if wish.target > MOST_GAS {
        return Err(SumError::NoAnswer(format!(
            "{:.1} volumes: no bottle or keg is filled with more than {:.1}",
            wish.target.get(),
            MOST_GAS.get()
        )));
    }
    let gassy = wish.fizz != Fizz::Still;
    let present = present(told, assessment);
    let left = left_over(style, told, present)?;
    let residual = carbonation::residual(wish.warmest)?;
    let priming = gassy
        .then(|| carbonation::priming(wish.target, residual, wish.volume, wish.primer))
        .transpose()?;
    let swelling = priming.map_or(Litres::known(0.0), |p| {
        blend::swelling(wish.volume, p.amount, wish.primer.solids())
    });
    let held = Volumes::clamped(residual.get() + priming.map_or(0.0, |p| p.added.get()));
    let safe = treatment.stabilised();
    let sugar = if safe { Volumes::known(0.0) } else { left };
    let dextrins = from_dextrins(style, wish.dextrins, told, present)?;
    let to_come = ToCome {
        sugar,
        dextrins: if dextrins > sugar { dextrins } else { sugar },
        residual,
    };
    let worst = Volumes::clamped(held.get() + to_come.dextrins.get());
    let drink = drink(assessment, present);
    let at = warmest_day(wish);
    let warm = Warm { drink, at };
    let stored = [wish.cellar, at]
        .into_iter()
        .map(|t| stored(held, worst, drink, t))
        .collect::<Result<Vec<_>, _>>()?;
    let verdicts = wish
        .bottles
        .iter()
        .map(|b| verdict(b, held, gassy, warm))
        .collect::<Result<Vec<_>, _>>()?;
    let mut day = BottlingDay {
        priming,
        residual,
        held,
        worst,
        stored,
        verdicts,
        swelling,
        fitted: fit(
            Litres::clamped(wish.volume.get() + swelling.get()),
            &wish.bottles,
        ),
        holds: Vec::new(),
    };
    finish_holds(style, told, assessment, treatment, present, &mut day.holds);
    day.holds.extend(addition_hold(style, told, now));
    let sweet = sweetness(style, told, present, left);
    treatment_holds(treatment, gassy, sweet, &mut day.holds);
    bottle_holds(wish, to_come, warm, &mut day)?;
    Ok(day)
}

#[cfg(test)]
mod tests {
    use super::super::Strength;
    use super::*;
    use crate::domain::records::BottleClass;
    use crate::domain::units::{Gravity, ML_PER_US_FL_OZ, Share};
    use crate::engine::{
        BottlingGate, BottlingHold, Facts, Headline, OriginalGravity, StateProbabilities,
        StuckReport, Voice,
    };
    use chrono::DateTime;

    fn moment(text: &str) -> Moment {
        Moment::new(DateTime::parse_from_rfc3339(text).unwrap())
    }

    fn now() -> Moment {
        moment("2026-05-30T10:00:00+02:00")
    }

    /// A must that began at 1.100 and stands at `present`, the gate as given.
    fn told(present: f64) -> Told {
        let mut facts = Facts::of(crate::engine::Style::Mead);
        facts.og = Some(OriginalGravity::Measured(Gravity::known(1.1)));
        facts.expected_fg = Some(Gravity::known(0.997));
        Told {
            facts,
            observations: Vec::new(),
            temperatures: Vec::new(),
            gravities: vec![(now(), Gravity::new(present).unwrap())],
            last: None,
            temperature: None,
            additions: Vec::new(),
            volume: None,
        }
    }

    fn assessment(present: f64, holds: Vec<BottlingHold>) -> Assessment {
        let g = Gravity::new(present).unwrap();
        Assessment {
            now: now(),
            states: StateProbabilities {
                by_state: [0.0, 0.0, 0.0, 1.0, 0.0],
            },
            headline: Headline::Clear(crate::engine::FermentState::Finished),
            stuck: StuckReport {
                probability: Share::known(0.0),
                since: None,
                ever: Share::known(0.0),
            },
            gravity_now: Some(crate::engine::Spread {
                p10: g,
                p50: g,
                p90: g,
            }),
            final_gravity: None,
            finish: None,
            rate: None,
            alcohol: None,
            sugar_gone: None,
            suspicious: Vec::new(),
            evidence: Vec::new(),
            causes: Vec::new(),
            advice: Vec::new(),
            curve: Vec::new(),
            next_reading: None,
            bottling: BottlingGate {
                refermentation: Share::known(0.01),
                holds,
            },
            learned: None,
        }
    }

    fn wish(fizz: Fizz, class: BottleClass) -> BottlingWish {
        BottlingWish {
            fizz,
            target: Volumes::known(2.5),
            primer: Primer::Sucrose,
            volume: Litres::from_us_gallons(1.0).unwrap(),
            warmest: Celsius::known(20.0),
            cellar: Celsius::known(20.0),
            summer: Celsius::known(30.0),
            bottles: vec![BottleStock {
                class,
                known: true,
                size: Litres::new(12.0 * ML_PER_US_FL_OZ / 1000.0).unwrap(),
                have: 24,
                rating: None,
                reused: 0,
                clear_glass: false,
            }],
            dextrins: Dextrins::RuledOut,
        }
    }

    fn day(present: f64, fizz: Fizz, class: BottleClass, treatment: Treatment) -> BottlingDay {
        plan(
            Style::Mead,
            &told(present),
            &assessment(present, Vec::new()),
            &treatment,
            &wish(fizz, class),
            now(),
        )
        .unwrap()
    }

    #[test]
    fn a_dry_finished_gallon_is_primed_as_published() {
        // 23.8 g of sucrose for 1 US gallon at 20 °C to 2.5 volumes, within 1.5 g:
        // Henry's law (R. Sander, Atmos. Chem. Phys. 2023) and molar masses.
        let day = day(
            0.997,
            Fizz::Sparkling,
            BottleClass::Crown,
            Treatment::default(),
        );
        let grams = day.priming.unwrap().amount.get();
        assert!((grams - 23.8).abs() < 1.5, "{grams}");
        assert_eq!(day.fitted.counts, [10]);
        assert!(day.holds.is_empty(), "{:?}", day.holds);
    }

    #[test]
    fn a_must_that_has_hardly_begun_is_held_and_no_error() {
        let day = day(
            1.09,
            Fizz::Sparkling,
            BottleClass::Crown,
            Treatment::default(),
        );
        assert!(day.stored.iter().all(|s| s.worst.get() > 20.0));
        let over = |h: &Hold| matches!(h, Hold::Strength(Strength::WorstCase { .. }));
        assert!(day.holds.iter().any(over), "{:?}", day.holds);
    }

    #[test]
    fn still_wine_bottles_and_jars_are_never_primed() {
        let day = day(
            0.997,
            Fizz::Sparkling,
            BottleClass::NoPressure,
            Treatment::default(),
        );
        assert_eq!(
            day.holds,
            [Hold::Strength(Strength::NotForPressure {
                class: BottleClass::NoPressure
            })]
        );
    }

    #[test]
    fn sugar_that_is_left_counts_in_the_worst_case() {
        // About half a volume for each 0.001 SG (Balling's balance).
        let dry = day(
            0.997,
            Fizz::Sparkling,
            BottleClass::Crown,
            Treatment::default(),
        );
        let sweet = day(
            1.007,
            Fizz::Sparkling,
            BottleClass::Crown,
            Treatment::default(),
        );
        let more = sweet.worst.get() - dry.worst.get();
        assert!((more - 5.0).abs() < 0.8, "{more}");
        assert!(
            sweet
                .holds
                .iter()
                .any(|h| matches!(h, Hold::Strength(Strength::WorstCase { .. })))
        );
        assert!(
            sweet
                .holds
                .iter()
                .any(|h| matches!(h, Hold::SweetAndAlive { .. }))
        );
    }

    #[test]
    fn stabilised_and_sweet_may_be_bottled_still_but_never_primed() {
        let ago = now().plus_days(-20.0);
        let treated = Treatment {
            total_so2: 60.0,
            sulfited: Some(ago),
            sorbic_acid: 180.0,
            sorbated: Some(ago),
            sweetened: Some(now().plus_days(-10.0)),
            ..Treatment::default()
        };
        assert!(
            day(1.012, Fizz::Still, BottleClass::NoPressure, treated)
                .holds
                .is_empty()
        );
        let primed = day(1.012, Fizz::Sparkling, BottleClass::Crown, treated);
        assert_eq!(primed.holds, [Hold::SorbateAndPriming { at: ago }]);
    }

    #[test]
    fn the_engines_gate_holds_and_says_why() {
        let shut = vec![BottlingHold::NotRepeated {
            readings: 1,
            first: None,
            days: 0,
            days_wanted: 7,
            readings_wanted: 3,
        }];
        let day = plan(
            Style::Mead,
            &told(0.997),
            &assessment(0.997, shut),
            &Treatment::default(),
            &wish(Fizz::Still, BottleClass::NoPressure),
            now(),
        )
        .unwrap();
        assert_eq!(day.holds.len(), 1);
        let said = day.holds[0].sentence(Voice::PLAIN);
        assert!(said.contains("Steady readings"), "{said}");
        assert!(day.holds[0].guards_against_bursting());
    }
}
