use super::{Aim, Part, PartKind, Plan, PlanVessel};
use crate::domain::records::{Dossier, EventKind};
use crate::domain::sums::ingredients;
use crate::domain::units::{Grams, Gravity, Litres, Share};

/// The plan for another vessel: all amounts in proportion to the new volume,
/// so that gravity and strength stay. Locks of amounts are lifted, since they
/// were about the old volume.
pub fn scaled(plan: &Plan, vessel: Option<PlanVessel>, volume: Litres) -> Plan {
    let factor = volume.get() / plan.volume.get().max(1e-9);
    let mut to = plan.clone();
    to.volume = volume;
    if vessel.is_some() {
        to.vessel = vessel;
    }
    to.locks.volume = false;
    for part in &mut to.parts {
        part.mass = Grams::clamped(part.mass.get() * factor);
        part.locked = false;
    }
    to
}

/// A plan from a batch as it was made: its ledger's real amounts where there
/// are any, its measured original gravity, its notes. `base` gives what a
/// batch does not keep (nutrients at hand, bottles) and how to read its parts.
pub fn as_made(dossier: &Dossier, measured: Option<Gravity>, base: &Plan) -> Plan {
    let batch = &dossier.batch;
    let mut plan = base.clone();
    plan.name.clone_from(&batch.name);
    plan.style = batch.style;
    plan.variety.clone_from(&batch.variety);
    plan.fizz = batch.fizz;
    if let Some(routine) = &batch.routine {
        plan.routine.clone_from(routine);
    }
    if let Some(volume) = batch.volume {
        plan = scaled(&plan, None, volume);
    }
    if let Some(tolerance) = batch.tolerance {
        plan.yeast.tolerance = tolerance;
    }
    plan.note.clone_from(&batch.note);
    plan.pitch_on = None;
    plan.feast_on = None;
    let made = parts_made(dossier);
    if !made.is_empty() {
        plan.parts = made;
        plan.locks = super::Locks::default();
    }
    let aim = measured.or(batch.planned_og);
    if let Some(og) = aim {
        plan.aim = Aim::Original(og);
        if let Ok(fitted) = plan.change(super::Change::Aim(Aim::Original(og))) {
            plan = fitted;
        }
    }
    plan.aim = plan.aim_as_is();
    plan
}

/// What went in up to the day of pitching, by the ledger.
fn parts_made(dossier: &Dossier) -> Vec<Part> {
    let pitched = dossier.batch.pitched.map(|p| p.plus_days(1.0));
    dossier
        .events
        .iter()
        .filter(|e| pitched.is_none_or(|p| e.at <= p))
        .filter_map(|e| {
            let mass = e.mass?;
            match e.kind {
                EventKind::Sugar | EventKind::Fruit => Some(part_named(&e.substance, mass)),
                _ => None,
            }
        })
        .collect()
}

/// The ingredient that a ledger's words mean: the one with that key or name,
/// else the first whose name stands in them, else dry sugar of that name.
fn part_named(words: &str, mass: Grams) -> Part {
    let low = words.trim().to_lowercase();
    let table = ingredients::table();
    let exact = table.iter().find(|i| i.key == low || i.name == low);
    let near = || table.iter().find(|i| low.contains(i.name.as_str()));
    match exact.or_else(near).and_then(|i| Part::of(i, mass)) {
        Some(part) => Part {
            name: words.trim().to_owned(),
            ..part
        },
        None => Part::own(words.trim(), PartKind::Sugar, mass, Share::known(1.0)),
    }
}
