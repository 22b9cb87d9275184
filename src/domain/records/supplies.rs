use super::{AwayId, BatchId, PantryDrawId, PantryId, PlaceId, RoomId, StepId, TickId};
use crate::domain::units::{CubicMetres, Grams, Litres, Moment};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// Days on which the maker is not at home.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Away {
    /// Row number.
    pub id: AwayId,
    /// First day away.
    pub from: NaiveDate,
    /// Last day away.
    pub to: NaiveDate,
    /// Free words.
    pub note: String,
    /// Taken off the list by the maker; kept for history.
    pub dropped: bool,
}

impl Away {
    /// Whether the maker is away on that day.
    pub fn covers(&self, day: NaiveDate) -> bool {
        self.from <= day && day <= self.to
    }
}

/// How large a place is, for the air in it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Room {
    /// Row number.
    pub id: RoomId,
    /// Which place.
    pub place: PlaceId,
    /// Its size.
    pub size: CubicMetres,
}

/// Something taken out of the pantry for a batch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PantryDraw {
    /// Row number.
    pub id: PantryDrawId,
    /// Out of which lot.
    pub item: PantryId,
    /// How much, in the lot's unit.
    pub amount: f64,
    /// For which batch.
    pub batch: Option<BatchId>,
    /// By which step.
    pub step: Option<StepId>,
    /// When.
    pub at: Moment,
    /// What for, in words.
    pub why: String,
}

/// A line of a batch's checklist that was done, with the time kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tick {
    /// Row number.
    pub id: TickId,
    /// Whose checklist.
    pub batch: BatchId,
    /// Key of the line.
    pub line: String,
    /// When it was done; none once the tick was taken off again.
    pub at: Option<Moment>,
    /// Mass really used.
    pub mass: Option<Grams>,
    /// Volume really used.
    pub volume: Option<Litres>,
    /// Free words.
    pub note: String,
}
