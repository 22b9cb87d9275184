//! Deeds, vessels, places, changes, keys, routines.

use super::{round, time};
use crate::domain::records::{Change, ChangeState, Household, Place, Routine, StepRule, Vessel};
use crate::work::Receipt;
use chrono::{DateTime, FixedOffset};
use serde::Serialize;

/// What a deed did.
#[derive(Debug, Serialize)]
pub(crate) struct DeedJson {
    said: String,
    cautions: Vec<String>,
    revision: i64,
}

impl DeedJson {
    pub(crate) fn new(receipt: &Receipt) -> Self {
        Self {
            said: receipt.said.clone(),
            cautions: receipt.cautions.clone(),
            revision: receipt.revision,
        }
    }

    pub(crate) fn said(said: &str, revision: i64) -> Self {
        Self {
            said: said.to_owned(),
            cautions: Vec::new(),
            revision,
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct VesselsJson {
    pub(crate) vessels: Vec<VesselJson>,
}

#[derive(Debug, Serialize)]
pub(crate) struct VesselJson {
    tag: String,
    kind: &'static str,
    capacity_l: f64,
    tare_g: Option<f64>,
    place: Option<String>,
    clean: bool,
    retired: bool,
    holds: Option<String>,
}

impl VesselJson {
    pub(crate) fn new(v: &Vessel, household: &Household) -> Self {
        Self {
            tag: v.tag.clone(),
            kind: v.kind.word(),
            capacity_l: round(v.capacity.get(), 4),
            tare_g: v.tare.map(|t| round(t.get(), 1)),
            place: household.place(v.place).map(|p| p.name.clone()),
            clean: v.clean,
            retired: v.retired,
            holds: household.in_vessel(v.id).map(|d| d.batch.name.clone()),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct PlacesJson {
    pub(crate) places: Vec<PlaceJson>,
}

#[derive(Debug, Serialize)]
pub(crate) struct PlaceJson {
    name: String,
    dark: bool,
    usual_c: Option<f64>,
    vessels: Vec<String>,
}

impl PlaceJson {
    /// Tags of its vessels in a row.
    pub(crate) fn tags(&self) -> String {
        self.vessels.join(", ")
    }

    pub(crate) fn new(p: &Place, household: &Household) -> Self {
        Self {
            name: p.name.clone(),
            dark: p.dark,
            usual_c: p.usual_temp.map(|t| round(t.get(), 2)),
            vessels: household
                .vessels
                .iter()
                .filter(|v| v.place == p.id && !v.retired)
                .map(|v| v.tag.clone())
                .collect(),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct ChangesJson {
    pub(crate) changes: Vec<ChangeJson>,
}

#[derive(Debug, Serialize)]
pub(crate) struct ChangeJson {
    id: i64,
    said: String,
    at: DateTime<FixedOffset>,
    state: ChangeState,
}

impl ChangeJson {
    pub(crate) fn new(c: &Change) -> Self {
        Self {
            id: c.id.0,
            said: c.name.clone(),
            at: time(c.at),
            state: c.state,
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct KeysJson {
    pub(crate) keys: Vec<KeyJson>,
    pub(crate) problems: Vec<String>,
}

#[derive(Debug, Serialize)]
pub(crate) struct KeyJson {
    pub(crate) place: &'static str,
    pub(crate) word: &'static str,
    pub(crate) keys: String,
    pub(crate) help: &'static str,
}

#[derive(Debug, Serialize)]
pub(crate) struct RoutinesJson<'a> {
    pub(crate) routines: Vec<RoutineJson<'a>>,
    pub(crate) problems: Vec<String>,
}

#[derive(Debug, Serialize)]
pub(crate) struct RoutineJson<'a> {
    key: &'a str,
    title: &'a str,
    style: &'static str,
    variety: &'a str,
    volume_l: f64,
    source: &'a str,
    about: &'a str,
    steps: &'a [StepRule],
}

impl<'a> RoutineJson<'a> {
    pub(crate) fn new(r: &'a Routine) -> Self {
        Self {
            key: &r.key,
            title: &r.title,
            style: r.style.word(),
            variety: &r.variety,
            volume_l: round(r.volume.get(), 4),
            source: &r.source,
            about: &r.about,
            steps: &r.steps,
        }
    }
}
