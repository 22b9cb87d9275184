use crate::domain::records::{Dossier, Event, EventKind, VesselId};
use crate::domain::sums::sulfite::{ACID_IN_SORBATE, SO2_IN_POTASSIUM, SO2_IN_SODIUM};
use crate::domain::units::{Litres, MilligramsPerLitre, Moment};
use crate::engine::facts;

/// What was added to make a batch safe or sweet, as the ledger tells it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Treatment {
    /// All sulfite given so far, as SO2 in today's volume: the total if none
    /// had been lost, the safe side against the legal limit.
    pub total_so2: f64,
    /// When sulfite was last given.
    pub sulfited: Option<Moment>,
    /// All sorbate given so far, as sorbic acid, mg/L.
    pub sorbic_acid: f64,
    /// When sorbate was last given.
    pub sorbated: Option<Moment>,
    /// When it was last sweetened with something that ferments.
    pub sweetened: Option<Moment>,
    /// When sugar for gas was given.
    pub primed: Option<Moment>,
    /// A dose was written down without its mass, so the totals are too low.
    pub unweighed: bool,
}

impl Treatment {
    /// Sulfite and sorbate are both in: sugar that is added should stay sugar.
    pub fn stabilised(&self) -> bool {
        self.sulfited.is_some() && self.sorbated.is_some()
    }

    /// Total SO2, for sums that take it as a quantity.
    pub fn so2(&self) -> MilligramsPerLitre {
        MilligramsPerLitre::clamped(self.total_so2)
    }
}

/// Substances that sweeten without fermenting (common practice, no source).
const UNFERMENTABLE: &[&str] = &[
    "xylitol",
    "erythritol",
    "stevia",
    "sucralose",
    "saccharin",
    "lactose",
];

fn so2_share(substance: &str) -> f64 {
    if substance.to_lowercase().contains("sodium") {
        SO2_IN_SODIUM
    } else {
        SO2_IN_POTASSIUM
    }
}

fn ferments(substance: &str) -> bool {
    let name = substance.to_lowercase();
    !UNFERMENTABLE.iter().any(|s| name.contains(s))
}

/// Reads the ledger for what was added up to `now` to what lies in a vessel,
/// or to all of a batch where none is named. Volume: that of today, by the
/// open stays, else as pitched.
pub fn treatment(dossier: &Dossier, vessel: Option<VesselId>, now: Moment) -> Treatment {
    let stay = dossier
        .stays
        .iter()
        .find(|s| s.to.is_none() && Some(s.vessel) == vessel);
    let litres = stay
        .and_then(|s| s.volume)
        .or_else(|| volume_now(dossier))
        .map(Litres::get);
    let here = |e: &&Event| {
        e.at <= now
            && e.vessel
                .is_none_or(|v| facts::belongs_to(dossier, v, e.at, vessel))
    };
    let per_litre = |event: &Event, share: f64| {
        let grams = event.mass?.get();
        litres
            .filter(|l| *l > 0.0)
            .map(|l| grams * share * 1000.0 / l)
    };
    let mut found = Treatment::default();
    for event in dossier.events.iter().filter(here) {
        match event.kind {
            EventKind::Sulfite => {
                found.sulfited = Some(event.at);
                match per_litre(event, so2_share(&event.substance)) {
                    Some(mg) => found.total_so2 += mg,
                    None => found.unweighed = true,
                }
            }
            EventKind::Sorbate => {
                found.sorbated = Some(event.at);
                match per_litre(event, ACID_IN_SORBATE) {
                    Some(mg) => found.sorbic_acid += mg,
                    None => found.unweighed = true,
                }
            }
            EventKind::Sweeten if ferments(&event.substance) => found.sweetened = Some(event.at),
            EventKind::Prime => found.primed = Some(event.at),
            _ => {}
        }
    }
    found
}

/// Volume that lies in one vessel of a batch, else of all of it.
pub fn volume_in(dossier: &Dossier, vessel: VesselId) -> Option<Litres> {
    dossier.volume(Some(vessel))
}

/// Volume of a batch now: its open stays added up, else as pitched.
pub fn volume_now(dossier: &Dossier) -> Option<Litres> {
    dossier.volume(None)
}
