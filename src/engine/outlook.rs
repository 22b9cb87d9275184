//! The gate before bottling, and the reading that would tell most.

use super::assess::Teller;
use super::normal::{self, Mixture};
use super::posterior::Hypothesis;
use super::prior::SUGAR_LEFT;
use super::{
    Assessment, BottlingGate, BottlingHold, FermentState, Headline, NextReading, Question, Seen,
    Style,
};
use crate::domain::units::{Celsius, Share};
use chrono::NaiveDate;

/// A fall beyond this in a closed bottle is dangerous: about one volume of CO2
/// (practice: 0.001 gives half a volume).
const DANGEROUS: f64 = 0.002;
/// Chance of such a fall that still lets bottling pass (no source; a bottle in
/// twenty batches).
const CHANCE: f64 = 0.05;
/// Probability of being stuck from which bottling is held.
const STUCK_HOLD: f64 = 0.2;
/// Two readings within this are equal (practice: at most 0.001).
const EQUAL: f64 = 0.001;

/// May it be bottled?
pub(crate) fn gate(t: &Teller<'_>, stuck: f64) -> BottlingGate {
    let chance = refermentation(t);
    let mut holds = Vec::new();
    if chance > CHANCE {
        holds.push(BottlingHold::LikelyToFall {
            chance: Share::clamped(chance),
        });
    }
    let (readings_wanted, days_wanted) = wanted(t);
    let window = steady(t);
    if window.readings < readings_wanted || window.days < days_wanted {
        holds.push(BottlingHold::NotRepeated {
            readings: window.readings,
            first: window.first,
            days: window.days,
            days_wanted,
            readings_wanted,
        });
    }
    let low = band_low(t);
    if window.coldest < low {
        holds.push(BottlingHold::Cold {
            coldest: Celsius::clamped(window.coldest),
            low: Celsius::clamped(low),
        });
    }
    if stuck > STUCK_HOLD {
        holds.push(BottlingHold::Stuck {
            probability: Share::clamped(stuck),
        });
    }
    BottlingGate {
        refermentation: Share::clamped(chance),
        holds,
    }
}

/// Probability that more than [`DANGEROUS`] is still to fall, a stuck one counted as
/// falling: it may start again in the bottle.
fn refermentation(t: &Teller<'_>) -> f64 {
    if t.picture.particles.is_empty() {
        return 1.0;
    }
    t.picture
        .now()
        .zip(&t.picture.stopped)
        .map(|((p, here), stopped)| {
            let end = match p.hypothesis {
                Hypothesis::Healthy => p.end,
                _ => p.healthy_end,
            };
            if here.gravity - end > DANGEROUS {
                p.weight
            } else {
                p.weight * stopped
            }
        })
        .sum()
}

/// Readings and days of equal gravity that practice wants.
fn wanted(t: &Teller<'_>) -> (usize, i64) {
    match t.facts.style {
        Style::Mead | Style::Cider => (3, 7),
        Style::Beer if t.picture.mean_og() + t.prior.reference > 1.075 => (2, 5),
        Style::Beer => (2, 3),
    }
}

struct Window {
    readings: usize,
    first: Option<NaiveDate>,
    days: i64,
    coldest: f64,
}

/// The last readings that are equal.
fn steady(t: &Teller<'_>) -> Window {
    let points = &t.gathered.points;
    let step = t
        .readings
        .iter()
        .filter_map(|r| match r.seen {
            Seen::Hydrometer { resolution, .. } => Some(resolution.get()),
            _ => None,
        })
        .fold(EQUAL, f64::max)
        .min(0.002);
    let mut window = Window {
        readings: 0,
        first: None,
        days: 0,
        coldest: f64::INFINITY,
    };
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    // Level readings from before an end that nobody saw prove nothing of it.
    if t.picture.unseen {
        return window;
    }
    for p in points.iter().rev() {
        low = low.min(p.gravity);
        high = high.max(p.gravity);
        if high - low > step + 1e-9 {
            break;
        }
        window.readings += 1;
        let first = read_on(t, p.index);
        window.first = first;
        window.days = first
            .zip(read_on(t, points[points.len() - 1].index))
            .map_or(0, |(first, last)| (last - first).num_days());
        window.coldest = window.coldest.min(t.gathered.clock.temperature(p.days));
    }
    window
}

/// The local day of a reading.
fn read_on(t: &Teller<'_>, index: usize) -> Option<NaiveDate> {
    t.readings.get(index).map(|r| r.at.day())
}

/// Lower end of the yeast's band; by style where it is not known (common practice: tolerated).
pub(crate) fn band_low(t: &Teller<'_>) -> f64 {
    t.facts.yeast.band.map_or(
        match t.facts.style {
            Style::Mead => 13.0,
            Style::Cider => 10.0,
            Style::Beer => 15.0,
        },
        |b| b.low.get(),
    )
}

/// Upper end of the yeast's band, likewise.
pub(crate) fn band_high(t: &Teller<'_>) -> f64 {
    t.facts.yeast.band.map_or(24.0, |b| b.high.get())
}

/// Probability from which stuck, or not, is beyond doubt.
const SURE: f64 = 0.95;
/// Particles that are asked.
const ASKED: usize = 96;
/// Days from now at which a reading is weighed.
const CANDIDATES: [f64; 5] = [1.0, 2.0, 3.0, 5.0, 7.0];
/// Chance of settling the doubt that is worth waiting for.
const ENOUGH: f64 = 0.7;
/// Error of the reading to come.
const ERROR: f64 = 0.0013;

/// The reading that would tell most: the first day on which it would probably
/// settle the doubt.
pub(crate) fn next_reading(t: &Teller<'_>, said: &Assessment) -> Option<NextReading> {
    // Surely stuck: nothing more is told by a reading until something is changed.
    let sure = said.stuck.probability.get() >= SURE;
    if t.picture.particles.is_empty() || sure {
        return None;
    }
    if t.picture.unseen {
        return Some(NextReading {
            at: t.now,
            settles: Question::FinishedUnseen,
            chance: said.states.of(FermentState::Finished),
        });
    }
    let question = question(t, said);
    let asked = t.picture.heaviest(ASKED);
    let mut best: Option<(f64, f64)> = None;
    for days in CANDIDATES {
        let chance = settles(t, said, &asked, question, t.gathered.now + days);
        if best.is_none_or(|b| chance > b.1 + 0.02) {
            best = Some((days, chance));
        }
        if chance >= ENOUGH {
            break;
        }
    }
    let (days, chance) = best?;
    Some(NextReading {
        at: t.now.plus_days(days),
        settles: question,
        chance: Share::clamped(chance),
    })
}

fn question(t: &Teller<'_>, said: &Assessment) -> Question {
    let p = |s: FermentState| said.states.of(s).get();
    let stuck = p(FermentState::Stuck);
    let unsure = 1.0 - SURE..SURE;
    if let Some(woke) = t.belief.woke {
        let on_one = woke.until + 2 == t.series.len() && woke.probability > 1.0 - SURE;
        if on_one || unsure.contains(&stuck) && unsure.contains(&woke.probability) {
            return Question::MovingAgain;
        }
    }
    if unsure.contains(&stuck) {
        return if p(FermentState::Finished) > p(FermentState::Slowing) + p(FermentState::Active) {
            Question::StuckOrFinished
        } else if p(FermentState::Lag) > 0.4 {
            Question::Started
        } else {
            Question::StuckOrSlow
        };
    }
    match said.headline {
        Headline::Clear(FermentState::Lag) => Question::Started,
        Headline::Clear(FermentState::Finished | FermentState::Slowing) => Question::Finished,
        _ => Question::WhenFinished,
    }
}

/// Chance that a reading at `at` tells the two sides of the question apart.
fn settles(t: &Teller<'_>, said: &Assessment, asked: &[usize], question: Question, at: f64) -> f64 {
    let mut sides = [Mixture::default(), Mixture::default()];
    let median = said
        .finish
        .map_or(0.0, |f| f.p50.days_since(t.gathered.pitched));
    let time = t.picture.time(at);
    for i in asked {
        let p = &t.picture.particles[*i];
        let then = t.picture.at(p, &time);
        let state = t.picture.here[*i].state;
        let first = match question {
            Question::Started => {
                matches!(p.hypothesis, Hypothesis::NeverStarted) || then.state == FermentState::Lag
            }
            Question::MovingAgain => p.past.is_some(),
            Question::StuckOrSlow | Question::StuckOrFinished => state == FermentState::Stuck,
            Question::Finished | Question::FinishedUnseen => state == FermentState::Finished,
            Question::WhenFinished => t.picture.finishes[*i] > median,
        };
        sides[usize::from(first)].add(then.gravity, then.sd, p.weight);
    }
    if question == Question::StuckOrFinished {
        // Both are flat: only sugar left tells, by warming or a forced test.
        return 0.5 * apart(&sides[0], &sides[1]);
    }
    apart(&sides[0], &sides[1])
}

/// The chance that a reading tells two sides apart.
fn apart(a: &Mixture, b: &Mixture) -> f64 {
    if a.weight() < 1e-3 || b.weight() < 1e-3 {
        return 0.0;
    }
    let ((a, va), (b, vb)) = (a.mean_and_variance(), b.mean_and_variance());
    let sd = (0.5 * (va + vb) + ERROR * ERROR).sqrt();
    // Half the distance in standard errors decides between two equal normals.
    normal::below((a - b).abs() / sd - 1.3)
}

/// Whether a gravity lies so far above a healthy end that sugar must be left.
pub(crate) fn sugar_left(t: &Teller<'_>) -> bool {
    let here: f64 = t
        .picture
        .now()
        .map(|(p, here)| p.weight * here.gravity)
        .sum();
    here - t.picture.healthy_end() > SUGAR_LEFT
}

#[cfg(test)]
mod tests {
    use super::*;

    fn side(gravity: f64, sd: f64, weight: f64) -> Mixture {
        let mut side = Mixture::default();
        side.add(gravity, sd, weight);
        side
    }

    #[test]
    fn sides_are_told_apart_by_their_distance_in_errors() {
        let at = |gravity| side(gravity, 0.001, 0.4);
        let chance = |gap: f64| apart(&at(0.010), &at(0.010 + gap));
        let sd = 0.001_f64.hypot(ERROR);
        assert!((chance(1.3 * sd) - 0.5).abs() < 1e-6);
        assert!((chance(2.3 * sd) - 0.841_344_7).abs() < 1e-6);
        assert!((chance(-2.3 * sd) - chance(2.3 * sd)).abs() < 1e-9);
        assert!(chance(0.0) < 0.1 && chance(0.02) > 0.999);
        // What is hardly supposed by anybody is not asked about.
        assert!(apart(&at(0.010), &side(0.050, 0.001, 1e-4)).abs() < 1e-12);
    }
}
