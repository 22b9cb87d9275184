//! How long one assessment takes: `cargo bench --bench engine`.

use chrono::DateTime;
use skep::domain::units::{Celsius, Gravity, GravityDelta, Moment};
use skep::engine::{Assessment, Facts, History, Observation, OriginalGravity, Seen, Style, assess};

fn main() {
    divan::main();
}

/// An invented mead: an even fall from 1.100 to 0.998, `count` readings over `days`.
fn diary(count: usize, days: f64) -> (Facts, Vec<Observation>) {
    let start = Moment::new(DateTime::parse_from_rfc3339("2026-03-01T08:00:00Z").expect("a time"));
    let mut facts = Facts::of(Style::Mead);
    facts.og = Some(OriginalGravity::Measured(Gravity::known(1.100)));
    facts.expected_fg = Some(Gravity::known(0.997));
    facts.pitched = Some(start);
    let readings = (0..count)
        .map(|i| {
            let t = days * i as f64 / (count - 1) as f64;
            let left = 1.0 / (1.0 + ((t - 8.0) / 2.2).exp());
            let wobble = 0.001 * ((i * 7919 % 13) as f64 / 6.0 - 1.0);
            let seen = ((0.998 + 0.105 * left + wobble) * 1000.0).round() / 1000.0;
            Observation {
                at: start.plus_days(t),
                temperature: Some(Celsius::known(20.0)),
                seen: Seen::Hydrometer {
                    gravity: Gravity::clamped(seen),
                    resolution: GravityDelta::known(0.001),
                },
            }
        })
        .collect();
    (facts, readings)
}

/// The promise: below 1 ms with 30 readings, below 3 ms with 300.
#[divan::bench(args = [2, 8, 30, 300])]
fn assessment(bencher: divan::Bencher<'_, '_>, count: usize) {
    let (facts, readings) = diary(count, 24.0);
    let now = readings[readings.len() - 1].at;
    let history = History::default();
    bencher.bench(|| -> Assessment { assess(&facts, &readings, &[], &history, now) });
}

/// The same half-way, where all hypotheses are open.
#[divan::bench(args = [30, 300])]
fn half_way(bencher: divan::Bencher<'_, '_>, count: usize) {
    let (facts, readings) = diary(count, 9.0);
    let now = readings[readings.len() - 1].at;
    let history = History::default();
    bencher.bench(|| -> Assessment { assess(&facts, &readings, &[], &history, now) });
}

/// One that stood still and goes on: courses before and after are weighed too.
#[divan::bench(args = [30])]
fn woken(bencher: divan::Bencher<'_, '_>, count: usize) {
    let (facts, mut readings) = diary(count, 24.0);
    for (i, r) in readings.iter_mut().enumerate() {
        // As on the ninth reading for a third of the time, then on from there.
        let as_on = if i < 9 {
            i
        } else {
            i.saturating_sub(10).max(9)
        };
        let gravity = 1.0 + 0.105 / (1.0 + ((as_on as f64 * 0.83 - 8.0) / 2.2).exp());
        r.seen = Seen::Hydrometer {
            gravity: Gravity::clamped((gravity * 1000.0).round() / 1000.0),
            resolution: GravityDelta::known(0.001),
        };
    }
    let now = readings[readings.len() - 1].at;
    let history = History::default();
    bencher.bench(|| -> Assessment { assess(&facts, &readings, &[], &history, now) });
}
