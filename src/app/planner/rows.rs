//! The rows of the planner, as they are shown.

use super::fresh::routine_of;
use crate::app::say;
use crate::app::state::State;
use crate::domain::plan::{Aim, Filler, Plan};
use crate::domain::units::Litres;
use chrono::NaiveDate;

/// A row of the planner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowKey {
    /// What the batch is called.
    Name,
    /// Family.
    Style,
    /// Vessel.
    Vessel,
    /// Volume of the must.
    Volume,
    /// Original gravity.
    Original,
    /// Alcohol.
    Alcohol,
    /// Sweetness left.
    Sweetness,
    /// A part.
    Part(usize),
    /// A part more.
    Add,
    /// Water.
    Water,
    /// Class of yeast.
    Yeast,
    /// Gas.
    Fizz,
    /// Routine.
    Routine,
    /// Day of pitching.
    Pitch,
    /// Day of the feast.
    Feast,
    /// Bottle.
    Bottle,
    /// Free words.
    Note,
}

/// What can be done with a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowKind {
    /// A value is typed.
    Typed,
    /// Left and right choose.
    Chosen,
    /// Enter opens a form.
    Opens,
}

/// A row as it is shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Which.
    pub key: RowKey,
    /// Its name.
    pub label: String,
    /// Its value.
    pub value: String,
    /// What can be done with it.
    pub kind: RowKind,
    /// It stays when other numbers change.
    pub locked: bool,
    /// It is what is aimed at.
    pub aimed: bool,
}

/// The rows that are shown.
pub fn rows(state: &State) -> Vec<Row> {
    let Some(plan) = state.planner.shown() else {
        return Vec::new();
    };
    let settings = state.settings();
    let units = settings.units;
    let end = plan.ends();
    let row = |key, label: &str, value: String, kind| Row {
        key,
        label: label.to_owned(),
        value,
        kind,
        locked: false,
        aimed: false,
    };
    let aim = |key, label: &str, value: String, aimed: bool| Row {
        locked: aimed && plan.locks.aim,
        aimed,
        ..row(key, label, value, RowKind::Typed)
    };
    let mut all = vec![
        row(RowKey::Name, "name", plan.name.clone(), RowKind::Typed),
        row(
            RowKey::Style,
            "style",
            format!("{} ({})", plan.style, plan.variety),
            RowKind::Chosen,
        ),
        row(
            RowKey::Vessel,
            "vessel",
            plan.vessel.as_ref().map_or_else(
                || "none yet".to_owned(),
                |v| format!("{}, {}", v.tag, say::volume(v.capacity, units)),
            ),
            RowKind::Chosen,
        ),
        Row {
            locked: plan.locks.volume,
            ..row(
                RowKey::Volume,
                "made up to",
                say::volume(plan.volume, units),
                RowKind::Typed,
            )
        },
        aim(
            RowKey::Original,
            "original gravity",
            say::gravity(plan.original(), settings.gravity),
            matches!(plan.aim, Aim::Original(_)),
        ),
        aim(
            RowKey::Alcohol,
            "alcohol",
            say::abv(end.alcohol),
            matches!(plan.aim, Aim::Alcohol(_)),
        ),
        aim(
            RowKey::Sweetness,
            "ends at",
            say::gravity(end.gravity, settings.gravity),
            matches!(plan.aim, Aim::Sweetness(_)),
        ),
    ];
    for (at, part) in plan.parts.iter().enumerate() {
        all.push(Row {
            locked: part.locked,
            ..row(
                RowKey::Part(at),
                &part.name,
                say::mass(part.mass, units),
                RowKind::Typed,
            )
        });
    }
    all.push(row(
        RowKey::Add,
        "add a part",
        String::new(),
        RowKind::Opens,
    ));
    all.extend(more_rows(state, plan));
    all
}

pub(super) fn more_rows(state: &State, plan: &Plan) -> Vec<Row> {
    let units = state.settings().units;
    let today = state.now.day();
    let day = |d: Option<NaiveDate>| d.map_or_else(|| "none".to_owned(), |d| say::day(d, today));
    let row = |key, label: &str, value: String, kind| Row {
        key,
        label: label.to_owned(),
        value,
        kind,
        locked: false,
        aimed: false,
    };
    let mut all = Vec::new();
    if plan.filler == Filler::Water {
        let water = state
            .planner
            .leads
            .as_ref()
            .map_or(Litres::known(0.0), |l| l.outcome.water_volume);
        all.push(row(
            RowKey::Water,
            "water",
            say::volume(water, units),
            RowKind::Typed,
        ));
    }
    let routine = routine_of(state, plan).map_or("none", |r| r.title.as_str());
    all.extend([
        row(
            RowKey::Yeast,
            "yeast",
            format!(
                "{}, to {:.0} %",
                plan.yeast.title,
                plan.yeast.tolerance.get()
            ),
            RowKind::Chosen,
        ),
        row(
            RowKey::Fizz,
            "gas",
            plan.fizz.word().to_owned(),
            RowKind::Chosen,
        ),
        row(
            RowKey::Routine,
            "routine",
            routine.to_owned(),
            RowKind::Chosen,
        ),
        row(
            RowKey::Pitch,
            "pitch on",
            day(plan.pitch_on),
            RowKind::Typed,
        ),
        row(
            RowKey::Feast,
            "for the feast of",
            day(plan.feast_on),
            RowKind::Typed,
        ),
        row(
            RowKey::Bottle,
            "bottles of",
            say::volume(plan.bottling.size, units),
            RowKind::Typed,
        ),
        row(RowKey::Note, "note", plan.note.clone(), RowKind::Typed),
    ]);
    all
}

/// The row that has the keys.
pub fn current(state: &State) -> Option<Row> {
    rows(state).into_iter().nth(state.planner.at)
}

pub(super) fn hint(state: &State, row: RowKey) -> String {
    let us = state.settings().units == crate::domain::records::UnitSystem::Us;
    let text = match row {
        RowKey::Name => "what you call it",
        RowKey::Note => "free words, such as what to change next time",
        RowKey::Volume | RowKey::Water if us => "1 is a gallon; 3.8l, 750ml",
        RowKey::Volume | RowKey::Water => "3.8 is litres; 1gal, 750ml",
        RowKey::Original => "95 is 1.095",
        RowKey::Sweetness => "1.010 or 10: where the yeast gives up with sugar left",
        RowKey::Alcohol => "12 or 12.5, percent by volume",
        RowKey::Part(_) if us => "2.5 is pounds; 900g, 40oz; 17% sets a honey's water",
        RowKey::Part(_) => "1.2 is kilograms; 900g, 2.5lb; 17% sets a honey's water",
        RowKey::Pitch => "a day: today, +3d, sat, 12-24; empty for none",
        RowKey::Feast => "the day it is to be drunk: 12-24; empty for none",
        RowKey::Bottle => "12oz, 355ml, 750ml",
        RowKey::Style
        | RowKey::Vessel
        | RowKey::Yeast
        | RowKey::Fizz
        | RowKey::Routine
        | RowKey::Add => "",
    };
    text.to_owned()
}
