//! The scales and units in which the maker reads sentences.

use crate::domain::records::{GravityScale, Settings, UnitSystem};
use crate::domain::units::{Celsius, CelsiusDelta, Gravity, GravityDelta};
use crate::domain::wording;

/// The scale on which the maker reads temperatures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TemperatureUnit {
    /// Degrees Celsius.
    #[default]
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
}

/// The scales in which a sentence gives its figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Voice {
    /// Of temperatures.
    pub temperature: TemperatureUnit,
    /// Of gravities.
    pub gravity: GravityScale,
}

impl Voice {
    /// Degrees Celsius and specific gravity, as reports for programs have them.
    pub const PLAIN: Self = Self {
        temperature: TemperatureUnit::Celsius,
        gravity: GravityScale::Sg,
    };

    /// As the maker's settings have them.
    pub fn of(settings: &Settings) -> Self {
        Self {
            temperature: match settings.units {
                UnitSystem::Us => TemperatureUnit::Fahrenheit,
                UnitSystem::Metric => TemperatureUnit::Celsius,
            },
            gravity: settings.gravity,
        }
    }

    pub(crate) fn at(self, t: Celsius) -> String {
        match self.temperature {
            TemperatureUnit::Celsius => format!("{:.0} °C", t.get()),
            TemperatureUnit::Fahrenheit => format!("{:.0} °F", t.fahrenheit()),
        }
    }

    pub(crate) fn by(self, t: CelsiusDelta) -> String {
        match self.temperature {
            TemperatureUnit::Celsius => format!("{:.0} °C", t.get().abs()),
            TemperatureUnit::Fahrenheit => format!("{:.0} °F", t.get().abs() * 1.8),
        }
    }

    /// A gravity: `1.042`, `10.5 °P`.
    pub(crate) fn gravity(self, g: Gravity) -> String {
        match self.gravity {
            GravityScale::Sg => wording::gravity_number(g, self.gravity),
            GravityScale::Plato => wording::gravity(g, self.gravity),
        }
    }

    /// An amount of gravity, near a gravity: `0.012`, `3.0 °P`.
    pub(crate) fn points(self, d: GravityDelta, near: Gravity) -> String {
        wording::gravity_amount(d, near, self.gravity)
    }

    /// An amount of gravity too small for the scale's usual decimals.
    pub(crate) fn slope(self, d: GravityDelta) -> String {
        match self.gravity {
            GravityScale::Sg => format!("{:.4}", d.get().max(0.0)),
            // A degree Plato is about 0.004.
            GravityScale::Plato => {
                wording::gravity_amount(d, Gravity::known(1.040), GravityScale::Plato)
            }
        }
    }
}
