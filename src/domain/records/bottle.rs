use super::{BatchId, DrawId, LotId, PlaceId, TastingId, words};
use crate::domain::units::{Litres, Moment};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

words! {
    /// Class of a bottle by what gas it bears. Ceilings stand in `sums::bottles`.
    BottleClass {
        /// Sound crown-cap beer bottle.
        Crown = "crown-cap beer bottle",
        /// Heavy beer or pressure swing-top bottle.
        Heavy = "heavy or swing-top bottle",
        /// Plastic drink bottle.
        Plastic = "plastic drink bottle",
        /// Sparkling-wine bottle, new.
        SparklingNew = "sparkling-wine bottle, new",
        /// Sparkling-wine bottle, used before.
        SparklingUsed = "sparkling-wine bottle, reused",
        /// Still-wine bottle, jar, jug, decorative or unknown glass: never primed.
        NoPressure = "still-wine bottle, jar or jug",
    }
}

/// Bottles of one size filled from one batch on one day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Lot {
    /// Row number.
    pub id: LotId,
    /// From which batch.
    pub batch: BatchId,
    /// Class.
    pub class: BottleClass,
    /// Volume of one.
    pub size: Litres,
    /// How many were filled.
    pub count: u32,
    /// Clear glass lets light in.
    pub clear_glass: bool,
    /// Where they lie.
    pub place: PlaceId,
    /// When.
    pub bottled: Moment,
    /// From when on they are good.
    pub ready_from: Option<NaiveDate>,
    /// Until when.
    pub drink_by: Option<NaiveDate>,
    /// Free words.
    pub note: String,
}

words! {
    /// How bottles leave a lot.
    DrawKind {
        /// Drunk.
        Drunk = "drunk",
        /// Given away.
        Given = "given",
        /// Broken or burst.
        Broken = "broken",
        /// Counted and found missing (or more, with a negative count).
        Counted = "counted",
    }
}

/// Bottles that left a lot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Draw {
    /// Row number.
    pub id: DrawId,
    /// From which lot.
    pub lot: LotId,
    /// How many; negative only for a recount that found more.
    pub count: i32,
    /// How.
    pub kind: DrawKind,
    /// When.
    pub at: Moment,
    /// To whom, if the maker wants to say.
    pub whom: String,
    /// Free words.
    pub note: String,
}

/// What a bottle was like.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tasting {
    /// Row number.
    pub id: TastingId,
    /// Of which batch.
    pub batch: BatchId,
    /// Of which lot, when it was a bottle.
    pub lot: Option<LotId>,
    /// When.
    pub at: Moment,
    /// Smell, taste, balance, body, finish: 1 (poor) to 5 (lovely) each.
    pub marks: [u8; 5],
    /// Free words.
    pub words: String,
}
