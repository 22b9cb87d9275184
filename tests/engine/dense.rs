//! Readings that come often: a sensor that drifts, jitters and throws spikes, a
//! scale from under which samples are taken. Whatever stands between, it must
//! be the ferment that is told. The ferments are invented; the error of the
//! instruments is wider than theirs is in use (common practice, no source).

use chrono::DateTime;
use skep::domain::units::{Celsius, Grams, Gravity, GravityDelta, Litres, Moment};
use skep::engine::{
    Assessment, Facts, FermentState, Headline, History, Observation, OriginalGravity, Seen, Style,
    SuspicionWhy, assess,
};

fn start() -> Moment {
    Moment::new(DateTime::parse_from_rfc3339("2026-03-01T08:00:00-08:00").expect("a time"))
}

/// A mead from 1.100 to 0.998: half-way on day 7.
fn healthy(day: f64) -> f64 {
    let at = |t: f64| 1.0 / (1.0 + ((t - 7.0) / 1.8).exp());
    0.998 + 0.102 * at(day) / at(0.0)
}

/// The same, that stops on day 8.
fn stopped(day: f64) -> f64 {
    healthy(day.min(8.0))
}

/// Numbers from -1 to 1 that look like chance and are none.
fn jitter(n: usize) -> f64 {
    let mixed = (n as u64)
        .wrapping_mul(6_364_136_223_846_793_005)
        .wrapping_add(1_442_695_040_888_963_407);
    ((mixed >> 33) % 2001) as f64 / 1000.0 - 1.0
}

fn facts() -> Facts {
    let mut facts = Facts::of(Style::Mead);
    facts.og = Some(OriginalGravity::Measured(Gravity::known(1.100)));
    facts.expected_fg = Some(Gravity::known(0.998));
    facts.usual_temperature = Some(Celsius::known(20.0));
    facts.volume = Some(Litres::known(4.0));
    facts.pitched = Some(start());
    facts
}

fn seen(day: f64, seen: Seen) -> Observation {
    Observation {
        at: start().plus_days(day),
        temperature: Some(Celsius::known(20.0)),
        seen,
    }
}

/// A value each quarter of an hour: jitter of 0.003, and 0.0004 of drift a day.
fn sensor(gravity: fn(f64) -> f64, days: f64, spikes: bool) -> Vec<Observation> {
    let count = (days * 96.0) as usize;
    (0..=count)
        .map(|n| {
            let day = n as f64 / 96.0;
            let spike = if spikes && n % 37 == 5 { -0.04 } else { 0.0 };
            let shown = gravity(day) + 0.003 * jitter(n) + 0.0004 * day + spike;
            let gravity = Gravity::clamped(shown);
            seen(day, Seen::Sensor { gravity })
        })
        .collect()
}

/// A hydrometer beside it every three days.
fn float(gravity: fn(f64) -> f64, days: f64) -> Vec<Observation> {
    let count = (days / 3.0) as usize;
    (0..=count)
        .map(|n| {
            let day = 3.0 * n as f64;
            let gravity = Gravity::clamped(gravity(day) + 0.001 * jitter(n));
            let resolution = GravityDelta::known(0.001);
            seen(
                day,
                Seen::Hydrometer {
                    gravity,
                    resolution,
                },
            )
        })
        .collect()
}

/// Weighed twice a day; on some days 120 g are taken out for a sample.
fn scale(gravity: fn(f64) -> f64, days: f64, samples: &[f64]) -> Vec<Observation> {
    let count = (days * 2.0) as usize;
    (0..=count)
        .map(|n| {
            let day = n as f64 / 2.0;
            // In four litres 404 g of gas from 1.100 to 0.998 (see the stories).
            let gas = 404.0 * (1.100 - gravity(day)) / 0.102;
            let taken = samples.iter().filter(|s| **s < day).count() as f64 * 120.0;
            let grams = Grams::clamped(5400.0 - gas - taken + 1.5 * jitter(n));
            let resolution = Grams::known(1.0);
            seen(day, Seen::Mass { grams, resolution })
        })
        .collect()
}

fn on(readings: &[Observation], day: f64) -> Assessment {
    let now = start().plus_days(day);
    assess(&facts(), readings, &[], &History::default(), now)
}

fn stuck(said: &Assessment) -> bool {
    said.headline == Headline::Clear(FermentState::Stuck)
}

fn never_stuck(readings: &[Observation], days: u16) {
    for day in 1..=days {
        let said = on(readings, f64::from(day));
        assert!(!stuck(&said), "day {day}: {:?}", said.states);
    }
}

fn gravity_now(said: &Assessment) -> f64 {
    said.gravity_now.expect("a gravity").p50.get()
}

#[test]
fn a_drifting_sensor_is_put_right_by_the_float() {
    let mut readings = sensor(healthy, 24.0, false);
    readings.extend(float(healthy, 24.0));
    never_stuck(&readings, 24);
    let said = on(&readings, 24.0);
    assert_eq!(said.headline, Headline::Clear(FermentState::Finished));
    assert!((gravity_now(&said) - healthy(24.0)).abs() < 0.002);
}

/// Alone, with a drift of 0.01 in the end, it can't tell where the end is; but
/// that something falls or not, it tells.
#[test]
fn alone_it_tells_falling_from_still() {
    let readings = sensor(healthy, 12.0, false);
    never_stuck(&readings, 12);
    let said = on(&sensor(stopped, 11.0, false), 11.0);
    assert!(said.stuck.probability.get() > 0.8, "{:?}", said.states);
}

#[test]
fn spikes_of_a_sensor_change_nothing() {
    let (clean, spiked) = (sensor(healthy, 14.0, false), sensor(healthy, 14.0, true));
    for day in [3.0, 6.0, 9.0, 14.0] {
        let (a, b) = (on(&clean, day), on(&spiked, day));
        let off = gravity_now(&a) - gravity_now(&b);
        assert!(off.abs() < 0.001, "day {day}: {off}");
        assert_eq!(a.headline, b.headline, "day {day}");
    }
}

#[test]
fn samples_taken_from_the_scale_are_no_gas() {
    let readings = scale(healthy, 24.0, &[2.2, 5.2, 9.2, 14.2]);
    never_stuck(&readings, 24);
    for day in [4.0, 8.0, 12.0] {
        let off = gravity_now(&on(&readings, day)) - healthy(day);
        assert!(off.abs() < 0.008, "day {day}: {off}");
    }
}

#[test]
fn a_scale_alone_tells_a_stop_within_two_days() {
    let readings = scale(stopped, 10.0, &[]);
    let said = on(&readings, 10.0);
    assert!(stuck(&said), "{:?}", said.states);
    let since = said.stuck.since.expect("a day").p50.days_since(start());
    assert!((since - 8.0).abs() < 0.75, "{since}");
}

#[test]
fn a_scale_without_a_volume_says_little_and_that_is_told() {
    let mut facts = facts();
    facts.volume = None;
    let readings = scale(healthy, 5.0, &[]);
    let said = assess(
        &facts,
        &readings,
        &[],
        &History::default(),
        start().plus_days(5.0),
    );
    assert_eq!(said.suspicious.len(), readings.len());
    assert!(
        said.suspicious
            .iter()
            .all(|s| s.why == SuspicionWhy::SaysLittle)
    );
}
