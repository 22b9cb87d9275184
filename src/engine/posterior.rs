//! The posterior as a weighted set of particles, each a curve under a
//! hypothesis.
//!
//! Modes under each hypothesis give proposals; fixed quasi-random points from
//! them are weighed exactly (prior times likelihood over proposal), with the
//! original gravity and the end integrated out. The same input gives the same
//! answer.

use super::curve::{Coordinates, Curve};
use super::hypotheses::{Node, Try, never_started};
use super::linear::Readings;
use super::prior::{Prior, SUGAR_LEFT};
use super::proposal::{Proposal, first};
use super::quick;
use super::series::Series;
use super::stops::stop_candidates;

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
    /// If it stood still and goes on: which of the [`Belief::pasts`] is its course until then.
    pub(crate) past: Option<usize>,
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

/// What is believed of a ferment.
#[derive(Debug, Clone, Default)]
pub(crate) struct Belief {
    /// All possibilities, weights summing to one.
    pub(crate) particles: Vec<Particle>,
    /// Courses until a ferment stood still, of those that went on.
    pub(crate) pasts: Vec<Particle>,
    /// Log of the probability of the readings.
    pub(crate) evidence: f64,
    /// When it last went on after it had stood still, should it have.
    pub(crate) woke: Option<Woke>,
}

/// A stretch in which it stood still, before it went on.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Woke {
    /// Index of the first reading of the stretch.
    pub(crate) from: usize,
    /// Index of its last reading.
    pub(crate) until: usize,
    /// Probability that it went on then.
    pub(crate) probability: f64,
}

/// What is believed of one course without a break.
pub(crate) fn unbroken(series: &Series, prior: &Prior, hazard: &[f64]) -> Belief {
    let mut stops = stop_candidates(series);
    // Level with the healthy end, nothing has stopped short of it.
    stops.retain(|s| s.level.mean > SUGAR_LEFT - 5.0 * prior.end.sd - 3.0 * s.level.sd);
    let whole = Readings::new(&series.gravity, &series.per_sd);
    let tries = stops.iter().map(|stop| Try {
        stop,
        before: whole.until(stop.after + 1),
        best: f64::NEG_INFINITY,
    });
    let mut cloud = Cloud {
        series,
        prior,
        hazard,
        tries: tries.collect(),
        whole,
        nodes: Vec::new(),
        densities: Vec::new(),
        reckoned: 0,
        particles: Vec::new(),
        proposals: Vec::new(),
        best: f64::NEG_INFINITY,
    };
    cloud.draw(first(series, prior, &stops));
    let second = cloud.second();
    cloud.draw(second);
    let weights = cloud.weighed();
    let mut particles = cloud.particles;
    for (p, w) in particles.iter_mut().zip(weights) {
        p.weight = w;
    }
    if prior.may_never_start {
        particles.extend(never_started(series, prior));
    }
    let evidence = normalise(&mut particles);
    Belief {
        particles,
        evidence,
        ..Belief::default()
    }
}

/// Nodes and their particles, with log weights short of the proposals' density.
struct Cloud<'a> {
    series: &'a Series,
    prior: &'a Prior,
    hazard: &'a [f64],
    whole: Readings<'a>,
    tries: Vec<Try<'a>>,
    /// Coordinates, and where the node's particles begin.
    nodes: Vec<(Coordinates, usize)>,
    /// Density of the first so many proposals at each node.
    densities: Vec<f64>,
    reckoned: usize,
    particles: Vec<Particle>,
    proposals: Vec<Proposal>,
    /// The highest log likelihood so far.
    best: f64,
}

/// Hypotheses by which a curve goes through all readings, counting plans that
/// are right and wrong.
const WHOLE: usize = 3;
/// A group of hypotheses lighter than this gets no second look.
const LIGHT_GROUP: f64 = 0.01;

impl Cloud<'_> {
    fn draw(&mut self, proposals: Vec<Proposal>) {
        let count: usize = proposals.iter().map(|p| p.nodes).sum();
        self.nodes.reserve(count);
        self.particles.reserve(count * (WHOLE + self.tries.len()));
        let mut left = vec![0.0; self.series.len()];
        for proposal in &proposals {
            for n in 0..proposal.nodes {
                let at = proposal.node(n);
                let curve = self.prior.frame.curve(&at);
                curve.fill(&self.series.thermal, &mut left);
                self.nodes.push((at, self.particles.len()));
                let mut node = Node {
                    whole: &self.whole,
                    best: &mut self.best,
                    prior: self.prior,
                    at,
                    curve,
                    left: &left,
                    weight: self.prior.density(&at, &curve),
                    out: &mut self.particles,
                };
                node.whole(proposal.start);
                node.stopped(&mut self.tries, self.hazard);
            }
        }
        self.proposals.extend(proposals);
    }

    /// Brings the density with which all proposals put nodes at each up to date:
    /// each node stands for the inverse of it (the balance heuristic).
    fn reckon(&mut self) {
        let known = self.densities.len();
        self.densities.resize(self.nodes.len(), 0.0);
        for (i, (z, _)) in self.nodes.iter().enumerate() {
            let from = if i < known { self.reckoned } else { 0 };
            for proposal in &self.proposals[from..] {
                self.densities[i] += proposal.density(z);
            }
        }
        self.reckoned = self.proposals.len();
    }

    /// Log weights of the particles.
    fn weighed(&mut self) -> Vec<f64> {
        self.reckon();
        let mut out: Vec<f64> = self.particles.iter().map(|p| p.weight).collect();
        for (i, (_, from)) in self.nodes.iter().enumerate() {
            let to = self.nodes.get(i + 1).map_or(out.len(), |n| n.1);
            let density = quick::ln(self.densities[i].max(1e-300));
            for w in &mut out[*from..to] {
                *w -= density;
            }
        }
        out
    }

    /// Proposals about where the first nodes found weight, one for each group
    /// of hypotheses.
    fn second(&mut self) -> Vec<Proposal> {
        let weighed = self.weighed();
        let top = weighed.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if !top.is_finite() {
            return Vec::new();
        }
        let total: f64 = weighed.iter().map(|w| quick::exp(w - top)).sum();
        let groups: [fn(Hypothesis) -> bool; 3] = [
            |h| h == Hypothesis::Healthy,
            |h| h == Hypothesis::RunsDown,
            |h| matches!(h, Hypothesis::Stopped { .. }),
        ];
        groups
            .iter()
            .filter_map(|wanted| {
                let mut start = (0.0, 0.0);
                let mut sum = 0.0;
                let mut nodes = Vec::with_capacity(self.nodes.len());
                for (i, (z, from)) in self.nodes.iter().enumerate() {
                    let to = self.nodes.get(i + 1).map_or(weighed.len(), |n| n.1);
                    let mut weight = 0.0;
                    for (p, log) in self.particles[*from..to].iter().zip(&weighed[*from..to]) {
                        if !wanted(p.hypothesis) {
                            continue;
                        }
                        let w = quick::exp(log - top);
                        weight += w;
                        start.0 += w * p.og();
                        start.1 += w * p.curve_end();
                    }
                    sum += weight;
                    nodes.push((*z, weight));
                }
                if sum < LIGHT_GROUP * total {
                    return None;
                }
                Proposal::from_nodes(&nodes, self.prior, (start.0 / sum, start.1 / sum))
            })
            .collect()
    }
}

/// At most so many particles stand for each group of hypotheses.
const KEPT: [usize; GROUPS] = [96, 48, 48, 1];

/// Healthy, running down, stopped, never started.
const GROUPS: usize = 4;

fn group(h: Hypothesis) -> usize {
    match h {
        Hypothesis::Healthy => 0,
        Hypothesis::RunsDown => 1,
        Hypothesis::Stopped { .. } => 2,
        Hypothesis::NeverStarted => 3,
    }
}

/// Turns log weights into shares and lets fewer particles stand for all: each
/// group keeps its sum, spread evenly along its particles (systematic
/// resampling without chance). Gives the logarithm of the sum of all.
fn normalise(particles: &mut Vec<Particle>) -> f64 {
    let top = particles
        .iter()
        .map(|p| p.weight)
        .fold(f64::NEG_INFINITY, f64::max);
    if !top.is_finite() {
        particles.clear();
        return f64::NEG_INFINITY;
    }
    let mut sums = [0.0; GROUPS];
    for p in particles.iter_mut() {
        p.weight = quick::exp(p.weight - top);
        sums[group(p.hypothesis)] += p.weight;
    }
    let total: f64 = sums.iter().sum();
    let mut below = [0.0; GROUPS];
    let mut given = [0.0; GROUPS];
    for p in particles.iter_mut() {
        let g = group(p.hypothesis);
        let step = sums[g] / KEPT[g] as f64;
        below[g] += p.weight;
        let due = (below[g] / step + 0.5).floor().min(KEPT[g] as f64);
        p.weight = (due - given[g]).max(0.0) * step / total;
        given[g] = given[g].max(due);
    }
    particles.retain(|p| p.weight > 0.0);
    let mut last: Option<(Curve, (f64, f64))> = None;
    for p in particles.iter_mut() {
        if matches!(p.hypothesis, Hypothesis::Healthy | Hypothesis::RunsDown) {
            // Particles of one node stand together and share its curve.
            let peak = match last {
                Some((curve, peak)) if curve == p.curve => peak,
                _ => p.curve.peak(),
            };
            last = Some((p.curve, peak));
            p.peak = peak;
        }
    }
    top + total.ln()
}
