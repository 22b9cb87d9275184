//! The likeliest curve under a hypothesis, and how sharply it is known: the
//! middle and the spread of a proposal for the exact sum.

use super::curve::Coordinates;
use super::dense::MOST;
use super::linear::{Normal, weight};
use super::prior::Frame;
use super::quick;

const N: usize = 6;
type Matrix = [[f64; N]; N];
type Vector = [f64; N];

/// What is to be fitted.
pub(crate) struct Task<'a> {
    /// Thermal times.
    pub(crate) thermal: &'a [f64],
    /// Gravities less the reference.
    pub(crate) gravity: &'a [f64],
    /// One over the standard errors.
    pub(crate) per_sd: &'a [f64],
    /// Prior of the coordinates: means.
    pub(crate) mean: Coordinates,
    /// Prior of the coordinates: spreads.
    pub(crate) sd: Coordinates,
    /// Prior of the original gravity.
    pub(crate) og: Normal,
    /// Prior of the end.
    pub(crate) end: Normal,
    /// From coordinates to curves.
    pub(crate) frame: Frame,
}

/// A mode with the square root of its covariance in the four coordinates.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Mode {
    /// The likeliest coordinates.
    pub(crate) at: Coordinates,
    /// Lower triangle whose square is the covariance there.
    pub(crate) root: [[f64; 4]; 4],
    /// Original gravity there.
    pub(crate) og: f64,
    /// End there.
    pub(crate) end: f64,
    /// Half the sum of weighted squares there, prior included.
    pub(crate) cost: f64,
}

const STEPS: usize = 7;
/// Step of the numerical slope, in prior standard deviations.
const NUDGE: f64 = 1e-3;
const DOF: f64 = 4.0;

impl Task<'_> {
    /// Climbs to the nearest mode from `start` (Levenberg-Marquardt with
    /// reweighting). Always gives an answer: at worst the start with the prior's spread.
    pub(crate) fn climb(&self, start: Coordinates) -> Mode {
        let mut at = [
            start[0],
            start[1],
            start[2],
            start[3],
            self.og.mean,
            self.end.mean,
        ];
        let mut cost = self.cost(&at);
        let mut damping = 0.1;
        let mut normal = self.normal_equations(&at);
        for _ in 0..STEPS {
            let Some(step) = solve_damped(&normal.0, &normal.1, damping) else {
                break;
            };
            let next = self.moved(&at, &step);
            let lower = self.cost(&next);
            if lower < cost {
                let gain = cost - lower;
                at = next;
                cost = lower;
                damping *= 0.2;
                normal = self.normal_equations(&at);
                if gain < 0.05 {
                    break;
                }
            } else {
                damping = (damping * 6.0).max(0.05);
            }
        }
        Mode {
            at: [at[0], at[1], at[2], at[3]],
            root: self.root(&normal.0),
            og: at[4],
            end: at[5],
            cost,
        }
    }

    #[expect(
        clippy::needless_range_loop,
        reason = "several arrays run along together"
    )]
    fn moved(&self, at: &Vector, step: &Vector) -> Vector {
        let mut next = *at;
        for i in 0..N {
            next[i] += step[i].clamp(-1.5, 1.5) * self.scale(i);
        }
        for i in 0..4 {
            let far = 4.0 * self.sd[i];
            next[i] = next[i].clamp(self.mean[i] - far, self.mean[i] + far);
        }
        next
    }

    /// Prior standard deviation of a parameter: the unit of a step.
    fn scale(&self, i: usize) -> f64 {
        match i {
            4 => self.og.sd,
            5 => self.end.sd,
            _ => self.sd[i],
        }
    }

    fn prior_offset(&self, at: &Vector, i: usize) -> f64 {
        let mean = match i {
            4 => self.og.mean,
            5 => self.end.mean,
            _ => self.mean[i],
        };
        (at[i] - mean) / self.scale(i)
    }

    fn cost(&self, at: &Vector) -> f64 {
        let curve = self.frame.curve(&[at[0], at[1], at[2], at[3]]);
        let prior: f64 = (0..N).map(|i| self.prior_offset(at, i).powi(2)).sum();
        let mut left = [0.0; MOST];
        curve.fill(self.thermal, &mut left);
        let fit: f64 = left
            .iter()
            .zip(self.gravity)
            .zip(self.per_sd)
            .map(|((&y, &g), &p)| {
                let r = (g - at[5] - (at[4] - at[5]) * y) * p;
                (DOF + 1.0) * quick::ln(1.0 + r * r / DOF)
            })
            .sum();
        0.5 * (prior + fit)
    }

    /// Matrix and right side, in units of the prior's standard deviations.
    fn normal_equations(&self, at: &Vector) -> (Matrix, Vector) {
        let z = [at[0], at[1], at[2], at[3]];
        let curve = self.frame.curve(&z);
        let mut left = [0.0; MOST];
        curve.fill(self.thermal, &mut left);
        let nudged: [[f64; MOST]; 4] = std::array::from_fn(|i| {
            let mut moved = z;
            moved[i] += NUDGE * self.sd[i];
            let mut out = [0.0; MOST];
            self.frame.curve(&moved).fill(self.thermal, &mut out);
            out
        });
        let mut m = [[0.0; N]; N];
        let mut v = [0.0; N];
        for i in 0..N {
            m[i][i] = 1.0;
            v[i] = -self.prior_offset(at, i);
        }
        for (n, (&g, &p)) in self.gravity.iter().zip(self.per_sd).enumerate() {
            let y = left[n];
            let drop = at[4] - at[5];
            let r = (g - at[5] - drop * y) * p;
            let w = weight(r * r);
            let mut slope = [0.0; N];
            for i in 0..4 {
                slope[i] = (nudged[i][n] - y) / NUDGE * drop * p;
            }
            slope[4] = y * p * self.og.sd;
            slope[5] = (1.0 - y) * p * self.end.sd;
            for i in 0..N {
                v[i] += w * slope[i] * r;
                for j in 0..=i {
                    m[i][j] += w * slope[i] * slope[j];
                }
            }
        }
        (m, v)
    }

    /// Lower triangle of the covariance of the coordinates.
    fn root(&self, m: &Matrix) -> [[f64; 4]; 4] {
        let mut root = [[0.0; 4]; 4];
        let Some(chol) = cholesky(m, 0.0) else {
            for (i, row) in root.iter_mut().enumerate() {
                row[i] = self.sd[i];
            }
            return root;
        };
        let mut cov = [[0.0; 4]; 4];
        for i in 0..4 {
            let mut unit = [0.0; N];
            unit[i] = 1.0;
            let column = back_substitute(&chol, &unit);
            for j in 0..4 {
                cov[j][i] = column[j] * self.sd[i] * self.sd[j];
            }
        }
        lower4(&cov, &self.sd)
    }
}

/// Square root of a covariance, lower triangle; never singular.
pub(crate) fn lower4(cov: &[[f64; 4]; 4], sd: &Coordinates) -> [[f64; 4]; 4] {
    let mut l = [[0.0; 4]; 4];
    for i in 0..4 {
        for j in 0..=i {
            let sum: f64 = (0..j).map(|k| l[i][k] * l[j][k]).sum();
            if i == j {
                l[i][i] = (cov[i][i] - sum).max(1e-8 * sd[i] * sd[i]).sqrt();
            } else {
                l[i][j] = (cov[i][j] - sum) / l[j][j];
            }
        }
    }
    l
}

fn cholesky(m: &Matrix, damping: f64) -> Option<Matrix> {
    let mut l = [[0.0; N]; N];
    for i in 0..N {
        for j in 0..=i {
            let sum: f64 = (0..j).map(|k| l[i][k] * l[j][k]).sum();
            if i == j {
                let d = m[i][i] * (1.0 + damping) - sum;
                if d.is_nan() || d <= 1e-12 {
                    return None;
                }
                l[i][i] = d.sqrt();
            } else {
                l[i][j] = (m[i][j] - sum) / l[j][j];
            }
        }
    }
    Some(l)
}

fn back_substitute(l: &Matrix, v: &Vector) -> Vector {
    let mut x = *v;
    for i in 0..N {
        let sum: f64 = (0..i).map(|k| l[i][k] * x[k]).sum();
        x[i] = (x[i] - sum) / l[i][i];
    }
    for i in (0..N).rev() {
        let sum: f64 = (i + 1..N).map(|k| l[k][i] * x[k]).sum();
        x[i] = (x[i] - sum) / l[i][i];
    }
    x
}

fn solve_damped(m: &Matrix, v: &Vector, damping: f64) -> Option<Vector> {
    cholesky(m, damping).map(|l| back_substitute(&l, v))
}
