use super::{PlaceId, VesselId, words};
use crate::domain::units::{Celsius, GaugeBar, Grams, Litres};
use serde::{Deserialize, Serialize};

/// Where vessels stand: a closet, a garage. One thermometer reading for a
/// place counts for every vessel in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Place {
    /// Row number.
    pub id: PlaceId,
    /// What the maker calls it, unique.
    pub name: String,
    /// Whether light is kept out.
    pub dark: bool,
    /// Usual temperature, until readings tell better.
    pub usual_temp: Option<Celsius>,
    /// Warmest day that it can reach, where the maker said it.
    pub summer: Option<Celsius>,
}

words! {
    /// What a vessel is.
    VesselKind {
        /// A small glass jug with a narrow neck, about a gallon.
        Jug = "jug",
        /// A large glass or plastic bottle-shaped fermenter.
        Carboy = "carboy",
        /// A plastic bucket with a lid.
        Bucket = "bucket",
        /// A steel tank or keg used for fermenting.
        Tank = "tank",
        /// A pressure keg for serving.
        Keg = "keg",
        /// Anything else.
        Other = "other",
    }
}

/// A vessel may hold a little more than the maker wrote down as brimful; more
/// than this is a slip of the unit (common practice, no source).
pub(crate) const BRIMFUL: f64 = 1.1;

/// A vessel that can hold a batch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Vessel {
    /// Row number.
    pub id: VesselId,
    /// Short tag as on the tape: `J2`. Unique, compared without case.
    pub tag: String,
    /// What it is.
    pub kind: VesselKind,
    /// Brimful volume.
    pub capacity: Litres,
    /// Mass when empty, with bung and airlock, for mass readings.
    pub tare: Option<Grams>,
    /// Where it stands.
    pub place: PlaceId,
    /// Whether it is clean, as far as the maker said.
    pub clean: bool,
    /// No longer used; kept for history.
    pub retired: bool,
    /// Working pressure printed on a keg.
    pub rated: Option<GaugeBar>,
    /// Free words.
    pub note: String,
}

impl Vessel {
    /// Whether a volume is more than it can hold.
    pub fn overfull(&self, volume: Litres) -> bool {
        volume.get() > self.capacity.get() * BRIMFUL
    }
}
