//! Density of water, of sugar in water, of ethanol in water, and of a must
//! that holds both.

use super::SumError;
use super::error::within;
use crate::domain::units::{Abw, Celsius, Density, Plato};

/// Coefficients of the sucrose equation, `SUCROSE_A[j][i]` for tau^j and
/// w^(i+1), kg/m³ (Bubnik et al. 1995, p. 164). Two transcriptions agree but
/// for `A[0]` of w^4, -3.9643 or -3.9646: at most 0.00016 kg/m³ up to 85 %.
const SUCROSE_A: [[f64; 6]; 5] = [
    [385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890],
    [-46.2720, -7.1720, 1.1597, 5.1126, 17.5254, 0.0],
    [59.7712, 7.2491, 12.3630, -35.4791, 0.0, 0.0],
    [-47.2207, -21.6977, 27.6301, 0.0, 0.0, 0.0],
    [18.3184, 12.3081, 0.0, 0.0, 0.0, 0.0],
];

/// Terms in p of the ethanol-water formula at 20 °C (OIML R 22, A1 to A12).
const ETHANOL_A: [f64; 12] = [
    9.982012300e2,
    -1.929769495e2,
    3.891238958e2,
    -1.668103923e3,
    1.352215441e4,
    -8.829278388e4,
    3.062874042e5,
    -6.138381234e5,
    7.470172998e5,
    -5.478461354e5,
    2.234460334e5,
    -3.903285426e4,
];
/// Terms in temperature of pure water (OIML R 22, B1 to B6).
const ETHANOL_B: [f64; 6] = [
    -2.0618513e-1,
    -5.2682542e-3,
    3.6130013e-5,
    -3.8957702e-7,
    7.1693540e-9,
    -9.9739231e-11,
];
/// Mixed terms, row i for (t-20)^(i+1), column k for p^(k+1) (OIML R 22, C).
const ETHANOL_C: [&[f64]; 5] = [
    &[
        1.693443461530087e-1,
        -1.046914743455169e1,
        7.196353469546523e1,
        -7.047478054272792e2,
        3.924090430035045e3,
        -1.210164659068747e4,
        2.248646550400788e4,
        -2.605562982188164e4,
        1.852373922069467e4,
        -7.420201433430137e3,
        1.285617841998974e3,
    ],
    &[
        -1.19301300505701e-2,
        2.517399633803461e-1,
        -2.170575700536993,
        1.353034988843029e1,
        -5.029988758547014e1,
        1.09635566657757e2,
        -1.422753946421155e2,
        1.08043594285623e2,
        -4.414153236817392e1,
        7.442971530188783,
    ],
    &[
        -6.802995733503803e-4,
        1.876837790289664e-2,
        -2.002561813734156e-1,
        1.02299296671922,
        -2.895696483903638,
        4.810060584300675,
        -4.672147440794683,
        2.458043105903461,
        -5.411227621436812e-1,
    ],
    &[
        4.075376675622027e-6,
        -8.76305857347111e-6,
        6.515031360099368e-6,
        -1.51578483698721e-6,
    ],
    &[-2.788074354782409e-8, 1.345612883493354e-8],
];

/// Water of the sucrose equation at t °C, kg/m³.
pub(crate) const fn water_raw(t: f64) -> f64 {
    let top = 999.83952
        + t * (16.952577
            + t * (-7.9905127e-3 + t * (-46.241757e-6 + t * (105.84601e-9 - t * 281.03006e-12))));
    top / (1.0 + 16.887236e-3 * t)
}

/// The sucrose equation with the temperature already put in: a polynomial in w.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SucroseAt {
    water: f64,
    terms: [f64; 6],
}

/// The sucrose equation at 20 °C.
pub(crate) const SUCROSE_20: SucroseAt = SucroseAt::new(20.0);
/// The sucrose equation at 60 °F.
pub(crate) const SUCROSE_60F: SucroseAt = SucroseAt::new(T_60F);
/// 60 °F in °C, exactly (60 - 32) / 1.8.
pub(crate) const T_60F: f64 = 28.0 / 1.8;

impl SucroseAt {
    pub(crate) const fn new(t: f64) -> Self {
        let tau = (t - 20.0) / 100.0;
        let mut terms = SUCROSE_A[4];
        let mut j = 4;
        while j > 0 {
            j -= 1;
            let mut i = 0;
            while i < 6 {
                terms[i] = terms[i] * tau + SUCROSE_A[j][i];
                i += 1;
            }
        }
        Self {
            water: water_raw(t),
            terms,
        }
    }

    /// Water of this temperature, kg/m³.
    pub(crate) const fn water(&self) -> f64 {
        self.water
    }

    /// Density in kg/m³ at mass fraction `w`.
    pub(crate) const fn density(&self, w: f64) -> f64 {
        let [a, b, c, d, e, f] = self.terms;
        self.water + w * (a + w * (b + w * (c + w * (d + w * (e + w * f)))))
    }

    /// What the density gains for mass fraction, kg/m³ from none to all.
    pub(crate) const fn slope(&self, w: f64) -> f64 {
        let [a, b, c, d, e, f] = self.terms;
        a + w * (2.0 * b + w * (3.0 * c + w * (4.0 * d + w * (5.0 * e + w * 6.0 * f))))
    }

    /// Mass fraction whose density is `rho`: Newton from a quadratic start;
    /// the equation is monotonic from -0.2 to 0.9.
    pub(crate) fn fraction(&self, rho: f64) -> f64 {
        let y = (rho - self.water) / self.terms[0];
        let mut w = y * (1.0 - y * (0.35 - 0.14 * y));
        for _ in 0..8 {
            let step = (self.density(w) - rho) / self.slope(w);
            w -= step;
            if step.abs() < 1e-9 {
                break;
            }
        }
        w
    }
}

/// Powers of p in the ethanol formula beside the first.
const POWERS: usize = ETHANOL_A.len() - 1;

/// The mixed terms as a table with all powers of p in every row.
const ETHANOL_MIXED: [[f64; POWERS]; ETHANOL_C.len()] = {
    let mut full = [[0.0; POWERS]; ETHANOL_C.len()];
    let mut i = 0;
    while i < ETHANOL_C.len() {
        let mut k = 0;
        while k < ETHANOL_C[i].len() {
            full[i][k] = ETHANOL_C[i][k];
            k += 1;
        }
        i += 1;
    }
    full
};

/// What alcohol does to the density of water, with the temperature already put
/// in: the terms of the ethanol formula that hold p, as a polynomial in p.
#[derive(Debug, Clone, Copy)]
pub(crate) struct AlcoholAt {
    /// Of p, p², ... at this temperature less the same at 20 °C.
    away: [f64; POWERS],
}

impl AlcoholAt {
    pub(crate) fn new(t: f64) -> Self {
        let d = t - 20.0;
        let mut away = [0.0; POWERS];
        for row in ETHANOL_MIXED.iter().rev() {
            for (sum, term) in away.iter_mut().zip(row) {
                *sum = *sum * d + term;
            }
        }
        Self {
            away: away.map(|sum| sum * d),
        }
    }

    /// By how much alcohol of mass fraction `p` changes the density, kg/m³
    /// (negative), and what that gains for p.
    pub(crate) fn lowers(&self, p: f64) -> (f64, f64) {
        let (mut sum, mut slope) = (0.0, 0.0);
        for (at_20, away) in ETHANOL_A[1..].iter().zip(&self.away).rev() {
            slope = slope * p + sum;
            sum = sum * p + (at_20 + away);
        }
        (sum * p, slope * p + sum)
    }

    /// The same at 20 °C less that at this temperature.
    pub(crate) fn nearer_20(&self, p: f64) -> f64 {
        -horner(&self.away, p) * p
    }
}

/// Density of ethanol-water, kg/m³, at mass fraction `p` and t °C.
pub(crate) fn ethanol_raw(p: f64, t: f64) -> f64 {
    let d = t - 20.0;
    ETHANOL_A[0] + horner(&ETHANOL_B, d) * d + AlcoholAt::new(t).lowers(p).0
}

/// The same at 20 °C, where only the first row counts.
pub(crate) fn ethanol_20(p: f64) -> f64 {
    horner(&ETHANOL_A, p)
}

/// Water of the ethanol formula at 20 °C, kg/m³ (OIML R 22, A1).
pub(crate) const ETHANOL_WATER_20: f64 = ETHANOL_A[0];
/// Pure ethanol at 20 °C, kg/m³: the sum of A1 to A12.
pub(crate) const ETHANOL_PURE_20: f64 = {
    let mut sum = 0.0;
    let mut k = 0;
    while k < 12 {
        sum += ETHANOL_A[k];
        k += 1;
    }
    sum
};

pub(crate) fn horner(terms: &[f64], x: f64) -> f64 {
    terms.iter().rev().fold(0.0, |sum, a| sum * x + a)
}

/// Density of water, kg/m³, at the pressure of the air, 0 to 60 °C.
///
/// Error against IAPWS-95: 0.005 kg/m³. Source: the water line that belongs
/// to the sucrose equation ([`super::source::SUCROSE`]).
///
/// ```
/// use skep::domain::{sums::density, units::Celsius};
/// let rho = density::water(Celsius::known(20.0))?;
/// assert!((rho.get() - 998.207).abs() < 0.006); // IAPWS-95
/// # Ok::<(), skep::domain::sums::SumError>(())
/// ```
pub fn water(t: Celsius) -> Result<Density, SumError> {
    let t = within(
        "the density of water",
        "temperature",
        " °C",
        0.0..=60.0,
        t.get(),
    )?;
    Ok(Density::new(water_raw(t))?)
}

/// Density of sucrose in water, kg/m³, 0 to 85 % by mass and 0 to 60 °C.
///
/// rho(w, t) = rho_w(t) + sum A\[j\]\[i\] w^i tau^j, tau = (t - 20)/100.
/// Against the handbook table at 20 °C: 0.10 kg/m³ to 40 %, 0.5 to 80 %, where
/// the table is the older work. Slightly negative extract (down to -15 °P, a
/// dry ferment) continues the same polynomial: a definition of apparent
/// extract, not a measurement. Source: [`super::source::SUCROSE`].
pub fn sucrose(extract: Plato, t: Celsius) -> Result<Density, SumError> {
    let t = within(
        "the density of sugar solutions",
        "temperature",
        " °C",
        0.0..=60.0,
        t.get(),
    )?;
    Ok(Density::new(
        SucroseAt::new(t).density(extract.get() / 100.0),
    )?)
}

/// Density of ethanol in water, kg/m³, 0 to 100 % by mass and -20 to 40 °C.
///
/// Against the handbook table at 20 °C: 0.12 kg/m³ to 30 %, 0.28 above.
/// Source: [`super::source::ALCOHOLOMETRY`].
pub fn ethanol(alcohol: Abw, t: Celsius) -> Result<Density, SumError> {
    let t = within(
        "the alcoholometric formula",
        "temperature",
        " °C",
        -20.0..=40.0,
        t.get(),
    )?;
    Ok(Density::new(ethanol_raw(alcohol.get() / 100.0, t))?)
}

/// Density of a must with real extract and alcohol, kg/m³, 0 to 40 °C.
///
/// rho = rho(sucrose solution of the extract) + rho(ethanol-water of the
/// alcohol) - rho(water): Tabarie's relation taken at the temperature of the
/// must. No table was found to check it with sugar and alcohol together away
/// from 20 °C. Source: [`super::source::TABARIE`].
pub fn must(real_extract: Plato, alcohol: Abw, t: Celsius) -> Result<Density, SumError> {
    let t = within(
        "the density of a must",
        "temperature",
        " °C",
        0.0..=40.0,
        t.get(),
    )?;
    let sugar = SucroseAt::new(t);
    Ok(Density::new(
        sugar.density(real_extract.get() / 100.0) + alcohol_lowers(alcohol.get() / 100.0, t),
    )?)
}

/// What alcohol does to the density at t, kg/m³ (negative).
pub(crate) fn alcohol_lowers(p: f64, t: f64) -> f64 {
    if p <= 0.0 {
        return 0.0;
    }
    AlcoholAt::new(t).lowers(p).0
}
