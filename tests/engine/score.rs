//! Scores what was said of diaries against their truth.
//!
//! The measures are those of the scorer that came with the diaries, in the
//! same words; STUDY.md has the whole table.

use crate::diaries::{Case, Diaries, state, word};
use serde::Deserialize;
use skep::domain::units::{Gravity, Moment, Share};
use skep::engine::{Assessment, FermentState, Spread};
use std::collections::HashMap;

#[derive(Deserialize)]
struct Truths {
    cases: Vec<Truth>,
}

/// What a diary's ferment really did.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Truth {
    /// Its diary's name.
    pub(crate) case_id: String,
    /// Gravity in the end.
    pub(crate) final_sg: f64,
    /// What the hydrometer shows too much throughout.
    pub(crate) offset: f64,
    /// Day on which it stalled.
    pub(crate) stall_days: Option<f64>,
    /// Day on which it was at its end.
    pub(crate) finish_days: Option<f64>,
    /// What was true at each reading.
    pub(crate) readings: Vec<Then>,
}

/// What was true at one reading.
#[derive(Debug, Clone, Deserialize)]
pub(crate) struct Then {
    /// Days since the pitch.
    pub(crate) t_days: f64,
    /// State, in the format's word.
    pub(crate) state: String,
}

/// What somebody says at one reading.
#[derive(Debug, Clone)]
pub(crate) struct Said {
    /// In one word.
    pub(crate) state: FermentState,
    /// Probability of stuck.
    pub(crate) stuck: f64,
    /// Tenth, half and nine tenths of the finish, in days.
    pub(crate) finish: Option<[f64; 3]>,
    /// The same of the gravity in the end.
    pub(crate) end: Option<[f64; 3]>,
}

impl Said {
    /// What the engine says.
    fn by_engine(a: &Assessment, started: Moment) -> Self {
        let days = |s: Spread<Moment>| [s.p10, s.p50, s.p90].map(|at| at.days_since(started));
        let gravities = |s: Spread<Gravity>| [s.p10, s.p50, s.p90].map(Gravity::get);
        Self {
            state: state(a),
            stuck: a.stuck.probability.get(),
            finish: a.finish.map(days),
            end: a.final_gravity.map(gravities),
        }
    }
}

/// A diary's truth beside what was said of it.
#[derive(Clone)]
pub(crate) struct Told {
    /// The truth.
    pub(crate) truth: Truth,
    /// What was said, at each reading.
    pub(crate) said: Vec<Said>,
}

/// The measures.
#[derive(Debug, Default)]
pub(crate) struct Score {
    /// Diaries of ferments that stall and are read a day or more after.
    pub(crate) stalls: usize,
    /// Of those, the share found in the end.
    pub(crate) found: f64,
    /// And within three days.
    pub(crate) found_in_3_days: f64,
    /// And within seven days.
    pub(crate) found_in_7_days: f64,
    /// Median days from the stall until it is said; a miss counts as never.
    pub(crate) delay: f64,
    /// Median days from the stall to the first reading after it: no delay is less.
    pub(crate) first_reading: f64,
    /// Diaries of healthy ferments.
    pub(crate) healthy: usize,
    /// Of those, the share ever called stuck.
    pub(crate) false_alarms: f64,
    /// Times that stuck was begun to be said of healthy ones, per 100 days.
    pub(crate) false_alarms_per_100_days: f64,
    /// Mean square error of the probability of stuck.
    pub(crate) brier: f64,
    /// Area under the curve of the same.
    pub(crate) area: f64,
    /// Mean over the states of the share of their readings called so.
    pub(crate) recall: f64,
    /// Median relative error of the finish at a third of the way.
    pub(crate) finish_at_third: f64,
    /// The same at two thirds.
    pub(crate) finish_at_two_thirds: f64,
    /// Share of finishes within the 80 % band.
    pub(crate) finish_covered: f64,
    /// Median width of that band over the whole length.
    pub(crate) finish_width: f64,
    /// Share of final gravities within their 80 % band.
    pub(crate) end_covered: f64,
    /// Mean pinball loss of the final gravity's three values.
    pub(crate) end_pinball: f64,
}

impl Told {
    fn flagged(&self, i: usize) -> bool {
        self.said[i].state == FermentState::Stuck
    }
}

/// What the engine says of the diaries of `cases`, beside their `truths`, both
/// as JSON.
pub(crate) fn told_by_engine(cases: &str, truths: &str, stall_prior: f64) -> Vec<Told> {
    let cases: Diaries = serde_json::from_str(cases).expect("diaries");
    let truths: Truths = serde_json::from_str(truths).expect("truths");
    let mut truth_of: HashMap<String, Truth> = truths
        .cases
        .into_iter()
        .map(|t| (t.case_id.clone(), t))
        .collect();
    let prior = Share::new(stall_prior).expect("a share");
    let told = |c: &Case| {
        let started = c.started().expect("a first reading");
        let said = c.said(prior).expect("a readable diary");
        Told {
            truth: truth_of.remove(&c.name).expect("a truth for each diary"),
            said: said.iter().map(|a| Said::by_engine(a, started)).collect(),
        }
    };
    cases.cases.iter().map(told).collect()
}

/// Scores what was said.
pub(crate) fn score(diaries: &[Told]) -> Score {
    let mut score = Score::default();
    stalls(diaries, &mut score);
    states(diaries, &mut score);
    finishes(diaries, &mut score);
    score
}

fn stalls(diaries: &[Told], score: &mut Score) {
    let (mut delays, mut firsts) = (Vec::new(), Vec::new());
    let (mut begun, mut days) = (0.0, 0.0);
    for d in diaries {
        let readings = &d.truth.readings;
        let Some(stall) = d.truth.stall_days else {
            score.healthy += 1;
            let ever = (0..readings.len()).any(|i| d.flagged(i));
            score.false_alarms += f64::from(u8::from(ever));
            let begins = |i: &usize| d.flagged(*i) && (*i == 0 || !d.flagged(i - 1));
            begun += (0..readings.len()).filter(begins).count() as f64;
            days += readings.last().map_or(0.0, |r| r.t_days);
            continue;
        };
        let after: Vec<usize> = (0..readings.len())
            .filter(|i| readings[*i].t_days >= stall)
            .collect();
        if after
            .last()
            .is_none_or(|i| readings[*i].t_days < stall + 1.0)
        {
            continue;
        }
        firsts.push(readings[after[0]].t_days - stall);
        let Some(hit) = after.iter().copied().find(|i| d.flagged(*i)) else {
            delays.push(f64::INFINITY);
            continue;
        };
        let already = hit == after[0] && hit > 0 && d.flagged(hit - 1);
        delays.push(if already {
            0.0
        } else {
            readings[hit].t_days - stall
        });
    }
    score.stalls = delays.len();
    score.found = share(&delays, |d| d.is_finite());
    score.found_in_3_days = share(&delays, |d| *d <= 3.0);
    score.found_in_7_days = share(&delays, |d| *d <= 7.0);
    score.delay = median(delays);
    score.first_reading = median(firsts);
    score.false_alarms_per_100_days = 100.0 * begun / days;
    score.false_alarms /= score.healthy as f64;
}

fn states(diaries: &[Told], score: &mut Score) {
    let mut right: HashMap<&str, (f64, f64)> = HashMap::new();
    let mut pairs = Vec::new();
    for d in diaries {
        for (i, r) in d.truth.readings.iter().enumerate().skip(2) {
            let said = word(d.said[i].state);
            let entry = right.entry(r.state.as_str()).or_default();
            entry.0 += f64::from(u8::from(said == r.state));
            entry.1 += 1.0;
            let p = d.said[i].stuck.clamp(1e-3, 1.0 - 1e-3);
            pairs.push((p, r.state == "stalled"));
        }
    }
    score.recall = mean(right.values().map(|(r, n)| r / n));
    score.brier = mean(
        pairs
            .iter()
            .map(|(p, y)| (p - f64::from(u8::from(*y))).powi(2)),
    );
    score.area = area(&pairs);
}

/// Share of pairs of one stuck and one not in which the stuck has the higher
/// probability; equal ones count for half.
fn area(pairs: &[(f64, bool)]) -> f64 {
    let of = |wanted| pairs.iter().filter(move |p| p.1 == wanted).map(|p| p.0);
    mean(of(true).flat_map(|a| {
        of(false).map(move |b| {
            if a > b {
                1.0
            } else if a < b {
                0.0
            } else {
                0.5
            }
        })
    }))
}

fn finishes(diaries: &[Told], score: &mut Score) {
    let (mut inside, mut widths) = (Vec::new(), Vec::new());
    let (mut ends, mut pinballs) = (Vec::new(), Vec::new());
    let (mut third, mut two_thirds) = (Vec::new(), Vec::new());
    for d in diaries.iter().filter(|d| d.truth.stall_days.is_none()) {
        let finish = d.truth.finish_days.expect("a healthy ferment finishes");
        let end = d.truth.final_sg + d.truth.offset;
        third.extend(error_near(d, finish, 1.0 / 3.0, (0.2, 0.5)));
        two_thirds.extend(error_near(d, finish, 2.0 / 3.0, (0.5, 0.85)));
        for (i, r) in d.truth.readings.iter().enumerate().skip(2) {
            if r.t_days >= finish {
                break;
            }
            inside.push(d.said[i].finish.is_some_and(|f| {
                widths.push((f[2] - f[0]) / finish);
                f[0] <= finish && finish <= f[2]
            }));
            if let Some(q) = d.said[i].end {
                ends.push(q[0] - 1e-9 <= end && end <= q[2] + 1e-9);
                pinballs.push(pinball(q, end));
            }
        }
    }
    score.finish_covered = share(&inside, |b| *b);
    score.finish_width = median(widths);
    score.end_covered = share(&ends, |b| *b);
    score.end_pinball = mean(pinballs.into_iter());
    score.finish_at_third = median(third);
    score.finish_at_two_thirds = median(two_thirds);
}

/// Relative error of the finish at the reading nearest to a part of the way.
fn error_near(d: &Told, finish: f64, part: f64, (low, high): (f64, f64)) -> Option<f64> {
    let off = |t: f64| (t - part * finish).abs();
    let (i, _) = d
        .truth
        .readings
        .iter()
        .enumerate()
        .skip(1)
        .filter(|(_, r)| (low * finish..=high * finish).contains(&r.t_days))
        .min_by(|a, b| off(a.1.t_days).total_cmp(&off(b.1.t_days)))?;
    Some(
        d.said[i]
            .finish
            .map_or(f64::INFINITY, |f| (f[1] - finish).abs() / finish),
    )
}

fn pinball(q: [f64; 3], y: f64) -> f64 {
    mean(
        [0.1, 0.5, 0.9]
            .into_iter()
            .zip(q)
            .map(|(a, v)| (a * (y - v)).max((a - 1.0) * (y - v))),
    )
}

fn share<T>(of: &[T], wanted: impl Fn(&T) -> bool) -> f64 {
    of.iter().filter(|x| wanted(x)).count() as f64 / of.len() as f64
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0.0), |(s, n), v| (s + v, n + 1.0));
    sum / count
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let n = values.len();
    if n == 0 {
        return f64::NAN;
    }
    0.5 * (values[(n - 1) / 2] + values[n / 2])
}
