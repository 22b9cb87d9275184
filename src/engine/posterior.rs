//! The posterior as a weighted set of particles, each a curve under a
//! hypothesis.
//!
//! Modes under each hypothesis give proposals; fixed quasi-random points from
//! them are weighed exactly (prior times likelihood over proposal), with the
//! original gravity and the end integrated out. The same input gives the same
//! answer.

use super::curve::{Coordinates, Curve};
use super::linear::{EndLikelihood, EndPosterior, Level, Normal, Readings, end_likelihood, level};
use super::modes::{Mode, Task};
use super::normal;
use super::prior::{LAG_OVER, NEVER_STARTS, Prior, RUNS_DOWN, STOPS, SUGAR_LEFT};
use super::series::Series;
use super::tune::tune;
use std::sync::OnceLock;

/// What a particle supposes of the ferment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Hypothesis {
    /// It goes, or went, to its end.
    Healthy,
    /// It runs down to an end far above where it should end.
    RunsDown,
    /// It stopped after reading `after` (an index of the series).
    Stopped {
        /// Last reading before the stop.
        after: usize,
    },
    /// It never started.
    NeverStarted,
}

/// One weighted possibility.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Particle {
    /// Its share of the probability.
    pub(crate) weight: f64,
    /// What it supposes.
    pub(crate) hypothesis: Hypothesis,
    /// Its curve.
    pub(crate) curve: Curve,
    /// Mean of the end in the working scale (of the level, if stopped).
    pub(crate) end: f64,
    /// Its standard deviation.
    pub(crate) end_sd: f64,
    /// `O = og_at - og_slope·F`, with standard deviation `og_sd`.
    pub(crate) og_at: f64,
    /// See `og_at`.
    pub(crate) og_slope: f64,
    /// See `og_at`.
    pub(crate) og_sd: f64,
    /// The end that a healthy ferment would have reached, under this particle.
    pub(crate) healthy_end: f64,
    /// The curve's highest rate and its thermal time.
    pub(crate) peak: (f64, f64),
}

impl Particle {
    /// Original gravity on the mean.
    pub(crate) fn og(&self) -> f64 {
        self.og_at - self.og_slope * self.curve_end()
    }

    /// The end towards which the curve runs (for a stopped one, the healthy end).
    pub(crate) fn curve_end(&self) -> f64 {
        match self.hypothesis {
            Hypothesis::Stopped { .. } => self.healthy_end,
            _ => self.end,
        }
    }
}

/// Nodes drawn around each mode.
const PER_MODE: usize = 72;
/// Nodes drawn from the prior.
const FROM_PRIOR: usize = 48;
/// Every third node is drawn this much wider.
const WIDE: f64 = 2.0;

/// Temperature trouble in the gap after each reading: how many times likelier a stop is there.
pub(crate) type Hazard = Vec<f64>;

struct Proposal {
    at: Coordinates,
    root: [[f64; 4]; 4],
    nodes: usize,
    og: f64,
    end: f64,
}

/// All particles, weights summing to one.
pub(crate) fn posterior(series: &Series, prior: &Prior, hazard: &Hazard) -> Vec<Particle> {
    let stops = stop_candidates(series);
    let proposals = proposals(series, prior, &stops);
    let mut particles = Vec::new();
    let total: usize = proposals.iter().map(|p| p.nodes).sum();
    let mut left = vec![0.0; series.len()];
    for proposal in &proposals {
        for n in 0..proposal.nodes {
            let z = proposal.node(n);
            let density = mixture(&proposals, total, &z);
            let curve = prior.frame.curve(&z);
            let weight = prior.density(&z, &curve) - density;
            curve.fill(&series.thermal, &mut left);
            let mut node = Node {
                series,
                prior,
                at: z,
                curve,
                left: &left,
                weight,
                out: &mut particles,
            };
            node.whole((proposal.og, proposal.end));
            for stop in &stops {
                node.stopped(stop, hazard);
            }
        }
    }
    if let Some(never) = never_started(series, prior, total) {
        particles.push(never);
    }
    normalise(&mut particles);
    particles
}

/// Particles lighter than this are dropped.
const LIGHTEST: f64 = 3e-5;

/// Turns log weights into shares.
fn normalise(particles: &mut Vec<Particle>) {
    let top = particles
        .iter()
        .map(|p| p.weight)
        .fold(f64::NEG_INFINITY, f64::max);
    if !top.is_finite() {
        particles.clear();
        return;
    }
    for p in particles.iter_mut() {
        p.weight = (p.weight - top).exp();
    }
    let sum: f64 = particles.iter().map(|p| p.weight).sum();
    particles.retain(|p| p.weight > LIGHTEST * sum);
    let sum: f64 = particles.iter().map(|p| p.weight).sum();
    for p in particles.iter_mut() {
        p.weight /= sum;
        p.peak = p.curve.peak();
    }
}

struct Node<'a> {
    series: &'a Series,
    prior: &'a Prior,
    at: Coordinates,
    curve: Curve,
    left: &'a [f64],
    weight: f64,
    out: &'a mut Vec<Particle>,
}

impl Node<'_> {
    fn push(
        &mut self,
        log_prior: f64,
        hypothesis: Hypothesis,
        l: &EndLikelihood,
        e: EndPosterior,
        healthy_end: f64,
    ) {
        self.out.push(Particle {
            weight: self.weight + log_prior + e.evidence,
            hypothesis,
            curve: self.curve,
            end: e.mean,
            end_sd: e.sd,
            og_at: l.og_at,
            og_slope: l.og_slope,
            og_sd: l.og_var.sqrt(),
            healthy_end,
            peak: (0.0, 0.0),
        });
    }

    /// The hypotheses under which one curve goes through all readings.
    fn whole(&mut self, start: (f64, f64)) {
        let readings = Readings {
            gravity: &self.series.gravity,
            per_sd: &self.series.per_sd,
        };
        let l = end_likelihood(&readings, self.left, self.prior.og, start, 2);
        let p = self.prior;
        let now_left = self.left.last().copied().unwrap_or(1.0);
        // Not yet stopped: those that will are healthy so far.
        let healthy = 1.0 - p.sticks + p.sticks * STOPS * now_left;
        for (share, end) in [(1.0 - p.plan_wrong, p.end), (p.plan_wrong, p.end_wide)] {
            let e = l.with_normal(end);
            self.push((healthy * share).ln(), Hypothesis::Healthy, &l, e, e.mean);
        }
        let low = SUGAR_LEFT;
        let high = p.og.mean * 0.93;
        if let Some(e) = l.with_even(low, high) {
            let log_prior = (p.sticks * tune(31, RUNS_DOWN)).ln() + p.run_down_shape(&self.at);
            self.push(log_prior, Hypothesis::RunsDown, &l, e, 0.0);
        }
    }

    /// It stopped in the gap after a reading.
    fn stopped(&mut self, stop: &Stop, hazard: &Hazard) {
        let j = stop.after;
        let readings = Readings {
            gravity: &self.series.gravity[..=j],
            per_sd: &self.series.per_sd[..=j],
        };
        let l = end_likelihood(
            &readings,
            &self.left[..=j],
            self.prior.og,
            (self.prior.og.mean, 0.0),
            2,
        );
        let e = l.with_normal(self.prior.end);
        let og = l.og_at - l.og_slope * e.mean;
        let (y0, y1) = (self.left[j], self.left[j + 1]);
        let high = e.mean + (og - e.mean) * y0.min(0.97);
        let low = (e.mean + (og - e.mean) * y1).max(e.mean + SUGAR_LEFT);
        let drop = (og - e.mean).max(0.005);
        if high <= low {
            return;
        }
        // The curve's own uncertainty at the stop.
        let blur = l.og_var * y0 * y0 + e.sd * e.sd * (1.0 - y0) * (1.0 - y0);
        let sd = (stop.level.sd.powi(2) + blur).sqrt();
        let (a, b) = ((low - stop.level.mean) / sd, (high - stop.level.mean) / sd);
        let mass = if a > 0.0 {
            normal::below(-a) - normal::below(-b)
        } else {
            normal::below(b) - normal::below(a)
        };
        if mass <= 1e-200 {
            return;
        }
        let width = stop.level.sd * std::f64::consts::TAU.sqrt();
        let seen = stop.level.height + (mass * width / drop).ln();
        let log_prior = (self.prior.sticks * tune(19, STOPS) * hazard[j])
            .min(0.9)
            .ln();
        let level = EndPosterior {
            evidence: e.evidence + seen,
            mean: stop.level.mean,
            sd: stop.level.sd,
        };
        self.push(
            log_prior,
            Hypothesis::Stopped { after: j },
            &l,
            level,
            e.mean,
        );
    }
}

/// A reading after which it may have stopped, with the level since.
#[derive(Debug, Clone, Copy)]
struct Stop {
    after: usize,
    level: Level,
}

/// How many candidates are weighed.
const MOST_STOPS: usize = 5;

/// Readings after which all are level.
fn stop_candidates(series: &Series) -> Vec<Stop> {
    let n = series.len();
    let mut found = Vec::new();
    for after in (0..n.saturating_sub(1)).rev() {
        let rest = Readings {
            gravity: &series.gravity[after + 1..],
            per_sd: &series.per_sd[after + 1..],
        };
        let Some(level) = level(&rest) else { break };
        let chi: f64 = rest
            .gravity
            .iter()
            .zip(rest.per_sd)
            .map(|(g, p)| ((g - level.mean) * p).powi(2).min(16.0))
            .sum();
        let count = rest.gravity.len() as f64;
        if chi > count + 3.0 * (2.0 * count).sqrt() + 8.0 {
            break;
        }
        found.push(Stop { after, level });
    }
    // The earliest are where the level begins; the last is the newest news.
    found.reverse();
    if found.len() > MOST_STOPS {
        let last = found[found.len() - 1];
        found.truncate(MOST_STOPS - 1);
        found.push(last);
    }
    found
}

fn proposals(series: &Series, prior: &Prior, stops: &[Stop]) -> Vec<Proposal> {
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
    let mut out = vec![from_prior(prior)];
    let healthy = task(n, prior.end);
    out.push(from_mode(&best(&[
        healthy.climb(prior.mean),
        healthy.climb(soon),
    ])));
    let mut high = task(
        n,
        Normal {
            mean: 0.25 * prior.og.mean,
            sd: 0.3 * prior.og.mean,
        },
    );
    (high.mean[3], high.sd[3]) = (tune(20, 0.05), tune(21, 0.15));
    out.push(from_mode(&best(&[
        high.climb(prior.mean),
        high.climb(soon),
    ])));
    for stop in stops.iter().take(2) {
        out.push(from_mode(
            &task(stop.after + 1, prior.end).climb(prior.mean),
        ));
    }
    out
}

/// A start suited to what was seen: the finish near the present.
fn soon(series: &Series, prior: &Prior) -> Coordinates {
    let mut z = prior.mean;
    let last = series.thermal.last().copied().unwrap_or(1.0).max(0.5);
    z[0] = last
        .ln()
        .clamp(z[0] - 2.0 * prior.sd[0], z[0] + 2.0 * prior.sd[0]);
    z
}

fn best(modes: &[Mode; 2]) -> Mode {
    if modes[1].cost < modes[0].cost {
        modes[1]
    } else {
        modes[0]
    }
}

fn from_prior(prior: &Prior) -> Proposal {
    let mut root = [[0.0; 4]; 4];
    for (i, row) in root.iter_mut().enumerate() {
        row[i] = prior.sd[i];
    }
    Proposal {
        at: prior.mean,
        root,
        nodes: FROM_PRIOR,
        og: prior.og.mean,
        end: 0.0,
    }
}

fn from_mode(mode: &Mode) -> Proposal {
    Proposal {
        at: mode.at,
        root: mode.root,
        nodes: PER_MODE,
        og: mode.og,
        end: mode.end,
    }
}

#[expect(
    clippy::needless_range_loop,
    reason = "matrix sums read as their formulas"
)]
impl Proposal {
    fn node(&self, n: usize) -> Coordinates {
        let u = &standard_points()[n];
        let wide = if n % 3 == 2 { WIDE } else { 1.0 };
        let mut z = self.at;
        for i in 0..4 {
            for j in 0..=i {
                z[i] += wide * self.root[i][j] * u[j];
            }
        }
        z
    }

    /// Density at `z`, without the factor of (2π)^-2.
    fn density(&self, z: &Coordinates) -> f64 {
        let mut u = [0.0; 4];
        let mut determinant = 1.0;
        for i in 0..4 {
            let sum: f64 = (0..i).map(|k| self.root[i][k] * u[k]).sum();
            u[i] = (z[i] - self.at[i] - sum) / self.root[i][i];
            determinant *= self.root[i][i];
        }
        let q: f64 = u.iter().map(|x| x * x).sum();
        let near = (-0.5 * q).exp() * 2.0 / 3.0;
        let far = (-0.5 * q / (WIDE * WIDE)).exp() / (3.0 * WIDE.powi(4));
        (near + far) / determinant
    }
}

fn mixture(proposals: &[Proposal], total: usize, z: &Coordinates) -> f64 {
    let sum: f64 = proposals
        .iter()
        .map(|p| p.nodes as f64 * p.density(z))
        .sum();
    // Sum over nodes, not mean: each node then stands for its share of the integral.
    let _ = total;
    sum.max(1e-300).ln()
}

impl Prior {
    /// Log density at `z`, without the factor of (2π)^-2.
    fn density(&self, z: &Coordinates, curve: &Curve) -> f64 {
        let u = |i: usize| (z[i] - self.mean[i]) / self.sd[i];
        let pace = {
            let q = u(0) * u(0);
            let wide = tune(11, 2.5);
            let share = tune(10, 0.15);
            ((1.0 - share) * (-0.5 * q).exp() + share / wide * (-0.5 * q / (wide * wide)).exp())
                .ln()
        };
        let lag = (curve.when_left(1.0 - LAG_OVER).max(1e-3) / tune(12, 1.9)).ln() / tune(13, 0.5);
        let rest: f64 = (1..4).map(|i| -0.5 * u(i) * u(i)).sum();
        pace + rest - 0.5 * lag * lag - self.sd.iter().map(|s| s.ln()).sum::<f64>()
    }
}

impl Prior {
    /// Log of how much likelier the shape is for one that runs down: uptake that
    /// is held back in proportion to what is left of the yeast's power, order one.
    fn run_down_shape(&self, z: &Coordinates) -> f64 {
        let (mean, sd) = (tune(20, 0.05), tune(21, 0.15));
        let here = -0.5 * ((z[3] - mean) / sd).powi(2) - f64::ln(sd);
        let usual = -0.5 * ((z[3] - self.mean[3]) / self.sd[3]).powi(2) - self.sd[3].ln();
        here - usual
    }
}

/// No fall at all since the pitch.
fn never_started(series: &Series, prior: &Prior, _total: usize) -> Option<Particle> {
    let readings = Readings {
        gravity: &series.gravity,
        per_sd: &series.per_sd,
    };
    let flat = vec![1.0; series.len()];
    let l = end_likelihood(&readings, &flat, prior.og, (prior.og.mean, 0.0), 3);
    let e = l.with_normal(prior.end);
    (series.len() > 0).then(|| Particle {
        weight: e.evidence + (prior.sticks * tune(32, NEVER_STARTS)).ln(),
        hypothesis: Hypothesis::NeverStarted,
        curve: prior.frame.curve(&prior.mean),
        end: l.og_at,
        end_sd: l.og_var.sqrt(),
        og_at: l.og_at,
        og_slope: 0.0,
        og_sd: l.og_var.sqrt(),
        healthy_end: 0.0,
        peak: (0.0, 0.0),
    })
}

/// Points spread evenly over the four-dimensional normal distribution: the
/// additive recurrence of M. Roberts, "The unreasonable effectiveness of
/// quasirandom sequences" (2018), through the normal quantile.
fn standard_points() -> &'static [[f64; 4]; 1024] {
    static POINTS: OnceLock<[[f64; 4]; 1024]> = OnceLock::new();
    POINTS.get_or_init(|| {
        // Positive root of x^5 = x + 1.
        let phi: f64 = 1.167_303_978_261_418_7;
        std::array::from_fn(|n| {
            std::array::from_fn(|i| {
                let step = phi.powf(-(i as f64 + 1.0));
                normal::quantile(
                    (0.5 + step * (n as f64 + 1.0))
                        .fract()
                        .clamp(1e-4, 1.0 - 1e-4),
                )
            })
        })
    })
}
