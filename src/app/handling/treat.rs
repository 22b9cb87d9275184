//! Sulfite and sorbate, and sweetening: what goes in, and what comes of it.

use super::outcome::{Outcome, brimful, fine, number, seen, sum};
use crate::app::form::Form;
use crate::app::panel::{Line, LineTone, REASON, Wrong, line, wrong};
use crate::app::state::State;
use crate::app::{cautions, measure, say};
use crate::domain::records::{Dossier, Vessel};
use crate::domain::sums::sulfite::MOST_TOTAL_SO2;
use crate::domain::units::{Abv, Grams, MilligramsPerLitre, Ph};
use crate::engine::handling::{
    self, Drink, METABISULFITE_SPOON, SORBATE_SPOON, SWEETENERS, Stabilising,
};
use crate::engine::{Account, bottling};

pub(super) fn stabilise(
    state: &State,
    form: &Form,
    (dossier, account): (&Dossier, &Account),
    vessel: &Vessel,
    drink: &Drink,
) -> Result<Outcome, Wrong> {
    let ph = match form.value("ph") {
        "" => None,
        _ => Some(
            Ph::new(number(form, "ph", "a pH, such as 3.4")?)
                .ok()
                .filter(|p| (2.5..=4.5).contains(&p.get()))
                .ok_or_else(|| wrong("ph", "A pH of 2.5 to 4.5."))?,
        ),
    };
    let molecular = number(form, "molecular", "mg/L, such as 0.8")?;
    if !(0.2..=1.5).contains(&molecular) {
        return Err(wrong("molecular", "0.2 to 1.5 mg/L; 0.6 to 0.8 is usual."));
    }
    let drink = Drink { ph, ..*drink };
    let treatment = account.treatment;
    let acid = match form.value("acid") {
        "" => handling::sorbic_acid(&drink, &treatment).get(),
        _ => number(form, "acid", "mg/L, such as 180; 0 for none")?,
    };
    let doses = handling::stabilise(
        &drink,
        &treatment,
        MilligramsPerLitre::clamped(molecular),
        (acid > 0.0).then(|| MilligramsPerLitre::clamped(acid)),
    )
    .map_err(|e| sum("acid", &e))?;
    let mut lines = dose_lines(&doses, treatment.unweighed);
    if !bottling::ended(dossier, Some(vessel.id), &account.told, state.now) {
        lines.push(line(LineTone::Alarm, handling::NOT_FINISHED));
    }
    lines.push(line(
        LineTone::Watch,
        "Sorbate stops priming from working: bottle it still.",
    ));
    lines.push(line(LineTone::Watch, cautions::SULFITE));
    let then = form.chosen("then") == 0;
    let deed = handling::stabilise_deed(
        dossier,
        vessel.id,
        &state.supplies.pantry,
        state.now,
        &doses,
        then,
    );
    Ok(fine(lines, deed))
}

fn spoons(grams: Grams, spoon: f64) -> String {
    format!(
        "about {:.1} level teaspoon, rough: weigh it",
        grams.get() / spoon
    )
}

fn dose_lines(doses: &Stabilising, unweighed: bool) -> Vec<Line> {
    let sulfite = &doses.sulfite;
    let mut lines = vec![
        line(
            LineTone::Title,
            format!("{:.2} g of potassium metabisulfite", sulfite.amount.get()),
        ),
        line(LineTone::Muted, spoons(sulfite.amount, METABISULFITE_SPOON)),
    ];
    lines.push(line(
        LineTone::Plain,
        format!(
            "for {:.0} mg/L of free SO2; half of a dose stays free",
            doses.free.get()
        ),
    ));
    if doses.ph.is_none() {
        lines.push(line(
            LineTone::Watch,
            "The pH is unknown, so the safe dose is used. Read the pH to know what it does.",
        ));
    }
    if doses.there.get() >= 0.5 {
        lines.push(line(
            LineTone::Plain,
            format!(
                "about {:.0} mg/L of free SO2 is there from earlier doses",
                doses.there.get()
            ),
        ));
    }
    let total = sulfite.total_after.get();
    lines.push(line(
        if sulfite.much {
            LineTone::Watch
        } else {
            LineTone::Plain
        },
        format!(
            "total SO2 then {total:.0} of at most {MOST_TOTAL_SO2:.0} mg/L (US wine, 27 CFR 4.22)"
        ),
    ));
    if unweighed {
        lines.push(line(
            LineTone::Watch,
            "An earlier dose has no weight in the ledger: the total is higher than that.",
        ));
    }
    if let Some(sorbate) = doses.sorbate {
        lines.push(line(
            LineTone::Title,
            format!("{:.2} g of potassium sorbate", sorbate.amount.get()),
        ));
        lines.push(line(LineTone::Muted, spoons(sorbate.amount, SORBATE_SPOON)));
        if sorbate.unreliable {
            lines.push(line(
                LineTone::Watch,
                "Below 10 % alcohol or above pH 3.7 sorbate can't be relied on: keep it cold, or dry.",
            ));
        }
    }
    lines.push(line(
        LineTone::Plain,
        "Then wait 24 to 48 hours before adding sugar.",
    ));
    lines
}

pub(super) fn sweeten(
    state: &State,
    form: &Form,
    (dossier, account): (&Dossier, &Account),
    vessel: &Vessel,
    drink: &Drink,
) -> Result<Outcome, Wrong> {
    let settings = state.settings();
    let to = measure::gravity(form.value("gravity")).map_err(|e| wrong("gravity", e))?;
    let name = SWEETENERS
        .get(form.chosen("sweetener"))
        .copied()
        .unwrap_or("honey");
    let (mass, mixture) = handling::sweeten(drink, name, to).map_err(|e| sum("gravity", &e))?;
    let treatment = account.treatment;
    let hold = handling::sweetening_hold(&treatment, &mixture);
    let before = drink.alcohol.unwrap_or(Abv::known(0.0));
    let mut lines = vec![
        line(
            LineTone::Title,
            format!("{} of {name}", say::weighed(mass, settings.units)),
        ),
        seen(state, &mixture),
        line(
            LineTone::Plain,
            format!(
                "alcohol goes from {} to {}",
                say::abv(before),
                say::abv(mixture.alcohol)
            ),
        ),
        line(
            LineTone::Plain,
            "Then 7 to 14 days under the airlock: the gravity must not move before it is bottled.",
        ),
    ];
    let mut reason = None;
    let mut wants = None;
    if let Some(hold) = hold {
        let typed = form.value("reason");
        lines.insert(0, line(LineTone::Alarm, format!("HOLD: {hold}")));
        lines.insert(
            1,
            line(
                LineTone::Plain,
                "> Stabilise it first and wait, or type a reason below.",
            ),
        );
        if typed.chars().count() < REASON {
            wants = Some(wrong(
                "reason",
                "On hold. Stabilise it first, or say in a sentence why you override the hold.",
            ));
        }
        reason = Some(typed);
    } else if let Some(at) = treatment.sorbated
        && state.now.days_since(at) < 1.0
    {
        lines.insert(
            0,
            line(
                LineTone::Watch,
                "Stabilised less than a day ago: wait 24 to 48 hours.",
            ),
        );
    }
    lines.extend(brimful(vessel, mixture.volume, settings.units).map(|t| line(LineTone::Watch, t)));
    lines.push(line(LineTone::Watch, cautions::HONEY));
    let deed = handling::sweeten_deed(
        dossier,
        vessel.id,
        &state.supplies.pantry,
        state.now,
        (name, mass),
        reason,
    );
    Ok(Outcome {
        lines,
        deed: wants.is_none().then_some(deed),
        wants,
    })
}
