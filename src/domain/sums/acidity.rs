//! Titratable acidity and its corrections, as far as they can be honest.
//!
//! No sum here tells pH from acidity: that hangs on the buffers of each must.
//! A trial on a small sample tells it, and scales exactly.

use super::SumError;
use super::error::within;
use crate::domain::units::{Grams, GramsPerLitre, Litres, Ph};

/// Acids in which titratable acidity is stated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Acid {
    /// Of grapes; the usual unit.
    Tartaric,
    /// Of apples.
    Malic,
    /// Of berries and lemons.
    Citric,
    /// Of bacteria.
    Lactic,
    /// As some countries state it.
    Sulfuric,
}

impl Acid {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Tartaric,
        Self::Malic,
        Self::Citric,
        Self::Lactic,
        Self::Sulfuric,
    ];

    /// Grams that give up one mole of protons: molar mass over protons
    /// (150.087/2, 134.088/2, 192.124/3, 90.078, 98.078/2).
    pub fn equivalent(self) -> f64 {
        match self {
            Self::Tartaric => 75.043,
            Self::Malic => 67.044,
            Self::Citric => 64.041,
            Self::Lactic => 90.078,
            Self::Sulfuric => 49.039,
        }
    }

    /// As printed.
    pub fn name(self) -> &'static str {
        match self {
            Self::Tartaric => "tartaric",
            Self::Malic => "malic",
            Self::Citric => "citric",
            Self::Lactic => "lactic",
            Self::Sulfuric => "sulfuric",
        }
    }
}

/// The same acidity stated as another acid, by equivalents: exact.
pub fn restate(acidity: GramsPerLitre, from: Acid, to: Acid) -> Result<GramsPerLitre, SumError> {
    Ok(GramsPerLitre::new(
        acidity.get() / from.equivalent() * to.equivalent(),
    )?)
}

/// Grams of an acid that lift the acidity (as tartaric) from `now` to `aim`.
/// By equivalents; the volume of the acid is left out (below 0.5 %).
pub fn raise(
    now: GramsPerLitre,
    aim: GramsPerLitre,
    drink: Litres,
    acid: Acid,
) -> Result<Grams, SumError> {
    let more = upward(now, aim)?;
    Ok(Grams::new(
        more / Acid::Tartaric.equivalent() * acid.equivalent() * drink.get(),
    )?)
}

fn upward(now: GramsPerLitre, aim: GramsPerLitre) -> Result<f64, SumError> {
    let more = aim.get() - now.get();
    if more < 0.0 {
        return Err(SumError::Contradiction(format!(
            "the acidity {:.1} g/L is already above {:.1}: lower it instead",
            now.get(),
            aim.get()
        )));
    }
    Ok(more)
}

/// Salts that take acid away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Salt {
    /// Potassium bicarbonate; also brings potassium, 0.39 of its mass.
    PotassiumBicarbonate,
    /// Calcium carbonate; acts on tartaric acid, needs months to settle.
    CalciumCarbonate,
}

impl Salt {
    /// Grams that take up one mole of protons: 100.115, and 100.087/2.
    pub fn equivalent(self) -> f64 {
        match self {
            Self::PotassiumBicarbonate => 100.115,
            Self::CalciumCarbonate => 50.043,
        }
    }
}

/// Grams of a salt that lower the acidity (as tartaric) from `now` to `aim`,
/// by neutralisation alone. What crystallises as tartrate in the cold lowers
/// it further, so add it in steps and measure. Most 2 g/L at once (common
/// practice, no source).
pub fn lower(
    now: GramsPerLitre,
    aim: GramsPerLitre,
    drink: Litres,
    salt: Salt,
) -> Result<Grams, SumError> {
    let less = now.get() - aim.get();
    if less < 0.0 {
        return Err(SumError::Contradiction(format!(
            "the acidity {:.1} g/L is already below {:.1}: raise it instead",
            now.get(),
            aim.get()
        )));
    }
    let less = within(
        "lowering acidity at once",
        "the step",
        " g/L",
        0.0..=2.0,
        less,
    )?;
    Ok(Grams::new(
        less / Acid::Tartaric.equivalent() * salt.equivalent() * drink.get(),
    )?)
}

/// A trial on a sample: so much added moved its pH.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trial {
    /// Volume of the sample.
    pub sample: Litres,
    /// What was added to it.
    pub added: Grams,
    /// pH before.
    pub before: Ph,
    /// pH after.
    pub after: Ph,
}

/// The addition that brings a drink to `aim`, scaled from a trial.
///
/// Straight line through the trial: good near it (0.3 pH), refused beyond one
/// and a half times the trial's own step.
pub fn from_trial(trial: Trial, aim: Ph, drink: Litres) -> Result<Grams, SumError> {
    let moved = trial.after.get() - trial.before.get();
    if moved.abs() < 0.02 || trial.sample.get() <= 0.0 {
        return Err(SumError::NoAnswer(
            "the trial moved the pH by less than 0.02: add more and measure again".to_owned(),
        ));
    }
    let part = within(
        "a trial's scaling",
        "the step, in trials,",
        "",
        0.0..=1.5,
        (aim.get() - trial.before.get()) / moved,
    )?;
    Ok(Grams::new(
        part * trial.added.get() * drink.get() / trial.sample.get(),
    )?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gram_of_tartaric_per_litre_raises_by_one() {
        let g = raise(
            GramsPerLitre::known(5.0),
            GramsPerLitre::known(6.0),
            Litres::known(4.0),
            Acid::Tartaric,
        )
        .unwrap();
        assert!((g.get() - 4.0).abs() < 1e-9);
    }

    #[test]
    fn a_gram_per_litre_less_takes_what_the_molar_masses_say() {
        // IUPAC atomic weights: KHCO3 100.115, CaCO3 100.087 for two protons,
        // tartaric acid 150.087 with two: 1.334 and 0.667 g a litre.
        for (salt, per_litre) in [
            (Salt::PotassiumBicarbonate, 1.3341),
            (Salt::CalciumCarbonate, 0.6669),
        ] {
            let (now, aim) = (GramsPerLitre::known(7.0), GramsPerLitre::known(6.0));
            let salt = lower(now, aim, Litres::known(4.0), salt).unwrap();
            assert!((salt.get() - 4.0 * per_litre).abs() < 1e-3, "{salt:?}");
        }
    }

    #[test]
    fn a_trial_scales_to_the_vessel() {
        let trial = Trial {
            sample: Litres::known(0.1),
            added: Grams::known(0.05),
            before: Ph::known(3.0),
            after: Ph::known(3.3),
        };
        let g = from_trial(trial, Ph::known(3.3), Litres::known(4.0)).unwrap();
        assert!((g.get() - 2.0).abs() < 1e-9);
        assert!(from_trial(trial, Ph::known(4.0), Litres::known(4.0)).is_err());
        assert!(from_trial(trial, Ph::known(2.9), Litres::known(4.0)).is_err());
    }
}
