//! From a maker's words to numbers in skep's own units, and back.

use super::input::{Kind, Value};
use super::lists;
use super::shown::{Line, Shown, System};
use crate::domain::sums::{Uncertain, gravity};
use crate::domain::units::{
    Abv, Celsius, Days, Dimension, GaugeBar, Grams, GramsPerLitre, Gravity, Litres,
    MilligramsPerLitre, NAMED_UNITS, NamedUnit, Oechsle, Ph, Plato, Share, Volumes,
};

/// Reads one text of a kind; the error completes "'text' …".
pub(crate) fn read(kind: Kind, text: &str) -> Result<Value, String> {
    match kind {
        Kind::Choice(words) => words
            .iter()
            .find(|(w, _)| w.eq_ignore_ascii_case(text))
            .map(|(w, _)| Value::Choice(w))
            .ok_or_else(|| "is none of the words".to_owned()),
        Kind::Lot => lists::lot(text).map(Value::Lot),
        Kind::Parts => lists::parts(text).map(Value::Parts),
        Kind::Amount => {
            let (number, unit) = split(text)?;
            let measure = NamedUnit::find(unit).ok_or_else(|| no_unit(unit))?;
            Ok(Value::Amount(number, measure))
        }
        _ => {
            let (main, error) = match text.split_once("±").or_else(|| text.split_once("+-")) {
                Some((main, error)) => (main.trim(), Some(error.trim())),
                None => (text, None),
            };
            let number = number(kind, main)?;
            let width = match error {
                None => kind.usual_error(),
                Some(error) => width(kind, error)?,
            };
            Ok(Value::Number(Uncertain::new(number, width)))
        }
    }
}

/// A half-width: in the unit of the value, without shift.
fn width(kind: Kind, text: &str) -> Result<f64, String> {
    let (number, unit) = split(text)?;
    let scale = match (kind, NamedUnit::find(unit)) {
        (Kind::Mass | Kind::Volume | Kind::Pressure | Kind::Temperature, Some(m)) => m.size,
        _ => 1.0,
    };
    Ok((number * scale).abs())
}

fn no_unit(unit: &str) -> String {
    if unit.is_empty() {
        "has no unit".to_owned()
    } else {
        format!("has a unit '{unit}' that does not fit")
    }
}

/// A number and the unit behind it.
pub(crate) fn split(text: &str) -> Result<(f64, &str), String> {
    let text = text.trim();
    let end = text
        .char_indices()
        .find(|(i, c)| !(c.is_ascii_digit() || *c == '.' || (*i == 0 && "+-".contains(*c))))
        .map_or(text.len(), |(i, _)| i);
    let (digits, unit) = text.split_at(end);
    let number: f64 = digits
        .parse()
        .map_err(|_| "does not begin with a number".to_owned())?;
    Ok((number, unit.trim()))
}

/// The number of a kind in skep's own unit, checked to be possible.
fn number(kind: Kind, text: &str) -> Result<f64, String> {
    let (n, unit) = split(text)?;
    let word = unit.to_lowercase();
    let of = |dimension| match NamedUnit::find(unit) {
        Some(m) if m.dimension == dimension => Ok(m.inward(n)),
        _ => Err(no_unit(unit)),
    };
    let among = |units: &[&str]| {
        if word.is_empty() || units.contains(&word.as_str()) {
            Ok(n)
        } else {
            Err(no_unit(unit))
        }
    };
    let possible =
        |r: Result<f64, crate::domain::units::OutOfRange>| r.map_err(|e| not_possible(&e));
    match kind {
        Kind::Gravity => any_gravity(n, &word, text),
        Kind::Extract => {
            possible(Plato::new(among(&["bx", "°bx", "brix", "p", "°p", "plato"])?).map(Plato::get))
        }
        Kind::Temperature => possible(Celsius::new(of(Dimension::Temperature)?).map(Celsius::get)),
        Kind::Mass => possible(Grams::new(of(Dimension::Mass)?).map(Grams::get)),
        Kind::Volume => possible(Litres::new(of(Dimension::Volume)?).map(Litres::get)),
        Kind::Pressure => possible(GaugeBar::new(of(Dimension::Pressure)?).map(GaugeBar::get)),
        Kind::Alcohol => possible(Abv::new(among(&["%", "%vol", "% vol", "abv"])?).map(Abv::get)),
        Kind::Percent => possible(Share::new(among(&["%"])? / 100.0).map(|s| 100.0 * s.get())),
        Kind::Ph => possible(Ph::new(among(&["ph"])?).map(Ph::get)),
        Kind::GramsPerLitre => {
            possible(GramsPerLitre::new(among(&["g/l"])?).map(GramsPerLitre::get))
        }
        Kind::MilligramsPerLitre => {
            possible(MilligramsPerLitre::new(among(&["mg/l", "ppm"])?).map(MilligramsPerLitre::get))
        }
        Kind::Gas if word == "g/l" => possible(
            Volumes::new(n / crate::domain::sums::carbonation::GRAMS_PER_VOLUME).map(Volumes::get),
        ),
        Kind::Gas => possible(Volumes::new(among(&["vol", "vols", "volumes"])?).map(Volumes::get)),
        Kind::Days => possible(Days::new(among(&["d", "days", "day"])?).map(Days::get)),
        Kind::Number { min, max } => {
            let n = among(&[])?;
            if (min..=max).contains(&n) {
                Ok(n)
            } else {
                Err(format!("is not within {min} to {max}"))
            }
        }
        Kind::Choice(_) | Kind::Lot | Kind::Parts | Kind::Amount => Err("is no number".to_owned()),
    }
}

fn not_possible(e: &crate::domain::units::OutOfRange) -> String {
    let unit = if e.unit.is_empty() {
        String::new()
    } else {
        format!(" {}", e.unit)
    };
    format!("is not within {} to {}{unit}", e.min, e.max)
}

/// `1.042`, `1042`, `42`, `998`, and the other scales.
fn any_gravity(n: f64, word: &str, text: &str) -> Result<f64, String> {
    let gravity = match word {
        "" | "sg" => {
            let whole = !text.contains('.');
            let value = match n {
                x if (850.0..=1450.0).contains(&x) => x / 1000.0,
                x if whole && (0.0..=450.0).contains(&x) => 1.0 + x / 1000.0,
                x => x,
            };
            Gravity::new(value).map_err(|e| not_possible(&e))?
        }
        "p" | "°p" | "plato" | "bx" | "°bx" | "brix" => Plato::new(n)
            .map_err(crate::domain::sums::SumError::from)
            .and_then(gravity::from_plato)
            .map_err(|e| format!("is no gravity: {e}"))?,
        "oe" | "°oe" => Oechsle::new(n)
            .map_err(crate::domain::sums::SumError::from)
            .and_then(gravity::from_oechsle)
            .map_err(|e| format!("is no gravity: {e}"))?,
        other => return Err(no_unit(other)),
    };
    Ok(gravity.get())
}

/// A value as printed beside its label.
pub(super) fn told(kind: Kind, value: &Value) -> String {
    let u = match value {
        Value::Number(u) => *u,
        Value::Choice(word) => return (*word).to_owned(),
        Value::Lot(lot) => return lot.to_string(),
        Value::Parts(parts) => {
            return parts
                .iter()
                .map(ToString::to_string)
                .collect::<Vec<_>>()
                .join(", ");
        }
        Value::Amount(n, m) => return format!("{n} {}", m.word()),
    };
    let plain = |unit: &'static str, decimals| Line::number("", u.value, unit, decimals);
    let line = match kind {
        Kind::Gravity => Line::new("", Shown::Gravity(u.value)),
        Kind::Extract => plain("°P", 2),
        Kind::Temperature => Line::new("", Shown::Temperature(u.value)),
        Kind::Mass => Line::new("", Shown::Mass(u.value)),
        Kind::Volume => Line::new("", Shown::Volume(u.value)),
        Kind::Pressure => Line::new("", Shown::Pressure(u.value)),
        Kind::Alcohol => plain("% vol", 2),
        Kind::Percent => plain("%", 1),
        Kind::Ph => plain("", 2),
        Kind::GramsPerLitre => plain("g/L", 2),
        Kind::MilligramsPerLitre => plain("mg/L", 1),
        Kind::Gas => plain("volumes", 2),
        Kind::Days => plain("d", 1),
        _ => return format!("{}", u.value),
    };
    let text = line.text(System::Metric);
    match line.within(u.plus_minus).plus_minus_text() {
        Some(width) => format!("{text} ± {width}"),
        None => text,
    }
}

/// Every unit of a dimension with the amount in it.
pub(crate) fn in_all_units(value: f64, measure: &NamedUnit) -> Vec<(f64, &'static str)> {
    let own = measure.inward(value);
    NAMED_UNITS
        .iter()
        .filter(|m| m.dimension == measure.dimension && m.words != measure.words)
        .map(|m| (m.outward(own), m.word()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::input::{InputSpec, Inputs};
    use super::*;

    fn one(kind: Kind, text: &str) -> f64 {
        match read(kind, text).unwrap() {
            Value::Number(u) => u.value,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_gravity_may_be_typed_in_many_ways() {
        for text in ["1.042", "1042", "42", "1.042sg", "42oe"] {
            assert!((one(Kind::Gravity, text) - 1.042).abs() < 1e-9, "{text}");
        }
        assert!((one(Kind::Gravity, "998") - 0.998).abs() < 1e-9);
        assert!((one(Kind::Gravity, "10p") - 1.0400).abs() < 1e-4);
        assert!(read(Kind::Gravity, "9").is_ok(), "nine points");
        assert!(read(Kind::Gravity, "9.0").is_err());
    }

    #[test]
    fn units_are_read() {
        assert!((one(Kind::Volume, "5gal") - 18.92705892).abs() < 1e-8);
        assert!((one(Kind::Volume, "750 ml") - 0.75).abs() < 1e-12);
        assert!((one(Kind::Temperature, "68F") - 20.0).abs() < 1e-12);
        assert!((one(Kind::Mass, "3lb") - 1360.77711).abs() < 1e-8);
        assert!((one(Kind::Alcohol, "12%") - 12.0).abs() < 1e-12);
        assert!((one(Kind::Gas, "5g/L") - 2.529).abs() < 1e-3);
    }

    #[test]
    fn an_error_may_be_typed_behind() {
        let Value::Number(u) = read(Kind::Temperature, "68f±1f").unwrap() else {
            panic!("a number")
        };
        assert!((u.plus_minus - 1.0 / 1.8).abs() < 1e-12);
    }

    #[test]
    fn a_bad_input_says_what_is_accepted() {
        const SPECS: &[InputSpec] = &[InputSpec {
            name: "volume",
            label: "volume",
            kind: Kind::Volume,
            default: None,
            optional: false,
            help: "",
        }];
        let said = |given: &[(&str, &str)]| Inputs::parse(SPECS, given).unwrap_err().to_string();
        assert_eq!(
            said(&[("volume", "5")]),
            "volume: '5' has no unit; accepted is 5gal, 12floz, 19L or 750ml"
        );
        assert_eq!(
            said(&[]),
            "volume is needed (volume): 5gal, 12floz, 19L or 750ml"
        );
        assert_eq!(
            said(&[("vol", "5L")]),
            "there is no input 'vol' here; this figure takes volume"
        );
        assert_eq!(
            said(&[("volume", "5L"), ("volume", "6L")]),
            "volume is given twice"
        );
    }
}
