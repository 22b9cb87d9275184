use super::posterior::{Particle, posterior};
use super::prior::Prior;
use super::series::Series;
use super::summary::Picture;
use super::thermal::ThermalClock;
use super::{
    Assessment, BottlingGate, BottlingHold, Evidence, Facts, FermentState, Headline, History,
    Observation, Seen, StateProbabilities, StuckReport, TemperaturePoint,
};
use crate::domain::units::{Gravity, Moment, Share};

/// Says what one ferment is doing, from its facts and readings, as of `now`.
///
/// Readings and temperatures may come in any order; those after `now` are left
/// out. Pure, deterministic, and takes any input without a panic.
pub fn assess(
    facts: &Facts,
    readings: &[Observation],
    temperatures: &[TemperaturePoint],
    history: &History,
    now: Moment,
) -> Assessment {
    let _ = history;
    let mut out = empty(now);
    let pitched = facts.pitched.or(readings.first().map(|r| r.at));
    let Some(pitched) = pitched else { return out };
    let now_days = now.days_since(pitched).max(0.0);
    let mut temps: Vec<(f64, f64)> = temperatures
        .iter()
        .map(|p| (p.at.days_since(pitched), p.celsius.get()))
        .collect();
    temps.extend(
        readings
            .iter()
            .filter_map(|r| r.temperature.map(|c| (r.at.days_since(pitched), c.get()))),
    );
    let usual = facts.usual_temperature.map_or(20.0, |c| c.get());
    let clock = ThermalClock::new(temps, usual, now_days);
    let mut seen: Vec<(f64, f64, f64, usize)> = readings
        .iter()
        .enumerate()
        .filter(|(_, r)| r.at <= now)
        .filter_map(|(i, r)| match r.seen {
            Seen::Hydrometer {
                gravity,
                resolution,
            } => {
                let sd = (super::prior::tune(15, 0.0011).powi(2) + resolution.get().powi(2) / 12.0)
                    .sqrt();
                Some((r.at.days_since(pitched), gravity.get(), sd, i))
            }
            _ => None,
        })
        .collect();
    seen.sort_by(|a, b| a.0.total_cmp(&b.0));
    let jitter = super::prior::tune(14, 0.08);
    let steep: Vec<f64> = (0..seen.len())
        .map(|i| {
            let (a, b) = (i.saturating_sub(1), (i + 1).min(seen.len() - 1));
            let dt: f64 = (seen[b].0 - seen[a].0).max(0.25);
            ((seen[a].1 - seen[b].1) / dt).clamp(0.0, 0.06)
        })
        .collect();
    for (s, slope) in seen.iter_mut().zip(steep) {
        s.2 = s.2.hypot(slope * jitter);
    }
    let prior = Prior::new(facts, seen.first().map(|s| s.1));
    let mut series = Series::default();
    for (t, g, sd, i) in seen {
        series.days.push(t);
        series.thermal.push(clock.thermal(t));
        series.gravity.push(g - prior.reference);
        series.per_sd.push(1.0 / sd);
        series.index.push(i);
    }
    let hazard = hazard(&series, &clock, usual);
    let particles: Vec<Particle> = posterior(&series, &prior, &hazard);
    if particles.is_empty() {
        return out;
    }
    if std::env::var("ENG_DBG").is_ok() {
        let mut w = [0.0; 4];
        let mut cs = std::collections::BTreeMap::new();
        for p in &particles {
            match p.hypothesis {
                super::posterior::Hypothesis::Healthy => w[0] += p.weight,
                super::posterior::Hypothesis::RunsDown => w[1] += p.weight,
                super::posterior::Hypothesis::Stopped { after } => {
                    w[2] += p.weight;
                    *cs.entry(after).or_insert(0.0) += p.weight
                }
                super::posterior::Hypothesis::NeverStarted => w[3] += p.weight,
            }
        }
        let ess = 1.0 / particles.iter().map(|p| p.weight * p.weight).sum::<f64>();
        eprintln!(
            "{now_days:.2} healthy {:.3} down {:.3} stop {:.3} never {:.3} ess {ess:.0} {:.2?}",
            w[0], w[1], w[2], w[3], cs
        );
    }
    let picture = Picture {
        particles: &particles,
        clock: &clock,
        prior: &prior,
        days: &series.days,
    };
    out.states = StateProbabilities {
        by_state: picture.states(now_days),
    };
    let stuck = out.states.of(FermentState::Stuck);
    out.stuck = StuckReport {
        probability: stuck,
        since: None,
        ever: stuck,
    };
    let soon = picture.states(now_days + super::prior::tune(39, 1.0))[4].max(stuck.get());
    out.headline = headline(&out.states, soon);
    let gravity = |g: f64| Gravity::clamped(g + prior.reference);
    out.final_gravity = picture.end_spread().map(|s| s.map(gravity));
    out.gravity_now = picture.gravity_spread(now_days).map(|s| s.map(gravity));
    out.finish = picture
        .finish_spread()
        .map(|s| s.map(|d| pitched.plus_days(d)));
    out
}

/// Probability from which stuck is said.
const SAY_STUCK: f64 = 0.6;

fn headline(states: &StateProbabilities, stuck: f64) -> Headline {
    if stuck >= super::prior::tune(40, SAY_STUCK) {
        return Headline::Clear(FermentState::Stuck);
    }
    let mut rest = states.by_state;
    rest[FermentState::Stuck as usize] = 0.0;
    let first = StateProbabilities { by_state: rest }.likeliest();
    if states.of(first).get() < 0.5 {
        let mut others = states.by_state;
        others[first as usize] = 0.0;
        return Headline::Doubtful(first, StateProbabilities { by_state: others }.likeliest());
    }
    Headline::Clear(first)
}

/// How many times likelier a stop is in the gap after each reading.
fn hazard(series: &Series, clock: &ThermalClock, usual: f64) -> Vec<f64> {
    (0..series.len())
        .map(|j| {
            let (a, b) = (
                series.days[j],
                series.days.get(j + 1).copied().unwrap_or(series.days[j]),
            );
            let at = |i: i32| clock.temperature(a + (b - a) * f64::from(i) / 4.0);
            let low = (0..=4).map(at).fold(f64::INFINITY, f64::min);
            let high = (0..=4).map(at).fold(f64::NEG_INFINITY, f64::max);
            if high >= 30.0 {
                super::prior::tune(38, 8.0)
            } else if low < 8.0 || low < usual - 7.0 {
                super::prior::tune(23, 6.0)
            } else {
                1.0
            }
        })
        .collect()
}

fn empty(now: Moment) -> Assessment {
    Assessment {
        now,
        states: StateProbabilities {
            by_state: [1.0, 0.0, 0.0, 0.0, 0.0],
        },
        headline: Headline::Doubtful(FermentState::Lag, FermentState::Active),
        stuck: StuckReport {
            probability: Share::known(0.0),
            since: None,
            ever: Share::known(0.0),
        },
        gravity_now: None,
        final_gravity: None,
        finish: None,
        rate: None,
        alcohol: None,
        sugar_gone: None,
        suspicious: Vec::new(),
        evidence: vec![Evidence::FewReadings { count: 0 }],
        causes: Vec::new(),
        advice: Vec::new(),
        curve: Vec::new(),
        next_reading: None,
        bottling: BottlingGate {
            refermentation: Share::known(1.0),
            holds: vec![BottlingHold::NotRepeated {
                readings: 0,
                days: 0.0,
                days_wanted: 7.0,
                readings_wanted: 3,
            }],
        },
        learned: None,
    }
}
