//! Single quantities as a person types them into a plan: `2.5 lb`, `3.8l`, `95`.

use crate::domain::records::UnitSystem;
use crate::domain::units::{
    Abv, Celsius, GRAMS_PER_POUND, Grams, Gravity, LITRES_PER_US_GALLON, Litres, ML_PER_US_FL_OZ,
    Share,
};

/// The number a text begins with, and the rest of it without blanks.
fn number(text: &str) -> Option<(f64, String)> {
    let text = text.trim().replace(',', ".");
    let end = text
        .find(|c: char| !c.is_ascii_digit() && c != '.')
        .unwrap_or(text.len());
    let (head, tail) = text.split_at_checked(end)?;
    let n: f64 = head.parse().ok()?;
    Some((n, tail.trim().to_lowercase()))
}

/// A mass; a bare number is pounds or kilograms after the maker's units.
pub fn mass(text: &str, units: UnitSystem) -> Result<Grams, String> {
    const ACCEPTED: &str = "a mass, such as 2.5lb, 40oz, 1.2kg or 900g";
    let (n, unit) = number(text).ok_or_else(|| accepted(text, ACCEPTED))?;
    let grams = match (unit.as_str(), units) {
        ("lb" | "lbs", _) | ("", UnitSystem::Us) => n * GRAMS_PER_POUND,
        ("oz", _) => n * GRAMS_PER_POUND / 16.0,
        ("g", _) => n,
        // A bare number above any household's kilograms is grams.
        ("", UnitSystem::Metric) if n >= 50.0 => n,
        ("kg", _) | ("", UnitSystem::Metric) => n * 1000.0,
        _ => return Err(accepted(text, ACCEPTED)),
    };
    Grams::new(grams).map_err(|e| e.to_string())
}

/// A volume; a bare number is gallons or litres after the maker's units.
pub fn volume(text: &str, units: UnitSystem) -> Result<Litres, String> {
    const ACCEPTED: &str = "a volume, such as 1gal, 3.8l or 750ml";
    let (n, unit) = number(text).ok_or_else(|| accepted(text, ACCEPTED))?;
    let litres = match (unit.as_str(), units) {
        ("gal", _) | ("", UnitSystem::Us) => n * LITRES_PER_US_GALLON,
        ("fl oz" | "floz" | "oz", _) => n * ML_PER_US_FL_OZ / 1000.0,
        ("l", _) | ("", UnitSystem::Metric) => n,
        ("ml", _) => n / 1000.0,
        _ => return Err(accepted(text, ACCEPTED)),
    };
    Litres::new(litres).map_err(|e| e.to_string())
}

/// A temperature; a bare number is Fahrenheit or Celsius after the maker's units.
pub fn temperature(text: &str, units: UnitSystem) -> Result<Celsius, String> {
    const ACCEPTED: &str = "a temperature, such as 68f or 20c";
    let (n, unit) = number(text).ok_or_else(|| accepted(text, ACCEPTED))?;
    match (unit.trim_start_matches('°').trim(), units) {
        ("f", _) | ("", UnitSystem::Us) => Celsius::from_fahrenheit(n),
        ("c", _) | ("", UnitSystem::Metric) => Celsius::new(n),
        _ => return Err(accepted(text, ACCEPTED)),
    }
    .map_err(|e| e.to_string())
}

/// A gravity: `1.095`, `1095` and `95` are the same; `0.998` and `998` too.
pub fn gravity(text: &str) -> Result<Gravity, String> {
    const ACCEPTED: &str = "a gravity, such as 1.095 or 95";
    let (n, unit) = number(text).ok_or_else(|| accepted(text, ACCEPTED))?;
    let sg = match unit.as_str() {
        "" | "sg" if (900.0..1500.0).contains(&n) => n / 1000.0,
        "" | "sg" if (2.0..500.0).contains(&n) => 1.0 + n / 1000.0,
        "" | "sg" => n,
        _ => return Err(accepted(text, ACCEPTED)),
    };
    Gravity::new(sg).map_err(|e| e.to_string())
}

/// Alcohol in percent by volume.
pub fn alcohol(text: &str) -> Result<Abv, String> {
    Abv::new(percent(text, "alcohol, such as 12 or 12.5 %")?).map_err(|e| e.to_string())
}

/// A share in percent.
pub fn share(text: &str, accepted: &'static str) -> Result<Share, String> {
    Share::new(percent(text, accepted)? / 100.0).map_err(|e| e.to_string())
}

fn percent(text: &str, what: &'static str) -> Result<f64, String> {
    match number(text) {
        Some((n, unit)) if matches!(unit.as_str(), "" | "%" | "%vol" | "% vol") => Ok(n),
        _ => Err(accepted(text, what)),
    }
}

/// A plain number that is not negative.
pub fn amount(text: &str, what: &'static str) -> Result<f64, String> {
    match number(text) {
        Some((n, unit)) if unit.is_empty() && n <= 1e8 => Ok(n),
        _ => Err(accepted(text, what)),
    }
}

fn accepted(text: &str, what: &str) -> String {
    let text = text.trim();
    if text.is_empty() {
        format!("Type {what}.")
    } else {
        format!("'{text}' is not {what}.")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_in_either_system() {
        let us = UnitSystem::Us;
        let metric = UnitSystem::Metric;
        assert!((mass("2.5", us).unwrap().pounds() - 2.5).abs() < 1e-12);
        assert!((mass("1.2", metric).unwrap().get() - 1200.0).abs() < 1e-9);
        assert!((mass("900", metric).unwrap().get() - 900.0).abs() < 1e-9);
        assert!((mass("40 oz", metric).unwrap().pounds() - 2.5).abs() < 1e-12);
        assert!((volume("1", us).unwrap().us_gallons() - 1.0).abs() < 1e-12);
        assert!((volume("3,8 l", us).unwrap().get() - 3.8).abs() < 1e-12);
        for text in ["1.095", "1095", "95"] {
            assert!(
                (gravity(text).unwrap().get() - 1.095).abs() < 1e-9,
                "{text}"
            );
        }
        assert!((gravity("998").unwrap().get() - 0.998).abs() < 1e-9);
        assert!((alcohol("12.5%").unwrap().get() - 12.5).abs() < 1e-12);
    }

    #[test]
    fn what_is_not_understood_says_what_is() {
        assert_eq!(
            mass("two", UnitSystem::Us).unwrap_err(),
            "'two' is not a mass, such as 2.5lb, 40oz, 1.2kg or 900g."
        );
        assert_eq!(
            gravity("").unwrap_err(),
            "Type a gravity, such as 1.095 or 95."
        );
    }
}
