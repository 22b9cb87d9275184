//! Readings: kept, brought in, taken from loggers.

use super::time;
use crate::domain::records::{Reading, Settings, Subject, Unit};
use crate::domain::slip::{Meaning, Slip};
use crate::files::csv::{Decimal, Found};
use chrono::{DateTime, FixedOffset};
use serde::Serialize;

#[derive(Debug, Serialize)]
pub(crate) struct ReadingJson {
    id: i64,
    at: DateTime<FixedOffset>,
    kind: &'static str,
    value: f64,
    unit: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    sample: Option<SeenJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    place: Option<i64>,
    source: String,
    doubted: bool,
    note: String,
}

impl ReadingJson {
    pub(super) fn new(r: &Reading) -> Self {
        Self {
            id: r.id.0,
            at: time(r.at),
            kind: r.seen.kind().word(),
            value: r.seen.value(),
            unit: r.seen.unit().word(),
            sample: r.sample_temp.map(|t| SeenJson {
                value: t.value(),
                unit: t.unit().word(),
            }),
            place: match r.subject {
                Subject::Place(id) => Some(id.0),
                Subject::Vessel(_) => None,
            },
            source: r.source.clone(),
            doubted: r.doubted,
            note: r.note.clone(),
        }
    }
}

#[derive(Debug, Serialize)]
struct SeenJson {
    value: f64,
    unit: &'static str,
}

/// What a reading did, or would do.
#[derive(Debug, Serialize)]
pub(crate) struct ReadJson {
    kept: bool,
    said: String,
    at: DateTime<FixedOffset>,
    readings: Vec<KindJson>,
    meaning: Vec<String>,
    doubts: Vec<String>,
    note: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    revision: Option<i64>,
}

#[derive(Debug, Serialize)]
struct KindJson {
    kind: &'static str,
    value: f64,
    unit: &'static str,
}

impl ReadJson {
    pub(crate) fn new(
        slip: &Slip,
        meaning: &Meaning,
        settings: &Settings,
        said: &str,
        revision: Option<i64>,
    ) -> Self {
        Self {
            kept: revision.is_some(),
            said: said.to_owned(),
            at: time(slip.at),
            readings: slip
                .readings
                .iter()
                .map(|r| KindJson {
                    kind: r.seen.kind().word(),
                    value: r.seen.value(),
                    unit: r.seen.unit().word(),
                })
                .collect(),
            meaning: meaning.facts.iter().map(|f| f.sentence(settings)).collect(),
            doubts: meaning
                .doubts
                .iter()
                .map(|d| d.sentence(settings))
                .collect(),
            note: slip.note.clone(),
            revision,
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct ImportJson {
    pub(crate) found: FoundJson,
    pub(crate) new_lines: usize,
    pub(crate) readings: usize,
    pub(crate) known_lines: usize,
    pub(crate) bad: Vec<BadLineJson>,
    pub(crate) kept: bool,
    pub(crate) said: String,
}

#[derive(Debug, Serialize)]
pub(crate) struct FoundJson {
    separator: char,
    columns: Vec<ColumnJson>,
    pub(crate) dates: &'static str,
    pub(crate) decimal: &'static str,
    pub(crate) temperature: Option<&'static str>,
}

#[derive(Debug, Serialize)]
struct ColumnJson {
    heading: String,
    holds: Option<&'static str>,
}

impl FoundJson {
    pub(crate) fn new(found: &Found) -> Self {
        Self {
            separator: found.separator,
            columns: found
                .columns
                .iter()
                .map(|(heading, holds)| ColumnJson {
                    heading: heading.clone(),
                    holds: *holds,
                })
                .collect(),
            dates: found.order.word(),
            decimal: match found.decimal {
                Decimal::Point => "point",
                Decimal::Comma => "comma",
            },
            temperature: found.temperature.map(Unit::word),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct BadLineJson {
    line: u64,
    why: String,
}

impl BadLineJson {
    pub(crate) fn new(line: u64, why: &str) -> Self {
        Self {
            line,
            why: why.to_owned(),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct ListenJson {
    pub(crate) lines: u64,
    pub(crate) kept: u64,
    pub(crate) known: u64,
    pub(crate) left_out: u64,
    pub(crate) bad: Vec<BadLineJson>,
}
