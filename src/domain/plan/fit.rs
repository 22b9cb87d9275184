use super::{Filler, Outcome, Plan};
use crate::domain::records::{Routine, StepKind, StepRule, UnitSystem};
use crate::domain::units::{GRAMS_PER_POUND, Grams, LITRES_PER_US_GALLON, Litres};

/// A mass for people, in their units.
pub(crate) fn mass(grams: Grams, units: UnitSystem) -> String {
    let g = grams.get();
    match units {
        UnitSystem::Us if g >= 225.0 => format!("{:.2} lb", g / GRAMS_PER_POUND),
        UnitSystem::Metric if g >= 1000.0 => format!("{:.2} kg", g / 1000.0),
        _ if g >= 100.0 => format!("{g:.0} g"),
        _ => format!("{g:.1} g"),
    }
}

/// A volume for people, in their units.
pub(crate) fn volume(litres: Litres, units: UnitSystem) -> String {
    match units {
        UnitSystem::Us => format!("{:.2} gal", litres.get() / LITRES_PER_US_GALLON),
        UnitSystem::Metric => format!("{:.2} L", litres.get()),
    }
}

/// The steps of a routine with this batch's amounts in the place of the
/// routine's own words: the must, each feeding, the bottles. A step whose
/// amount the plan knows nothing of keeps its words.
pub fn fitted(
    routine: &Routine,
    plan: &Plan,
    outcome: &Outcome,
    units: UnitSystem,
) -> Vec<StepRule> {
    routine
        .steps
        .iter()
        .map(|rule| {
            let amount = match rule.kind {
                StepKind::Mix => Some(must_in_words(plan, outcome, units)),
                kind if kind.feeds() && !outcome.fed.portions.is_empty() => {
                    Some(outcome.fed.each_in_words())
                }
                StepKind::Bottle => Some(bottles_in_words(plan, outcome)),
                _ => None,
            };
            let other = (plan.volume.get() / routine.volume.get().max(1e-9) - 1.0).abs() > 0.05;
            let title = if rule.kind == StepKind::Mix && other {
                format!("mix the must, made up to {}", volume(plan.volume, units))
            } else {
                rule.title.clone()
            };
            StepRule {
                title,
                amount: amount.unwrap_or_else(|| rule.amount.clone()),
                ..rule.clone()
            }
        })
        .collect()
}

fn must_in_words(plan: &Plan, outcome: &Outcome, units: UnitSystem) -> String {
    let mut all: Vec<String> = plan
        .parts
        .iter()
        .filter(|p| p.mass.get() > 0.0)
        .map(|p| format!("{} {}", mass(p.mass, units), p.name))
        .collect();
    if plan.filler == Filler::Water {
        all.push(format!("{} water", volume(outcome.water_volume, units)));
    }
    format!("{}, to {}", all.join(", "), volume(plan.volume, units))
}

fn bottles_in_words(plan: &Plan, outcome: &Outcome) -> String {
    format!(
        "{} bottles of {:.0} mL",
        outcome.bottles,
        plan.bottling.size.get() * 1000.0
    )
}
