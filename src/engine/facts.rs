//! From what the maker wrote down to what the engine takes: known corrections
//! are applied here, nothing is judged.

use super::{
    Assessment, Event as EngineEvent, EventKind as Happened, Facts, History, Observation,
    OriginalGravity, PastBatch, Seen as Saw, Style as Kind, TemperatureBand, TemperaturePoint,
    Yeast, assess, morning::LastGravity,
};
use crate::domain::records::{
    Dossier, Event, EventKind, Household, Instrument, InstrumentKind, Measure, MeasureKind,
    Reading, Stage, Style, Subject, VesselId,
};
use crate::domain::sums::alcohol;
use crate::domain::sums::gravity::{self, Scale};
use crate::domain::sums::hydrometer::{self, Hydrometer};
use crate::domain::sums::refractometer;
use crate::domain::units::{
    Abv, Abw, Brix, Celsius, Grams, Gravity, GravityDelta, Litres, MilligramsPerLitre, Moment,
    Share,
};

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

    /// Share of the sugar gone: as the engine says, else by the last gravity.
    pub fn sugar_gone(&self, assessment: &Assessment) -> Option<Share> {
        self.facts.pitched?;
        assessment.sugar_gone.map(|s| s.p50).or_else(|| {
            let og = self.facts.og?.gravity();
            alcohol::share_gone(og, self.last?.corrected, healthy_end(&self.facts)?).ok()
        })
    }

    /// Alcohol by volume: as the engine says, else by the last gravity.
    pub fn abv(&self, assessment: &Assessment) -> Option<Abv> {
        self.facts.pitched?;
        assessment.alcohol.map(|a| a.now.p50).or_else(|| {
            let og = self.facts.og?.gravity();
            let now = self.last?.corrected.get().min(og.get());
            alcohol::by_volume(og, Gravity::clamped(now)).ok()
        })
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
    let (og, planned) = original(household, dossier, &readings);
    let facts = facts_of(household, dossier, vessel, og.or(planned), now);
    let og_gravity = facts.og.map(OriginalGravity::gravity);
    let mut observations = Vec::new();
    let mut gravities = Vec::new();
    let mut last = None;
    for reading in &readings {
        if let Some(seen) = saw(household, reading, og_gravity) {
            observations.push(Observation {
                at: reading.at,
                temperature: sample_temperature(reading),
                seen,
            });
        }
        if let Some(corrected) = corrected(household, reading, og_gravity) {
            gravities.push((reading.at, corrected));
            last = Some(LastGravity {
                corrected,
                raw: reading.seen,
                at: reading.at,
            });
        }
    }
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
    }
}

/// Whether a reading speaks of the batch in this vessel.
fn belongs(dossier: &Dossier, reading: &Reading, vessel: Option<VesselId>) -> bool {
    let (Subject::Vessel(of), Some(here)) = (reading.subject, vessel) else {
        return true;
    };
    if of == here {
        return true;
    }
    // Another vessel that still holds a part: its readings count up to the
    // day on which this vessel's part began.
    let other_is_open = dossier
        .stays
        .iter()
        .any(|s| s.vessel == of && s.to.is_none());
    let began = dossier
        .stays
        .iter()
        .find(|s| s.vessel == here && s.to.is_none())
        .map(|s| s.from);
    !other_is_open || began.is_some_and(|from| reading.at < from)
}

fn instrument<'a>(
    household: &'a Household,
    reading: &Reading,
    kind: InstrumentKind,
) -> Option<&'a Instrument> {
    match reading.instrument {
        Some(id) => household.instruments.iter().find(|i| i.id == id),
        None => household
            .instruments
            .iter()
            .find(|i| i.kind == kind && i.preferred),
    }
}

fn sample_temperature(reading: &Reading) -> Option<Celsius> {
    match reading.sample_temp?.measure() {
        Measure::Temperature(t) => Some(t),
        _ => None,
    }
}

fn last_sample_temperature(readings: &[&Reading]) -> Option<(Celsius, Moment)> {
    readings
        .iter()
        .rev()
        .find_map(|r| sample_temperature(r).map(|t| (t, r.at)))
}

fn scale(instrument: Option<&Instrument>) -> Scale {
    let at = instrument
        .and_then(|i| i.calibrated_at)
        .map_or(20.0, Celsius::get);
    if (at - 15.0).abs() < 0.3 {
        Scale::Sg15
    } else if (at - 15.56).abs() < 0.3 {
        Scale::Sg60F
    } else {
        Scale::Sg20
    }
}

/// A reading's gravity, SG 20/20, with all that is known put right; none for
/// what is no gravity.
pub fn corrected(
    household: &Household,
    reading: &Reading,
    original: Option<Gravity>,
) -> Option<Gravity> {
    match reading.seen.measure() {
        Measure::Gravity(shown) => Some(float(household, reading, shown, original)),
        Measure::Extract(p) => {
            let shown = gravity::from_plato(p).ok()?;
            Some(float(household, reading, shown, original))
        }
        Measure::Refraction(brix) => {
            let tool = instrument(household, reading, InstrumentKind::Refractometer);
            let shown = Brix::new(brix.get() - tool.map_or(0.0, |i| i.offset)).ok()?;
            let real = refractometer::true_brix(shown, tool.map_or(1.0, |i| i.factor)).ok()?;
            original
                .and_then(|og| refractometer::with_original(real, og).ok())
                .map(|seen| seen.gravity)
                .or_else(|| gravity::from_brix(real).ok())
        }
        _ => None,
    }
}

/// Corrects a floating glass; out of the range of the sums it stays as read.
fn float(
    household: &Household,
    reading: &Reading,
    shown: Gravity,
    original: Option<Gravity>,
) -> Gravity {
    let tool = instrument(household, reading, InstrumentKind::Hydrometer);
    let scale = scale(tool);
    let glass = Hydrometer {
        scale,
        offset: GravityDelta::clamped(tool.map_or(0.0, |i| i.offset)),
    };
    let t = sample_temperature(reading).unwrap_or(Celsius::clamped(scale.celsius()));
    let done = match original {
        Some(og) => hydrometer::corrected_in_ferment(glass, shown, t, og),
        None => hydrometer::corrected(glass, shown, t, Abw::known(0.0)),
    };
    done.unwrap_or(shown)
}

fn saw(household: &Household, reading: &Reading, original: Option<Gravity>) -> Option<Saw> {
    let by = |kind| instrument(household, reading, kind);
    let sensor = reading
        .instrument
        .and_then(|id| household.instruments.iter().find(|i| i.id == id))
        .is_some_and(|i| i.kind == InstrumentKind::Sensor);
    match reading.seen.measure() {
        Measure::Gravity(_) | Measure::Extract(_) => {
            let gravity = corrected(household, reading, original)?;
            Some(if sensor {
                Saw::Sensor { gravity }
            } else {
                let step = by(InstrumentKind::Hydrometer).map_or(0.001, |i| i.resolution);
                Saw::Hydrometer {
                    gravity,
                    resolution: GravityDelta::clamped(if step > 0.0 { step } else { 0.001 }),
                }
            })
        }
        Measure::Refraction(brix) => {
            let tool = by(InstrumentKind::Refractometer);
            let offset = tool.map_or(0.0, |i| i.offset);
            Some(Saw::Refractometer {
                brix: Brix::new(brix.get() - offset).unwrap_or(brix),
                factor: tool.map_or(1.0, |i| i.factor),
            })
        }
        Measure::Mass(grams) => Some(Saw::Mass {
            grams,
            resolution: Grams::clamped(by(InstrumentKind::Scale).map_or(1.0, |i| i.resolution)),
        }),
        Measure::Ph(ph) => Some(Saw::Acidity { ph }),
        _ => None,
    }
}

/// The original gravity: measured near the pitch, and planned.
fn original(
    household: &Household,
    dossier: &Dossier,
    readings: &[&Reading],
) -> (Option<OriginalGravity>, Option<OriginalGravity>) {
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
        .find_map(|r| corrected(household, r, None))
        .map(OriginalGravity::Measured);
    (measured, planned)
}

fn facts_of(
    household: &Household,
    dossier: &Dossier,
    vessel: Option<VesselId>,
    og: Option<OriginalGravity>,
    now: Moment,
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
        events: events(dossier, now),
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

fn events(dossier: &Dossier, now: Moment) -> Vec<EngineEvent> {
    let volume = dossier.batch.volume;
    let mut sorbate = false;
    let mut sulfite = false;
    let mut out = Vec::new();
    for event in dossier.events.iter().filter(|e| e.at <= now) {
        if let Some(kind) = happened(dossier, event, volume) {
            out.push(EngineEvent { at: event.at, kind });
        }
        sorbate |= event.kind == EventKind::Sorbate;
        sulfite |= event.kind == EventKind::Sulfite;
        if sorbate && sulfite && matches!(event.kind, EventKind::Sorbate | EventKind::Sulfite) {
            out.push(EngineEvent {
                at: event.at,
                kind: Happened::Stabilised,
            });
        }
    }
    out
}

fn happened(dossier: &Dossier, event: &Event, volume: Option<Litres>) -> Option<Happened> {
    Some(match event.kind {
        EventKind::Feed => Happened::Nutrient {
            yan: event
                .mass
                .zip(volume)
                .and_then(|(m, v)| nitrogen(&event.substance, m, v)),
        },
        EventKind::Sugar | EventKind::Sweeten | EventKind::Prime => Happened::SugarAdded {
            rise: event
                .mass
                .zip(volume)
                .map(|(m, v)| rise(sugar_share(&event.substance), m, v)),
        },
        EventKind::Fruit => Happened::FruitAdded { rise: None },
        EventKind::Water | EventKind::TopUp => {
            let (added, before) = (event.volume?.get(), volume?.get());
            if added <= 0.0 || before <= 0.0 {
                return None;
            }
            Happened::Diluted {
                factor: (before + added) / before,
            }
        }
        EventKind::Rack => Happened::Racked,
        EventKind::Degas | EventKind::Rouse => Happened::Roused,
        EventKind::Pitch => {
            let first = dossier.batch.pitched?;
            if event.at.days_since(first) < 1.0 {
                return None;
            }
            Happened::Repitched
        }
        EventKind::Sulfite => Happened::Sulfited,
        _ => return None,
    })
}

/// Nitrogen that a gram per litre gives, in mg/L: ammonium phosphate 28.014 /
/// 132.06 by atomic masses; the others common practice, no source.
fn nitrogen(substance: &str, mass: Grams, volume: Litres) -> Option<MilligramsPerLitre> {
    let word = substance.to_lowercase();
    let per_gram = if word.contains("dap") || word.contains("ammonium") {
        212.1
    } else if word.contains("hull") {
        0.0
    } else if word.contains("yeast-derived") || word.contains("organic") {
        40.0
    } else if word.contains("complex") {
        100.0
    } else {
        return None;
    };
    (volume.get() > 0.0).then(|| MilligramsPerLitre::clamped(per_gram * mass.get() / volume.get()))
}

/// Sugar in a gram: honey holds about 17.2 % water (White and others, Composition of
/// American Honeys, 1962); anything else counts as dry sugar.
fn sugar_share(substance: &str) -> f64 {
    if substance.to_lowercase().contains("honey") {
        0.828
    } else {
        1.0
    }
}

/// Rise of gravity by dissolved sugar: 0.000385 per g/L (10 % by mass is 104 g/L
/// at SG 1.040, after the sucrose table).
fn rise(share: f64, mass: Grams, volume: Litres) -> GravityDelta {
    if volume.get() <= 0.0 {
        return GravityDelta::known(0.0);
    }
    GravityDelta::clamped(0.000_385 * share * mass.get() / volume.get())
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

/// The maker's own ended ferments among these, for the engine to learn from.
///
/// Counted are those that are in bottles or closed, were measured before the
/// yeast, and have at least two readings after it. One that was closed without
/// bottles, high above its end, counts as stuck.
pub fn history<'a>(
    household: &Household,
    dossiers: impl IntoIterator<Item = &'a Dossier>,
    now: Moment,
) -> History {
    let batches = dossiers
        .into_iter()
        .filter_map(|d| past(household, d, now))
        .collect();
    History { batches }
}

fn past(household: &Household, dossier: &Dossier, now: Moment) -> Option<PastBatch> {
    let batch = &dossier.batch;
    let pitched = batch.pitched?;
    let ended = batch.bottled.or(batch.closed)?;
    if !matches!(batch.stage, Stage::Bottled | Stage::Closed) || ended > now {
        return None;
    }
    let vessel = dossier.stays.first().map(|s| s.vessel);
    let told = told(household, dossier, None, ended);
    let Some(OriginalGravity::Measured(og)) = told.facts.og else {
        return None;
    };
    let after: Vec<&(Moment, Gravity)> = told
        .gravities
        .iter()
        .filter(|(at, _)| at.days_since(pitched) > OG_HOURS_AFTER / 24.0)
        .collect();
    let fg = after.last()?.1;
    if after.len() < 2 {
        return None;
    }
    let done = after
        .iter()
        .find(|(_, g)| g.get() <= fg.get() + 0.001 + 1e-9)?;
    let high = healthy_end(&told.facts).is_some_and(|end| fg.get() > end.get() + STUCK_ABOVE);
    let temperatures: Vec<f64> = told.temperatures.iter().map(|t| t.celsius.get()).collect();
    let mean = temperatures.iter().sum::<f64>() / temperatures.len() as f64;
    Some(PastBatch {
        style: told.facts.style,
        yeast: batch.yeast.clone(),
        place: vessel
            .and_then(|v| household.vessel(v))
            .and_then(|v| household.place(v.place))
            .map(|p| p.name.clone()),
        og,
        expected_fg: batch.expected_fg,
        fg,
        days_to_finish: done.0.days_since(pitched),
        temperature: (!temperatures.is_empty()).then(|| Celsius::clamped(mean)),
        stuck: high && batch.bottled.is_none(),
    })
}

/// So far above its end a batch that was given up counts as stuck: common practice, no source.
const STUCK_ABOVE: f64 = 0.010;
