//! The fields of bottling day, with their usual values.

use super::{BOTTLE_KEYS, GASES, account};
use crate::app::form::{Form, FormField};
use crate::app::say;
use crate::app::state::State;
use crate::domain::records::{Dossier, Fizz, Style, UnitSystem, Vessel, VesselKind};
use crate::domain::units::{Abv, Celsius, GaugeBar, Litres};
use crate::engine::Account;
use crate::engine::bottling::{self, Dextrins, PRIMERS};
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

/// Builds the form again; what the old one held stays.
pub(super) fn build(state: &mut State) {
    let Some((account, dossier)) = account(state) else {
        return;
    };
    let old = state.bottling.form.clone();
    let fields = fields(state, account, dossier, &old);
    let here = old.current().map(|f| f.key);
    let mut form = Form::new(fields);
    for field in &old.fields {
        form.set(field.key, field.value());
    }
    let kept = form.fields.iter().position(|f| Some(f.key) == here);
    form.at = kept.unwrap_or_else(|| old.at.min(form.fields.len().saturating_sub(1)));
    form.touched = old.touched;
    state.bottling.form = form;
}

/// Another place gets as warm as it does.
pub(super) fn follow_place(state: &mut State) {
    let places = state.household.as_ref().map_or(&[][..], |h| &h.places);
    let place = places.get(state.bottling.form.chosen("place"));
    let summer = typed_temperature(bottling::summer(place), state.settings().units);
    state.bottling.form.set("summer", &summer);
}

/// Only fields that the choices so far leave something to.
fn fields(state: &State, account: &Account, dossier: &Dossier, old: &Form) -> Vec<FormField> {
    let meant = GASES.iter().position(|g| *g == dossier.batch.fizz);
    let package = old.chosen("package");
    let bottles = package == 0;
    let gas = match old.field("gas") {
        Some(_) => old.chosen("gas"),
        None => meant.unwrap_or(0),
    };
    let fizz = GASES.get(gas).copied().unwrap_or(Fizz::Still);
    let mut fields = vec![FormField::choice(
        "package",
        "into",
        "Left and right select. A keg takes its gas from the cylinder.",
        vec!["bottles".into(), "a keg".into()],
        package,
    )];
    if bottles {
        fields.push(FormField::choice(
            "gas",
            "gas",
            "Still, lightly sparkling or sparkling.",
            GASES.iter().map(|g| g.word().to_owned()).collect(),
            gas,
        ));
    }
    if !bottles || fizz != Fizz::Still {
        fields.extend(gas_fields(state, dossier, fizz, package));
    }
    fields.extend(volume_fields(state, dossier));
    if bottles {
        fields.extend(dextrins_field(state, dossier));
        fields.extend(bottle_fields(state));
        fields.push(place_field(state));
        if fizz != Fizz::Still {
            fields.extend(temperature_fields(state, &account.told));
        }
        fields.extend(later_fields(dossier, fizz, account.figures.alcohol));
    } else {
        fields.extend(keg_fields(state, old.chosen("keg")));
    }
    fields.push(FormField::text(
        "reason",
        "override reason",
        "Only where something holds it: why fill it all the same. It lifts the holds that stand now, and is shown until the last bottle is gone.",
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
        "target CO2",
        "Volumes. Usual: 1.8 light, 2.4 beer, 2.5 mead and cider.",
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
            "volume in vessel",
            "How much is in it: 1gal, 3.8l.",
            &typed(volume),
        ),
        FormField::text(
            "lost",
            "left on the lees",
            "With what stays in the siphon.",
            &typed(volume.map(bottling::usual_loss)),
        ),
    ]
}

fn temperature_fields(state: &State, told: &Told) -> [FormField; 3] {
    let units = state.settings().units;
    let typed = |t: Option<Celsius>| t.map_or_else(String::new, |t| typed_temperature(t, units));
    let place = state
        .chosen_place()
        .and_then(|id| state.household.as_ref()?.place(id));
    let usual = place.and_then(|p| p.usual_temp);
    let warm = bottling::warmest_since_end(told).or(usual);
    [
        FormField::text(
            "cellar",
            "usually at",
            "Temperature at which the bottles are stored.",
            &typed(usual.or(warm)),
        ),
        FormField::text(
            "summer",
            "warmest day",
            "Warmest that their place gets; saved with the place. Where nobody knows, 86 °F or 30 °C (common practice, no source).",
            &typed(Some(bottling::summer(place))),
        ),
        FormField::text(
            "warmest",
            "warmest since finish",
            "Warmest it has been for two days since it finished; that sets how much CO2 is still dissolved. If unsure, use the cooler figure.",
            &typed(warm),
        ),
    ]
}

fn keg_fields(state: &State, at: usize) -> [FormField; 3] {
    let units = state.settings().units;
    let keg = kegs(state).into_iter().nth(at);
    let place = keg
        .as_ref()
        .and_then(|k| state.household.as_ref()?.place(k.place));
    let rated = keg.as_ref().and_then(|k| k.rated);
    [
        FormField::text(
            "keg-at",
            "keg stands at",
            "Temperature at which it will stand.",
            &typed_temperature(Celsius::known(4.0), units),
        ),
        FormField::text(
            "keg-rated",
            "keg is rated for",
            "Working pressure printed on it: 60 psi, 4 bar; saved with the keg. Unknown, it is taken for 60 psi.",
            &rated.map_or_else(String::new, |p| typed_pressure(p, units)),
        )
        .blank("not known"),
        FormField::text(
            "summer",
            "warmest day",
            "Warmest that its place gets; saved with the place.",
            &typed_temperature(bottling::summer(place), units),
        ),
    ]
}

/// A pressure as it is typed: `60 psi`, `4.1 bar`.
fn typed_pressure(p: GaugeBar, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => say::pressure(p, units),
        UnitSystem::Metric => format!("{:.1} bar", p.get()),
    }
}

/// Whether a beer's yeast could ferment dextrins, where that is a question.
fn dextrins_field(state: &State, dossier: &Dossier) -> Option<FormField> {
    let batch = &dossier.batch;
    let found = bottling::dextrins(batch.style, batch.yeast.as_deref(), &state.library.yeasts);
    (batch.style == Style::Beer).then(|| {
        FormField::choice(
            "dextrins",
            "dextrins",
            "Some yeasts ferment what others leave, for weeks. Rule it out only if you know the strain.",
            vec!["yeast may ferment them".into(), "ruled out".into()],
            usize::from(found == Dextrins::RuledOut),
        )
    })
}

fn bottle_fields(state: &State) -> impl Iterator<Item = FormField> {
    bottling::kinds(&state.supplies.pantry)
        .into_iter()
        .zip(BOTTLE_KEYS)
        .map(|(kind, key)| {
            let (there, class) = match (kind.item, kind.known) {
                (None, _) => ("none in the pantry".to_owned(), kind.class.word()),
                (_, true) => (format!("{} in stock", kind.have), kind.class.word()),
                (_, false) => (format!("{} in stock", kind.have), "class unknown: no gas"),
            };
            let worn = match kind.reused {
                0 => String::new(),
                n => format!(", filled {n} times before"),
            };
            let hint = format!(
                "{}: {there}, {class}{worn}. How many, 0 for none; empty: as many as fit.",
                kind.name
            );
            FormField::text(key, &kind.name, &hint, "").blank("auto")
        })
        .collect::<Vec<_>>()
        .into_iter()
}

fn place_field(state: &State) -> FormField {
    let place = state.chosen_place();
    let places = state.household.as_ref().map_or(&[][..], |h| &h.places);
    FormField::choice(
        "place",
        "stored in",
        "Where the bottles are stored; dark is best.",
        places.iter().map(|p| p.name.clone()).collect(),
        places.iter().position(|p| Some(p.id) == place).unwrap_or(0),
    )
}

fn later_fields(dossier: &Dossier, fizz: Fizz, alcohol: Option<Abv>) -> [FormField; 2] {
    [
        FormField::text(
            "ready",
            "ready after, days",
            "Until the first is good.",
            &bottling::usual_ready(fizz, alcohol).to_string(),
        ),
        FormField::text(
            "keep",
            "best within, days",
            "Until they have had their best time.",
            &bottling::usual_keep(dossier.batch.style).to_string(),
        ),
    ]
}
