//! A hydrometer read at any temperature, in a must that may hold alcohol.

use super::density::{SUCROSE_20, SucroseAt, alcohol_lowers};
use super::error::within;
use super::gravity::Scale;
use super::{SumError, alcohol};
use crate::domain::units::{Abw, Celsius, Gravity, GravityDelta};

/// Cubic expansion of hydrometer glass per kelvin ([`super::source::GLASS`]).
pub const GLASS_EXPANSION: f64 = 25e-6;

/// What is known of a hydrometer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hydrometer {
    /// Its scale and calibration temperature.
    pub scale: Scale,
    /// What it shows in water at its calibration temperature, less what it
    /// should show: +0.002 for one that shows 1.002.
    pub offset: GravityDelta,
}

impl Hydrometer {
    /// A true one, 20/20 °C.
    pub const TRUE_20: Self = Self {
        scale: Scale::Sg20,
        offset: GravityDelta::known(0.0),
    };

    /// The density of the liquid at `t`, kg/m³: R rho_w(t0) / (1 + g (t - t0)).
    fn density(self, shown: Gravity, t: f64) -> f64 {
        let r = shown.get() - self.offset.get();
        r * self.scale.unit_density() / (1.0 + GLASS_EXPANSION * (t - self.scale.celsius()))
    }
}

/// True SG 20/20 of a liquid in which the hydrometer shows `shown` at `t`.
///
/// Mass balance of the floating glass, rho(t) = R rho_w(t0) / (1 + g (t - t0))
/// with g = 25e-6 per K, then the liquid brought to 20 °C as sugar and
/// `alcohol` in water (Tabarie's relation at t). Air buoyancy and surface
/// tension are left out. Range 0 to 40 °C, alcohol to 20 % by mass. The
/// equation itself holds to 0.0001; the reading is the larger error.
/// Sources: [`super::source::GLASS`], [`super::source::SUCROSE`],
/// [`super::source::ALCOHOLOMETRY`].
///
/// ```
/// use skep::domain::sums::hydrometer::{Hydrometer, corrected};
/// use skep::domain::units::{Abw, Celsius, Gravity};
/// let sg = corrected(Hydrometer::TRUE_20, Gravity::known(1.0500), Celsius::known(25.0), Abw::known(0.0))?;
/// assert!((sg.get() - 1.0512).abs() < 0.0003);
/// # Ok::<(), skep::domain::sums::SumError>(())
/// ```
pub fn corrected(
    hydrometer: Hydrometer,
    shown: Gravity,
    t: Celsius,
    alcohol: Abw,
) -> Result<Gravity, SumError> {
    let t = within(
        "a hydrometer correction",
        "temperature",
        " °C",
        0.0..=40.0,
        t.get(),
    )?;
    let p = within(
        "a hydrometer correction",
        "alcohol",
        " % mass",
        0.0..=20.0,
        alcohol.get(),
    )? / 100.0;
    Ok(Gravity::new(
        true_density_20(hydrometer.density(shown, t), t, p) / SUCROSE_20.water(),
    )?)
}

fn true_density_20(rho_t: f64, t: f64, p: f64) -> f64 {
    if (t - 20.0).abs() < 1e-9 {
        return rho_t;
    }
    let sugar = SucroseAt::new(t).fraction(rho_t - alcohol_lowers(p, t));
    SUCROSE_20.density(sugar) + alcohol_lowers(p, 20.0)
}

/// As [`corrected`], for a must whose original gravity is known: the alcohol
/// follows from the balance of extract and is found together with the gravity.
///
/// A reading above the original counts as free of alcohol.
pub fn corrected_in_ferment(
    hydrometer: Hydrometer,
    shown: Gravity,
    t: Celsius,
    original: Gravity,
) -> Result<Gravity, SumError> {
    let mut sg = corrected(hydrometer, shown, t, Abw::known(0.0))?;
    for _ in 0..4 {
        if sg >= original {
            break;
        }
        let next = corrected(hydrometer, shown, t, alcohol::by_mass(original, sg)?)?;
        let moved = (next.get() - sg.get()).abs();
        sg = next;
        if moved < 1e-7 {
            break;
        }
    }
    Ok(sg)
}

/// What the hydrometer will show at `t` in a liquid of true SG 20/20: the
/// inverse of [`corrected`], same range and sources.
pub fn shown(
    hydrometer: Hydrometer,
    sg: Gravity,
    t: Celsius,
    alcohol: Abw,
) -> Result<Gravity, SumError> {
    let t = within(
        "a hydrometer correction",
        "temperature",
        " °C",
        0.0..=40.0,
        t.get(),
    )?;
    let p = within(
        "a hydrometer correction",
        "alcohol",
        " % mass",
        0.0..=20.0,
        alcohol.get(),
    )? / 100.0;
    let sugar = SUCROSE_20.fraction(sg.get() * SUCROSE_20.water() - alcohol_lowers(p, 20.0));
    let rho_t = SucroseAt::new(t).density(sugar) + alcohol_lowers(p, t);
    let scale = hydrometer.scale;
    let r = rho_t * (1.0 + GLASS_EXPANSION * (t - scale.celsius())) / scale.unit_density();
    Ok(Gravity::new(r + hydrometer.offset.get())?)
}

/// The offset of a hydrometer that shows `shown` in pure water at `t`.
pub fn offset_from_water(
    scale: Scale,
    shown: Gravity,
    t: Celsius,
) -> Result<GravityDelta, SumError> {
    let bare = Hydrometer {
        scale,
        offset: GravityDelta::known(0.0),
    };
    let due = self::shown(bare, Gravity::known(1.0), t, Abw::known(0.0))?;
    Ok(GravityDelta::new(shown.get() - due.get())?)
}

#[cfg(test)]
mod tests {
    use super::*;

    const NONE: Abw = Abw::known(0.0);

    #[test]
    fn water_away_from_twenty_degrees_reads_as_its_density_says() {
        // Water 997.048 at 25 °C, 998.207 at 20 °C (IAPWS-95): 25 °C reads low by 0.00104.
        let sg = corrected(
            Hydrometer::TRUE_20,
            Gravity::known(0.99896),
            Celsius::known(25.0),
            NONE,
        )
        .unwrap();
        assert!((sg.get() - 1.0).abs() < 2e-5);
    }

    #[test]
    fn forty_one_degrees_is_refused() {
        let said = corrected(
            Hydrometer::TRUE_20,
            Gravity::known(1.05),
            Celsius::known(41.0),
            NONE,
        )
        .unwrap_err()
        .to_string();
        assert_eq!(
            said,
            "temperature 41 °C is outside what a hydrometer correction covers: 0 to 40 °C"
        );
    }

    #[test]
    fn the_offset_found_in_water_is_taken_off() {
        let offset = offset_from_water(
            Scale::Sg60F,
            Gravity::known(1.0020),
            Celsius::known(15.5556),
        )
        .unwrap();
        let it = Hydrometer {
            scale: Scale::Sg60F,
            offset,
        };
        let sg = corrected(it, Gravity::known(1.0020), Celsius::known(15.5556), NONE).unwrap();
        assert!((sg.get() - 1.0).abs() < 1e-5);
    }

    #[test]
    fn alcohol_makes_the_correction_larger() {
        let t = Celsius::known(30.0);
        let plain = corrected(Hydrometer::TRUE_20, Gravity::known(1.0), t, NONE).unwrap();
        let must = corrected_in_ferment(
            Hydrometer::TRUE_20,
            Gravity::known(1.0),
            t,
            Gravity::known(1.1),
        )
        .unwrap();
        assert!(must.get() > plain.get() + 0.0004);
    }
}
