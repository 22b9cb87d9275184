//! A result with its error, and how errors go through a sum.

use super::SumError;
use std::fmt;

/// A number with the half-width within which it is believed to lie.
///
/// All half-widths are taken at the same level of belief (a maker's 'plus or
/// minus', about 95 %), and combine as the root of the sum of squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncertain {
    /// The best value.
    pub value: f64,
    /// The half-width, never negative.
    pub plus_minus: f64,
}

impl Uncertain {
    /// A value with its half-width; a negative or absent width counts as zero.
    pub fn new(value: f64, plus_minus: f64) -> Self {
        let plus_minus = if plus_minus.is_finite() {
            plus_minus.abs()
        } else {
            0.0
        };
        Self { value, plus_minus }
    }

    /// A value without error.
    pub fn exact(value: f64) -> Self {
        Self::new(value, 0.0)
    }

    /// With a further, independent error added.
    #[must_use]
    pub fn and(self, plus_minus: f64) -> Self {
        Self::new(self.value, self.plus_minus.hypot(plus_minus))
    }

    /// How many decimals the value deserves: the error keeps one digit, or
    /// two when it begins with 1. `None` for an exact value.
    pub fn decimals(self) -> Option<usize> {
        if self.plus_minus <= 0.0 || !self.value.is_finite() {
            return None;
        }
        let order = self.plus_minus.log10().floor();
        let lead = self.plus_minus / 10f64.powf(order);
        let keep = if lead < 1.95 { 1.0 } else { 0.0 };
        Some((keep - order).clamp(0.0, 6.0) as usize)
    }

    /// The value with the digits it deserves, at most `most` decimals.
    pub fn text(self, most: usize) -> String {
        let decimals = self.decimals().map_or(most, |d| d.min(most));
        format!("{:.decimals$}", self.value)
    }
}

impl fmt::Display for Uncertain {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.decimals() {
            Some(d) => write!(f, "{:.d$} ± {:.d$}", self.value, self.plus_minus),
            None => write!(f, "{}", self.value),
        }
    }
}

/// Carries the errors of the inputs through `sum`.
///
/// Each input is moved to both ends of its error in turn; half the change it
/// makes is its share; the shares combine as the root of the sum of squares
/// (JCGM 100:2008, 5.1.2, with the derivative taken over the whole error).
/// Where one end lies outside the sum's range the other end alone is used.
pub fn propagate<const N: usize>(
    inputs: [Uncertain; N],
    sum: impl Fn([f64; N]) -> Result<f64, SumError>,
) -> Result<Uncertain, SumError> {
    let centre = inputs.map(|x| x.value);
    let value = sum(centre)?;
    let mut squares = 0.0;
    for (i, input) in inputs.iter().enumerate() {
        if input.plus_minus == 0.0 {
            continue;
        }
        let at = |side: f64| {
            let mut moved = centre;
            moved[i] += side * input.plus_minus;
            sum(moved)
        };
        let share = match (at(1.0), at(-1.0)) {
            (Ok(high), Ok(low)) => (high - low) / 2.0,
            (Ok(end), Err(_)) | (Err(_), Ok(end)) => end - value,
            (Err(error), Err(_)) => return Err(error),
        };
        squares += share * share;
    }
    Ok(Uncertain::new(value, squares.sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sum_of_two_errs_by_the_root_of_the_squares() {
        let got = propagate(
            [Uncertain::new(1.0, 0.3), Uncertain::new(2.0, 0.4)],
            |[a, b]| Ok(a + b),
        )
        .unwrap();
        assert!((got.plus_minus - 0.5).abs() < 1e-12);
        assert_eq!(got.to_string(), "3.0 ± 0.5");
    }

    #[test]
    fn digits_follow_the_error() {
        assert_eq!(Uncertain::new(13.5089, 0.42).to_string(), "13.5 ± 0.4");
        assert_eq!(Uncertain::new(13.5089, 0.14).to_string(), "13.51 ± 0.14");
        assert_eq!(Uncertain::new(1.0422, 0.001).text(4), "1.0422");
        assert_eq!(Uncertain::exact(2.0).decimals(), None);
    }
}
