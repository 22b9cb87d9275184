//! One batch's facts, and all that the morning needs.

use super::error::{Doing, Result};
use super::rows::Standing;
use super::samples::{DAY, HOUR, Stream, Sum};
use super::{Lessons, Reader, Store, dossiers};
use crate::domain::records::{
    Batch, BatchId, Dossier, Household, PlaceId, Reading, ReadingId, Seen, Stage, Stay, Subject,
    Unit, VesselId,
};
use crate::domain::units::Moment;
use chrono::Days;
use std::thread;

/// Bottles show up this many days before they are ready or should be drunk
/// (common practice, no source).
const CELLAR_NOTICE: Days = Days::new(30);

/// A stretch of time in one place, in stored milliseconds; the end is not part of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stretch {
    pub(super) place: PlaceId,
    pub(super) from: i64,
    pub(super) to: i64,
}

impl Store {
    /// What the morning needs: all that is planned, in a vessel, or in bottles
    /// with something due. One moment's view, whatever others write meanwhile.
    pub fn household(&self, now: Moment) -> Result<Household> {
        let read = self.load(false, now).doing("reading the household");
        read.map(|(household, _)| household)
    }

    /// The same with what ended batches teach, as of the same moment.
    pub fn household_and_lessons(&self, now: Moment) -> Result<(Household, Lessons)> {
        self.load(true, now).doing("reading the household")
    }

    /// One batch's facts, closed ones too; none where there is no such batch.
    pub fn dossier(&self, batch: BatchId, now: Moment) -> Result<Option<Dossier>> {
        let tx = self.conn.unchecked_transaction()?;
        let reader = Reader::new(&tx);
        reader
            .get::<Batch>(batch.0)?
            .map(|batch| dossier(reader, batch, now))
            .transpose()
            .doing("reading a batch")
    }

    /// The same, but of all batches only the one that lies in the vessel with
    /// that tag, without its steps, its bottles and its place's temperatures: for
    /// a reading or a note, which asks nothing of these.
    pub fn household_about(&self, tag: &str, now: Moment) -> Result<Household> {
        self.load_about(tag, now).doing("reading the household")
    }

    fn load(&self, lessons: bool, now: Moment) -> Result<(Household, Lessons)> {
        let tx = self.conn.unchecked_transaction()?;
        let reader = Reader::new(&tx);
        let mut household = around(reader)?;
        let batches = current(reader, now)?;
        let learn = || {
            let learned = lessons.then(|| reader.lessons(now));
            learned.unwrap_or_else(|| Ok(Lessons::default()))
        };
        let (dossiers, lessons) = dossiers_and(learn, reader, &batches, now)?;
        household.dossiers = dossiers;
        Ok((household, lessons))
    }

    fn load_about(&self, tag: &str, now: Moment) -> Result<Household> {
        let tx = self.conn.unchecked_transaction()?;
        let reader = Reader::new(&tx);
        let mut household = around(reader)?;
        let Some(vessel) = household.vessel_by_tag(tag).map(|v| v.id) else {
            return Ok(household);
        };
        if let Some(stay) = reader.open_stay_in(vessel)?
            && let Some(batch) = reader.get(stay.batch.0)?
        {
            household.dossiers.push(written(reader, batch, now)?);
        }
        Ok(household)
    }
}

/// A household without its batches.
fn around(reader: Reader<'_>) -> Result<Household> {
    Ok(Household {
        settings: reader.settings()?.unwrap_or_default(),
        places: reader.all()?,
        vessels: reader.all()?,
        instruments: reader.all()?,
        dossiers: Vec::new(),
        revision: reader.revision()?,
        last_entry: reader.last_entry()?,
    })
}

fn current(reader: Reader<'_>, now: Moment) -> Result<Vec<Batch>> {
    let today = now.day();
    let soon = today.checked_add_days(CELLAR_NOTICE).unwrap_or(today);
    let lately = today.checked_sub_days(CELLAR_NOTICE).unwrap_or(today);
    reader.some(
        "id IN (
             SELECT id FROM batch WHERE stage < ?1 OR (stage > ?1 AND stage < ?2) OR stage > ?2
             UNION ALL SELECT stay.batch FROM vessel
                 CROSS JOIN stay ON stay.vessel = vessel.id AND stay.to_ms IS NULL
             UNION ALL SELECT b.id FROM batch b WHERE stage = ?1 AND (
                 EXISTS (SELECT 1 FROM step WHERE step.batch = b.id AND step.status = 'open')
                 OR EXISTS (
                     SELECT 1 FROM lot WHERE lot.batch = b.id
                     AND (lot.drink_by <= ?3 OR lot.ready_from BETWEEN ?4 AND ?3)
                     AND lot.count > coalesce((SELECT sum(count) FROM draw WHERE draw.lot = lot.id), 0))))
         ORDER BY id",
        [
            Stage::Bottled.word().to_owned(),
            Stage::Closed.word().to_owned(),
            soon.to_string(),
            lately.to_string(),
        ],
    )
}

/// The dossiers of some batches, in their order, and something else that is asked of the
/// store. Dossiers kept in one piece are read back on another core meanwhile.
fn dossiers_and<T>(
    other: impl FnOnce() -> Result<T>,
    reader: Reader<'_>,
    batches: &[Batch],
    now: Moment,
) -> Result<(Vec<Dossier>, T)> {
    let from_rows = |batch: &Batch| dossier(reader, batch.clone(), now);
    let kept = batches.iter().map(|batch| reader.kept(batch, now));
    let kept = kept.collect::<Result<Vec<_>>>()?;
    let read_back = || {
        let each = batches.iter().zip(&kept);
        let read = each.map(|(batch, bytes)| dossiers::read_back(batch, bytes.as_deref()?));
        read.collect::<Vec<_>>()
    };
    thread::scope(|scope| {
        let any = kept.iter().any(Option::is_some);
        let hand = any.then(|| thread::Builder::new().spawn_scoped(scope, read_back));
        let mut all = Vec::with_capacity(batches.len());
        for (batch, bytes) in batches.iter().zip(&kept) {
            all.push(bytes.is_none().then(|| from_rows(batch)).transpose()?);
        }
        let other = other()?;
        let hand = hand.and_then(std::io::Result::ok);
        let back = hand.and_then(|hand| hand.join().ok()).unwrap_or_default();
        for (place, dossier) in all.iter_mut().zip(back) {
            *place = place.take().or(dossier);
        }
        // What could not be read back, or by nobody, is put together from its rows.
        let all = batches.iter().zip(all);
        let all = all.map(|(batch, dossier)| dossier.map_or_else(|| from_rows(batch), Ok));
        Ok((all.collect::<Result<_>>()?, other))
    })
}

/// What was read and done, of a batch in a vessel.
fn written(reader: Reader<'_>, batch: Batch, now: Moment) -> Result<Dossier> {
    let stays = reader.stays(batch.id)?;
    Ok(Dossier {
        readings: vessel_readings(reader, &stays, now)?,
        place_readings: Vec::new(),
        events: reader.events(batch.id)?,
        steps: Vec::new(),
        lots: Vec::new(),
        stays,
        batch,
    })
}

pub(super) fn dossier(reader: Reader<'_>, batch: Batch, now: Moment) -> Result<Dossier> {
    let stays = reader.stays(batch.id)?;
    let stretches = stretches(reader, &stays)?;
    Ok(Dossier {
        readings: vessel_readings(reader, &stays, now)?,
        place_readings: place_readings(reader, &stretches, now)?,
        events: reader.events(batch.id)?,
        steps: reader.steps(batch.id)?,
        lots: reader.lots(batch.id)?,
        stays,
        batch,
    })
}

/// What can be learned from of an ended batch: where it lay, readings and
/// temperatures. Steps, other entries and bottles would take most of the time.
pub(super) fn ended(reader: Reader<'_>, batch: Batch, now: Moment) -> Result<Dossier> {
    // Later on the last days would come by the day too: what is learned must
    // not depend on when.
    let now = now.plus_days(2.0 * (BY_THE_HOUR / DAY) as f64);
    let stays = reader.stays(batch.id)?;
    let stretches = stretches(reader, &stays)?;
    Ok(Dossier {
        readings: vessel_readings(reader, &stays, now)?,
        place_readings: place_readings(reader, &stretches, now)?,
        events: Vec::new(),
        steps: Vec::new(),
        lots: Vec::new(),
        stays,
        batch,
    })
}

fn until(stay: &Stay) -> i64 {
    stay.to.map_or(i64::MAX, Moment::utc_ms)
}

fn vessel_readings(reader: Reader<'_>, stays: &[Stay], now: Moment) -> Result<Vec<Reading>> {
    let mut readings: Vec<Reading> = Vec::new();
    for stay in stays {
        readings.extend(reader.some::<Reading>(
            "vessel = ?1 AND at_ms >= ?2 AND at_ms < ?3 AND removed_ms IS NULL",
            [stay.vessel.0, stay.from.utc_ms(), until(stay)],
        )?);
        let subject = Subject::Vessel(stay.vessel);
        readings.extend(reader.summary(subject, stay.from.utc_ms(), until(stay), now)?);
    }
    Ok(in_order(readings))
}

fn place_readings(reader: Reader<'_>, stretches: &[Stretch], now: Moment) -> Result<Vec<Reading>> {
    let mut readings: Vec<Reading> = Vec::new();
    for s in stretches {
        readings.extend(reader.some::<Reading>(
            "place = ?1 AND at_ms >= ?2 AND at_ms < ?3 AND removed_ms IS NULL",
            [s.place.0, s.from, s.to],
        )?);
        readings.extend(reader.summary(Subject::Place(s.place), s.from, s.to, now)?);
    }
    Ok(in_order(readings))
}

/// By time; what two vessels in one place both bring is there once.
fn in_order(mut readings: Vec<Reading>) -> Vec<Reading> {
    readings.sort_by_cached_key(|r| (r.at.utc_ms(), r.id));
    readings.dedup_by_key(|r| r.id);
    readings
}

/// Where the vessels of these stays stood meanwhile.
pub(super) fn stretches(reader: Reader<'_>, stays: &[Stay]) -> Result<Vec<Stretch>> {
    let mut all = Vec::new();
    for stay in stays {
        let (from, to) = (stay.from.utc_ms(), until(stay));
        for s in standings(reader, stay.vessel)? {
            let (from, to) = (from.max(s.from), to.min(s.to));
            if from < to {
                all.push(Stretch {
                    place: s.place,
                    from,
                    to,
                });
            }
        }
    }
    Ok(all)
}

/// Where a vessel stood, from the beginning of time to its end.
fn standings(reader: Reader<'_>, vessel: VesselId) -> Result<Vec<Stretch>> {
    let rows: Vec<Standing> = reader.some("vessel = ?1 ORDER BY from_ms, id", [vessel.0])?;
    let mut stretches: Vec<Stretch> = Vec::with_capacity(rows.len());
    for row in rows {
        let from = row.from.utc_ms();
        if let Some(before) = stretches.last_mut() {
            before.to = from;
        }
        stretches.push(Stretch {
            place: row.place,
            from: if stretches.is_empty() { i64::MIN } else { from },
            to: i64::MAX,
        });
    }
    Ok(stretches)
}

/// Logger data of the last days comes by the hour, older by the day: enough
/// for a curve, few enough for a quick morning.
const BY_THE_HOUR: i64 = 14 * DAY;
/// From then on what was summed up no longer hangs on the day on which that is asked.
pub(super) const SETTLED: i64 = BY_THE_HOUR + DAY;
/// What is older than this, and no flag looks back to by the hour, comes by the day as well
/// where the day was calm.
const CALM_BY_THE_HOUR: i64 = 3 * DAY;
/// A calm day's temperatures lie so many °C apart at the most (no source). Yeast that doubles its
/// pace with ten degrees does in such a day what it would at the mean, to three parts in a thousand.
const CALM_CELSIUS: f64 = 2.0;
/// A calm day's gravities lie so far apart at the most, a floating sensor's own unrest included
/// (no source). A fall so slow is as good as straight within the day: the mean, at its mean
/// instant, lies on it. The engine draws a long course together to 32 points in any case.
const CALM_SG: f64 = 0.004;
/// The same in °P, four points to each.
const CALM_PLATO: f64 = 1.0;

impl Reader<'_> {
    /// A logger's samples as readings, one for each hour or day with its mean.
    /// Their row numbers are negative: they are no rows of the table of readings.
    fn summary(self, subject: Subject, from: i64, to: i64, now: Moment) -> Result<Vec<Reading>> {
        let floor = |ms: i64, span: i64| ms.div_euclid(span).saturating_mul(span);
        let recent = floor(now.utc_ms() - BY_THE_HOUR, DAY);
        // Whole days in the middle only; hours at both ends.
        let first_day = floor(from.saturating_add(DAY - 1), DAY);
        let last_day = recent.min(floor(to, DAY)).max(first_day);
        let mut readings = Vec::new();
        for stream in self.streams(subject)? {
            let begin = floor(from, HOUR);
            let mut sums = self.digests(stream.id, HOUR, begin, first_day.min(to))?;
            sums.extend(self.digests(stream.id, DAY, first_day, last_day)?);
            let mut hours = last_day;
            if let Some(calm) = calm(&stream) {
                let lately = floor(now.utc_ms() - CALM_BY_THE_HOUR, DAY);
                hours = lately.min(floor(to, DAY)).max(last_day);
                for day in self.digests(stream.id, DAY, last_day, hours)? {
                    if day.swing() <= calm {
                        sums.push(day);
                    } else {
                        let end = day.from.saturating_add(DAY);
                        sums.extend(self.digests(stream.id, HOUR, day.from, end)?);
                    }
                }
            }
            sums.extend(self.digests(stream.id, HOUR, hours, to)?);
            for sum in sums {
                readings.extend(mean_of(&stream, &sum, subject, from, to));
            }
        }
        Ok(readings)
    }
}

/// How far apart a calm day's values lie, in the unit of the stream; none where it is
/// neither temperature nor gravity.
fn calm(stream: &Stream) -> Option<f64> {
    match stream.unit {
        Unit::Celsius => Some(CALM_CELSIUS),
        Unit::Fahrenheit => Some(CALM_CELSIUS * 1.8),
        Unit::Sg => Some(CALM_SG),
        Unit::Plato => Some(CALM_PLATO),
        _ => None,
    }
}

fn mean_of(stream: &Stream, sum: &Sum, subject: Subject, from: i64, to: i64) -> Option<Reading> {
    let at = sum.at()?;
    if at.utc_ms() < from || at.utc_ms() >= to {
        return None;
    }
    Some(Reading {
        id: number_of(stream.id, sum.from),
        subject,
        at,
        seen: Seen::new(stream.kind, sum.mean(), stream.unit).ok()?,
        sample_temp: None,
        instrument: None,
        source: stream.source.clone(),
        doubted: false,
        note: String::new(),
        entered: at,
    })
}

/// A sum's own negative number: stream and hour never repeat.
fn number_of(stream: i64, from: i64) -> ReadingId {
    let hour = from.div_euclid(HOUR) & 0x3ff_ffff_ffff;
    ReadingId(-((hour << 20) | (stream & 0xf_ffff)) - 1)
}
