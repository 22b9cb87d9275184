//! What comes of a job before it is done, and the deed that it becomes.

use super::form::{others, targets};
use super::treat::{stabilise, sweeten};
use super::{Job, here};
use crate::app::form::Form;
use crate::app::panel::{Line, LineTone, Wrong, line, wrong};
use crate::app::state::State;
use crate::app::{cautions, measure, say};
use crate::domain::deeds::Deed;
use crate::domain::records::{Dossier, Stage, UnitSystem, Vessel, VesselKind};
use crate::domain::sums::blend::Seen;
use crate::domain::units::{Litres, Share};
use crate::engine::handling::{self, Drink};

/// What comes of it.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// For the maker.
    pub lines: Vec<Line>,
    /// What is done; none while something is wanted first.
    pub deed: Option<Deed>,
    /// What is wanted first.
    pub wants: Option<Wrong>,
}

pub(super) fn fine(lines: Vec<Line>, deed: Deed) -> Outcome {
    Outcome {
        lines,
        deed: Some(deed),
        wants: None,
    }
}

/// What comes of what stands in the form.
pub fn outcome(state: &State) -> Result<Outcome, Wrong> {
    let gone = || wrong("job", "This vessel is empty now.");
    let (dossier, vessel, drink) = here(state).ok_or_else(gone)?;
    let account = state.chosen_row().ok_or_else(gone)?;
    let form = &state.handling.form;
    match state.handling.job() {
        Job::Rack => rack(state, form, dossier, vessel, &drink, false),
        Job::Split => rack(state, form, dossier, vessel, &drink, true),
        Job::Blend => blend(state, form, dossier, vessel, &drink),
        Job::TopUp => top_up(state, form, dossier, vessel, &drink),
        Job::Stabilise => stabilise(state, form, (dossier, account), vessel, &drink),
        Job::Sweeten => sweeten(state, form, (dossier, account), vessel, &drink),
    }
}

fn volume(form: &Form, units: UnitSystem) -> Result<Litres, Wrong> {
    let v = measure::volume(form.value("volume"), units).map_err(|e| wrong("volume", e))?;
    if v.get() <= 0.0 {
        return Err(wrong("volume", "0 changes nothing: say how much."));
    }
    Ok(v)
}

pub(super) fn sum(key: &'static str, why: &impl ToString) -> Wrong {
    let text = why.to_string();
    let mut chars = text.chars();
    let head = chars.next().map(|c| c.to_uppercase().to_string());
    wrong(
        key,
        format!("{}{}.", head.unwrap_or_default(), chars.as_str()),
    )
}

fn rack(
    state: &State,
    form: &Form,
    dossier: &Dossier,
    from: &Vessel,
    drink: &Drink,
    split: bool,
) -> Result<Outcome, Wrong> {
    let units = state.settings().units;
    let all = targets(state);
    let to = *all
        .get(form.chosen("to"))
        .ok_or_else(|| wrong("to", "No vessel is free: empty and clean one first."))?;
    let arrived = volume(form, units)?;
    if let Some(had) = drink.volume
        && arrived.get() > had.get() * 1.001
    {
        let said = say::volume(had, units);
        return Err(wrong("volume", format!("Only {said} lie in {}.", from.tag)));
    }
    let there = dossier
        .stays
        .iter()
        .find(|s| s.to.is_none() && s.vessel == to.id)
        .and_then(|s| s.volume);
    let racked = handling::rack(
        drink.volume,
        arrived,
        there.unwrap_or(Litres::clamped(0.0)),
        to,
    );
    let mut lines = vec![line(
        LineTone::Title,
        format!("{} into {}", say::volume(arrived, units), to.tag),
    )];
    if split {
        let rest = drink.volume.map_or(0.0, |v| v.get() - arrived.get());
        let rest = say::volume(Litres::clamped(rest), units);
        lines.push(line(
            LineTone::Plain,
            format!("{rest} stay in {}", from.tag),
        ));
    } else {
        let lost = say::volume(racked.lost, units);
        lines.push(line(
            LineTone::Plain,
            format!("{lost} left behind on the lees"),
        ));
    }
    headspace(state, racked.headspace, racked.share, dossier, &mut lines);
    if !to.clean {
        lines.push(line(
            LineTone::Watch,
            format!(
                "{} is not marked clean: clean and sanitise it first.",
                to.tag
            ),
        ));
    }
    if from.kind == VesselKind::Carboy || to.kind == VesselKind::Carboy {
        lines.push(line(LineTone::Watch, cautions::GLASS));
    }
    if racked.headspace < 0.0 {
        return Err(wrong("volume", format!("{} would run over.", to.tag)));
    }
    let note = form.value("note");
    let deed = handling::rack_deed(dossier, from, to, state.now, Some(arrived), split, note);
    Ok(fine(lines, deed))
}

fn headspace(state: &State, litres: f64, share: f64, dossier: &Dossier, lines: &mut Vec<Line>) {
    let units = state.settings().units;
    let room = say::volume(Litres::clamped(litres), units);
    lines.push(line(
        LineTone::Plain,
        format!(
            "headspace {room}, {} of the vessel",
            say::share(Share::clamped(share))
        ),
    ));
    // Air over a drink that no longer makes gas spoils it; 2 to 5 cm is the
    // trade's rule (common practice, no source).
    let quiet = !matches!(dossier.batch.stage, Stage::Fermenting) || finished(state);
    if share > 0.08 && quiet {
        lines.push(line(
            LineTone::Watch,
            "A lot of headspace for a finished batch: top up, or use a smaller vessel.",
        ));
    }
}

fn finished(state: &State) -> bool {
    use crate::engine::State as Doing;
    state
        .chosen_row()
        .is_some_and(|r| matches!(r.state, Doing::Finished | Doing::Resting))
}

/// Gravity, alcohol and volume of a mixture.
pub(super) fn seen(state: &State, seen: &Seen) -> Line {
    let settings = state.settings();
    line(
        LineTone::Title,
        format!(
            "then {} at {}, {} alcohol",
            say::volume(seen.volume, settings.units),
            say::gravity(seen.gravity, settings.gravity),
            say::abv(seen.alcohol)
        ),
    )
}

fn poured(
    state: &State,
    dossier: &Dossier,
    vessel: &Vessel,
    mixture: &Seen,
) -> Result<Vec<Line>, Wrong> {
    let left = vessel.capacity.get() - mixture.volume.get();
    if left < 0.0 {
        return Err(wrong("volume", format!("{} would run over.", vessel.tag)));
    }
    let mut lines = vec![seen(state, mixture)];
    headspace(
        state,
        left,
        left / vessel.capacity.get(),
        dossier,
        &mut lines,
    );
    lines.push(line(
        LineTone::Muted,
        "By mass, after Tabarie's rule. Take a reading once it is mixed; sugar poured in may start to ferment.",
    ));
    Ok(lines)
}

fn blend(
    state: &State,
    form: &Form,
    dossier: &Dossier,
    vessel: &Vessel,
    drink: &Drink,
) -> Result<Outcome, Wrong> {
    let all = others(state);
    let from = *all
        .get(form.chosen("from"))
        .ok_or_else(|| wrong("from", "No other batch lies in a vessel."))?;
    let amount = volume(form, state.settings().units)?;
    let household = state
        .household
        .as_ref()
        .ok_or_else(|| wrong("job", "Nothing was read yet."))?;
    let other = household
        .in_vessel(from.id)
        .ok_or_else(|| wrong("from", "That vessel is empty now."))?;
    let row = state
        .shelf_rows()
        .iter()
        .find(|r| r.vessel == Some(from.id))
        .ok_or_else(|| wrong("from", "That batch is not on the shelf."))?;
    let second = Drink::of(other, row);
    if let Some(had) = second.volume
        && amount.get() > had.get() * 1.001
    {
        let said = say::volume(had, state.settings().units);
        return Err(wrong("volume", format!("Only {said} lie in {}.", from.tag)));
    }
    let mixture = handling::pour(drink, &second, amount).map_err(|e| sum("from", &e))?;
    let mut lines = poured(state, dossier, vessel, &mixture)?;
    lines.insert(
        0,
        line(
            LineTone::Plain,
            format!("'{}' into '{}'", other.batch.name, dossier.batch.name),
        ),
    );
    let deed = Deed::Pour {
        batch: dossier.batch.id,
        vessel: vessel.id,
        from: Some(from.id),
        what: String::new(),
        volume: amount,
        gravity: second.gravity,
        alcohol: second.alcohol,
        at: state.now,
        note: form.value("note").to_owned(),
    };
    Ok(fine(lines, deed))
}

fn top_up(
    state: &State,
    form: &Form,
    dossier: &Dossier,
    vessel: &Vessel,
    drink: &Drink,
) -> Result<Outcome, Wrong> {
    let amount = volume(form, state.settings().units)?;
    let gravity = match form.value("gravity") {
        "" => None,
        typed => Some(measure::gravity(typed).map_err(|e| wrong("gravity", e))?),
    };
    let alcohol = match form.value("alcohol") {
        "" => None,
        typed => Some(measure::alcohol(typed).map_err(|e| wrong("alcohol", e))?),
    };
    let what = form.value("what");
    if what.is_empty() {
        return Err(wrong("what", "Say with what: a similar mead, water."));
    }
    let outside = handling::outside(what, gravity, alcohol).map_err(|e| sum("gravity", &e))?;
    let (other, assumed) = (outside.drink, outside.assumed);
    let mixture = handling::pour(drink, &other, amount).map_err(|e| sum("alcohol", &e))?;
    let mut lines = poured(state, dossier, vessel, &mixture)?;
    if let Some(usual) = other.gravity.filter(|_| assumed) {
        let usual = say::gravity(usual, state.settings().gravity);
        lines.push(line(
            LineTone::Watch,
            format!("{usual} is assumed, usual for {what}: measure it and type its gravity."),
        ));
    }
    let deed = Deed::Pour {
        batch: dossier.batch.id,
        vessel: vessel.id,
        from: None,
        what: what.to_owned(),
        volume: amount,
        // What nobody measured is not written down as measured.
        gravity: other.gravity.filter(|_| !assumed),
        alcohol: other.alcohol.filter(|_| !assumed),
        at: state.now,
        note: form.value("note").to_owned(),
    };
    Ok(fine(lines, deed))
}

pub(super) fn number(form: &Form, key: &'static str, what: &'static str) -> Result<f64, Wrong> {
    measure::amount(form.value(key), what).map_err(|e| wrong(key, e))
}

/// A sentence where a vessel holds less than there will be.
pub fn brimful(vessel: &Vessel, volume: Litres, units: UnitSystem) -> Option<String> {
    let over = volume.get() - vessel.capacity.get();
    (over > 0.005).then(|| {
        format!(
            "{} holds {} less: draw so much off first.",
            vessel.tag,
            say::volume(Litres::clamped(over), units)
        )
    })
}
