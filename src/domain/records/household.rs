use super::{
    Batch, BatchId, Event, Instrument, Lot, Place, PlaceId, Reading, Settings, Stay, Step, Vessel,
    VesselId,
};
use crate::domain::units::{Litres, Moment};
use serde::{Deserialize, Serialize};

/// Everything known of one batch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Dossier {
    /// The batch.
    pub batch: Batch,
    /// Where it lay, oldest first.
    pub stays: Vec<Stay>,
    /// Readings of the vessels while it lay in them, oldest first. Dense
    /// logger data comes thinned; see `store::samples`.
    pub readings: Vec<Reading>,
    /// Temperatures of the places its vessels stood in, oldest first.
    pub place_readings: Vec<Reading>,
    /// Other entries, oldest first.
    pub events: Vec<Event>,
    /// Its steps, in order.
    pub steps: Vec<Step>,
    /// Bottles filled from it.
    pub lots: Vec<Lot>,
}

impl Dossier {
    /// Vessels it lies in now.
    pub fn vessels(&self) -> impl Iterator<Item = VesselId> + '_ {
        self.stays
            .iter()
            .filter(|s| s.to.is_none())
            .map(|s| s.vessel)
    }

    /// Volume in one of its vessels; of all of it where none is named or the
    /// vessel's own is not known.
    pub fn volume(&self, vessel: Option<VesselId>) -> Option<Litres> {
        let open = || self.stays.iter().filter(|s| s.to.is_none());
        let here = vessel.and_then(|v| open().find(|s| s.vessel == v)?.volume);
        let sum: Option<f64> = open().map(|s| s.volume.map(Litres::get)).sum();
        here.or(match sum {
            Some(litres) if litres > 0.0 => Some(Litres::clamped(litres)),
            _ => self.batch.volume,
        })
    }
}

/// What the morning needs: all that is not closed.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Household {
    /// Choices.
    pub settings: Settings,
    /// Places.
    pub places: Vec<Place>,
    /// Vessels, retired ones too.
    pub vessels: Vec<Vessel>,
    /// Instruments.
    pub instruments: Vec<Instrument>,
    /// Batches that are planned, in a vessel, or in bottles with something due.
    pub dossiers: Vec<Dossier>,
    /// Number of the last change in the store; grows with every change.
    pub revision: i64,
    /// When the last change was written.
    pub last_entry: Option<Moment>,
}

/// Returns when the last entry was made, where the clock is behind that by more than a day:
/// then the clock is wrong, now or at that time.
pub fn clock_behind(last_entry: Option<Moment>, now: Moment) -> Option<Moment> {
    last_entry.filter(|last| last.days_since(now) > 1.0)
}

impl Household {
    /// The vessel with that row number.
    pub fn vessel(&self, id: VesselId) -> Option<&Vessel> {
        // Numbers are given in order: most often it stands where its number says.
        let likely = usize::try_from(id.0 - 1).ok();
        likely
            .and_then(|at| self.vessels.get(at))
            .filter(|v| v.id == id)
            .or_else(|| self.vessels.iter().find(|v| v.id == id))
    }

    /// The vessel with that tag, without regard to case.
    pub fn vessel_by_tag(&self, tag: &str) -> Option<&Vessel> {
        let tag = tag.trim();
        self.vessels
            .iter()
            .find(|v| v.tag.eq_ignore_ascii_case(tag))
    }

    /// The place with that row number.
    pub fn place(&self, id: PlaceId) -> Option<&Place> {
        self.places.iter().find(|p| p.id == id)
    }

    /// The dossier of that batch.
    pub fn dossier(&self, id: BatchId) -> Option<&Dossier> {
        self.dossiers.iter().find(|d| d.batch.id == id)
    }

    /// What lies in that vessel now.
    pub fn in_vessel(&self, id: VesselId) -> Option<&Dossier> {
        self.dossiers.iter().find(|d| d.vessels().any(|v| v == id))
    }
}
