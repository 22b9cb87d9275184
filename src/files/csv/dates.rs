//! Days and times as people and spreadsheets write them.

use chrono::{DateTime, FixedOffset, NaiveDate, NaiveTime};

/// In which order a date is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateOrder {
    /// 2026-08-14
    YearFirst,
    /// 08/14/2026
    MonthFirst,
    /// 14.08.2026
    DayFirst,
}

impl DateOrder {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::YearFirst, Self::MonthFirst, Self::DayFirst];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::YearFirst => "ymd",
            Self::MonthFirst => "mdy",
            Self::DayFirst => "dmy",
        }
    }
}

/// A cell that tells when.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum When {
    /// An instant with its offset.
    Instant(DateTime<FixedOffset>),
    /// A local day, with its time where it is told.
    Local(NaiveDate, Option<NaiveTime>),
}

/// Reads a cell in one order.
pub(super) fn when(cell: &str, order: DateOrder) -> Option<When> {
    let cell = cell.trim();
    if let Ok(at) = DateTime::parse_from_rfc3339(cell) {
        return Some(When::Instant(at));
    }
    let (day_part, clock_part) = cut(cell);
    let date = day(day_part, order)?;
    match clock_part.trim() {
        "" => Some(When::Local(date, None)),
        text => Some(When::Local(date, Some(clock(text)?))),
    }
}

/// Parts a day from the time of day behind it.
fn cut(cell: &str) -> (&str, &str) {
    let colon = cell.find(':').unwrap_or(cell.len());
    let head = cell.get(..colon).unwrap_or(cell);
    let Some(gap) = head.rfind([' ', 'T', 't']) else {
        return (cell, "");
    };
    // `Aug 14 2026` has blanks and no time of day.
    if colon == cell.len() {
        return (cell, "");
    }
    let (day, rest) = cell.split_at(gap);
    (day.trim_end_matches(','), rest.get(1..).unwrap_or(""))
}

/// `07:30`, `7:30 PM`, `07:30:15`.
pub(super) fn clock(text: &str) -> Option<NaiveTime> {
    let lower = text.trim().to_lowercase();
    for form in [
        "%H:%M:%S%.f",
        "%H:%M",
        "%I:%M:%S %p",
        "%I:%M %p",
        "%I:%M%p",
        "%I:%M:%S%p",
    ] {
        if let Ok(time) = NaiveTime::parse_from_str(&lower, form) {
            return Some(time);
        }
    }
    None
}

fn month(word: &str) -> Option<u32> {
    const NAMES: [&str; 12] = [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    ];
    let lower = word.to_lowercase();
    let found = NAMES
        .iter()
        .position(|n| lower.len() >= 3 && n.starts_with(&lower));
    found.and_then(|i| u32::try_from(i + 1).ok())
}

fn day(text: &str, order: DateOrder) -> Option<NaiveDate> {
    let parts: Vec<&str> = text
        .split(['-', '/', '.', ' ', ','])
        .filter(|p| !p.is_empty())
        .collect();
    let [a, b, c] = parts.as_slice() else {
        return None;
    };
    if let Some(m) = month(b) {
        return date(c, m, b_number(a)?).or_else(|| date(a, m, b_number(c)?));
    }
    if let Some(m) = month(a) {
        return date(c, m, b_number(b)?);
    }
    match order {
        DateOrder::YearFirst => (a.len() == 4).then(|| date(a, b_number(b)?, b_number(c)?))?,
        DateOrder::MonthFirst => date(c, b_number(a)?, b_number(b)?),
        DateOrder::DayFirst => date(c, b_number(b)?, b_number(a)?),
    }
}

fn b_number(text: &str) -> Option<u32> {
    let digits = text.len() <= 2 && text.chars().all(|c| c.is_ascii_digit());
    digits.then(|| text.parse().ok())?
}

/// A year of two digits lies in this century.
fn date(year: &str, month: u32, day: u32) -> Option<NaiveDate> {
    let value: i32 = match year.len() {
        4 => year.parse().ok()?,
        2 => 2000 + year.parse::<i32>().ok()?,
        _ => return None,
    };
    NaiveDate::from_ymd_opt(value, month, day)
}

/// What cells say about the order of their dates.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Heard {
    /// This one.
    Order(DateOrder),
    /// Month and day can't be told apart.
    Unclear,
}

/// The order in which most cells are dates; unclear when two orders read them
/// differently.
pub(super) fn order(cells: &[&str]) -> Heard {
    let read = |o: DateOrder| -> Vec<When> { cells.iter().filter_map(|c| when(c, o)).collect() };
    let all: Vec<(DateOrder, Vec<When>)> = DateOrder::ALL.iter().map(|o| (*o, read(*o))).collect();
    let most = all.iter().map(|(_, found)| found.len()).max().unwrap_or(0);
    let mut best = all.iter().filter(|(_, found)| found.len() == most);
    let Some((first, days)) = best.next() else {
        return Heard::Unclear;
    };
    // A dot is written between day, month and year only where the day comes first.
    let dotted = cells.iter().any(|c| {
        c.split(' ')
            .next()
            .is_some_and(|d| d.matches('.').count() == 2)
    });
    if best.all(|(_, other)| other == days) {
        Heard::Order(*first)
    } else if dotted {
        Heard::Order(DateOrder::DayFirst)
    } else {
        Heard::Unclear
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn local(cell: &str, order: DateOrder) -> String {
        match when(cell, order) {
            Some(When::Local(day, time)) => {
                time.map_or(day.to_string(), |t| format!("{day} {}", t.format("%H:%M")))
            }
            Some(When::Instant(at)) => at.to_rfc3339(),
            None => "no".to_owned(),
        }
    }

    #[test]
    fn dates_of_many_hands_are_read() {
        use DateOrder as O;
        for (cell, order, expected) in [
            ("2026-08-14", O::YearFirst, "2026-08-14"),
            ("2026-08-14 07:30", O::YearFirst, "2026-08-14 07:30"),
            ("2026-08-14T07:30:00", O::YearFirst, "2026-08-14 07:30"),
            (
                "2026-08-14T07:30:00-07:00",
                O::DayFirst,
                "2026-08-14T07:30:00-07:00",
            ),
            ("8/14/2026 7:30 PM", O::MonthFirst, "2026-08-14 19:30"),
            ("14.08.26", O::DayFirst, "2026-08-14"),
            ("14 Aug 2026", O::YearFirst, "2026-08-14"),
            ("Aug 14, 2026 07:30", O::YearFirst, "2026-08-14 07:30"),
            ("14/08/2026", O::MonthFirst, "no"),
            ("31.02.2026", O::DayFirst, "no"),
            ("yesterday", O::DayFirst, "no"),
        ] {
            assert_eq!(local(cell, order), expected, "{cell}");
        }
    }

    #[test]
    fn the_order_is_heard_or_asked_for() {
        use DateOrder as O;
        assert_eq!(
            order(&["8/1/2026", "8/14/2026"]),
            Heard::Order(O::MonthFirst)
        );
        assert_eq!(order(&["1/8/2026", "14/8/2026"]), Heard::Order(O::DayFirst));
        assert_eq!(order(&["8/1/2026", "8/2/2026"]), Heard::Unclear);
        assert_eq!(order(&["8/8/2026"]), Heard::Order(O::MonthFirst));
        assert_eq!(
            order(&["01.08.2026", "02.08.2026"]),
            Heard::Order(O::DayFirst)
        );
        assert_eq!(
            order(&["2026-08-01", "2026-08-02"]),
            Heard::Order(O::YearFirst)
        );
        assert_eq!(order(&["2026-08-01T07:30:00Z"]), Heard::Order(O::YearFirst));
    }
}
