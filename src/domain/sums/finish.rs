//! What the yeast can and cannot finish: expected final gravity and alcohol.

use super::alcohol::{EXTRACT_PER_ALCOHOL, YEAST_PER_ALCOHOL};
use super::density::{ETHANOL_PURE_20, ETHANOL_WATER_20, ethanol_20};
use super::error::within;
use super::gravity::{fraction, rho_20, sg};
use super::{SumError, alcohol};
use crate::domain::units::{Abv, GramsPerLitre, Gravity, Plato, Share};

/// Share of the extract of honey, juice or sugar that disappears in a ferment
/// taken to dryness; the rest is what yeast leaves or makes (glycerol, acids).
/// Chosen so that such musts end at about 0.997, the middle of 0.994 to 1.000
/// (common practice, no source).
pub const DRY_SHARE: f64 = 0.86;
/// The same for a wort of malt: ends with 75 % apparent attenuation
/// (common practice, no source).
pub const WORT_SHARE: f64 = 0.61;
/// Half-width of the expected final gravity: 0.994 to 1.000 for dry ones
/// (common practice, no source).
pub const FINAL_ERROR: f64 = 0.004;

/// What stops the ferment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StoppedBy {
    /// All the sugar that the yeast can use is gone.
    SugarGone,
    /// The alcohol reaches what the yeast bears; sugar is left.
    Tolerance,
}

/// The expected end of a ferment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Finish {
    /// Expected final gravity.
    pub gravity: Gravity,
    /// Expected alcohol by volume.
    pub alcohol: Abv,
    /// Real extract at the end.
    pub real_extract: Plato,
    /// Fermentable sugar that is left, per litre.
    pub sugar_left: GramsPerLitre,
    /// What stops it.
    pub stopped_by: StoppedBy,
}

/// After `used` of each gram of must has been fermented, as mass fractions:
/// alcohol and real extract of what remains.
fn after(oe: f64, used: f64) -> (f64, f64) {
    let ethanol = used / EXTRACT_PER_ALCOHOL;
    let rest = 1.0 - (EXTRACT_PER_ALCOHOL - 1.0) * ethanol;
    (ethanol / rest, (oe - used) / rest)
}

fn by_volume(oe: f64, used: f64) -> f64 {
    let (a, er) = after(oe, used);
    let present = sg(er) + ethanol_20(a) / ETHANOL_WATER_20 - 1.0;
    100.0 * a * present * sg_unit() / ETHANOL_PURE_20
}

fn sg_unit() -> f64 {
    rho_20(Gravity::known(1.0))
}

/// The expected end of a must.
///
/// `fermentable` is the share of the original extract that can disappear
/// ([`DRY_SHARE`], [`WORT_SHARE`]); `tolerance` the alcohol that the yeast
/// bears, if known. Balling's balance run forward, Tabarie's gravity at the
/// end. Range: original 0 to 50 °P. Error about 0.004 in gravity
/// ([`FINAL_ERROR`]), and the yeast's tolerance is itself no sharp number.
pub fn finish(
    original: Gravity,
    fermentable: Share,
    tolerance: Option<Abv>,
) -> Result<Finish, SumError> {
    let oe = within(
        "the expected end of a ferment",
        "original extract",
        " °P",
        0.0..=50.0,
        100.0 * fraction(original.get()),
    )? / 100.0;
    let all = oe * fermentable.get();
    let limit = tolerance.map_or(100.0, Abv::get);
    let (used, stopped_by) = if by_volume(oe, all) <= limit {
        (all, StoppedBy::SugarGone)
    } else {
        (used_at(oe, all, limit), StoppedBy::Tolerance)
    };
    let (a, er) = after(oe, used);
    let gravity = Gravity::new(sg(er) + ethanol_20(a) / ETHANOL_WATER_20 - 1.0)?;
    let rest = 1.0 - (EXTRACT_PER_ALCOHOL - 1.0) * used / EXTRACT_PER_ALCOHOL;
    Ok(Finish {
        gravity,
        alcohol: Abv::new(by_volume(oe, used))?,
        real_extract: Plato::new(100.0 * er)?,
        sugar_left: GramsPerLitre::new(((all - used) / rest).max(0.0) * rho_20(gravity))?,
        stopped_by,
    })
}

/// Extract used, per gram of must, when the alcohol stands at `limit` % vol.
fn used_at(oe: f64, all: f64, limit: f64) -> f64 {
    let (mut low, mut high) = (0.0, all);
    for _ in 0..45 {
        let middle = f64::midpoint(low, high);
        if by_volume(oe, middle) < limit {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// The original gravity that a must needs to end with this alcohol, dry.
pub fn original_for(target: Abv, fermentable: Share) -> Result<Gravity, SumError> {
    const STRONGEST: f64 = 0.50;
    let f = fermentable.get();
    let miss = |oe: f64| by_volume(oe, oe * f) - target.get();
    if miss(STRONGEST) < 0.0 {
        return Err(SumError::NoAnswer(format!(
            "no must within 50 °P ends with {:.1} % vol",
            target.get()
        )));
    }
    // The alcohol grows a little faster than the extract: a secant from below
    // and above closes in at once.
    let (mut a, mut b) = (
        0.0,
        STRONGEST * target.get() / by_volume(STRONGEST, STRONGEST * f),
    );
    let (mut at_a, mut at_b) = (-target.get(), miss(b));
    for _ in 0..20 {
        if at_b.abs() < 1e-10 || (at_b - at_a).abs() < 1e-15 {
            break;
        }
        let next = (b - at_b * (b - a) / (at_b - at_a)).clamp(0.0, STRONGEST);
        (a, at_a, b, at_b) = (b, at_b, next, miss(next));
    }
    Ok(Gravity::new(sg(b))?)
}

/// Grams of CO2 that leave a litre while gravity falls from `present` to
/// `end`, by the balance; yeast grown is counted as the balance does.
pub fn co2_per_litre(
    original: Gravity,
    present: Gravity,
    end: Gravity,
) -> Result<GramsPerLitre, SumError> {
    if end > present {
        return Err(SumError::Contradiction(format!(
            "the end {:.4} lies above the present gravity {:.4}",
            end.get(),
            present.get()
        )));
    }
    let per_gram = |at: Gravity| -> Result<f64, SumError> {
        let a = alcohol::by_mass(original, at)?.get() / 100.0;
        Ok(a / (1.0 + (EXTRACT_PER_ALCOHOL - 1.0) * a))
    };
    let made = per_gram(end)? - per_gram(present)?;
    let co2 = made * (EXTRACT_PER_ALCOHOL - 1.0 - YEAST_PER_ALCOHOL);
    Ok(GramsPerLitre::new((co2 * rho_20(original)).max(0.0))?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dry_mead_ends_where_the_trade_says() {
        for og in [1.05, 1.08, 1.1, 1.12] {
            let end = finish(Gravity::known(og), Share::known(DRY_SHARE), None).unwrap();
            assert!((0.994..=1.000).contains(&end.gravity.get()), "{end:?}");
        }
    }

    #[test]
    fn the_tolerance_leaves_sugar() {
        let end = finish(
            Gravity::known(1.130),
            Share::known(DRY_SHARE),
            Some(Abv::known(14.0)),
        )
        .unwrap();
        assert_eq!(end.stopped_by, StoppedBy::Tolerance);
        assert!((end.alcohol.get() - 14.0).abs() < 1e-6);
        assert!(end.gravity.get() > 1.02 && end.sugar_left.get() > 40.0);
    }

    #[test]
    fn a_point_of_gravity_is_half_a_volume_of_gas() {
        // Practice figure derived from the balance: about 0.5 volume per 0.001.
        let g = co2_per_litre(
            Gravity::known(1.090),
            Gravity::known(1.002),
            Gravity::known(1.001),
        )
        .unwrap();
        assert!((g.get() / 1.9768 - 0.5).abs() < 0.05, "{g:?}");
    }
}
