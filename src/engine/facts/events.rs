//! What happened to a batch, as the engine takes it.

use super::additions::{Addition, Receiving, Way};
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

/// Hours after the pitch within which a line of the start day still makes the
/// must (common practice, no source).
const START_HOURS: f64 = 12.0;

/// What is known of the drink to which something happened.
pub(super) struct Before<'a> {
    pub(super) dossier: &'a Dossier,
    pub(super) vessel: Option<VesselId>,
    pub(super) og: Option<Gravity>,
    /// When the original gravity was read, where it was.
    pub(super) og_read: Option<Moment>,
    pub(super) gravities: &'a [(Moment, Gravity)],
}

impl Before<'_> {
    /// What went into the drink that lies here, up to a moment, oldest first: what
    /// made the must is none of it.
    pub(super) fn additions(&self, now: Moment) -> Vec<Addition> {
        let mut all: Vec<Addition> = self.entries(now).filter_map(|e| self.addition(e)).collect();
        all.sort_by_key(|a| a.at);
        all
    }

    fn entries(&self, now: Moment) -> impl Iterator<Item = &Event> {
        self.dossier.events.iter().filter(move |e| {
            e.at <= now
                && e.vessel
                    .is_none_or(|v| belongs_to(self.dossier, v, e.at, self.vessel))
        })
    }

    fn addition(&self, event: &Event) -> Option<Addition> {
        if self.makes_the_must(event) {
            return None;
        }
        let gravity = self.gravity(event.at);
        let alcohol = self
            .og
            .zip(gravity)
            .and_then(|(og, now)| alcohol::by_volume(og, if now < og { now } else { og }).ok());
        Addition::of(
            event,
            Receiving {
                style: self.dossier.batch.style,
                gravity,
                alcohol,
                volume: volume_before(self.dossier, event).filter(|v| v.get() > 0.0),
            },
        )
    }

    /// Whether an entry tells of mixing the must: it came before the yeast or
    /// before the original gravity was read. A line of the start day that is
    /// ticked later that day does too; it belongs to no step and names no drink.
    fn makes_the_must(&self, event: &Event) -> bool {
        let Some(pitched) = self.dossier.batch.pitched else {
            return true;
        };
        let line = matches!(
            event.kind,
            EventKind::Water | EventKind::Sugar | EventKind::Fruit
        ) && event.step.is_none()
            && event.gravity.is_none();
        event.at <= pitched
            || self.og_read.is_some_and(|read| event.at <= read)
            || line && event.at.days_since(pitched) < START_HOURS / 24.0
    }

    pub(super) fn events(&self, now: Moment) -> Vec<EngineEvent> {
        let mut sorbate = false;
        let mut sulfite = false;
        let mut out = Vec::new();
        for event in self.entries(now) {
            let at = event.at;
            let mut push = |kind| out.push(EngineEvent { at, kind });
            if let Some(addition) = self.addition(event) {
                self.added(&addition).into_iter().for_each(&mut push);
            } else if let Some(kind) = self.happened(event) {
                push(kind);
            }
            sorbate |= event.kind == EventKind::Sorbate;
            sulfite |= event.kind == EventKind::Sulfite;
            if sorbate && sulfite && matches!(event.kind, EventKind::Sorbate | EventKind::Sulfite) {
                push(Happened::Stabilised);
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

    /// What an addition does to gravity, as the inference takes it.
    fn added(&self, addition: &Addition) -> Vec<Happened> {
        let before = addition.before.map(Litres::get);
        match addition.way {
            Way::Water(volume) => before
                .map(|before| Happened::Diluted {
                    factor: (before + volume.get()) / before,
                })
                .into_iter()
                .collect(),
            // Dissolved sugar takes its room: first the drink is thinned by it.
            Way::Dissolved(mass, solids) => {
                let factor = addition.before.map_or(1.0, |v| swelling(v, mass, solids));
                let thinned = (factor > 1.0).then_some(Happened::Diluted { factor });
                let rise = self.rise(addition, factor);
                thinned
                    .into_iter()
                    .chain([Happened::SugarAdded { rise }])
                    .collect()
            }
            Way::Poured {
                volume,
                gravity,
                alcohol,
            } => before
                .map(|before| Happened::Blended {
                    share: Share::clamped(volume.get() / (before + volume.get())),
                    gravity,
                    original: alcohol::original(gravity, alcohol).unwrap_or(gravity),
                })
                .into_iter()
                .collect(),
            // What fruit gives is read off the gravities, as soon as there is one.
            Way::Fruit => {
                let read = self.gravities.iter().any(|(at, _)| *at > addition.at);
                let rise = (!read).then(|| self.rise(addition, 1.0)).flatten();
                vec![Happened::FruitAdded { rise }]
            }
            Way::Unclear => vec![Happened::SugarAdded { rise: None }],
        }
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

    /// Rise of gravity by what went in, by mass, beyond the thinning.
    fn rise(&self, addition: &Addition, factor: f64) -> Option<GravityDelta> {
        let volume = addition.before?;
        let gravity = self.gravity(addition.at).unwrap_or(Gravity::known(1.0));
        let alcohol = self
            .og
            .and_then(|og| alcohol::by_volume(og, gravity).ok())
            .filter(|a| a.get() <= 25.0)
            .unwrap_or(Abv::known(0.0));
        let drink = Lot::new(volume, gravity, alcohol, GramsPerLitre::known(0.0)).ok()?;
        let after = drink.with(addition.lot).seen().ok()?;
        let thinned = 1.0 + (gravity.get() - 1.0) / factor;
        Some(GravityDelta::clamped(after.gravity.get() - thinned))
    }
}

/// Volume after over volume before some sugar was dissolved.
fn swelling(before: Litres, mass: Grams, solids: Share) -> f64 {
    1.0 + blend::swelling(before, mass, solids).get() / before.get().max(1e-9)
}

/// Where the drink should end after all that went in: what sweetens a stabilised
/// drink stays, and a blend ends between the two. That sugar may pass the yeast's
/// tolerance counts for nothing: on the safe side, yeast takes all of it.
pub(super) fn end_after(facts: &Facts) -> Option<Gravity> {
    let mut end = healthy_end(facts)?.get();
    let mut stabilised = false;
    let mut moved = false;
    for event in &facts.events {
        match event.kind {
            Happened::Stabilised => {
                stabilised = true;
                continue;
            }
            Happened::SugarAdded { rise: Some(rise) }
            | Happened::FruitAdded { rise: Some(rise) } => {
                if !stabilised {
                    continue;
                }
                end += rise.get();
            }
            Happened::Diluted { factor } if factor > 1.0 => {
                end = 1.0 + (end - 1.0) / factor;
            }
            Happened::Blended {
                share,
                gravity,
                original: began,
            } => {
                let other = if stabilised || has_ended(gravity, began) {
                    gravity.get()
                } else {
                    gravity.get().min(end)
                };
                end += share.get() * (other - end);
            }
            _ => continue,
        }
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
pub(crate) fn volume_before(dossier: &Dossier, event: &Event) -> Option<Litres> {
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
