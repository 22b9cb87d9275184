//! What the particles say together: states, spreads, the trend.

use super::posterior::{Hypothesis, Particle};
use super::prior::{AT_END, FLAT, LAG_OVER, Prior, SLOWING, SUGAR_LEFT};
use super::thermal::{ThermalClock, speed};
use super::{FermentState, Spread};

/// Below this share of the speed at 20 °C a still ferment may be still from cold alone.
const COLD_SPEED: f64 = 0.35;

/// The particles with what is needed to read them at a time.
pub(crate) struct Picture<'a> {
    /// The posterior.
    pub(crate) particles: &'a [Particle],
    /// Time against thermal time.
    pub(crate) clock: &'a ThermalClock,
    /// The prior, for its scale.
    pub(crate) prior: &'a Prior,
    /// Days of the readings, for the gaps in which it may have stopped.
    pub(crate) days: &'a [f64],
}

/// What one particle says of one moment.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Moment1 {
    /// State.
    pub(crate) state: FermentState,
    /// Gravity less the reference, mean.
    pub(crate) gravity: f64,
    /// Its standard deviation.
    pub(crate) sd: f64,
    /// Fall a day.
    pub(crate) rate: f64,
}

impl Picture<'_> {
    /// One particle at `t` days.
    pub(crate) fn at(&self, p: &Particle, t: f64) -> Moment1 {
        match p.hypothesis {
            Hypothesis::Healthy | Hypothesis::RunsDown => self.on_curve(p, t),
            Hypothesis::Stopped { after } => self.stopped(p, t, after),
            Hypothesis::NeverStarted => Moment1 {
                state: if t < self.prior.patience {
                    FermentState::Lag
                } else {
                    FermentState::Stuck
                },
                gravity: p.og_at,
                sd: p.og_sd,
                rate: 0.0,
            },
        }
    }

    fn on_curve(&self, p: &Particle, t: f64) -> Moment1 {
        let tau = self.clock.thermal(t);
        let pace = speed(self.clock.temperature(t));
        let (left, thermal_rate) = p.curve.left_and_rate(tau);
        let drop = p.og() - p.end;
        let rate = drop * thermal_rate * pace;
        Moment1 {
            state: self.curve_state(p, tau, pace, (left, thermal_rate), drop),
            gravity: p.end + drop * left,
            sd: curve_sd(p, left),
            rate,
        }
    }

    fn curve_state(
        &self,
        p: &Particle,
        tau: f64,
        pace: f64,
        (left, rate): (f64, f64),
        drop: f64,
    ) -> FermentState {
        let runs_down = p.hypothesis == Hypothesis::RunsDown;
        let over = drop * left;
        if !runs_down && over <= AT_END {
            return FermentState::Finished;
        }
        if 1.0 - left < LAG_OVER {
            return FermentState::Lag;
        }
        let (peak, peak_at) = p.curve.peak();
        let flat = rate * drop * pace < FLAT;
        if runs_down && tau > peak_at && flat {
            return FermentState::Stuck;
        }
        if flat && over > SUGAR_LEFT && pace < COLD_SPEED && rate * drop > FLAT {
            return FermentState::Stuck;
        }
        if tau > peak_at && rate < SLOWING * peak {
            FermentState::Slowing
        } else {
            FermentState::Active
        }
    }

    fn stopped(&self, p: &Particle, t: f64, after: usize) -> Moment1 {
        let since = self.days.get(after + 1).copied().unwrap_or(t);
        let before = self.days.get(after).copied().unwrap_or(0.0);
        if t <= before {
            let left = p.curve.left(self.clock.thermal(t));
            let drop = p.og() - p.healthy_end;
            let gravity = (p.healthy_end + drop * left).max(p.end);
            return Moment1 {
                state: FermentState::Active,
                gravity,
                sd: curve_sd(p, left),
                rate: 0.0,
            };
        }
        let mut gravity = p.end;
        if t < since {
            let left = p.curve.left(self.clock.thermal(t));
            let drop = p.og() - p.healthy_end;
            gravity = (p.healthy_end + drop * left).max(p.end);
        }
        Moment1 {
            state: FermentState::Stuck,
            gravity,
            sd: p.end_sd,
            rate: 0.0,
        }
    }

    /// Probability of each state at `t` days.
    pub(crate) fn states(&self, t: f64) -> [f64; 5] {
        let mut by_state = [0.0; 5];
        for p in self.particles {
            by_state[self.at(p, t).state as usize] += p.weight;
        }
        by_state
    }

    /// Days at which a healthy particle is within 0.001 of its end.
    pub(crate) fn finish(&self, p: &Particle) -> f64 {
        let drop = (p.og() - p.end).max(2.0 * AT_END);
        self.clock.days(p.curve.when_left(AT_END / drop))
    }

    /// Spread of the finish, given that it gets there.
    pub(crate) fn finish_spread(&self) -> Option<Spread<f64>> {
        let times = self
            .particles
            .iter()
            .filter(|p| p.hypothesis == Hypothesis::Healthy)
            .map(|p| (self.finish(p), p.weight))
            .collect();
        spread(times)
    }

    /// Spread of the gravity in the end if nothing is done, less the reference.
    pub(crate) fn end_spread(&self) -> Option<Spread<f64>> {
        spread(smeared(
            self.particles.iter().map(|p| (p.end, p.end_sd, p.weight)),
        ))
    }

    /// Spread of the gravity at `t`, less the reference.
    pub(crate) fn gravity_spread(&self, t: f64) -> Option<Spread<f64>> {
        spread(smeared(self.particles.iter().map(|p| {
            let m = self.at(p, t);
            (m.gravity, m.sd, p.weight)
        })))
    }
}

fn curve_sd(p: &Particle, left: f64) -> f64 {
    let by_end = (1.0 - left) - left * p.og_slope;
    ((left * p.og_sd).powi(2) + (by_end * p.end_sd).powi(2)).sqrt()
}

/// Five points that stand for a normal distribution, each a fifth of it.
const FIFTHS: [f64; 5] = [-1.3998, -0.5319, 0.0, 0.5319, 1.3998];

/// Each normal as five points.
fn smeared(normals: impl Iterator<Item = (f64, f64, f64)>) -> Vec<(f64, f64)> {
    normals
        .filter(|n| n.2 > 1e-5)
        .flat_map(|(mean, sd, weight)| FIFTHS.map(|z| (mean + z * sd, weight / 5.0)))
        .collect()
}

/// Weighted tenth, half and nine tenths, with straight lines between the values.
pub(crate) fn spread(mut values: Vec<(f64, f64)>) -> Option<Spread<f64>> {
    values.retain(|v| v.0.is_finite() && v.1 > 0.0);
    if values.is_empty() {
        return None;
    }
    values.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = values.iter().map(|v| v.1).sum();
    let at = |share: f64| {
        let goal = share * total;
        let mut below = 0.0;
        let mut previous: Option<(f64, f64)> = None;
        for &(x, w) in &values {
            let middle = below + 0.5 * w;
            if middle >= goal {
                return match previous {
                    Some((x0, m0)) => x0 + (x - x0) * (goal - m0) / (middle - m0).max(1e-300),
                    None => x,
                };
            }
            previous = Some((x, middle));
            below += w;
        }
        values[values.len() - 1].0
    };
    Some(Spread {
        p10: at(0.1),
        p50: at(0.5),
        p90: at(0.9),
    })
}
