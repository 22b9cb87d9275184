use super::{Fizz, StepRule, Style, TempBand};
use crate::domain::units::{Abv, Litres};
use serde::{Deserialize, Serialize};

/// A reusable list of steps.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Routine {
    /// Unique key, also the file's name without ending.
    pub key: String,
    /// Name for people.
    pub title: String,
    /// Family it is for.
    pub style: Style,
    /// The trade's word within the family.
    pub variety: String,
    /// Volume its amounts are written for.
    pub volume: Litres,
    /// Gas it leads to unless chosen otherwise.
    pub fizz: Fizz,
    /// Key of the yeast class it assumes.
    pub yeast: Option<String>,
    /// Where it comes from: `common practice, no source`.
    pub source: String,
    /// A sentence or two.
    pub about: String,
    /// The steps, in order.
    pub steps: Vec<StepRule>,
}

/// A generic class of yeast, never a brand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct YeastClass {
    /// Unique key.
    pub key: String,
    /// Name for people.
    pub title: String,
    /// Families it is used for.
    pub styles: Vec<Style>,
    /// Temperatures.
    pub band: TempBand,
    /// Alcohol at which it stops.
    pub tolerance: Abv,
    /// Share of the original points it ferments in wort (beer), in %; empty where it goes dry.
    pub attenuation: Option<f64>,
    /// Hunger for nitrogen: `low`, `medium`, `high`.
    pub demand: Demand,
    /// Source of the numbers.
    pub source: String,
}

super::words! {
    /// How much nitrogen a yeast wants.
    Demand {
        /// Little.
        Low = "low",
        /// Ordinary.
        Medium = "medium",
        /// Much.
        High = "high",
    }
}
