//! A ferment that stood still and goes on.
//!
//! Two courses, one after the other: until the stretch in which it stood
//! still, a course that stopped or ran down; from there, another one that
//! begins at that level, at a pace of its own. Given the level the two know
//! nothing of each other, so each is summed by itself. Asked only where the
//! readings show such a stretch and a fall after it.

use super::linear::{Level, Normal, ROOT_TAU, Readings, level};
use super::posterior::{Belief, Hypothesis, Particle, Woke, unbroken};
use super::prior::{Prior, SUGAR_LEFT};
use super::series::{Gathered, Series};
use super::{EventKind, Facts};
use std::ops::Neg;

/// What is believed, breaks in the course included.
pub(crate) fn posterior(series: &Series, prior: &Prior, hazard: &[f64], wakes: &[f64]) -> Belief {
    broken(series, prior, hazard, wakes, MOST_BREAKS)
}

/// Breaks within breaks are looked for so deep: three in a row are found.
const MOST_BREAKS: usize = 2;
/// What is less likely than this beside the other is left out.
const NOTHING: f64 = 1e-4;

fn broken(series: &Series, prior: &Prior, hazard: &[f64], wakes: &[f64], breaks: usize) -> Belief {
    let whole = unbroken(series, prior, hazard);
    let Some(still) = still_stretch(series, prior).filter(|_| breaks > 0) else {
        return whole;
    };
    if explained(&whole, series, still.from) {
        return whole;
    }
    let until = still.until;
    let head = series.part(0..=until);
    let stood = broken(
        &head,
        prior,
        &hazard[..=until],
        &wakes[..=until],
        breaks - 1,
    );
    let stood = standing(stood, head.thermal[until]);
    let then = goes_on(&still, prior);
    let rest = rest(series, &still);
    let woken = broken(&rest, &then, &hazard[until..], &wakes[until..], breaks - 1);
    let level_unknown = f64::ln(LEVEL_UNKNOWN * ROOT_TAU);
    let evidence = stood.evidence + wakes[until].ln() + woken.evidence + level_unknown;
    let share = 1.0 / (1.0 + (whole.evidence - evidence).exp());
    let none = stood.particles.is_empty() || woken.particles.is_empty();
    if none || share.is_nan() || share < NOTHING {
        return whole;
    }
    let broken = Broken {
        still,
        stood,
        woken,
        evidence,
    };
    joined(whole, broken, share)
}

/// Readings within so many standard errors of a course are explained by it.
const EXPLAINED: f64 = 2.0;
/// So many of the courses are held against the readings.
const HELD: usize = 12;

/// Whether a course without a break runs along all readings from one on: then
/// a break would add nothing.
fn explained(whole: &Belief, series: &Series, from: usize) -> bool {
    let sum: f64 = whole.particles.iter().map(|p| p.weight).sum();
    evenly(&whole.particles, sum, HELD).iter().any(|p| {
        (from..series.len()).all(|i| {
            let curve =
                || p.curve_end() + (p.og() - p.curve_end()) * p.curve.left(series.thermal[i]);
            let there = match p.hypothesis {
                Hypothesis::Stopped { after } if i > after => p.end,
                Hypothesis::NeverStarted => p.og_at,
                _ => curve(),
            };
            ((series.gravity[i] - there) * series.per_sd[i]).abs() < EXPLAINED
        })
    })
}

/// Spread of the original gravity of what goes on, before its level is read.
const LEVEL_UNKNOWN: f64 = 0.02;

/// Readings that are level, before one that lies lower.
#[derive(Debug, Clone, Copy)]
struct Still {
    from: usize,
    until: usize,
    level: Level,
    /// Time and thermal time of its last reading.
    ends: (f64, f64),
}

/// Least days that a stretch must last, and least fall that must be missing
/// in it, in standard errors of a difference: less is no stop that anybody
/// would speak of.
const LEAST_DAYS: f64 = 1.5;
/// See [`LEAST_DAYS`].
const MISSING: f64 = 3.0;
/// A reading so many standard errors below the level is lower.
const LOWER: f64 = 2.5;
/// Neighbours within so many standard errors of each other may be level.
const LEVEL: f64 = 2.5;

/// The stretch of level readings, followed by a fall, in which most is missing.
fn still_stretch(series: &Series, prior: &Prior) -> Option<Still> {
    let n = series.len();
    let mut best: Option<(f64, Still)> = None;
    for until in 1..n.saturating_sub(1) {
        let from = level_from(series, until);
        let days = series.days[until] - series.days[from];
        let wanted = if from == 0 {
            prior.patience
        } else {
            LEAST_DAYS
        };
        let missing = missing(series, from, until);
        if days < wanted || missing < best.map_or(MISSING, |b| b.0) {
            continue;
        }
        let stretch = from..=until;
        let readings = Readings::new(&series.gravity[stretch.clone()], &series.per_sd[stretch]);
        let Some(level) = level(&readings) else {
            continue;
        };
        let short_of_end = level.mean > SUGAR_LEFT - 5.0 * prior.end.sd - 3.0 * level.sd;
        if short_of_end && ends_level(series, until, &level) {
            let ends = (series.days[until], series.thermal[until]);
            let still = Still {
                from,
                until,
                level,
                ends,
            };
            best = Some((missing, still));
        }
    }
    best.map(|b| b.1)
}

/// First of the readings that are level with the one at `until`.
fn level_from(series: &Series, until: usize) -> usize {
    let mut from = until;
    let (mut sum, mut weight) = (0.0, 0.0);
    loop {
        let w = series.per_sd[from].powi(2);
        sum += w * series.gravity[from];
        weight += w;
        if from == 0 {
            return 0;
        }
        let sd = (1.0 / weight + series.per_sd[from - 1].powi(-2)).sqrt();
        // One bad reading does not end a stretch.
        let off = |i: usize| ((series.gravity[i] - sum / weight) / sd).abs() > LEVEL;
        if off(from - 1) && (from < 2 || off(from - 2)) {
            return from;
        }
        from -= 1;
    }
}

/// The fall that a course as steep as before or after would have shown in the
/// stretch, in standard errors of a difference.
fn missing(series: &Series, from: usize, until: usize) -> f64 {
    let steep = |a: usize, b: usize| {
        let span = series.thermal[b] - series.thermal[a];
        (series.gravity[a] - series.gravity[b]) / span.max(0.5)
    };
    let n = series.len();
    let after = (until + 1..n)
        .find(|i| series.thermal[*i] - series.thermal[until] > 1.0)
        .unwrap_or(n - 1);
    let before = (0..from)
        .rfind(|i| series.thermal[from] - series.thermal[*i] > 1.0)
        .unwrap_or(0);
    let slope = steep(until, after).max(steep(before, from));
    let fall = slope * (series.thermal[until] - series.thermal[from]);
    let sd = series.per_sd[from]
        .recip()
        .hypot(series.per_sd[until].recip());
    fall / sd
}

/// Whether the stretch ends at `until`: the reading there is not clearly lower,
/// what was read next lies lower and one of the next two clearly so.
fn ends_level(series: &Series, until: usize, level: &Level) -> bool {
    let lower = |i: usize, by: f64| {
        let sd = level.sd.hypot(series.per_sd[i].recip());
        level.mean - series.gravity[i] > by * sd
    };
    if lower(until, LOWER) || !lower(until + 1, 1.0) {
        return false;
    }
    if until + 2 < series.len() {
        lower(until + 2, LOWER) || lower(until + 1, LOWER) && lower(until + 2, 1.0)
    } else {
        lower(until + 1, LOWER)
    }
}

/// So many courses stand for all until it stood still.
const PASTS: usize = 24;
/// One that runs down stands still within this of its end.
const DOWN: f64 = 0.002;

/// Those of the courses that stand still at a thermal time, with the log of
/// their probability.
fn standing(mut belief: Belief, now: f64) -> Belief {
    let still = |p: &Particle| match p.hypothesis {
        Hypothesis::Healthy => false,
        Hypothesis::RunsDown => (p.og() - p.end) * p.curve.left(now) < DOWN,
        Hypothesis::Stopped { .. } | Hypothesis::NeverStarted => true,
    };
    belief.particles.retain(still);
    let sum: f64 = belief.particles.iter().map(|p| p.weight).sum();
    belief.particles = evenly(&belief.particles, sum, PASTS);
    belief.evidence += sum.ln();
    belief
}

/// So many that stand for all, each for the same share.
fn evenly(all: &[Particle], sum: f64, count: usize) -> Vec<Particle> {
    let mut out = Vec::with_capacity(count);
    let mut below = 0.0;
    for p in all {
        below += p.weight / sum;
        while out.len() < count && below * count as f64 > out.len() as f64 + 0.5 {
            out.push(*p);
        }
    }
    out
}

/// Spread of the pace of one that goes on, beside that of a new one.
const OTHER_PACE: f64 = 1.5;
/// It needs less of the time to come into its stride than a new one: no
/// source. The logarithm of that part, and its spread.
const STRIDE: (f64, f64) = (-1.5, 0.8);
/// One that stuck once sticks again at least so often: no source.
const AGAIN: f64 = 0.2;

/// What is known beforehand of one that goes on from a level.
fn goes_on(still: &Still, prior: &Prior) -> Prior {
    let mut then = prior.clone();
    then.og = Normal {
        mean: still.level.mean,
        sd: LEVEL_UNKNOWN,
    };
    then.sd[0] *= OTHER_PACE;
    (then.mean[1], then.sd[1]) = STRIDE;
    then.frame.middle = then.mean;
    then.sticks = prior.sticks.max(AGAIN);
    then.may_never_start = false;
    then.left_at(still.level.mean);
    then.seal();
    then
}

/// The readings after a stretch, with its level as the first of them.
fn rest(series: &Series, still: &Still) -> Series {
    let mut rest = series.part(still.until..=series.len() - 1);
    rest.gravity[0] = still.level.mean;
    rest.per_sd[0] = still.level.sd.recip();
    let (days, thermal) = still.ends;
    rest.days.iter_mut().for_each(|d| *d -= days);
    rest.thermal.iter_mut().for_each(|t| *t -= thermal);
    rest
}

/// A course with a break.
struct Broken {
    still: Still,
    stood: Belief,
    woken: Belief,
    evidence: f64,
}

/// Both beliefs in one, the broken course with probability `share`.
fn joined(whole: Belief, broken: Broken, share: f64) -> Belief {
    let Broken {
        still,
        stood,
        woken,
        evidence,
    } = broken;
    // First those before an earlier break, then those until this one.
    let mut pasts = stood.pasts;
    let (older, firsts) = (pasts.len(), stood.particles.len());
    pasts.extend(stood.particles);
    let all = pasts.len();
    let moved = |(n, mut p): (usize, Particle)| {
        p.curve = p.curve.later(still.ends.1);
        p.peak.1 += still.ends.1;
        if let Hypothesis::Stopped { after } = &mut p.hypothesis {
            *after += still.until;
        }
        p.past = Some(p.past.map_or(older + n % firsts, |past| past + all));
        p
    };
    pasts.extend(woken.pasts.into_iter().enumerate().map(moved));
    let mut particles = whole.particles;
    for p in &mut particles {
        p.weight *= 1.0 - share;
    }
    if 1.0 - share < NOTHING {
        particles.clear();
    }
    particles.extend(woken.particles.into_iter().enumerate().map(|n| {
        let mut p = moved(n);
        p.weight *= share;
        p
    }));
    let sum: f64 = particles.iter().map(|p| p.weight).sum();
    for p in &mut particles {
        p.weight /= sum;
    }
    Belief {
        particles,
        pasts,
        evidence: evidence.max(whole.evidence)
            + (evidence - whole.evidence).abs().neg().exp().ln_1p(),
        woke: Some(last_break(&still, woken.woke, share)),
    }
}

/// The later break where there are two.
fn last_break(still: &Still, later: Option<Woke>, share: f64) -> Woke {
    match later {
        Some(w) if w.probability > 0.5 => Woke {
            from: w.from + still.until,
            until: w.until + still.until,
            probability: w.probability * share,
        },
        _ => Woke {
            from: still.from,
            until: still.until,
            probability: share,
        },
    }
}

/// Probability that one which stands still goes on before the next reading: by
/// itself, and when something was done that may wake it. No source; practice
/// tries warmth, rousing, feeding and fresh yeast because they often work.
const WAKES: (f64, f64) = (0.1, 0.4);
/// Days for which what was done may still wake it.
const WORKS_FOR: f64 = 5.0;
/// A rise of temperature that may wake it, in K (practice warms by so much).
const WARMED: f64 = 2.0;

/// Probability of going on in the gap after each reading, should it stand still.
pub(crate) fn wakes(series: &Series, facts: &Facts, gathered: &Gathered) -> Vec<f64> {
    let acts: Vec<f64> = facts
        .events
        .iter()
        .filter(|e| may_wake(&e.kind))
        .map(|e| e.at.days_since(gathered.pitched))
        .collect();
    let clock = &gathered.clock;
    (0..series.len())
        .map(|j| {
            let here = series.days[j];
            let next = series.days.get(j + 1).copied().unwrap_or(here);
            let acted = acts.iter().any(|d| (here - WORKS_FOR..=next).contains(d));
            let before = (0..=4).map(|i| clock.temperature((here - f64::from(i)).max(0.0)));
            let coldest = before.fold(f64::INFINITY, f64::min);
            let warmed = clock.temperature(here).max(clock.temperature(next)) - coldest;
            if acted || warmed >= WARMED {
                WAKES.1
            } else {
                WAKES.0
            }
        })
        .collect()
}

fn may_wake(kind: &EventKind) -> bool {
    matches!(
        kind,
        EventKind::Roused | EventKind::Nutrient { .. } | EventKind::Repitched | EventKind::Racked
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::units::{Celsius, Gravity, Share};
    use crate::engine::series::tests::{read, start};
    use crate::engine::series::{Gathered, gather};
    use crate::engine::{Event, OriginalGravity, Style, TemperaturePoint};

    fn mead(events: &[(f64, EventKind)]) -> Facts {
        let mut facts = Facts::of(Style::Mead);
        facts.og = Some(OriginalGravity::Measured(Gravity::known(1.100)));
        facts.pitched = Some(start());
        facts.stall_prior = Share::known(0.1);
        facts.events = events
            .iter()
            .map(|(day, kind)| Event {
                at: start().plus_days(*day),
                kind: *kind,
            })
            .collect();
        facts
    }

    fn seen(facts: &Facts, readings: &[(f64, f64)], warmth: &[(f64, f64)]) -> Gathered {
        let readings: Vec<_> = readings.iter().map(|(d, g)| read(*d, *g)).collect();
        let warmth: Vec<_> = warmth
            .iter()
            .map(|(day, celsius)| TemperaturePoint {
                at: start().plus_days(*day),
                celsius: Celsius::known(*celsius),
            })
            .collect();
        gather(facts, &readings, &warmth, start().plus_days(60.0)).unwrap()
    }

    /// Twice it stood still and went on; what is believed is still one whole, and each
    /// course knows its past.
    #[test]
    fn what_is_believed_of_a_twice_woken_ferment_adds_up() {
        let facts = mead(&[]);
        let readings = [
            (0.0, 1.100),
            (2.0, 1.085),
            (4.0, 1.070),
            (7.0, 1.070),
            (10.0, 1.070),
            (13.0, 1.070),
            (15.0, 1.055),
            (17.0, 1.045),
            (20.0, 1.045),
            (24.0, 1.045),
            (28.0, 1.045),
            (30.0, 1.030),
            (32.0, 1.018),
        ];
        let gathered = seen(&facts, &readings, &[(0.0, 20.0), (60.0, 20.0)]);
        let mut prior = Prior::new(&facts, Some(1.100), gathered.must);
        prior.seal();
        let series = gathered.series(prior.reference);
        let wakes = wakes(&series, &facts, &gathered);
        let belief = posterior(&series, &prior, &vec![1.0; series.len()], &wakes);
        let sum: f64 = belief.particles.iter().map(|p| p.weight).sum();
        assert!((sum - 1.0).abs() < 1e-9, "{sum}");
        let woke = belief.woke.unwrap();
        assert!(woke.probability > 0.9, "{woke:?}");
        assert_eq!((woke.from, woke.until), (7, 10), "the later of the two");
        let mut older = 0;
        for p in belief.particles.iter().filter(|p| p.weight > 0.01) {
            let past = belief.pasts[p.past.unwrap()];
            assert!((past.end + prior.reference - 1.045).abs() < 0.01);
            if let Some(past) = past.past {
                older += 1;
                let first = belief.pasts[past];
                assert!((first.end + prior.reference - 1.070).abs() < 0.01);
            }
        }
        assert!(older > 0, "the first stop is known too");
    }

    #[test]
    fn what_was_done_may_wake_it_for_five_days() {
        let readings = [
            (0.0, 1.100),
            (4.0, 1.080),
            (8.0, 1.080),
            (12.0, 1.080),
            (16.0, 1.080),
        ];
        let given = |facts: &Facts, warmth: &[(f64, f64)]| {
            let gathered = seen(facts, &readings, warmth);
            wakes(&gathered.series(1.0), facts, &gathered)
        };
        let steady = [(0.0, 18.0), (60.0, 18.0)];
        assert_eq!(given(&mead(&[]), &steady), [WAKES.0; 5]);
        let (may, hardly) = (WAKES.1, WAKES.0);
        let roused = mead(&[(6.0, EventKind::Roused)]);
        assert_eq!(given(&roused, &steady), [hardly, may, may, hardly, hardly]);
        // Warmed by three degrees between the second reading and the third, as long as
        // the cold is four days past at the most.
        let warmed = [(0.0, 18.0), (6.0, 18.0), (7.0, 21.0), (60.0, 21.0)];
        assert_eq!(
            given(&mead(&[]), &warmed),
            [hardly, may, may, hardly, hardly]
        );
        let sulfited = mead(&[(6.0, EventKind::Sulfited)]);
        assert_eq!(given(&sulfited, &steady), [hardly; 5]);
    }
}
