//! Invented trends, one for each thing that a trend must show well.

use chrono::DateTime;
use skep::app::trend::{
    PointKind, StepFate, TrendCurve, TrendData, TrendEarlier, TrendPoint, TrendStep,
};
use skep::domain::records::TempBand;
use skep::domain::units::{Celsius, Gravity, GravityDelta, Moment};
use skep::engine::Spread;

/// The fixed present of all samples: a Wednesday morning.
pub(crate) fn now() -> Moment {
    Moment::new(DateTime::parse_from_rfc3339("2026-11-25T07:15:00-08:00").expect("a date"))
}

/// Names of the samples.
pub(crate) const NAMES: [&str; 13] = [
    "healthy",
    "slow",
    "stuck",
    "bad-reading",
    "cold-spell",
    "two-readings",
    "none",
    "one",
    "planned",
    "logger",
    "sugar-added",
    "finished",
    "mass",
];

/// A ferment that falls from `og` to `fg`, half way at `middle` days.
struct Fall {
    og: f64,
    fg: f64,
    middle: f64,
    width: f64,
}

impl Fall {
    fn at(&self, day: f64) -> f64 {
        let share = |t: f64| 1.0 / (1.0 + ((t - self.middle) / self.width).exp());
        self.fg + (self.og - self.fg) * share(day) / share(0.8)
    }
}

fn point(at: f64, gravity: f64) -> TrendPoint {
    TrendPoint {
        at,
        gravity: Gravity::clamped((gravity * 1000.0).round() / 1000.0),
        error: GravityDelta::known(0.0011),
        kind: PointKind::Hydrometer,
        odd: false,
    }
}

/// A repeatable wobble between -1 and 1.
fn wobble(i: usize) -> f64 {
    (i as f64 * 12.9898).sin()
}

fn curve(fall: &Fall, until: f64, now: f64, spread: f64) -> Vec<TrendCurve> {
    (0..=120)
        .map(|i| {
            let at = 0.8 + (until - 0.8) * f64::from(i) / 120.0;
            let ahead = (at - now).max(0.0);
            let slope = (fall.at(at - 0.5) - fall.at(at + 0.5)).abs();
            let half = 0.0008 + spread * (slope * ahead.min(6.0) + 0.0004 * ahead.min(8.0));
            let g = fall.at(at);
            TrendCurve {
                at,
                gravity: Spread {
                    p10: Gravity::clamped(g - half * 0.8),
                    p50: Gravity::clamped(g),
                    p90: Gravity::clamped(g + half * 1.3),
                },
            }
        })
        .collect()
}

fn step(at: f64, name: &str, fate: StepFate) -> TrendStep {
    TrendStep {
        at,
        name: name.into(),
        fate,
    }
}

fn warmth(until: f64, of: impl Fn(f64) -> f64) -> Vec<(f64, Celsius)> {
    (0..=(until * 2.0) as usize)
        .map(|i| {
            (
                i as f64 / 2.0 + 0.3,
                Celsius::clamped(of(i as f64 / 2.0) + 0.3 * wobble(i)),
            )
        })
        .collect()
}

fn base(day: f64) -> TrendData {
    let now = now();
    let mut data = TrendData::empty(now.plus_days(1.0 - day).day(), now);
    data.band = Some(TempBand {
        low: Celsius::known(18.0),
        high: Celsius::known(22.0),
        min: Celsius::known(12.0),
        max: Celsius::known(30.0),
    });
    data
}

/// A mead on day 12 of some 26.
pub(crate) fn healthy() -> TrendData {
    let fall = Fall {
        og: 1.102,
        fg: 0.998,
        middle: 9.0,
        width: 3.4,
    };
    let mut data = base(12.0);
    data.points = [0.8, 1.3, 2.3, 3.4, 4.8, 6.3, 8.3, 10.3]
        .iter()
        .enumerate()
        .map(|(i, &t)| point(t, fall.at(t) + 0.001 * wobble(i)))
        .collect();
    data.curve = curve(&fall, 32.0, data.now, 1.0);
    data.finish = Some(Spread {
        p10: 20.5,
        p50: 22.4,
        p90: 26.0,
    });
    data.end = Some(Spread {
        p10: Gravity::known(0.996),
        p50: Gravity::known(0.998),
        p90: Gravity::known(1.001),
    });
    let expected = Fall {
        og: 1.102,
        fg: 0.998,
        middle: 8.0,
        width: 3.0,
    };
    data.healthy = (0..=64)
        .map(|i| {
            (
                0.8 + f64::from(i) / 2.0,
                Gravity::clamped(expected.at(0.8 + f64::from(i) / 2.0)),
            )
        })
        .collect();
    data.steps = vec![
        step(0.8, "pitch", StepFate::Done),
        step(1.4, "swirl and feed", StepFate::Done),
        step(4.5, "swirl and feed", StepFate::Done),
        step(6.6, "swirl", StepFate::Done),
        step(8.4, "swirl", StepFate::Skipped),
        step(10.4, "swirl", StepFate::Done),
        step(13.5, "swirl", StepFate::Planned),
        step(29.5, "bottle", StepFate::Planned),
    ];
    data.warmth = warmth(11.2, |_| 20.2);
    data.gravity = data.curve_at(data.now).map(|s| s.map(Gravity::clamped));
    data
}

/// Evenly spaced readings, without error of reading.
fn readings(fall: &Fall, count: i32, every: f64) -> Vec<TrendPoint> {
    (0..count)
        .map(|i| 0.8 + f64::from(i) * every)
        .map(|t| point(t, fall.at(t)))
        .collect()
}

fn slow() -> TrendData {
    let mut data = healthy();
    let fall = Fall {
        og: 1.110,
        fg: 1.004,
        middle: 19.0,
        width: 7.0,
    };
    data.points = readings(&fall, 7, 1.7);
    data.curve = curve(&fall, 60.0, data.now, 2.2);
    data.finish = Some(Spread {
        p10: 34.0,
        p50: 45.0,
        p90: 63.0,
    });
    data.end = data
        .end
        .map(|e| e.map(|g| Gravity::clamped(g.get() + 0.006)));
    data.warmth = warmth(11.2, |t| 18.8 - t * 0.18);
    data
}

fn stuck() -> TrendData {
    let mut data = base(24.0);
    let fall = Fall {
        og: 1.105,
        fg: 1.042,
        middle: 5.0,
        width: 2.0,
    };
    data.points = [0.8, 2.0, 4.0, 6.0, 9.0, 13.0, 17.0, 21.0, 23.3]
        .iter()
        .enumerate()
        .map(|(i, &t)| point(t, fall.at(t) + 0.0006 * wobble(i)))
        .collect();
    data.curve = curve(&fall, 34.0, data.now, 1.0);
    data.healthy = healthy().healthy;
    data.end = Some(Spread {
        p10: Gravity::known(1.010),
        p50: Gravity::known(1.041),
        p90: Gravity::known(1.042),
    });
    data.steps = healthy().steps.into_iter().take(6).collect();
    data.warmth = warmth(23.2, |t| if t < 6.0 { 21.0 } else { 17.0 });
    data
}

fn bad_reading() -> TrendData {
    let mut data = healthy();
    if let Some(p) = data.points.get_mut(5) {
        p.gravity = Gravity::clamped(p.gravity.get() + 0.018);
        p.odd = true;
    }
    data
}

fn two_readings() -> TrendData {
    let mut data = base(4.0);
    let fall = Fall {
        og: 1.098,
        fg: 1.0,
        middle: 9.0,
        width: 3.4,
    };
    data.points = vec![point(0.8, 1.098), point(3.2, 1.088)];
    data.curve = curve(&fall, 36.0, data.now, 0.8);
    data.finish = Some(Spread {
        p10: 14.0,
        p50: 22.0,
        p90: 38.0,
    });
    data.healthy = healthy().healthy;
    data.steps = healthy().steps.into_iter().take(2).collect();
    data
}

fn logger() -> TrendData {
    let mut data = healthy();
    let fall = Fall {
        og: 1.102,
        fg: 0.998,
        middle: 9.0,
        width: 3.4,
    };
    let times = || (0..3000_usize).map(|i| (i, 0.8 + i as f64 * 0.0035));
    data.points = times()
        .map(|(i, at)| TrendPoint {
            at,
            gravity: Gravity::clamped(fall.at(at) + 0.003 * wobble(i)),
            error: GravityDelta::known(0.002),
            kind: PointKind::Sensor,
            odd: i == 1200,
        })
        .collect();
    if let Some(p) = data.points.get_mut(1200) {
        p.gravity = Gravity::known(1.095);
    }
    data.warmth = times()
        .map(|(i, at)| (at, Celsius::clamped(20.0 + 3.0 * (i as f64 / 300.0).sin())))
        .collect();
    data
}

fn sugar_added() -> TrendData {
    let mut data = healthy();
    let up = |g: Gravity| Gravity::clamped(g.get() + 0.02);
    for c in data.curve.iter_mut().filter(|c| c.at > 7.0) {
        c.gravity = c.gravity.map(up);
    }
    for p in data.points.iter_mut().filter(|p| p.at > 7.0) {
        p.gravity = up(p.gravity);
    }
    data.steps.push(step(7.0, "honey in", StepFate::Done));
    data
}

fn finished() -> TrendData {
    let mut data = base(40.0);
    let fall = Fall {
        og: 1.102,
        fg: 0.998,
        middle: 9.0,
        width: 3.0,
    };
    data.points = readings(&fall, 14, 2.9);
    data.curve = curve(&fall, 44.0, data.now, 0.1);
    data.finish = Some(Spread {
        p10: 19.0,
        p50: 20.0,
        p90: 21.5,
    });
    data.end = healthy().end;
    data.healthy = healthy().healthy;
    data.steps = healthy().steps;
    data.warmth = warmth(39.2, |t| 20.0 + (t / 6.0).sin());
    data
}

fn three_instruments() -> TrendData {
    let mut data = healthy();
    let kinds = [
        PointKind::Mass,
        PointKind::Refractometer,
        PointKind::Hydrometer,
    ];
    for (point, kind) in data.points.iter_mut().zip(kinds.into_iter().cycle()) {
        point.kind = kind;
        if kind == PointKind::Refractometer {
            point.error = GravityDelta::known(0.004);
        }
    }
    data
}

/// The sample of a name; any other name gives the healthy one.
pub(crate) fn sample(name: &str) -> TrendData {
    let mut data = match name {
        "slow" => slow(),
        "stuck" => stuck(),
        "bad-reading" => bad_reading(),
        "cold-spell" => TrendData {
            warmth: warmth(11.2, |t| if (4.0..7.5).contains(&t) { 12.5 } else { 20.0 }),
            ..healthy()
        },
        "two-readings" => two_readings(),
        "none" => TrendData {
            band: None,
            ..base(2.0)
        },
        "one" => TrendData {
            points: vec![point(0.2, 1.098)],
            ..base(1.0)
        },
        "planned" => TrendData {
            healthy: healthy().healthy,
            ..base(-3.0)
        },
        "logger" => logger(),
        "sugar-added" => sugar_added(),
        "finished" => finished(),
        "mass" => three_instruments(),
        _ => healthy(),
    };
    data.earlier = earlier();
    data.gravity = data.curve_at(data.now).map(|s| s.map(Gravity::clamped));
    data
}

fn earlier() -> Vec<TrendEarlier> {
    let quick = Fall {
        og: 1.095,
        fg: 1.0,
        middle: 6.5,
        width: 2.4,
    };
    let late = Fall {
        og: 1.085,
        fg: 1.0,
        middle: 10.5,
        width: 2.4,
    };
    [("Closet mead, spring", quick), ("Orchard honey 蜂蜜", late)]
        .into_iter()
        .map(|(name, fall)| TrendEarlier {
            name: name.into(),
            line: readings(&fall, 14, 2.0)
                .iter()
                .map(|p| (p.at, p.gravity))
                .collect(),
        })
        .collect()
}
