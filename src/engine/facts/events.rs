//! What happened to a batch, as the engine takes it.

use crate::domain::records::{Dossier, Event, EventKind};
use crate::domain::sums::nitrogen::Nutrient;
use crate::domain::units::{Grams, GravityDelta, Litres, MilligramsPerLitre, Moment};
use crate::engine::{Event as EngineEvent, EventKind as Happened};

pub(super) fn events(dossier: &Dossier, now: Moment) -> Vec<EngineEvent> {
    let volume = dossier.batch.volume;
    let mut sorbate = false;
    let mut sulfite = false;
    let mut out = Vec::new();
    for event in dossier.events.iter().filter(|e| e.at <= now) {
        if let Some(kind) = happened(dossier, event, volume) {
            out.push(EngineEvent { at: event.at, kind });
        }
        sorbate |= event.kind == EventKind::Sorbate;
        sulfite |= event.kind == EventKind::Sulfite;
        if sorbate && sulfite && matches!(event.kind, EventKind::Sorbate | EventKind::Sulfite) {
            out.push(EngineEvent {
                at: event.at,
                kind: Happened::Stabilised,
            });
        }
    }
    out
}

fn happened(dossier: &Dossier, event: &Event, volume: Option<Litres>) -> Option<Happened> {
    Some(match event.kind {
        EventKind::Feed => Happened::Nutrient {
            yan: event
                .mass
                .zip(volume)
                .and_then(|(m, v)| nitrogen(&event.substance, m, v)),
        },
        EventKind::Sugar | EventKind::Sweeten | EventKind::Prime => Happened::SugarAdded {
            rise: event
                .mass
                .zip(volume)
                .map(|(m, v)| rise(sugar_share(&event.substance), m, v)),
        },
        EventKind::Fruit => Happened::FruitAdded { rise: None },
        EventKind::Water | EventKind::TopUp => {
            let (added, before) = (event.volume?.get(), volume?.get());
            if added <= 0.0 || before <= 0.0 {
                return None;
            }
            Happened::Diluted {
                factor: (before + added) / before,
            }
        }
        EventKind::Rack => Happened::Racked,
        EventKind::Degas | EventKind::Rouse => Happened::Roused,
        EventKind::Pitch => {
            let first = dossier.batch.pitched?;
            if event.at.days_since(first) < 1.0 {
                return None;
            }
            Happened::Repitched
        }
        EventKind::Sulfite => Happened::Sulfited,
        _ => return None,
    })
}

/// Nitrogen that a nutrient brought, where its name tells its class.
fn nitrogen(substance: &str, mass: Grams, volume: Litres) -> Option<MilligramsPerLitre> {
    let word = substance.to_lowercase();
    let per_gram = if word.contains("dap") || word.contains("ammonium") {
        Nutrient::Dap.nitrogen()
    } else if word.contains("hull") {
        0.0
    } else if word.contains("yeast-derived") || word.contains("organic") {
        Nutrient::Organic.nitrogen()
    } else if word.contains("complex") {
        Nutrient::Complex.nitrogen()
    } else {
        return None;
    };
    (volume.get() > 0.0).then(|| MilligramsPerLitre::clamped(per_gram * mass.get() / volume.get()))
}

/// Sugar in a gram: honey holds about 17.2 % water (White and others, Composition of
/// American Honeys, 1962); anything else counts as dry sugar.
fn sugar_share(substance: &str) -> f64 {
    if substance.to_lowercase().contains("honey") {
        0.828
    } else {
        1.0
    }
}

/// Rise of gravity by dissolved sugar: 0.000385 per g/L (10 % by mass is 104 g/L
/// at SG 1.040, after the sucrose table).
fn rise(share: f64, mass: Grams, volume: Litres) -> GravityDelta {
    if volume.get() <= 0.0 {
        return GravityDelta::known(0.0);
    }
    GravityDelta::clamped(0.000_385 * share * mass.get() / volume.get())
}
