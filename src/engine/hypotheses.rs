//! What each hypothesis makes of one curve: likelihood times prior, with the
//! original gravity and the end integrated out.

use super::curve::{Coordinates, Curve};
use super::linear::{
    EndLikelihood, EndPosterior, HOPELESS, ROOT_TAU, Readings, Sums, end_likelihood,
};
use super::posterior::{Hypothesis, Particle};
use super::prior::{NEVER_STARTS, Prior, RUNS_DOWN, STOPS, SUGAR_LEFT};
use super::series::Series;
use super::stops::Stop;
use super::{normal, quick};

/// A stop that curves are tried with.
pub(crate) struct Try<'a> {
    /// The stop.
    pub(crate) stop: &'a Stop,
    /// The readings before it.
    pub(crate) before: Readings<'a>,
    /// The highest log likelihood so far.
    pub(crate) best: f64,
}

/// One curve, to be weighed under each hypothesis.
pub(crate) struct Node<'a> {
    /// The readings.
    pub(crate) whole: &'a Readings<'a>,
    /// The highest log likelihood so far.
    pub(crate) best: &'a mut f64,
    /// The prior.
    pub(crate) prior: &'a Prior,
    /// Its coordinates.
    pub(crate) at: Coordinates,
    /// The curve.
    pub(crate) curve: Curve,
    /// Share left at each reading.
    pub(crate) left: &'a [f64],
    /// Log prior density.
    pub(crate) weight: f64,
    /// Where the particles go, with log weights.
    pub(crate) out: &'a mut Vec<Particle>,
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
            past: None,
        });
    }

    /// The hypotheses under which one curve goes through all readings.
    pub(crate) fn whole(&mut self, start: (f64, f64)) {
        let first = Sums::of(self.whole, self.left, start);
        let l = end_likelihood(self.whole, self.left, self.prior.og, &first, *self.best);
        *self.best = self.best.max(l.height());
        let p = self.prior;
        let now_left = self.left.last().copied().unwrap_or(1.0);
        // Not yet stopped: those that will are healthy so far.
        let healthy = 1.0 - p.sticks + p.sticks * STOPS * now_left;
        for (share, end) in [(1.0 - p.plan_wrong, p.end), (p.plan_wrong, p.end_wide)] {
            let e = l.with_normal(end);
            self.push(
                quick::ln(healthy * share),
                Hypothesis::Healthy,
                &l,
                e,
                e.mean,
            );
        }
        let low = SUGAR_LEFT;
        let high = p.og.mean * 0.93;
        if let Some(e) = l.with_even(low, high) {
            let log_prior = quick::ln(p.sticks * RUNS_DOWN) + p.run_down_shape(&self.at);
            self.push(log_prior, Hypothesis::RunsDown, &l, e, 0.0);
        }
    }

    /// Whether the curve passes the gap of a stop nowhere near its level, so that
    /// the dearer sum can be spared.
    fn far_from(&self, stop: &Stop) -> bool {
        let p = self.prior;
        let slack = 4.0 * (p.og.sd.min(0.006) + p.end.sd) + 3.0 * stop.level.sd;
        let level = stop.level.mean;
        let (y0, y1) = (self.left[stop.after], self.left[stop.after + 1]);
        // Or is at its end before it.
        let most = p.og.mean + 4.0 * (p.og.sd + p.end.sd);
        most * y0 < SUGAR_LEFT || level > p.og.mean * y0 + slack || level < p.og.mean * y1 - slack
    }

    /// It stopped in the gap after one of several readings, the earliest first.
    pub(crate) fn stopped(&mut self, tries: &mut [Try<'_>], hazard: &[f64]) {
        let start = (self.prior.og.mean, 0.0);
        let (mut first, mut added) = (Sums::default(), 0);
        for stop in tries {
            if self.far_from(stop.stop) {
                continue;
            }
            // What one stop sums up is the beginning of what the next does.
            for i in added..=stop.stop.after {
                let (g, p) = (self.whole.gravity[i], self.whole.per_sd[i]);
                first.add(self.left[i], g, p, start);
            }
            added = stop.stop.after + 1;
            self.stopped_after(stop, &first, hazard[stop.stop.after]);
        }
    }

    fn stopped_after(&mut self, tried: &mut Try<'_>, first: &Sums, hazard: f64) {
        let stop = tried.stop;
        let j = stop.after;
        let l = end_likelihood(
            &tried.before,
            &self.left[..=j],
            self.prior.og,
            first,
            tried.best,
        );
        if l.height() < tried.best - HOPELESS {
            return;
        }
        tried.best = tried.best.max(l.height());
        let e = l.with_normal(self.prior.end);
        let og = l.og_at - l.og_slope * e.mean;
        let (y0, y1) = (self.left[j], self.left[j + 1]);
        // No end: below what the curve has before the stop, above what it has after.
        let high = e.mean + (og - e.mean) * y0.min(0.97);
        let low = (e.mean + (og - e.mean) * y1).max(e.mean + SUGAR_LEFT);
        let drop = (og - e.mean).max(0.005);
        // The curve's own uncertainty at the stop.
        let blur = l.og_var * y0 * y0 + e.sd * e.sd * (1.0 - y0) * (1.0 - y0);
        let sd = (stop.level.sd.powi(2) + blur).sqrt();
        let mass = normal::between((low - stop.level.mean) / sd, (high - stop.level.mean) / sd);
        if mass <= 1e-200 {
            return;
        }
        let width = stop.level.sd * ROOT_TAU;
        let seen = stop.level.height + quick::ln(mass * width / drop);
        let usual = self.prior.sticks * STOPS;
        let odds = usual / (1.0 - usual) * hazard;
        let log_prior = quick::ln(odds / (1.0 + odds));
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

/// No fall at all since the pitch.
pub(crate) fn never_started(series: &Series, prior: &Prior) -> Option<Particle> {
    let readings = Readings::new(&series.gravity, &series.per_sd);
    let flat = vec![1.0; series.len()];
    let first = Sums::of(&readings, &flat, (prior.og.mean, 0.0));
    let l = end_likelihood(&readings, &flat, prior.og, &first, f64::NEG_INFINITY);
    let e = l.with_normal(prior.end);
    (series.len() > 0).then(|| Particle {
        weight: e.evidence + (prior.sticks * NEVER_STARTS).ln(),
        hypothesis: Hypothesis::NeverStarted,
        curve: prior.frame.curve(&prior.mean),
        end: l.og_at,
        end_sd: l.og_var.sqrt(),
        og_at: l.og_at,
        og_slope: 0.0,
        og_sd: l.og_var.sqrt(),
        healthy_end: 0.0,
        peak: (0.0, 0.0),
        past: None,
    })
}
