//! A page as text, and what it says of each fact.

use skep::app::say;
use skep::domain::records::{GravityScale, Settings};
use skep::engine::Account;

/// The text of a page, with single blanks.
pub(crate) struct Page {
    pub(crate) name: String,
    pub(crate) text: String,
}

fn bare(word: &str) -> String {
    let kept = |c: char| !matches!(c, '.' | ',' | '(' | ')' | ':' | ';');
    word.trim_matches(|c| !kept(c)).to_owned()
}

impl Page {
    pub(crate) fn new(name: impl Into<String>, text: &str) -> Self {
        let words: Vec<&str> = text.split_whitespace().collect();
        Self {
            name: name.into(),
            text: words.join(" "),
        }
    }

    fn words(&self) -> Vec<&str> {
        self.text.split(' ').collect()
    }

    /// Numbers that stand before `now`: gravities, and alcohol.
    fn now(&self) -> (Vec<String>, Vec<String>) {
        let words = self.words();
        let (mut gravities, mut alcohols) = (Vec::new(), Vec::new());
        for (i, word) in words.iter().enumerate().filter(|(i, _)| *i >= 4) {
            if bare(word) != "now" {
                continue;
            }
            let number = |n: usize| bare(words[i - n]);
            let is_number = |text: &str| text.parse::<f64>().is_ok();
            match words[i - 1] {
                "SG" | "°P" if is_number(&number(2)) => gravities.push(number(2)),
                "alcohol" | "vol" if words[i - 2] == "%" => alcohols.push(number(3)),
                "%" if words[i - 3] == "alcohol" => alcohols.push(number(2)),
                before if is_number(&bare(before)) && before.contains('.') => {
                    gravities.push(bare(before));
                }
                _ => {}
            }
        }
        (gravities, alcohols)
    }

    /// The word after each of some phrases.
    fn after(&self, phrases: &[&str]) -> Vec<String> {
        let first = |rest: &str| rest.split(' ').next().map(bare);
        phrases
            .iter()
            .flat_map(|phrase| self.text.split(phrase).skip(1))
            .filter_map(first)
            .collect()
    }

    fn flat(&self) -> Vec<String> {
        let words = |rest: &str| {
            let rest = rest.replace('(', "");
            let words: Vec<String> = rest.split(' ').take(4).map(bare).collect();
            words.join(" ")
        };
        self.text
            .split("o drop since ")
            .skip(1)
            .map(words)
            .collect()
    }

    /// Every fact on it is the account's; of each there is one value.
    pub(crate) fn agrees(&self, account: &Account, settings: &Settings) {
        let number = |g| say::gravity_number(g, settings.gravity);
        let all = |said: &[String], meant: Option<String>, fact: &str| {
            for value in said {
                assert_eq!(
                    Some(value),
                    meant.as_ref(),
                    "{fact} of {} on {}: {}",
                    account.tag,
                    self.name,
                    self.text
                );
            }
        };
        let figures = &account.figures;
        let (gravities, alcohols) = self.now();
        all(&gravities, figures.gravity.map(number), "gravity now");
        let alcohol = figures.alcohol.map(say::abv);
        let alcohol = alcohol.map(|a| a.trim_end_matches(" %").to_owned());
        all(&alcohols, alcohol, "alcohol now");
        let expected = self.after(&[
            "should end near ",
            "expected final gravity ",
            "where it should finish (",
        ]);
        all(&expected, figures.expected_end.map(number), "expected end");
        let flat = account.flat.map(|f| {
            let days = say::count(f.days(), "day", "days");
            format!("{} {days}", f.since.format("%-d %B"))
        });
        all(&self.flat(), flat, "time without a drop");
        let clear = self.text.contains("Clear to bottle");
        assert!(!clear || account.holds.is_empty(), "{}", self.name);
        if account.holds.is_empty() {
            assert!(
                !self.text.contains("would confirm the end"),
                "{}: {}",
                self.name,
                self.text
            );
        }
        self.one_scale(settings);
    }

    /// With Plato no specific gravity stands on it.
    pub(crate) fn one_scale(&self, settings: &Settings) {
        if settings.gravity == GravityScale::Sg {
            return;
        }
        let specific = |word: &str| {
            let word = bare(word);
            let digits = word.strip_prefix("1.").or(word.strip_prefix("0.9"));
            digits.is_some_and(|d| d.len() >= 2 && d.chars().all(|c| c.is_ascii_digit()))
                && word.len() == 5
        };
        let found: Vec<&str> = self.words().into_iter().filter(|w| specific(w)).collect();
        assert!(
            found.is_empty(),
            "{found:?} on {}: {}",
            self.name,
            self.text
        );
    }

    /// It says all of these.
    pub(crate) fn says(&self, parts: &[Option<String>]) {
        for part in parts.iter().flatten() {
            let one = part.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(
                self.text.contains(&one),
                "'{one}' is missing on {}: {}",
                self.name,
                self.text
            );
        }
    }
}
