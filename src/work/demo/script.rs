//! The demonstration as its files write it.

use crate::domain::records::{
    BottleClass, DrawKind, EventKind, GravityScale, InstrumentKind, PantryKind, Settings, Stage,
    UnitSystem, VesselKind,
};
use crate::domain::units::Moment;
use chrono::{Days, NaiveTime, TimeDelta};
use include_dir::{Dir, include_dir};
use serde::Deserialize;
use std::collections::BTreeMap;

static DATA: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/demo-data");

/// A day and time before now: `-21 19:20`, today being 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(try_from = "String")]
pub(super) struct Ago {
    days: i64,
    time: NaiveTime,
}

impl TryFrom<String> for Ago {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        let wrong = || format!("`{text}` is no day and time: accepted is such as `-21 19:20`");
        let (days, time) = text.split_once(' ').ok_or_else(wrong)?;
        Ok(Self {
            days: days.parse().map_err(|_| wrong())?,
            time: NaiveTime::parse_from_str(time, "%H:%M").map_err(|_| wrong())?,
        })
    }
}

impl Ago {
    /// The instant it means, at the offset of now, and never after now.
    pub(super) fn at(self, now: Moment) -> Moment {
        let offset = *now.datetime().offset();
        TimeDelta::try_days(self.days)
            .and_then(|d| now.day().checked_add_signed(d))
            .and_then(|day| day.and_time(self.time).and_local_timezone(offset).single())
            .map_or(now, |at| Moment::new(at).min(now))
    }
}

/// Some days from now, as a calendar day.
pub(super) fn in_days(now: Moment, days: u32) -> chrono::NaiveDate {
    now.day()
        .checked_add_days(Days::new(u64::from(days)))
        .unwrap_or(now.day())
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct HouseholdFile {
    settings: SettingsLine,
    pub(super) place: Vec<PlaceLine>,
    pub(super) vessel: Vec<VesselLine>,
    pub(super) instrument: Vec<InstrumentLine>,
    pub(super) pantry: Vec<PantryLine>,
    pub(super) temperatures: Temperatures,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SettingsLine {
    units: UnitSystem,
    gravity: GravityScale,
    stall_prior: f64,
    reading_gap_days: u32,
    adults: u32,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PlaceLine {
    pub(super) name: String,
    pub(super) dark: bool,
    pub(super) usual_f: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct VesselLine {
    pub(super) tag: String,
    pub(super) kind: VesselKind,
    pub(super) gallons: f64,
    pub(super) place: String,
    pub(super) tare_g: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct InstrumentLine {
    pub(super) name: String,
    pub(super) kind: InstrumentKind,
    pub(super) calibrated_f: Option<f64>,
    #[serde(default)]
    pub(super) offset: f64,
    pub(super) resolution: f64,
    #[serde(default = "one")]
    pub(super) factor: f64,
    #[serde(default = "yes")]
    pub(super) preferred: bool,
}

fn one() -> f64 {
    1.0
}

fn yes() -> bool {
    true
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PantryLine {
    pub(super) kind: PantryKind,
    pub(super) name: String,
    pub(super) amount: f64,
    pub(super) unit: String,
    pub(super) keep_at_least: Option<f64>,
    pub(super) best_before_in: Option<u32>,
    #[serde(default)]
    pub(super) filled: u32,
    #[serde(default)]
    pub(super) rejected: u32,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Temperatures {
    pub(super) place: String,
    pub(super) fahrenheit: Vec<(Ago, f64)>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BatchFile {
    pub(super) name: String,
    pub(super) routine: String,
    pub(super) yeast: Option<String>,
    pub(super) vessel: String,
    pub(super) pitched: Ago,
    pub(super) gallons: f64,
    pub(super) og: f64,
    pub(super) fg: f64,
    #[serde(default)]
    pub(super) note: String,
    pub(super) feed: Option<Dose>,
    /// When, specific gravity, temperature of the sample in °F.
    pub(super) gravities: Vec<(Ago, f64, f64)>,
    /// By key: `open`, `skip: why`, or when it was done. Other steps with a
    /// day of their own were done on it.
    #[serde(default)]
    pub(super) steps: BTreeMap<String, String>,
    #[serde(default, rename = "event")]
    pub(super) events: Vec<EventLine>,
    #[serde(default, rename = "move")]
    pub(super) moves: Vec<MoveLine>,
    #[serde(default, rename = "stage")]
    pub(super) stages: Vec<StageLine>,
    pub(super) bottled: Option<Bottled>,
    #[serde(default, rename = "draw")]
    pub(super) draws: Vec<DrawLine>,
    #[serde(default, rename = "taste")]
    pub(super) tastings: Vec<TasteLine>,
    pub(super) closed: Option<Closed>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Dose {
    pub(super) substance: String,
    pub(super) grams: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct EventLine {
    pub(super) at: Ago,
    pub(super) kind: EventKind,
    #[serde(default)]
    pub(super) substance: String,
    pub(super) grams: Option<f64>,
    #[serde(default)]
    pub(super) note: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct MoveLine {
    pub(super) at: Ago,
    pub(super) to: String,
    pub(super) gallons: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct StageLine {
    pub(super) at: Ago,
    pub(super) to: Stage,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Bottled {
    pub(super) at: Ago,
    pub(super) place: String,
    pub(super) ready_in: u32,
    pub(super) drink_within: Option<u32>,
    pub(super) fill: Vec<FillLine>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FillLine {
    pub(super) class: BottleClass,
    pub(super) fl_oz: f64,
    pub(super) count: u32,
    pub(super) clear_glass: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct DrawLine {
    pub(super) at: Ago,
    pub(super) count: i32,
    pub(super) kind: DrawKind,
    #[serde(default)]
    pub(super) whom: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct TasteLine {
    pub(super) at: Ago,
    pub(super) marks: [u8; 5],
    pub(super) words: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Closed {
    pub(super) at: Ago,
    pub(super) note: String,
}

impl HouseholdFile {
    pub(super) fn settings(&self) -> Settings {
        Settings {
            units: self.settings.units,
            gravity: self.settings.gravity,
            stall_prior: self.settings.stall_prior,
            reading_gap_days: self.settings.reading_gap_days,
            adults: self.settings.adults,
        }
    }
}

fn read<T: for<'de> Deserialize<'de>>(name: &str, text: &str) -> Result<T, String> {
    toml::from_str(text).map_err(|e| format!("demo-data/{name}: {e}"))
}

/// The household without its batches.
pub(super) fn household() -> Result<HouseholdFile, String> {
    let text = DATA
        .get_file("household.toml")
        .and_then(|f| f.contents_utf8())
        .ok_or("demo-data/household.toml is missing")?;
    read("household.toml", text)
}

/// The batches, by file name.
pub(super) fn batches() -> Result<Vec<BatchFile>, String> {
    DATA.files()
        .filter(|f| f.path().to_str() != Some("household.toml"))
        .map(|f| {
            let name = f.path().display().to_string();
            let text = f.contents_utf8().ok_or(format!("{name} is not text"))?;
            read(&name, text)
        })
        .collect()
}
