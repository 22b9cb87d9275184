//! What the particles say together: states, spreads, the trend.

use super::assess::SAY_OTHER;
use super::posterior::{Belief, Hypothesis, Particle, Woke};
use super::prior::{AT_END, FLAT, LAG_OVER, Prior, SLOWING, STOPS, SUGAR_LEFT};
use super::thermal::{ThermalClock, speed};
use super::{FermentState, Spread};

/// Below this share of the speed at 20 °C a still ferment may be still from cold alone.
const COLD_SPEED: f64 = 0.35;

/// Stuck is said of a ferment that will be by this many days from now: until
/// the next reading is when the word is read.
const AHEAD: f64 = 1.0;
/// Share of what was left that is gone when one that stood still is seen to go on.
const BEGUN: f64 = 0.02;
/// Further than this above its end it was seen falling, not ending: twice what
/// one reading can tell.
const FAR: f64 = 0.003;
/// Particles that stand for all where only a middle is wanted.
const HEAVIEST: usize = 64;

/// The particles with what is needed to read them at a time.
pub(crate) struct Picture<'a> {
    /// The posterior.
    pub(crate) particles: &'a [Particle],
    /// Courses until a stretch in which it stood still, of those that went on.
    pasts: &'a [Particle],
    /// Time against thermal time.
    pub(crate) clock: &'a ThermalClock,
    /// The prior, for its scale.
    pub(crate) prior: &'a Prior,
    /// Days of the readings, for the gaps in which it may have stopped.
    pub(crate) days: &'a [f64],
    /// Probability of being stuck now or within a day.
    pub(crate) soon_stuck: f64,
    /// Thermal time at the last reading.
    last_thermal: f64,
    /// Each particle now.
    pub(crate) here: Vec<Instant>,
    /// Chance that each has stopped since it was last read.
    pub(crate) stopped: Vec<f64>,
    /// When each healthy particle is at its end, in days; others never.
    pub(crate) finishes: Vec<f64>,
    /// Whether it should be at its end by now though it was far from it when it
    /// was last looked at.
    pub(crate) unseen: bool,
}

/// A time with what the clock says of it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Time {
    days: f64,
    thermal: f64,
    pace: f64,
}

/// What one particle says of one moment.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Instant {
    /// State.
    pub(crate) state: FermentState,
    /// Gravity less the reference, mean.
    pub(crate) gravity: f64,
    /// Its standard deviation.
    pub(crate) sd: f64,
    /// Fall a day.
    pub(crate) rate: f64,
}

impl<'a> Picture<'a> {
    /// Reads the particles `now` days after the pitch.
    pub(crate) fn new(
        belief: &'a Belief,
        clock: &'a ThermalClock,
        prior: &'a Prior,
        days: &'a [f64],
        now: f64,
    ) -> Self {
        let mut picture = Self {
            particles: &belief.particles,
            pasts: &belief.pasts,
            clock,
            prior,
            days,
            soon_stuck: 0.0,
            last_thermal: clock.thermal(days.last().copied().unwrap_or(0.0)),
            here: Vec::new(),
            stopped: Vec::new(),
            finishes: Vec::new(),
            unseen: false,
        };
        picture.here = picture.all_at(now);
        picture.stopped = picture
            .now()
            .map(|(p, i)| picture.stopped_since(p, i))
            .collect();
        picture.soon_stuck = picture.stuck_at(now + AHEAD);
        picture.finishes = belief.particles.iter().map(|p| picture.finish(p)).collect();
        picture.unseen = picture.ended_unseen();
        picture
    }

    /// Particles with what they say of now.
    pub(crate) fn now(&self) -> impl Iterator<Item = (&Particle, &Instant)> + '_ {
        self.particles.iter().zip(&self.here)
    }

    fn all_at(&self, t: f64) -> Vec<Instant> {
        let time = self.time(t);
        self.particles.iter().map(|p| self.at(p, &time)).collect()
    }

    /// What the clock says of `t`.
    pub(crate) fn time(&self, t: f64) -> Time {
        Time {
            days: t,
            thermal: self.clock.thermal(t),
            pace: speed(self.clock.temperature(t)),
        }
    }

    /// One particle at a time.
    pub(crate) fn at(&self, p: &Particle, time: &Time) -> Instant {
        if let Some(past) = self.past(p, time) {
            return self.at(past, time);
        }
        match p.hypothesis {
            Hypothesis::Healthy | Hypothesis::RunsDown => on_curve(p, time),
            Hypothesis::Stopped { after } => self.stopped(p, time, after),
            Hypothesis::NeverStarted => Instant {
                state: if time.days < self.prior.patience {
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

    /// What held until it stood still, at a time before it went on.
    fn past(&self, p: &Particle, time: &Time) -> Option<&'a Particle> {
        let past = self.pasts.get(p.past?)?;
        (time.thermal < p.curve.from()).then_some(past)
    }

    /// Gravity and its standard deviation under one particle at several times.
    pub(crate) fn along(&self, p: &Particle, times: &[Time]) -> Vec<(f64, f64)> {
        if times.iter().any(|t| self.past(p, t).is_some()) {
            let at = |t| self.at(p, t);
            return times.iter().map(at).map(|at| (at.gravity, at.sd)).collect();
        }
        match p.hypothesis {
            Hypothesis::Healthy | Hypothesis::RunsDown => {
                let thermal: Vec<f64> = times.iter().map(|t| t.thermal).collect();
                let mut left = vec![0.0; times.len()];
                p.curve.fill(&thermal, &mut left);
                let drop = p.og() - p.end;
                left.into_iter()
                    .map(|y| (p.end + drop * y, curve_sd(p, y)))
                    .collect()
            }
            Hypothesis::Stopped { .. } | Hypothesis::NeverStarted => times
                .iter()
                .map(|t| self.at(p, t))
                .map(|at| (at.gravity, at.sd))
                .collect(),
        }
    }

    fn stopped(&self, p: &Particle, time: &Time, after: usize) -> Instant {
        let before = self.days.get(after).copied().unwrap_or(0.0);
        let since = self.days.get(after + 1).copied().unwrap_or(time.days);
        let still = Instant {
            state: FermentState::Stuck,
            gravity: p.end,
            sd: p.end_sd,
            rate: 0.0,
        };
        if time.days >= since {
            return still;
        }
        let left = p.curve.left(time.thermal);
        let curve = p.healthy_end + (p.og() - p.healthy_end) * left;
        Instant {
            state: if time.days <= before {
                FermentState::Active
            } else {
                FermentState::Stuck
            },
            gravity: curve.max(p.end),
            sd: curve_sd(p, left),
            rate: 0.0,
        }
    }

    /// Probability of each state now.
    pub(crate) fn states(&self) -> [f64; 5] {
        let mut by_state = [0.0; 5];
        for ((p, here), stopped) in self.now().zip(&self.stopped) {
            by_state[here.state as usize] += p.weight * (1.0 - stopped);
            by_state[FermentState::Stuck as usize] += p.weight * stopped;
        }
        by_state
    }

    /// Chance that one which was healthy when it was last read has stopped since.
    fn stopped_since(&self, p: &Particle, here: &Instant) -> f64 {
        if p.hypothesis != Hypothesis::Healthy {
            return 0.0;
        }
        let drop = (p.og() - p.end).max(0.002);
        let then = p.curve.left(self.last_thermal);
        let now = ((here.gravity - p.end) / drop).max(SUGAR_LEFT / drop);
        let sticks = self.prior.sticks;
        let stops = sticks * STOPS * (then - now).max(0.0);
        stops / (1.0 - sticks + sticks * STOPS * then)
    }

    /// Whether it should be at its end by now though it was far from it when it
    /// was last looked at.
    fn ended_unseen(&self) -> bool {
        let finished = self.states()[FermentState::Finished as usize];
        finished >= SAY_OTHER && self.far_from_end(self.days.last().copied().unwrap_or(0.0)) > 0.5
    }

    /// Probability that at a time it was still far above its end.
    fn far_from_end(&self, t: f64) -> f64 {
        let time = self.time(t);
        let far = |p: &&Particle| self.at(p, &time).gravity - p.end > FAR;
        let sum: f64 = self.healthy().filter(far).map(|p| p.weight).sum();
        sum / self.likely_healthy().max(1e-9)
    }

    fn healthy(&self) -> impl Iterator<Item = &Particle> + '_ {
        let healthy = |p: &&Particle| p.hypothesis == Hypothesis::Healthy;
        self.particles.iter().filter(healthy)
    }

    /// Probability that it goes, or went, to its end.
    fn likely_healthy(&self) -> f64 {
        self.healthy().map(|p| p.weight).sum()
    }

    /// Probability of being stuck now or at `t` days. That a lag is borne with no
    /// longer is a date, not news of the ferment: it is not said beforehand.
    fn stuck_at(&self, t: f64) -> f64 {
        let time = self.time(t);
        let stuck = |(p, here): &(&Particle, &Instant)| {
            here.state == FermentState::Stuck
                || p.hypothesis != Hypothesis::NeverStarted
                    && self.at(p, &time).state == FermentState::Stuck
        };
        self.now().filter(stuck).map(|(p, _)| p.weight).sum()
    }

    /// Days at which a healthy particle is within 0.001 of its end.
    fn finish(&self, p: &Particle) -> f64 {
        if p.hypothesis != Hypothesis::Healthy {
            return f64::INFINITY;
        }
        let drop = (p.og() - p.end).max(2.0 * AT_END);
        self.clock.days(p.curve.when_left(AT_END / drop))
    }

    /// Spread of the finish, given that it gets there.
    pub(crate) fn finish_spread(&self) -> Option<Spread<f64>> {
        spread(
            self.finishes
                .iter()
                .copied()
                .zip(self.particles.iter().map(|p| p.weight))
                .collect(),
        )
    }

    /// Spread of the gravity in the end if nothing is done, less the reference:
    /// given that it gets to its end, as the finish is, until it is likelier
    /// stuck than not.
    pub(crate) fn end_spread(&self) -> Option<Spread<f64>> {
        let healthy = |p: &Particle| p.hypothesis == Hypothesis::Healthy;
        let all = self.soon_stuck >= 0.5 || self.likely_healthy() < HARDLY;
        let ends = self.particles.iter().filter(|p| all || healthy(p));
        spread(smeared(ends.map(|p| (p.end, p.end_sd, p.weight))))
    }

    /// Spread of the gravity now, less the reference.
    pub(crate) fn gravity_spread(&self) -> Option<Spread<f64>> {
        spread(smeared(
            self.now()
                .map(|(p, here)| (here.gravity, here.sd, p.weight)),
        ))
    }

    /// Spread of the fall a day now.
    pub(crate) fn rate_spread(&self) -> Option<Spread<f64>> {
        spread(self.now().map(|(p, here)| (here.rate, p.weight)).collect())
    }

    /// What a healthy ferment would lose a day at this gravity and temperature.
    pub(crate) fn healthy_rate(&self, t: f64) -> f64 {
        let time = self.time(t);
        let mut sum = 0.0;
        let mut total = 0.0;
        for i in self.heaviest(HEAVIEST) {
            let p = &self.particles[i];
            let rate = match p.hypothesis {
                Hypothesis::Healthy => self.here[i].rate,
                Hypothesis::Stopped { .. } => {
                    let drop = (p.og() - p.healthy_end).max(0.002);
                    let left = ((p.end - p.healthy_end) / drop).clamp(1e-6, 0.97);
                    drop * p.curve.left_and_rate(p.curve.when_left(left)).1 * time.pace
                }
                Hypothesis::RunsDown | Hypothesis::NeverStarted => continue,
            };
            sum += p.weight * rate;
            total += p.weight;
        }
        if total < 0.02 {
            return self.usual_rate() * time.pace;
        }
        sum / total
    }

    /// The same by the middle of the prior, where no particle is healthy.
    fn usual_rate(&self) -> f64 {
        let drop = self.prior.og.mean.max(0.005);
        let gravity: f64 = self.now().map(|(p, here)| p.weight * here.gravity).sum();
        let curve = self.prior.frame.curve(&self.prior.mean);
        let left = (gravity / drop).clamp(0.001, 0.9);
        drop * curve.left_and_rate(curve.when_left(left)).1
    }

    /// Mean original gravity, less the reference.
    pub(crate) fn mean_og(&self) -> f64 {
        if self.particles.is_empty() {
            return self.prior.must.unwrap_or(self.prior.og.mean);
        }
        self.particles.iter().map(|p| p.weight * self.must(p)).sum()
    }

    /// Gravity of the must at the start under one particle, less the reference.
    pub(crate) fn must(&self, p: &Particle) -> f64 {
        match p.past.and_then(|past| self.pasts.get(past)) {
            Some(past) => self.must(past),
            None => self.prior.must.unwrap_or_else(|| p.og()),
        }
    }

    /// Mean of the end that a healthy ferment would reach, less the reference.
    pub(crate) fn healthy_end(&self) -> f64 {
        self.particles
            .iter()
            .map(|p| p.weight * p.healthy_end)
            .sum()
    }

    /// Probability that it is stuck or will be.
    pub(crate) fn ever_stuck(&self, now: f64) -> f64 {
        // A moment on, so that another future temperature counts.
        let soon = self.time(now + 0.05);
        let sticks = self.prior.sticks;
        self.particles
            .iter()
            .map(|p| {
                let chance = match p.hypothesis {
                    Hypothesis::Healthy if self.at(p, &soon).state == FermentState::Stuck => 1.0,
                    Hypothesis::Healthy => {
                        let yet = sticks * STOPS * p.curve.left(soon.thermal);
                        yet / (1.0 - sticks + yet)
                    }
                    _ => 1.0,
                };
                chance * p.weight
            })
            .sum()
    }

    /// About when it went on after a stretch in which it stood still.
    pub(crate) fn woke_at(&self, woke: &Woke) -> Option<f64> {
        let stretch = (*self.days.get(woke.until)?, *self.days.get(woke.until + 1)?);
        // After this stretch, not before it: there may have been another.
        let begun = self
            .particles
            .iter()
            .filter(|p| p.past.is_some() && self.clock.days(p.curve.from()) > stretch.0 - 0.01);
        let at = |p: &Particle| {
            let begun = self.clock.days(p.curve.when_left(1.0 - BEGUN));
            (begun.clamp(stretch.0, stretch.1), p.weight)
        };
        spread(begun.map(at).collect()).map(|s| s.p50)
    }

    /// When it stopped, under the particles by which it has.
    pub(crate) fn stuck_since(&self, now: f64) -> Option<Spread<f64>> {
        spread(
            self.heaviest(HEAVIEST)
                .into_iter()
                .filter(|i| self.here[*i].state == FermentState::Stuck)
                .map(|i| &self.particles[i])
                .map(|p| (self.since(p, now).clamp(0.0, now), p.weight))
                .collect(),
        )
    }

    fn since(&self, p: &Particle, now: f64) -> f64 {
        let drop = (p.og() - p.curve_end()).max(0.002);
        match p.hypothesis {
            Hypothesis::NeverStarted => 0.0,
            Hypothesis::Stopped { after } => {
                let left = ((p.end - p.healthy_end) / drop).clamp(1e-4, 1.0);
                let from = self.days.get(after).copied().unwrap_or(0.0);
                let to = self.days.get(after + 1).copied().unwrap_or(now);
                self.clock.days(p.curve.when_left(left)).clamp(from, to)
            }
            Hypothesis::RunsDown => {
                let pace = speed(self.clock.temperature(now)).max(0.05);
                let peak_at = p.peak.1;
                self.clock
                    .days(p.curve.when_rate(FLAT / (drop * pace), peak_at))
            }
            Hypothesis::Healthy => {
                let mut t = now;
                while t > 0.0 && speed(self.clock.temperature(t)) < COLD_SPEED {
                    t -= 0.5;
                }
                t
            }
        }
    }

    /// Indices of the heaviest particles.
    pub(crate) fn heaviest(&self, count: usize) -> Vec<usize> {
        let mut all: Vec<usize> = (0..self.particles.len()).collect();
        let weight = |i: &usize| self.particles[*i].weight;
        if all.len() > count {
            all.select_nth_unstable_by(count, |a, b| {
                weight(b).total_cmp(&weight(a)).then(a.cmp(b))
            });
            all.truncate(count);
        }
        all
    }

    /// So many particles that stand for all, each for the same share.
    pub(crate) fn evenly(&self, count: usize) -> Vec<&Particle> {
        let mut out = Vec::with_capacity(count);
        let mut below = 0.0;
        for p in self.particles {
            below += p.weight;
            while out.len() < count && below * count as f64 > out.len() as f64 + 0.5 {
                out.push(p);
            }
        }
        out
    }
}

fn on_curve(p: &Particle, time: &Time) -> Instant {
    let (left, thermal_rate) = p.curve.left_and_rate(time.thermal);
    let drop = p.og() - p.end;
    Instant {
        state: curve_state(p, time, (left, thermal_rate), drop),
        gravity: p.end + drop * left,
        sd: curve_sd(p, left),
        rate: drop * thermal_rate * time.pace,
    }
}

fn curve_state(p: &Particle, time: &Time, (left, rate): (f64, f64), drop: f64) -> FermentState {
    let runs_down = p.hypothesis == Hypothesis::RunsDown;
    let over = drop * left;
    if !runs_down && over <= AT_END {
        return FermentState::Finished;
    }
    let flat = rate * drop * time.pace < FLAT;
    if 1.0 - left < LAG_OVER && (p.past.is_none() || flat) {
        // One that stood still stands still until it goes on.
        return match p.past {
            None => FermentState::Lag,
            Some(_) => FermentState::Stuck,
        };
    }
    let (peak, peak_at) = p.peak;
    let past = time.thermal > peak_at;
    if runs_down && past && flat {
        return FermentState::Stuck;
    }
    // Still from cold alone: warm, it would move.
    if flat && over > SUGAR_LEFT && time.pace < COLD_SPEED && rate * drop > FLAT {
        return FermentState::Stuck;
    }
    if past && rate < SLOWING * peak {
        FermentState::Slowing
    } else {
        FermentState::Active
    }
}

fn curve_sd(p: &Particle, left: f64) -> f64 {
    let by_end = (1.0 - left) - left * p.og_slope;
    ((left * p.og_sd).powi(2) + (by_end * p.end_sd).powi(2)).sqrt()
}

/// Five points that stand for a normal distribution, each a fifth of it.
const FIFTHS: [f64; 5] = [-1.3998, -0.5319, 0.0, 0.5319, 1.3998];

/// Probability below which nobody reckons with an end as planned.
const HARDLY: f64 = 0.05;

/// Each normal as five points.
fn smeared(normals: impl Iterator<Item = (f64, f64, f64)>) -> Vec<(f64, f64)> {
    normals
        .filter(|n| n.2 > 2e-4)
        .flat_map(|(mean, sd, weight)| FIFTHS.map(|z| (mean + z * sd, weight / 5.0)))
        .collect()
}

/// Weighted tenth, half and nine tenths, with straight lines between the values.
pub(crate) fn spread(mut values: Vec<(f64, f64)>) -> Option<Spread<f64>> {
    values.retain(|v| v.0.is_finite() && v.1 > 0.0);
    if values.is_empty() {
        return None;
    }
    let total: f64 = values.iter().map(|v| v.1).sum();
    let mut at = |share: f64| quantile(&mut values, share * total);
    Some(in_order(at(0.1), at(0.5), at(0.9)))
}

/// Never out of order by a last digit.
fn in_order(low: f64, middle: f64, high: f64) -> Spread<f64> {
    Spread {
        p10: low.min(middle),
        p50: middle,
        p90: high.max(middle),
    }
}

/// Tenth, half and nine tenths of values in order, all of the same weight, as
/// [`spread`] has them.
pub(crate) fn even_spread(values: &[f64]) -> Option<Spread<f64>> {
    let last = values.len().checked_sub(1)?;
    let at = |share: f64| {
        // The middle of the weight of the nth value is at n + 1/2.
        let place = (share * values.len() as f64 - 0.5).clamp(0.0, last as f64);
        let (below, part) = (place as usize, place.fract());
        values[below] + part * (values[(below + 1).min(last)] - values[below])
    };
    Some(in_order(at(0.1), at(0.5), at(0.9)))
}

/// Where the middle of the weights comes to `goal`. The values are put in order
/// only where it lies: a few of them, where all would be sorted.
fn quantile(values: &mut [(f64, f64)], goal: f64) -> f64 {
    let by_value = |a: &(f64, f64), b: &(f64, f64)| a.0.total_cmp(&b.0);
    let middle = |below: f64, v: &(f64, f64)| below + 0.5 * v.1;
    // All before `from` lie below, with `below` in sum; the greatest of them
    // falls short of the goal, and the least from `to` on does not.
    let (mut from, mut to, mut below) = (0, values.len(), 0.0);
    let mut previous: Option<(f64, f64)> = None;
    while to - from > FEW {
        let half = (to - from) / 2;
        let (less, mid, _) = values[from..to].select_nth_unstable_by(half, by_value);
        let until: f64 = below + less.iter().map(|v| v.1).sum::<f64>();
        let here = middle(until, mid);
        if here >= goal {
            to = from + half + 1;
        } else {
            previous = Some((mid.0, here));
            below = until + mid.1;
            from += half + 1;
        }
    }
    values[from..to].sort_unstable_by(by_value);
    for v in &values[from..to] {
        let here = middle(below, v);
        if here >= goal {
            return match previous {
                Some((x0, m0)) => x0 + (v.0 - x0) * (goal - m0) / (here - m0).max(1e-300),
                None => v.0,
            };
        }
        previous = Some((v.0, here));
        below += v.1;
    }
    previous.map_or(f64::NAN, |p| p.0)
}

/// So few values are sorted outright.
const FEW: usize = 24;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::units::Gravity;
    use crate::engine::{Facts, OriginalGravity, Style};

    const OG: f64 = 0.102;
    /// Where a healthy one ends.
    const END: f64 = 0.004;

    fn prior() -> Prior {
        let mut facts = Facts::of(Style::Mead);
        facts.og = Some(OriginalGravity::Measured(Gravity::known(1.100)));
        Prior::new(&facts, None, None)
    }

    /// A usual course from 0.102 above the reference down to its healthy end.
    fn particle(prior: &Prior, hypothesis: Hypothesis, end: f64) -> Particle {
        let curve = prior.frame.curve(&prior.mean);
        Particle {
            weight: 1.0,
            hypothesis,
            curve,
            end,
            end_sd: 0.002,
            og_at: OG,
            og_slope: 0.0,
            og_sd: 0.001,
            healthy_end: END,
            peak: curve.peak(),
            past: None,
        }
    }

    fn belief(particle: Particle) -> Belief {
        Belief {
            particles: vec![particle],
            pasts: vec![],
            evidence: 0.0,
            woke: None,
        }
    }

    fn steady(now: f64) -> ThermalClock {
        ThermalClock::new(vec![(0.0, 20.0), (60.0, 20.0)], 20.0, now)
    }

    /// It follows the course until the last reading before the stop, stands at its level from
    /// the first one after it, and between the two it never lies below that level.
    #[test]
    fn a_stopped_one_follows_its_course_until_it_stands() {
        let prior = prior();
        let clock = steady(40.0);
        let curve = prior.frame.curve(&prior.mean);
        let middle = clock.days(curve.when_left(0.5));
        let (level, days) = (
            0.5 * (OG + END),
            [0.0, middle - 1.0, middle + 2.0, middle + 9.0],
        );
        let one = belief(particle(&prior, Hypothesis::Stopped { after: 1 }, level));
        let picture = Picture::new(&one, &clock, &prior, &days, 40.0);
        let at = |t: f64| picture.at(&one.particles[0], &picture.time(t));
        let course = |t: f64| END + (OG - END) * curve.left(clock.thermal(t));
        for t in [0.5, 2.0, middle - 2.0, middle - 1.0] {
            let here = at(t);
            assert!((here.gravity - course(t)).abs() < 1e-9, "{t}: {here:?}");
            assert_eq!(here.state, FermentState::Active);
            // The level is not known of the course: its error is that of the original gravity
            // and of the healthy end, each by what there is of it.
            let left = curve.left(clock.thermal(t));
            let sd = (left * 0.001).hypot((1.0 - left) * 0.002);
            assert!((here.sd - sd).abs() < 1e-9);
        }
        for t in [middle - 0.5, middle, middle + 1.0] {
            let here = at(t);
            assert!(
                (here.gravity - course(t).max(level)).abs() < 1e-9,
                "{t}: {here:?}"
            );
            assert_eq!(here.state, FermentState::Stuck);
        }
        for t in [middle + 2.0, middle + 9.0, 40.0] {
            let here = at(t);
            assert!((here.gravity - level).abs() < 1e-12 && here.rate.abs() < 1e-12);
            assert!((here.sd - 0.002).abs() < 1e-12);
            assert_eq!(here.state, FermentState::Stuck);
        }
        // It stopped when the course came down to its level.
        let since = picture.stuck_since(40.0).unwrap().p50;
        assert!((since - middle).abs() < 1e-3, "{since} for {middle}");
        // Where that lies outside the gap, at the edge of the gap.
        for (end, edge) in [(0.9 * OG, days[1]), (0.02 * OG, days[2])] {
            let other = particle(&prior, Hypothesis::Stopped { after: 1 }, end);
            assert!((picture.since(&other, 40.0) - edge).abs() < 1e-9);
        }
        // Stopped after the last reading: at the latest now.
        let last = particle(&prior, Hypothesis::Stopped { after: 3 }, 1e-3);
        assert!((picture.since(&last, middle + 9.5) - (middle + 9.5)).abs() < 1e-9);
    }

    /// One that runs down stands since the day on which it fell by less than is seen in a day.
    #[test]
    fn one_that_runs_down_stands_since_it_hardly_fell() {
        let prior = prior();
        for celsius in [15.0, 20.0, 25.0] {
            let clock = ThermalClock::new(vec![(0.0, celsius), (90.0, celsius)], 20.0, 90.0);
            let level = 0.03;
            let one = belief(particle(&prior, Hypothesis::RunsDown, level));
            let picture = Picture::new(&one, &clock, &prior, &[0.0, 20.0], 90.0);
            let since = picture.since(&one.particles[0], 90.0);
            let at = |t: f64| {
                let left = one.particles[0].curve.left(clock.thermal(t));
                level + (OG - level) * left
            };
            let fall = (at(since - 0.05) - at(since + 0.05)) / 0.1;
            assert!((fall / FLAT - 1.0).abs() < 0.03, "{celsius}: {fall}");
        }
    }

    /// A healthy one that stands still from cold has done so since it was cold.
    #[test]
    fn one_that_only_is_cold_stands_since_the_cold() {
        let prior = prior();
        let points = vec![(0.0, 20.0), (10.0, 20.0), (10.1, 5.0), (20.0, 5.0)];
        let clock = ThermalClock::new(points, 20.0, 20.0);
        let one = belief(particle(&prior, Hypothesis::Healthy, END));
        let picture = Picture::new(&one, &clock, &prior, &[0.0, 9.0], 20.0);
        let since = picture.since(&one.particles[0], 20.0);
        assert!((since - 10.0).abs() <= 0.5, "{since}");
        let never = particle(&prior, Hypothesis::NeverStarted, OG);
        assert!(picture.since(&never, 20.0).abs() < 1e-12);
    }

    /// Of many ferments some stick, half of these short of their end and as many at each
    /// gravity: counted out, of those that had not stuck when last read.
    #[test]
    fn the_chance_of_having_stopped_unread_is_that_of_counting() {
        let prior = prior();
        let clock = steady(12.0);
        let one = belief(particle(&prior, Hypothesis::Healthy, END));
        let picture = Picture::new(&one, &clock, &prior, &[0.0, 4.0], 9.0);
        let left = |t: f64| one.particles[0].curve.left(clock.thermal(t));
        let (then, now) = (left(4.0), left(9.0).max(SUGAR_LEFT / (OG - END)));
        let all = 1_000_000.0;
        let short = all * prior.sticks * STOPS;
        let levels = 100_000;
        let per_level = short / f64::from(levels);
        let (mut between, mut below) = (0.0, 0.0);
        for n in 0..levels {
            let level = (f64::from(n) + 0.5) / f64::from(levels);
            below += if level < then { per_level } else { 0.0 };
            between += if level < then && level > now {
                per_level
            } else {
                0.0
            };
        }
        let counted = between / (all * (1.0 - prior.sticks) + below);
        assert!(counted > 1e-3 && (picture.stopped[0] / counted - 1.0).abs() < 1e-3);
        // What is suspected of sticking already is not counted twice.
        let runs_down = belief(particle(&prior, Hypothesis::RunsDown, 0.03));
        let picture = Picture::new(&runs_down, &clock, &prior, &[0.0, 4.0], 9.0);
        assert!(picture.stopped[0].abs() < 1e-12);
    }
}
