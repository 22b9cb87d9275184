//! What is known of a ferment before its readings.

use super::curve::{Coordinates, Curve};
use super::linear::Normal;
use super::tune::tune;
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
    /// From coordinates to curves.
    pub(crate) frame: Frame,
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

/// From coordinates to curves. The first coordinate is the time to the finish,
/// freed of what the others say of it: a long tail makes it longer, and then
/// the rise is a smaller part of it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Frame {
    /// Middle of the prior.
    pub(crate) middle: Coordinates,
    /// Share of the sugar left at the finish.
    pub(crate) left: f64,
}

impl Frame {
    /// The curve at these coordinates.
    pub(crate) fn curve(&self, z: &Coordinates) -> Curve {
        let rise = z[1] - self.middle[1];
        let order = z[3] - self.middle[3];
        let time = z[0] - tune(34, 0.22) * rise + tune(35, 0.34) * order;
        Curve::new(&[time, z[1], z[2], z[3]], self.left)
    }
}

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
            plan_wrong: tune(18, 0.2),
            frame: Frame {
                middle: mean,
                left: (AT_END / drop).clamp(0.002, 0.2),
            },
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
        return (plan.get().min(og - 0.004), tune(16, 0.003));
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
        Style::Beer => (
            [tune(0, 1.8), -1.2, 1.0, tune(27, -0.25)],
            [tune(1, 0.33), tune(37, 0.75), 0.65, tune(2, 0.3)],
        ),
        Style::Cider => (
            [tune(3, 2.65), -1.4, 1.4, tune(26, -0.15)],
            [tune(4, 0.33), tune(36, 0.75), 0.5, tune(5, 0.27)],
        ),
        Style::Mead => (
            [tune(6, 3.05), tune(28, -1.6), 1.4, tune(7, -0.1)],
            [tune(8, 0.33), tune(29, 0.9), tune(30, 0.55), tune(9, 0.25)],
        ),
    }
}
