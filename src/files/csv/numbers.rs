//! Numbers as people and spreadsheets write them.

use super::columns::unit_named;
use crate::domain::records::Unit;

/// What parts a number's whole from its fraction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Decimal {
    /// 1.042
    Point,
    /// 1,042
    Comma,
}

/// A cell's number, and the unit written behind it.
pub(super) fn number(cell: &str, decimal: Decimal) -> Option<(f64, Option<Unit>)> {
    let cell = cell.trim();
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+');
    let tail = cell.trim_start_matches(is_number);
    let digits = cell.strip_suffix(tail)?;
    let unit = match tail.trim() {
        "" => None,
        word => Some(unit_named(word)?),
    };
    let (point, thousands) = match decimal {
        Decimal::Point => ('.', ','),
        Decimal::Comma => (',', '.'),
    };
    if digits.matches(point).count() > 1 {
        return None;
    }
    let plain: String = digits
        .chars()
        .filter(|c| *c != thousands)
        .map(|c| if c == point { '.' } else { c })
        .collect();
    let value: f64 = plain.parse().ok()?;
    value.is_finite().then_some((value, unit))
}

/// What the cells of a table say about the decimal mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Heard {
    /// This one.
    Mark(Decimal),
    /// Both are possible, and it matters.
    Unclear,
}

/// The decimal mark of these cells; `gravities` are those where 1,042 and 1.042
/// mean the same either way.
pub(super) fn decimal<'a>(
    gravities: impl Iterator<Item = &'a str>,
    others: impl Iterator<Item = &'a str>,
) -> Heard {
    let (mut point, mut comma, mut unclear) = (false, false, false);
    let gravities = gravities.map(|cell| (cell, false));
    for (cell, matters) in gravities.chain(others.map(|cell| (cell, true))) {
        match mark(cell) {
            Some(Mark::Point) => point = true,
            Some(Mark::Comma) => comma = true,
            // A gravity with a comma is a decimal one: no must weighs a thousand.
            Some(Mark::Either) if !matters => comma = true,
            Some(Mark::Either) => unclear = true,
            None => {}
        }
    }
    match (point, comma) {
        (true, true) => Heard::Unclear,
        (false, true) => Heard::Mark(Decimal::Comma),
        (false, false) if unclear => Heard::Unclear,
        _ => Heard::Mark(Decimal::Point),
    }
}

/// The decimal mark of one cell.
enum Mark {
    Point,
    Comma,
    Either,
}

fn mark(cell: &str) -> Option<Mark> {
    let digits: String = cell
        .chars()
        .filter(|c| c.is_ascii_digit() || matches!(c, '.' | ','))
        .collect();
    match (digits.rfind('.'), digits.rfind(',')) {
        (Some(point), Some(comma)) if point < comma => Some(Mark::Comma),
        (Some(_), _) => Some(Mark::Point),
        (None, Some(_)) => {
            let part = digits.rsplit(',').next().unwrap_or_default();
            let decimal = part.len() != 3 || digits.starts_with("0,");
            Some(if decimal { Mark::Comma } else { Mark::Either })
        }
        (None, None) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_in_both_styles() {
        for (cell, decimal, expected) in [
            ("1.042", Decimal::Point, Some((1.042, None))),
            ("1,042", Decimal::Comma, Some((1.042, None))),
            ("4,312", Decimal::Point, Some((4312.0, None))),
            (
                "4.312,5 g",
                Decimal::Comma,
                Some((4312.5, Some(Unit::Gram))),
            ),
            (
                "68 °F",
                Decimal::Point,
                Some((68.0, Some(Unit::Fahrenheit))),
            ),
            ("-2", Decimal::Point, Some((-2.0, None))),
            ("1.2.3", Decimal::Point, None),
            ("pear", Decimal::Point, None),
            ("68 bananas", Decimal::Point, None),
            ("", Decimal::Point, None),
        ] {
            assert_eq!(number(cell, decimal), expected, "{cell}");
        }
    }

    #[test]
    fn the_decimal_mark_is_heard_or_asked_for() {
        let hear =
            |g: &[&'static str], o: &[&'static str]| decimal(g.iter().copied(), o.iter().copied());
        assert_eq!(hear(&["1.042"], &["20"]), Heard::Mark(Decimal::Point));
        assert_eq!(hear(&["1,042"], &["20,5"]), Heard::Mark(Decimal::Comma));
        assert_eq!(hear(&["42"], &["4,312"]), Heard::Unclear);
        assert_eq!(hear(&["1.042"], &["4,312"]), Heard::Mark(Decimal::Point));
        assert_eq!(hear(&["1.042"], &["20,5"]), Heard::Unclear);
        assert_eq!(hear(&[], &["4.312,5"]), Heard::Mark(Decimal::Comma));
    }
}
