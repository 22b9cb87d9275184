//! Days to come as a person types them, and the note after a quote.

use crate::domain::slip;
use chrono::NaiveDate;

/// What is accepted, in one sentence.
const ACCEPTED: &str = "Type a day: tomorrow, +3d, sat, 12-24 (month-day) or 2026-12-24.";

/// Reads a day that lies today or ahead, in the grammar of the slip.
pub fn parse_day(text: &str, today: NaiveDate) -> Result<NaiveDate, String> {
    let text = text.trim();
    if text.is_empty() {
        return Err(ACCEPTED.into());
    }
    let day = slip::parse_day(text, today)
        .map_err(|_| format!("'{text}' is no day to come. {ACCEPTED}"))?;
    if day < today {
        return Err(format!(
            "{} is past: a step can be moved to today or a later day.",
            day.format("%-d %B %Y")
        ));
    }
    if (day - today).num_days() > 3660 {
        return Err(format!("'{text}' is more than ten years away."));
    }
    Ok(day)
}

/// Splits a line at the first quote that begins a word: what stands before it,
/// and the note after it.
pub fn split_note(text: &str) -> (&str, &str) {
    let mut before = ' ';
    for (i, c) in text.char_indices() {
        if c == '\'' && before.is_whitespace() {
            let (head, tail) = text.split_at_checked(i).unwrap_or((text, ""));
            return (head.trim(), tail.trim_start_matches('\'').trim());
        }
        before = c;
    }
    (text.trim(), "")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_ahead_are_understood() {
        let today: NaiveDate = "2026-11-25".parse().unwrap(); // a Wednesday
        let of = |text| parse_day(text, today).map(|d| d.to_string());
        assert_eq!(of("tomorrow"), Ok("2026-11-26".into()));
        assert_eq!(of("+3d"), Ok("2026-11-28".into()));
        assert_eq!(of("sat"), Ok("2026-11-28".into()));
        assert_eq!(of("Wednesday"), Ok("2026-12-02".into()));
        assert_eq!(of("12-24"), Ok("2026-12-24".into()));
        assert_eq!(of("01-02"), Ok("2027-01-02".into()));
        assert_eq!(of("2026-11-25"), Ok("2026-11-25".into()));
        assert!(of("2026-11-24").unwrap_err().contains("is past"));
        assert!(of("soon").unwrap_err().contains("Type a day"));
        assert!(of("+99999999999999d").is_err());
    }

    #[test]
    fn a_note_begins_at_a_quote_before_a_word() {
        assert_eq!(
            split_note("1 g DAP 'smells of pear"),
            ("1 g DAP", "smells of pear")
        );
        assert_eq!(split_note("baker's honey"), ("baker's honey", ""));
        assert_eq!(split_note("'only a note"), ("", "only a note"));
    }
}
