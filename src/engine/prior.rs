//! What is known of a ferment before its readings.

use super::linear::Normal;
use super::{Facts, OriginalGravity, Style};

/// Prior knowledge in the engine's working scale.
#[derive(Debug, Clone)]
pub(crate) struct Prior {
    /// Gravity that is zero in the working scale: the expected end.
    pub(crate) reference: f64,
    /// Means of the curve's coordinates.
    pub(crate) mean: [f64; 4],
    /// Their standard deviations.
    pub(crate) sd: [f64; 4],
    /// Original gravity less the reference.
    pub(crate) og: Normal,
    /// The end, where the plan is right.
    pub(crate) end: Normal,
    /// The end, where the plan is wrong.
    pub(crate) end_wide: Normal,
    /// Probability that the plan is wrong.
    pub(crate) plan_wrong: f64,
    /// Share of the sugar left at the finish.
    pub(crate) left_at_finish: f64,
    /// Probability that it sticks before its end.
    pub(crate) sticks: f64,
    /// Days after which a ferment that shows nothing is stuck.
    pub(crate) patience: f64,
}

/// Of the ferments that stick: stopped short, run down slowly, never started.
/// No source; even-handed between the causes of practice.
pub(crate) const STOPS: f64 = 0.5;
/// See [`STOPS`].
pub(crate) const RUNS_DOWN: f64 = 0.35;
/// See [`STOPS`].
pub(crate) const NEVER_STARTS: f64 = 0.15;

/// Least gravity above a healthy end that counts as sugar left.
pub(crate) const SUGAR_LEFT: f64 = 0.006;
/// Within this of its end a ferment is finished.
pub(crate) const AT_END: f64 = 0.001;
/// A fall below this a day is flat for any practical purpose: 0.002 in three
/// days is what two hydrometer readings can just tell apart.
pub(crate) const FLAT: f64 = 0.0006;
/// Share of the sugar gone at which the lag is over.
pub(crate) const LAG_OVER: f64 = 0.05;
/// Part of the highest rate below which a ferment is slowing.
pub(crate) const SLOWING: f64 = 0.35;

impl Prior {
    /// From the facts; `first` is the first reading where there is one.
    pub(crate) fn new(facts: &Facts, first: Option<f64>) -> Self {
        let og = original(facts, first);
        let (reference, known) = expected_end(facts, og.mean);
        let drop = (og.mean - reference).max(0.01);
        let (mean, sd) = shape(facts.style);
        Self {
            reference,
            mean,
            sd,
            og: Normal {
                mean: og.mean - reference,
                sd: og.sd,
            },
            end: Normal {
                mean: 0.0,
                sd: known,
            },
            end_wide: Normal {
                mean: 0.001,
                sd: known.max(0.003) * 2.2,
            },
            plan_wrong: 0.2,
            left_at_finish: (AT_END / drop).clamp(0.002, 0.2),
            sticks: facts.stall_prior.get().clamp(0.001, 0.9),
            patience: match facts.style {
                Style::Beer => 3.0,
                Style::Mead | Style::Cider => 4.0,
            },
        }
    }
}

/// Original gravity: a measured one is sharp unless it is itself the first reading.
fn original(facts: &Facts, first: Option<f64>) -> Normal {
    match (facts.og, first) {
        (Some(OriginalGravity::Measured(g)), None) => Normal {
            mean: g.get(),
            sd: 0.0015,
        },
        (Some(OriginalGravity::Measured(g)), Some(_)) => Normal {
            mean: g.get(),
            sd: 0.004,
        },
        (Some(OriginalGravity::Planned(g)), _) => Normal {
            mean: g.get(),
            sd: 0.006,
        },
        (None, Some(g)) => Normal { mean: g, sd: 0.02 },
        (None, None) => {
            let mean = match facts.style {
                Style::Mead => 1.095,
                Style::Cider | Style::Beer => 1.052,
            };
            Normal { mean, sd: 0.02 }
        }
    }
}

/// Where it should end, and how well that is known.
fn expected_end(facts: &Facts, og: f64) -> (f64, f64) {
    if let Some(plan) = facts.expected_fg {
        return (plan.get().min(og - 0.004), 0.003);
    }
    let points = og - 1.0;
    let usual = match facts.style {
        // Practice: dry mead and cider end at 0.994 to 1.000, beer at 75 % attenuation.
        Style::Mead => 0.996 - 0.04 * points,
        Style::Cider => 0.9985,
        Style::Beer => 1.0 + 0.25 * points,
    };
    // Alcohol by volume is about 131.25 times the fall (common practice).
    let limit = facts.yeast.tolerance.map_or(0.0, |t| og - t.get() / 131.25);
    let sd = match facts.style {
        Style::Beer => 0.005,
        Style::Mead | Style::Cider => 0.004,
    };
    if limit > usual + 0.004 {
        (limit, 0.008)
    } else {
        (usual.min(og - 0.004), sd)
    }
}

/// Mean and spread of the curve's coordinates. Times from practice (beer one to
/// two weeks, cider two to four, mead three weeks and more), wide because musts
/// of grapes run two to three times faster; shapes from the sample ferments.
fn shape(style: Style) -> ([f64; 4], [f64; 4]) {
    match style {
        Style::Beer => ([1.8, -1.2, 1.0, -0.28], [0.45, 0.6, 0.6, 0.3]),
        Style::Cider => ([2.65, -1.4, 1.4, -0.18], [0.5, 0.6, 0.5, 0.26]),
        Style::Mead => ([3.0, -1.45, 1.4, -0.12], [0.55, 0.7, 0.55, 0.24]),
    }
}
