//! What is known of a ferment before its readings.

use super::curve::{Coordinates, Curve};
use super::linear::Normal;
use super::proposal::prior_mean;
use super::quick;
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
    /// Gravity of the must before any yeast, less the reference, where the
    /// reckoning began later.
    pub(crate) must: Option<f64>,
    /// The end, where the plan is right.
    pub(crate) end: Normal,
    /// The end, where the plan is wrong.
    pub(crate) end_wide: Normal,
    /// Probability that the plan is wrong.
    pub(crate) plan_wrong: f64,
    /// From coordinates to curves.
    pub(crate) frame: Frame,
    /// Share of the sugar left at the finish.
    pub(crate) left_at_finish: f64,
    /// Logarithm of the usual time until the lag is over.
    pub(crate) lag: f64,
    /// Logarithm of the usual time to the finish.
    pub(crate) whole: f64,
    /// Log of the density's norm; see [`Prior::seal`].
    pub(crate) per_volume: f64,
    /// Probability that it sticks before its end.
    pub(crate) sticks: f64,
    /// Whether the yeast may not have begun at all.
    pub(crate) may_never_start: bool,
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

/// Share of healthy ferments that end 0.004 or more above their plan: 13 % of
/// the sample ferments.
const PLAN_WRONG: f64 = 0.13;
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

/// From coordinates to curves. The last coordinate is the order freed of what
/// the first says of it: long tails follow quick starts.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Frame {
    /// Middle of the prior.
    pub(crate) middle: Coordinates,
}

/// See [`Frame`]; from the sample ferments.
const TAIL_AFTER_QUICK: f64 = 0.3;

impl Frame {
    /// The curve at these coordinates.
    pub(crate) fn curve(&self, z: &Coordinates) -> Curve {
        let order = z[3] - TAIL_AFTER_QUICK * (z[0] - self.middle[0]);
        Curve::new(&[z[0], z[1], z[2], order])
    }
}

impl Prior {
    /// From the facts; `first` is the first reading where there is one, `must`
    /// the gravity before any yeast.
    pub(crate) fn new(facts: &Facts, first: Option<f64>, must: Option<f64>) -> Self {
        let og = original(facts, first);
        let must = must.unwrap_or(og.mean);
        let (end, known) = expected_end(facts, must);
        let reference = end.min(og.mean - LEAST_FALL);
        let drop = (og.mean - reference).max(0.01);
        let (mut mean, sd) = shape(facts.style);
        if held_by_alcohol(facts, must, reference) {
            mean[3] += ALCOHOL_TAIL;
        }
        Self {
            reference,
            mean,
            sd,
            og: Normal {
                mean: og.mean - reference,
                sd: og.sd,
            },
            must: (must > og.mean + LEAST_FALL).then_some(must - reference),
            end: Normal {
                mean: 0.0,
                sd: known,
            },
            end_wide: Normal {
                mean: 0.001,
                sd: known.hypot(0.006),
            },
            plan_wrong: PLAN_WRONG,
            frame: Frame { middle: mean },
            left_at_finish: left_at_finish(drop),
            lag: 0.0,
            whole: 0.0,
            per_volume: 0.0,
            sticks: facts.stall_prior.get().clamp(0.001, 0.9),
            may_never_start: true,
            patience: match facts.style {
                Style::Beer => 3.0,
                Style::Mead | Style::Cider => 4.0,
            },
        }
    }
}

/// Share of the sugar left when it is within [`AT_END`] of its end.
fn left_at_finish(drop: f64) -> f64 {
    (AT_END / drop.max(0.01)).clamp(0.002, 0.2)
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

/// Alcohol by volume is about so many times the fall of gravity (common practice).
const POINTS_TO_ABV: f64 = 131.25;

/// A ferment is meant to fall by so much at least.
const LEAST_FALL: f64 = 0.004;

/// Where a must of this gravity should end, and how well that is known.
fn expected_end(facts: &Facts, og: f64) -> (f64, f64) {
    if let Some(plan) = facts.expected_fg {
        return (plan.get(), 0.0035);
    }
    let points = og - 1.0;
    let usual = match facts.style {
        // Practice: dry mead and cider end at 0.994 to 1.000, beer at 75 % attenuation.
        Style::Mead => 0.996 - 0.04 * points,
        Style::Cider => 0.9985,
        Style::Beer => 1.0 + 0.25 * points,
    };
    let limit = facts
        .yeast
        .tolerance
        .map_or(0.0, |t| og - t.get() / POINTS_TO_ABV);
    let sd = match facts.style {
        Style::Beer => 0.005,
        Style::Mead | Style::Cider => 0.004,
    };
    if limit > usual + 0.004 {
        (limit, 0.005)
    } else {
        (usual, sd)
    }
}

/// Mean and spread of the curve's coordinates. Times from practice (beer one to
/// two weeks, cider two to four, mead three weeks and more), wide because musts
/// of grapes run two to three times faster, and beer in a published model three
/// times faster to an abrupt end; shapes from the sample ferments, the start
/// wider: practice has the lag over within 6 to 36 hours.
fn shape(style: Style) -> ([f64; 4], [f64; 4]) {
    match style {
        Style::Beer => ([0.92, -0.61, 0.95, -0.28], [0.33, 0.52, 0.6, 0.6]),
        Style::Cider => ([1.59, -0.69, 1.4, -0.17], [0.33, 0.52, 0.55, 0.3]),
        Style::Mead => ([1.86, -0.75, 1.4, -0.1], [0.33, 0.56, 0.55, 0.3]),
    }
}

/// Mean and spread of the logarithm of the order of a ferment that runs down:
/// uptake held back in proportion to what is left of the yeast's power, order one.
pub(crate) const RUN_DOWN_ORDER: (f64, f64) = (-0.05, 0.22);
/// Share of ferments whose pace is far from the style's, and how far.
pub(crate) const ODD_PACE: (f64, f64) = (0.2, 3.5);
/// The same for its shape: without it a must that starts at once and then goes
/// evenly on looks stopped.
const ODD_SHAPE: (f64, f64) = (0.15, 1.8);
/// Spread of the logarithm of the time until a twentieth of the sugar is gone,
/// beside what the coordinates say of it: if it is shorter than usual, and longer.
/// Practice has first signs within 6 to 36 hours; days are unusual.
const LAG_SPREAD: (f64, f64) = (3.0, 1.0);
/// The same for the whole length.
const WHOLE_SPREAD: f64 = 0.55;

/// An odd pace makes a length up to so many spreads short of the usual, a third of
/// it, and any shorter one alike: musts of grapes run two to three times faster.
const SHORT: f64 = 1.8;

/// How much higher the logarithm of the order is of one that is planned to end
/// where its yeast's alcohol tolerance does: held back ever more as it nears it.
/// From the sample ferments.
const ALCOHOL_TAIL: f64 = 0.2;
/// Such a plan ends above this gravity, at this part of the tolerance or more.
const BOUND: (f64, f64) = (1.008, 0.93);

/// Whether the plan ends where the yeast's tolerance does, with sugar left.
fn held_by_alcohol(facts: &Facts, og: f64, end: f64) -> bool {
    let planned = (og - end) * POINTS_TO_ABV;
    end > BOUND.0
        && facts
            .yeast
            .tolerance
            .is_some_and(|t| planned > BOUND.1 * t.get())
}

impl Prior {
    /// Log density at `z`, without the factor of (2π)^-2.
    pub(crate) fn density(&self, z: &Coordinates, curve: &Curve) -> f64 {
        let u = |i: usize| (z[i] - self.mean[i]) / self.sd[i];
        let q = u(0) * u(0);
        let (share, wide) = (ODD_PACE.0, ODD_PACE.1);
        let length = self.length_factors(curve);
        let near = (1.0 - share) * quick::exp(-0.5 * q + length[0]);
        let far = share / wide * quick::exp(-0.5 * q / (wide * wide) + length[1]);
        let q: f64 = (1..4).map(|i| u(i) * u(i)).sum();
        let (share, wide) = (ODD_SHAPE.0, ODD_SHAPE.1);
        let usual = (1.0 - share) * quick::exp(-0.5 * q);
        let odd = share / wide.powi(3) * quick::exp(-0.5 * q / (wide * wide));
        quick::ln(near + far) + quick::ln(usual + odd) - self.per_volume
    }

    /// Log of how much likelier the shape is for one that runs down.
    pub(crate) fn run_down_shape(&self, z: &Coordinates) -> f64 {
        let (mean, sd) = RUN_DOWN_ORDER;
        let here = -0.5 * ((z[3] - mean) / sd).powi(2) - quick::ln(sd);
        let usual = -0.5 * ((z[3] - self.mean[3]) / self.sd[3]).powi(2) - quick::ln(self.sd[3]);
        here - usual
    }

    /// For a fall of so much to the end.
    pub(crate) fn left_at(&mut self, drop: f64) {
        self.left_at_finish = left_at_finish(drop);
    }

    /// Makes the density integrate to one; to be called after the last change.
    pub(crate) fn seal(&mut self) {
        let middle = self.frame.curve(&self.mean);
        self.lag = middle.when_left(1.0 - LAG_OVER).max(1e-3).ln();
        self.whole = middle.when_left(self.left_at_finish).max(1e-3).ln();
        let sds: f64 = self.sd.iter().map(|s| s.ln()).sum();
        let kept = prior_mean(self, |z| self.length_factors(&self.frame.curve(z))[0].exp());
        self.per_volume = sds + kept.max(1e-3).ln();
    }

    /// Log of how usual the curve's lag and its whole length are, beside what
    /// the coordinates say: for a usual pace, and for an odd one.
    fn length_factors(&self, curve: &Curve) -> [f64; 2] {
        let lag = quick::ln(curve.when_left(1.0 - LAG_OVER).max(1e-3)) - self.lag;
        let whole = quick::ln(curve.when_left(self.left_at_finish).max(1e-3)) - self.whole;
        let spread = if lag < 0.0 {
            LAG_SPREAD.0
        } else {
            LAG_SPREAD.1
        };
        let (a, b) = (lag / spread, whole / WHOLE_SPREAD);
        let odd = b.max(-SHORT);
        // Heavy tails: what is far from the usual is only so much less likely.
        let lag = quick::ln(1.0 + 0.25 * a * a);
        [b, odd].map(|b| -2.5 * (lag + quick::ln(1.0 + 0.25 * b * b)))
    }
}
