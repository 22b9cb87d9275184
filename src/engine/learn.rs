//! What the maker's own ended ferments say beforehand.

use super::prior::Prior;
use super::thermal::speed;
use super::{Facts, History, Learned, PastBatch};
use crate::domain::units::GravityDelta;

/// Spread of the logarithm of the time to finish between batches of one maker,
/// beside the prior's own (no source; half of what styles differ by).
const BATCH_PACE: f64 = 0.25;
/// Spread of ends about the plan between batches of one maker.
const BATCH_END: f64 = 0.0025;
/// Batches that the usual share of stuck ferments counts for.
const STUCK_WEIGHT: f64 = 20.0;
/// What a batch counts for when only the style is the same.
const STYLE_ONLY: f64 = 0.5;

/// Moves the prior by the maker's own batches of the same style.
pub(crate) fn learn(prior: &mut Prior, facts: &Facts, history: &History) -> Option<Learned> {
    let own: Vec<(&PastBatch, f64)> = history
        .batches
        .iter()
        .filter(|b| b.style == facts.style && usable(b))
        .map(|b| (b, likeness(b, facts)))
        .collect();
    if own.is_empty() {
        return None;
    }
    let ended: Vec<_> = own.iter().filter(|(b, _)| !b.stuck).collect();
    let usual = prior
        .frame
        .curve(&prior.mean)
        .when_left(prior.left_at_finish)
        .max(0.1)
        .ln();
    let (pace, pace_count) = mean(ended.iter().map(|(b, w)| (pace(b) - usual, *w)));
    let moved = shrink(pace, pace_count, prior.sd[0], BATCH_PACE);
    prior.mean[0] += moved.0;
    prior.frame.middle[0] = prior.mean[0];
    prior.sd[0] = moved.1.hypot(0.6 * BATCH_PACE).min(prior.sd[0]);
    let (end, end_count) = mean(ended.iter().filter_map(|(b, w)| {
        let plan = b.expected_fg?.get();
        Some(((b.fg.get() - plan).clamp(-0.02, 0.02), *w))
    }));
    let end = shrink(end, end_count, prior.end.sd, BATCH_END);
    prior.end.mean += end.0;
    prior.end_wide.mean += end.0;
    prior.end.sd = end.1.hypot(0.7 * BATCH_END).min(prior.end.sd);
    let weight: f64 = own.iter().map(|(_, w)| w).sum();
    let stuck: f64 = own.iter().filter(|(b, _)| b.stuck).map(|(_, w)| w).sum();
    prior.sticks = (prior.sticks * STUCK_WEIGHT + stuck) / (STUCK_WEIGHT + weight);
    Some(Learned {
        batches: own.len(),
        style: facts.style,
        same_yeast: own.iter().filter(|(b, _)| same_yeast(b, facts)).count(),
        same_place: own.iter().filter(|(b, _)| same_place(b, facts)).count(),
        pace: moved.0.exp(),
        end_above_plan: GravityDelta::clamped(end.0),
    })
}

fn usable(b: &PastBatch) -> bool {
    b.days_to_finish.is_finite()
        && b.days_to_finish > 0.5
        && b.days_to_finish < 1000.0
        && b.fg < b.og
}

fn same_yeast(b: &PastBatch, facts: &Facts) -> bool {
    b.yeast.is_some() && b.yeast == facts.yeast.name
}

fn same_place(b: &PastBatch, facts: &Facts) -> bool {
    b.place.is_some() && b.place == facts.place
}

fn likeness(b: &PastBatch, facts: &Facts) -> f64 {
    let each = (1.0 - STYLE_ONLY) / 2.0;
    STYLE_ONLY
        + each * f64::from(u8::from(same_yeast(b, facts)))
        + each * f64::from(u8::from(same_place(b, facts)))
}

/// Logarithm of the thermal days to its finish.
fn pace(b: &PastBatch) -> f64 {
    let speed = b.temperature.map_or(1.0, |t| speed(t.get()).max(0.1));
    (b.days_to_finish * speed).ln()
}

/// Weighted mean and sum of weights.
fn mean(values: impl Iterator<Item = (f64, f64)>) -> (f64, f64) {
    let (sum, count) = values.fold((0.0, 0.0), |(s, n), (v, w)| (s + v * w, n + w));
    if count > 0.0 {
        (sum / count, count)
    } else {
        (0.0, 0.0)
    }
}

/// Mean and spread of a normal quantity after `count` observations of it.
fn shrink(mean: f64, count: f64, prior_sd: f64, each_sd: f64) -> (f64, f64) {
    let seen = count / (each_sd * each_sd);
    let known = 1.0 / (prior_sd * prior_sd);
    (mean * seen / (seen + known), (seen + known).sqrt().recip())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::units::Gravity;
    use crate::engine::{OriginalGravity, Style};

    fn facts() -> Facts {
        let mut facts = Facts::of(Style::Mead);
        facts.og = Some(OriginalGravity::Measured(Gravity::known(1.100)));
        facts.yeast.name = Some("dry wine yeast".to_owned());
        facts.place = Some("closet".to_owned());
        facts
    }

    /// One that went at the usual pace of meads, or so many times as long.
    fn batch(yeast: &str, place: &str, longer: f64) -> PastBatch {
        let prior = Prior::new(&facts(), None, None);
        let curve = prior.frame.curve(&prior.mean);
        PastBatch {
            style: Style::Mead,
            yeast: Some(yeast.to_owned()),
            place: Some(place.to_owned()),
            og: Gravity::known(1.100),
            expected_fg: Some(Gravity::known(1.000)),
            fg: Gravity::known(1.000),
            days_to_finish: longer * curve.when_left(prior.left_at_finish),
            temperature: None,
            stuck: false,
        }
    }

    fn learned(batches: Vec<PastBatch>) -> (Prior, Option<Learned>) {
        let mut prior = Prior::new(&facts(), None, None);
        let learned = learn(&mut prior, &facts(), &History { batches });
        (prior, learned)
    }

    #[test]
    fn a_normal_mean_is_shrunk_as_the_handbooks_have_it() {
        // Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.5: precisions add up,
        // and the mean is weighed by them.
        let (mean, sd) = shrink(0.5, 4.0, 0.3, 0.6);
        let (seen, known) = (4.0 / 0.36, 1.0 / 0.09);
        assert!((mean - 0.5 * seen / (seen + known)).abs() < 1e-12);
        assert!((sd - (seen + known).sqrt().recip()).abs() < 1e-12);
        let nothing = shrink(0.5, 0.0, 0.3, 0.6);
        assert!(nothing.0.abs() < 1e-12 && (nothing.1 - 0.3).abs() < 1e-12);
    }

    #[test]
    fn the_mean_is_weighted() {
        let (m, n) = mean([(1.0, 1.0), (3.0, 3.0)].into_iter());
        assert!((m - 2.5).abs() < 1e-12 && (n - 4.0).abs() < 1e-12);
        assert!(mean(std::iter::empty()).1.abs() < 1e-12);
    }

    #[test]
    fn the_same_yeast_and_the_same_place_teach_more() {
        let pace = |yeast, place| {
            let (_, learned) = learned(vec![batch(yeast, place, 1.5); 3]);
            learned.unwrap().pace
        };
        let (both, yeast) = (
            pace("dry wine yeast", "closet"),
            pace("dry wine yeast", "attic"),
        );
        let (place, neither) = (pace("other", "closet"), pace("other", "attic"));
        assert!(both > yeast && yeast > neither && place > neither && neither > 1.0);
        assert!(both < 1.5);
        // As usual as can be: nothing moves.
        let (_, usual) = learned(vec![batch("dry wine yeast", "closet", 1.0); 3]);
        assert!((usual.unwrap().pace - 1.0).abs() < 1e-9);
    }

    #[test]
    fn those_that_stuck_count_beside_twenty_usual_ones() {
        let mut stuck = batch("dry wine yeast", "closet", 1.0);
        stuck.stuck = true;
        let mut batches = vec![stuck; 2];
        batches.extend(vec![batch("dry wine yeast", "closet", 1.0); 3]);
        let before = Prior::new(&facts(), None, None).sticks;
        let (prior, learned) = learned(batches);
        assert!((prior.sticks - (before * 20.0 + 2.0) / 25.0).abs() < 1e-12);
        assert_eq!(learned.unwrap().batches, 5);
    }

    #[test]
    fn what_never_fell_teaches_nothing() {
        let mut flat = batch("dry wine yeast", "closet", 1.0);
        flat.fg = flat.og;
        assert!(learned(vec![flat]).1.is_none());
    }
}
