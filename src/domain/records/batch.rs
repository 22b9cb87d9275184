use super::{BatchId, StayId, VesselId, words};
use crate::domain::units::{Abv, Celsius, Gravity, Litres, Moment};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

words! {
    /// The family of the drink; it decides defaults.
    Style {
        /// Honey wine of any kind.
        Mead = "mead",
        /// Fermented apple or pear juice.
        Cider = "cider",
        /// Fermented malt wort.
        Beer = "beer",
    }
}

words! {
    /// Where the maker has taken a batch. What the yeast does meanwhile
    /// (lag, active, slowing, stuck, finished) is the engine's to say.
    Stage {
        /// Not pitched yet.
        Planned = "planned",
        /// Yeast is in.
        Fermenting = "fermenting",
        /// Clearing, left alone before bottling.
        Resting = "resting",
        /// Kept in bulk for months.
        Ageing = "ageing",
        /// In bottles.
        Bottled = "bottled",
        /// Done with: drunk, given up, or poured away.
        Closed = "closed",
    }
}

words! {
    /// How much gas the drink is meant to hold.
    Fizz {
        /// None.
        Still = "still",
        /// A little.
        Light = "lightly sparkling",
        /// Full.
        Sparkling = "sparkling",
    }
}

/// The temperatures a yeast works well in, and those it bears.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TempBand {
    /// Lower end of the good range.
    pub low: Celsius,
    /// Upper end of the good range.
    pub high: Celsius,
    /// Coldest it bears.
    pub min: Celsius,
    /// Warmest it bears.
    pub max: Celsius,
}

/// One must or wort from plan to last bottle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Batch {
    /// Row number.
    pub id: BatchId,
    /// What the maker calls it.
    pub name: String,
    /// Family.
    pub style: Style,
    /// The trade's word within the family, free: `traditional`, `melomel`, `ale`.
    pub variety: String,
    /// Where the maker has taken it.
    pub stage: Stage,
    /// Key of the routine its steps came from.
    pub routine: Option<String>,
    /// Key of the yeast class.
    pub yeast: Option<String>,
    /// Alcohol at which the yeast is said to stop.
    pub tolerance: Option<Abv>,
    /// Its temperatures.
    pub band: Option<TempBand>,
    /// Original gravity as planned; the measured one is a reading.
    pub planned_og: Option<Gravity>,
    /// Final gravity as planned.
    pub expected_fg: Option<Gravity>,
    /// Volume at pitching.
    pub volume: Option<Litres>,
    /// Gas it is meant for.
    pub fizz: Fizz,
    /// When yeast went in: the start of day 1.
    pub pitched: Option<Moment>,
    /// When it was bottled.
    pub bottled: Option<Moment>,
    /// When it was closed.
    pub closed: Option<Moment>,
    /// When it was written down first.
    pub created: Moment,
    /// Day of pitching that is planned.
    pub planned_day: Option<NaiveDate>,
    /// Free words, such as what to change next time.
    pub note: String,
}

/// A time a batch spends in a vessel. A split has two open stays of one batch,
/// a blend ends several batches' stays and begins one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stay {
    /// Row number.
    pub id: StayId,
    /// What lay there.
    pub batch: BatchId,
    /// In which vessel.
    pub vessel: VesselId,
    /// From when.
    pub from: Moment,
    /// Until when; open while it is still there.
    pub to: Option<Moment>,
    /// Volume when it went in.
    pub volume: Option<Litres>,
}

impl Stay {
    /// Whether the batch lay in the vessel at `when`.
    pub fn covers(&self, when: Moment) -> bool {
        self.from <= when && self.to.is_none_or(|to| when < to)
    }
}
