//! Given a curve, gravity is linear in the original gravity `O` and the end
//! `F`: `g = O·y + F·(1-y)`. Both integrate out exactly.

use super::{normal, quick};

/// Degrees of freedom of the reading error's t distribution: one wild reading
/// costs little and pulls little.
const DOF: f64 = 4.0;
/// `ln Γ((ν+1)/2) - ln Γ(ν/2) - ½ ln(νπ)` for `ν = 4`: `ln(3/8)`.
const T_CONSTANT: f64 = -0.980_829_253_011_726_2;
/// A floor for what readings tell of the end, so that no sum is singular.
const LEAST_PRECISION: f64 = 25.0;

/// Readings beside a curve, in the working scale (gravity less a reference).
pub(crate) struct Readings<'a> {
    /// Gravity less the reference.
    pub(crate) gravity: &'a [f64],
    /// One over the standard error.
    pub(crate) per_sd: &'a [f64],
    /// Sum of the logarithms of what scales each reading's density.
    log_scale: f64,
}

impl<'a> Readings<'a> {
    /// Gravities with one over their standard errors.
    pub(crate) fn new(gravity: &'a [f64], per_sd: &'a [f64]) -> Self {
        let log_scale = per_sd.iter().map(|p| T_CONSTANT + quick::ln(*p)).sum();
        Self {
            gravity,
            per_sd,
            log_scale,
        }
    }
}

/// A normal prior.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Normal {
    /// Mean.
    pub(crate) mean: f64,
    /// Standard deviation.
    pub(crate) sd: f64,
}

/// What readings say of the end, given a curve: the log likelihood of `F` is
/// `level - ½·precision·F² + pull·F`.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct EndLikelihood {
    /// Constant.
    pub(crate) level: f64,
    /// Of `-½F²`.
    pub(crate) precision: f64,
    /// Of `F`.
    pub(crate) pull: f64,
    /// `O = og_at - og_slope·F` on the mean, with variance `og_var`.
    pub(crate) og_at: f64,
    /// See `og_at`.
    pub(crate) og_slope: f64,
    /// See `og_at`.
    pub(crate) og_var: f64,
}

/// What a prior on the end makes of it: log evidence and the end's distribution.
#[derive(Debug, Clone, Copy)]
pub(crate) struct EndPosterior {
    /// Log of the integral.
    pub(crate) evidence: f64,
    /// Mean of `F`.
    pub(crate) mean: f64,
    /// Standard deviation of `F`.
    pub(crate) sd: f64,
}

#[derive(Clone, Copy, Default)]
struct Sums {
    oo: f64,
    of: f64,
    ff: f64,
    og: f64,
    fg: f64,
    gg: f64,
}

/// Weight of a reading `r` standard errors off, in the t distribution's reweighting.
pub(crate) fn weight(r: f64) -> f64 {
    (DOF + 1.0) / (DOF + r * r)
}

/// Integrates `O` out and leaves `F`, by two reweightings about a start. A fit
/// that is hopeless beside `enough` after the first is left at that.
pub(crate) fn end_likelihood(
    readings: &Readings<'_>,
    left: &[f64],
    og: Normal,
    start: (f64, f64),
    enough: f64,
) -> EndLikelihood {
    let mut found = eliminate(&weighted_sums(readings, left, start), og);
    let mut at = found.at();
    if enough.is_finite() {
        let level = found.level + correction(readings, left, at);
        if level + 0.5 * found.pull * found.pull / found.precision < enough - HOPELESS {
            found.level = level;
            return found;
        }
    }
    found = eliminate(&weighted_sums(readings, left, at), og);
    at = found.at();
    found.level += correction(readings, left, at);
    found
}

/// A log likelihood so far below the best counts for nothing.
const HOPELESS: f64 = 20.0;

fn weighted_sums(readings: &Readings<'_>, left: &[f64], (o, f): (f64, f64)) -> Sums {
    let mut s = Sums::default();
    for ((&y, &g), &p) in left.iter().zip(readings.gravity).zip(readings.per_sd) {
        let r = (g - f - (o - f) * y) * p;
        let w = weight(r) * p * p;
        let rest = 1.0 - y;
        s.oo += w * y * y;
        s.of += w * y * rest;
        s.ff += w * rest * rest;
        s.og += w * y * g;
        s.fg += w * rest * g;
        s.gg += w * g * g;
    }
    s
}

fn eliminate(s: &Sums, og: Normal) -> EndLikelihood {
    let known = 1.0 / (og.sd * og.sd);
    let oo = s.oo + known;
    let v = s.og + known * og.mean;
    EndLikelihood {
        level: -0.5 * (s.gg + known * og.mean * og.mean - v * v / oo) - 0.5 * (oo / known).ln(),
        precision: s.ff - s.of * s.of / oo + LEAST_PRECISION,
        pull: s.fg - s.of * v / oo,
        og_at: v / oo,
        og_slope: s.of / oo,
        og_var: 1.0 / oo,
    }
}

/// What the quadratic form misses: the log t density at the fitted values, in
/// place of the weighted squares there.
fn correction(readings: &Readings<'_>, left: &[f64], (o, f): (f64, f64)) -> f64 {
    let mut sum = 0.0;
    let mut product = LogProduct::default();
    for ((&y, &g), &p) in left.iter().zip(readings.gravity).zip(readings.per_sd) {
        let r = (g - f - (o - f) * y) * p;
        let q = r * r;
        sum += q / (DOF + q);
        product.times(1.0 + q / DOF);
    }
    (DOF + 1.0) * 0.5 * (sum - product.ln()) + readings.log_scale
}

/// Logarithm of a product of numbers from 1 on, with few logarithms taken.
struct LogProduct {
    product: f64,
    sum: f64,
}

impl Default for LogProduct {
    fn default() -> Self {
        Self {
            product: 1.0,
            sum: 0.0,
        }
    }
}

impl LogProduct {
    fn times(&mut self, factor: f64) {
        self.product *= factor.min(1e100);
        if self.product > 1e150 {
            self.sum += quick::ln(self.product);
            self.product = 1.0;
        }
    }

    fn ln(&self) -> f64 {
        self.sum + quick::ln(self.product)
    }
}

impl EndLikelihood {
    /// Original gravity and end where the likelihood is highest.
    fn at(&self) -> (f64, f64) {
        let f = self.pull / self.precision;
        (self.og_at - self.og_slope * f, f)
    }

    /// Log likelihood there.
    pub(crate) fn height(&self) -> f64 {
        self.level + 0.5 * self.pull * self.pull / self.precision
    }

    /// With a normal prior on the end.
    pub(crate) fn with_normal(&self, prior: Normal) -> EndPosterior {
        let known = 1.0 / (prior.sd * prior.sd);
        let precision = self.precision + known;
        let pull = self.pull + known * prior.mean;
        let evidence = self.level - 0.5 * (precision / known).ln()
            + 0.5 * (pull * pull / precision - known * prior.mean * prior.mean);
        EndPosterior {
            evidence,
            mean: pull / precision,
            sd: precision.sqrt().recip(),
        }
    }

    /// With an even prior on the end between two values.
    pub(crate) fn with_even(&self, low: f64, high: f64) -> Option<EndPosterior> {
        if high - low < 1e-4 {
            return None;
        }
        let mean = self.pull / self.precision;
        let sd = self.precision.sqrt().recip();
        let (a, b) = ((low - mean) / sd, (high - mean) / sd);
        // Work in the tail on the side where it is accurate.
        let mass = if a > 0.0 {
            normal::below(-a) - normal::below(-b)
        } else {
            normal::below(b) - normal::below(a)
        };
        if mass <= 1e-200 {
            return None;
        }
        let evidence = self.level
            + 0.5 * self.pull * self.pull / self.precision
            + (mass * sd * (std::f64::consts::TAU).sqrt() / (high - low)).ln();
        let (da, db) = (density(a), density(b));
        let shift = (da - db) / mass;
        let spread = 1.0 + (a.max(-40.0) * da - b.min(40.0) * db) / mass - shift * shift;
        Some(EndPosterior {
            evidence,
            mean: (mean + sd * shift).clamp(low, high),
            sd: sd * spread.max(1e-4).sqrt(),
        })
    }
}

fn density(x: f64) -> f64 {
    if x.abs() > 38.0 {
        0.0
    } else {
        (-0.5 * x * x).exp() * 0.398_942_280_401_432_7
    }
}

/// A level at which several readings lie, without any slope.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Level {
    /// Log likelihood at the best level, its uncertainty left out.
    pub(crate) height: f64,
    /// The best level.
    pub(crate) mean: f64,
    /// Its standard error.
    pub(crate) sd: f64,
}

/// The level of some readings, by reweighting from their median.
pub(crate) fn level(readings: &Readings<'_>) -> Option<Level> {
    let mut sorted = readings.gravity.to_vec();
    sorted.sort_by(f64::total_cmp);
    let mut mean = *sorted.get(sorted.len() / 2)?;
    let mut sum = 1.0;
    for _ in 0..3 {
        let (mut s, mut sg) = (0.0, 0.0);
        for (&g, &p) in readings.gravity.iter().zip(readings.per_sd) {
            let w = weight((g - mean) * p) * p * p;
            s += w;
            sg += w * g;
        }
        sum = s;
        mean = sg / s;
    }
    let off: f64 = readings
        .gravity
        .iter()
        .zip(readings.per_sd)
        .map(|(&g, &p)| quick::ln(1.0 + ((g - mean) * p).powi(2) / DOF))
        .sum();
    let height = readings.log_scale - 0.5 * (DOF + 1.0) * off;
    Some(Level {
        height,
        mean,
        sd: 1.0 / f64::sqrt(sum),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn example() -> (Vec<f64>, Vec<f64>, Vec<f64>) {
        let left: Vec<f64> = vec![1.0, 0.9, 0.6, 0.3, 0.1];
        let g = left.iter().map(|y| 0.1 * y - 0.002 * (1.0 - y)).collect();
        let per_sd = vec![1000.0; 5];
        (left, g, per_sd)
    }

    #[test]
    fn one_wild_reading_moves_the_end_little() {
        let (left, mut g, per_sd) = example();
        let og = Normal {
            mean: 0.1,
            sd: 0.01,
        };
        let clean = end_likelihood(
            &Readings::new(&g, &per_sd),
            &left,
            og,
            (0.1, 0.0),
            f64::NEG_INFINITY,
        );
        g[3] += 0.02;
        let wild = end_likelihood(
            &Readings::new(&g, &per_sd),
            &left,
            og,
            (0.1, 0.0),
            f64::NEG_INFINITY,
        );
        assert!((clean.pull / clean.precision - wild.pull / wild.precision).abs() < 0.001);
    }

    #[test]
    fn an_even_prior_is_the_sum_of_narrow_ones() {
        let (left, g, per_sd) = example();
        let og = Normal {
            mean: 0.1,
            sd: 0.01,
        };
        let l = end_likelihood(
            &Readings::new(&g, &per_sd),
            &left,
            og,
            (0.1, 0.0),
            f64::NEG_INFINITY,
        );
        let whole = l.with_even(-0.01, 0.03).unwrap().evidence;
        let parts: f64 = (0..400)
            .map(|i| {
                let f = -0.01 + 0.04 * (f64::from(i) + 0.5) / 400.0;
                (l.level - 0.5 * l.precision * f * f + l.pull * f - whole).exp() / 400.0
            })
            .sum();
        assert!((parts - 1.0).abs() < 1e-3, "{parts}");
    }
}
