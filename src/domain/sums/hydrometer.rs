//! A hydrometer read at any temperature, in a must that may hold alcohol.

use super::SumError;
use super::alcohol::EXTRACT_PER_ALCOHOL;
use super::density::{AlcoholAt, SUCROSE_20, SucroseAt, alcohol_lowers};
use super::error::within;
use super::gravity::{Scale, fraction};
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
    let none = Abw::known(0.0);
    let at = t.get();
    if !(0.0..=40.0).contains(&at) || (at - 20.0).abs() < 1e-9 {
        return corrected(hydrometer, shown, t, none);
    }
    let rho = hydrometer.density(shown, at);
    let must = Fermenting {
        original: fraction(original.get()),
        sugar: SucroseAt::new(at),
        alcohol: AlcoholAt::new(at),
    };
    if rho >= must.sugar.density(must.original) {
        return corrected(hydrometer, shown, t, none);
    }
    let p = must.alcohol_at(rho)?;
    Ok(Gravity::new(
        (rho + must.nearer_20(p)) / SUCROSE_20.water(),
    )?)
}

/// A must of known original extract at one temperature.
struct Fermenting {
    /// Extract before the ferment, as mass fraction.
    original: f64,
    sugar: SucroseAt,
    alcohol: AlcoholAt,
}

impl Fermenting {
    /// Real extract beside this alcohol, by the balance of extract.
    fn extract(&self, p: f64) -> f64 {
        self.original - p * self.spent()
    }

    /// Extract spent for alcohol, both as mass fraction of what is now there.
    fn spent(&self) -> f64 {
        EXTRACT_PER_ALCOHOL - self.original * (EXTRACT_PER_ALCOHOL - 1.0)
    }

    /// Alcohol with which the balance and this density hold together: Newton's
    /// method on one equation, both taken at the temperature of the must.
    fn alcohol_at(&self, rho: f64) -> Result<f64, SumError> {
        let original = within(
            "the balance of extract",
            "original extract",
            " °P",
            -1.0..=60.0,
            100.0 * self.original,
        )? / 100.0;
        let fallen = (self.sugar.density(self.original) - rho) / 1000.0;
        // A start within 0.003 of the end, fitted to it; the end does not depend on it.
        let mut p = fallen * (1.0135 + 0.8586 * fallen - 0.1288 * original);
        for _ in 0..8 {
            let (w, (lowers, slope)) = (self.extract(p), self.alcohol.lowers(p));
            let miss = self.sugar.density(w) + lowers - rho;
            let step = miss / (slope - self.spent() * self.sugar.slope(w));
            p -= step;
            // The next step would be of the order of this one squared, and the
            // gravity moves by a thirtieth of it.
            if step.abs() < 1e-3 {
                break;
            }
        }
        Ok(within(
            "a hydrometer correction",
            "alcohol",
            " % mass",
            0.0..=20.0,
            100.0 * p,
        )? / 100.0)
    }

    /// Density at 20 °C less that at this temperature.
    fn nearer_20(&self, p: f64) -> f64 {
        let w = self.extract(p);
        SUCROSE_20.density(w) - self.sugar.density(w) + self.alcohol.nearer_20(p)
    }
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

    /// Gravity and alcohol in turns until neither moves: the plain way.
    fn in_turns(
        hydrometer: Hydrometer,
        shown: Gravity,
        t: Celsius,
        original: Gravity,
    ) -> Result<Gravity, SumError> {
        let mut sg = corrected(hydrometer, shown, t, NONE)?;
        for _ in 0..60 {
            if sg >= original {
                break;
            }
            let by_mass = crate::domain::sums::alcohol::by_mass(original, sg)?;
            let next = corrected(hydrometer, shown, t, by_mass)?;
            let moved = (next.get() - sg.get()).abs();
            sg = next;
            if moved < 1e-12 {
                break;
            }
        }
        Ok(sg)
    }

    #[test]
    fn one_equation_comes_to_what_taking_turns_comes_to() {
        let (mut greatest, mut count) = (0.0_f64, 0);
        let scales = [Scale::Sg20, Scale::Sg60F, Scale::Sg15, Scale::Sg20Over4];
        for (n, scale) in scales.into_iter().cycle().take(41).enumerate() {
            let t = Celsius::known(n as f64);
            let offset = GravityDelta::known(0.0005 * (n % 3) as f64);
            let it = Hydrometer { scale, offset };
            for og in 0..40 {
                let original = Gravity::known(1.005 + 0.005 * f64::from(og));
                for fall in -2..32 {
                    let sg = original.get() - 0.005 * f64::from(fall);
                    let Ok(shown) = Gravity::new(sg) else {
                        continue;
                    };
                    let (ours, theirs) = (
                        corrected_in_ferment(it, shown, t, original),
                        in_turns(it, shown, t, original),
                    );
                    match (ours, theirs) {
                        (Ok(ours), Ok(theirs)) => {
                            let off = (ours.get() - theirs.get()).abs();
                            greatest = greatest.max(off);
                            count += 1;
                            assert!(off < 1e-7, "{off} at {n} °C, {original:?}, {shown:?}");
                        }
                        // Below what a gravity can be, or more than 20 % alcohol.
                        (Err(_), Err(_)) => {}
                        (ours, theirs) => panic!("{ours:?}, not {theirs:?}"),
                    }
                }
            }
        }
        println!("{count} readings, the greatest difference {greatest:e}");
        assert!(count > 30_000, "{count}");
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
