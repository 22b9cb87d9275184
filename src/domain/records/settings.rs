use super::words;
use serde::{Deserialize, Serialize};

words! {
    /// Units on the screen. Stored values keep what was entered.
    UnitSystem {
        /// US gallons, pounds, Fahrenheit.
        Us = "us",
        /// Litres, grams, Celsius.
        Metric = "metric",
    }
}

words! {
    /// How gravity is shown.
    GravityScale {
        /// 1.042.
        Sg = "SG",
        /// Degrees Plato.
        Plato = "Plato",
    }
}

/// What the maker chose once; kept in the store so that it travels with it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Settings {
    /// Units shown.
    pub units: UnitSystem,
    /// Gravity scale shown.
    pub gravity: GravityScale,
    /// Share of ferments that stick, before any evidence.
    pub stall_prior: f64,
    /// Days without a reading in an active ferment before it is flagged.
    pub reading_gap_days: u32,
    /// Adults in the household, for the yearly limit.
    pub adults: u32,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            units: UnitSystem::Us,
            gravity: GravityScale::Sg,
            // About one ferment in twenty sticks: common practice, no source.
            stall_prior: 0.05,
            reading_gap_days: 4,
            adults: 1,
        }
    }
}
