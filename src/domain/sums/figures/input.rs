use super::lists::{LotText, PartText};
use super::read::{read, told};
use crate::domain::sums::Uncertain;
use crate::domain::units::{
    Abv, Brix, Celsius, Days, GaugeBar, Grams, GramsPerLitre, Gravity, Litres, MilligramsPerLitre,
    NamedUnit, Ph, Plato, Share, Volumes,
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
