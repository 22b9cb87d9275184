//! From what the maker wrote down to what the engine takes: known corrections
//! are applied here, nothing is judged.

mod additions;
mod corrected;
mod ended;
mod events;

pub(crate) use additions::EXTRACT_PER_CO2;
pub use additions::{Addition, Known};
pub use corrected::corrected;
pub use ended::history;

use super::assess::abv;
use super::{
    Assessment, Event, EventKind, Facts, History, Observation, OriginalGravity, Seen as Saw,
    Style as Kind, TemperatureBand, TemperaturePoint, Yeast, assess, morning::LastGravity,
};
use super::{bottling, series};
use crate::domain::records::{
    Dossier, Household, Measure, MeasureKind, Reading, Stage, Style, Subject, VesselId,
};
use crate::domain::units::{Abv, Celsius, Gravity, GravityDelta, Litres, Moment, Ph, Share};
use corrected::{sample_temperature, saw};
pub(crate) use events::volume_before;
use events::{Before, end_after};

/// Hours around the pitch within which a gravity counts as the original one:
/// common practice, no source.
const OG_HOURS_AFTER: f64 = 12.0;
/// Days before the pitch from which a gravity may still be the original one.
const OG_DAYS_BEFORE: f64 = 3.0;

/// One batch (in one of its vessels) as the engine takes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// Standing facts.
    pub facts: Facts,
    /// Readings, oldest first.
    pub observations: Vec<Observation>,
    /// Temperatures of the vessel and its places, oldest first.
    pub temperatures: Vec<TemperaturePoint>,
    /// Corrected gravities, oldest first.
    pub gravities: Vec<(Moment, Gravity)>,
    /// The last of them, as seen too.
    pub last: Option<LastGravity>,
    /// Last temperature known.
    pub temperature: Option<(Celsius, Moment)>,
    /// What went in since it was pitched, oldest first.
    pub additions: Vec<Addition>,
    /// How much lies there.
    pub volume: Option<Litres>,
}

impl Told {
    /// What the engine says of it.
    pub fn assess(&self, history: &History, now: Moment) -> Assessment {
        assess(
            &self.facts,
            &self.observations,
            &self.temperatures,
            history,
            now,
        )
    }
}

impl Told {
    /// Whether gravity or mass was read since the yeast had time to work.
    pub fn read_since_pitch(&self) -> bool {
        let Some(pitched) = self.facts.pitched else {
            return false;
        };
        self.observations.iter().any(|o| {
            !matches!(o.seen, Saw::Acidity { .. })
                && o.at.days_since(pitched) > OG_HOURS_AFTER / 24.0
        })
    }
}

impl Told {
    /// Alcohol by volume from gravities alone, where no assessment is at hand.
    ///
    /// What was poured in counts as the engine counts it. Sugar that came after
    /// the last reading counts as fermented, as that for gas does, unless the
    /// drink was stabilised.
    pub fn strength(&self, now: Moment) -> Option<Abv> {
        let (original, last) =
            series::ends(&self.facts, &self.observations, &self.temperatures, now)?;
        let stabilised = |e: &Event| e.kind == EventKind::Stabilised;
        let read = self.last?.at;
        let to_come: f64 = if self.facts.events.iter().any(stabilised) {
            0.0
        } else {
            self.facts
                .events
                .iter()
                .filter(|e| e.at > read && e.at <= now)
                .filter_map(|e| match e.kind {
                    EventKind::SugarAdded { rise } => rise.map(GravityDelta::get),
                    _ => None,
                })
                .sum()
        };
        let end = Gravity::clamped(last.get() - to_come);
        Some(abv(original, end))
    }
}

/// Gathers what is known of a batch up to `now`. Where it lies in several
/// vessels, readings of its other vessels count only from before the split.
pub fn told(
    household: &Household,
    dossier: &Dossier,
    vessel: Option<VesselId>,
    now: Moment,
) -> Told {
    let readings: Vec<&Reading> = dossier
        .readings
        .iter()
        .filter(|r| r.at <= now && belongs(dossier, r, vessel))
        .collect();
    let (measured, planned) = original(household, dossier, &readings);
    let (og, og_read) = (measured.map(|(og, _)| og), measured.map(|(_, at)| at));
    let mut facts = facts_of(household, dossier, vessel, og.or(planned));
    let og_gravity = facts.og.map(OriginalGravity::gravity);
    let mut observations = Vec::new();
    let mut gravities = Vec::new();
    let mut last = None;
    for reading in &readings {
        let corrected = corrected(household, reading, og_gravity);
        if let Some(seen) = saw(household, reading, corrected) {
            observations.push(Observation {
                at: reading.at,
                temperature: sample_temperature(reading),
                seen,
            });
        }
        if let Some(corrected) = corrected {
            gravities.push((reading.at, corrected));
            last = Some(LastGravity {
                corrected,
                raw: reading.seen,
                at: reading.at,
            });
        }
    }
    let before = Before {
        dossier,
        vessel,
        og: og_gravity,
        og_read,
        gravities: &gravities,
    };
    facts.events = before.events(now);
    let additions = before.additions(now);
    facts.expected_fg = end_after(&facts);
    let temperatures = temperatures(dossier, &readings, now);
    let temperature = temperatures
        .last()
        .map(|t| (t.celsius, t.at))
        .or_else(|| last_sample_temperature(&readings));
    Told {
        facts,
        observations,
        temperatures,
        gravities,
        last,
        temperature,
        additions,
        volume: volume_here(dossier, vessel),
    }
}

/// How much lies in a vessel of a batch, or in all of them where none is named.
fn volume_here(dossier: &Dossier, vessel: Option<VesselId>) -> Option<Litres> {
    match vessel {
        Some(vessel) => bottling::volume_in(dossier, vessel),
        None => bottling::volume_now(dossier),
    }
}

/// The last pH read of what lies in a vessel, or of a batch where none is named.
pub(crate) fn last_ph(dossier: &Dossier, vessel: Option<VesselId>, now: Moment) -> Option<Ph> {
    let here = |r: &&Reading| r.at <= now && belongs(dossier, r, vessel);
    let read = dossier.readings.iter().filter(here);
    read.rev().find_map(|r| match r.seen.measure() {
        Measure::Ph(ph) => Some(ph),
        _ => None,
    })
}

/// Whether a reading speaks of the batch in this vessel.
fn belongs(dossier: &Dossier, reading: &Reading, vessel: Option<VesselId>) -> bool {
    match reading.subject {
        Subject::Vessel(of) => belongs_to(dossier, of, reading.at, vessel),
        Subject::Place(_) => true,
    }
}

/// Whether what was seen or done in one vessel of a batch counts for what lies
/// in another: always where they are the same, or where all of it was racked on.
pub(crate) fn belongs_to(
    dossier: &Dossier,
    of: VesselId,
    at: Moment,
    vessel: Option<VesselId>,
) -> bool {
    let Some(here) = vessel.filter(|here| *here != of) else {
        return true;
    };
    // What happened in another vessel counts up to the instant at which this
    // one's part began; after it, it happened to another part.
    match began(dossier, here) {
        Some(from) => at <= from,
        None => dossier
            .stays
            .iter()
            .all(|s| s.vessel != of || s.to.is_some()),
    }
}

/// Since when a vessel has held its part; a part taken out of it ends no stay.
fn began(dossier: &Dossier, vessel: VesselId) -> Option<Moment> {
    let mut from: Option<Moment> = None;
    for stay in dossier.stays.iter().rev().filter(|s| s.vessel == vessel) {
        let joins = match (stay.to, from) {
            (None, None) => true,
            (Some(to), Some(from)) => from.days_since(to) < JOINED,
            _ => false,
        };
        if joins {
            from = Some(stay.from);
        } else if from.is_some() {
            break;
        }
    }
    from
}

/// Two stays no further apart than this, in days, are one: a second.
const JOINED: f64 = 1.0 / 86_400.0;

fn last_sample_temperature(readings: &[&Reading]) -> Option<(Celsius, Moment)> {
    readings
        .iter()
        .rev()
        .find_map(|r| sample_temperature(r).map(|t| (t, r.at)))
}

/// The original gravity: measured near the pitch, with the time of that, and planned.
fn original(
    household: &Household,
    dossier: &Dossier,
    readings: &[&Reading],
) -> (Option<(OriginalGravity, Moment)>, Option<OriginalGravity>) {
    let planned = dossier.batch.planned_og.map(OriginalGravity::Planned);
    let Some(pitched) = dossier.batch.pitched else {
        return (None, planned);
    };
    let measured = readings
        .iter()
        .filter(|r| {
            let days = r.at.days_since(pitched);
            (-OG_DAYS_BEFORE..=OG_HOURS_AFTER / 24.0).contains(&days)
        })
        .find_map(|r| {
            Some((
                OriginalGravity::Measured(corrected(household, r, None)?),
                r.at,
            ))
        });
    (measured, planned)
}

fn facts_of(
    household: &Household,
    dossier: &Dossier,
    vessel: Option<VesselId>,
    og: Option<OriginalGravity>,
) -> Facts {
    let batch = &dossier.batch;
    let place = vessel
        .and_then(|v| household.vessel(v))
        .and_then(|v| household.place(v.place));
    Facts {
        style: kind(batch.style),
        volume: batch.volume,
        og,
        expected_fg: batch.expected_fg,
        yeast: Yeast {
            name: batch.yeast.clone(),
            tolerance: batch.tolerance,
            band: batch.band.map(|b| TemperatureBand {
                low: b.low,
                high: b.high,
            }),
        },
        place: place.map(|p| p.name.clone()),
        usual_temperature: place.and_then(|p| p.usual_temp),
        pitched: (batch.stage != Stage::Planned)
            .then_some(batch.pitched)
            .flatten(),
        events: Vec::new(),
        stall_prior: Share::clamped(household.settings.stall_prior),
    }
}

/// The engine's word for a style.
pub fn kind(style: Style) -> Kind {
    match style {
        Style::Mead => Kind::Mead,
        Style::Cider => Kind::Cider,
        Style::Beer => Kind::Beer,
    }
}

fn temperatures(dossier: &Dossier, readings: &[&Reading], now: Moment) -> Vec<TemperaturePoint> {
    let mut points: Vec<TemperaturePoint> = readings
        .iter()
        .copied()
        .chain(dossier.place_readings.iter().filter(|r| r.at <= now))
        .filter(|r| r.seen.kind() == MeasureKind::Temperature)
        .filter_map(|r| match r.seen.measure() {
            Measure::Temperature(celsius) => Some(TemperaturePoint { at: r.at, celsius }),
            _ => None,
        })
        .collect();
    points.sort_by_key(|p| p.at);
    points
}

/// Where a healthy ferment of this kind should end: the plan where there is
/// one, else what its sugar and yeast allow.
///
/// Mead and cider go to 0.998, beer leaves a quarter of its points, and sugar
/// beyond the yeast's tolerance stays, 7.6 points for each % vol: common
/// practice, no source.
pub fn healthy_end(facts: &Facts) -> Option<Gravity> {
    if facts.expected_fg.is_some() {
        return facts.expected_fg;
    }
    let og = facts.og?.gravity().get();
    let end = match facts.style {
        Kind::Mead | Kind::Cider => 0.998,
        Kind::Beer => og - 0.75 * (og - 1.0),
    };
    let left = facts.yeast.tolerance.map_or(end, |t| og - t.get() * 0.0076);
    Some(Gravity::clamped(end.max(left).min(og)))
}
