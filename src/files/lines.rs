//! Lines of loggers: one JSON object a line, our own and documented.
//!
//! ```json
//! {"vessel":"J2","at":"2026-11-25T07:30:00-08:00","gravity":1.042,"temperature_c":20.1}
//! {"place":"closet","at":1795592400,"temperature_f":66,"source":"shelf probe"}
//! ```
//!
//! `vessel` or `place` says of what; `at` is RFC 3339 with an offset, or whole
//! seconds since 1970 UTC; then any of `gravity` (SG), `plato`, `brix`
//! (refractometer), `temperature_c`, `temperature_f`, `mass_g`, `ph`; `source`
//! may name the sensor, which is in one vessel at a time. What else a line holds is not looked at.

use crate::domain::records::{MeasureKind, Seen, Unit};
use crate::domain::text::order_in;
use crate::domain::units::Moment;
use chrono::DateTime;
use serde::Deserialize;
use std::borrow::Cow;

/// Of what a line reports.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Of<'a> {
    /// A vessel, by its tag.
    Vessel(Cow<'a, str>),
    /// A place, by its name.
    Place(Cow<'a, str>),
}

/// One line understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Reported<'a> {
    /// Of what.
    pub of: Of<'a>,
    /// When.
    pub at: Moment,
    /// The logger's name, where it gives one.
    pub source: Option<Cow<'a, str>>,
    /// What it reports.
    pub seen: Vec<Seen>,
}

#[derive(Deserialize)]
struct Raw<'a> {
    #[serde(borrow)]
    vessel: Option<Cow<'a, str>>,
    #[serde(borrow)]
    place: Option<Cow<'a, str>>,
    #[serde(borrow)]
    source: Option<Cow<'a, str>>,
    #[serde(borrow)]
    at: Option<At<'a>>,
    gravity: Option<f64>,
    plato: Option<f64>,
    brix: Option<f64>,
    temperature_c: Option<f64>,
    temperature_f: Option<f64>,
    mass_g: Option<f64>,
    ph: Option<f64>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum At<'a> {
    Seconds(i64),
    #[serde(borrow)]
    Text(Cow<'a, str>),
}

/// Reads one line; an error is a sentence.
pub fn read(line: &str) -> Result<Reported<'_>, String> {
    let raw: Raw<'_> = serde_json::from_str(line).map_err(|why| said(&why))?;
    let of = match (&raw.vessel, &raw.place) {
        (Some(tag), None) => Of::Vessel(tag.clone()),
        (None, Some(name)) => Of::Place(name.clone()),
        (Some(_), Some(_)) => return Err("both 'vessel' and 'place'; one is accepted".to_owned()),
        (None, None) => return Err("neither 'vessel' nor 'place' says of what".to_owned()),
    };
    if let Some(c) = raw.source.as_deref().and_then(order_in) {
        return Err(format!(
            "'source' holds the control character U+{:04X}",
            u32::from(c)
        ));
    }
    let at = at(raw.at.as_ref())?;
    let seen = values(&raw)?;
    if seen.is_empty() {
        return Err(
            "no value; accepted: gravity, plato, brix, temperature_c, temperature_f, mass_g, ph"
                .to_owned(),
        );
    }
    if matches!(of, Of::Place(_)) && seen.iter().any(|s| s.kind() != MeasureKind::Temperature) {
        return Err("a place has only a temperature".to_owned());
    }
    Ok(Reported {
        of,
        at,
        source: raw.source,
        seen,
    })
}

/// What the reader of JSON says, without its own line number: lines are ours.
fn said(why: &serde_json::Error) -> String {
    let text = why.to_string();
    let text = text.split(" at line ").next().unwrap_or_default();
    format!("no JSON object of ours: {text} (column {})", why.column())
}

fn at(at: Option<&At<'_>>) -> Result<Moment, String> {
    match at {
        None => Err("'at' is missing".to_owned()),
        Some(At::Seconds(seconds)) => seconds
            .checked_mul(1000)
            .and_then(|ms| Moment::from_stored(ms, 0))
            .ok_or_else(|| format!("'at' {seconds} is no instant")),
        Some(At::Text(text)) => DateTime::parse_from_rfc3339(text).map(Moment::new).map_err(|_| {
            format!("'at' \"{text}\" is no instant; accepted: 2026-11-25T07:30:00-08:00, or seconds since 1970")
        }),
    }
}

fn values(raw: &Raw<'_>) -> Result<Vec<Seen>, String> {
    use {MeasureKind as K, Unit as U};
    if raw.temperature_c.is_some() && raw.temperature_f.is_some() {
        return Err("both 'temperature_c' and 'temperature_f'; one is accepted".to_owned());
    }
    let mut seen = Vec::with_capacity(2);
    for (value, kind, unit) in [
        (raw.gravity, K::Hydrometer, U::Sg),
        (raw.plato, K::Hydrometer, U::Plato),
        (raw.brix, K::Refractometer, U::Brix),
        (raw.temperature_c, K::Temperature, U::Celsius),
        (raw.temperature_f, K::Temperature, U::Fahrenheit),
        (raw.mass_g, K::Mass, U::Gram),
        (raw.ph, K::Ph, U::Ph),
    ] {
        if let Some(value) = value {
            seen.push(Seen::new(kind, value, unit).map_err(|why| why.to_string())?);
        }
    }
    Ok(seen)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_line_says_of_what_when_and_what() {
        let line = r#"{"vessel":"J2","at":"2026-11-25T07:30:00-08:00","gravity":1.042,"temperature_c":20.1,"battery":3.9}"#;
        let got = read(line).unwrap();
        assert_eq!(got.of, Of::Vessel("J2".into()));
        assert_eq!(got.at.datetime().to_rfc3339(), "2026-11-25T07:30:00-08:00");
        assert_eq!(got.seen.len(), 2);
        let line =
            r#"{"place":"closet","at":1795592400,"temperature_f":66,"source":"shelf probe"}"#;
        let got = read(line).unwrap();
        assert_eq!(got.at.utc_ms(), 1_795_592_400_000);
        assert_eq!(got.source.as_deref(), Some("shelf probe"));
    }

    #[test]
    fn a_bad_line_has_its_reason() {
        for (line, reason) in [
            (
                "",
                "no JSON object of ours: EOF while parsing a value (column 0)",
            ),
            (
                "{\"vessel\":\"J2\"",
                "no JSON object of ours: EOF while parsing an object (column 14)",
            ),
            (
                r#"{"at":1,"ph":3}"#,
                "neither 'vessel' nor 'place' says of what",
            ),
            (
                r#"{"vessel":"J2","place":"x","at":1,"ph":3}"#,
                "both 'vessel' and 'place'; one is accepted",
            ),
            (r#"{"vessel":"J2","ph":3}"#, "'at' is missing"),
            (
                r#"{"vessel":"J2","at":"noon","ph":3}"#,
                "'at' \"noon\" is no instant; accepted: 2026-11-25T07:30:00-08:00, or seconds since 1970",
            ),
            (
                r#"{"vessel":"J2","at":9223372036854775807,"ph":3}"#,
                "'at' 9223372036854775807 is no instant",
            ),
            (
                r#"{"vessel":"J2","at":1}"#,
                "no value; accepted: gravity, plato, brix, temperature_c, temperature_f, mass_g, ph",
            ),
            (
                r#"{"vessel":"J2","at":1,"gravity":42}"#,
                "specific gravity 42 is not possible: accepted is 0.95 to 1.45",
            ),
            (
                r#"{"place":"x","at":1,"ph":3}"#,
                "a place has only a temperature",
            ),
            (
                r#"{"vessel":"J2","at":1,"temperature_c":20,"temperature_f":68}"#,
                "both 'temperature_c' and 'temperature_f'; one is accepted",
            ),
        ] {
            assert_eq!(read(line).unwrap_err(), reason, "{line}");
        }
    }

    proptest! {
        #[test]
        fn no_line_breaks_it(line in "\\PC*|\\{(\"(vessel|at|ph|source)\":(\"[a-z\\\\\"]{0,4}\"|-?[0-9]{0,20}|null|\\{\\}),?){0,4}\\}") {
            let _ = read(&line);
        }
    }
}
