use super::{InstrumentId, PlaceId, ReadingId, VesselId, words};
use crate::domain::units::{
    Brix, Celsius, Grams, GramsPerLitre, Gravity, Gravity60F, Litres, Moment, OutOfRange, Ph, Plato,
};
use serde::{Deserialize, Serialize};

words! {
    /// What was measured.
    MeasureKind {
        /// A hydrometer in the liquid.
        Hydrometer = "hydrometer",
        /// A refractometer.
        Refractometer = "refractometer",
        /// A thermometer.
        Temperature = "temperature",
        /// A pH meter or strip.
        Ph = "ph",
        /// The full vessel on a scale.
        Mass = "mass",
        /// How much liquid is there.
        Volume = "volume",
        /// Titratable acidity, as tartaric acid.
        Acidity = "acidity",
    }
}

words! {
    /// The unit in which a value was seen.
    Unit {
        /// Specific gravity.
        Sg = "SG",
        /// Degrees Plato.
        Plato = "°P",
        /// Degrees Brix.
        Brix = "°Bx",
        /// Degrees Celsius.
        Celsius = "°C",
        /// Degrees Fahrenheit.
        Fahrenheit = "°F",
        /// pH units.
        Ph = "pH",
        /// Grams.
        Gram = "g",
        /// Kilograms.
        Kilogram = "kg",
        /// Pounds.
        Pound = "lb",
        /// Litres.
        Litre = "L",
        /// US gallons.
        Gallon = "gal",
        /// Grams per litre.
        GramPerLitre = "g/L",
    }
}

/// A value exactly as seen, checked to be possible.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Seen {
    kind: MeasureKind,
    value: f64,
    unit: Unit,
}

/// A value seen, turned into its type. Not corrected for anything.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measure {
    /// Hydrometer, as read on its own scale (the instrument says which reference).
    Gravity(Gravity),
    /// Hydrometer with a Plato or Brix scale.
    Extract(Plato),
    /// Refractometer.
    Refraction(Brix),
    /// Thermometer.
    Temperature(Celsius),
    /// pH.
    Ph(Ph),
    /// Full vessel on a scale.
    Mass(Grams),
    /// Liquid present.
    Volume(Litres),
    /// Titratable acidity as tartaric.
    Acidity(GramsPerLitre),
}

/// Why a value can't be a reading.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SeenError {
    /// The number lies outside the possible.
    #[error("{0}")]
    Range(#[from] OutOfRange),
    /// Kind and unit don't go together.
    #[error("a {kind} reading is not given in {unit}")]
    Unit {
        /// What was measured.
        kind: MeasureKind,
        /// The unit that does not fit.
        unit: Unit,
    },
}

impl Seen {
    /// Checks that the kind has such a unit and that the value is possible.
    pub fn new(kind: MeasureKind, value: f64, unit: Unit) -> Result<Self, SeenError> {
        let seen = Self { kind, value, unit };
        seen.typed().map(|_| seen)
    }

    /// What was measured.
    pub fn kind(self) -> MeasureKind {
        self.kind
    }

    /// The number as seen.
    pub fn value(self) -> f64 {
        self.value
    }

    /// Its unit.
    pub fn unit(self) -> Unit {
        self.unit
    }

    /// The value in its type.
    pub fn measure(self) -> Measure {
        match self.typed() {
            Ok(measure) => measure,
            Err(_) => unreachable!("checked when made"),
        }
    }

    fn typed(self) -> Result<Measure, SeenError> {
        use {MeasureKind as K, Unit as U};
        let v = self.value;
        Ok(match (self.kind, self.unit) {
            (K::Hydrometer, U::Sg) => Measure::Gravity(Gravity::new(v)?),
            (K::Hydrometer, U::Plato | U::Brix) => Measure::Extract(Plato::new(v)?),
            (K::Refractometer, U::Brix) => Measure::Refraction(Brix::new(v)?),
            (K::Temperature, U::Celsius) => Measure::Temperature(Celsius::new(v)?),
            (K::Temperature, U::Fahrenheit) => Measure::Temperature(Celsius::from_fahrenheit(v)?),
            (K::Ph, U::Ph) => Measure::Ph(Ph::new(v)?),
            (K::Mass, U::Gram) => Measure::Mass(Grams::new(v)?),
            (K::Mass, U::Kilogram) => Measure::Mass(Grams::new(v * 1000.0)?),
            (K::Mass, U::Pound) => Measure::Mass(Grams::from_pounds(v)?),
            (K::Volume, U::Litre) => Measure::Volume(Litres::new(v)?),
            (K::Volume, U::Gallon) => Measure::Volume(Litres::from_us_gallons(v)?),
            (K::Acidity, U::GramPerLitre) => Measure::Acidity(GramsPerLitre::new(v)?),
            (kind, unit) => return Err(SeenError::Unit { kind, unit }),
        })
    }
}

/// What a reading was taken of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Subject {
    /// One vessel, and through it the batch that lay in it then.
    Vessel(VesselId),
    /// A place; a temperature only.
    Place(PlaceId),
}

/// One reading, exactly as seen. Corrections are computed, never stored.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Row number.
    pub id: ReadingId,
    /// Of what.
    pub subject: Subject,
    /// When it was taken.
    pub at: Moment,
    /// What was seen.
    pub seen: Seen,
    /// Temperature of the sample, as a temperature `Seen`.
    pub sample_temp: Option<Seen>,
    /// With which instrument.
    pub instrument: Option<InstrumentId>,
    /// Where it came from: `hand`, `shell`, `import`, or a logger's name.
    pub source: String,
    /// The maker insisted on it in spite of a doubt.
    pub doubted: bool,
    /// Free words.
    pub note: String,
    /// When it was written down.
    pub entered: Moment,
}

words! {
    /// What an instrument measures with.
    InstrumentKind {
        /// Floats.
        Hydrometer = "hydrometer",
        /// Bends light.
        Refractometer = "refractometer",
        /// Tells temperature.
        Thermometer = "thermometer",
        /// Weighs.
        Scale = "scale",
        /// Tells pH.
        PhMeter = "pH meter",
        /// Reports by itself.
        Sensor = "sensor",
    }
}

/// An instrument with its own errors.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Instrument {
    /// Row number.
    pub id: InstrumentId,
    /// What the maker calls it.
    pub name: String,
    /// What it is.
    pub kind: InstrumentKind,
    /// Temperature at which it reads true.
    pub calibrated_at: Option<Celsius>,
    /// What it reads too high, in its own unit (found in water: reading minus truth).
    pub offset: f64,
    /// Smallest step it can be read to, in its own unit.
    pub resolution: f64,
    /// Correction factor of a refractometer (reading / factor = true Brix).
    pub factor: f64,
    /// The one used unless another is named.
    pub preferred: bool,
}

impl Gravity60F {
    /// Whether an instrument's calibration temperature means the 60/60 °F scale.
    pub fn is_scale_of(calibrated_at: Celsius) -> bool {
        (calibrated_at.get() - 15.56).abs() < 0.3
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_keeps_what_was_seen() {
        let seen = Seen::new(MeasureKind::Temperature, 68.0, Unit::Fahrenheit).unwrap();
        assert!((seen.value() - 68.0).abs() < f64::EPSILON);
        let Measure::Temperature(c) = seen.measure() else {
            panic!("a temperature")
        };
        assert!((c.get() - 20.0).abs() < 1e-9);
    }

    #[test]
    fn gravity_in_degrees_is_refused() {
        let said = Seen::new(MeasureKind::Hydrometer, 68.0, Unit::Fahrenheit)
            .unwrap_err()
            .to_string();
        assert_eq!(said, "a hydrometer reading is not given in °F");
    }
}
