//! The fields of bottling day, with their usual values.

use super::{BOTTLE_KEYS, GASES, account};
use crate::app::form::{Form, FormField};
use crate::app::state::State;
use crate::domain::records::{Dossier, Fizz, UnitSystem, Vessel, VesselKind};
use crate::domain::units::{Abv, Celsius, Litres};
use crate::engine::Account;
use crate::engine::bottling::{self, PRIMERS};
use crate::engine::facts::Told;

pub(super) fn kegs(state: &State) -> Vec<Vessel> {
    let Some(household) = &state.household else {
        return Vec::new();
    };
    household
        .vessels
        .iter()
        .filter(|v| v.kind == VesselKind::Keg && !v.retired)
        .filter(|v| household.in_vessel(v.id).is_none())
        .cloned()
        .collect()
}

/// A volume as it is typed: `1.00gal`, `3.79l`.
pub(in crate::app) fn typed_volume(v: Litres, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => format!("{:.2}gal", v.us_gallons()),
        UnitSystem::Metric => format!("{:.2}l", v.get()),
    }
}

fn typed_temperature(t: Celsius, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => format!("{:.0}f", t.fahrenheit()),
        UnitSystem::Metric => format!("{:.1}c", t.get()),
    }
}

/// Builds the form anew; what the old one held stays.
pub(super) fn build(state: &mut State) {
    let Some((account, dossier)) = account(state) else {
        return;
    };
    let old = state.bottling.form.clone();
    let package = old.chosen("package");
    let fields = fields(state, account, dossier, package);
    let mut form = Form::new(fields);
    for field in &old.fields {
        form.set(field.key, field.value());
    }
    form.at = old.at.min(form.fields.len().saturating_sub(1));
    form.touched = old.touched;
    state.bottling.form = form;
}

fn fields(state: &State, account: &Account, dossier: &Dossier, package: usize) -> Vec<FormField> {
    let gas = GASES
        .iter()
        .position(|g| *g == dossier.batch.fizz)
        .unwrap_or(0);
    let fizz = GASES.get(gas).copied().unwrap_or(Fizz::Still);
    let mut fields = vec![FormField::choice(
        "package",
        "into",
        "Left and right choose. A keg takes its gas from the cylinder.",
        vec!["bottles".into(), "a keg".into()],
        package,
    )];
    if package == 0 {
        fields.push(FormField::choice(
            "gas",
            "gas",
            "Still, lightly sparkling or sparkling.",
            GASES.iter().map(|g| g.word().to_owned()).collect(),
            gas,
        ));
    }
    fields.extend(gas_fields(state, dossier, fizz, package));
    fields.extend(volume_fields(state, dossier));
    fields.extend(temperature_fields(state, &account.told, package));
    if package == 0 {
        fields.extend(bottle_fields(state));
        fields.extend(later_fields(state, dossier, fizz, account.figures.alcohol));
    }
    fields.push(FormField::text(
        "reason",
        "in spite of holds",
        "Only where something holds it: why it is done all the same. It stays in the ledger.",
        "",
    ));
    fields
}

fn gas_fields(state: &State, dossier: &Dossier, fizz: Fizz, package: usize) -> [FormField; 2] {
    let aimed = if fizz == Fizz::Still {
        Fizz::Sparkling
    } else {
        fizz
    };
    let target = bottling::usual_target(dossier.batch.style, aimed);
    let wanted = FormField::text(
        "target",
        "volumes wanted",
        "Of CO2; a still drink ignores it. Usual: 1.8 light, 2.4 beer, 2.7 mead and cider.",
        &format!("{:.1}", target.get()),
    );
    let source = if package == 0 {
        FormField::choice(
            "primer",
            "sugar for gas",
            "By weight, never by the spoon.",
            PRIMERS.iter().map(|p| p.0.to_owned()).collect(),
            0,
        )
    } else {
        let tags: Vec<String> = kegs(state).iter().map(|v| v.tag.clone()).collect();
        FormField::choice(
            "keg",
            "which keg",
            "An empty vessel of the kind keg.",
            tags,
            0,
        )
    };
    [wanted, source]
}

fn volume_fields(state: &State, dossier: &Dossier) -> [FormField; 2] {
    let units = state.settings().units;
    let vessel = state.chosen.and_then(|c| c.vessel);
    let volume = vessel.map_or_else(
        || bottling::volume_now(dossier),
        |v| bottling::volume_in(dossier, v),
    );
    let typed = |v: Option<Litres>| v.map_or_else(String::new, |v| typed_volume(v, units));
    [
        FormField::text(
            "volume",
            "in the vessel",
            "How much lies in it: 1gal, 3.8l.",
            &typed(volume),
        ),
        FormField::text(
            "lost",
            "stays behind",
            "With the lees and in the siphon.",
            &typed(volume.map(bottling::usual_loss)),
        ),
    ]
}

fn temperature_fields(state: &State, told: &Told, package: usize) -> Vec<FormField> {
    let units = state.settings().units;
    let typed = |t: Option<Celsius>| t.map_or_else(String::new, |t| typed_temperature(t, units));
    if package != 0 {
        return vec![FormField::text(
            "keg-at",
            "keg stands at",
            "Temperature at which it will stand.",
            &typed(Some(Celsius::known(4.0))),
        )];
    }
    let place = state.chosen_place();
    let usual = state
        .household
        .as_ref()
        .and_then(|h| h.place(place?))
        .and_then(|p| p.usual_temp);
    let warm = bottling::warmest_since_end(told).or(usual);
    vec![
        FormField::text(
            "warmest",
            "warmest since",
            "Warmest on two days since it ended: so much gas is still in it. Unsure: the cooler.",
            &typed(warm),
        ),
        FormField::text(
            "cellar",
            "cellar",
            "Temperature at which the bottles will lie.",
            &typed(usual.or(warm)),
        ),
        FormField::text(
            "summer",
            "summer",
            "Warmest that the bottles may get.",
            &typed(Some(Celsius::known(30.0))),
        ),
    ]
}

fn bottle_fields(state: &State) -> impl Iterator<Item = FormField> {
    bottling::kinds(&state.supplies.pantry)
        .into_iter()
        .zip(BOTTLE_KEYS)
        .map(|(kind, key)| {
            let (there, class) = match (kind.item, kind.known) {
                (None, _) => ("none in the pantry".to_owned(), kind.class.word()),
                (_, true) => (format!("{} there", kind.have), kind.class.word()),
                (_, false) => (format!("{} there", kind.have), "class unknown: no gas"),
            };
            let worn = match kind.reused {
                0 => String::new(),
                n => format!(", filled {n} times before"),
            };
            let hint = format!(
                "{}: {there}, {class}{worn}. How many, 0 for none; empty: as many as fit.",
                kind.name
            );
            FormField::text(key, &kind.name, &hint, "")
        })
        .collect::<Vec<_>>()
        .into_iter()
}

fn later_fields(
    state: &State,
    dossier: &Dossier,
    fizz: Fizz,
    alcohol: Option<Abv>,
) -> Vec<FormField> {
    let place = state.chosen_place();
    let places = state.household.as_ref().map_or(&[][..], |h| &h.places);
    vec![
        FormField::choice(
            "place",
            "they lie in",
            "Where the bottles lie; dark is best.",
            places.iter().map(|p| p.name.clone()).collect(),
            places.iter().position(|p| Some(p.id) == place).unwrap_or(0),
        ),
        FormField::text(
            "ready",
            "ready in days",
            "Until the first is good.",
            &bottling::usual_ready(fizz, alcohol).to_string(),
        ),
        FormField::text(
            "keep",
            "best for days",
            "Until they have had their best time.",
            &bottling::usual_keep(dossier.batch.style).to_string(),
        ),
    ]
}
