//! Stabilising: sulfite and sorbate, their doses and legal maxima.

use super::SumError;
use super::error::within;
use crate::domain::units::{Abv, Celsius, Grams, Litres, MilligramsPerLitre, Ph, Share};

/// The dissociation constant usually taken for sulfurous acid in wine (from
/// memory; thermodynamic tables give 1.77 to 1.86 at 25 °C). It gives the
/// smaller molecular share and so the larger, safer dose.
pub const USUAL_PKA: f64 = 1.81;
/// SO2 in potassium metabisulfite by mass (2 x 64.064 / 222.32).
pub const SO2_IN_POTASSIUM: f64 = 0.5763;
/// SO2 in sodium metabisulfite by mass (2 x 64.064 / 190.10).
pub const SO2_IN_SODIUM: f64 = 0.6740;
/// Sorbic acid in potassium sorbate by mass (112.13 / 150.22).
pub const ACID_IN_SORBATE: f64 = 0.7464;
/// Most total SO2 in US wine, mg/L: 27 CFR 4.22(b)(1).
pub const MOST_TOTAL_SO2: f64 = 350.0;
/// Total SO2 above which skep warns, mg/L (common practice, no source).
pub const MUCH_TOTAL_SO2: f64 = 150.0;
/// Total SO2 from which US law asks for a declaration on wine, mg/L (27 CFR 4.32(e);
/// the part on wine was not opened; 27 CFR 5.32(b)(7), on spirits, has the same figure).
pub const DECLARE_SO2: f64 = 10.0;
/// Molecular SO2 that stings the nose, mg/L (UW-Madison, 2017).
pub const STINGS: f64 = 2.0;
/// Molecular SO2 that can be aimed at, mg/L; 0.6 to 0.8 is usual (Iowa State University
/// Extension). Below 0.2 a dose protects nothing (common practice, no source).
pub const AIMS: std::ops::RangeInclusive<f64> = 0.2..=1.5;
/// Share of a dose that stays free: a half is common practice; published are 35 to 40 %
/// (Australian Wine Research Institute), 40 to 60 % in cider (A. Lea) and 75 % in clean
/// dry wine.
pub const STAYS_FREE: f64 = 0.5;
/// Free SO2 aimed at where the pH is unknown, mg/L (common practice, no source): 0.6 mg/L
/// molecular up to pH 3.7.
pub const WITHOUT_PH: f64 = 50.0;
/// Alcohol below which sorbate can't be relied on, % vol (common practice, no source).
pub const LEAST_ALCOHOL: f64 = 10.0;
/// pH above which sorbate can't be relied on (common practice, no source).
pub const MOST_PH: f64 = 3.7;
/// Sorbic acid usually given, at least, mg/L (common practice, no source).
pub const USUAL_SORBIC_ACID: f64 = 150.0;
/// Most sorbic acid, mg/L: OIV International Code of Oenological Practices
/// II.3.4.5. US law allows 300 (27 CFR 24.246, from memory).
pub const MOST_SORBIC_ACID: f64 = 200.0;

/// Thermodynamic pK1 of SO2 by alcohol (rows 0, 5, 10, 15 % vol) and
/// temperature (20, 25, 30, 35, 40 °C): OIV-MA-AS323-04C, table I.
const PK_TABLE: [[f64; 5]; 4] = [
    [1.798, 2.000, 2.219, 2.334, 2.493],
    [1.897, 2.098, 2.299, 2.397, 2.527],
    [1.997, 2.198, 2.394, 2.488, 2.606],
    [2.099, 2.301, 2.503, 2.607, 2.728],
];

/// Which dissociation constant to use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Constant {
    /// 1.81 for every drink: the usual one, on the safe side when dosing.
    Usual,
    /// By alcohol and temperature, after the OIV method.
    Oiv {
        /// Alcohol of the drink, to 15 % vol.
        alcohol: Abv,
        /// Its temperature, 20 to 40 °C.
        temperature: Celsius,
    },
}

impl Constant {
    /// The pK for the share of molecular SO2.
    ///
    /// OIV: the table's thermodynamic value, linear between its rows, less
    /// A sqrt(I)/(1 + B sqrt(I)) at ionic strength 0.038 with A = 0.509 and
    /// B = 1.6 (Debye-Hueckel in water; the method's own A and B could not be
    /// read: from memory its table II agrees to 0.01).
    /// Source: [`super::source::OIV_SO2`].
    pub fn pk(self) -> Result<f64, SumError> {
        const SUM: &str = "the OIV table of molecular SO2";
        let Self::Oiv {
            alcohol,
            temperature,
        } = self
        else {
            return Ok(USUAL_PKA);
        };
        let a = within(SUM, "alcohol", " % vol", 0.0..=15.0, alcohol.get())? / 5.0;
        let t = within(SUM, "temperature", " °C", 20.0..=40.0, temperature.get())?;
        let t = (t - 20.0) / 5.0;
        let (i, j) = ((a as usize).min(2), (t as usize).min(3));
        let (u, v) = (a - i as f64, t - j as f64);
        let row = |r: &[f64; 5]| r[j] * (1.0 - v) + r[j + 1] * v;
        let pk = row(&PK_TABLE[i]) * (1.0 - u) + row(&PK_TABLE[i + 1]) * u;
        let root = 0.038_f64.sqrt();
        Ok(pk - 0.509 * root / (1.0 + 1.6 * root))
    }
}

/// Share of free SO2 that is molecular: 1/(1 + 10^(pH - pK)), pH 2.5 to 4.5.
pub fn molecular_share(ph: Ph, constant: Constant) -> Result<Share, SumError> {
    let ph = within("molecular SO2", "pH", "", 2.5..=4.5, ph.get())?;
    Ok(Share::new(1.0 / (1.0 + 10f64.powf(ph - constant.pk()?)))?)
}

/// Molecular SO2 of a drink with this free SO2.
pub fn molecular(
    free: MilligramsPerLitre,
    ph: Ph,
    constant: Constant,
) -> Result<MilligramsPerLitre, SumError> {
    Ok(MilligramsPerLitre::new(
        free.get() * molecular_share(ph, constant)?.get(),
    )?)
}

/// Free SO2 that gives this molecular SO2. The usual aim is 0.6 to 0.8 mg/L
/// molecular (Iowa State University Extension).
pub fn free_for(
    molecular: MilligramsPerLitre,
    ph: Ph,
    constant: Constant,
) -> Result<MilligramsPerLitre, SumError> {
    Ok(MilligramsPerLitre::new(
        molecular.get() / molecular_share(ph, constant)?.get(),
    )?)
}

/// Which sulfite is weighed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Salt {
    /// Potassium metabisulfite.
    Potassium,
    /// Sodium metabisulfite.
    Sodium,
}

impl Salt {
    /// SO2 by mass.
    pub fn so2(self) -> f64 {
        match self {
            Self::Potassium => SO2_IN_POTASSIUM,
            Self::Sodium => SO2_IN_SODIUM,
        }
    }
}

/// Free SO2 to aim at: for this much molecular SO2 at a pH, or [`WITHOUT_PH`] where the
/// pH is unknown. Refused outside [`AIMS`].
pub fn aim(molecular: MilligramsPerLitre, ph: Option<Ph>) -> Result<MilligramsPerLitre, SumError> {
    within(
        "a dose of sulfite",
        "molecular SO2",
        " mg/L",
        AIMS,
        molecular.get(),
    )?;
    match ph {
        Some(ph) => free_for(molecular, ph, Constant::Usual),
        None => Ok(MilligramsPerLitre::known(WITHOUT_PH)),
    }
}

/// What a drink holds already and how much of a dose stays free.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Present {
    /// Free SO2 now.
    pub free: MilligramsPerLitre,
    /// Total SO2 now, all doses so far; what is free is a part of it.
    pub total: MilligramsPerLitre,
    /// Share of a dose that stays free; usually [`STAYS_FREE`].
    pub stays_free: Share,
}

/// A dose of sulfite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dose {
    /// How much to weigh.
    pub amount: Grams,
    /// SO2 that it adds.
    pub added: MilligramsPerLitre,
    /// Total SO2 afterwards.
    pub total_after: MilligramsPerLitre,
    /// Above [`MUCH_TOTAL_SO2`].
    pub much: bool,
}

/// Metabisulfite that lifts free SO2 to `target` in `drink`.
///
/// added = (target - free) / share that stays free; grams = added x litres /
/// 1000 / SO2 in the salt. Refused where the total would pass
/// [`MOST_TOTAL_SO2`]. Error: the share that stays free is a guess, so the
/// free SO2 reached may be off by half.
pub fn dose(
    target: MilligramsPerLitre,
    present: Present,
    drink: Litres,
    salt: Salt,
) -> Result<Dose, SumError> {
    let keeps = within(
        "a sulfite dose",
        "the share that stays free",
        "",
        0.1..=1.0,
        present.stays_free.get(),
    )?;
    let added = (target.get() - present.free.get()).max(0.0) / keeps;
    let total = present.total.get().max(present.free.get()) + added;
    if total > MOST_TOTAL_SO2 {
        return Err(SumError::NoAnswer(format!(
            "that would make {total:.0} mg/L of total SO2: US wine may hold at most {MOST_TOTAL_SO2:.0} (27 CFR 4.22)"
        )));
    }
    Ok(Dose {
        amount: Grams::new(added * drink.get() / 1000.0 / salt.so2())?,
        added: MilligramsPerLitre::new(added)?,
        total_after: MilligramsPerLitre::new(total)?,
        much: total > MUCH_TOTAL_SO2,
    })
}

/// A dose of potassium sorbate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sorbate {
    /// How much to weigh.
    pub amount: Grams,
    /// Below [`LEAST_ALCOHOL`] or above [`MOST_PH`] it can't be relied on.
    pub unreliable: bool,
}

/// Potassium sorbate for `acid` mg/L of sorbic acid: grams = acid x litres /
/// 1000 / 0.7464. Refused above [`MOST_SORBIC_ACID`]. Never without sulfite.
pub fn sorbate(
    acid: MilligramsPerLitre,
    drink: Litres,
    alcohol: Abv,
    ph: Option<Ph>,
) -> Result<Sorbate, SumError> {
    if acid.get() > MOST_SORBIC_ACID {
        return Err(SumError::NoAnswer(format!(
            "{:.0} mg/L of sorbic acid is above the limit of {MOST_SORBIC_ACID:.0} (OIV); US law allows 300",
            acid.get()
        )));
    }
    Ok(Sorbate {
        amount: Grams::new(acid.get() * drink.get() / 1000.0 / ACID_IN_SORBATE)?,
        unreliable: alcohol.get() < LEAST_ALCOHOL || ph.is_some_and(|p| p.get() > MOST_PH),
    })
}

/// Potassium sorbate that keeps a clear wine with SO2 from fermenting again, mL of a
/// solution of 30 g/L for each litre: rows 10 to 14 % vol, columns pH 3.1 to 3.5.
/// T. Underhill, Making Better Wines, as reproduced at vawa.net; how it was found is not
/// said there.
const SORBATE_TABLE: [[f64; 5]; 5] = [
    [5.5, 6.0, 7.0, 8.0, 9.0],
    [4.5, 5.0, 6.0, 7.0, 7.5],
    [3.2, 3.5, 4.0, 4.5, 5.0],
    [2.6, 3.0, 3.2, 3.5, 4.0],
    [2.0, 2.2, 2.4, 2.7, 3.0],
];

/// Sorbic acid that a drink of this alcohol and pH needs, at most [`MOST_SORBIC_ACID`].
///
/// Underhill's table, linear between its values; weaker or less sour than its ends the last
/// slope goes on to pH 3.7, and the table's ends hold beyond that. An unknown pH counts as 3.7.
pub fn sorbic_acid_needed(alcohol: Abv, ph: Option<Ph>) -> MilligramsPerLitre {
    let a = (alcohol.get() - 10.0).clamp(0.0, 4.0);
    let p = ((ph.map_or(MOST_PH, Ph::get) - 3.1) * 10.0).clamp(0.0, 6.0);
    let (i, j) = ((a as usize).min(3), (p as usize).min(3));
    let (u, v) = (a - i as f64, p - j as f64);
    let row = |r: &[f64; 5]| r[j] + (r[j + 1] - r[j]) * v;
    let ml = row(&SORBATE_TABLE[i]) * (1.0 - u) + row(&SORBATE_TABLE[i + 1]) * u;
    MilligramsPerLitre::clamped((ml * 30.0 * ACID_IN_SORBATE).min(MOST_SORBIC_ACID))
}

/// Potassium metabisulfite that takes chlorine or chloramine out of water,
/// grams: 6.3 mg/L for 4 mg/L, in proportion (chlorine 70.9 g/mol needs one
/// sulfite, half a metabisulfite 222.3).
pub fn dechlorinate(chlorine: MilligramsPerLitre, water: Litres) -> Result<Grams, SumError> {
    let chlorine = within(
        "dechlorinating",
        "chlorine",
        " mg/L",
        0.0..=10.0,
        chlorine.get(),
    )?;
    Ok(Grams::new(
        chlorine * 222.32 / 2.0 / 70.906 * water.get() / 1000.0,
    )?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_legal_maximum_itself_is_accepted() {
        let present = Present {
            free: MilligramsPerLitre::known(0.0),
            total: MilligramsPerLitre::known(300.0),
            stays_free: Share::known(0.5),
        };
        let (target, drink) = (MilligramsPerLitre::known(25.0), Litres::known(4.0));
        assert!(dose(target, present, drink, Salt::Potassium).is_ok());
    }

    /// The table's own values, as sorbic acid: 5.5 mL of 30 g/L is 165 mg of the salt,
    /// 123 mg of acid; E. Peynaud, Knowing and Making Wine, 1984 (from memory) has 100 at
    /// 12 % vol without a pH.
    #[test]
    fn weaker_and_less_sour_drinks_need_more_sorbate() {
        let needed =
            |a: f64, ph: Option<f64>| sorbic_acid_needed(Abv::known(a), ph.map(Ph::known)).get();
        assert!((needed(10.0, Some(3.1)) - 123.2).abs() < 0.1);
        assert!((needed(14.0, Some(3.1)) - 44.8).abs() < 0.1);
        assert!((needed(12.0, Some(3.4)) - 100.8).abs() < 0.1);
        assert!((needed(11.0, Some(3.35)) - 145.5).abs() < 0.1);
        assert!(needed(12.0, None) > needed(12.0, Some(3.5)));
        assert!((needed(10.0, None) - MOST_SORBIC_ACID).abs() < 1e-9);
        assert!((needed(9.0, Some(3.1)) - needed(10.0, Some(3.1))).abs() < 1e-9);
    }

    #[test]
    fn what_is_free_is_a_part_of_the_total() {
        let present = Present {
            free: MilligramsPerLitre::known(30.0),
            total: MilligramsPerLitre::known(0.0),
            stays_free: Share::known(0.5),
        };
        let (target, drink) = (MilligramsPerLitre::known(79.0), Litres::known(4.0));
        let total = dose(target, present, drink, Salt::Potassium)
            .unwrap()
            .total_after;
        assert!((total.get() - 128.0).abs() < 1e-9);
    }

    #[test]
    fn sorbate_is_unreliable_in_weak_or_hardly_sour_drink() {
        let given = |alcohol, ph: Option<f64>| {
            let (acid, drink) = (MilligramsPerLitre::known(150.0), Litres::known(4.0));
            let ph = ph.map(Ph::known);
            sorbate(acid, drink, Abv::known(alcohol), ph).unwrap()
        };
        assert!(given(12.0, Some(3.9)).unreliable && given(9.0, Some(3.3)).unreliable);
        assert!(!given(12.0, Some(3.3)).unreliable && !given(12.0, None).unreliable);
        // 150 mg/L of acid in 4 L, 0.7464 of the salt: 0.804 g.
        assert!((given(12.0, None).amount.get() - 0.8039).abs() < 1e-3);
    }

    #[test]
    fn the_legal_maximum_is_refused_by_name() {
        let present = Present {
            free: MilligramsPerLitre::known(0.0),
            total: MilligramsPerLitre::known(300.0),
            stays_free: Share::known(0.5),
        };
        let said = dose(
            MilligramsPerLitre::known(50.0),
            present,
            Litres::known(4.0),
            Salt::Potassium,
        )
        .unwrap_err()
        .to_string();
        assert!(said.contains("at most 350 (27 CFR 4.22)"), "{said}");
    }

    #[test]
    fn a_gallon_takes_a_third_of_a_gram() {
        // 50 mg/L in one US gallon: 0.3284 g (molar masses).
        let present = Present {
            free: MilligramsPerLitre::known(0.0),
            total: MilligramsPerLitre::known(0.0),
            stays_free: Share::known(1.0),
        };
        let d = dose(
            MilligramsPerLitre::known(50.0),
            present,
            Litres::known(3.785411784),
            Salt::Potassium,
        )
        .unwrap();
        assert!((d.amount.get() - 0.3284).abs() < 0.001);
    }

    #[test]
    fn alcohol_raises_the_molecular_share() {
        let at = |a| {
            molecular_share(
                Ph::known(3.4),
                Constant::Oiv {
                    alcohol: Abv::known(a),
                    temperature: Celsius::known(20.0),
                },
            )
            .unwrap()
            .get()
        };
        assert!(at(0.0) < at(12.0));
        assert!(
            molecular_share(
                Ph::known(3.4),
                Constant::Oiv {
                    alcohol: Abv::known(12.0),
                    temperature: Celsius::known(12.0),
                }
            )
            .is_err()
        );
    }

    #[test]
    fn four_milligrams_of_chlorine_need_the_published_dose() {
        let g = dechlorinate(MilligramsPerLitre::known(4.0), Litres::known(1.0)).unwrap();
        assert!((g.get() * 1000.0 - 6.3).abs() < 0.1);
    }
}
