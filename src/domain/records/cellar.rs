use super::{Batch, BatchId, Draw, Lot, LotId, Override, Tasting};
use serde::{Deserialize, Serialize};

/// A lot with all that left it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CellarLot {
    /// The batch it was filled from.
    pub batch: Batch,
    /// The lot.
    pub lot: Lot,
    /// What left it, oldest first.
    pub draws: Vec<Draw>,
    /// Holds that were overridden when it was filled.
    #[serde(default)]
    pub overrides: Vec<Override>,
}

impl CellarLot {
    /// Bottles left.
    pub fn left(&self) -> u32 {
        let gone: i64 = self.draws.iter().map(|d| i64::from(d.count)).sum();
        u32::try_from(i64::from(self.lot.count) - gone).unwrap_or(0)
    }
}

/// All bottles, and how they tasted.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Cellar {
    /// Lots, emptied ones too, oldest first.
    pub lots: Vec<CellarLot>,
    /// Tastings, oldest first.
    pub tastings: Vec<Tasting>,
}

impl Cellar {
    /// A lot by its number.
    pub fn lot(&self, id: LotId) -> Option<&CellarLot> {
        self.lots.iter().find(|l| l.lot.id == id)
    }

    /// Lots that still hold bottles.
    pub fn stocked(&self) -> impl Iterator<Item = &CellarLot> {
        self.lots.iter().filter(|l| l.left() > 0)
    }

    /// Lots with bottles left that were filled against a hold.
    pub fn overridden(&self) -> impl Iterator<Item = &CellarLot> {
        self.stocked().filter(|l| !l.overrides.is_empty())
    }

    /// How the drink of a batch tasted, oldest first.
    pub fn tastings_of(&self, batch: BatchId) -> impl Iterator<Item = &Tasting> {
        self.tastings.iter().filter(move |t| t.batch == batch)
    }
}
