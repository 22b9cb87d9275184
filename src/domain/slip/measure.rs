//! Values with their units: `68f`, `ph3.4`, `4312g`, and the gravity that
//! stands alone.

use super::error::Problem;
use crate::domain::records::{MeasureKind, Seen, Unit};

/// A word that says what a number is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MeasureWord {
    /// Spellings, in small letters, the usual one first.
    pub words: &'static [&'static str],
    /// What was measured.
    pub kind: MeasureKind,
    /// In which unit.
    pub unit: Unit,
    /// Whether the word may also stand before the number: `ph3.4`.
    pub before: bool,
    /// An example.
    pub example: &'static str,
}

const fn word(
    words: &'static [&'static str],
    kind: MeasureKind,
    unit: Unit,
    before: bool,
    example: &'static str,
) -> MeasureWord {
    MeasureWord {
        words,
        kind,
        unit,
        before,
        example,
    }
}

/// Every unit of the grammar; help and parser read this one table.
pub const MEASURE_WORDS: &[MeasureWord] = {
    use {MeasureKind as K, Unit as U};
    &[
        word(&["sg"], K::Hydrometer, U::Sg, true, "1.042sg"),
        word(&["bx", "brix"], K::Refractometer, U::Brix, false, "10.4bx"),
        word(&["p", "plato"], K::Hydrometer, U::Plato, false, "10.4p"),
        word(&["f"], K::Temperature, U::Fahrenheit, false, "68f"),
        word(&["c"], K::Temperature, U::Celsius, false, "20c"),
        word(&["ph"], K::Ph, U::Ph, true, "ph3.4"),
        word(&["g"], K::Mass, U::Gram, false, "4312g"),
        word(&["kg"], K::Mass, U::Kilogram, false, "4.3kg"),
        word(&["lb", "lbs"], K::Mass, U::Pound, false, "9lb"),
        word(
            &["l", "litre", "litres", "liter", "liters"],
            K::Volume,
            U::Litre,
            false,
            "3.8l",
        ),
        word(
            &["gal", "gallon", "gallons"],
            K::Volume,
            U::Gallon,
            false,
            "1gal",
        ),
        word(&["ta"], K::Acidity, U::GramPerLitre, true, "ta6.5"),
    ]
};

/// Whether a sample is taken for this kind, so that a temperature beside it
/// is the sample's.
pub(super) fn has_sample(kind: MeasureKind) -> bool {
    matches!(
        kind,
        MeasureKind::Hydrometer | MeasureKind::Refractometer | MeasureKind::Ph
    )
}

/// A word of the table, without the degree sign and case.
fn unit_word(text: &str) -> Option<&'static MeasureWord> {
    MEASURE_WORDS.iter().find(|w| w.words.contains(&text))
}

/// Parts a lower-case piece into its number and its unit word.
fn parts(piece: &str) -> Option<(&str, &'static MeasureWord)> {
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+');
    let tail = piece.trim_start_matches(is_number);
    if !tail.is_empty() && tail.len() < piece.len() {
        let number = piece.strip_suffix(tail)?;
        return unit_word(tail.trim_start_matches('°')).map(|w| (number, w));
    }
    let number = piece.trim_start_matches(|c: char| !is_number(c));
    if number.is_empty() || number.len() == piece.len() {
        return None;
    }
    let head = piece.strip_suffix(number)?;
    unit_word(head).filter(|w| w.before).map(|w| (number, w))
}

/// Whether two pieces are a number and its unit word: `68 f`, `ph 3.4`.
pub(super) fn stand_apart(piece: &str, next: &str) -> bool {
    let word = |text: &str| unit_word(text.trim_start_matches('°'));
    (number(piece).is_some() && word(next).is_some())
        || (word(piece).is_some_and(|w| w.before) && number(next).is_some())
}

/// A number as written: digits with at most one decimal point or comma.
pub(super) fn number(text: &str) -> Option<f64> {
    let body = text.strip_prefix(['-', '+']).unwrap_or(text);
    let points = body.chars().filter(|c| matches!(c, '.' | ',')).count();
    let digits = body.chars().filter(char::is_ascii_digit).count();
    if points > 1 || digits == 0 || points + digits != body.chars().count() {
        return None;
    }
    text.replace(',', ".").parse().ok()
}

/// A value with its unit; `None` when the piece is nothing of the kind.
pub(super) fn with_unit(piece: &str) -> Option<Result<Seen, Problem>> {
    let (text, word) = parts(piece)?;
    let value = number(text)?;
    if word.unit == Unit::Gram && thousands(text) {
        return Some(Err(Problem::Comma));
    }
    Some(if word.unit == Unit::Sg {
        gravity(text)
    } else {
        Seen::new(word.kind, value, word.unit).map_err(Problem::Impossible)
    })
}

/// `4,312`: three digits after a comma, and a number before it.
fn thousands(text: &str) -> bool {
    text.split_once(',')
        .is_some_and(|(whole, part)| whole != "0" && !whole.is_empty() && part.len() == 3)
}

/// The gravity that a number standing alone means.
///
/// `42` is 1.042 and `110` is 1.110: up to 200 the number counts points above
/// water. `998` is 0.998, `1042` is 1.042: from 950 to 1450 the decimal point
/// is left out. `10425` and `9985` have a fourth decimal. Whole numbers between
/// are refused, and so are fractions that may be degrees or pH.
pub(super) fn gravity(text: &str) -> Result<Seen, Problem> {
    let value = number(text).ok_or(Problem::Unknown)?;
    let sg = |v: f64| Seen::new(MeasureKind::Hydrometer, v, Unit::Sg).map_err(Problem::Impossible);
    let plain = text.chars().all(|c| c.is_ascii_digit());
    // 1,042 is the same gravity whether the comma is decimal or for thousands.
    if (0.5..2.0).contains(&value) && !plain {
        return sg(value);
    }
    if text.starts_with(['-', '+']) {
        return Err(Problem::NoGravity);
    }
    match value {
        v if plain && v <= 200.0 => sg((1000.0 + v) / 1000.0),
        v if (950.0..=1450.0).contains(&v) => sg(v / 1000.0),
        v if plain && (9500.0..=14500.0).contains(&v) => sg(v / 10000.0),
        v if !plain && v < 200.0 => Err(Problem::Ambiguous),
        _ => Err(Problem::NoGravity),
    }
}
