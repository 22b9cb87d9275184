//! Alcohol from the fall of the gravity, and ethanol by mass and by volume.

use super::SumError;
use super::density::{ETHANOL_PURE_20, ETHANOL_WATER_20, SUCROSE_20, ethanol_20};
use super::gravity::{fraction, rho_20, sg};
use crate::domain::units::{Abv, Abw, Gravity, GravityDelta, Plato, Share};

/// Grams of extract that become one gram of ethanol ([`super::source::BALLING`]).
pub const EXTRACT_PER_ALCOHOL: f64 = 2.0665;
/// Grams of CO2 that leave with each gram of ethanol (same source).
pub const CO2_PER_ALCOHOL: f64 = 0.9565;
/// Grams of yeast that grow with each gram of ethanol (same source).
pub const YEAST_PER_ALCOHOL: f64 = 0.11;
/// Relative error of the balance: the largest departure of the means of five
/// measured sets, 0.23 °P of original extract in 14.1 where 4.7 % alcohol
/// makes 9.8 of it ([`super::source::CUTAIA`]). Musts other than wort may lie
/// further off; no published set for mead was found.
pub const BALANCE_ERROR: f64 = 0.024;
/// Percent by volume for a fall of 1.000 in gravity, the usual rule of thumb
/// (common practice, no source).
pub const RULE_OF_THUMB: f64 = 131.25;

/// Where a ferment stands by the balance of extract.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    /// Extract before the ferment.
    pub original_extract: Plato,
    /// Extract as the hydrometer shows it, made smaller by the alcohol.
    pub apparent_extract: Plato,
    /// Extract that is truly there.
    pub real_extract: Plato,
    /// Alcohol by mass.
    pub by_mass: Abw,
    /// Alcohol by volume at 20 °C.
    pub by_volume: Abv,
}

impl Balance {
    /// Real attenuation: the share of the original extract that is gone.
    ///
    /// What is now 100 g was 100 + 1.0665 A g of must: gas and yeast are gone.
    /// The real extract is first brought back to that mass.
    pub fn real_attenuation(&self) -> Share {
        let left = self.real_extract.get() * 100.0
            / (100.0 + (EXTRACT_PER_ALCOHOL - 1.0) * self.by_mass.get());
        Share::clamped(1.0 - left / self.original_extract.get().max(1e-9))
    }

    /// Apparent attenuation in percent, often above 100 for a dry mead.
    pub fn apparent_attenuation(&self) -> f64 {
        100.0 * (1.0 - self.apparent_extract.get() / self.original_extract.get().max(1e-9))
    }
}

/// The balance of extract from original and present SG 20/20.
///
/// Solves Balling's OE = 100 (2.0665 A + ER)/(100 + 1.0665 A) together with
/// Tabarie's SG(ER) = SG - SG(ethanol-water of A) + 1 for the alcohol A by
/// mass and the real extract ER. Range: original to 60 °P, present not above
/// the original. Error of the balance about 2.4 % of the alcohol (five
/// measured sets), to which the readings' errors come. The yield is that of
/// beer worts; other yeasts and musts differ by a few percent.
/// Sources: [`super::source::BALLING`], [`super::source::TABARIE`],
/// [`super::source::ALCOHOLOMETRY`].
///
/// ```
/// use skep::domain::{sums::alcohol, units::Gravity};
/// let b = alcohol::balance(Gravity::known(1.100), Gravity::known(1.000))?;
/// // UK excise factor table: 100 points fallen are about 13.5 % by volume.
/// assert!((b.by_volume.get() - 13.5).abs() < 0.3);
/// # Ok::<(), skep::domain::sums::SumError>(())
/// ```
pub fn balance(original: Gravity, present: Gravity) -> Result<Balance, SumError> {
    let (a, oe, er) = solve(original, present)?;
    Ok(Balance {
        original_extract: Plato::new(100.0 * oe)?,
        apparent_extract: Plato::new(100.0 * fraction(present.get()))?,
        real_extract: Plato::new(100.0 * er)?,
        by_mass: Abw::new(100.0 * a)?,
        by_volume: Abv::new(100.0 * a * rho_20(present) / ETHANOL_PURE_20)?,
    })
}

/// Alcohol by mass from original and present gravity; see [`balance`].
pub fn by_mass(original: Gravity, present: Gravity) -> Result<Abw, SumError> {
    Ok(Abw::new(100.0 * solve(original, present)?.0)?)
}

/// Alcohol by volume at 20 °C from original and present gravity; see [`balance`].
pub fn by_volume(original: Gravity, present: Gravity) -> Result<Abv, SumError> {
    let a = solve(original, present)?.0;
    Ok(Abv::new(100.0 * a * rho_20(present) / ETHANOL_PURE_20)?)
}

/// Alcohol, original extract and real extract, as mass fractions.
fn solve(original: Gravity, present: Gravity) -> Result<(f64, f64, f64), SumError> {
    let fallen = original.get() - present.get();
    if fallen < -1e-9 {
        return Err(SumError::Contradiction(format!(
            "the present gravity {:.4} is above the original {:.4}: no alcohol follows from that",
            present.get(),
            original.get()
        )));
    }
    let oe = super::error::within(
        "the balance of extract",
        "original extract",
        " °P",
        -1.0..=60.0,
        100.0 * fraction(original.get()),
    )? / 100.0;
    let extract = |a: f64| oe * (1.0 + (EXTRACT_PER_ALCOHOL - 1.0) * a) - EXTRACT_PER_ALCOHOL * a;
    let miss = |a: f64| sg(extract(a)) + ethanol_20(a) / ETHANOL_WATER_20 - 1.0 - present.get();
    let mut a0 = fallen;
    let mut f0 = miss(a0);
    let mut a1 = a0 + f0 * 1.05;
    for _ in 0..12 {
        if (a1 - a0).abs() < 1e-12 {
            break;
        }
        let f1 = miss(a1);
        let next = a1 - f1 * (a1 - a0) / (f1 - f0);
        if !next.is_finite() {
            break;
        }
        (a0, f0, a1) = (a1, f1, next);
    }
    let a = a1.max(0.0);
    Ok((a, oe, extract(a)))
}

/// The present gravity at which the balance gives this alcohol: the inverse
/// of [`by_volume`] in its second input.
pub fn gravity_at(original: Gravity, alcohol: Abv) -> Result<Gravity, SumError> {
    let oe = fraction(original.get());
    let mut a = alcohol.get() / 100.0 * 0.8;
    let mut present = original.get();
    for _ in 0..40 {
        let er = oe * (1.0 + (EXTRACT_PER_ALCOHOL - 1.0) * a) - EXTRACT_PER_ALCOHOL * a;
        present = sg(er) + ethanol_20(a) / ETHANOL_WATER_20 - 1.0;
        let next = alcohol.get() / 100.0 * ETHANOL_PURE_20 / (present * SUCROSE_20.water());
        let moved = (next - a).abs();
        a = next;
        if moved < 1e-12 {
            break;
        }
    }
    Ok(Gravity::new(present)?)
}

/// The rule of thumb, (OG - SG) x 131.25: quick, and up to half a percent off
/// for strong musts. Source: common practice, none published.
pub fn rule_of_thumb(original: Gravity, present: Gravity) -> Abv {
    Abv::clamped((original.get() - present.get()) * RULE_OF_THUMB)
}

/// Original extract from alcohol and real extract (Balling's formula).
pub fn original_extract(alcohol: Abw, real_extract: Plato) -> Result<Plato, SumError> {
    let (a, er) = (alcohol.get(), real_extract.get());
    Ok(Plato::new(
        100.0 * (EXTRACT_PER_ALCOHOL * a + er) / (100.0 + (EXTRACT_PER_ALCOHOL - 1.0) * a),
    )?)
}

/// The original gravity of a drink of which gravity and alcohol are known: the
/// inverse of [`by_volume`] in its first input. Range and error as [`balance`].
pub fn original(present: Gravity, alcohol: Abv) -> Result<Gravity, SumError> {
    let by_mass = Abw::new(alcohol.get() * ETHANOL_PURE_20 / rho_20(present))?;
    let extract = original_extract(by_mass, real_extract(present, by_mass)?)?;
    super::gravity::from_plato(extract)
}

/// Real extract from the present gravity and the alcohol by mass (Tabarie).
pub fn real_extract(present: Gravity, alcohol: Abw) -> Result<Plato, SumError> {
    let water = ethanol_20(alcohol.get() / 100.0) / ETHANOL_WATER_20;
    Ok(Plato::new(100.0 * fraction(present.get() - water + 1.0))?)
}

/// Percent by mass of an ethanol-water mixture of this strength by volume at
/// 20 °C. Source: [`super::source::ALCOHOLOMETRY`].
pub fn mass_of_volume(alcohol: Abv) -> Result<Abw, SumError> {
    let target = alcohol.get() / 100.0 * ETHANOL_PURE_20;
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    let mut p = (target / ETHANOL_WATER_20).min(1.0);
    for _ in 0..60 {
        let miss = p * ethanol_20(p) - target;
        if miss > 0.0 {
            high = p;
        } else {
            low = p;
        }
        let h = 1e-6;
        let slope = ((p + h) * ethanol_20(p + h) - (p - h) * ethanol_20(p - h)) / (2.0 * h);
        let next = p - miss / slope;
        let next = if next > low && next < high {
            next
        } else {
            f64::midpoint(low, high)
        };
        if (next - p).abs() < 1e-13 {
            break;
        }
        p = next;
    }
    Ok(Abw::new(100.0 * p.clamp(0.0, 1.0))?)
}

/// Percent by volume at 20 °C of an ethanol-water mixture of this strength by
/// mass: 100 p rho(p, 20)/rho(1, 20). Source: [`super::source::ALCOHOLOMETRY`].
pub fn volume_of_mass(alcohol: Abw) -> Result<Abv, SumError> {
    let p = alcohol.get() / 100.0;
    Ok(Abv::new(
        (100.0 * p * ethanol_20(p) / ETHANOL_PURE_20).min(100.0),
    )?)
}

/// Share of the fermentable sugar that is gone, (OG - SG)/(OG - FG), 0 to 1.
///
/// Gravity falls nearly in proportion to the sugar used; the apparent drop is
/// used on both sides, so the share is good to about 0.01. The trade's 'third
/// of the sugar gone' is this share at 1/3.
pub fn share_gone(
    original: Gravity,
    present: Gravity,
    final_gravity: Gravity,
) -> Result<Share, SumError> {
    let whole = fermentable(original, final_gravity)?;
    Ok(Share::clamped((original.get() - present.get()) / whole))
}

/// The gravity at which this share of the fermentable sugar is gone: the
/// inverse of [`share_gone`].
pub fn gravity_at_share(
    original: Gravity,
    final_gravity: Gravity,
    share: Share,
) -> Result<Gravity, SumError> {
    let whole = fermentable(original, final_gravity)?;
    Ok(Gravity::new(original.get() - whole * share.get())?)
}

fn fermentable(original: Gravity, final_gravity: Gravity) -> Result<f64, SumError> {
    let whole = original.get() - final_gravity.get();
    if whole < 1e-6 {
        return Err(SumError::Contradiction(format!(
            "the expected final gravity {:.3} is not below the original {:.3}",
            final_gravity.get(),
            original.get()
        )));
    }
    Ok(whole)
}

/// The fall from `earlier` to `later`, positive when gravity went down.
pub fn fallen(earlier: Gravity, later: Gravity) -> GravityDelta {
    GravityDelta::clamped(earlier.get() - later.get())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_third_gone_is_the_break_of_the_trade() {
        // OG - (OG - 1)/3: 1.105 -> 1.070.
        let third = Share::known(1.0 / 3.0);
        let sg = gravity_at_share(Gravity::known(1.105), Gravity::known(1.0), third).unwrap();
        assert!((sg.get() - 1.070).abs() < 1e-9);
    }

    #[test]
    fn balling_with_the_published_example() {
        // A = 4, ER = 4 -> OE 11.764 (A. Speers, Brewing calculations, 2015).
        let oe = original_extract(Abw::known(4.0), Plato::known(4.0)).unwrap();
        assert!((oe.get() - 11.764).abs() < 0.001);
    }

    #[test]
    fn real_attenuation_counts_what_left_as_gas_and_yeast() {
        // The same example: 4 g in what was 104.266 g of must is 3.8363 of 11.764.
        let balance = Balance {
            original_extract: Plato::known(11.764),
            apparent_extract: Plato::known(2.2),
            real_extract: Plato::known(4.0),
            by_mass: Abw::known(4.0),
            by_volume: Abv::known(5.1),
        };
        let gone = balance.real_attenuation();
        assert!((gone.get() - 0.67389).abs() < 2e-5, "{gone:?}");
    }

    #[test]
    fn apparent_attenuation_is_the_share_of_the_extract_that_seems_gone() {
        // By its definition, (OE - AE)/OE: 3 °P seen of 12 °P is three quarters, and
        // a mead that reads below water has more than all gone.
        let seen = |extract: f64| Balance {
            original_extract: Plato::known(12.0),
            apparent_extract: Plato::known(extract),
            real_extract: Plato::known(4.0),
            by_mass: Abw::known(4.0),
            by_volume: Abv::known(5.1),
        };
        assert!((seen(3.0).apparent_attenuation() - 75.0).abs() < 1e-9);
        assert!((seen(-0.6).apparent_attenuation() - 105.0).abs() < 1e-9);
    }

    #[test]
    fn a_fall_is_the_difference() {
        let fall = fallen(Gravity::known(1.050), Gravity::known(1.010));
        assert!((fall.get() - 0.040).abs() < 1e-12);
    }

    #[test]
    fn a_gravity_above_the_original_is_refused() {
        let said = by_volume(Gravity::known(1.050), Gravity::known(1.060))
            .unwrap_err()
            .to_string();
        assert!(said.contains("above the original 1.0500"), "{said}");
    }

    #[test]
    fn the_inverse_finds_the_gravity_again() {
        let og = Gravity::known(1.112);
        let abv = by_volume(og, Gravity::known(1.004)).unwrap();
        let sg = gravity_at(og, abv).unwrap();
        assert!((sg.get() - 1.004).abs() < 1e-8);
        let again = original(sg, abv).unwrap();
        assert!((again.get() - og.get()).abs() < 1e-6, "{again:?}");
    }
}
