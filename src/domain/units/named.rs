//! Units a maker may type, with their exact size in skep's own unit.
//!
//! Every factor is a definition: NIST Handbook 44, Appendix C (US units, the
//! imperial gallon as 4.54609 L), the pound-force per square inch as
//! 6894.757293168361 Pa.

use super::{GRAMS_PER_POUND, LITRES_PER_US_GALLON};

/// What a unit measures, and skep's own unit for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// Grams.
    Mass,
    /// Litres.
    Volume,
    /// Degrees Celsius.
    Temperature,
    /// Bar.
    Pressure,
}

/// One unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NamedUnit {
    /// What it measures.
    pub dimension: Dimension,
    /// Words for it, lower case, the printed one first.
    pub words: &'static [&'static str],
    /// Size in skep's unit.
    pub size: f64,
    /// What is added after scaling (temperatures only).
    pub shift: f64,
}

const fn of(dimension: Dimension, words: &'static [&'static str], size: f64) -> NamedUnit {
    NamedUnit {
        dimension,
        words,
        size,
        shift: 0.0,
    }
}

/// All units, those shown in a conversion in this order.
pub const NAMED_UNITS: &[NamedUnit] = &[
    of(Dimension::Mass, &["g", "gram", "grams"], 1.0),
    of(Dimension::Mass, &["kg", "kilo", "kilos"], 1000.0),
    of(Dimension::Mass, &["mg"], 0.001),
    of(
        Dimension::Mass,
        &["oz", "ounce", "ounces"],
        GRAMS_PER_POUND / 16.0,
    ),
    of(
        Dimension::Mass,
        &["lb", "lbs", "pound", "pounds"],
        GRAMS_PER_POUND,
    ),
    of(
        Dimension::Volume,
        &["L", "l", "litre", "litres", "liter", "liters"],
        1.0,
    ),
    of(Dimension::Volume, &["mL", "ml"], 0.001),
    of(Dimension::Volume, &["cL", "cl"], 0.01),
    of(Dimension::Volume, &["hL", "hl"], 100.0),
    of(
        Dimension::Volume,
        &["gal", "gallon", "gallons", "usgal"],
        LITRES_PER_US_GALLON,
    ),
    of(
        Dimension::Volume,
        &["qt", "quart", "quarts"],
        LITRES_PER_US_GALLON / 4.0,
    ),
    of(
        Dimension::Volume,
        &["pt", "pint", "pints"],
        LITRES_PER_US_GALLON / 8.0,
    ),
    of(
        Dimension::Volume,
        &["cup", "cups"],
        LITRES_PER_US_GALLON / 16.0,
    ),
    of(
        Dimension::Volume,
        &["floz", "fl-oz"],
        LITRES_PER_US_GALLON / 128.0,
    ),
    of(Dimension::Volume, &["tbsp"], LITRES_PER_US_GALLON / 256.0),
    of(Dimension::Volume, &["tsp"], LITRES_PER_US_GALLON / 768.0),
    of(Dimension::Volume, &["impgal", "ukgal"], 4.54609),
    of(Dimension::Temperature, &["°C", "c", "°c", "degc"], 1.0),
    NamedUnit {
        dimension: Dimension::Temperature,
        words: &["°F", "f", "°f", "degf"],
        size: 1.0 / 1.8,
        shift: -32.0 / 1.8,
    },
    NamedUnit {
        dimension: Dimension::Temperature,
        words: &["K", "k"],
        size: 1.0,
        shift: -273.15,
    },
    of(Dimension::Pressure, &["bar"], 1.0),
    of(Dimension::Pressure, &["kPa", "kpa"], 0.01),
    of(Dimension::Pressure, &["psi"], 0.068_947_572_931_683_6),
    of(Dimension::Pressure, &["atm"], 1.01325),
];

impl NamedUnit {
    /// A number in this unit, in skep's own.
    pub fn inward(&self, value: f64) -> f64 {
        value * self.size + self.shift
    }

    /// A number in skep's own unit, in this one.
    pub fn outward(&self, value: f64) -> f64 {
        (value - self.shift) / self.size
    }

    /// The printed word.
    pub fn word(&self) -> &'static str {
        self.words.first().copied().unwrap_or("")
    }

    /// The unit of this word, case as typed or lower.
    pub fn find(word: &str) -> Option<&'static Self> {
        let lower = word.to_lowercase();
        NAMED_UNITS
            .iter()
            .find(|m| m.words.contains(&word) || m.words.contains(&lower.as_str()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_their_definitions() {
        let litres = |word: &str| NamedUnit::find(word).unwrap().inward(1.0);
        // NIST Handbook 44, Appendix C.
        assert!((litres("floz") * 1000.0 - 29.5735295625).abs() < 1e-9);
        assert!((litres("pt") * 1000.0 - 473.176473).abs() < 1e-9);
        assert!((litres("oz") - 28.349523125).abs() < 1e-9);
        assert!((litres("ImpGal") - 4.54609).abs() < 1e-12);
        assert!((NamedUnit::find("F").unwrap().inward(68.0) - 20.0).abs() < 1e-12);
    }
}
