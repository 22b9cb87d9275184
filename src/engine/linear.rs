//! Given a curve, gravity is linear in the original gravity `O` and the end
//! `F`: `g = O·y + F·(1-y)`. Both integrate out exactly.

use super::{normal, quick};
use std::ops::{Add, Div, Mul, Sub};

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
    /// The first readings alone.
    pub(crate) fn until(&self, end: usize) -> Self {
        Self::new(&self.gravity[..end], &self.per_sd[..end])
    }

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

/// Sums of products of readings, weighted about a fit.
#[derive(Clone, Copy, Default)]
pub(crate) struct Sums {
    oo: f64,
    of: f64,
    ff: f64,
    og: f64,
    fg: f64,
    gg: f64,
}

impl Sums {
    /// Of all readings about an original gravity and an end.
    pub(crate) fn of(readings: &Readings<'_>, left: &[f64], at: (f64, f64)) -> Self {
        weighted_sums::<false>(readings, left, at).0
    }

    /// One reading more.
    pub(crate) fn add(&mut self, y: f64, g: f64, p: f64, (o, f): (f64, f64)) {
        let r = (g - f - (o - f) * y) * p;
        let w = weight(r * r) * p * p;
        let rest = 1.0 - y;
        self.oo += w * y * y;
        self.of += w * y * rest;
        self.ff += w * rest * rest;
        self.og += w * y * g;
        self.fg += w * rest * g;
        self.gg += w * g * g;
    }
}

/// Weight in the t distribution's reweighting of a reading whose distance in
/// standard errors has this square.
pub(crate) fn weight(square: f64) -> f64 {
    (DOF + 1.0) / (DOF + square)
}

/// Integrates `O` out and leaves `F`, by two reweightings, the first of them
/// given. A fit that is hopeless beside `enough` after it is left at that.
pub(crate) fn end_likelihood(
    readings: &Readings<'_>,
    left: &[f64],
    og: Normal,
    first: &Sums,
    enough: f64,
) -> EndLikelihood {
    let mut found = begun(first, og);
    let (sums, off) = weighted_sums::<true>(readings, left, found.at());
    let height = found.height() + off.correction(readings);
    if height < enough - HOPELESS {
        found.level += height - found.height();
        return found;
    }
    found = begun(&sums, og);
    found.level += correction(readings, left, found.at());
    found
}

/// Square root of 2π.
pub(crate) const ROOT_TAU: f64 = 2.506_628_274_631_000_2;

/// A log likelihood so far below the best counts for nothing.
pub(crate) const HOPELESS: f64 = 20.0;

/// Two numbers that the processor handles at once.
#[derive(Clone, Copy, Default)]
struct Two([f64; 2]);

impl Two {
    #[inline]
    fn each(value: f64) -> Self {
        Self([value; 2])
    }

    #[inline]
    fn with(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        Self([f(self.0[0], other.0[0]), f(self.0[1], other.0[1])])
    }

    fn sum(self) -> f64 {
        self.0[0] + self.0[1]
    }
}

impl Add for Two {
    type Output = Self;
    #[inline]
    fn add(self, other: Self) -> Self {
        self.with(other, |a, b| a + b)
    }
}

impl Sub for Two {
    type Output = Self;
    #[inline]
    fn sub(self, other: Self) -> Self {
        self.with(other, |a, b| a - b)
    }
}

impl Mul for Two {
    type Output = Self;
    #[inline]
    fn mul(self, other: Self) -> Self {
        self.with(other, |a, b| a * b)
    }
}

impl Div for Two {
    type Output = Self;
    #[inline]
    fn div(self, other: Self) -> Self {
        self.with(other, |a, b| a / b)
    }
}

/// Two readings beside the curve: share left, gravity, one over its error.
type Beside = (Two, Two, Two);

/// The readings two by two; a last odd one is beside one without weight.
#[inline]
fn by_two<'a>(
    readings: &'a Readings<'_>,
    left: &'a [f64],
) -> impl Iterator<Item = Beside> + use<'a> {
    let n = left.len();
    let (left, last_left) = left.as_chunks::<2>();
    let (gravity, last_gravity) = readings
        .gravity
        .get(..n)
        .unwrap_or_default()
        .as_chunks::<2>();
    let (per_sd, last_per_sd) = readings
        .per_sd
        .get(..n)
        .unwrap_or_default()
        .as_chunks::<2>();
    let one = |last: &[f64]| last.first().map(|x| Two([*x, 0.0]));
    let odd = one(last_left).zip(one(last_gravity)).zip(one(last_per_sd));
    let two = |((y, g), p): ((&[f64; 2], &[f64; 2]), &[f64; 2])| (Two(*y), Two(*g), Two(*p));
    let pairs = left.iter().zip(gravity).zip(per_sd).map(two);
    pairs.chain(odd.map(|((y, g), p)| (y, g, p)))
}

/// Squares of the distances from a fit, in standard errors.
#[inline]
fn squares((y, g, p): Beside, (o, f): (f64, f64)) -> Two {
    let r = (g - Two::each(f) - Two::each(o - f) * y) * p;
    r * r
}

/// The sums about a fit, and what the quadratic form misses there.
#[inline]
fn weighted_sums<const OFF: bool>(
    readings: &Readings<'_>,
    left: &[f64],
    at: (f64, f64),
) -> (Sums, Off) {
    let [mut oo, mut of, mut ff, mut og, mut fg, mut gg] = [Two::default(); 6];
    let mut off = Off::default();
    by_two(readings, left).for_each(|beside| {
        let q = squares(beside, at);
        let (y, g, p) = beside;
        let w = Two::each(DOF + 1.0) / (Two::each(DOF) + q) * p * p;
        let rest = Two::each(1.0) - y;
        let (wy, wr) = (w * y, w * rest);
        oo = oo + wy * y;
        of = of + wy * rest;
        ff = ff + wr * rest;
        og = og + wy * g;
        fg = fg + wr * g;
        gg = gg + w * g * g;
        if OFF {
            off.add(q);
        }
    });
    let sums = Sums {
        oo: oo.sum(),
        of: of.sum(),
        ff: ff.sum(),
        og: og.sum(),
        fg: fg.sum(),
        gg: gg.sum(),
    };
    (sums, off)
}

/// What sums about a first guess say of the end, `O` integrated out.
fn begun(s: &Sums, og: Normal) -> EndLikelihood {
    let known = 1.0 / (og.sd * og.sd);
    let oo = s.oo + known;
    let v = s.og + known * og.mean;
    EndLikelihood {
        level: -0.5 * (s.gg + known * og.mean * og.mean - v * v / oo) - 0.5 * quick::ln(oo / known),
        precision: s.ff - s.of * s.of / oo + LEAST_PRECISION,
        pull: s.fg - s.of * v / oo,
        og_at: v / oo,
        og_slope: s.of / oo,
        og_var: 1.0 / oo,
    }
}

/// What the quadratic form misses: the log t density at the fitted values, in
/// place of the weighted squares there.
fn correction(readings: &Readings<'_>, left: &[f64], at: (f64, f64)) -> f64 {
    let mut off = Off::default();
    by_two(readings, left).for_each(|beside| off.add(squares(beside, at)));
    off.correction(readings)
}

/// How far off the readings are.
struct Off {
    sum: Two,
    /// Of `1 + q/ν`: few logarithms are taken.
    product: Two,
    ln: f64,
}

impl Default for Off {
    fn default() -> Self {
        Self {
            sum: Two::each(0.0),
            product: Two::each(1.0),
            ln: 0.0,
        }
    }
}

impl Off {
    #[inline]
    fn add(&mut self, q: Two) {
        self.sum = self.sum + q / (Two::each(DOF) + q);
        let factor = Two::each(1.0) + q * Two::each(1.0 / DOF);
        self.product = self.product * factor.with(Two::each(1e70), f64::min);
        let [a, b] = self.product.0;
        if a * b > 1e80 {
            self.ln += quick::ln(a) + quick::ln(b);
            self.product = Two::each(1.0);
        }
    }

    /// See [`correction`].
    fn correction(&self, readings: &Readings<'_>) -> f64 {
        let [a, b] = self.product.0;
        let off = self.sum.sum() - self.ln - quick::ln(a) - quick::ln(b);
        (DOF + 1.0) * 0.5 * off + readings.log_scale
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
        let evidence = self.level - 0.5 * quick::ln(precision / known)
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
        let mass = normal::between(a, b);
        if mass <= 1e-200 {
            return None;
        }
        let evidence = self.level
            + 0.5 * self.pull * self.pull / self.precision
            + quick::ln(mass * sd * ROOT_TAU / (high - low));
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
        quick::exp(-0.5 * x * x) / ROOT_TAU
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
            let w = weight(((g - mean) * p).powi(2)) * p * p;
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

    fn found(left: &[f64], g: &[f64], per_sd: &[f64], og: Normal) -> EndLikelihood {
        let readings = Readings::new(g, per_sd);
        let first = Sums::of(&readings, left, (0.1, 0.0));
        end_likelihood(&readings, left, og, &first, f64::NEG_INFINITY)
    }

    #[test]
    fn reading_by_reading_or_two_by_two_the_sums_are_the_same() {
        let (left, g, per_sd) = example();
        let at = (0.1, 0.003);
        let whole = Sums::of(&Readings::new(&g, &per_sd), &left, at);
        let mut one_by_one = Sums::default();
        for i in 0..left.len() {
            one_by_one.add(left[i], g[i], per_sd[i], at);
        }
        let all = |s: &Sums| [s.oo, s.of, s.ff, s.og, s.fg, s.gg];
        for (a, b) in all(&whole).iter().zip(all(&one_by_one)) {
            assert!((a - b).abs() < 1e-9 * b.abs(), "{a} {b}");
        }
    }

    #[test]
    fn one_wild_reading_moves_the_end_little() {
        let (left, mut g, per_sd) = example();
        let og = Normal {
            mean: 0.1,
            sd: 0.01,
        };
        let clean = found(&left, &g, &per_sd, og);
        g[3] += 0.02;
        let wild = found(&left, &g, &per_sd, og);
        assert!((clean.pull / clean.precision - wild.pull / wild.precision).abs() < 0.001);
    }

    #[test]
    fn an_even_prior_is_the_sum_of_narrow_ones() {
        let (left, g, per_sd) = example();
        let og = Normal {
            mean: 0.1,
            sd: 0.01,
        };
        let l = found(&left, &g, &per_sd, og);
        let whole = l.with_even(-0.01, 0.03).unwrap().evidence;
        let parts: f64 = (0..400)
            .map(|i| {
                let f = -0.01 + 0.04 * (f64::from(i) + 0.5) / 400.0;
                (l.level - 0.5 * l.precision * f * f + l.pull * f - whole).exp() / 400.0
            })
            .sum();
        assert!((parts - 1.0).abs() < 1e-3, "{parts}");
    }

    #[test]
    fn many_wild_readings_are_summed_as_one_by_one() {
        // The densities' product runs far over what a number can hold.
        let n = 501;
        let left: Vec<f64> = (0..n).map(|i| 1.0 - f64::from(i) / f64::from(n)).collect();
        let wild = |i: usize| if i.is_multiple_of(2) { 0.05 } else { -0.08 };
        let (o, f) = (0.1, 0.0);
        let g: Vec<f64> = left
            .iter()
            .enumerate()
            .map(|(i, y)| o * y + wild(i))
            .collect();
        let per_sd = vec![800.0; left.len()];
        let readings = Readings::new(&g, &per_sd);
        let by_two = correction(&readings, &left, (o, f));
        let one_by_one: f64 = (0..left.len())
            .map(|i| {
                let q = (wild(i) * per_sd[i]).powi(2);
                0.5 * (DOF + 1.0) * (q / (DOF + q) - (1.0 + q / DOF).ln())
            })
            .sum();
        let expected = one_by_one + readings.log_scale;
        assert!(
            (by_two - expected).abs() < 1e-4 * expected.abs(),
            "{by_two} {expected}"
        );
    }
}
