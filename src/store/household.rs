//! One batch's facts, and all that the morning needs.

use super::error::{Doing, Result};
use super::rows::Standing;
use super::{Reader, Store};
use crate::domain::records::{
    Batch, BatchId, Dossier, Household, PlaceId, Reading, Stage, Stay, VesselId,
};
use crate::domain::units::Moment;
use chrono::Days;

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
        self.load(now).doing("reading the household")
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

    fn load(&self, now: Moment) -> Result<Household> {
        let tx = self.conn.unchecked_transaction()?;
        let reader = Reader::new(&tx);
        let mut dossiers = Vec::new();
        for batch in current(reader, now)? {
            dossiers.push(dossier(reader, batch, now)?);
        }
        Ok(Household {
            settings: reader.settings()?.unwrap_or_default(),
            places: reader.all()?,
            vessels: reader.all()?,
            instruments: reader.all()?,
            dossiers,
            revision: reader.revision()?,
        })
    }
}

fn current(reader: Reader<'_>, now: Moment) -> Result<Vec<Batch>> {
    let today = now.day();
    let soon = today.checked_add_days(CELLAR_NOTICE).unwrap_or(today);
    let lately = today.checked_sub_days(CELLAR_NOTICE).unwrap_or(today);
    reader.some(
        "stage NOT IN (?1, ?2)
         OR EXISTS (SELECT 1 FROM stay WHERE stay.batch = batch.id AND stay.to_ms IS NULL)
         OR (stage = ?1 AND (
             EXISTS (SELECT 1 FROM step WHERE step.batch = batch.id AND step.status = 'open')
             OR EXISTS (
                 SELECT 1 FROM lot WHERE lot.batch = batch.id
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

fn dossier(reader: Reader<'_>, batch: Batch, _now: Moment) -> Result<Dossier> {
    let stays = reader.stays(batch.id)?;
    let stretches = stretches(reader, &stays)?;
    Ok(Dossier {
        readings: vessel_readings(reader, &stays)?,
        place_readings: place_readings(reader, &stretches)?,
        events: reader.events(batch.id)?,
        steps: reader.steps(batch.id)?,
        lots: reader.lots(batch.id)?,
        stays,
        batch,
    })
}

fn until(stay: &Stay) -> i64 {
    stay.to.map_or(i64::MAX, Moment::utc_ms)
}

fn vessel_readings(reader: Reader<'_>, stays: &[Stay]) -> Result<Vec<Reading>> {
    let mut readings: Vec<Reading> = Vec::new();
    for stay in stays {
        readings.extend(reader.some::<Reading>(
            "vessel = ?1 AND at_ms >= ?2 AND at_ms < ?3 AND removed_ms IS NULL",
            [stay.vessel.0, stay.from.utc_ms(), until(stay)],
        )?);
    }
    readings.sort_by_key(|r| (r.at, r.id));
    Ok(readings)
}

fn place_readings(reader: Reader<'_>, stretches: &[Stretch]) -> Result<Vec<Reading>> {
    let mut readings: Vec<Reading> = Vec::new();
    for s in stretches {
        readings.extend(reader.some::<Reading>(
            "place = ?1 AND at_ms >= ?2 AND at_ms < ?3 AND removed_ms IS NULL",
            [s.place.0, s.from, s.to],
        )?);
    }
    readings.sort_by_key(|r| (r.at, r.id));
    // Two vessels of one batch may have stood in the same place.
    readings.dedup_by_key(|r| r.id);
    Ok(readings)
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
