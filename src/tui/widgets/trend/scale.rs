use crate::domain::records::GravityScale;
use crate::domain::sums::gravity::plato;
use crate::domain::units::{Gravity, Plato};

/// A straight scale from values to dots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Span {
    /// Value at the first dot.
    pub(super) from: f64,
    /// Value just past the last dot.
    pub(super) to: f64,
    /// How many dots.
    pub(super) dots: i32,
}

impl Span {
    /// The dot of a value, wherever it lies; far away at most a million off.
    pub(super) fn dot(&self, value: f64) -> i32 {
        let share = (value - self.from) / (self.to - self.from);
        let dot = (share * f64::from(self.dots)).floor();
        if dot.is_finite() {
            dot.clamp(-1e6, 1e6) as i32
        } else {
            -1_000_000
        }
    }

    /// The value at the middle of a dot.
    pub(super) fn value(&self, dot: i32) -> f64 {
        self.from + (f64::from(dot) + 0.5) / f64::from(self.dots.max(1)) * (self.to - self.from)
    }

    /// Whether a value is shown.
    pub(super) fn holds(&self, value: f64) -> bool {
        (0..self.dots).contains(&self.dot(value))
    }
}

/// The smallest span over all finite values; `None` without any.
pub(super) fn around(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    values.filter(|v| v.is_finite()).fold(None, |span, v| {
        let (lo, hi) = span.unwrap_or((v, v));
        Some((lo.min(v), hi.max(v)))
    })
}

/// A value scale on which every so many rows have a round value in their middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ruler {
    /// The scale, turned over: dots count down from the highest value.
    pub(super) span: Span,
    /// Rows from one round value to the next.
    every: i64,
    /// Difference between them.
    step: f64,
    /// The top row's middle, in parts of a step: `top / every` steps above zero.
    top: i64,
}

impl Ruler {
    /// The tightest that holds all values from `lo` to `hi` on so many rows,
    /// with steps of 1, 2 or 5 times a power of ten, not below `finest`.
    pub(super) fn around(lo: f64, hi: f64, rows: u16, finest: f64) -> Self {
        let rows = rows.max(1);
        let fewest = if rows < 5 { 1 } else { 2 };
        let least = finest.log10().floor() as i32;
        // Steps of a quarter only where the label can show them.
        let steps = (0..12).flat_map(|power| {
            let unit = 10_f64.powi(least + power);
            let quarter = (power > 0).then_some(2.5 * unit);
            [unit, 2.0 * unit, 5.0 * unit].into_iter().chain(quarter)
        });
        let rulers = || {
            let kinds = steps.clone();
            kinds
                .flat_map(|step| (fewest..=5).map(move |every| (step, every)))
                .filter_map(|(step, every)| Self::try_step(lo, hi, rows, step, every))
        };
        // One round value alone tells no scale.
        let told = |ruler: &Self| ruler.marks(rows).count() >= 2;
        let tightest =
            |a: &Self, b: &Self| (a.span.from - a.span.to).total_cmp(&(b.span.from - b.span.to));
        rulers()
            .filter(told)
            .min_by(tightest)
            .or_else(|| rulers().min_by(tightest))
            .unwrap_or(Self {
                span: Span {
                    from: hi,
                    to: lo,
                    dots: i32::from(rows) * 4,
                },
                every: i64::MAX,
                step: 0.0,
                top: 1,
            })
    }

    fn try_step(lo: f64, hi: f64, rows: u16, step: f64, every: i64) -> Option<Self> {
        let row = step / every as f64;
        // What is left over is shared between above and below.
        let (highest, lowest) = (
            (hi / row - 0.5).ceil(),
            (lo / row - 0.5).floor() + f64::from(rows),
        );
        let top = f64::midpoint(highest, lowest).floor().max(highest);
        let span = Span {
            from: (top + 0.5) * row,
            to: (top + 0.5 - f64::from(rows)) * row,
            dots: i32::from(rows) * 4,
        };
        (span.to <= lo && top.abs() < 1e9).then_some(Self {
            span,
            every,
            step,
            top: top as i64,
        })
    }

    /// Rows with a round value, and that value.
    pub(super) fn marks(&self, rows: u16) -> impl Iterator<Item = (u16, f64)> + '_ {
        (0..rows).filter_map(|row| {
            let at = self.top - i64::from(row);
            (at.rem_euclid(self.every) == 0)
                .then(|| (row, at.div_euclid(self.every) as f64 * self.step))
        })
    }
}

/// Multiples of a step in a span, both ends counted.
pub(super) fn multiples(lo: f64, hi: f64, step: f64) -> Vec<f64> {
    let first = (lo / step - 1e-9).ceil();
    let last = (hi / step + 1e-9).floor();
    if !(last - first).is_finite() || last - first > 1000.0 {
        return Vec::new();
    }
    (0..=(last - first).max(-1.0) as i64)
        .map(|i| (first + i as f64) * step)
        .filter(|v| *v <= hi + step * 1e-9)
        .collect()
}

/// A gravity as a value on the maker's scale.
pub(super) fn on_scale(sg: f64, scale: GravityScale) -> f64 {
    match scale {
        GravityScale::Sg => sg,
        GravityScale::Plato => plato(Gravity::clamped(sg)).map_or(f64::NAN, Plato::get),
    }
}

/// A value on the maker's scale, as printed beside the axis.
pub(super) fn scale_label(value: f64, scale: GravityScale) -> String {
    match scale {
        GravityScale::Sg => format!("{value:.3}"),
        GravityScale::Plato => format!("{:>5.1}", if value.abs() < 0.05 { 0.0 } else { value }),
    }
}

/// The finest step that a label of that scale can tell apart.
pub(super) const fn finest(scale: GravityScale) -> f64 {
    match scale {
        GravityScale::Sg => 0.001,
        GravityScale::Plato => 0.1,
    }
}

/// A line through points, in order of their first part, read at any place.
/// Between two of its points it is straight; beyond its ends there is none.
pub(super) fn along(line: &[(f64, f64)], at: f64) -> Option<f64> {
    let i = line.partition_point(|p| p.0 < at);
    let right = line.get(i)?;
    if (right.0 - at).abs() < 1e-9 {
        return Some(right.1);
    }
    let left = line.get(i.checked_sub(1)?)?;
    let share = (at - left.0) / (right.0 - left.0).max(1e-9);
    Some(left.1 + share * (right.1 - left.1))
}

/// Lowest and highest of a line within a stretch: its ends there, and every
/// point between them, so that no extreme is hidden by thinning.
pub(super) fn extremes(line: &[(f64, f64)], from: f64, to: f64) -> Option<(f64, f64)> {
    let first = line.partition_point(|p| p.0 < from);
    let last = line.partition_point(|p| p.0 <= to);
    let inside = line.get(first..last.max(first)).unwrap_or_default();
    around(
        inside
            .iter()
            .map(|p| p.1)
            .chain(along(line, from))
            .chain(along(line, to)),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn round_values_stand_at_equal_distances() {
        for rows in 1..60_u16 {
            for (lo, hi) in [(0.997, 1.103), (0.9989, 1.0011), (-2.0, 26.0), (0.0, 0.004)] {
                let ruler = Ruler::around(lo, hi, rows, 0.001);
                assert!(ruler.span.from >= hi && ruler.span.to <= lo, "{rows} rows");
                let marks: Vec<_> = ruler.marks(rows).collect();
                assert!(rows < 4 || !marks.is_empty(), "{lo} to {hi} on {rows} rows");
                for &(row, value) in &marks {
                    let dot = ruler.span.dot(value);
                    assert!(dot / 4 == i32::from(row), "{value} stands on its row");
                }
                for pair in marks.windows(2) {
                    assert_eq!(i64::from(pair[1].0 - pair[0].0), ruler.every);
                }
            }
        }
    }

    #[test]
    fn a_thinned_stretch_keeps_its_extremes() {
        let line = [(0.0, 1.0), (0.4, 9.0), (0.5, -3.0), (2.0, 1.0)];
        assert_eq!(extremes(&line, 0.0, 1.0), Some((-3.0, 9.0)));
        assert_eq!(along(&line, 3.0), None);
        assert_eq!(extremes(&[], 0.0, 1.0), None);
    }

    #[test]
    fn dots_and_values_agree() {
        let span = Span {
            from: 2.0,
            to: 7.0,
            dots: 50,
        };
        for dot in 0..50 {
            assert_eq!(span.dot(span.value(dot)), dot);
        }
        assert!(!span.holds(7.2) && !span.holds(f64::NAN) && span.holds(2.0));
    }
}
