use crate::domain::records::{MeasureKind, SeenError};
use std::fmt;

/// Why a slip was not understood: the piece, and what is accepted instead.
#[derive(Debug, Clone, PartialEq)]
pub struct SlipError {
    /// The piece as typed; empty when the whole is meant.
    pub piece: String,
    /// Where it starts, counted in characters.
    pub start: usize,
    /// What is wrong with it.
    pub problem: Problem,
}

/// What is wrong with a piece.
#[derive(Debug, Clone, PartialEq)]
pub enum Problem {
    /// Nothing was typed.
    Empty,
    /// No meaning found.
    Unknown,
    /// The number lies outside the possible.
    Impossible(SeenError),
    /// A number that stands alone and is no gravity.
    NoGravity,
    /// A fraction that stands alone: degrees, pH or points can't be told apart.
    Ambiguous,
    /// A comma before three digits of grams: decimal or thousands.
    Comma,
    /// The same kind of value twice.
    Twice(MeasureKind),
    /// More than one time was given.
    TwoTimes,
    /// A date in a style that different countries read differently.
    DateStyle,
    /// A day or time that no calendar or clock has.
    NoSuchTime,
    /// A time that the clocks skipped.
    Skipped,
    /// A time that lies ahead, where only the past makes sense.
    Ahead,
    /// Something other than a temperature for a place.
    PlaceOnly,
    /// A control character in the note.
    ControlCharacter(char),
}

impl SlipError {
    pub(super) fn new(piece: &str, start: usize, problem: Problem) -> Self {
        Self {
            piece: piece.to_owned(),
            start,
            problem,
        }
    }
}

/// What a slip may hold, in one sentence.
const ACCEPTED: &str = "accepted: a gravity (1.042, 1042, 42, 998), 10.4bx, 10.4p, 68f, 20c, \
     ph3.4, 4312g, 4.3kg, 9lb, 3.8l, 1gal, ta6.5, a time (yesterday 19:30, -2d, 08-14), \
     'a note";
const DATES: &str = "accepted: 08-14 (month-day), 2026-08-14, 2026-08-14T07:30, monday, yesterday, \
     -2d, -3h, 19:30, 7:30pm";

impl fmt::Display for SlipError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let piece = &self.piece;
        match &self.problem {
            Problem::Empty => write!(f, "nothing typed; {ACCEPTED}"),
            Problem::Unknown => write!(f, "'{piece}' is not understood; {ACCEPTED}"),
            Problem::Impossible(why) => write!(f, "'{piece}': {why}"),
            Problem::NoGravity => write!(
                f,
                "'{piece}' is no gravity; accepted: 0 to 200 (42 is 1.042), 950 to 1450 \
                 (998 is 0.998), 0.950 to 1.450; other values need a unit, such as 68f or 4312g"
            ),
            Problem::Ambiguous => write!(
                f,
                "'{piece}' alone can be read in several ways; add what it is: {piece}bx, \
                 {piece}p, ph{piece}, {piece}c, or write the gravity as 1.042"
            ),
            Problem::Comma => write!(
                f,
                "'{piece}' can be read in two ways; leave the comma out of thousands, \
                 such as 4312g, or write kilograms, such as 4,312kg"
            ),
            Problem::Twice(kind) => write!(
                f,
                "'{piece}' is a second {} in one slip; give it a slip of its own",
                spoken(*kind)
            ),
            Problem::TwoTimes => write!(
                f,
                "'{piece}' is a second time in one slip; give one day and one time of day"
            ),
            Problem::DateStyle => write!(
                f,
                "'{piece}' may be a date, but is read differently in different countries; {DATES}"
            ),
            Problem::NoSuchTime => write!(f, "'{piece}' is no day or time; {DATES}"),
            Problem::Skipped => write!(
                f,
                "'{piece}' did not happen: the clocks were put forward over it; \
                 give a time before or after"
            ),
            Problem::Ahead => write!(f, "'{piece}' lies ahead; {DATES}"),
            Problem::PlaceOnly => write!(
                f,
                "'{piece}': a place takes a temperature only, such as 68f or 20c"
            ),
            Problem::ControlCharacter(c) => write!(
                f,
                "the note holds the control character U+{:04X}; leave it out",
                u32::from(*c)
            ),
        }
    }
}

impl std::error::Error for SlipError {}

/// A kind as said in a sentence.
fn spoken(kind: MeasureKind) -> &'static str {
    match kind {
        MeasureKind::Hydrometer => "gravity",
        MeasureKind::Refractometer => "refractometer reading",
        MeasureKind::Temperature => "temperature",
        MeasureKind::Ph => "pH",
        MeasureKind::Mass => "mass",
        MeasureKind::Volume => "volume",
        MeasureKind::Acidity => "acidity",
    }
}
