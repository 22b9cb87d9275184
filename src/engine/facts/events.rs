//! What happened to a batch, as the engine takes it.

use super::{belongs_to, healthy_end};
use crate::domain::records::{Dossier, Event, EventKind, Stay, VesselId};
use crate::domain::sums::alcohol;
use crate::domain::sums::blend::{self, Lot};
use crate::domain::sums::nitrogen::Nutrient;
use crate::domain::units::{
    Abv, Grams, GramsPerLitre, Gravity, GravityDelta, Litres, MilligramsPerLitre, Moment, Share,
};
use crate::engine::{Event as EngineEvent, EventKind as Happened, Facts};

/// A drink that is poured in with this share of its sugar gone counts as ended:
/// what it still holds stays. Common practice, no source: sweet meads end at
/// two thirds of the way to dryness, a must that is poured in is at its start.
const ENDED: f64 = 0.6;

/// What is known of the drink to which something happened.
pub(super) struct Before<'a> {
    pub(super) dossier: &'a Dossier,
    pub(super) vessel: Option<VesselId>,
    pub(super) og: Option<Gravity>,
    pub(super) gravities: &'a [(Moment, Gravity)],
}

impl Before<'_> {
    pub(super) fn events(&self, now: Moment) -> Vec<EngineEvent> {
        let mut sorbate = false;
        let mut sulfite = false;
        let mut out = Vec::new();
        let here = |e: &&Event| {
            e.at <= now
                && e.vessel
                    .is_none_or(|v| belongs_to(self.dossier, v, e.at, self.vessel))
        };
        for event in self.dossier.events.iter().filter(here) {
            let at = event.at;
            out.extend(self.thinned(event).map(|kind| EngineEvent { at, kind }));
            if let Some(kind) = self.happened(event) {
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

    fn happened(&self, event: &Event) -> Option<Happened> {
        Some(match event.kind {
            EventKind::Feed => Happened::Nutrient {
                yan: event
                    .mass
                    .zip(self.dossier.batch.volume)
                    .and_then(|(m, v)| nitrogen(&event.substance, m, v)),
            },
            kind if sweetens(kind) => Happened::SugarAdded {
                rise: event.mass.and_then(|m| self.rise(event, m)),
            },
            EventKind::Fruit => Happened::FruitAdded { rise: None },
            EventKind::Water => self.diluted(event)?,
            EventKind::TopUp | EventKind::Blend => match self.blended(event) {
                Some(blended) => blended,
                None if event.substance.to_lowercase().contains("water") => self.diluted(event)?,
                // A like drink, as far as is known: it changes nothing.
                None => return None,
            },
            EventKind::Rack => Happened::Racked,
            EventKind::Degas | EventKind::Rouse => Happened::Roused,
            EventKind::Pitch => {
                let first = self.dossier.batch.pitched?;
                if event.at.days_since(first) < 1.0 {
                    return None;
                }
                Happened::Repitched
            }
            EventKind::Sulfite => Happened::Sulfited,
            _ => return None,
        })
    }

    /// The drink's gravity when something went in, as last read.
    fn gravity(&self, at: Moment) -> Option<Gravity> {
        self.gravities
            .iter()
            .rev()
            .find(|(t, _)| *t <= at)
            .map(|(_, g)| *g)
            .or(self.og)
    }

    /// Dissolved sugar takes its room: first the drink is thinned by it.
    fn thinned(&self, event: &Event) -> Option<Happened> {
        if !sweetens(event.kind) {
            return None;
        }
        let factor = self.swelling(event, event.mass?)?;
        Some(Happened::Diluted { factor })
    }

    /// Volume after over volume before some sugar was dissolved.
    fn swelling(&self, event: &Event, mass: Grams) -> Option<f64> {
        let before = volume_before(self.dossier, event).filter(|v| v.get() > 0.0)?;
        let more = blend::swelling(before, mass, blend::solids(&event.substance));
        (more.get() > 0.0).then(|| 1.0 + more.get() / before.get())
    }

    /// Rise of gravity by dissolved sugar, by mass, beyond the thinning.
    fn rise(&self, event: &Event, mass: Grams) -> Option<GravityDelta> {
        let volume = volume_before(self.dossier, event).filter(|v| v.get() > 0.0)?;
        let gravity = self.gravity(event.at).unwrap_or(Gravity::known(1.0));
        let alcohol = self
            .og
            .and_then(|og| alcohol::by_volume(og, gravity).ok())
            .filter(|a| a.get() <= 25.0)
            .unwrap_or(Abv::known(0.0));
        let drink = Lot::new(volume, gravity, alcohol, GramsPerLitre::known(0.0)).ok()?;
        let sweet = Lot::sweetener(mass, blend::solids(&event.substance));
        let after = drink.with(sweet).seen().ok()?;
        let factor = self.swelling(event, mass).unwrap_or(1.0);
        let thinned = 1.0 + (gravity.get() - 1.0) / factor;
        Some(GravityDelta::clamped(after.gravity.get() - thinned))
    }

    fn diluted(&self, event: &Event) -> Option<Happened> {
        let added = event.volume?.get();
        let before = volume_before(self.dossier, event)?.get();
        (added > 0.0 && before > 0.0).then(|| Happened::Diluted {
            factor: (before + added) / before,
        })
    }

    fn blended(&self, event: &Event) -> Option<Happened> {
        let added = event.volume?.get();
        let before = volume_before(self.dossier, event)?.get();
        let (gravity, alcohol) = (event.gravity?, event.alcohol?);
        (added > 0.0 && before > 0.0).then(|| Happened::Blended {
            share: Share::clamped(added / (before + added)),
            gravity,
            original: alcohol::original(gravity, alcohol).unwrap_or(gravity),
        })
    }
}

/// Where the drink should end after all that was poured in: what sweetens a
/// stabilised drink stays, and a blend ends between the two.
pub(super) fn end_after(facts: &Facts) -> Option<Gravity> {
    let mut end = healthy_end(facts)?.get();
    let mut stabilised = false;
    let mut moved = false;
    for event in &facts.events {
        end = match event.kind {
            Happened::Stabilised => {
                stabilised = true;
                continue;
            }
            Happened::SugarAdded { rise: Some(rise) } if stabilised => end + rise.get(),
            Happened::Diluted { factor } if factor > 1.0 => 1.0 + (end - 1.0) / factor,
            Happened::Blended {
                share,
                gravity,
                original,
            } => {
                let other = if stabilised || has_ended(gravity, original) {
                    gravity.get()
                } else {
                    gravity.get().min(end)
                };
                end + share.get() * (other - end)
            }
            _ => continue,
        };
        moved = true;
    }
    if moved {
        Some(Gravity::clamped(end))
    } else {
        facts.expected_fg
    }
}

/// Whether a drink that is poured in will not ferment on by itself.
fn has_ended(gravity: Gravity, original: Gravity) -> bool {
    let whole = original.get() - 0.998;
    whole > 0.0 && (original.get() - gravity.get()) / whole >= ENDED
}

/// How much lay there before something went in: the volume of the stay, less
/// what went in then and since.
fn volume_before(dossier: &Dossier, event: &Event) -> Option<Litres> {
    let there = |s: &&Stay| {
        event.vessel.is_none_or(|v| v == s.vessel)
            && s.from <= event.at
            && s.to.is_none_or(|to| event.at <= to)
    };
    let mut stays = dossier.stays.iter().rev().filter(there);
    let Some(stay) = stays.next() else {
        return dossier.batch.volume;
    };
    if event.vessel.is_none() && stays.next().is_some() {
        return dossier.batch.volume;
    }
    let Some(volume) = stay.volume else {
        return dossier.batch.volume;
    };
    let since: f64 = dossier
        .events
        .iter()
        .filter(|e| e.at >= event.at && stay.covers(e.at) && e.vessel == Some(stay.vessel))
        .filter(|e| goes_in(e.kind))
        .filter_map(|e| e.volume)
        .map(Litres::get)
        .sum();
    let before = volume.get() - since;
    Some(if before > 0.0 {
        Litres::clamped(before)
    } else {
        volume
    })
}

fn sweetens(kind: EventKind) -> bool {
    matches!(
        kind,
        EventKind::Sugar | EventKind::Sweeten | EventKind::Prime
    )
}

/// What makes a stay's volume grow.
fn goes_in(kind: EventKind) -> bool {
    matches!(
        kind,
        EventKind::Sugar
            | EventKind::Sweeten
            | EventKind::Prime
            | EventKind::Water
            | EventKind::TopUp
            | EventKind::Fruit
            | EventKind::Blend
    )
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
