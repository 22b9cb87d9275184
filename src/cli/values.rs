//! Single quantities given as options: the words of the slip, one at a time.

use super::trouble::Trouble;
use crate::app::panel::REASON;
use crate::domain::records::{Measure, Seen};
use crate::domain::slip::{SlipContext, parse, parse_when};
use crate::domain::text::order_in;
use crate::domain::units::{Celsius, Grams, Gravity, Litres, Moment};

/// Exactly one value.
fn one(text: &str, wanted: &str, now: Moment) -> Result<Seen, Trouble> {
    let slip = parse(text, now, &SlipContext::vessel(now))?;
    match slip.readings.as_slice() {
        [only] if slip.note.is_empty() => Ok(only.seen),
        _ => Err(not(text, wanted)),
    }
}

/// Returns a note as it was typed: the minus that a digit was given among the shell's words
/// is a hyphen again. One that holds a control character is refused.
pub(super) fn note(text: &str) -> Result<String, String> {
    match order_in(text) {
        Some(c) => Err(format!(
            "a note can't hold the control character U+{:04X}; leave it out",
            u32::from(c)
        )),
        None => Ok(typed(text)),
    }
}

/// Returns words as they were typed, where they are a note only in part.
pub(super) fn typed(text: &str) -> String {
    text.replace('\u{2212}', "-")
}

fn not(text: &str, wanted: &str) -> Trouble {
    Trouble::usage(format!("'{text}' is not {wanted}"))
}

/// A volume: `1gal`, `3.8l`.
pub(super) fn volume(text: &str, now: Moment) -> Result<Litres, Trouble> {
    const WANTED: &str = "a volume; accepted: 1gal, 3.8l";
    match one(text, WANTED, now)?.measure() {
        Measure::Volume(litres) => Ok(litres),
        _ => Err(not(text, WANTED)),
    }
}

/// A mass: `12g`, `2.5lb`.
pub(super) fn mass(text: &str, now: Moment) -> Result<Grams, Trouble> {
    const WANTED: &str = "a mass; accepted: 12g, 1.4kg, 2.5lb";
    match one(text, WANTED, now)?.measure() {
        Measure::Mass(grams) => Ok(grams),
        _ => Err(not(text, WANTED)),
    }
}

/// A temperature: `68f`, `20c`.
pub(super) fn temperature(text: &str, now: Moment) -> Result<Celsius, Trouble> {
    const WANTED: &str = "a temperature; accepted: 68f, 20c";
    match one(text, WANTED, now)?.measure() {
        Measure::Temperature(celsius) => Ok(celsius),
        _ => Err(not(text, WANTED)),
    }
}

/// A gravity: `1.092`, `92`, `22p`.
pub(super) fn gravity(text: &str, now: Moment) -> Result<Gravity, Trouble> {
    let seen = one(text, "a gravity; accepted: 1.092, 92, 22p", now)?;
    crate::domain::slip::corrected(seen, None, None, None)
        .ok_or_else(|| not(text, "a gravity; accepted: 1.092, 92, 22p"))
}

/// An instant in words, or now.
pub(super) fn when(
    text: Option<&str>,
    now: Moment,
    context: &SlipContext,
) -> Result<Moment, Trouble> {
    Ok(match text {
        Some(text) => parse_when(text, now, context)?,
        None => now,
    })
}

/// Why a hold is overridden: a sentence, not a shrug.
pub(super) fn reason(typed: Option<&str>) -> Result<Option<&str>, Trouble> {
    match typed.map(str::trim).filter(|r| !r.is_empty()) {
        Some(short) if short.chars().count() < REASON => Err(Trouble::usage(format!(
            "'{short}' is too short for a reason: it stays in the ledger, so say in a sentence why"
        ))),
        given => Ok(given),
    }
}
