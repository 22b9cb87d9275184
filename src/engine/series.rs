//! From what was handed in to what the inference works on: readings in order
//! of time, in one scale, each with its error; the useless ones set aside.

use super::dense::{masses, sensors, thinned};
use super::thermal::ThermalClock;
use super::{
    EventKind, Facts, Observation, OriginalGravity, Seen, Style, Suspicion, SuspicionWhy,
    TemperaturePoint,
};
use crate::domain::sums::{gravity, refractometer};
use crate::domain::units::{Brix, Celsius, Gravity, GravityDelta, Moment, Share};

/// Readings as the inference sees them, in order of time.
#[derive(Debug, Clone, Default)]
pub(crate) struct Series {
    /// Days since the pitch.
    pub(crate) days: Vec<f64>,
    /// Thermal time.
    pub(crate) thermal: Vec<f64>,
    /// Gravity less the reference.
    pub(crate) gravity: Vec<f64>,
    /// One over the standard error.
    pub(crate) per_sd: Vec<f64>,
    /// Index in the readings handed in; of a mean of several, the last.
    pub(crate) index: Vec<usize>,
}

impl Series {
    /// How many there are.
    pub(crate) fn len(&self) -> usize {
        self.days.len()
    }

    /// Some of them.
    pub(crate) fn part(&self, range: std::ops::RangeInclusive<usize>) -> Self {
        Self {
            days: self.days[range.clone()].to_vec(),
            thermal: self.thermal[range.clone()].to_vec(),
            gravity: self.gravity[range.clone()].to_vec(),
            per_sd: self.per_sd[range.clone()].to_vec(),
            index: self.index[range].to_vec(),
        }
    }
}

/// One gravity with its error.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Point {
    /// Days since the pitch.
    pub(crate) days: f64,
    /// Gravity.
    pub(crate) gravity: f64,
    /// Standard error of one reading.
    pub(crate) sd: f64,
    /// Error that a mean of many keeps.
    pub(crate) floor: f64,
    /// Index in the readings handed in.
    pub(crate) index: usize,
}

/// All that the inference needs, in one place.
#[derive(Debug, Clone)]
pub(crate) struct Gathered {
    /// When time zero is.
    pub(crate) pitched: Moment,
    /// Days since then.
    pub(crate) now: f64,
    /// Gravities in order of time, as if all that was added had been there from the start.
    pub(crate) points: Vec<Point>,
    /// Gravity at the pitch from which is reckoned, on the same footing.
    pub(crate) og: Option<OriginalGravity>,
    /// Gravity of the must before any yeast, on the same footing: the original
    /// gravity, of which a second pitch knows nothing.
    pub(crate) must: Option<f64>,
    /// Time against thermal time.
    pub(crate) clock: ThermalClock,
    /// Readings set aside.
    pub(crate) set_aside: Vec<Suspicion>,
    /// How many readings of progress there were.
    pub(crate) counted: usize,
}

/// Standard error of a hydrometer reading beside its rounding: common practice
/// has 0.001 to 0.0015, the sample ferments 0.0012 on the mean.
const HYDROMETER: f64 = 0.0012;
/// What a mean of many hydrometer readings keeps: the scale itself.
const HYDROMETER_FLOOR: f64 = 0.0006;
/// Days by which a reading's time and the temperature between readings may be
/// out, as they act on gravity while it falls.
const CLOCK_ERROR: f64 = 0.08;
/// Steepest fall a day that is believed when that error is reckoned.
const STEEPEST: f64 = 0.06;
/// A reading this long before the pitch is of something else.
const BEFORE_PITCH: f64 = 3.0;

/// Gathers; `None` while nothing was pitched.
pub(crate) fn gather(
    facts: &Facts,
    readings: &[Observation],
    temperatures: &[TemperaturePoint],
    now: Moment,
) -> Option<Gathered> {
    let first_pitch = facts.pitched.filter(|p| *p <= now)?;
    let (pitched, repitched) = last_pitch(facts, readings, first_pitch, now);
    let now_days = now.days_since(pitched).max(0.0);
    let clock = clock(facts, readings, temperatures, pitched, now_days);
    let mut set_aside = Vec::new();
    let og = original(facts, readings, pitched, repitched);
    let mut points = Vec::new();
    for (index, r) in readings.iter().enumerate() {
        let days = r.at.days_since(pitched);
        if r.at > now || matches!(r.seen, Seen::Acidity { .. }) {
            continue;
        }
        if days < -BEFORE_PITCH {
            if !repitched {
                set_aside.push(unusable(index));
            }
            continue;
        }
        match r.seen {
            Seen::Hydrometer {
                gravity,
                resolution,
            } => points.push(by_float(gravity, resolution, days, index)),
            Seen::Refractometer { brix, factor } => {
                match refracted(brix, factor, facts.og, days.max(0.0), index) {
                    Some(point) => points.push(point),
                    None => set_aside.push(unusable(index)),
                }
            }
            Seen::Mass { .. } | Seen::Sensor { .. } | Seen::Acidity { .. } => {}
        }
    }
    points.sort_by(|a, b| a.days.total_cmp(&b.days));
    let by_hand = points.clone();
    points.extend(sensors(readings, &by_hand, pitched, now));
    let weighed = masses(facts, readings, &by_hand, og, pitched, now);
    match weighed {
        Ok(weighed) => points.extend(weighed),
        Err(unanchored) => set_aside.extend(unanchored),
    }
    points.sort_by(|a, b| a.days.total_cmp(&b.days));
    let counted = points.len();
    let (points, og) = as_if_from_the_start(facts, points, og, pitched, now);
    let must = if repitched {
        before_any_yeast(facts, readings, first_pitch, now)
    } else {
        og.map(|og| og.gravity().get())
    };
    Some(Gathered {
        pitched,
        now: now_days,
        points: thinned(points),
        og,
        must,
        clock,
        set_aside,
        counted,
    })
}

fn by_float(gravity: Gravity, resolution: GravityDelta, days: f64, index: usize) -> Point {
    Point {
        days: days.max(0.0),
        gravity: gravity.get(),
        sd: HYDROMETER.hypot(resolution.get().abs().min(0.01) / 12f64.sqrt()),
        floor: HYDROMETER_FLOOR,
        index,
    }
}

/// The gravity of the must when the first yeast went in, as if all that was
/// poured in since had been there; where it was not told, as first read then.
fn before_any_yeast(
    facts: &Facts,
    readings: &[Observation],
    first_pitch: Moment,
    now: Moment,
) -> Option<f64> {
    let mut points: Vec<Point> = readings
        .iter()
        .enumerate()
        .filter(|(_, r)| r.at <= now)
        .filter_map(|(index, r)| {
            let days = r.at.days_since(first_pitch);
            match r.seen {
                Seen::Hydrometer {
                    gravity,
                    resolution,
                } if days >= -BEFORE_PITCH => Some(by_float(gravity, resolution, days, index)),
                _ => None,
            }
        })
        .collect();
    points.sort_by(|a, b| a.days.total_cmp(&b.days));
    let (points, og) = as_if_from_the_start(facts, points, facts.og, first_pitch, now);
    let read = points.first().filter(|p| p.days < AT_PITCH);
    og.map(|og| og.gravity().get()).or(read.map(|p| p.gravity))
}

/// A reading within so many days of the pitch shows the gravity then.
pub(crate) const AT_PITCH: f64 = 0.5;

/// The original gravity and the gravity read last, both as if all that was
/// poured in had been there from the start.
pub(crate) fn ends(
    facts: &Facts,
    readings: &[Observation],
    temperatures: &[TemperaturePoint],
    now: Moment,
) -> Option<(Gravity, Gravity)> {
    let all = gather(facts, readings, temperatures, now)?;
    let last = all.points.last()?.gravity;
    Some((Gravity::clamped(all.must?), Gravity::clamped(last)))
}

fn unusable(index: usize) -> Suspicion {
    Suspicion {
        index,
        probability: Share::known(1.0),
        why: SuspicionWhy::Unusable,
    }
}

/// A second pitch starts the reckoning afresh, once it is read again.
fn last_pitch(
    facts: &Facts,
    readings: &[Observation],
    first: Moment,
    now: Moment,
) -> (Moment, bool) {
    let again = facts
        .events
        .iter()
        .filter(|e| e.kind == EventKind::Repitched && e.at > first && e.at <= now)
        .map(|e| e.at)
        .max();
    match again {
        Some(at)
            if readings
                .iter()
                .any(|r| r.at >= at && r.at <= now && shows_gravity(r)) =>
        {
            (at, true)
        }
        _ => (first, false),
    }
}

fn shows_gravity(r: &Observation) -> bool {
    matches!(r.seen, Seen::Hydrometer { .. } | Seen::Sensor { .. })
}

fn clock(
    facts: &Facts,
    readings: &[Observation],
    temperatures: &[TemperaturePoint],
    pitched: Moment,
    now: f64,
) -> ThermalClock {
    let mut points: Vec<(f64, f64)> = temperatures
        .iter()
        .map(|p| (p.at.days_since(pitched), p.celsius.get()))
        .collect();
    points.extend(
        readings
            .iter()
            .filter_map(|r| Some((r.at.days_since(pitched), r.temperature?.get()))),
    );
    let usual = facts.usual_temperature.map_or_else(
        || match facts.style {
            Style::Mead | Style::Beer => 20.0,
            Style::Cider => 17.0,
        },
        Celsius::get,
    );
    ThermalClock::new(points, usual, now)
}

/// The gravity at the pitch from which is reckoned.
fn original(
    facts: &Facts,
    readings: &[Observation],
    pitched: Moment,
    repitched: bool,
) -> Option<OriginalGravity> {
    if !repitched {
        return facts.og;
    }
    readings
        .iter()
        .filter_map(|r| match r.seen {
            Seen::Hydrometer { gravity, .. } | Seen::Sensor { gravity } => {
                Some((r.at.days_since(pitched).abs(), gravity))
            }
            _ => None,
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, g)| OriginalGravity::Planned(g))
        .or(facts.og)
}

/// A refractometer's gravity, by the trade sums; worse the more alcohol there is.
fn refracted(
    brix: Brix,
    factor: f64,
    og: Option<OriginalGravity>,
    days: f64,
    index: usize,
) -> Option<Point> {
    let shown = refractometer::true_brix(brix, factor).ok()?;
    let original = og.map(OriginalGravity::gravity);
    let gravity = match original {
        Some(og) => refractometer::with_original(shown, og)
            .map(|seen| seen.gravity)
            .or_else(|_| gravity::from_brix(shown))
            .ok()?,
        None => gravity::from_brix(shown).ok()?,
    };
    let fallen = original.map_or(0.0, |og| (og.get() - gravity.get()).max(0.0));
    // Fresh: 0.2 °Bx, 0.001. With alcohol the model's error of 0.9 % vol, 0.0069 in all.
    let late = if original.is_some() { 0.0059 } else { 0.02 };
    let sd = 0.001
        + late * (fallen / 0.02).min(1.0)
        + if original.is_none() && days > 1.0 {
            late
        } else {
            0.0
        };
    Some(Point {
        days,
        gravity: gravity.get(),
        sd,
        floor: 0.7 * sd,
        index,
    })
}

/// Sugar that went in later counts as if it had been there from the start, as
/// the trade does when it speaks of the original gravity of a fed must; water
/// likewise.
fn as_if_from_the_start(
    facts: &Facts,
    mut points: Vec<Point>,
    mut og: Option<OriginalGravity>,
    pitched: Moment,
    now: Moment,
) -> (Vec<Point>, Option<OriginalGravity>) {
    let mut events: Vec<_> = facts.events.iter().filter(|e| e.at <= now).collect();
    events.sort_by_key(|e| e.at);
    for event in events {
        let at = event.at.days_since(pitched);
        if at < 0.0 {
            continue;
        }
        let change: Box<dyn Fn(f64) -> f64> = match event.kind {
            EventKind::SugarAdded { rise } | EventKind::FruitAdded { rise } => {
                let rise = rise.map_or_else(|| seen_rise(&points, at), GravityDelta::get);
                Box::new(move |g| g + rise)
            }
            EventKind::Diluted { factor }
                if factor.is_finite() && factor > 1.0 && factor < 20.0 =>
            {
                Box::new(move |g| 1.0 + (g - 1.0) / factor)
            }
            EventKind::Blended {
                share,
                gravity,
                original,
            } => {
                let other = (gravity.get(), original.get());
                blended(&points, og, at, share.get(), other)
            }
            _ => continue,
        };
        for p in points.iter_mut().filter(|p| p.days < at) {
            p.gravity = change(p.gravity);
        }
        if at > 0.0 {
            og = og.map(|og| match og {
                OriginalGravity::Planned(g) => {
                    OriginalGravity::Planned(Gravity::clamped(change(g.get())))
                }
                OriginalGravity::Measured(g) => {
                    OriginalGravity::Measured(Gravity::clamped(change(g.get())))
                }
            });
        }
    }
    (points, og)
}

/// Fallen less than this, a drink gives no slope to carry on.
const HARDLY_FALLEN: f64 = 0.005;

/// How gravities before a blend read once the other drink counts as having
/// been there from the start: the original gravities mix, the gravities at the
/// blend mix, and what lies between keeps its share of the way. Linear by
/// volume, which is within 0.001 of the sum by mass.
fn blended(
    points: &[Point],
    og: Option<OriginalGravity>,
    at: f64,
    share: f64,
    other: (f64, f64),
) -> Box<dyn Fn(f64) -> f64> {
    let mix = move |own: f64, other: f64| (1.0 - share) * own + share * other;
    let here = points.iter().rfind(|p| p.days < at).map(|p| p.gravity);
    let start = og.map(|og| og.gravity().get());
    match (start, here) {
        (Some(start), Some(here)) if start - here > HARDLY_FALLEN => {
            let (top, low) = (mix(start, other.1.max(other.0)), mix(here, other.0));
            let slope = (top - low) / (start - here);
            Box::new(move |g| low + slope * (g - here))
        }
        _ => Box::new(move |g| mix(g, other.0)),
    }
}

/// Longest gap across which the rise of an addition is read off the gravities.
const RISE_GAP: f64 = 4.0;

fn seen_rise(points: &[Point], at: f64) -> f64 {
    let before = points.iter().rfind(|p| p.days < at);
    let after = points.iter().find(|p| p.days >= at);
    match (before, after) {
        (Some(b), Some(a)) if a.days - b.days <= RISE_GAP => (a.gravity - b.gravity).max(0.0),
        _ => 0.0,
    }
}

impl Gathered {
    /// In the working scale, with the error that an uncertain clock adds where
    /// gravity falls fast.
    pub(crate) fn series(&self, reference: f64) -> Series {
        let p = &self.points;
        let mut series = Series::default();
        for i in 0..p.len() {
            let (a, b) = (i.saturating_sub(1), (i + 1).min(p.len() - 1));
            let gap = (p[b].days - p[a].days).max(0.25);
            let slope = ((p[a].gravity - p[b].gravity) / gap).clamp(0.0, STEEPEST);
            series.days.push(p[i].days);
            series.thermal.push(self.clock.thermal(p[i].days));
            series.gravity.push(p[i].gravity - reference);
            series.per_sd.push(1.0 / p[i].sd.hypot(slope * CLOCK_ERROR));
            series.index.push(p[i].index);
        }
        series
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::engine::Event;
    use chrono::DateTime;

    /// When the invented ferments of these tests were pitched.
    pub(crate) fn start() -> Moment {
        Moment::new(DateTime::parse_from_rfc3339("2026-03-01T08:00:00-08:00").unwrap())
    }

    /// What a hydrometer showed so many days after that.
    pub(crate) fn read(day: f64, gravity: f64) -> Observation {
        Observation {
            at: start().plus_days(day),
            temperature: None,
            seen: Seen::Hydrometer {
                gravity: Gravity::known(gravity),
                resolution: GravityDelta::known(0.001),
            },
        }
    }

    /// What went in before the second pitch and after it counts for the must.
    #[test]
    fn a_second_pitch_leaves_the_original_gravity_what_it_was() {
        let readings = [
            read(0.0, 1.090),
            read(4.0, 1.080),
            read(10.0, 1.075),
            read(20.0, 1.030),
        ];
        let mut facts = Facts::of(Style::Mead);
        facts.pitched = Some(start());
        let happened = |day: f64, kind| Event {
            at: start().plus_days(day),
            kind,
        };
        let rise = Some(GravityDelta::known(0.010));
        facts.events = vec![
            happened(5.0, EventKind::SugarAdded { rise }),
            happened(10.0, EventKind::Repitched),
        ];
        let now = start().plus_days(20.0);
        let must = |facts: &Facts| ends(facts, &readings, &[], now).unwrap().0.get();
        assert!(
            (must(&facts) - 1.100).abs() < 1e-9,
            "as first read, and the sugar"
        );
        facts.og = Some(OriginalGravity::Measured(Gravity::known(1.092)));
        assert!(
            (must(&facts) - 1.102).abs() < 1e-9,
            "as measured, and the sugar"
        );
        facts
            .events
            .push(happened(15.0, EventKind::SugarAdded { rise }));
        assert!((must(&facts) - 1.112).abs() < 1e-9, "and the sugar since");
    }
    fn happened(day: f64, kind: EventKind) -> Event {
        Event {
            at: start().plus_days(day),
            kind,
        }
    }

    fn gathered(events: Vec<Event>, readings: &[Observation]) -> Gathered {
        let mut facts = Facts::of(Style::Mead);
        facts.pitched = Some(start());
        facts.og = Some(OriginalGravity::Measured(Gravity::known(1.100)));
        facts.events = events;
        gather(&facts, readings, &[], start().plus_days(30.0)).unwrap()
    }

    fn gravities(of: &Gathered) -> Vec<f64> {
        of.points.iter().map(|p| p.gravity).collect()
    }

    fn near(got: &[f64], wanted: &[f64]) {
        assert_eq!(got.len(), wanted.len());
        for (g, w) in got.iter().zip(wanted) {
            assert!((g - w).abs() < 1e-9, "{got:?} for {wanted:?}");
        }
    }

    /// A second pitch that nothing was read after changes nothing yet.
    #[test]
    fn a_second_pitch_counts_once_it_is_read() {
        let readings = [read(0.0, 1.100), read(4.0, 1.080)];
        let again = || vec![happened(10.0, EventKind::Repitched)];
        let before = gathered(again(), &readings);
        assert_eq!(before.pitched, start());
        near(&gravities(&before), &[1.100, 1.080]);
        let read_since = [readings[0], readings[1], read(10.0, 1.078)];
        assert_eq!(
            gathered(again(), &read_since).pitched,
            start().plus_days(10.0)
        );
    }

    /// Half must and half water: half of what it had above water.
    #[test]
    fn water_counts_as_if_from_the_start() {
        let readings = [read(0.0, 1.100), read(4.0, 1.060), read(6.0, 1.030)];
        let diluted = vec![happened(5.0, EventKind::Diluted { factor: 2.0 })];
        let seen = gathered(diluted, &readings);
        near(&gravities(&seen), &[1.050, 1.030, 1.030]);
        assert!((seen.og.unwrap().gravity().get() - 1.050).abs() < 1e-9);
    }

    #[test]
    fn a_rise_that_was_not_told_is_read_off_its_neighbours() {
        let added = |day| vec![happened(day, EventKind::SugarAdded { rise: None })];
        let readings = [read(0.0, 1.100), read(10.0, 1.040), read(12.0, 1.052)];
        near(
            &gravities(&gathered(added(11.0), &readings)),
            &[1.112, 1.052, 1.052],
        );
        // Across ten days the ferment hides it.
        let readings = [read(0.0, 1.100), read(10.0, 1.040), read(20.0, 1.052)];
        near(
            &gravities(&gathered(added(11.0), &readings)),
            &[1.100, 1.040, 1.052],
        );
    }

    /// A third of a drink that went from 1.060 to 1.000: the mixed must began at
    /// 1.0866..., and lay at 1.04 when they met.
    #[test]
    fn a_blend_counts_as_if_from_the_start() {
        let other = EventKind::Blended {
            share: Share::known(1.0 / 3.0),
            gravity: Gravity::known(1.000),
            original: Gravity::known(1.060),
        };
        let readings = [
            read(0.0, 1.100),
            read(4.0, 1.080),
            read(5.0, 1.060),
            read(6.0, 1.040),
        ];
        let seen = gathered(vec![happened(5.5, other)], &readings);
        let (top, low) = (
            1.100 * 2.0 / 3.0 + 1.060 / 3.0,
            1.060 * 2.0 / 3.0 + 1.000 / 3.0,
        );
        near(&gravities(&seen), &[top, 0.5 * (top + low), low, 1.040]);
    }

    /// 0.2 °Bx is 0.0008; 0.9 % vol, by the trade's 131.25, is 0.0069.
    #[test]
    fn a_refractometer_errs_by_its_scale_and_then_by_the_alcohol() {
        let og = Some(OriginalGravity::Measured(Gravity::known(1.100)));
        let sd = |brix: f64, og, days| refracted(Brix::known(brix), 1.0, og, days, 0).unwrap().sd;
        let fresh = gravity::brix(Gravity::known(1.100)).unwrap().get();
        assert!((sd(fresh, og, 0.0) - 0.2 * 0.004).abs() < 0.0005);
        assert!((sd(12.0, og, 6.0) - (0.9 / 131.25)).abs() < 0.001);
        assert!(sd(fresh - 1.0, og, 1.0) < sd(12.0, og, 6.0));
        // What it began at is not known: alcohol may be there or not.
        assert!(sd(12.0, None, 6.0) > 3.0 * sd(12.0, og, 6.0));
    }
}
