//! Exponential and logarithm that the compiler can run two at a time: short
//! polynomials, relative error below 1e-8, for the inner loops alone.

use std::f64::consts::{LN_2, LOG2_E};

/// Adding this rounds to a whole number and leaves it in the low bits.
const ROUND: f64 = 6_755_399_441_055_744.0; // 1.5 x 2^52

/// `e^x`; below -700 it stays at the smallest.
#[inline]
pub(crate) fn exp(x: f64) -> f64 {
    let x = x.clamp(-700.0, 700.0);
    let shifted = x * LOG2_E + ROUND;
    let whole = shifted - ROUND;
    let r = x - whole * LN_2;
    // Taylor's series; |r| is at most 0.35.
    let mut sum = 1.0 / 5040.0;
    for c in [
        1.0 / 720.0,
        1.0 / 120.0,
        1.0 / 24.0,
        1.0 / 6.0,
        0.5,
        1.0,
        1.0,
    ] {
        sum = sum * r + c;
    }
    let power = f64::from_bits(shifted.to_bits().wrapping_add(1023) << 52);
    sum * power
}

/// Natural logarithm of a positive normal number.
#[inline]
pub(crate) fn ln(x: f64) -> f64 {
    const HALF_ROOT: u64 = 0x3FE6_A09E_667F_3BCD; // bits of sqrt(1/2)
    const ONE: u64 = 1023 << 52;
    // 2^52 as bits: a whole number below 2^52 put into them is that number more.
    const WHOLE: u64 = 0x4330_0000_0000_0000;
    let bits = x.to_bits();
    let moved = bits.wrapping_sub(HALF_ROOT);
    let biased = f64::from_bits((moved.wrapping_add(ONE) >> 52) | WHOLE);
    let power = biased - (4_503_599_627_370_496.0 + 1023.0);
    let mantissa = f64::from_bits((moved & 0x000F_FFFF_FFFF_FFFF).wrapping_add(HALF_ROOT));
    let s = (mantissa - 1.0) / (mantissa + 1.0);
    let q = s * s;
    // Twice the inverse hyperbolic tangent; |s| is at most 0.172.
    let series = 2.0 + q * (2.0 / 3.0 + q * (2.0 / 5.0 + q * (2.0 / 7.0 + q * (2.0 / 9.0))));
    power * LN_2 + s * series
}

#[cfg(test)]
mod tests {
    #[test]
    fn agree_with_the_standard_ones() {
        for i in -6000..=6000 {
            let x = f64::from(i) * 0.01;
            assert!((super::exp(x) / x.exp() - 1.0).abs() < 1e-8, "exp {x}");
            let y = x.exp();
            assert!((super::ln(y) - x).abs() < 1e-8 * x.abs().max(1.0), "ln {y}");
        }
    }
}
