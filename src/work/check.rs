//! What is refused, and the sentences that say so.

use super::WorkError;
use crate::domain::records::{
    BRIMFUL, Batch, BatchId, Household, Lot, LotId, Place, PlaceId, Reading, ReadingId, Stay, Step,
    StepId, Vessel, VesselId,
};
use crate::domain::units::{Grams, Litres, Moment};
use crate::store::{Reader, StoreError};
use chrono::{Datelike, NaiveDate};

/// Longest name of a thing, in characters.
const NAME: usize = 120;
/// Longest tag of a vessel: it stands on a strip of tape.
const TAG: usize = 12;
/// Longest note, in characters.
const NOTE: usize = 20_000;
/// Nothing that goes into a must is denser than this, kg/L: honey has 1.42, sugar 1.59, salts
/// up to 2.7 and come by the gram (from memory).
const DENSEST: f64 = 2.0;

/// A refusal.
pub(super) fn refuse<T>(sentence: impl Into<String>) -> Result<T, WorkError> {
    Err(WorkError::Refused(sentence.into()))
}

/// An instant as refusals and names say it.
pub(super) fn when(at: Moment) -> String {
    at.datetime().format("%a %-d %b %Y, %H:%M").to_string()
}

/// A day as names of changes and refusals say it: `Thu 12 May`, with the year
/// when it is another one.
pub(super) fn day_words(day: NaiveDate, now: Moment) -> String {
    let format = if day.year() == now.day().year() {
        "%a %-d %b"
    } else {
        "%a %-d %b %Y"
    };
    day.format(format).to_string()
}

/// A name: trimmed, not empty, one line, not too long.
pub(super) fn name(text: &str, what: &str) -> Result<String, WorkError> {
    short(text, what, NAME)
}

/// A vessel's tag: short and without spaces, so that it can be typed in a row.
pub(super) fn tag(text: &str) -> Result<String, WorkError> {
    let tag = short(text, "the tag of a vessel", TAG)?;
    if tag.contains(char::is_whitespace) {
        return refuse(format!(
            "the tag '{tag}' has a space in it: a tag is up to {TAG} letters and digits, such as J2"
        ));
    }
    Ok(tag)
}

fn short(text: &str, what: &str, longest: usize) -> Result<String, WorkError> {
    let text = text.trim();
    if text.is_empty() {
        return refuse(format!("{what} is missing: give at least one character"));
    }
    if text.chars().count() > longest {
        return refuse(format!(
            "{what} is too long: accepted are up to {longest} characters"
        ));
    }
    if text.chars().any(unprintable) {
        return refuse(format!(
            "{what} holds characters that cannot be printed: use letters, digits and signs"
        ));
    }
    Ok(text.to_owned())
}

/// Control characters, and those that turn the direction of the text around them.
fn unprintable(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// A note of any words, kept exactly as typed.
pub(super) fn note(text: &str) -> Result<String, WorkError> {
    if text.chars().nth(NOTE).is_some() {
        return refuse(format!(
            "the note is too long: accepted are up to {NOTE} characters"
        ));
    }
    Ok(text.to_owned())
}

/// An instant at which something was done: not before 1970, not in the future
/// by more than a day (a traveller's clock may be ahead).
pub(super) fn past(at: Moment, now: Moment, what: &str) -> Result<(), WorkError> {
    if at > now.plus_days(1.0) {
        return refuse(format!(
            "{} lies in the future: {what} is of now or earlier",
            when(at)
        ));
    }
    if at.utc_ms() < 0 {
        return refuse(format!(
            "{} is too long ago: accepted is 1970 and later",
            when(at)
        ));
    }
    Ok(())
}

/// A planned day: within the years that the store can write.
pub(super) fn day(day: chrono::NaiveDate, what: &str) -> Result<(), WorkError> {
    use chrono::Datelike;
    if (1970..=9999).contains(&day.year()) {
        Ok(())
    } else {
        refuse(format!(
            "{what} {day} is not possible: accepted are the years 1970 to 9999"
        ))
    }
}

/// A number that a person typed: finite and within bounds.
pub(super) fn within(x: f64, min: f64, max: f64, what: &str) -> Result<(), WorkError> {
    if x.is_finite() && (min..=max).contains(&x) {
        Ok(())
    } else {
        refuse(format!(
            "{what} {x} is not possible: accepted is {min} to {max}"
        ))
    }
}

/// What fits into a vessel.
pub(super) fn fits(vessel: &Vessel, volume: Option<Litres>) -> Result<(), WorkError> {
    match volume {
        Some(v) if vessel.overfull(v) => refuse(format!(
            "{:.2} L does not fit into {}, which holds {:.2} L brimful",
            v.get(),
            vessel.tag,
            vessel.capacity.get()
        )),
        Some(v) if v.get() <= 0.0 => {
            refuse("a volume of 0 L is no batch: give more, or leave it out")
        }
        _ => Ok(()),
    }
}

/// Refuses more of an addition than the vessels of a batch hold.
pub(super) fn addition(
    r: Reader<'_>,
    batch: &Batch,
    mass: Option<Grams>,
    volume: Option<Litres>,
) -> Result<(), WorkError> {
    let mut room = 0.0;
    for stay in r.open_stays(batch.id)? {
        room += vessel(r, stay.vessel)?.capacity.get();
    }
    if room <= 0.0 {
        return Ok(());
    }
    let too_much = if let Some(v) = volume.filter(|v| v.get() > room * BRIMFUL) {
        format!("{:.2} L do", v.get())
    } else if let Some(m) = mass.filter(|m| m.get() > room * DENSEST * 1000.0) {
        format!("{:.1} kg does", m.get() / 1000.0)
    } else {
        return Ok(());
    };
    refuse(format!(
        "{too_much} not fit into {}, which holds {room:.2} L brimful: check the amount and its unit",
        label(r, batch)?
    ))
}

fn found<T>(record: Result<Option<T>, StoreError>, what: &str) -> Result<T, WorkError> {
    match record? {
        Some(record) => Ok(record),
        None => refuse(format!(
            "there is no such {what} (it may have been undone meanwhile)"
        )),
    }
}

pub(super) fn place(r: Reader<'_>, id: PlaceId) -> Result<Place, WorkError> {
    found(r.get(id.0), "place")
}

pub(super) fn vessel(r: Reader<'_>, id: VesselId) -> Result<Vessel, WorkError> {
    found(r.get(id.0), "vessel")
}

pub(super) fn batch(r: Reader<'_>, id: BatchId) -> Result<Batch, WorkError> {
    found(r.get(id.0), "batch")
}

pub(super) fn reading(r: Reader<'_>, id: ReadingId) -> Result<Reading, WorkError> {
    found(r.get(id.0), "reading")
}

pub(super) fn step(r: Reader<'_>, id: StepId) -> Result<Step, WorkError> {
    found(r.get(id.0), "step")
}

pub(super) fn lot(r: Reader<'_>, id: LotId) -> Result<Lot, WorkError> {
    found(r.get(id.0), "lot of bottles")
}

/// The next instant that the store can tell from this one.
pub(super) fn next_instant(at: Moment) -> Moment {
    Moment::from_stored(at.utc_ms() + 1, at.offset_minutes()).unwrap_or(at)
}

/// A vessel that can take a batch from that instant on.
pub(super) fn free_vessel(r: Reader<'_>, id: VesselId, at: Moment) -> Result<Vessel, WorkError> {
    let vessel = vessel(r, id)?;
    if vessel.retired {
        return refuse(format!(
            "{} is no longer used: name another vessel, or bring it back first",
            vessel.tag
        ));
    }
    let Some(stay) = r.stay_ending_after(id, next_instant(at))? else {
        return Ok(vessel);
    };
    let holds = batch(r, stay.batch)?.name;
    match stay.to {
        None => refuse(format!(
            "{} holds '{holds}' since {}: rack or bottle that first, or name another vessel",
            vessel.tag,
            when(stay.from)
        )),
        Some(to) => refuse(format!(
            "{} held '{holds}' until {}: give a later time, or name another vessel",
            vessel.tag,
            when(to)
        )),
    }
}

/// How a batch is spoken of: by the tag of the vessel it lies in, else by its name.
pub(super) fn label(r: Reader<'_>, batch: &Batch) -> Result<String, WorkError> {
    match r.open_stays(batch.id)?.first() {
        Some(stay) => Ok(vessel(r, stay.vessel)?.tag),
        None => Ok(format!("'{}'", batch.name)),
    }
}

/// The vessel a batch lies in, where that is one.
pub(super) fn only_vessel(stays: &[Stay]) -> Option<VesselId> {
    match stays {
        [stay] => Some(stay.vessel),
        _ => None,
    }
}

/// The vessel with that tag; a refusal names the tags there are.
pub fn vessel_by_tag<'h>(household: &'h Household, tag: &str) -> Result<&'h Vessel, WorkError> {
    if let Some(vessel) = household.vessel_by_tag(tag) {
        return Ok(vessel);
    }
    let tags: Vec<_> = household
        .vessels
        .iter()
        .filter(|v| !v.retired)
        .map(|v| v.tag.as_str())
        .collect();
    if tags.is_empty() {
        return refuse(format!(
            "there is no vessel '{}', nor any other yet: add one first",
            tag.trim()
        ));
    }
    refuse(format!(
        "there is no vessel '{}': accepted are {}",
        tag.trim(),
        tags.join(", ")
    ))
}

/// The batch with that name, or in the vessel with that tag.
pub fn batch_named<'h>(household: &'h Household, word: &str) -> Result<&'h Batch, WorkError> {
    if let Some(vessel) = household.vessel_by_tag(word) {
        return match household.in_vessel(vessel.id) {
            Some(dossier) => Ok(&dossier.batch),
            None => refuse(format!(
                "{} is empty: start a batch in it first",
                vessel.tag
            )),
        };
    }
    let wanted = word.trim().to_lowercase();
    let mut named = household
        .dossiers
        .iter()
        .map(|d| &d.batch)
        .filter(|b| b.name.to_lowercase() == wanted);
    match (named.next(), named.next()) {
        (Some(batch), None) => Ok(batch),
        (Some(_), Some(_)) => refuse(format!(
            "more than one batch is called '{}': give the tag of its vessel",
            word.trim()
        )),
        _ => vessel_by_tag(household, word).and_then(|v| batch_named(household, &v.tag)),
    }
}
