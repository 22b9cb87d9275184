//! Specific gravity and its other scales: Plato, Brix, Oechsle, 60/60 °F.
//!
//! Degrees Plato and Brix are both percent by mass of sucrose. The scales keep
//! their reference temperature in their type: [`Gravity`] is 20/20,
//! [`Gravity60F`] is 60/60 °F, and [`Scale`] names what an instrument shows.

use super::SumError;
use super::density::{SUCROSE_20, SUCROSE_60F, SucroseAt};
use super::error::within;
use crate::domain::units::{Brix, GramsPerLitre, Gravity, Gravity60F, Oechsle, Plato};
use serde::{Deserialize, Serialize};

/// The scale of a hydrometer: what its 1.000 means and where it is true.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Scale {
    /// Specific gravity, both at 20 °C.
    #[serde(rename = "20/20")]
    Sg20,
    /// Specific gravity, both at 60 °F (15.56 °C, often printed 15.6).
    #[serde(rename = "60/60F")]
    Sg60F,
    /// Specific gravity, both at 15 °C.
    #[serde(rename = "15/15")]
    Sg15,
    /// Density at 20 °C over that of water at 4 °C: true grams per millilitre.
    #[serde(rename = "20/4")]
    Sg20Over4,
}

impl Scale {
    /// All of them, the usual first.
    pub const ALL: [Self; 4] = [Self::Sg20, Self::Sg60F, Self::Sg15, Self::Sg20Over4];

    /// Temperature at which the scale is true, °C.
    pub const fn celsius(self) -> f64 {
        match self {
            Self::Sg20 | Self::Sg20Over4 => 20.0,
            Self::Sg60F => super::density::T_60F,
            Self::Sg15 => 15.0,
        }
    }

    /// As printed.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sg20 => "20/20 °C",
            Self::Sg60F => "60/60 °F",
            Self::Sg15 => "15/15 °C",
            Self::Sg20Over4 => "20/4 °C",
        }
    }

    /// Density of the water that reads 1.000, kg/m³.
    pub(crate) const fn unit_density(self) -> f64 {
        match self {
            Self::Sg20 => SUCROSE_20.water(),
            Self::Sg60F => SUCROSE_60F.water(),
            Self::Sg15 => SucroseAt::new(15.0).water(),
            Self::Sg20Over4 => super::density::water_raw(4.0),
        }
    }
}

/// Density at 20 °C of a liquid of this gravity, kg/m³.
pub(crate) fn rho_20(sg: Gravity) -> f64 {
    sg.get() * SUCROSE_20.water()
}

/// Mass fraction of sucrose with this SG 20/20; negative below 1.000.
pub(crate) fn fraction(sg: f64) -> f64 {
    SUCROSE_20.fraction(sg * SUCROSE_20.water())
}

/// SG 20/20 of a mass fraction of sucrose.
pub(crate) fn sg(w: f64) -> f64 {
    SUCROSE_20.density(w) / SUCROSE_20.water()
}

/// Degrees Plato of a specific gravity 20/20, up to 85 °P (about SG 1.449).
///
/// Inverse of the sucrose equation at 20 °C by Newton's method, good to 1e-9.
/// Against the handbook table 0.02 % by mass to 40 %. Below 1.000 the result
/// is negative: the apparent extract of a dry ferment.
/// Source: [`super::source::SUCROSE`].
///
/// ```
/// use skep::domain::{sums::gravity, units::Gravity};
/// let p = gravity::plato(Gravity::known(1.0400))?;
/// assert!((p.get() - 10.0).abs() < 0.02); // 10 % sucrose is 1038.1 kg/m³ (CRC Handbook)
/// # Ok::<(), skep::domain::sums::SumError>(())
/// ```
pub fn plato(sg: Gravity) -> Result<Plato, SumError> {
    Ok(Plato::new(100.0 * fraction(sg.get()))?)
}

/// Specific gravity 20/20 of degrees Plato (or Brix), -12 to 85.
///
/// SG = rho(w, 20 °C) / rho_water(20 °C). Error 0.00010 to 40 %, 0.0005 to
/// 80 % against the handbook table. Source: [`super::source::SUCROSE`].
pub fn from_plato(extract: Plato) -> Result<Gravity, SumError> {
    Ok(Gravity::new(sg(extract.get() / 100.0))?)
}

/// Specific gravity of an unfermented must from a refractometer's Brix, which
/// is percent sucrose by mass as long as no alcohol is there.
pub fn from_brix(brix: Brix) -> Result<Gravity, SumError> {
    from_plato(Plato::new(brix.get())?)
}

/// Brix of an unfermented must: the same number as its degrees Plato.
pub fn brix(sg: Gravity) -> Result<Brix, SumError> {
    Ok(Brix::new(100.0 * fraction(sg.get()))?)
}

/// Degrees Oechsle: thousandths of SG 20/20 above 1. A definition.
pub fn oechsle(sg: Gravity) -> Result<Oechsle, SumError> {
    Ok(Oechsle::new((sg.get() - 1.0) * 1000.0)?)
}

/// SG 20/20 of degrees Oechsle. A definition.
pub fn from_oechsle(degrees: Oechsle) -> Result<Gravity, SumError> {
    Ok(Gravity::new(1.0 + degrees.get() / 1000.0)?)
}

/// SG 60/60 °F of the sugar solution that has this SG 20/20.
/// Good to 1e-5 within the sucrose equation.
pub fn to_60f(sg: Gravity) -> Result<Gravity60F, SumError> {
    let w = fraction(sg.get());
    Ok(Gravity60F::new(
        SUCROSE_60F.density(w) / SUCROSE_60F.water(),
    )?)
}

/// SG 20/20 of the sugar solution that has this SG 60/60 °F.
pub fn from_60f(sg60: Gravity60F) -> Result<Gravity, SumError> {
    let w = SUCROSE_60F.fraction(sg60.get() * SUCROSE_60F.water());
    Ok(Gravity::new(sg(w))?)
}

/// Grams of sugar in a litre at 20 °C: w times the density of the solution.
pub fn sugar_per_litre(extract: Plato) -> Result<GramsPerLitre, SumError> {
    let w = within(
        "sugar per litre",
        "extract",
        " °P",
        0.0..=85.0,
        extract.get(),
    )? / 100.0;
    Ok(GramsPerLitre::new(w * SUCROSE_20.density(w))?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_brix_is_the_handbook_gravity() {
        // CRC Handbook, 102nd ed.: 10 % sucrose 1038.1 kg/m³, water 998.2.
        let sg = from_plato(Plato::known(10.0)).unwrap();
        assert!((sg.get() - 1038.1 / 998.2).abs() < 1e-4);
    }

    #[test]
    fn above_85_percent_is_refused() {
        let said = plato(Gravity::known(1.45)).unwrap_err().to_string();
        assert!(said.contains("accepted is -15 to 85"), "{said}");
    }

    #[test]
    fn the_old_scale_is_a_little_higher() {
        let old = to_60f(Gravity::known(1.100)).unwrap();
        assert!(old.get() > 1.100 && old.get() < 1.1006);
        let back = from_60f(old).unwrap();
        assert!((back.get() - 1.100).abs() < 1e-9);
    }
}
