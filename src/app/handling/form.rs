//! The fields of each job, with their usual values.

use super::{Job, here};
use crate::app::bottling::typed_volume;
use crate::app::form::{Form, FormField};
use crate::app::state::State;
use crate::domain::records::{Stage, Vessel};
use crate::domain::sums::sulfite::LEAST_ALCOHOL;
use crate::domain::units::Litres;
use crate::engine::bottling;
use crate::engine::handling::{Drink, SWEETENERS};

/// Builds the form for its job; what the old one held stays.
pub(super) fn build(state: &mut State) {
    let job = state.handling.job();
    let old = state.handling.form.clone();
    let Some(fields) = fields(state, job) else {
        return;
    };
    let mut form = Form::new(fields);
    for field in &old.fields {
        // A volume means another thing for another job.
        if field.key == "job" || field.key == "note" {
            form.set(field.key, field.value());
        }
    }
    form.at = old.at.min(form.fields.len().saturating_sub(1));
    form.touched = old.touched;
    state.handling.form = form;
}

fn fields(state: &State, job: Job) -> Option<Vec<FormField>> {
    let (_, vessel, drink) = here(state)?;
    let units = state.settings().units;
    let typed = |v: Option<Litres>| v.map_or_else(String::new, |v| typed_volume(v, units));
    let mut fields = vec![FormField::choice(
        "job",
        "what",
        "Left and right select.",
        Job::ALL.iter().map(|j| j.word().to_owned()).collect(),
        Job::ALL.iter().position(|j| *j == job).unwrap_or(0),
    )];
    match job {
        Job::Rack | Job::Split => fields.extend(rack(state, vessel, job, &drink)),
        Job::Blend => {
            fields.push(FormField::choice(
                "from",
                "out of",
                "The vessel of the other batch.",
                others(state).iter().map(|v| v.tag.clone()).collect(),
                0,
            ));
            fields.push(FormField::text(
                "volume",
                "how much",
                "Of the other batch: 0.5gal, 2l.",
                "",
            ));
        }
        Job::TopUp => fields.extend(top_up(&typed(room(vessel, &drink)))),
        Job::Stabilise => fields.extend(stabilise(&drink)),
        Job::Sweeten => {
            let treatment = state.chosen_row()?.treatment;
            // What it is sweetened to may thin it below what sorbate needs.
            let strong = drink.alcohol.is_some_and(|a| a.get() > LEAST_ALCOHOL + 1.5);
            fields.extend(sweeten(&drink, treatment.stabilised() && strong));
        }
    }
    fields.push(FormField::text("note", "note", "Free words.", ""));
    Some(fields)
}

/// Room up to two fingers under the brim (common practice: 2 to 5 cm).
fn room(vessel: &Vessel, drink: &Drink) -> Option<Litres> {
    let room = vessel.capacity.get() * 0.96 - drink.volume?.get();
    (room > 0.0).then(|| Litres::clamped(room))
}

fn rack(state: &State, vessel: &Vessel, job: Job, drink: &Drink) -> Vec<FormField> {
    let units = state.settings().units;
    let tags: Vec<String> = targets(state).iter().map(|v| v.tag.clone()).collect();
    let usual = drink.volume.map(|v| match job {
        Job::Split => Litres::clamped(v.get() / 2.0),
        _ => Litres::clamped(v.get() - bottling::usual_loss(v).get()),
    });
    vec![
        FormField::choice(
            "to",
            "into",
            &format!(
                "Out of {}; a free vessel, or one with the same batch.",
                vessel.tag
            ),
            tags,
            0,
        ),
        FormField::text(
            "volume",
            "arrives there",
            "How much arrives; the rest is lost with the lees, or stays in a split.",
            &usual.map_or_else(String::new, |v| typed_volume(v, units)),
        ),
    ]
}

fn top_up(room: &str) -> Vec<FormField> {
    vec![
        FormField::text(
            "what",
            "with what",
            "A finished mead, wine, juice or water.",
            "a similar mead",
        ),
        FormField::text(
            "volume",
            "how much",
            "As much as leaves 2 to 5 cm: 0.1gal.",
            room,
        ),
        FormField::text(
            "gravity",
            "its gravity",
            "As measured; empty for water, or for what juice usually has.",
            "",
        ),
        FormField::text(
            "alcohol",
            "its alcohol",
            "Empty or 0 for water or juice.",
            "",
        ),
    ]
}

fn stabilise(drink: &Drink) -> Vec<FormField> {
    vec![
        FormField::text(
            "ph",
            "pH",
            "As last read; empty if unknown: then the safe dose.",
            &drink
                .ph
                .map_or_else(String::new, |p| format!("{:.2}", p.get())),
        ),
        FormField::text(
            "molecular",
            "molecular SO2",
            "mg/L to aim at: 0.6 to 0.8.",
            "0.8",
        ),
        FormField::text(
            "acid",
            "sorbic acid",
            "mg/L; empty: what its alcohol and pH need; 0 for none. Never without sulfite, never before priming.",
            "",
        ),
        FormField::choice(
            "then",
            "sweeten after it",
            "Puts the sweetening on the list, two days later.",
            vec!["yes".into(), "no".into()],
            1,
        ),
    ]
}

fn sweeten(drink: &Drink, stabilised: bool) -> Vec<FormField> {
    let to = drink
        .gravity
        .map_or_else(String::new, |g| format!("{:.3}", g.get() + 0.010));
    let mut fields = vec![
        FormField::choice(
            "sweetener",
            "with",
            "Left and right select.",
            SWEETENERS.iter().map(|s| (*s).to_owned()).collect(),
            0,
        ),
        FormField::text(
            "gravity",
            "up to",
            "The gravity that tasted right in a trial of 100 mL.",
            &to,
        ),
    ];
    if !stabilised {
        fields.push(FormField::text(
            "reason",
            "override reason",
            "Not stabilised: why you sweeten it anyway. The ledger records it.",
            "",
        ));
    }
    fields
}

/// Vessels that it can go into: free ones, clean ones first, and those that
/// hold the same batch.
pub(super) fn targets(state: &State) -> Vec<&Vessel> {
    let (Some(household), Some(chosen)) = (&state.household, state.chosen) else {
        return Vec::new();
    };
    let mut all: Vec<&Vessel> = household
        .vessels
        .iter()
        .filter(|v| !v.retired && Some(v.id) != chosen.vessel)
        .filter(|v| {
            household
                .in_vessel(v.id)
                .is_none_or(|d| d.batch.id == chosen.batch)
        })
        .collect();
    all.sort_by_key(|v| !v.clean);
    all
}

/// Vessels that hold another batch.
pub(super) fn others(state: &State) -> Vec<&Vessel> {
    let (Some(household), Some(chosen)) = (&state.household, state.chosen) else {
        return Vec::new();
    };
    household
        .vessels
        .iter()
        .filter(|v| {
            household
                .in_vessel(v.id)
                .is_some_and(|d| d.batch.id != chosen.batch && d.batch.stage != Stage::Planned)
        })
        .collect()
}
