use serde::{Deserialize, Serialize};
use std::fmt;

/// A number that lies outside what a quantity accepts.
///
/// Its `Display` is the sentence shown to the maker: what was wrong and what
/// is accepted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutOfRange {
    /// What was being given, such as `specific gravity`.
    pub what: &'static str,
    /// Unit as printed, may be empty.
    pub unit: &'static str,
    /// Smallest accepted value.
    pub min: f64,
    /// Largest accepted value.
    pub max: f64,
    /// What was given.
    pub got: f64,
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = if self.unit.is_empty() {
            String::new()
        } else {
            format!(" {}", self.unit)
        };
        let (what, min, max) = (self.what, self.min, self.max);
        // 1e308 and not three hundred noughts.
        let got = if self.got.abs() < 1e9 {
            self.got.to_string()
        } else {
            format!("{:e}", self.got)
        };
        write!(
            f,
            "{what} {got}{unit} is not possible: accepted is {min} to {max}{unit}"
        )
    }
}

impl std::error::Error for OutOfRange {}

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident: $what:literal, $unit:literal, $min:literal ..= $max:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(try_from = "f64", into = "f64")]
        pub struct $name(f64);

        impl $name {
            /// Smallest accepted value.
            pub const MIN: f64 = $min;
            /// Largest accepted value.
            pub const MAX: f64 = $max;
            /// Unit as printed.
            pub const UNIT: &'static str = $unit;

            /// Takes a number in the type's unit; an error says what is accepted.
            pub fn new(value: f64) -> Result<Self, OutOfRange> {
                if value.is_finite() && (Self::MIN..=Self::MAX).contains(&value) {
                    Ok(Self(value))
                } else {
                    Err(OutOfRange {
                        what: $what,
                        unit: Self::UNIT,
                        min: Self::MIN,
                        max: Self::MAX,
                        got: value,
                    })
                }
            }

            /// The nearest accepted value; not-a-number becomes the smallest.
            /// For results of sums whose inputs were already checked.
            pub fn clamped(value: f64) -> Self {
                if value.is_nan() {
                    Self(Self::MIN)
                } else {
                    Self(value.clamp(Self::MIN, Self::MAX))
                }
            }

            /// A value known when the program is compiled.
            ///
            /// # Panics
            /// When the value is out of bounds; in a `const` that is an error of the compiler.
            pub const fn known(value: f64) -> Self {
                assert!(value >= $min && value <= $max, "constant out of bounds");
                Self(value)
            }

            /// The bare number, in the type's unit.
            pub const fn get(self) -> f64 {
                self.0
            }
        }

        impl TryFrom<f64> for $name {
            type Error = OutOfRange;
            fn try_from(value: f64) -> Result<Self, OutOfRange> {
                Self::new(value)
            }
        }

        impl From<$name> for f64 {
            fn from(value: $name) -> f64 {
                value.0
            }
        }
    )*};
}

quantities! {
    /// Specific gravity 20/20: density at 20 °C over that of water at 20 °C.
    /// The canonical gravity everywhere in skep.
    Gravity: "specific gravity", "", 0.950 ..= 1.450;
    /// Specific gravity 60/60 °F (15.56 °C), the scale of many older hydrometers.
    Gravity60F: "specific gravity 60/60 °F", "", 0.950 ..= 1.450;
    /// A difference of specific gravities; 0.001 is one point.
    GravityDelta: "gravity difference", "", -0.6 ..= 0.6;
    /// Degrees Plato: grams of sucrose in 100 g of solution of the same density.
    /// Slightly negative for a dry ferment (apparent extract).
    Plato: "extract", "°P", -15.0 ..= 85.0;
    /// Degrees Brix as a refractometer shows them.
    Brix: "refractometer reading", "°Bx", -5.0 ..= 85.0;
    /// Temperature of a liquid or a room.
    Celsius: "temperature", "°C", -30.0 ..= 110.0;
    /// A difference of temperatures.
    CelsiusDelta: "temperature difference", "K", -100.0 ..= 100.0;
    /// Mass.
    Grams: "mass", "g", 0.0 ..= 2000000.0;
    /// Volume.
    Litres: "volume", "L", 0.0 ..= 2000.0;
    /// Alcohol by volume at 20 °C.
    Abv: "alcohol", "% vol", 0.0 ..= 100.0;
    /// Alcohol by mass.
    Abw: "alcohol by mass", "% mass", 0.0 ..= 100.0;
    /// Acidity as pH.
    Ph: "pH", "", 0.0 ..= 14.0;
    /// Concentration.
    GramsPerLitre: "concentration", "g/L", 0.0 ..= 2000.0;
    /// Small concentration.
    MilligramsPerLitre: "concentration", "mg/L", 0.0 ..= 100000.0;
    /// Density.
    Density: "density", "kg/m³", 500.0 ..= 2000.0;
    /// Dissolved CO2 in volumes of gas at 0 °C and 101.325 kPa per volume of drink.
    Volumes: "CO2", "volumes", 0.0 ..= 150.0;
    /// Pressure above that of the air around.
    GaugeBar: "pressure", "bar", 0.0 ..= 60.0;
    /// Degrees Oechsle: thousandths of SG 20/20 above 1.
    Oechsle: "must weight", "°Oe", -50.0 ..= 450.0;
    /// Refraction of light at 589 nm, against air.
    RefractiveIndex: "refraction", "", 1.30 ..= 1.56;
    /// Energy of food.
    Kilocalories: "energy", "kcal", 0.0 ..= 1000000.0;
    /// Volume of a room or a closet.
    CubicMetres: "the size of a room", "m³", 0.05 ..= 1000.0;
    /// Share of a gas in air by volume, in millionths.
    PartsPerMillion: "gas in air", "ppm", 0.0 ..= 1000000.0;
    /// A part of a whole, 0 to 1.
    Share: "share", "", 0.0 ..= 1.0;
    /// A length of time in days.
    Days: "days", "d", -100000.0 ..= 100000.0;
}

impl Celsius {
    /// From degrees Fahrenheit, exactly by definition.
    pub fn from_fahrenheit(f: f64) -> Result<Self, OutOfRange> {
        Self::new((f - 32.0) / 1.8)
    }

    /// In degrees Fahrenheit.
    pub fn fahrenheit(self) -> f64 {
        self.0 * 1.8 + 32.0
    }

    /// In kelvin.
    pub fn kelvin(self) -> f64 {
        self.0 + 273.15
    }
}

/// Litres in one US gallon: 231 cubic inches (NIST Handbook 44, Appendix C).
pub const LITRES_PER_US_GALLON: f64 = 3.785411784;
/// Millilitres in one US fluid ounce: a gallon / 128 (NIST Handbook 44, Appendix C).
pub const ML_PER_US_FL_OZ: f64 = 29.5735295625;
/// Grams in one avoirdupois pound (NIST Handbook 44, Appendix C).
pub const GRAMS_PER_POUND: f64 = 453.59237;

impl Litres {
    /// From US gallons.
    pub fn from_us_gallons(gal: f64) -> Result<Self, OutOfRange> {
        Self::new(gal * LITRES_PER_US_GALLON)
    }

    /// In US gallons.
    pub fn us_gallons(self) -> f64 {
        self.0 / LITRES_PER_US_GALLON
    }
}

impl Grams {
    /// From avoirdupois pounds.
    pub fn from_pounds(lb: f64) -> Result<Self, OutOfRange> {
        Self::new(lb * GRAMS_PER_POUND)
    }

    /// In avoirdupois pounds.
    pub fn pounds(self) -> f64 {
        self.0 / GRAMS_PER_POUND
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gravity_of_nine_is_refused_with_the_accepted_range() {
        let said = Gravity::new(9.0).unwrap_err().to_string();
        assert_eq!(
            said,
            "specific gravity 9 is not possible: accepted is 0.95 to 1.45"
        );
        assert!(Gravity::new(f64::NAN).is_err());
    }

    #[test]
    fn sixty_eight_fahrenheit_is_twenty_celsius() {
        let c = Celsius::from_fahrenheit(68.0).unwrap();
        assert!((c.get() - 20.0).abs() < 1e-12);
        assert!((c.fahrenheit() - 68.0).abs() < 1e-12);
    }
}
