//! The normal distribution, as far as the engine needs it.

/// Probability that a standard normal quantity lies below `x`.
///
/// By the complementary error function of W. H. Press et al., Numerical
/// Recipes in C, 2nd ed., section 6.2 (`erfcc`): relative error below 1.2e-7.
pub(crate) fn below(x: f64) -> f64 {
    let z = x.abs() / std::f64::consts::SQRT_2;
    let t = 1.0 / (1.0 + 0.5 * z);
    let series = [
        -1.26551223,
        1.00002368,
        0.37409196,
        0.09678418,
        -0.18628806,
        0.27886807,
        -1.13520398,
        1.48851587,
        -0.82215223,
        0.17087277,
    ];
    let poly = series.iter().rev().fold(0.0, |sum, c| sum * t + c);
    let tail = 0.5 * t * (-z * z + poly).exp();
    if x < 0.0 { tail } else { 1.0 - tail }
}

/// Probability that it lies between `a` and `b`, reckoned in the tail on the side
/// where that is accurate; 0 where they are the other way round.
pub(crate) fn between(a: f64, b: f64) -> f64 {
    if b <= a {
        0.0
    } else if a > 0.0 {
        below(-a) - below(-b)
    } else {
        below(b) - below(a)
    }
}

/// The value below which a standard normal quantity lies with probability `p`.
///
/// Bisection of [`below`]; only for tables made once.
pub(crate) fn quantile(p: f64) -> f64 {
    let (mut lo, mut hi) = (-8.0, 8.0);
    for _ in 0..60 {
        let mid = 0.5 * (lo + hi);
        if below(mid) < p { lo = mid } else { hi = mid }
    }
    0.5 * (lo + hi)
}

/// Normal distributions of which each holds by its weight.
#[derive(Debug, Default)]
pub(crate) struct Mixture {
    weight: f64,
    sum: f64,
    square: f64,
}

impl Mixture {
    /// One more of them.
    pub(crate) fn add(&mut self, mean: f64, sd: f64, weight: f64) {
        self.weight += weight;
        self.sum += weight * mean;
        self.square += weight * (mean * mean + sd * sd);
    }

    /// What they weigh together.
    pub(crate) fn weight(&self) -> f64 {
        self.weight
    }

    /// Mean and variance of the whole: within them and between them.
    pub(crate) fn mean_and_variance(&self) -> (f64, f64) {
        let mean = self.sum / self.weight;
        (mean, (self.square / self.weight - mean * mean).max(0.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn agrees_with_the_table() {
        // Abramowitz and Stegun, Handbook of Mathematical Functions, table 26.1.
        for (x, p) in [
            (0.0, 0.5),
            (1.0, 0.8413447),
            (1.96, 0.9750021),
            (3.0, 0.9986501),
        ] {
            assert!((below(x) - p).abs() < 2e-7);
            assert!((below(-x) - (1.0 - p)).abs() < 2e-7);
        }
        assert!((quantile(0.9) - 1.2815516).abs() < 1e-5);
        assert!((between(-1.96, 1.0) - (0.8413447 - (1.0 - 0.9750021))).abs() < 4e-7);
        // The upper tail beyond six is 9.8659e-10, though one less it is not.
        assert!((between(6.0, 40.0) / 9.8659e-10 - 1.0).abs() < 1e-4);
        assert!(between(1.0, -1.0).abs() < 1e-12);
    }

    #[test]
    fn a_mixture_has_the_variance_within_and_that_between() {
        let mut two = Mixture::default();
        two.add(0.010, 0.002, 0.3);
        two.add(0.030, 0.004, 0.3);
        let (mean, variance) = two.mean_and_variance();
        assert!((mean - 0.020).abs() < 1e-12 && (two.weight() - 0.6).abs() < 1e-12);
        let within = 0.5 * (0.002_f64.powi(2) + 0.004_f64.powi(2));
        assert!((variance - within - 0.010_f64.powi(2)).abs() < 1e-12);
        // Weights that differ: by a third and two thirds.
        let mut two = Mixture::default();
        two.add(1.0, 0.0, 1.0);
        two.add(4.0, 0.0, 2.0);
        let (mean, variance) = two.mean_and_variance();
        assert!((mean - 3.0).abs() < 1e-12 && (variance - 2.0).abs() < 1e-12);
    }
}
