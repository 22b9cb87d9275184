use crate::domain::bottles::{self, BottleKind, LARGEST, Limit};
use crate::domain::records::BottleClass;
use crate::domain::sums::carbonation::Rating;
use crate::domain::units::Litres;

/// Bottles at hand of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct BottleStock {
    /// Class.
    pub class: BottleClass,
    /// Whether the class was named; an unknown one takes no gas.
    pub known: bool,
    /// Volume of one, filled to its usual height.
    pub size: Litres,
    /// How many are there.
    pub have: u32,
    /// What their maker states; else the trade's ceiling for the class counts.
    pub rating: Option<Rating>,
    /// How often they were filled before.
    pub reused: u32,
    /// Clear glass lets light in.
    pub clear_glass: bool,
}

/// Fillings after which a bottle is no longer trusted with gas (common practice, no source).
pub(super) const MOST_REUSES: u32 = 10;

impl BottleStock {
    /// So many bottles of a kind.
    pub fn of(kind: &BottleKind, have: u32) -> Self {
        Self {
            class: kind.class,
            known: kind.known,
            size: kind.size,
            have,
            rating: kind.rating,
            reused: kind.reused,
            clear_glass: kind.clear_glass,
        }
    }

    /// Returns what it is rated for; none where it takes no gas. Above two
    /// litres only a printed working pressure counts.
    pub fn limit(&self) -> Option<Limit> {
        let limit = bottles::limit(self.class, self.rating).filter(|_| self.known)?;
        (limit.printed || !self.large()).then_some(limit)
    }

    /// Returns what it takes in the worst case; none where it takes no gas.
    pub fn worst_limit(&self) -> Option<Limit> {
        self.limit()?;
        bottles::worst_limit(self.class, self.rating)
    }

    /// Too large to take gas by its class alone.
    pub fn large(&self) -> bool {
        self.size > LARGEST
    }

    /// Filled too often to be trusted with gas.
    pub fn worn(&self) -> bool {
        self.reused > MOST_REUSES
    }
}

/// How a volume goes into bottles.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// How many of each kind, in the order given.
    pub counts: Vec<u32>,
    /// What is left over for a glass.
    pub over: Litres,
}

/// Fills bottles in the order given, each kind as far as it goes.
///
/// Ten of 12 fl oz come from a US gallon: 128 / 12 = 10.67, rounded down.
/// A bottle is filled whole or not at all.
pub fn fit(volume: Litres, stock: &[BottleStock]) -> Fitted {
    let mut left = volume.get();
    let counts = stock
        .iter()
        .map(|s| {
            if s.size.get() <= 0.0 {
                return 0;
            }
            // The tiny allowance keeps 7.57 L at ten of 0.757 L.
            let n = (left / s.size.get() + 1e-9).floor().min(f64::from(s.have));
            left = (left - n * s.size.get()).max(0.0);
            n as u32
        })
        .collect();
    Fitted {
        counts,
        over: Litres::clamped(left),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::units::{GaugeBar, ML_PER_US_FL_OZ, Volumes};
    use proptest::prelude::*;

    fn bottle(oz: f64, have: u32) -> BottleStock {
        BottleStock {
            class: BottleClass::Crown,
            known: true,
            size: Litres::new(oz * ML_PER_US_FL_OZ / 1000.0).unwrap(),
            have,
            rating: None,
            reused: 0,
            clear_glass: false,
        }
    }

    #[test]
    fn ten_bottles_of_twelve_ounces_come_from_a_gallon() {
        let fitted = fit(
            Litres::from_us_gallons(1.0).unwrap(),
            &[bottle(12.0, 24), bottle(6.0, 3)],
        );
        assert_eq!(fitted.counts, [10, 1]);
        assert!((fitted.over.get() * 1000.0 / ML_PER_US_FL_OZ - 2.0).abs() < 1e-6);
    }

    #[test]
    fn a_jug_is_never_rated_for_gas() {
        let mut jug = bottle(128.0, 1);
        jug.class = BottleClass::NoPressure;
        jug.rating = Some(Rating::Volumes(Volumes::known(4.0)));
        assert_eq!(jug.limit(), None);
    }

    #[test]
    fn a_large_bottle_takes_gas_by_a_printed_pressure_alone() {
        let mut gallon = bottle(128.0, 4);
        gallon.class = BottleClass::Plastic;
        assert_eq!(gallon.limit(), None);
        gallon.rating = Some(Rating::Volumes(Volumes::known(4.0)));
        assert_eq!(gallon.limit(), None);
        gallon.rating = Some(Rating::Gauge(GaugeBar::known(4.0)));
        assert!(gallon.limit().is_some_and(|l| l.printed));
    }

    proptest! {
        #[test]
        fn bottles_and_rest_add_up(litres in 0.0..60.0f64, kinds in prop::collection::vec((4.0..30.0f64, 0u32..60), 0..5)) {
            let stock: Vec<_> = kinds.iter().map(|(oz, n)| bottle(*oz, *n)).collect();
            let fitted = fit(Litres::new(litres).unwrap(), &stock);
            let filled: f64 = fitted.counts.iter().zip(&stock).map(|(n, s)| f64::from(*n) * s.size.get()).sum();
            prop_assert!((filled + fitted.over.get() - litres).abs() < 1e-6);
            for (n, s) in fitted.counts.iter().zip(&stock) {
                prop_assert!(*n <= s.have);
            }
        }
    }
}
