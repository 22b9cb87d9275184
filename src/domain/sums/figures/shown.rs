use crate::domain::sums::Uncertain;
use crate::domain::units::{GRAMS_PER_POUND, LITRES_PER_US_GALLON};

/// Which units come first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum System {
    /// US gallons, pounds, Fahrenheit first.
    Us,
    /// Litres, grams, Celsius first.
    Metric,
}

/// What a line shows: a value of a kind in skep's own unit.
#[derive(Debug, Clone, PartialEq)]
pub enum Shown {
    /// Specific gravity.
    Gravity(f64),
    /// Degrees Celsius.
    Temperature(f64),
    /// Grams.
    Mass(f64),
    /// Litres.
    Volume(f64),
    /// Bar.
    Pressure(f64),
    /// A number with its unit and most decimals.
    Number {
        /// How much.
        value: f64,
        /// Of what, may be empty.
        unit: &'static str,
        /// Most decimals.
        decimals: usize,
    },
    /// Words.
    Words(String),
}

/// One result of a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What it is.
    pub label: String,
    /// Its value.
    pub shown: Shown,
    /// Its half-width, in the same unit, if known.
    pub plus_minus: Option<f64>,
}

impl Line {
    /// A line without error.
    pub fn new(label: impl Into<String>, shown: Shown) -> Self {
        Self {
            label: label.into(),
            shown,
            plus_minus: None,
        }
    }

    /// A number.
    pub fn number(
        label: impl Into<String>,
        value: f64,
        unit: &'static str,
        decimals: usize,
    ) -> Self {
        Self::new(
            label,
            Shown::Number {
                value,
                unit,
                decimals,
            },
        )
    }

    /// Words.
    pub fn words(label: impl Into<String>, words: impl Into<String>) -> Self {
        Self::new(label, Shown::Words(words.into()))
    }

    /// With its half-width.
    #[must_use]
    pub fn within(mut self, plus_minus: f64) -> Self {
        self.plus_minus = (plus_minus > 0.0).then_some(plus_minus);
        self
    }

    /// The bare value, if it is a number.
    pub fn value(&self) -> Option<f64> {
        match self.shown {
            Shown::Gravity(v)
            | Shown::Temperature(v)
            | Shown::Mass(v)
            | Shown::Volume(v)
            | Shown::Pressure(v)
            | Shown::Number { value: v, .. } => Some(v),
            Shown::Words(_) => None,
        }
    }

    /// The value with the digits that it deserves and its unit; the other
    /// system's unit follows in brackets.
    pub fn text(&self, system: System) -> String {
        let u = |v: f64, most: usize| Uncertain::new(v, self.plus_minus.unwrap_or(0.0)).text(most);
        match &self.shown {
            Shown::Gravity(v) => u(*v, 4),
            Shown::Temperature(c) => both(
                system,
                &format!("{:.1} °F", c * 1.8 + 32.0),
                &format!("{c:.1} °C"),
            ),
            Shown::Mass(g) => both(system, &us_mass(*g), &metric_mass(*g)),
            Shown::Volume(l) => both(system, &us_volume(*l), &metric_volume(*l)),
            Shown::Pressure(bar) => both(
                system,
                &format!("{:.0} psi", bar / 0.068_947_572_931_683_6),
                &format!("{bar:.2} bar"),
            ),
            Shown::Number {
                value,
                unit,
                decimals,
            } => spaced(u(*value, *decimals), unit),
            Shown::Words(words) => words.clone(),
        }
    }

    /// The half-width with its digits and unit, if known.
    pub fn plus_minus_text(&self) -> Option<String> {
        let width = self.plus_minus?;
        let digits = Uncertain::new(width, width).decimals().unwrap_or(0);
        Some(match &self.shown {
            Shown::Gravity(_) | Shown::Words(_) => format!("{width:.digits$}"),
            Shown::Temperature(_) => format!("{width:.1} °C"),
            Shown::Mass(_) => metric_mass(width),
            Shown::Volume(_) => metric_volume(width),
            Shown::Pressure(_) => format!("{width:.2} bar"),
            Shown::Number { unit, .. } => spaced(format!("{width:.digits$}"), unit),
        })
    }
}

fn spaced(number: String, unit: &str) -> String {
    if unit.is_empty() {
        number
    } else {
        format!("{number} {unit}")
    }
}

fn both(system: System, us: &str, metric: &str) -> String {
    match system {
        _ if us == metric => us.to_owned(),
        System::Us => format!("{us} ({metric})"),
        System::Metric => format!("{metric} ({us})"),
    }
}

fn metric_mass(g: f64) -> String {
    match g.abs() {
        x if x >= 999.5 => format!("{:.3} kg", g / 1000.0),
        x if x >= 99.95 => format!("{g:.0} g"),
        x if x >= 9.995 => format!("{g:.1} g"),
        _ => format!("{g:.2} g"),
    }
}

/// Small amounts are weighed in grams everywhere.
fn us_mass(g: f64) -> String {
    match g.abs() {
        x if x >= GRAMS_PER_POUND => format!("{:.2} lb", g / GRAMS_PER_POUND),
        x if x >= 20.0 => format!("{:.2} oz", 16.0 * g / GRAMS_PER_POUND),
        _ => metric_mass(g),
    }
}

fn metric_volume(l: f64) -> String {
    match l.abs() {
        x if x >= 9.995 => format!("{l:.1} L"),
        x if x >= 0.9995 => format!("{l:.2} L"),
        x if x >= 0.01 => format!("{:.0} mL", l * 1000.0),
        _ => format!("{:.2} mL", l * 1000.0),
    }
}

fn us_volume(l: f64) -> String {
    let gal = l / LITRES_PER_US_GALLON;
    if gal.abs() >= 0.25 {
        format!("{gal:.2} gal")
    } else {
        format!("{:.2} fl oz", gal * 128.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_systems_stand_side_by_side() {
        let line = Line::new("honey", Shown::Mass(1360.78));
        assert_eq!(line.text(System::Us), "3.00 lb (1.361 kg)");
        assert_eq!(line.text(System::Metric), "1.361 kg (3.00 lb)");
        let small = Line::new("sulfite", Shown::Mass(0.3284));
        assert_eq!(small.text(System::Us), "0.33 g");
    }

    #[test]
    fn digits_follow_the_error() {
        let line = Line::number("alcohol", 13.508, "% vol", 2).within(0.36);
        assert_eq!(line.text(System::Us), "13.5 % vol");
        assert_eq!(line.plus_minus_text().unwrap(), "0.4 % vol");
    }
}
