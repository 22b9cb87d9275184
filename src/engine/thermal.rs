//! Thermal time: days at 20 °C that would do the same work.

/// Factor by which the rate grows per 10 °C. Common practice has the rate
/// double (no source); trials of wine yeast between 15 and 30 °C lie around it.
const PER_TEN_DEGREES: f64 = 2.0;
/// Around this temperature yeast comes to a stop (common practice: a cold room stops
/// it; ciders of the sample still went at 8.5 °C, and nothing did at 7).
const STOPS_AT: f64 = 8.0;
/// Half-width of that stop.
const STOP_WIDTH: f64 = 0.5;
/// Above this, more warmth speeds nothing up (common practice).
const TOP: f64 = 32.0;

/// Speed at `celsius` beside that at 20 °C.
pub(crate) fn speed(celsius: f64) -> f64 {
    let t = celsius.min(TOP);
    let cold = 1.0 / (1.0 + (-(t - STOPS_AT) / STOP_WIDTH).exp());
    PER_TEN_DEGREES.powf((t - 20.0) / 10.0) * cold
}

/// Time against thermal time, from temperatures at times.
#[derive(Debug, Clone)]
pub(crate) struct ThermalClock {
    /// Days since the pitch, temperature, thermal days, in order of time; never empty.
    knots: Vec<(f64, f64, f64)>,
    /// Temperature taken for the future.
    ahead: f64,
    /// Usual temperature.
    usual: f64,
}

/// Longest step of the integration, in days.
const STEP: f64 = 1.0;
/// Days at the end whose mean is taken for the future.
const LATELY: f64 = 3.0;

impl ThermalClock {
    /// From `(days since pitch, °C)` in any order; `usual` stands in where there is none.
    pub(crate) fn new(mut points: Vec<(f64, f64)>, usual: f64, now: f64) -> Self {
        points.retain(|(t, c)| t.is_finite() && c.is_finite() && *t <= now && *t > -2.0);
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        let first = points.first().map_or(usual, |p| p.1);
        let mut knots = vec![(0.0, first, 0.0)];
        for (t, c) in points {
            push(&mut knots, t, c);
        }
        let lately: Vec<f64> = knots
            .iter()
            .filter(|k| k.0 >= now - LATELY)
            .map(|k| k.1)
            .collect();
        let last = knots.last().map_or(usual, |k| k.1);
        let ahead = if lately.is_empty() {
            0.5 * (last + usual)
        } else {
            lately.iter().sum::<f64>() / lately.len() as f64
        };
        push(
            &mut knots,
            now.max(0.0),
            if lately.is_empty() { ahead } else { last },
        );
        Self {
            knots,
            ahead,
            usual,
        }
    }

    /// Days and temperatures at the knots.
    pub(crate) fn seen(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.knots.iter().map(|k| (k.0, k.1))
    }

    /// Usual temperature.
    pub(crate) fn usual(&self) -> f64 {
        self.usual
    }

    /// The same past, another future.
    pub(crate) fn with_ahead(mut self, celsius: f64) -> Self {
        self.ahead = celsius;
        self
    }

    /// Temperature at a time.
    pub(crate) fn temperature(&self, t: f64) -> f64 {
        let i = self.knots.partition_point(|k| k.0 <= t);
        match (i.checked_sub(1).map(|j| self.knots[j]), self.knots.get(i)) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (t - a.0) / (b.0 - a.0).max(1e-9),
            (Some(a), None) if t <= a.0 => a.1,
            (Some(_), None) => self.ahead,
            (None, _) => self.knots[0].1,
        }
    }

    /// Thermal time at `t` days after the pitch.
    pub(crate) fn thermal(&self, t: f64) -> f64 {
        let i = self.knots.partition_point(|k| k.0 <= t);
        match (i.checked_sub(1).map(|j| self.knots[j]), self.knots.get(i)) {
            (Some(a), Some(b)) => a.2 + (b.2 - a.2) * (t - a.0) / (b.0 - a.0).max(1e-9),
            (Some(a), None) => a.2 + (t - a.0) * speed(self.ahead).max(1e-3),
            (None, _) => t * speed(self.knots[0].1),
        }
    }

    /// Days after the pitch at which thermal time is `tau`.
    pub(crate) fn days(&self, tau: f64) -> f64 {
        let i = self.knots.partition_point(|k| k.2 <= tau);
        match (i.checked_sub(1).map(|j| self.knots[j]), self.knots.get(i)) {
            (Some(a), Some(b)) => a.0 + (b.0 - a.0) * (tau - a.2) / (b.2 - a.2).max(1e-12),
            (Some(a), None) => a.0 + (tau - a.2) / speed(self.ahead).max(1e-3),
            (None, _) => tau,
        }
    }
}

/// Adds a knot, in steps so short that the warming between is followed.
fn push(knots: &mut Vec<(f64, f64, f64)>, t: f64, c: f64) {
    let Some(&(t0, c0, tau0)) = knots.last() else {
        return;
    };
    if t <= t0 {
        if let Some(last) = knots.last_mut() {
            last.1 = c;
        }
        return;
    }
    let steps = if (c - c0).abs() < 0.25 {
        1
    } else {
        ((t - t0) / STEP).ceil().clamp(1.0, 8.0) as usize
    };
    let mut tau = tau0;
    let mut before = c0;
    for i in 1..=steps {
        let part = i as f64 / steps as f64;
        let here = c0 + (c - c0) * part;
        tau += (t - t0) / steps as f64 * 0.5 * (speed(before) + speed(here));
        before = here;
        knots.push((t0 + (t - t0) * part, here, tau));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_at_twenty_is_a_day() {
        let clock = ThermalClock::new(vec![(0.0, 20.0), (10.0, 20.0)], 20.0, 10.0);
        assert!((clock.thermal(7.0) - 7.0).abs() < 1e-4);
        assert!((clock.days(7.0) - 7.0).abs() < 1e-3);
        assert!((clock.thermal(14.0) - 14.0).abs() < 1e-3);
    }

    #[test]
    fn cold_all_but_stops_it() {
        assert!(speed(3.0) < 0.04 && speed(10.0) > 0.4 && speed(30.0) > 1.9);
    }
    /// By the definition: twice the speed for ten degrees, half of it left where
    /// yeast stops, and no more above 32 °C.
    #[test]
    fn speed_doubles_in_ten_degrees_and_is_halved_where_yeast_stops() {
        let near = |got: f64, wanted: f64| assert!((got / wanted - 1.0).abs() < 1e-9, "{got}");
        near(speed(30.0), 2.0 * speed(20.0));
        near(speed(8.0), 0.5 * 0.5_f64.powf(1.2));
        near(speed(40.0), speed(32.0));
        // Before the first reading it was as warm as then.
        let clock = ThermalClock::new(vec![(0.0, 26.0), (1.0, 20.0)], 20.0, 1.0);
        near(clock.thermal(-1.5), -1.5 * speed(26.0));
        assert!(speed(7.0) < speed(8.0) && speed(8.0) < speed(9.0));
    }

    /// The integral of the speed, by steps of a thousandth of a day.
    fn by_small_steps(points: &[(f64, f64)], until: f64) -> f64 {
        let at = |t: f64| {
            let i = points
                .partition_point(|p| p.0 <= t)
                .clamp(1, points.len() - 1);
            let (a, b) = (points[i - 1], points[i]);
            a.1 + (b.1 - a.1) * (t - a.0) / (b.0 - a.0)
        };
        let n = (until * 1000.0) as u32;
        (0..n)
            .map(|k| speed(at((f64::from(k) + 0.5) / 1000.0)) / 1000.0)
            .sum()
    }

    #[test]
    fn warming_and_cooling_are_followed_day_by_day() {
        for points in [
            vec![(0.0, 12.0), (6.0, 28.0)],
            vec![(0.0, 28.0), (6.0, 12.0)],
            vec![(0.0, 30.0), (5.0, 6.0), (6.0, 6.0)],
            vec![(0.0, 10.0), (5.0, 10.0), (11.0, 30.0)],
            vec![
                (0.0, 18.0),
                (2.0, 18.1),
                (4.0, 22.0),
                (4.5, 15.0),
                (8.0, 20.0),
            ],
        ] {
            let end = points.last().unwrap().0;
            let clock = ThermalClock::new(points.clone(), 20.0, end);
            // By the day to a hundredth; within a day as if it had been even, which is off
            // by a twentieth of a day at the most.
            for (day, by) in [
                (0.25_f64, 0.06),
                (1.0, 0.01),
                (4.0, 0.01),
                (4.25, 0.03),
                (6.0, 0.01),
                (11.0, 0.01),
            ] {
                let day = day.min(end);
                let (got, exact) = (clock.thermal(day), by_small_steps(&points, day));
                assert!(
                    (got - exact).abs() < by * exact.max(1.0),
                    "{points:?} {day}: {got} for {exact}"
                );
                assert!((clock.days(got) - day).abs() < 1e-6);
            }
        }
    }
}
