//! What leaves the cellar, as a maker types it: `1`, `2 given Anna`,
//! `1 broken`, `count 7`, `2 given 'for the fair' on 11-20`.

use super::records::DrawKind;
use super::slip;
use chrono::NaiveDate;

/// What was typed, understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taking {
    /// How many leave; for a count what is missing, negative where more were found.
    pub count: i32,
    /// How.
    pub kind: DrawKind,
    /// To whom.
    pub whom: String,
    /// Free words.
    pub note: String,
    /// On which day, if not now.
    pub on: Option<NaiveDate>,
}

/// What is accepted.
pub const ACCEPTED: &str = "1, 2 given Anna, 1 broken, count 7, with 'a note and on yesterday";

/// Understands what was typed about a lot of which `left` are left.
pub fn parse(text: &str, left: u32, today: NaiveDate) -> Result<Taking, String> {
    let (text, note) = match text.split_once('\'') {
        Some((head, note)) => (head, note.trim().trim_end_matches('\'').trim()),
        None => (text, ""),
    };
    let (text, on) = match text.rsplit_once(" on ") {
        Some((head, day)) => {
            let day = slip::parse_day(day.trim(), today).map_err(|e| e.to_string())?;
            if day > today {
                return Err("That day has not come yet.".into());
            }
            (head, Some(day))
        }
        None => (text, None),
    };
    let mut words = text.split_whitespace().peekable();
    let counted = words.peek().is_some_and(|w| *w == "count");
    if counted {
        words.next();
    }
    let number = match words.peek().and_then(|w| w.parse::<u32>().ok()) {
        Some(n) => {
            words.next();
            Some(n)
        }
        None => None,
    };
    let kind = words.peek().and_then(|w| kind_of(w));
    if kind.is_some() {
        words.next();
    }
    let whom = words.collect::<Vec<_>>().join(" ");
    if counted {
        let found = number.ok_or("Say how many you counted: count 7.")?;
        let missing = i64::from(left) - i64::from(found);
        return Ok(Taking {
            count: i32::try_from(missing).map_err(|_| "That is no count of bottles.")?,
            kind: DrawKind::Counted,
            whom: String::new(),
            note: joined(&whom, note),
            on,
        });
    }
    if number.is_none() && kind.is_none() {
        return Err(format!("'{}' is not understood: {ACCEPTED}.", text.trim()));
    }
    let count = number.unwrap_or(1);
    if count == 0 {
        return Err("0 bottles change nothing: give how many.".into());
    }
    if count > left {
        return Err(format!("Only {left} are left."));
    }
    let kind = kind.unwrap_or(if whom.is_empty() {
        DrawKind::Drunk
    } else {
        DrawKind::Given
    });
    Ok(Taking {
        count: i32::try_from(count).map_err(|_| "That is no count of bottles.")?,
        kind,
        whom: whom
            .strip_prefix("to ")
            .or_else(|| whom.strip_prefix("with "))
            .unwrap_or(&whom)
            .to_owned(),
        note: note.to_owned(),
        on,
    })
}

fn joined(a: &str, b: &str) -> String {
    [a, b]
        .into_iter()
        .filter(|s| !s.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

fn kind_of(word: &str) -> Option<DrawKind> {
    match word {
        "drunk" | "drink" | "opened" => Some(DrawKind::Drunk),
        "given" | "give" | "gave" => Some(DrawKind::Given),
        "broken" | "broke" | "burst" => Some(DrawKind::Broken),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn today() -> NaiveDate {
        "2026-11-25".parse().unwrap()
    }

    fn told(text: &str) -> (i32, DrawKind, String, String, Option<String>) {
        let t = parse(text, 10, today()).unwrap();
        (t.count, t.kind, t.whom, t.note, t.on.map(|d| d.to_string()))
    }

    #[test]
    fn a_few_words_say_what_left() {
        let none = String::new;
        assert_eq!(told("1"), (1, DrawKind::Drunk, none(), none(), None));
        assert_eq!(
            told("2 given to Anna 'for the fair"),
            (
                2,
                DrawKind::Given,
                "Anna".into(),
                "for the fair".into(),
                None
            )
        );
        assert_eq!(told("2 Bert").1, DrawKind::Given);
        assert_eq!(told("broken").0, 1);
        assert_eq!(told("count 7").0, 3);
        assert_eq!(told("count 12").0, -2);
        let on = told("1 drunk on yesterday");
        assert_eq!(on.4.as_deref(), Some("2026-11-24"));
    }

    #[test]
    fn what_cannot_be_says_what_is_accepted() {
        let no = |t: &str| parse(t, 3, today()).unwrap_err();
        assert_eq!(no("4"), "Only 3 are left.");
        assert!(no("some").contains("2 given Anna"));
        assert!(no("count").contains("count 7"));
        assert!(no("0").contains("0 bottles"));
        assert!(no("1 on tomorrow").contains("not come"));
    }
}
