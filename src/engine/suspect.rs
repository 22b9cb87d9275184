//! Which readings do not fit the others.

use super::assess::Teller;
use super::normal::Mixture;
use super::{Suspicion, SuspicionWhy};
use crate::domain::units::{GravityDelta, Share};

/// One reading in so many is plainly wrong (common practice, no source).
const WRONG: f64 = 0.03;
/// How many times wider a wrong reading scatters.
const WIDER: f64 = 8.0;

/// Readings that lie far off the curves, in the order handed in.
pub(crate) fn suspicions(t: &Teller<'_>) -> Vec<Suspicion> {
    let mut found = t.gathered.set_aside.clone();
    let top: Vec<_> = t
        .picture
        .heaviest(24)
        .into_iter()
        .map(|i| &t.picture.particles[i])
        .collect();
    let total: f64 = top.iter().map(|p| p.weight).sum();
    let times: Vec<_> = t.series.days.iter().map(|d| t.picture.time(*d)).collect();
    let all: Vec<_> = top.iter().map(|p| t.picture.along(p, &times)).collect();
    for i in 0..t.series.len() {
        if total <= 0.0 {
            break;
        }
        let mut courses = Mixture::default();
        for (p, along) in top.iter().zip(&all) {
            courses.add(along[i].0, along[i].1, p.weight);
        }
        let (mean, variance) = courses.mean_and_variance();
        let off = t.series.gravity[i] - mean;
        let sd = variance.sqrt().hypot(1.0 / t.series.per_sd[i]);
        let probability = wrong(off / sd);
        if probability > 0.5 {
            let delta = GravityDelta::clamped(off.abs());
            found.push(Suspicion {
                index: t.series.index[i],
                probability: Share::clamped(probability),
                why: if off > 0.0 {
                    SuspicionWhy::TooHigh(delta)
                } else {
                    SuspicionWhy::TooLow(delta)
                },
            });
        }
    }
    found.sort_by_key(|s| s.index);
    found
}

/// Probability that a reading `r` standard errors off is plainly wrong.
fn wrong(r: f64) -> f64 {
    let right = (1.0 - WRONG) * (-0.5 * r * r).exp();
    let wild = WRONG / WIDER * (-0.5 * (r / WIDER).powi(2)).exp();
    wild / (right + wild).max(1e-300)
}

#[cfg(test)]
mod tests {
    use super::wrong;

    /// Bayes' rule with two normal distributions, one of them eight times as wide.
    #[test]
    fn a_reading_is_wrong_by_the_odds_of_two_normals() {
        let density = |x: f64, sd: f64| (-0.5 * (x / sd) * (x / sd)).exp() / sd;
        for r in [-6.0, -3.0, 0.0, 1.0, 2.5, 3.5, 4.0, 8.0_f64] {
            let odds = 0.03 * density(r, 8.0) / (0.97 * density(r, 1.0));
            let by_hand = odds / (1.0 + odds);
            assert!((wrong(r) - by_hand).abs() < 1e-9, "{r}: {}", wrong(r));
        }
        assert!(wrong(3.0) < 0.5 && wrong(3.5) > 0.5);
    }
}
