//! Diaries of ferments in the format `ferments/1`, and what the engine says of
//! each at each of its readings.

use anyhow::Context;
use chrono::DateTime;
use serde::Deserialize;
use skep::domain::units::{
    Abv, Celsius, Gravity, GravityDelta, Litres, MilligramsPerLitre, Moment, Share,
};
use skep::engine::{
    Assessment, Event, EventKind, Facts, FermentState, Headline, History, Observation,
    OriginalGravity, Seen, Style, assess,
};

/// A file of diaries.
#[derive(Deserialize)]
pub(crate) struct Diaries {
    /// The diaries.
    pub(crate) cases: Vec<Case>,
}

/// One diary.
#[derive(Deserialize)]
pub(crate) struct Case {
    /// Its name.
    #[serde(rename = "case_id")]
    pub(crate) name: String,
    meta: Meta,
    #[serde(default)]
    events: Vec<Logged>,
    /// Its readings, in order of time.
    pub(crate) readings: Vec<Reading>,
}

#[derive(Deserialize)]
struct Meta {
    style: String,
    og: Option<f64>,
    volume_l: Option<f64>,
    yeast_tolerance_pct: Option<f64>,
    temp_c_nominal: Option<f64>,
    expected_fg: Option<f64>,
    hydrometer_resolution: Option<f64>,
    pitch_time: Option<String>,
}

#[derive(Deserialize)]
struct Logged {
    time: String,
    kind: String,
    note: Option<String>,
}

/// One reading.
#[derive(Deserialize)]
pub(crate) struct Reading {
    time: String,
    /// Specific gravity.
    pub(crate) sg: Option<f64>,
    temp_c: Option<f64>,
}

impl Case {
    /// When the first reading was taken.
    pub(crate) fn started(&self) -> anyhow::Result<Moment> {
        let first = self.readings.first().context("there are no readings")?;
        moment(&first.time)
    }

    /// What the engine says at each reading, from the notes made at the pitch,
    /// the events until then, and the readings up to and with it.
    pub(crate) fn said(&self, stall_prior: Share) -> anyhow::Result<Vec<Assessment>> {
        let mut seen: Vec<Observation> = Vec::new();
        self.readings
            .iter()
            .map(|r| {
                let now = moment(&r.time)?;
                seen.extend(self.observation(r, now));
                let facts = self.facts(stall_prior, now)?;
                Ok(assess(&facts, &seen, &[], &History::default(), now))
            })
            .collect()
    }

    fn facts(&self, stall_prior: Share, now: Moment) -> anyhow::Result<Facts> {
        let meta = &self.meta;
        let og = meta.og.and_then(|g| Gravity::new(g).ok());
        let mut facts = Facts::of(style(&meta.style, og));
        facts.og = og.map(OriginalGravity::Measured);
        facts.volume = meta.volume_l.and_then(|v| Litres::new(v).ok());
        facts.yeast.tolerance = meta.yeast_tolerance_pct.and_then(|t| Abv::new(t).ok());
        facts.usual_temperature = meta.temp_c_nominal.and_then(|t| Celsius::new(t).ok());
        facts.expected_fg = meta.expected_fg.and_then(|g| Gravity::new(g).ok());
        facts.pitched = Some(match &meta.pitch_time {
            Some(time) => moment(time)?,
            None => self.started()?,
        });
        facts.stall_prior = stall_prior;
        for logged in &self.events {
            let at = moment(&logged.time)?;
            if at <= now && logged.kind == "nutrient" {
                let yan = nitrogen(logged.note.as_deref());
                let kind = EventKind::Nutrient { yan };
                facts.events.push(Event { at, kind });
            }
        }
        Ok(facts)
    }

    /// A reading; `None` for a number that no drink can have.
    fn observation(&self, r: &Reading, at: Moment) -> Option<Observation> {
        let resolution = self.meta.hydrometer_resolution.unwrap_or(0.001);
        Some(Observation {
            at,
            temperature: r.temp_c.and_then(|t| Celsius::new(t).ok()),
            seen: Seen::Hydrometer {
                gravity: Gravity::new(r.sg?).ok()?,
                resolution: GravityDelta::clamped(resolution),
            },
        })
    }
}

/// Mead, cider or beer; another drink is taken for the one that is as strong.
fn style(word: &str, og: Option<Gravity>) -> Style {
    match word {
        "mead" => Style::Mead,
        "cider" => Style::Cider,
        "beer" => Style::Beer,
        _ if og.is_some_and(|g| g.get() < 1.070) => Style::Cider,
        _ => Style::Mead,
    }
}

/// The number before `mg/L` in a note.
fn nitrogen(note: Option<&str>) -> Option<MilligramsPerLitre> {
    let (number, _) = note?.split_once("mg/L")?;
    MilligramsPerLitre::new(number.trim().parse().ok()?).ok()
}

fn moment(text: &str) -> anyhow::Result<Moment> {
    let at = DateTime::parse_from_rfc3339(text).with_context(|| format!("the time {text}"))?;
    Ok(Moment::new(at))
}

/// The one word that is said.
pub(crate) fn state(said: &Assessment) -> FermentState {
    match said.headline {
        Headline::Planned => FermentState::Lag,
        Headline::Clear(state) | Headline::Doubtful(state, _) => state,
    }
}

/// The format's word for a state.
pub(crate) fn word(state: FermentState) -> &'static str {
    match state {
        FermentState::Lag => "lag",
        FermentState::Active => "active",
        FermentState::Slowing => "slowing",
        FermentState::Finished => "finished",
        FermentState::Stuck => "stalled",
    }
}
