//! Whatever is handed in: no panic, no number that is none, the same answer
//! for the same question, probabilities that add up.

use chrono::DateTime;
use proptest::prelude::*;
use skep::domain::units::{
    Abv, Brix, Celsius, Grams, Gravity, GravityDelta, Litres, MilligramsPerLitre, Moment, Ph, Share,
};
use skep::engine::{
    Assessment, Event, EventKind, Facts, History, Observation, OriginalGravity, PastBatch, Seen,
    Spread, Style, TemperatureBand, TemperaturePoint, assess,
};

fn start() -> Moment {
    Moment::new(DateTime::parse_from_rfc3339("2026-03-01T08:00:00-08:00").expect("a time"))
}

/// Any number, the worst ones often.
fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        any::<f64>(),
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(0.0),
        -5.0..5.0f64
    ]
}

fn day() -> impl Strategy<Value = f64> {
    prop_oneof![8 => 0.0..60.0f64, 1 => -30.0..4000.0f64, 1 => Just(0.0)]
}

fn gravity() -> impl Strategy<Value = Gravity> {
    prop_oneof![
        6 => (0.985..1.13f64).prop_map(Gravity::clamped),
        1 => number().prop_map(Gravity::clamped)
    ]
}

fn celsius() -> impl Strategy<Value = Celsius> {
    prop_oneof![
        4 => (5.0..33.0f64).prop_map(Celsius::clamped),
        1 => number().prop_map(|x| Celsius::clamped(x * 100.0))
    ]
}

fn seen() -> impl Strategy<Value = Seen> {
    let float = (gravity(), number()).prop_map(|(gravity, step)| Seen::Hydrometer {
        gravity,
        resolution: GravityDelta::clamped(step * 0.002),
    });
    let glass = (number(), number()).prop_map(|(brix, factor)| Seen::Refractometer {
        brix: Brix::clamped(brix * 10.0),
        factor,
    });
    let scale = (number(), number()).prop_map(|(grams, step)| Seen::Mass {
        grams: Grams::clamped(grams * 2000.0),
        resolution: Grams::clamped(step),
    });
    prop_oneof![
        6 => float,
        1 => glass,
        1 => scale,
        1 => gravity().prop_map(|gravity| Seen::Sensor { gravity }),
        1 => number().prop_map(|ph| Seen::Acidity { ph: Ph::clamped(ph) })
    ]
}

fn readings() -> impl Strategy<Value = Vec<Observation>> {
    let one = (day(), proptest::option::of(celsius()), seen());
    prop::collection::vec(one, 0..45).prop_map(|all| {
        all.into_iter()
            .map(|(day, temperature, seen)| Observation {
                at: start().plus_days(day),
                temperature,
                seen,
            })
            .collect()
    })
}

fn event() -> impl Strategy<Value = Event> {
    let kind = prop_oneof![
        number().prop_map(|x| EventKind::Nutrient {
            yan: Some(MilligramsPerLitre::clamped(x * 100.0))
        }),
        proptest::option::of(number()).prop_map(|x| EventKind::SugarAdded {
            rise: x.map(GravityDelta::clamped)
        }),
        proptest::option::of(number()).prop_map(|x| EventKind::FruitAdded {
            rise: x.map(GravityDelta::clamped)
        }),
        number().prop_map(|factor| EventKind::Diluted { factor }),
        (number(), gravity(), gravity()).prop_map(|(share, gravity, original)| {
            EventKind::Blended {
                share: Share::clamped(share),
                gravity,
                original,
            }
        }),
        prop::sample::select(vec![
            EventKind::Racked,
            EventKind::Roused,
            EventKind::Repitched,
            EventKind::Stabilised,
            EventKind::Sulfited,
        ]),
    ];
    (day(), kind).prop_map(|(day, kind)| Event {
        at: start().plus_days(day),
        kind,
    })
}

fn style() -> impl Strategy<Value = Style> {
    prop::sample::select(vec![Style::Mead, Style::Cider, Style::Beer])
}

fn facts() -> impl Strategy<Value = Facts> {
    let og = proptest::option::of((any::<bool>(), gravity()).prop_map(|(planned, g)| {
        if planned {
            OriginalGravity::Planned(g)
        } else {
            OriginalGravity::Measured(g)
        }
    }));
    let yeast = (
        proptest::option::of(number()),
        proptest::option::of((celsius(), celsius())),
    );
    (
        style(),
        og,
        proptest::option::of(gravity()),
        yeast,
        proptest::option::of(number()),
        proptest::option::of(celsius()),
        prop::collection::vec(event(), 0..5),
        0.0..=1.0f64,
    )
        .prop_map(
            |(style, og, end, (tolerance, band), volume, usual, events, sticks)| {
                let mut facts = Facts::of(style);
                facts.og = og;
                facts.expected_fg = end;
                facts.yeast.tolerance = tolerance.map(|t| Abv::clamped(t * 10.0));
                facts.yeast.band = band.map(|(low, high)| TemperatureBand { low, high });
                facts.volume = volume.map(|v| Litres::clamped(v * 10.0));
                facts.usual_temperature = usual;
                facts.pitched = Some(start());
                facts.events = events;
                facts.stall_prior = Share::clamped(sticks);
                facts
            },
        )
}

fn history() -> impl Strategy<Value = History> {
    let one = (
        style(),
        gravity(),
        gravity(),
        number(),
        proptest::option::of(celsius()),
        any::<bool>(),
    );
    prop::collection::vec(one, 0..6).prop_map(|all| History {
        batches: all
            .into_iter()
            .map(|(style, og, fg, days, temperature, stuck)| PastBatch {
                style,
                yeast: None,
                place: None,
                og,
                expected_fg: Some(fg),
                fg,
                days_to_finish: days * 10.0,
                temperature,
                stuck,
            })
            .collect(),
    })
}

fn temperatures() -> impl Strategy<Value = Vec<TemperaturePoint>> {
    prop::collection::vec((day(), celsius()), 0..20).prop_map(|all| {
        all.into_iter()
            .map(|(day, celsius)| TemperaturePoint {
                at: start().plus_days(day),
                celsius,
            })
            .collect()
    })
}

fn ordered<T: PartialOrd>(spread: Option<Spread<T>>) -> bool {
    spread.is_none_or(|s| s.p10 <= s.p50 && s.p50 <= s.p90)
}

fn sound(said: &Assessment) {
    let text = format!("{said:?}");
    for bad in ["NaN", "inf,", "inf)", "inf]", "inf }"] {
        assert!(!text.contains(bad), "{bad} in {text}");
    }
    let sum: f64 = said.states.by_state.iter().sum();
    assert!((sum - 1.0).abs() < 1e-6, "probabilities add up to {sum}");
    assert!(
        said.states
            .by_state
            .iter()
            .all(|p| (-1e-9..=1.0 + 1e-9).contains(p))
    );
    assert!(said.stuck.ever >= said.stuck.probability);
    assert!(ordered(said.finish) && ordered(said.final_gravity) && ordered(said.gravity_now));
    assert!(said.curve.windows(2).all(|w| w[0].at <= w[1].at));
    assert!(said.curve.iter().all(|p| ordered(Some(p.gravity))));
    let causes: f64 = said.causes.iter().map(|c| c.weight.get()).sum();
    assert!(causes <= 1.0 + 1e-9);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 192, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_input_is_answered_soundly_and_always_alike(
        facts in facts(),
        readings in readings(),
        temperatures in temperatures(),
        history in history(),
        now in day(),
    ) {
        let now = start().plus_days(now);
        let said = assess(&facts, &readings, &temperatures, &history, now);
        sound(&said);
        prop_assert_eq!(said, assess(&facts, &readings, &temperatures, &history, now));
    }

    #[test]
    fn the_order_of_the_readings_does_not_matter(
        gravities in prop::collection::vec(0.99..1.11f64, 1..15),
        gap in 0.5..4.0f64,
    ) {
        let mut facts = Facts::of(Style::Mead);
        facts.og = Some(OriginalGravity::Measured(Gravity::known(1.100)));
        facts.pitched = Some(start());
        let mut readings: Vec<_> = gravities
            .iter()
            .enumerate()
            .map(|(i, g)| Observation {
                at: start().plus_days(gap * i as f64),
                temperature: None,
                seen: Seen::Hydrometer {
                    gravity: Gravity::clamped(*g),
                    resolution: GravityDelta::known(0.001),
                },
            })
            .collect();
        let now = start().plus_days(gap * gravities.len() as f64);
        let history = History::default();
        let said = assess(&facts, &readings, &[], &history, now);
        readings.reverse();
        let again = assess(&facts, &readings, &[], &history, now);
        prop_assert_eq!(said.states, again.states);
        prop_assert_eq!(said.finish, again.finish);
        prop_assert_eq!(said.final_gravity, again.final_gravity);
    }
}
