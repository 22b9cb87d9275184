//! A part more.

use super::typed::{sentence, set};
use crate::app::form::{Form, FormField};
use crate::app::measure;
use crate::app::sheet::{self, SheetFor};
use crate::app::state::State;
use crate::domain::plan::{Change, Part, PartKind};
use crate::domain::records::PantryKind;
use crate::domain::sums::ingredients;

/// The form for a part more.
pub(super) fn open_part(state: &mut State) {
    if state.planner.plan.is_none() {
        return;
    }
    let names: Vec<String> = offered(state).into_iter().map(|p| p.name).collect();
    let form = Form::new(vec![
        FormField::choice(
            "what",
            "what",
            "Left and right choose: the pantry first, then the table of ingredients.",
            names,
            0,
        ),
        FormField::text("mass", "how much", "2.5lb, 900g, 1.2kg", ""),
        FormField::text("name", "called", "Only for one of your own: its name.", ""),
        FormField::text(
            "solids",
            "sugar in it, %",
            "Only for one of your own: what dissolves, by mass.",
            "",
        ),
    ]);
    sheet::open(state, "add a part", SheetFor::Part, form);
}

/// Parts that can be added: what the pantry has of them first.
pub(super) fn offered(state: &State) -> Vec<Part> {
    let zero = crate::domain::units::Grams::known(0.0);
    let all: Vec<Part> = ingredients::table()
        .iter()
        .filter_map(|i| Part::of(i, zero))
        .collect();
    let mut first: Vec<Part> = Vec::new();
    for item in state.supplies.pantry.iter().filter(|i| i.unit == "g") {
        let near = all
            .iter()
            .find(|p| p.name.eq_ignore_ascii_case(&item.name))
            .or_else(|| {
                let kind = match item.kind {
                    PantryKind::Honey => PartKind::Honey,
                    PantryKind::Sugar => PartKind::Sugar,
                    _ => return None,
                };
                all.iter().find(|p| p.kind == kind)
            });
        if let Some(part) = near
            && first
                .iter()
                .all(|p| !p.name.eq_ignore_ascii_case(&item.name))
        {
            first.push(Part {
                name: item.name.clone(),
                price: item.price.map(|p| p * 1000.0),
                ..part.clone()
            });
        }
    }
    first.extend(all);
    first
}

/// Enter on the form for a part; false when something is wrong with it.
pub fn add_part(state: &mut State, form: &mut Form) -> bool {
    let units = state.settings().units;
    let Some(mut part) = offered(state).into_iter().nth(form.chosen("what")) else {
        return false;
    };
    match measure::mass(form.value("mass"), units) {
        Ok(mass) => part.mass = mass,
        Err(why) => {
            form.object("mass", why);
            return false;
        }
    }
    let name = form.value("name").to_owned();
    if !name.is_empty() {
        let solids = form.value("solids").to_owned();
        match measure::share(&solids, "a share of sugar, such as 80%") {
            Ok(share) => part = Part::own(&name, part.kind, part.mass, share),
            Err(why) => {
                form.object("solids", why);
                return false;
            }
        }
    }
    let Some(plan) = &state.planner.plan else {
        return true;
    };
    match plan.change(Change::Add(part)) {
        Ok(plan) => {
            set(state, plan);
            true
        }
        Err(why) => {
            form.object("mass", sentence(&why.to_string()));
            false
        }
    }
}
