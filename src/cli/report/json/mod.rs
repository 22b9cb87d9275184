//! Reports for programs. The shape is promised: `assets/schema/report.schema.json`
//! describes it, and `format` grows when a field changes its meaning or goes.
//! Gravity is SG 20/20, temperature °C, mass g, volume L, alcohol % vol, times
//! RFC 3339, whatever units the maker likes to see.

mod figures;
mod keep;
mod morning;
mod readings;
mod things;

pub(crate) use figures::{FigureJson, FigureListJson, FiguresJson};
pub(crate) use keep::{BackupJson, BackupsJson, CheckJson, RestoreJson};
pub(crate) use morning::{ShowJson, TodayJson};
pub(crate) use readings::{BadLineJson, FoundJson, ImportJson, ListenJson, ReadJson};
pub(crate) use things::{
    ChangeJson, ChangesJson, DeedJson, KeyJson, KeysJson, PlaceJson, PlacesJson, RoutineJson,
    RoutinesJson, VesselJson, VesselsJson,
};

use crate::cli::exits::Exit;
use crate::domain::units::Moment;
use chrono::{DateTime, FixedOffset, SubsecRound};
use serde::Serialize;

/// Number of the format of reports.
pub(crate) const FORMAT: u32 = 1;

/// Every report: its format, its kind, and what it says.
#[derive(Debug, Serialize)]
pub(crate) struct Report<T> {
    pub(crate) format: u32,
    #[serde(rename = "report")]
    pub(crate) kind: &'static str,
    #[serde(flatten)]
    pub(crate) body: T,
}

impl<T> Report<T> {
    pub(crate) fn new(kind: &'static str, body: T) -> Self {
        Self {
            format: FORMAT,
            kind,
            body,
        }
    }
}

/// The exit code, so that a reader of the JSON needs no table.
#[derive(Debug, Serialize)]
pub(crate) struct ExitJson {
    code: u8,
    meaning: &'static str,
}

impl From<Exit> for ExitJson {
    fn from(exit: Exit) -> Self {
        Self {
            code: exit.code(),
            meaning: exit.meaning(),
        }
    }
}

fn time(at: Moment) -> DateTime<FixedOffset> {
    // Stored instants have milliseconds; more would not compare equal.
    at.datetime().trunc_subsecs(3)
}

/// Rounded to a digit below what can be known, so that files stay readable.
fn round(value: f64, digits: i32) -> f64 {
    let scale = 10_f64.powi(digits);
    (value * scale).round() / scale
}
