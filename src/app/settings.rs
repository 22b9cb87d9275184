//! Choices: units and the like. Stored values keep what was entered.

use super::form::{Form, FormField};
use super::msg::Effect;
use super::overlay::{Errand, Overlay};
use super::state::{Effects, State};
use super::steps::reopen;
use crate::domain::deeds::Deed;
use crate::domain::records::{GravityScale, Settings, UnitSystem};

/// The choices being made.
#[derive(Debug, Clone)]
pub struct SettingsSheet {
    /// Their fields.
    pub form: Form,
    /// What became of it.
    pub errand: Errand,
}

/// How the unit systems are offered.
pub const UNITS: [(&str, UnitSystem); 2] = [
    ("US: gallons, pounds, °F", UnitSystem::Us),
    ("metric: litres, grams, °C", UnitSystem::Metric),
];
const SCALES: [(&str, GravityScale); 2] = [
    ("specific gravity, 1.042", GravityScale::Sg),
    ("degrees Plato, 10.5", GravityScale::Plato),
];

/// Opens the choices.
pub fn open(state: &mut State) {
    let now = state.settings();
    let units = UNITS.iter().position(|(_, u)| *u == now.units).unwrap_or(0);
    let scale = SCALES
        .iter()
        .position(|(_, g)| *g == now.gravity)
        .unwrap_or(0);
    let names = |list: &[&str]| list.iter().map(|s| (*s).to_owned()).collect();
    let form = Form::new(vec![
        FormField::choice(
            "units",
            "units",
            "How quantities are shown; what was typed stays as it was typed.",
            names(&UNITS.map(|u| u.0)),
            units,
        ),
        FormField::choice(
            "gravity",
            "gravity",
            "How gravity is shown; slips take either.",
            names(&SCALES.map(|s| s.0)),
            scale,
        ),
        FormField::text(
            "gap",
            "days without a reading",
            "After so many days a fermenting batch is flagged: 1 to 60.",
            &now.reading_gap_days.to_string(),
        ),
        FormField::text(
            "adults",
            "adults in the household",
            "For the yearly limit: 1 to 20. Check your local law.",
            &now.adults.to_string(),
        ),
        FormField::text(
            "stick",
            "ferments that stick, in 100",
            "What skep expects before it has seen yours: 1 to 50. Common practice says about 5.",
            &format!("{:.0}", now.stall_prior * 100.0),
        ),
    ]);
    state.overlays.push(Overlay::Settings(SettingsSheet {
        form,
        errand: Errand::default(),
    }));
}

/// Enter: keeps them.
pub fn accept(state: &mut State, mut sheet: SettingsSheet) -> Effects {
    if sheet.errand.sent.is_some() {
        return reopen(state, Overlay::Settings(sheet), Vec::new());
    }
    let Some(settings) = read(&mut sheet.form) else {
        return reopen(state, Overlay::Settings(sheet), Vec::new());
    };
    let ticket = state.ticket();
    sheet.errand.sent = Some(ticket);
    let deed = Deed::SaveSettings(settings);
    reopen(
        state,
        Overlay::Settings(sheet),
        vec![Effect::CarryOut(ticket, vec![deed])],
    )
}

fn read(form: &mut Form) -> Option<Settings> {
    let units = UNITS.get(form.chosen("units"))?.1;
    let gravity = SCALES.get(form.chosen("gravity"))?.1;
    let reading_gap_days = whole(form, "gap", 1, 60)?;
    let adults = whole(form, "adults", 1, 20)?;
    let stick = whole(form, "stick", 1, 50)?;
    Some(Settings {
        units,
        gravity,
        reading_gap_days,
        adults,
        stall_prior: f64::from(stick) / 100.0,
    })
}

/// A whole number within bounds, or a sentence beside its field.
pub fn whole(form: &mut Form, key: &'static str, min: u32, max: u32) -> Option<u32> {
    let value = form.value(key).to_owned();
    match value.parse::<u32>() {
        Ok(n) if (min..=max).contains(&n) => Some(n),
        _ => {
            let shown = if value.is_empty() { "nothing" } else { &value };
            form.object(
                key,
                format!("'{shown}' is not a whole number from {min} to {max}."),
            );
            None
        }
    }
}
