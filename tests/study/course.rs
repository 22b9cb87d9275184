//! The true course of a ferment, as its truth tells it, and the readings taken.

use crate::score::Truth;
use anyhow::Context;
use serde::Deserialize;
use std::collections::HashMap;

#[derive(Deserialize)]
struct Cases {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    #[serde(rename = "case_id")]
    name: String,
    meta: Meta,
    readings: Vec<Read>,
}

#[derive(Deserialize)]
struct Meta {
    style: String,
    expected_fg: Option<f64>,
    temp_c_nominal: Option<f64>,
    hydrometer_resolution: Option<f64>,
}

#[derive(Deserialize)]
struct Read {
    sg: f64,
    temp_c: Option<f64>,
}

#[derive(Deserialize)]
struct Truths {
    cases: Vec<More>,
}

/// What only a simulation tells.
#[derive(Deserialize)]
struct More {
    #[serde(flatten)]
    truth: Truth,
    scenario: String,
    noise_sd: f64,
    og_true: f64,
    fg_attainable: f64,
}

#[derive(Deserialize)]
struct TrueGravities {
    cases: Vec<TrueGravity>,
}

#[derive(Deserialize)]
struct TrueGravity {
    case_id: String,
    readings: Vec<Sg>,
}

#[derive(Deserialize)]
struct Sg {
    sg_true: f64,
}

/// One ferment with all that is true of it.
pub(crate) struct Known {
    pub(crate) truth: Truth,
    pub(crate) scenario: String,
    pub(crate) style: String,
    pub(crate) plan: Option<f64>,
    /// Standard error of a reading, its rounding included.
    pub(crate) error: f64,
    pub(crate) og: f64,
    pub(crate) attainable: f64,
    /// As read, and as it was, offset of the hydrometer included.
    pub(crate) read: Vec<f64>,
    pub(crate) was: Vec<f64>,
    /// Temperatures at the readings.
    pub(crate) celsius: Vec<f64>,
}

impl Known {
    /// Days since the pitch.
    pub(crate) fn days(&self, i: usize) -> f64 {
        self.truth.readings[i].t_days
    }

    /// The end by this hydrometer.
    pub(crate) fn end(&self) -> f64 {
        self.truth.final_sg + self.truth.offset
    }

    /// Whether it is healthy or was stopped suddenly, when the rest of a healthy
    /// course can be told from what came before.
    pub(crate) fn sudden_or_healthy(&self) -> bool {
        self.truth.stall_days.is_none()
            || matches!(
                self.scenario.as_str(),
                "cold_shock" | "heat_kill" | "early_yeast_death"
            )
    }

    /// Thermal time at `days`, as known at reading `until`: the pace doubles in
    /// ten degrees and comes to a stop in the cold, as the engine has it.
    pub(crate) fn thermal(&self, days: f64, until: usize) -> f64 {
        let mut tau = 0.0;
        for i in 0..until {
            let (a, b) = (self.days(i), self.days(i + 1));
            let to = b.min(days);
            if to <= a {
                return tau;
            }
            let steps = 8;
            for n in 0..steps {
                let part = (f64::from(n) + 0.5) / f64::from(steps);
                let t = a + (to - a) * part;
                let c = self.celsius[i]
                    + (self.celsius[i + 1] - self.celsius[i]) * (t - a) / (b - a).max(1e-9);
                tau += (to - a) / f64::from(steps) * pace(c);
            }
        }
        let rest = (days - self.days(until)).max(0.0);
        tau + rest * pace(self.celsius[until])
    }

    /// Days at which thermal time is `tau`, as known at reading `until`.
    pub(crate) fn when(&self, tau: f64, until: usize) -> f64 {
        let (mut low, mut high) = (0.0, 400.0);
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if self.thermal(middle, until) < tau {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }

    /// Share of the sugar left against thermal time.
    pub(crate) fn course(&self) -> Course {
        let last = self.was.len() - 1;
        let drop = (self.og + self.truth.offset - self.end()).max(0.004);
        let mut knots: Vec<(f64, f64)> = Vec::new();
        for i in 0..=last {
            let left = ((self.was[i] - self.end()) / drop).clamp(0.0, 1.0);
            knots.push((self.thermal(self.days(i), last), left));
        }
        if let Some(finish) = self.truth.finish_days {
            knots.push((self.thermal(finish, last), (0.001 / drop).min(1.0)));
        }
        knots.sort_by(|a, b| a.0.total_cmp(&b.0));
        knots.dedup_by(|a, b| a.0 - b.0 < 1e-6);
        let finish = self
            .truth
            .finish_days
            .map_or(f64::INFINITY, |f| self.thermal(f, last));
        Course { knots, finish }
    }
}

/// Speed beside that at 20 °C.
fn pace(celsius: f64) -> f64 {
    let cold = 1.0 / (1.0 + ((8.0 - celsius) / 0.5).exp());
    2f64.powf((celsius.min(32.0) - 20.0) / 10.0) * cold
}

/// A share of sugar left against thermal time, through the true gravities.
pub(crate) struct Course {
    knots: Vec<(f64, f64)>,
    /// Thermal time of the finish.
    pub(crate) finish: f64,
}

impl Course {
    /// Share left: a monotone cubic through the knots (Fritsch and Carlson 1980,
    /// with the slopes' harmonic mean).
    pub(crate) fn left(&self, tau: f64) -> f64 {
        let k = &self.knots;
        let i = k.partition_point(|p| p.0 <= tau);
        if i == 0 {
            return k[0].1;
        }
        if i == k.len() {
            return k[i - 1].1;
        }
        let (a, b) = (k[i - 1], k[i]);
        let width = b.0 - a.0;
        let chord = |j: usize| (k[j + 1].1 - k[j].1) / (k[j + 1].0 - k[j].0);
        let slope = |j: usize| {
            if j == 0 || j + 1 == k.len() {
                return if j == 0 { chord(0) } else { chord(j - 1) };
            }
            let (before, after) = (chord(j - 1), chord(j));
            if before * after <= 0.0 {
                0.0
            } else {
                2.0 * before * after / (before + after)
            }
        };
        let (ma, mb) = (slope(i - 1) * width, slope(i) * width);
        let s = (tau - a.0) / width;
        let (s2, s3) = (s * s, s * s * s);
        (2.0 * s3 - 3.0 * s2 + 1.0) * a.1
            + (s3 - 2.0 * s2 + s) * ma
            + (3.0 * s2 - 2.0 * s3) * b.1
            + (s3 - s2) * mb
    }
}

/// All ferments of a file with their truths.
pub(crate) fn read(cases: &str, truths: &str) -> anyhow::Result<Vec<Known>> {
    let cases: Cases = serde_json::from_str(cases).context("the diaries")?;
    let more: Truths = serde_json::from_str(truths).context("the truths")?;
    let gravities: TrueGravities = serde_json::from_str(truths).context("the true gravities")?;
    let mut more: HashMap<String, More> = more
        .cases
        .into_iter()
        .map(|m| (m.truth.case_id.clone(), m))
        .collect();
    let mut sg: HashMap<String, Vec<f64>> = gravities
        .cases
        .into_iter()
        .map(|g| {
            (
                g.case_id,
                g.readings.into_iter().map(|r| r.sg_true).collect(),
            )
        })
        .collect();
    cases
        .cases
        .into_iter()
        .map(|case| {
            let m = more.remove(&case.name).context("a truth for each diary")?;
            let offset = m.truth.offset;
            let was = sg.remove(&case.name).context("true gravities")?;
            let step = case.meta.hydrometer_resolution.unwrap_or(0.001);
            let usual = case.meta.temp_c_nominal.unwrap_or(20.0);
            Ok(Known {
                scenario: m.scenario,
                style: case.meta.style,
                plan: case.meta.expected_fg,
                error: m.noise_sd.hypot(step / 12f64.sqrt()),
                og: m.og_true,
                attainable: m.fg_attainable + offset,
                read: case.readings.iter().map(|r| r.sg).collect(),
                was: was.into_iter().map(|g| g + offset).collect(),
                celsius: case
                    .readings
                    .iter()
                    .map(|r| r.temp_c.unwrap_or(usual))
                    .collect(),
                truth: m.truth,
            })
        })
        .collect()
}
