//! The shape of a healthy ferment: what share of the sugar is left after so
//! much thermal time.
//!
//! The rate is `dy/dτ = -k · a(τ) · y^p`: `y` is the share left, `a` the share
//! of the yeast at work, a logistic rise around `λ` of width `w` (growth after
//! the lag), `p` the order of the decline. With `p = 1` this is the generalised
//! logistic curve; `p < 1` is uptake at capacity until the sugar is gone,
//! `p > 1` the slow tail of a yeast that alcohol and hunger hold back.
//! Integrated in closed form: `A(τ) = ∫a`, `x = k·A`,
//! `y = (1 - (1-p)x)^(1/(1-p))`, or `exp(-x)` at `p = 1`.
//! The form is our own choice; it was checked against the sample ferments
//! (see tests/engine/STUDY.md).

use super::quick;

/// Coordinates that readings tell apart well and in which the prior is roughly
/// normal: the logarithm of the thermal time at which half the sugar is gone,
/// of the part of it until the yeast is half grown, of that part over the width
/// of the rise, and of the order of the decline.
pub(crate) type Coordinates = [f64; 4];

/// One curve, ready to be evaluated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Curve {
    rate: f64,
    middle: f64,
    width: f64,
    order: f64,
    start: f64,
    /// Thermal time at which it begins.
    from: f64,
}

/// Part of the width of the rise within which the peak is found.
const NEAR_PEAK: f64 = 1e-3;
/// Distance from order 1 within which the exponential form is used.
const NEAR_ONE: f64 = 0.02;

fn softplus(u: f64) -> f64 {
    u.max(0.0) + quick::ln(1.0 + quick::exp(-u.abs()))
}

fn inverse_softplus(v: f64) -> f64 {
    if v > 30.0 {
        v
    } else {
        quick::ln(v.exp_m1().max(1e-300))
    }
}

fn logistic(u: f64) -> f64 {
    1.0 / (1.0 + quick::exp(-u))
}

impl Curve {
    /// The curve at these coordinates.
    pub(crate) fn new(z: &Coordinates) -> Self {
        let half = quick::exp(z[0].clamp(-3.0, 7.0));
        let middle = half * quick::exp(z[1].clamp(-6.0, 1.2));
        let steepness = quick::exp(z[2].clamp(-2.0, 5.0));
        let order = quick::exp(z[3].clamp(-2.5, 1.6));
        let width = middle / steepness;
        let start = softplus(-steepness);
        let grown = width * (softplus((half - middle) / width) - start);
        Self {
            rate: work_until(0.5, order) / grown.max(1e-12),
            middle,
            width,
            order,
            start,
            from: 0.0,
        }
    }

    /// The same course, begun so much later.
    pub(crate) fn later(mut self, from: f64) -> Self {
        self.from += from;
        self
    }

    /// Thermal time at which it begins.
    pub(crate) fn from(&self) -> f64 {
        self.from
    }

    /// Yeast-time worked until `tau`.
    fn worked(&self, tau: f64) -> f64 {
        let tau = tau - self.from;
        (self.width * (softplus((tau - self.middle) / self.width) - self.start)).max(0.0)
    }

    /// Share of the sugar left at thermal time `tau`.
    pub(crate) fn left(&self, tau: f64) -> f64 {
        left_after(self.rate * self.worked(tau), self.order)
    }

    /// Shares left at several thermal times.
    pub(crate) fn fill(&self, thermal: &[f64], left: &mut [f64]) {
        let per_width = 1.0 / self.width;
        let rate = self.rate * self.width;
        let from = (self.middle + self.from) * per_width;
        let worked = |tau: f64| rate * (softplus(tau * per_width - from) - self.start).max(0.0);
        let e = 1.0 - self.order;
        if e.abs() < NEAR_ONE {
            for (y, &tau) in left.iter_mut().zip(thermal) {
                *y = near_one(worked(tau), e);
            }
        } else {
            let power = 1.0 / e;
            for (y, &tau) in left.iter_mut().zip(thermal) {
                *y = quick::exp(quick::ln((1.0 - e * worked(tau)).max(1e-300)) * power);
            }
        }
    }

    /// Share left and its fall per unit of thermal time.
    pub(crate) fn left_and_rate(&self, tau: f64) -> (f64, f64) {
        let left = self.left(tau);
        if tau < self.from {
            return (left, 0.0);
        }
        let grown = logistic((tau - self.from - self.middle) / self.width);
        (
            left,
            self.rate * grown * quick::exp(self.order * quick::ln(left.max(1e-300))),
        )
    }

    /// Thermal time at which the share left has come down to `left`.
    pub(crate) fn when_left(&self, left: f64) -> f64 {
        let worked = work_until(left, self.order) / self.rate;
        let tau = self.middle + self.width * inverse_softplus(worked / self.width + self.start);
        tau.max(0.0) + self.from
    }

    /// The highest rate and when it is reached, in thermal time.
    ///
    /// There the yeast's growth just makes up for the decline:
    /// `(1-a)/w = p·k·a·y^(p-1)`, solved for `a` with `y` from the last guess.
    pub(crate) fn peak(&self) -> (f64, f64) {
        let pull = self.order * self.rate * self.width;
        let mut at = self.middle;
        for _ in 0..4 {
            let ln_left = quick::ln(self.left(at + self.from).max(1e-300));
            let q = pull * quick::exp((self.order - 1.0) * ln_left);
            let next = self.middle - self.width * quick::ln(q.clamp(1e-12, 1e12));
            let moved = (next - at).abs();
            at = next;
            if moved < NEAR_PEAK * self.width {
                break;
            }
        }
        let at = at.max(0.0) + self.from;
        (self.left_and_rate(at).1, at)
    }

    /// Thermal time after the peak at which the rate has come down to `rate`.
    pub(crate) fn when_rate(&self, rate: f64, peak_at: f64) -> f64 {
        let mut lo = peak_at;
        let mut hi = peak_at + 1.0;
        for _ in 0..16 {
            if self.left_and_rate(hi).1 < rate {
                break;
            }
            hi = peak_at + (hi - peak_at) * 2.0;
        }
        for _ in 0..14 {
            let mid = 0.5 * (lo + hi);
            if self.left_and_rate(mid).1 > rate {
                lo = mid;
            } else {
                hi = mid;
            }
        }
        hi
    }
}

/// `x` at which the share `left` is left, the inverse of [`left_after`].
fn work_until(left: f64, order: f64) -> f64 {
    let ln_left = quick::ln(left.clamp(1e-9, 1.0));
    let e = 1.0 - order;
    if e.abs() < 1e-9 {
        -ln_left
    } else {
        -(e * ln_left).exp_m1() / e
    }
}

fn left_after(x: f64, order: f64) -> f64 {
    let e = 1.0 - order;
    if e.abs() < NEAR_ONE {
        return near_one(x, e);
    }
    quick::exp(quick::ln((1.0 - e * x).max(1e-300)) / e)
}

/// `ln(1 - ex)/e` by its series, so that it goes over into `-x` without a seam.
fn near_one(x: f64, e: f64) -> f64 {
    let ex = e * x.min(30.0);
    quick::exp(-x * (1.0 + ex * (0.5 + ex * (1.0 / 3.0 + ex * (0.25 + ex * 0.2)))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn order_one_is_the_generalised_logistic_curve() {
        // y = ((1+e^((τ-λ)/w)) / (1+e^(-λ/w)))^(-k w), F. J. Richards, J. Exp. Bot. 10:290 (1959).
        let c = Curve::new(&[2.0, -0.7, 1.2, 0.0]);
        let (k, l, w) = (c.rate, c.middle, c.width);
        for tau in [0.0, 1.0, 3.0, 8.0, 20.0, 40.0] {
            let expected = ((1.0 + ((tau - l) / w).exp()) / (1.0 + (-l / w).exp())).powf(-k * w);
            assert!((c.left(tau) - expected).abs() < 1e-9, "at {tau}");
        }
    }

    #[test]
    fn inverse_and_rate_agree_with_the_curve() {
        for z in [
            [2.0, -0.7, 1.2, -0.3],
            [0.9, -0.5, 0.8, 0.3],
            [2.2, -0.3, 2.0, 0.0],
        ] {
            let c = Curve::new(&z);
            assert!((c.when_left(0.5) - z[0].exp()).abs() < 1e-6);
            let tau = c.when_left(0.4);
            assert!((c.left(tau) - 0.4).abs() < 1e-9);
            let h = 1e-5;
            let slope = (c.left(tau - h) - c.left(tau + h)) / (2.0 * h);
            assert!((c.left_and_rate(tau).1 - slope).abs() < 1e-6);
            let (top, at) = c.peak();
            for other in [at * 0.8, at * 1.25] {
                assert!(c.left_and_rate(other).1 <= top + 1e-12);
            }
            let late = c.when_rate(top * 0.3, at);
            assert!((c.left_and_rate(late).1 / top - 0.3).abs() < 1e-3);
        }
    }
}
