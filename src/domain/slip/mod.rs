//! The slip: one line in which a maker writes down what was seen.
//!
//! Lives here: the grammar (text to typed readings, `now` given), what a slip
//! will mean for a batch, and the doubts when it does not fit. Must not live
//! here: the clock, the store, the screen.
//!
//! Pieces stand in any order, parted by spaces; the first quote starts a note.
//! A decimal comma does for the decimal point. See [`EXAMPLES`].
//!
//! ```
//! use skep::domain::slip::{SlipContext, parse};
//! use skep::domain::units::Moment;
//! let now = Moment::from_stored(1_760_000_000_000, 0).unwrap();
//! let slip = parse("42 68f 'smells of pear", now, &SlipContext::vessel(now))?;
//! assert_eq!(slip.readings[0].seen.value(), 1.042);
//! assert_eq!(slip.sample_temp.unwrap().value(), 68.0);
//! assert_eq!(slip.note, "smells of pear");
//! # Ok::<(), skep::domain::slip::SlipError>(())
//! ```

mod doubt;
mod error;
mod fact;
mod known;
mod measure;
mod parse;
mod when;

pub use doubt::Doubt;
pub use error::{Problem, SlipError};
pub use fact::{Fact, Meaning, meaning};
pub use known::{Known, corrected, instrument_for};
pub use measure::{MEASURE_WORDS, MeasureWord};
pub use parse::{EXAMPLES, parse};
pub use when::{parse_day, parse_when};

use super::deeds::{Deed, NewEvent, NewReading};
use super::records::{BatchId, EventKind, Seen, Subject, Unit};
use super::units::{Moment, Zone};

/// What the grammar must know besides the text.
#[derive(Debug, Clone, Copy)]
pub struct SlipContext {
    /// The maker's time zone.
    pub zone: Zone,
    /// Set when the slip is for a place, which takes a temperature only: the
    /// unit of a number that stands alone.
    pub place: Option<Unit>,
}

impl SlipContext {
    /// A slip for a vessel, in the zone that keeps the offset of `now`.
    pub fn vessel(now: Moment) -> Self {
        Self {
            zone: Zone::of(now),
            place: None,
        }
    }
}

/// One value of a slip.
#[derive(Debug, Clone, PartialEq)]
pub struct SlipReading {
    /// What was seen.
    pub seen: Seen,
    /// As it was typed.
    pub typed: String,
}

/// When a slip says that it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// Nothing was said: now.
    Now,
    /// A time was given.
    Said,
    /// A time was given that came twice, since the clocks were put back; the
    /// first of the two is taken.
    SaidTwice,
}

/// A slip understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Slip {
    /// What was seen, in the order typed, without the sample's temperature.
    pub readings: Vec<SlipReading>,
    /// Temperature of the sample: the one typed beside a gravity or a pH.
    pub sample_temp: Option<Seen>,
    /// When it was seen.
    pub at: Moment,
    /// How that was said.
    pub when: When,
    /// Free words.
    pub note: String,
}

impl Slip {
    /// The readings to keep. The note goes with the first.
    pub fn into_readings(self, subject: Subject, source: &str, doubted: bool) -> Vec<NewReading> {
        let (at, sample, mut note) = (self.at, self.sample_temp, self.note);
        self.readings
            .into_iter()
            .map(|r| NewReading {
                subject,
                at,
                seen: r.seen,
                sample_temp: sample.filter(|_| measure::has_sample(r.seen.kind())),
                instrument: None,
                source: source.to_owned(),
                doubted,
                note: std::mem::take(&mut note),
            })
            .collect()
    }

    /// The deed that keeps it: readings, or a note for the ledger when there is
    /// nothing but a note. `None` for a note where no batch lies.
    pub fn into_deed(
        self,
        subject: Subject,
        batch: Option<BatchId>,
        source: &str,
        doubted: bool,
    ) -> Option<Deed> {
        if !self.readings.is_empty() {
            return Some(Deed::Record(self.into_readings(subject, source, doubted)));
        }
        let vessel = match subject {
            Subject::Vessel(id) => Some(id),
            Subject::Place(_) => None,
        };
        Some(Deed::AddEvent(NewEvent {
            batch: batch?,
            vessel,
            step: None,
            at: self.at,
            kind: EventKind::Note,
            substance: String::new(),
            mass: None,
            volume: None,
            note: self.note,
        }))
    }
}
