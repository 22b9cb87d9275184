//! Where the particles are put: fixed quasi-random points about the modes of
//! each hypothesis, about the prior, and about what the first points found.

use super::curve::Coordinates;
use super::linear::Normal;
use super::modes::{Mode, Task, lower4};
use super::normal;
use super::prior::{ODD_PACE, Prior, RUN_DOWN_ORDER};
use super::series::Series;
use super::stops::Stop;
use std::sync::OnceLock;

/// Nodes drawn around each mode.
const PER_MODE: usize = 20;
/// Nodes drawn from the prior.
const FROM_PRIOR: usize = 24;
/// Nodes drawn about what the first ones found.
const SECOND: usize = 48;
/// Every third node is drawn this much wider.
const WIDE: f64 = 2.0;

/// A two-scaled normal distribution from which nodes are drawn.
#[derive(Debug, Clone)]
pub(crate) struct Proposal {
    at: Coordinates,
    root: [[f64; 4]; 4],
    /// How many nodes are drawn.
    pub(crate) nodes: usize,
    /// Original gravity and end from which reweighting starts.
    pub(crate) start: (f64, f64),
    per_determinant: f64,
}

impl Proposal {
    fn new(at: Coordinates, root: [[f64; 4]; 4], nodes: usize, start: (f64, f64)) -> Self {
        let determinant: f64 = (0..4).map(|i| root[i][i]).product();
        Self {
            at,
            root,
            nodes,
            start,
            per_determinant: 1.0 / determinant.max(1e-30),
        }
    }

    fn from_prior(prior: &Prior) -> Self {
        let mut root = [[0.0; 4]; 4];
        for (i, row) in root.iter_mut().enumerate() {
            row[i] = prior.sd[i];
        }
        Self::new(prior.mean, root, FROM_PRIOR, (prior.og.mean, 0.0))
    }

    fn from_mode(mode: &Mode) -> Self {
        Self::new(mode.at, mode.root, PER_MODE, (mode.og, mode.end))
    }

    /// Of the first nodes with their weights: a second look where the weight lies.
    pub(crate) fn from_nodes(
        nodes: &[(Coordinates, f64)],
        prior: &Prior,
        start: (f64, f64),
    ) -> Option<Self> {
        let total: f64 = nodes.iter().map(|n| n.1).sum();
        if total <= 0.0 || !total.is_finite() {
            return None;
        }
        let mut mean = [0.0; 4];
        for (z, w) in nodes {
            for i in 0..4 {
                mean[i] += w / total * z[i];
            }
        }
        let mut cov = [[0.0; 4]; 4];
        for (z, w) in nodes {
            for i in 0..4 {
                for j in 0..4 {
                    cov[i][j] += w / total * (z[i] - mean[i]) * (z[j] - mean[j]);
                }
            }
        }
        let squares: f64 = nodes.iter().map(|n| (n.1 / total).powi(2)).sum();
        // Few nodes carry the weight: their spread is too small a guess.
        let wider = 1.1 + 6.0 * squares;
        for (i, row) in cov.iter_mut().enumerate() {
            for cell in row.iter_mut() {
                *cell *= wider;
            }
            row[i] += 1e-3 * prior.sd[i] * prior.sd[i];
        }
        Some(Self::new(mean, lower4(&cov, &prior.sd), SECOND, start))
    }

    /// The `n`th node.
    pub(crate) fn node(&self, n: usize) -> Coordinates {
        let u = &standard_points()[n % POINTS];
        let wide = if n % 3 == 2 { WIDE } else { 1.0 };
        let mut z = self.at;
        for (i, cell) in z.iter_mut().enumerate() {
            for (root, u) in self.root[i].iter().zip(u).take(i + 1) {
                *cell += wide * root * u;
            }
        }
        z
    }

    /// Density at `z`, without the factor of (2π)^-2, times the number of nodes.
    pub(crate) fn density(&self, z: &Coordinates) -> f64 {
        let mut u = [0.0; 4];
        for i in 0..4 {
            let sum: f64 = (0..i).map(|k| self.root[i][k] * u[k]).sum();
            u[i] = (z[i] - self.at[i] - sum) / self.root[i][i];
        }
        let q: f64 = u.iter().map(|x| x * x).sum();
        let near = super::quick::exp(-0.5 * q) * 2.0 / 3.0;
        let far = super::quick::exp(-0.5 * q / (WIDE * WIDE)) / (3.0 * WIDE.powi(4));
        (near + far) * self.per_determinant * self.nodes as f64
    }
}

/// The first proposals: the prior, and the modes of each hypothesis.
pub(crate) fn first(series: &Series, prior: &Prior, stops: &[Stop]) -> Vec<Proposal> {
    let n = series.len();
    let task = |until: usize, end: Normal| Task {
        thermal: &series.thermal[..until],
        gravity: &series.gravity[..until],
        per_sd: &series.per_sd[..until],
        mean: prior.mean,
        sd: prior.sd,
        og: prior.og,
        end,
        frame: prior.frame,
    };
    let soon = soon(series, prior);
    let mut out = vec![Proposal::from_prior(prior)];
    let healthy = task(n, prior.end);
    let mut modes = vec![healthy.climb(prior.mean), healthy.climb(soon)];
    if prior.mean[0] - soon[0] > FAR * prior.sd[0] {
        // A pace far above the usual is not to be taken for a wrong reading.
        let mut odd = task(n, prior.end);
        odd.sd[0] *= ODD_PACE.1;
        modes.push(odd.climb(soon));
    }
    let apart = |a: &Mode, b: &Mode| (0..4).any(|i| (a.at[i] - b.at[i]).abs() > 0.5 * prior.sd[i]);
    for (i, mode) in modes.iter().enumerate() {
        if modes[..i].iter().all(|other| apart(mode, other)) {
            out.push(Proposal::from_mode(mode));
        }
    }
    let far = Normal {
        mean: 0.25 * prior.og.mean,
        sd: 0.3 * prior.og.mean,
    };
    let mut high = task(n, far);
    (high.mean[3], high.sd[3]) = RUN_DOWN_ORDER;
    out.push(Proposal::from_mode(&best(&[
        high.climb(prior.mean),
        high.climb(soon),
    ])));
    for stop in stops.iter().take(2) {
        let before = task(stop.after + 1, prior.end);
        out.push(Proposal::from_mode(&before.climb(prior.mean)));
    }
    out
}

/// So many standard deviations faster a pace is looked for among the odd ones.
const FAR: f64 = 2.0;

/// A start suited to what was seen: the finish near the present.
fn soon(series: &Series, prior: &Prior) -> Coordinates {
    let mut z = prior.mean;
    let last = series.thermal.last().copied().unwrap_or(1.0).max(0.1);
    let left = series
        .gravity
        .last()
        .map_or(0.5, |g| g / prior.og.mean.max(0.005));
    let gone = (1.0 - left).clamp(0.02, 0.98);
    let far = 3.5 * prior.sd[0];
    z[0] = (last * (0.5 / gone).sqrt())
        .ln()
        .clamp(z[0] - ODD_PACE.1 * far, z[0] + far);
    z
}

fn best(modes: &[Mode; 2]) -> Mode {
    if modes[1].cost < modes[0].cost {
        modes[1]
    } else {
        modes[0]
    }
}

/// How many points are kept: as many as the largest use takes. Each costs four
/// quantiles at the first assessment of a run.
const POINTS: usize = MEAN;
/// Points over which a mean over the prior is taken.
const MEAN: usize = 64;
const _: () = assert!(SECOND <= POINTS && PER_MODE <= POINTS && FROM_PRIOR <= POINTS);

/// Points spread evenly over the four-dimensional normal distribution: the
/// additive recurrence of M. Roberts, "The unreasonable effectiveness of
/// quasirandom sequences" (2018), through the normal quantile.
fn standard_points() -> &'static [[f64; 4]; POINTS] {
    static TABLE: OnceLock<[[f64; 4]; POINTS]> = OnceLock::new();
    TABLE.get_or_init(|| {
        // Positive root of x^5 = x + 1.
        let phi: f64 = 1.167_303_978_261_418_7;
        std::array::from_fn(|n| {
            let mut step = 1.0;
            std::array::from_fn(|_| {
                step /= phi;
                let part = (0.5 + step * (n as f64 + 1.0)).fract();
                normal::quantile(part.clamp(1e-4, 1.0 - 1e-4))
            })
        })
    })
}

/// Mean of a function of the coordinates over the prior's normal part.
pub(crate) fn prior_mean(prior: &Prior, f: impl Fn(&Coordinates) -> f64) -> f64 {
    let sum: f64 = standard_points()
        .iter()
        .map(|u| f(&std::array::from_fn(|i| prior.mean[i] + prior.sd[i] * u[i])))
        .sum();
    sum / MEAN as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::units::Gravity;
    use crate::engine::{Facts, OriginalGravity, Style};

    #[test]
    fn the_cheaper_of_two_modes_is_the_better_one() {
        let mode = |cost| Mode {
            at: [cost; 4],
            root: [[0.0; 4]; 4],
            og: 0.1,
            end: 0.0,
            cost,
        };
        for pair in [[1.0, 2.0], [2.0, 1.0]] {
            assert_eq!(best(&pair.map(mode)).cost.to_bits(), 1f64.to_bits());
        }
    }

    /// Moments of independent normals, as near as sixty-four points come to them: the mean, the
    /// square of the deviation, no product of two deviations.
    #[test]
    fn a_mean_over_the_prior_is_that_of_normals() {
        let mut facts = Facts::of(Style::Mead);
        facts.og = Some(OriginalGravity::Measured(Gravity::known(1.100)));
        let prior = Prior::new(&facts, None, None);
        let near = |got: f64, wanted: f64, by: f64| {
            assert!((got - wanted).abs() < by, "{got} for {wanted}");
        };
        for i in 0..4 {
            let (m, s) = (prior.mean[i], prior.sd[i]);
            near(prior_mean(&prior, |z| z[i]), m, 0.1 * s);
            near(
                prior_mean(&prior, |z| (z[i] - m).powi(2)),
                s * s,
                0.25 * s * s,
            );
            for j in 0..i {
                let product = prior_mean(&prior, |z| (z[i] - m) * (z[j] - prior.mean[j]));
                near(product, 0.0, 0.25 * s * prior.sd[j]);
            }
        }
        near(prior_mean(&prior, |_| 3.0), 3.0, 1e-12);
    }
}
