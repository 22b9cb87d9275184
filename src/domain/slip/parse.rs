//! Text to slip.

use super::error::{Problem, SlipError};
use super::measure::{self, has_sample};
use super::when::{self, Collected};
use super::{Slip, SlipContext, SlipReading};
use crate::domain::records::{MeasureKind, Seen};
use crate::domain::text::order_in;
use crate::domain::units::Moment;

/// Slips and what they mean, for help; each is checked by a test.
pub const EXAMPLES: &[(&str, &str)] = &[
    ("1.042", "gravity 1.042"),
    ("1042", "gravity 1.042"),
    ("42", "gravity 1.042"),
    ("1,042", "gravity 1.042"),
    ("110", "gravity 1.110"),
    ("0.998", "gravity 0.998"),
    ("998", "gravity 0.998"),
    ("1.0425", "gravity 1.0425"),
    ("10.4bx", "refractometer 10.4 °Bx"),
    ("10.4p", "hydrometer 10.4 °P"),
    ("42 68f", "gravity 1.042, sample at 68 °F"),
    ("68f", "temperature 68 °F"),
    ("20,5c", "temperature 20.5 °C"),
    ("ph3.4", "pH 3.4"),
    ("4312g", "mass 4312 g"),
    ("4.3kg", "mass 4.3 kg"),
    ("9lb", "mass 9 lb"),
    ("3.8l", "volume 3.8 L"),
    ("1gal", "volume 1 gal"),
    ("ta6.5", "acidity 6.5 g/L"),
    ("42 yesterday 19:30", "gravity 1.042"),
    ("-2d 42", "gravity 1.042"),
    ("42 'smells of pear", "gravity 1.042, note: smells of pear"),
];

/// Reads a slip.
///
/// `now` is when it is typed; without a word for a time it is also when the
/// reading was taken. An error names the piece and what is accepted.
pub fn parse(text: &str, now: Moment, context: &SlipContext) -> Result<Slip, SlipError> {
    let (body, note) = split_note(text);
    if let Some(c) = order_in(note) {
        return Err(SlipError::new("", 0, Problem::ControlCharacter(c)));
    }
    let pieces: Vec<(usize, &str)> = pieces(body).collect();
    let mut draft = Draft::default();
    let mut rest = pieces.as_slice();
    while let [(start, piece), tail @ ..] = rest {
        let next = tail.first().map(|(_, next)| *next);
        let fail = |problem| SlipError::new(piece, *start, problem);
        rest = match (draft.take(piece, next, context).map_err(fail)?, tail) {
            (Taken::WithNext, [_, after @ ..]) => after,
            (Taken::Time(word), _) => {
                draft.when.add(word, piece, *start).map_err(fail)?;
                tail
            }
            _ => tail,
        };
    }
    draft.finish(note, now, context)
}

/// The note after the first quote, without the quotes around it.
fn split_note(text: &str) -> (&str, &str) {
    const QUOTES: [char; 6] = ['\'', '"', '\u{2018}', '\u{2019}', '\u{201c}', '\u{201d}'];
    match text.split_once(QUOTES) {
        Some((body, note)) => {
            let note = note.trim();
            (body, note.strip_suffix(QUOTES).unwrap_or(note).trim_end())
        }
        None => (text, ""),
    }
}

/// Pieces parted by white space, each with its start in characters. A comma
/// or semicolon at the end of a piece only separates.
pub(super) fn pieces(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let mut start = 0;
    text.split(char::is_whitespace).filter_map(move |raw| {
        let here = start;
        start += raw.chars().count() + 1;
        let piece = raw.trim_end_matches([',', ';']);
        (!piece.is_empty()).then_some((here, piece))
    })
}

/// What became of a piece.
enum Taken {
    /// Kept as a value.
    Alone,
    /// Kept as a value together with the next piece.
    WithNext,
    /// A word for a time, to be added.
    Time(when::Word),
}

#[derive(Default)]
struct Draft {
    seen: Vec<SlipReading>,
    when: Collected,
}

impl Draft {
    fn take(
        &mut self,
        piece: &str,
        next: Option<&str>,
        context: &SlipContext,
    ) -> Result<Taken, Problem> {
        if let Some(word) = when::word(piece) {
            return word.map(Taken::Time);
        }
        let lower = when::plain_minus(&piece.to_lowercase());
        if let Some(seen) = measure::with_unit(&lower) {
            self.keep(seen?, piece, context)?;
            return Ok(Taken::Alone);
        }
        if let Some(next) = next {
            // `68 f` and `ph 3.4`: number and unit stand apart.
            let next_lower = next.to_lowercase();
            if measure::stand_apart(&lower, &next_lower)
                && let Some(seen) = measure::with_unit(&format!("{lower}{next_lower}"))
            {
                self.keep(seen?, &format!("{piece} {next}"), context)?;
                return Ok(Taken::WithNext);
            }
        }
        let value = measure::number(&lower).ok_or(Problem::Unknown)?;
        let seen = match context.place {
            Some(unit) => {
                Seen::new(MeasureKind::Temperature, value, unit).map_err(Problem::Impossible)?
            }
            None => measure::gravity(&lower)?,
        };
        self.keep(seen, piece, context)?;
        Ok(Taken::Alone)
    }

    fn keep(&mut self, seen: Seen, typed: &str, context: &SlipContext) -> Result<(), Problem> {
        if context.place.is_some() && seen.kind() != MeasureKind::Temperature {
            return Err(Problem::PlaceOnly);
        }
        if self.seen.iter().any(|r| r.seen.kind() == seen.kind()) {
            return Err(Problem::Twice(seen.kind()));
        }
        self.seen.push(SlipReading {
            seen,
            typed: typed.to_owned(),
        });
        Ok(())
    }

    fn finish(self, note: &str, now: Moment, context: &SlipContext) -> Result<Slip, SlipError> {
        if self.seen.is_empty() && note.is_empty() {
            return Err(SlipError::new("", 0, Problem::Empty));
        }
        let (at, when) = self.when.resolve(now, context.zone)?;
        let sampled = self.seen.iter().any(|r| has_sample(r.seen.kind()));
        let (samples, readings): (Vec<_>, Vec<_>) = self
            .seen
            .into_iter()
            .partition(|r| sampled && r.seen.kind() == MeasureKind::Temperature);
        Ok(Slip {
            readings,
            sample_temp: samples.first().map(|r| r.seen),
            at,
            when,
            note: note.to_owned(),
        })
    }
}

#[cfg(test)]
mod tests;
