//! Ferments by published kinetics, which share nothing with the engine's curve:
//! diaries of them with their truth, to see whether what the engine says holds
//! there too.
//!
//! - Beer: B. de Andrés-Toro et al., Math. Comput. Simul. 48:65 (1998), latent,
//!   active and settled yeast; its constants hold from 8 to 16 °C.
//! - Wine, mead, cider: A. C. Cramer, S. Vlassides, D. E. Block, Biotechnol.
//!   Bioeng. 77:49 (2002): growth held by nitrogen, uptake by living cells, death
//!   by alcohol. Its form; the constants here are of that order, from memory, and
//!   spread so that some musts stick.
//! - Temperature there: the square of its distance from a least one (D. A.
//!   Ratkowsky et al., J. Bacteriol. 149:1, 1982), not the engine's law.
//! - The Gompertz curve in the form of M. H. Zwietering et al., Appl. Environ.
//!   Microbiol. 56:1875 (1990), as it is fitted to gas in trials.

use serde_json::{Value, json};

/// Days that a ferment is followed for.
const DAYS: usize = 160;
/// Steps a day.
const STEPS: usize = 48;
/// Sugar left from which standing still is being stuck, as the diaries have it.
const SUGAR_LEFT: f64 = 0.006;
/// One that falls further than this once it is flat creeps on.
const CREEPS: f64 = 0.004;
/// A fall below this in three days is none for any practical purpose.
const FLAT: f64 = 0.0018;
/// Within this of the end it is at its end.
const AT_END: f64 = 0.001;

/// Numbers that look like chance and are the same each time (splitmix64).
struct Chance(u64);

impl Chance {
    fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.even()
    }

    fn normal(&mut self) -> f64 {
        let r = (-2.0 * (1.0 - self.even()).ln()).sqrt();
        r * (std::f64::consts::TAU * self.even()).cos()
    }

    fn about(&mut self, middle: f64, log_sd: f64) -> f64 {
        middle * (log_sd * self.normal()).exp()
    }
}

/// One ferment: gravity and temperature at each step.
struct Course {
    style: &'static str,
    model: &'static str,
    og: f64,
    attainable: f64,
    celsius: Vec<f64>,
    gravity: Vec<f64>,
}

/// Diaries and truths, as JSON of the format `ferments/1`.
pub(crate) fn written(count: usize, seed: u64) -> (String, String) {
    let mut chance = Chance(seed);
    let (mut cases, mut truths) = (Vec::new(), Vec::new());
    for n in 0..count {
        let mut course = None;
        while course.as_ref().is_none_or(Course::creeps) {
            course = Some(match n % 8 {
                0 | 1 => beer(&mut chance),
                2 => gompertz(&mut chance),
                _ => wine(&mut chance),
            });
        }
        let Some(course) = course else { continue };
        let name = format!("k{n:04}");
        let (case, truth) = diary(&name, &course, &mut chance);
        cases.push(case);
        truths.push(truth);
    }
    let named = |key: &str, all: Vec<Value>| json!({ "format": key, "cases": all }).to_string();
    (named("ferments/1", cases), named("ferments/1", truths))
}

/// A room with its daily and slower wander.
fn room(chance: &mut Chance, usual: f64) -> Vec<f64> {
    let mut off = 0.0;
    let mut out = Vec::with_capacity(DAYS * STEPS);
    for _ in 0..DAYS {
        off = 0.8 * off + 0.6 * chance.normal();
        out.extend((0..STEPS).map(|_| usual + off));
    }
    out
}

/// Fourth-order Runge and Kutta; `rates` per hour.
fn solved<const N: usize>(
    mut state: [f64; N],
    celsius: &[f64],
    rates: impl Fn(&[f64; N], f64) -> [f64; N],
    shown: impl Fn(&[f64; N]) -> f64,
) -> Vec<f64> {
    let step = 24.0 / STEPS as f64;
    let moved = |s: &[f64; N], d: &[f64; N], by: f64| -> [f64; N] {
        std::array::from_fn(|i| (s[i] + by * d[i]).max(0.0))
    };
    celsius
        .iter()
        .map(|&t| {
            let now = shown(&state);
            let a = rates(&state, t);
            let b = rates(&moved(&state, &a, 0.5 * step), t);
            let c = rates(&moved(&state, &b, 0.5 * step), t);
            let d = rates(&moved(&state, &c, step), t);
            let mean = std::array::from_fn(|i| (a[i] + 2.0 * (b[i] + c[i]) + d[i]) / 6.0);
            state = moved(&state, &mean, step);
            now
        })
        .collect()
}

fn beer(chance: &mut Chance) -> Course {
    let og = chance.between(1.040, 1.070);
    let attainable = 1.0 + (og - 1.0) * chance.between(0.18, 0.32);
    let usual = chance.between(9.5, 15.5);
    let celsius = room(chance, usual);
    // The paper's wort holds 130 g/L of sugar.
    let sugar = 130.0;
    let yeast = chance.about(1.0, 0.35);
    let pace = chance.about(1.0, 0.2);
    let rates = move |x: &[f64; 5], t: f64| {
        let [latent, active, settled, s, alcohol] = *x;
        let k = t.clamp(8.0, 16.5) + 273.15;
        let e = |a: f64, b: f64| (a + b / k).exp();
        let held = 0.5 * sugar + alcohol;
        let grows = e(108.31, -31934.09) * s / held;
        let settles = e(33.82, -10033.28) * 0.5 * sugar / held;
        let takes = s / (e(-119.63, 34203.95) + s);
        let wakes = e(30.72, -9501.54);
        let drops = e(130.16, -38313.0);
        let inhibited = (1.0 - alcohol / (0.5 * sugar)).max(0.0);
        [
            -wakes * latent,
            grows * active - drops * active + wakes * latent,
            drops * active - settles * settled,
            -e(-41.92, 11654.64) * takes * active,
            inhibited * e(3.27, -1267.24) * takes * active,
        ]
        .map(|r| r * pace)
    };
    let start = [1.92 * yeast, 0.08 * yeast, 2.0, sugar, 0.0];
    let gravity = solved(start, &celsius, rates, |x| {
        attainable + (og - attainable) * x[3] / sugar
    });
    Course {
        style: "beer",
        model: "latent_active_settled",
        og,
        attainable,
        celsius,
        gravity,
    }
}

fn wine(chance: &mut Chance) -> Course {
    let cider = chance.even() < 0.3;
    let og = if cider {
        chance.between(1.044, 1.066)
    } else {
        chance.between(1.080, 1.125)
    };
    let attainable = 1.0 - 0.1 * (og - 1.0);
    let usual = chance.between(if cider { 12.0 } else { 15.0 }, 25.0);
    let mut celsius = room(chance, usual);
    if chance.even() < 0.15 {
        let day = chance.between(3.0, 15.0) as usize;
        let cold = chance.between(3.0, 12.0);
        let back = if chance.even() < 0.5 { 7 } else { DAYS };
        for (i, c) in celsius.iter_mut().enumerate() {
            if (day * STEPS..(day + back) * STEPS).contains(&i) {
                *c = cold;
            }
        }
    }
    // Sugar in g/L: some 2.6 times the points (Plato by density, common practice).
    let sugar = 2600.0 * (og - 1.0);
    let least = 4.0 + chance.normal();
    let nitrogen = chance.about(if cider { 0.08 } else { 0.16 }, 0.45);
    let grows = chance.about(0.10, 0.3);
    let takes = chance.about(0.30, 0.25);
    let dies = chance.about(5e-5, 0.7);
    let pitched = chance.about(0.2, 0.4);
    let rates = move |x: &[f64; 3], t: f64| {
        let [living, n, s] = *x;
        let pace = ((t - least).max(0.0) / (20.0 - least)).powi(2);
        let alcohol = 0.48 * (sugar - s);
        let growth = grows * pace * n / (0.01 + n);
        [
            growth * living - dies * alcohol * 1.08f64.powf(t - 20.0) * living,
            -growth * living / 20.0,
            -takes * pace * s / (10.0 + s) * living,
        ]
    };
    let gravity = solved([pitched, nitrogen, sugar], &celsius, rates, |x| {
        attainable + (og - attainable) * x[2] / sugar
    });
    Course {
        style: if cider { "cider" } else { "mead" },
        model: "nitrogen_alcohol",
        og,
        attainable,
        celsius,
        gravity,
    }
}

fn gompertz(chance: &mut Chance) -> Course {
    let og = chance.between(1.045, 1.120);
    let attainable = 1.0 - 0.05 * (og - 1.0);
    let usual = chance.between(16.0, 24.0);
    let celsius = room(chance, usual);
    let lag = chance.about(1.0, 0.5);
    let days = chance.about(9.0, 0.5);
    let gravity = (0..DAYS * STEPS)
        .map(|i| {
            let t = i as f64 / STEPS as f64;
            let gone = (-(std::f64::consts::E / days * (lag - t) + 1.0).exp()).exp();
            og - (og - attainable) * gone
        })
        .collect();
    Course {
        style: if og < 1.070 { "cider" } else { "mead" },
        model: "gompertz",
        og,
        attainable,
        celsius,
        gravity,
    }
}

impl Course {
    fn end(&self) -> f64 {
        self.gravity[self.gravity.len() - 1]
    }

    /// First step from which on `wanted` holds of the gravity.
    fn first(&self, wanted: impl Fn(usize) -> bool) -> usize {
        (0..self.gravity.len())
            .rfind(|i| !wanted(*i))
            .map_or(0, |i| i + 1)
    }

    /// Fall within three days of a step.
    fn falls(&self, i: usize) -> f64 {
        self.gravity[i] - self.gravity[(i + 3 * STEPS).min(self.gravity.len() - 1)]
    }

    /// Day from which on it is flat for any practical purpose, where sugar is left then.
    fn stalls(&self) -> Option<f64> {
        let flat = self.first(|i| self.falls(i) < FLAT);
        let sugar = self.end() - self.attainable > SUGAR_LEFT;
        sugar.then_some(flat as f64 / STEPS as f64)
    }

    /// Whether it creeps on for months: neither stuck nor going is the word for it.
    fn creeps(&self) -> bool {
        let flat = self
            .first(|i| self.falls(i) < FLAT)
            .min(self.gravity.len() - 1);
        self.gravity[flat] - self.end() > CREEPS
    }

    /// Day from which on it is stuck or within 0.001 of its end.
    fn settles(&self) -> f64 {
        let at_end = self.first(|i| self.gravity[i] - self.end() <= AT_END);
        self.stalls().unwrap_or(at_end as f64 / STEPS as f64)
    }

    fn state(&self, i: usize) -> &'static str {
        let day = i as f64 / STEPS as f64;
        if day >= self.settles() {
            return if self.stalls().is_some() {
                "stalled"
            } else {
                "finished"
            };
        }
        let drop = self.og - self.attainable;
        if self.og - self.gravity[i] < 0.05 * drop {
            return "lag";
        }
        let fall = |i: usize| self.gravity[i] - self.gravity[(i + 12).min(self.gravity.len() - 1)];
        let falls: Vec<f64> = (0..self.gravity.len()).map(fall).collect();
        let peak = (0..falls.len())
            .max_by(|a, b| falls[*a].total_cmp(&falls[*b]))
            .unwrap_or(0);
        if i > peak && falls[i] < 0.35 * falls[peak] {
            "slowing"
        } else {
            "active"
        }
    }
}

/// Readings every one to four days until a while after it settled.
fn diary(name: &str, course: &Course, chance: &mut Chance) -> (Value, Value) {
    let last = (course.settles() + chance.between(6.0, 14.0)).min(DAYS as f64 - 2.0);
    let every = chance.between(1.0, 3.5);
    let error = chance.between(0.0008, 0.0015);
    let step = if chance.even() < 0.5 { 0.001 } else { 0.002 };
    let start = chrono::DateTime::UNIX_EPOCH + chrono::TimeDelta::days(19_800);
    let (mut readings, mut then) = (Vec::new(), Vec::new());
    let mut day = 0.0;
    while day <= last {
        let i = (day * STEPS as f64) as usize;
        let mut read = course.gravity[i] + error * chance.normal();
        if chance.even() < 0.005 {
            read += if chance.even() < 0.5 { 0.01 } else { -0.01 };
        }
        let minutes = (day * 1440.0) as i64;
        let at = start + chrono::TimeDelta::minutes(minutes);
        readings.push(json!({
            "time": at.to_rfc3339(),
            "sg": (read / step).round() * step,
            "temp_c": (2.0 * course.celsius[i]).round() / 2.0,
        }));
        then.push(json!({
            "t_days": minutes as f64 / 1440.0,
            "state": course.state(i),
            "sg_true": course.gravity[i],
        }));
        day += every * chance.between(0.5, 1.5);
    }
    let plan = (chance.even() < 0.75).then(|| course.attainable + 0.003 * chance.normal());
    let usual = course.celsius.iter().sum::<f64>() / course.celsius.len() as f64;
    let case = json!({
        "case_id": name,
        "meta": {
            "style": course.style,
            "og": readings[0]["sg"],
            "yeast_tolerance_pct": 16.0,
            "temp_c_nominal": usual.round(),
            "expected_fg": plan.map(|p| (p * 1000.0).round() / 1000.0),
            "hydrometer_resolution": step,
        },
        "events": [],
        "readings": readings,
    });
    let settles = course.settles();
    let truth = json!({
        "case_id": name,
        "scenario": course.model,
        "final_sg": course.end(),
        "offset": 0.0,
        "noise_sd": error,
        "og_true": course.og,
        "fg_attainable": course.attainable,
        "stall_days": course.stalls(),
        "finish_days": course.stalls().is_none().then_some(settles),
        "readings": then,
    });
    (case, truth)
}
