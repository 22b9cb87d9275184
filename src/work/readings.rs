//! Readings: kept, mended, removed.

use super::check::{self, refuse};
use super::{Done, Made, WorkError, done};
use crate::domain::deeds::NewReading;
use crate::domain::records::{
    BatchId, Instrument, InstrumentId, InstrumentKind, MeasureKind, Reading, ReadingId, Seen, Stay,
    Subject, Unit, VesselId,
};
use crate::domain::units::Moment;
use crate::store::{Reader, Writer};

/// A must is often read in its vessel some hours before the yeast goes in: such a
/// reading counts for the batch (common practice, no source).
const BEFORE_PITCHING_DAYS: f64 = 2.0;

pub(super) fn record(w: &mut Writer<'_>, new: &[NewReading], now: Moment) -> Done {
    if new.is_empty() {
        return refuse("there is no reading to keep: type what was seen, such as 1.042 or 68f");
    }
    let (mut made, mut known, mut batches) = (Vec::new(), 0, Vec::new());
    for reading in new {
        let record = prepare(w, reading, now)?;
        if known_already(w.read(), &record)? {
            known += 1;
            continue;
        }
        batches.push(batch_of(w.read(), &record)?);
        made.push(Made::Reading(ReadingId(w.add(&record)?)));
    }
    if made.is_empty() {
        let word = if known == 1 {
            "the reading was"
        } else {
            "all readings were"
        };
        return Ok(done(format!("{word} known already"), None, made));
    }
    batches.dedup();
    let batch = match batches.as_slice() {
        [one] => *one,
        _ => None,
    };
    let mut said = name_of(w.read(), new)?;
    if known > 0 {
        said = format!("{said} ({known} of {} known already)", new.len());
    }
    Ok(done(said, batch, made))
}

pub(super) fn edit(w: &mut Writer<'_>, id: ReadingId, to: &NewReading, now: Moment) -> Done {
    let old = standing(w.read(), id)?;
    let mut new = Reading {
        id,
        entered: old.entered,
        ..prepare(w, to, now)?
    };
    if to.instrument.is_none() && old.seen.kind() == new.seen.kind() {
        // A slip of the number does not change what was read with.
        new.instrument = old.instrument;
    }
    let batch = batch_of(w.read(), &new)?;
    w.put(&new)?;
    let of = subject(w.read(), new.subject)?;
    let said = if old.seen == new.seen {
        format!("reading {} of {of} mended", say(new.seen))
    } else {
        format!(
            "reading of {of} mended: {} was {}",
            say(new.seen),
            say(old.seen)
        )
    };
    Ok(done(said, batch, vec![]))
}

pub(super) fn remove(w: &mut Writer<'_>, id: ReadingId, now: Moment) -> Done {
    let old = standing(w.read(), id)?;
    w.remove_reading(id.0, now)?;
    let of = subject(w.read(), old.subject)?;
    let batch = batch_of(w.read(), &old)?;
    Ok(done(
        format!("reading {} of {of} removed", say(old.seen)),
        batch,
        vec![],
    ))
}

/// A reading that is there and was not removed.
fn standing(r: Reader<'_>, id: ReadingId) -> Result<Reading, WorkError> {
    let reading = check::reading(r, id)?;
    if r.is_removed(id)? {
        return refuse("that reading was removed already: undo the removal first");
    }
    Ok(reading)
}

fn prepare(w: &mut Writer<'_>, new: &NewReading, now: Moment) -> Result<Reading, WorkError> {
    check::past(new.at, now, "a reading")?;
    if let Some(sample) = new.sample_temp
        && sample.kind() != MeasureKind::Temperature
    {
        return refuse("the temperature of a sample is given in °C or °F, such as 20c or 68f");
    }
    match new.subject {
        Subject::Place(place) => {
            let place = check::place(w.read(), place)?;
            if new.seen.kind() != MeasureKind::Temperature {
                return refuse(format!(
                    "a place has only a temperature: {} is a reading of a vessel, not of '{}'",
                    say(new.seen),
                    place.name
                ));
            }
        }
        Subject::Vessel(vessel) => belongs(w, vessel, new)?,
    }
    Ok(Reading {
        id: ReadingId(0),
        subject: new.subject,
        at: new.at,
        seen: new.seen,
        sample_temp: new.sample_temp,
        instrument: instrument(w.read(), new)?,
        source: check::name(&new.source, "the source of a reading")?,
        doubted: new.doubted,
        note: check::note(&new.note)?,
        entered: now,
    })
}

/// A reading of the drink needs a drink: the batch that lay in the vessel then,
/// or the one that was pitched there soon after.
fn belongs(w: &mut Writer<'_>, id: VesselId, new: &NewReading) -> Result<(), WorkError> {
    let vessel = check::vessel(w.read(), id)?;
    if w.read().stay_at(id, new.at)?.is_some() {
        return Ok(());
    }
    let next = w.read().next_stay(id, new.at)?;
    if let Some(mut stay) = next
        && stay.from <= new.at.plus_days(BEFORE_PITCHING_DAYS)
        && w.read().stays(stay.batch)?.first().map(|s| s.id) == Some(stay.id)
    {
        stay.from = new.at;
        w.put(&stay)?;
        return Ok(());
    }
    let last = w.read().last_stay(id)?;
    if let Some(stay) = last.clone().filter(|s| s.to == Some(new.at)) {
        // Read and emptied in the same instant: read first.
        w.put(&Stay {
            to: Some(check::next_instant(new.at)),
            ..stay
        })?;
        return Ok(());
    }
    if new.seen.kind() == MeasureKind::Temperature {
        return Ok(());
    }
    match last {
        Some(last) => {
            let held = check::batch(w.read(), last.batch)?.name;
            let span = match last.to {
                Some(to) => format!("{} to {}", check::when(last.from), check::when(to)),
                None => format!("{} on", check::when(last.from)),
            };
            refuse(format!(
                "{} held nothing on {}: it held '{held}' from {span}. Give the time of the reading, or start a batch",
                vessel.tag,
                check::when(new.at)
            ))
        }
        None => refuse(format!(
            "{} has never held anything: start a batch in it first",
            vessel.tag
        )),
    }
}

fn instrument(r: Reader<'_>, new: &NewReading) -> Result<Option<InstrumentId>, WorkError> {
    let kind = match new.seen.kind() {
        MeasureKind::Hydrometer => InstrumentKind::Hydrometer,
        MeasureKind::Refractometer => InstrumentKind::Refractometer,
        MeasureKind::Temperature => InstrumentKind::Thermometer,
        MeasureKind::Ph => InstrumentKind::PhMeter,
        MeasureKind::Mass => InstrumentKind::Scale,
        MeasureKind::Volume | MeasureKind::Acidity => return Ok(new.instrument),
    };
    let all: Vec<Instrument> = r.all()?;
    let Some(id) = new.instrument else {
        return Ok(all
            .iter()
            .find(|i| i.kind == kind && i.preferred)
            .map(|i| i.id));
    };
    let Some(named) = all.iter().find(|i| i.id == id) else {
        return refuse("there is no such instrument (it may have been undone meanwhile)");
    };
    if named.kind == kind || named.kind == InstrumentKind::Sensor {
        Ok(Some(id))
    } else {
        refuse(format!(
            "'{}' is a {}: it does not take a {} reading",
            named.name,
            named.kind,
            new.seen.kind()
        ))
    }
}

/// What an import or a logger sends twice is kept once; what a hand typed twice
/// was meant.
fn known_already(r: Reader<'_>, reading: &Reading) -> Result<bool, WorkError> {
    if matches!(reading.source.as_str(), "hand" | "shell") {
        return Ok(false);
    }
    Ok(r.same_reading(reading)?)
}

fn batch_of(r: Reader<'_>, reading: &Reading) -> Result<Option<BatchId>, WorkError> {
    match reading.subject {
        Subject::Vessel(vessel) => Ok(r.stay_at(vessel, reading.at)?.map(|s| s.batch)),
        Subject::Place(_) => Ok(None),
    }
}

fn subject(r: Reader<'_>, subject: Subject) -> Result<String, WorkError> {
    match subject {
        Subject::Vessel(vessel) => Ok(check::vessel(r, vessel)?.tag),
        Subject::Place(place) => Ok(format!("'{}'", check::place(r, place)?.name)),
    }
}

/// `reading 1.042, 20 °C of J2`, or `12 readings`.
fn name_of(r: Reader<'_>, new: &[NewReading]) -> Result<String, WorkError> {
    let same = new.windows(2).all(|p| p[0].subject == p[1].subject);
    match new.first() {
        Some(first) if same => {
            let of = subject(r, first.subject)?;
            if new.len() > 4 {
                return Ok(format!("{} readings of {of}", new.len()));
            }
            let seen: Vec<_> = new.iter().map(|n| say(n.seen)).collect();
            Ok(format!("reading {} of {of}", seen.join(", ")))
        }
        _ => Ok(format!("{} readings", new.len())),
    }
}

/// A value as it was seen.
pub(super) fn say(seen: Seen) -> String {
    match (seen.kind(), seen.unit()) {
        (_, Unit::Sg) => format!("{:.3}", seen.value()),
        (_, Unit::Ph) => format!("pH {}", seen.value()),
        (_, unit) => format!("{} {unit}", seen.value()),
    }
}
