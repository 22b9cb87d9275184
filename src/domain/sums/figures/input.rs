use super::lists::{self, LotText, PartText};
use super::shown::{Line, Shown, System};
use crate::domain::sums::{Uncertain, gravity};
use crate::domain::units::{
    Abv, Brix, Celsius, Days, Dimension, GaugeBar, Grams, GramsPerLitre, Gravity, Litres,
    MilligramsPerLitre, NAMED_UNITS, NamedUnit, Oechsle, Ph, Plato, Share, Volumes,
};

/// What sort of value an input takes; it decides which units are read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// `1.050`, `1050`, `50`, `12.4p`, `12.4bx`, `50oe`.
    Gravity,
    /// Degrees Brix or Plato: `24`, `24bx`, `24p`.
    Extract,
    /// `68f`, `20c`: the letter is needed.
    Temperature,
    /// `3lb`, `1.2kg`, `300g`: the unit is needed.
    Mass,
    /// `5gal`, `19L`, `750ml`, `12floz`: the unit is needed.
    Volume,
    /// Alcohol: `12`, `12%`.
    Alcohol,
    /// A share in percent: `50`, `50%`.
    Percent,
    /// `3.4`.
    Ph,
    /// `6`, `6g/L`.
    GramsPerLitre,
    /// `50`, `50mg/L`, `50ppm`.
    MilligramsPerLitre,
    /// Volumes of CO2: `2.5`, `2.5vol`; `5g/L` of CO2 too.
    Gas,
    /// `2bar`, `30psi`: the unit is needed.
    Pressure,
    /// `14`, `14d`.
    Days,
    /// A bare number within bounds.
    Number {
        /// Smallest.
        min: f64,
        /// Largest.
        max: f64,
    },
    /// One of these words, each with its meaning.
    Choice(&'static [(&'static str, &'static str)]),
    /// A lot: volume, gravity, alcohol and perhaps acidity: `4L 1.010 12% 6g/L`.
    Lot,
    /// Parts of a must: `3lb honey, 500g raspberry, ? water`.
    Parts,
    /// Any amount with a unit.
    Amount,
}

impl Kind {
    /// What is accepted, as an example for a form or an error.
    pub fn accepted(self) -> String {
        match self {
            Self::Gravity => "1.050, 1050, 50, 12.4p, 12.4bx or 50oe".into(),
            Self::Extract => "24, 24bx or 24p".into(),
            Self::Temperature => "68f or 20c".into(),
            Self::Mass => "3lb, 12oz, 1.2kg or 300g".into(),
            Self::Volume => "5gal, 12floz, 19L or 750ml".into(),
            Self::Alcohol => "12 or 12%".into(),
            Self::Percent => "50 or 50%".into(),
            Self::Ph => "3.4".into(),
            Self::GramsPerLitre => "6 or 6g/L".into(),
            Self::MilligramsPerLitre => "50, 50mg/L or 50ppm".into(),
            Self::Gas => "2.5 or 2.5vol, or 5g/L".into(),
            Self::Pressure => "2bar, 200kpa or 30psi".into(),
            Self::Days => "14 or 14d".into(),
            Self::Number { min, max } => format!("a number from {min} to {max}"),
            Self::Choice(words) => words.iter().map(|(w, _)| *w).collect::<Vec<_>>().join(", "),
            Self::Lot => {
                "volume, gravity, alcohol and perhaps acidity, as 4L 1.010 12% 6g/L".into()
            }
            Self::Parts => {
                "amounts and ingredients with commas, one or two open, as 3lb honey, ? water".into()
            }
            Self::Amount => "a number with a unit, as 5gal, 3lb, 68f or 30psi".into(),
        }
    }

    /// Half-width taken for a reading of this kind when none is typed
    /// (common practice, no source): what a careful maker reads to.
    pub fn usual_error(self) -> f64 {
        match self {
            Self::Gravity => 0.001,
            Self::Extract => 0.2,
            Self::Temperature => 1.0,
            Self::Ph => 0.1,
            _ => 0.0,
        }
    }
}

/// One input of a figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InputSpec {
    /// Its name in the shell and the table: `og`.
    pub name: &'static str,
    /// Its label on a form.
    pub label: &'static str,
    /// What it takes.
    pub kind: Kind,
    /// Taken when nothing is typed; without one and not optional it is needed.
    pub default: Option<&'static str>,
    /// May be left empty.
    pub optional: bool,
    /// One sentence of help.
    pub help: &'static str,
}

impl InputSpec {
    /// One that must be given.
    pub const fn need(
        name: &'static str,
        label: &'static str,
        kind: Kind,
        help: &'static str,
    ) -> Self {
        Self {
            name,
            label,
            kind,
            default: None,
            optional: false,
            help,
        }
    }

    /// One that takes `default` when nothing is typed.
    pub const fn usual(
        name: &'static str,
        label: &'static str,
        kind: Kind,
        default: &'static str,
        help: &'static str,
    ) -> Self {
        Self {
            default: Some(default),
            ..Self::need(name, label, kind, help)
        }
    }

    /// One that may be left empty.
    pub const fn maybe(
        name: &'static str,
        label: &'static str,
        kind: Kind,
        help: &'static str,
    ) -> Self {
        Self {
            optional: true,
            ..Self::need(name, label, kind, help)
        }
    }
}

/// A parsed input.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A number in skep's own unit, with its half-width.
    Number(Uncertain),
    /// The word chosen.
    Choice(&'static str),
    /// A lot.
    Lot(LotText),
    /// Parts of a must.
    Parts(Vec<PartText>),
    /// A number with its unit.
    Amount(f64, &'static NamedUnit),
}

/// Why inputs could not be read; the sentence says what is accepted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum InputError {
    /// A name that the figure does not have.
    #[error("there is no input '{name}' here; this figure takes {takes}")]
    Unknown {
        /// What was typed.
        name: String,
        /// The names it has.
        takes: String,
    },
    /// The same name twice.
    #[error("{name} is given twice")]
    Twice {
        /// Which.
        name: &'static str,
    },
    /// Needed and not given.
    #[error("{name} is needed ({label}): {accepted}")]
    Missing {
        /// Which.
        name: &'static str,
        /// Its label.
        label: &'static str,
        /// What is accepted.
        accepted: String,
    },
    /// Could not be read.
    #[error("{name}: '{got}' {wrong}; accepted is {accepted}")]
    Bad {
        /// Which.
        name: &'static str,
        /// What was typed.
        got: String,
        /// What is wrong with it.
        wrong: String,
        /// What is accepted.
        accepted: String,
    },
}

impl InputError {
    /// The input it is about, for a form to point at.
    pub fn input(&self) -> &str {
        match self {
            Self::Unknown { name, .. } => name,
            Self::Twice { name } | Self::Missing { name, .. } | Self::Bad { name, .. } => name,
        }
    }
}

/// All inputs of a figure, parsed.
#[derive(Debug, Clone, PartialEq)]
pub struct Inputs<'a> {
    specs: &'a [InputSpec],
    values: Vec<Option<Value>>,
}

impl<'a> Inputs<'a> {
    /// Parses what was given; the rest takes defaults.
    pub fn parse(specs: &'a [InputSpec], given: &[(&str, &str)]) -> Result<Self, InputError> {
        let mut texts: Vec<Option<&str>> = vec![None; specs.len()];
        for (name, text) in given {
            let Some(i) = specs.iter().position(|s| s.name == *name) else {
                return Err(InputError::Unknown {
                    name: (*name).to_owned(),
                    takes: specs.iter().map(|s| s.name).collect::<Vec<_>>().join(", "),
                });
            };
            if texts[i].replace(text).is_some() {
                return Err(InputError::Twice {
                    name: specs[i].name,
                });
            }
        }
        let values = specs
            .iter()
            .zip(texts)
            .map(|(spec, text)| value(spec, text))
            .collect::<Result<_, _>>()?;
        Ok(Self { specs, values })
    }

    /// Label and value of every input taken, as printed.
    pub fn told(&self) -> Vec<(String, String)> {
        self.specs
            .iter()
            .zip(&self.values)
            .filter_map(|(s, v)| Some((s.label.to_owned(), told(s.kind, v.as_ref()?))))
            .collect()
    }

    fn get(&self, name: &str) -> Option<&Value> {
        let i = self.specs.iter().position(|s| s.name == name)?;
        self.values.get(i)?.as_ref()
    }

    /// Whether an optional input was given.
    pub fn has(&self, name: &str) -> bool {
        self.get(name).is_some()
    }

    /// A number in skep's own unit, with its half-width; zero when absent.
    pub fn uncertain(&self, name: &str) -> Uncertain {
        match self.get(name) {
            Some(Value::Number(u)) => *u,
            _ => Uncertain::exact(0.0),
        }
    }

    /// A bare number in skep's own unit; zero when absent.
    pub fn number(&self, name: &str) -> f64 {
        self.uncertain(name).value
    }

    /// The word chosen; empty when absent.
    pub fn choice(&self, name: &str) -> &'static str {
        match self.get(name) {
            Some(Value::Choice(word)) => word,
            _ => "",
        }
    }

    /// A lot.
    pub fn lot(&self, name: &str) -> Option<LotText> {
        match self.get(name) {
            Some(Value::Lot(lot)) => Some(*lot),
            _ => None,
        }
    }

    /// Parts of a must.
    pub fn parts(&self, name: &str) -> &[PartText] {
        match self.get(name) {
            Some(Value::Parts(parts)) => parts,
            _ => &[],
        }
    }

    /// A number with its unit.
    pub fn amount(&self, name: &str) -> Option<(f64, &'static NamedUnit)> {
        match self.get(name) {
            Some(Value::Amount(v, m)) => Some((*v, m)),
            _ => None,
        }
    }
}

macro_rules! typed {
    ($($fn:ident -> $type:ident, $doc:literal;)*) => {
        impl Inputs<'_> {
            $(
                #[doc = $doc]
                pub fn $fn(&self, name: &str) -> $type {
                    $type::clamped(self.number(name))
                }
            )*
        }
    };
}

typed! {
    gravity -> Gravity, "A gravity.";
    plato -> Plato, "An extract.";
    brix -> Brix, "A refractometer reading.";
    celsius -> Celsius, "A temperature.";
    grams -> Grams, "A mass.";
    litres -> Litres, "A volume.";
    abv -> Abv, "An alcohol.";
    ph -> Ph, "A pH.";
    grams_per_litre -> GramsPerLitre, "A concentration.";
    milligrams -> MilligramsPerLitre, "A small concentration.";
    volumes -> Volumes, "An amount of gas.";
    gauge -> GaugeBar, "A pressure.";
    days -> Days, "Days.";
}

impl Inputs<'_> {
    /// A percentage as a share.
    pub fn share(&self, name: &str) -> Share {
        Share::clamped(self.number(name) / 100.0)
    }
}

fn value(spec: &InputSpec, text: Option<&str>) -> Result<Option<Value>, InputError> {
    let text = text.map(str::trim).filter(|t| !t.is_empty());
    let Some(text) = text.or(spec.default) else {
        return if spec.optional {
            Ok(None)
        } else {
            Err(InputError::Missing {
                name: spec.name,
                label: spec.label,
                accepted: spec.kind.accepted(),
            })
        };
    };
    read(spec.kind, text)
        .map(Some)
        .map_err(|wrong| InputError::Bad {
            name: spec.name,
            got: text.chars().take(60).collect(),
            wrong,
            accepted: spec.kind.accepted(),
        })
}

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
fn told(kind: Kind, value: &Value) -> String {
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
