//! Scales and sensors: readings that come often, drift and jump.

use super::series::Point;
use super::{EventKind, Facts, Observation, OriginalGravity, Seen, Suspicion, SuspicionWhy};
use crate::domain::sums::mass;
use crate::domain::units::{Celsius, Days, Grams, Moment, Share};

/// Most gravities that the inference works on; more are drawn together.
pub(crate) const MOST: usize = 32;
/// Readings of a sensor are drawn together over this part of a day at least.
const SENSOR_STEP: f64 = 0.25;
/// Error of one sensor value, and what a mean of many keeps of it (drift).
const SENSOR: (f64, f64) = (0.003, 0.0012);
/// Days within which a hydrometer reading tells a sensor's offset.
const SAME_TIME: f64 = 0.5;

/// A sensor's values, drawn together by their median, put level with the
/// hydrometer where both were read; between those its drift is taken for even.
pub(crate) fn sensors(
    readings: &[Observation],
    by_hand: &[Point],
    pitched: Moment,
    now: Moment,
) -> Vec<Point> {
    let mut raw: Vec<Point> = readings
        .iter()
        .enumerate()
        .filter(|(_, r)| r.at <= now && r.at >= pitched)
        .filter_map(|(index, r)| match r.seen {
            Seen::Sensor { gravity } => Some(Point {
                days: r.at.days_since(pitched),
                gravity: gravity.get(),
                sd: SENSOR.0,
                floor: SENSOR.1,
                index,
            }),
            _ => None,
        })
        .collect();
    raw.sort_by(|a, b| a.days.total_cmp(&b.days));
    let mut binned = drawn_together(&raw, SENSOR_STEP);
    let offsets: Vec<(f64, f64)> = by_hand
        .iter()
        .filter_map(|h| {
            let near = nearest(&binned, h.days)?;
            ((near.days - h.days).abs() <= SAME_TIME).then_some((h.days, h.gravity - near.gravity))
        })
        .collect();
    let offsets = calmed(&offsets);
    for p in &mut binned {
        p.gravity += between(&offsets, p.days);
    }
    binned
}

/// Each offset as the median of itself and its neighbours, so that one wrong
/// reading of the hydrometer bends nothing.
fn calmed(offsets: &[(f64, f64)]) -> Vec<(f64, f64)> {
    if offsets.len() < 3 {
        return offsets.to_vec();
    }
    (0..offsets.len())
        .map(|i| {
            let from = i.saturating_sub(1).min(offsets.len() - 3);
            let mut near: Vec<f64> = offsets[from..from + 3].iter().map(|o| o.1).collect();
            near.sort_by(f64::total_cmp);
            (offsets[i].0, near[1])
        })
        .collect()
}

/// The offset at a time: straight lines between those known, level beyond.
fn between(offsets: &[(f64, f64)], days: f64) -> f64 {
    let i = offsets.partition_point(|o| o.0 <= days);
    match (i.checked_sub(1).map(|j| offsets[j]), offsets.get(i)) {
        (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (days - a.0) / (b.0 - a.0).max(1e-9),
        (Some(one), None) | (None, Some(&one)) => one.1,
        (None, None) => 0.0,
    }
}

fn nearest(points: &[Point], days: f64) -> Option<&Point> {
    points
        .iter()
        .min_by(|a, b| (a.days - days).abs().total_cmp(&(b.days - days).abs()))
}

/// At most [`MOST`] points.
pub(crate) fn thinned(points: Vec<Point>) -> Vec<Point> {
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return points;
    };
    if points.len() <= MOST {
        return points;
    }
    let step = ((last.days - first.days) / (MOST as f64 - 2.0)).max(1e-3);
    drawn_together(&points, step)
}

/// Points in order of time, those within one step as one: the median, with the
/// error of the mean.
fn drawn_together(points: &[Point], step: f64) -> Vec<Point> {
    points
        .chunk_by(|a, b| (a.days / step).floor() as i64 == (b.days / step).floor() as i64)
        .map(one)
        .collect()
}

fn one(group: &[Point]) -> Point {
    let count = group.len() as f64;
    let mut gravities: Vec<f64> = group.iter().map(|p| p.gravity).collect();
    gravities.sort_by(f64::total_cmp);
    let middle = gravities.len() / 2;
    let gravity = if gravities.len() % 2 == 1 {
        gravities[middle]
    } else {
        0.5 * (gravities[middle - 1] + gravities[middle])
    };
    let sd = group.iter().map(|p| p.sd).sum::<f64>() / count;
    let floor = group.iter().map(|p| p.floor).sum::<f64>() / count;
    Point {
        days: group.iter().map(|p| p.days).sum::<f64>() / count,
        gravity,
        sd: if group.len() == 1 {
            sd
        } else {
            floor.hypot(sd / count.sqrt())
        },
        floor,
        index: group[group.len() - 1].index,
    }
}

/// Error of a weighing beside the scale's step, in gravity: air pressure,
/// drips, a bung put back otherwise (common practice, no source).
const WEIGHING: f64 = 0.0005;
/// Part of a fall reckoned from mass that vapour and the volume leave open.
const MASS_PART: f64 = 0.03;
/// A step of gravity a day beyond which something else than gas was taken out.
const TOO_STEEP: f64 = 0.04;

/// What is not known of the fall across a sample or a change, beside a third of it.
const SEAM: f64 = 0.001;

struct Weighing {
    days: f64,
    grams: f64,
    step: f64,
    index: usize,
}

/// Gravities from the mass of the full vessel: what it lost since a moment at
/// which gravity was known. Without volume or such a moment, the weighings are
/// handed back as saying little.
pub(crate) fn masses(
    facts: &Facts,
    readings: &[Observation],
    by_hand: &[Point],
    og: Option<OriginalGravity>,
    pitched: Moment,
    now: Moment,
) -> Result<Vec<Point>, Vec<Suspicion>> {
    let mut weighings = weighings(readings, pitched, now);
    let Some(first) = weighings.first() else {
        return Ok(Vec::new());
    };
    let from_the_start = first.days <= 1.0;
    let anchor = if from_the_start {
        og.map(|og| og.gravity().get())
    } else {
        nearest(by_hand, first.days)
            .filter(|h| (h.days - first.days).abs() <= 1.0)
            .map(|h| h.gravity)
    };
    let per_gram = og.and_then(|og| gravity_per_gram(facts, og));
    let (Some(anchor), Some(per_gram)) = (anchor, per_gram) else {
        return Err(weighings.iter().map(|w| says_little(w.index)).collect());
    };
    let breaks: Vec<f64> = facts
        .events
        .iter()
        .filter(|e| !matches!(e.kind, EventKind::Roused | EventKind::Sulfited))
        .map(|e| e.at.days_since(pitched))
        .collect();
    if from_the_start {
        dissolve(&mut weighings, facts);
    }
    Ok(levels(&weighings, anchor, per_gram, &breaks))
}

/// Counts the gas that was made since the first weighing and stays dissolved, no more
/// than has left.
fn dissolve(weighings: &mut [Weighing], facts: &Facts) {
    let warm = facts
        .usual_temperature
        .map_or(20.0, |t| t.get().clamp(0.0, 40.0));
    let stays = facts
        .volume
        .and_then(|v| mass::dissolved(v, Celsius::clamped(warm)).ok())
        .map_or(0.0, Grams::get);
    let Some((first, later)) = weighings.split_first_mut() else {
        return;
    };
    for w in later {
        w.grams -= (first.grams - w.grams).clamp(0.0, stays);
    }
}

/// One step between two weighings.
struct Fallen {
    gap: f64,
    fall: f64,
    /// Something else than gas left or came.
    touched: bool,
}

impl Fallen {
    fn rate(&self) -> f64 {
        self.fall / self.gap
    }
}

fn levels(weighings: &[Weighing], anchor: f64, per_gram: f64, breaks: &[f64]) -> Vec<Point> {
    let steps: Vec<Fallen> = weighings
        .windows(2)
        .map(|w| {
            let gap = (w[1].days - w[0].days).max(0.05);
            let fall = per_gram * (w[0].grams - w[1].grams);
            let broken = breaks.iter().any(|b| *b > w[0].days && *b <= w[1].days);
            let touched = broken || fall > TOO_STEEP * gap.max(0.25) + 0.004 || fall < -0.003;
            Fallen { gap, fall, touched }
        })
        .collect();
    let (mut gravity, mut seams) = (anchor, 0.0);
    let mut out = Vec::with_capacity(weighings.len());
    for (i, w) in weighings.iter().enumerate() {
        if let Some(before) = i.checked_sub(1) {
            let (fall, unsure) = fall_of(&steps, before);
            gravity -= fall;
            seams += unsure;
        }
        let sd = WEIGHING
            .hypot(w.step * per_gram / 12f64.sqrt())
            .hypot(MASS_PART * (anchor - gravity).max(0.0))
            .hypot(seams);
        out.push(Point {
            days: w.days,
            gravity,
            sd,
            floor: 0.8 * sd,
            index: w.index,
        });
    }
    out
}

/// Fall over a step, and how unsure it is: where a sample was taken or the vessel
/// was changed, it is as steep as the steps beside it.
fn fall_of(steps: &[Fallen], i: usize) -> (f64, f64) {
    let step = &steps[i];
    if !step.touched {
        return (step.fall, 0.0);
    }
    let before = steps[..i].iter().rev().find(|s| !s.touched);
    let after = steps[i + 1..].iter().find(|s| !s.touched);
    let rate = match (before.map(Fallen::rate), after.map(Fallen::rate)) {
        (Some(a), Some(b)) => 0.5 * (a + b),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => 0.0,
    };
    let fall = rate.clamp(0.0, TOO_STEEP) * step.gap;
    (fall, SEAM.hypot(0.3 * fall))
}

fn weighings(readings: &[Observation], pitched: Moment, now: Moment) -> Vec<Weighing> {
    let mut all: Vec<Weighing> = readings
        .iter()
        .enumerate()
        .filter(|(_, r)| r.at <= now && r.at.days_since(pitched) > -0.5)
        .filter_map(|(index, r)| match r.seen {
            Seen::Mass { grams, resolution } => Some(Weighing {
                days: r.at.days_since(pitched).max(0.0),
                grams: grams.get(),
                step: resolution.get(),
                index,
            }),
            _ => None,
        })
        .collect();
    all.sort_by(|a, b| a.days.total_cmp(&b.days));
    all
}

/// Fall of gravity for one gram lost, by the balance of extract.
fn gravity_per_gram(facts: &Facts, og: OriginalGravity) -> Option<f64> {
    let volume = facts.volume.filter(|v| v.get() > 0.05)?;
    let after = |loss: f64| {
        let lost = mass::from_loss(
            og.gravity(),
            volume,
            Grams::new(loss).ok()?,
            Grams::known(0.0),
            Celsius::known(20.0),
            Days::known(5.0),
        );
        lost.ok().map(|lost| lost.gravity.value)
    };
    // Some two thirds of the gas of a gravity of 1.040 or more, or a weak one's third;
    // from where the drink is saturated on.
    [(30.0, 6.0), (8.0, 3.0)]
        .into_iter()
        .find_map(|(much, little)| {
            let (much, little) = (much * volume.get(), little * volume.get());
            Some((after(little)? - after(much)?) / (much - little))
        })
}

fn says_little(index: usize) -> Suspicion {
    Suspicion {
        index,
        probability: Share::known(1.0),
        why: SuspicionWhy::SaysLittle,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::units::{Gravity, Litres};
    use crate::engine::Style;

    fn point(days: f64, gravity: f64) -> Point {
        Point {
            days,
            gravity,
            sd: 0.001,
            floor: 0.0005,
            index: 0,
        }
    }

    #[test]
    fn between_two_offsets_lies_a_straight_line_and_beyond_them_none() {
        let offsets = [(2.0, 0.001), (6.0, 0.005)];
        for (days, expected) in [
            (0.0, 0.001),
            (2.0, 0.001),
            (3.0, 0.002),
            (5.0, 0.004),
            (9.0, 0.005),
        ] {
            assert!(
                (between(&offsets, days) - expected).abs() < 1e-12,
                "at {days}"
            );
        }
        assert!(between(&[], 3.0).abs() < 1e-12);
    }

    #[test]
    fn points_drawn_together_are_their_median_with_a_smaller_error() {
        let even = [
            point(1.0, 1.040),
            point(1.1, 1.030),
            point(1.2, 1.034),
            point(1.3, 1.038),
        ];
        let drawn = one(&even);
        assert!((drawn.gravity - 1.036).abs() < 1e-12);
        assert!((drawn.days - 1.15).abs() < 1e-12);
        assert!((drawn.sd - 0.0005_f64.hypot(0.0005)).abs() < 1e-12);
        assert!((one(&even[..3]).gravity - 1.034).abs() < 1e-12);
    }

    fn weighing(days: f64, grams: f64) -> Weighing {
        Weighing {
            days,
            grams,
            step: 1.0,
            index: 0,
        }
    }

    #[test]
    fn where_a_sample_was_taken_the_fall_is_as_steep_as_beside_it() {
        // 20 g a day, at 0.0001 a gram; 100 g more leave with a sample on day 2.
        let grams = [5000.0, 4980.0, 4960.0, 4840.0, 4820.0];
        let all: Vec<_> = (0..5)
            .map(|n| weighing(f64::from(n), grams[n as usize]))
            .collect();
        let end = |breaks: &[f64]| levels(&all, 1.100, 1e-4, breaks).pop().unwrap();
        assert!((end(&[2.5]).gravity - 1.092).abs() < 1e-9);
        assert!((end(&[3.0]).gravity - 1.092).abs() < 1e-9);
        // Not known of, the sample counts as gas.
        assert!((end(&[]).gravity - 1.082).abs() < 1e-9);
        // In the step before, that is taken to have fallen as those beside it did.
        assert!((end(&[2.0]).gravity - 1.077).abs() < 1e-9);
        assert!(end(&[2.5]).sd > end(&[]).sd * 0.9);
    }
    /// A mead of 1.100, four litres, loses gas: its gravity by the loss must be that of the
    /// sums, from the first weighing or from the hydrometer beside it.
    #[test]
    fn a_lost_gram_is_worth_what_the_balance_of_extract_says() {
        let mut facts = Facts::of(Style::Mead);
        facts.volume = Some(Litres::known(4.0));
        let og = OriginalGravity::Measured(Gravity::known(1.100));
        let start = Moment::from_stored(0, 0).unwrap();
        let weighed = |day: f64, grams: f64| Observation {
            at: start.plus_days(day),
            temperature: None,
            seen: Seen::Mass {
                grams: Grams::known(grams),
                resolution: Grams::known(1.0),
            },
        };
        let by_sums = |loss: f64, days: f64| {
            mass::from_loss(
                Gravity::known(1.100),
                Litres::known(4.0),
                Grams::known(loss),
                Grams::known(0.0),
                Celsius::known(20.0),
                Days::known(days),
            )
            .unwrap()
            .gravity
            .value
        };
        let now = start.plus_days(30.0);
        let told = |facts: &Facts, readings: &[Observation], hand: &[Point]| {
            masses(facts, readings, hand, Some(og), start, now)
        };
        let grams = [6000.0, 5960.0, 5900.0, 5850.0];
        let days = [0.0, 2.0, 4.0, 6.0];
        let readings: Vec<_> = days
            .iter()
            .zip(grams)
            .map(|(d, g)| weighed(*d, g))
            .collect();
        let points = told(&facts, &readings, &[]).unwrap();
        assert_eq!(points.len(), 4);
        for (p, g) in points.iter().zip(grams) {
            let exact = by_sums(6000.0 - g, p.days.max(0.5));
            assert!(
                (p.gravity - exact).abs() < 0.002,
                "{}: {} for {exact}",
                p.days,
                p.gravity
            );
        }
        // Put on the scale on day 4 only: from what the hydrometer showed that day.
        let late: Vec<_> = [(4.0, 5900.0), (6.0, 5850.0)]
            .map(|(d, g)| weighed(d, g))
            .into();
        let hand = [point(0.0, 1.100), point(4.5, 1.070), point(9.0, 1.020)];
        let points = told(&facts, &late, &hand).unwrap();
        let fall = by_sums(100.0, 4.0) - by_sums(150.0, 6.0);
        assert!((points[0].gravity - 1.070).abs() < 1e-9);
        assert!(
            (points[1].gravity - (1.070 - fall)).abs() < 0.002,
            "{points:?}"
        );
        // Nothing known of gravity that day, or of the volume: they say little.
        assert_eq!(told(&facts, &late, &hand[..1]).unwrap_err().len(), 2);
        facts.volume = None;
        assert_eq!(told(&facts, &readings, &[]).unwrap_err().len(), 4);
    }

    /// The scale's step counts as a rounding does (its twelfth part, squared), beside that the
    /// weighing itself, the part that mass leaves open, and seams: each with a third of its fall.
    #[test]
    fn the_error_of_a_weighed_gravity_is_made_of_its_parts() {
        let all = [
            weighing(0.0, 5000.0),
            weighing(2.0, 4900.0),
            weighing(4.0, 4800.0),
        ];
        let sds = |breaks: &[f64]| -> Vec<f64> {
            let points = levels(&all, 1.100, 1e-4, breaks);
            points.iter().map(|p| p.sd).collect()
        };
        let made = |fall: f64, seams: f64| {
            let parts = [0.0005, 1e-4 / 12f64.sqrt(), 0.03 * fall, seams];
            parts.iter().map(|p| p * p).sum::<f64>().sqrt()
        };
        let near = |got: &[f64], wanted: [f64; 3]| {
            let close = got.iter().zip(wanted).all(|(g, w)| (g - w).abs() < 1e-9);
            assert!(close, "{got:?} for {wanted:?}");
        };
        near(
            &sds(&[]),
            [made(0.0, 0.0), made(0.01, 0.0), made(0.02, 0.0)],
        );
        let seam = 0.001_f64.hypot(0.3 * 0.01);
        near(
            &sds(&[3.0]),
            [made(0.0, 0.0), made(0.01, 0.0), made(0.02, seam)],
        );
        near(
            &sds(&[1.0]),
            [made(0.0, 0.0), made(0.01, seam), made(0.02, seam)],
        );
    }
}
