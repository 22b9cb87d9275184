//! Keys and words: what the help shows, made from the table and the glossary.

use super::field::Field;
use super::glossary;
use super::keymap::KeyMap;
use super::keys::{self, Group, Scope};
use super::screen::Screen;
use super::state::State;
use std::sync::Arc;

/// The help.
#[derive(Debug, Clone, Default)]
pub struct HelpSheet {
    /// The screen it was asked on.
    pub on: Option<Screen>,
    /// Words instead of keys.
    pub words: bool,
    /// What is searched for.
    pub field: Field,
    /// Lines left out above.
    pub scroll: usize,
    /// The maker's own keys.
    pub map: Arc<KeyMap>,
}

/// A line of the help.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum HelpLine {
    /// A heading.
    Heading(String),
    /// A key or word, and what it does or is.
    Entry(String, String),
    /// A key, the word at the foot for it, and what it does.
    Key(String, &'static str, &'static str),
    /// Plain text.
    Text(String),
}

impl HelpSheet {
    /// The help for a screen.
    pub fn on(screen: Screen) -> Self {
        Self {
            on: Some(screen),
            ..Self::default()
        }
    }

    /// The help for what is shown now.
    pub fn of(state: &State) -> Self {
        Self {
            map: Arc::clone(&state.library.keys),
            ..Self::on(state.screen)
        }
    }

    /// What it shows, in order: the keys or the words; while something is
    /// searched for, what fits it among the keys here, the words, and the keys
    /// of all other screens.
    pub fn lines(&self) -> Vec<HelpLine> {
        let here = self.on.unwrap_or(Screen::Shelf);
        let wanted = self.field.text();
        if wanted.trim().is_empty() {
            return if self.words {
                words()
            } else {
                keys_of(here, &self.map)
            };
        }
        let mut lines = Vec::new();
        under(
            "keys here",
            found(keys_of(here, &self.map), wanted),
            &mut lines,
        );
        under("words", words_found(wanted), &mut lines);
        let there = found(keys_elsewhere(here, &self.map), wanted);
        under("keys on other screens", there, &mut lines);
        lines
    }

    /// Scrolls, without leaving the text.
    pub fn scroll(&mut self, by: isize) {
        let last = self.lines().len().saturating_sub(1);
        self.scroll = self.scroll.saturating_add_signed(by).min(last);
    }
}

fn keys_of(screen: Screen, map: &KeyMap) -> Vec<HelpLine> {
    let mut lines = vec![HelpLine::Text(screen.about().into())];
    let here = [Scope::On(screen), Scope::Everywhere];
    for group in Group::ALL {
        let entries: Vec<HelpLine> = keys::listed(&here, group)
            .map(|b| HelpLine::Key(map.names(&here, b), b.label, b.help))
            .collect();
        if !entries.is_empty() {
            lines.push(HelpLine::Heading(group.title().into()));
            lines.extend(entries);
        }
    }
    lines.push(HelpLine::Heading("typing a slip".into()));
    lines.extend(
        crate::domain::slip::EXAMPLES
            .iter()
            .map(|(typed, meaning)| HelpLine::Entry((*typed).into(), (*meaning).into())),
    );
    lines
}

fn words() -> Vec<HelpLine> {
    glossary::WORDS
        .iter()
        .map(|(word, meaning)| HelpLine::Entry((*word).into(), (*meaning).into()))
        .collect()
}

/// Keys that hold on other screens only, each with the name of its screen.
fn keys_elsewhere(here: Screen, map: &KeyMap) -> Vec<HelpLine> {
    let held = [Scope::On(here), Scope::Everywhere];
    let mut lines = Vec::new();
    for screen in Screen::ALL.iter().filter(|s| **s != here) {
        let scope = [Scope::On(*screen)];
        for group in Group::ALL {
            let bindings = keys::listed(&scope, group);
            let only_there = bindings.filter(|b| !b.scopes.iter().any(|s| held.contains(s)));
            lines.extend(only_there.map(|b| {
                let place = format!("{}  {}", screen.title(), map.names(&scope, b));
                HelpLine::Key(place, b.label, b.help)
            }));
        }
    }
    lines
}

fn under(heading: &str, found: Vec<HelpLine>, lines: &mut Vec<HelpLine>) {
    if !found.is_empty() {
        lines.push(HelpLine::Heading(heading.into()));
        lines.extend(found);
    }
}

/// The words that fit, those first that begin with what is searched for.
fn words_found(wanted: &str) -> Vec<HelpLine> {
    let mut lines = found(words(), wanted);
    let wanted = wanted.trim().to_lowercase();
    lines.sort_by_key(|line| match line {
        HelpLine::Entry(word, _) => !word.to_lowercase().starts_with(&wanted),
        _ => true,
    });
    lines
}

/// Entries that hold all the words searched for; headings without entries go.
fn found(lines: Vec<HelpLine>, wanted: &str) -> Vec<HelpLine> {
    let wanted: Vec<String> = wanted.split_whitespace().map(str::to_lowercase).collect();
    let holds = |all: String| {
        let all = all.to_lowercase();
        wanted.iter().all(|w| all.contains(w))
    };
    lines
        .into_iter()
        .filter(|line| match line {
            HelpLine::Entry(key, text) => holds(format!("{key} {text}")),
            HelpLine::Key(key, label, help) => holds(format!("{key} {label} {help}")),
            HelpLine::Heading(_) | HelpLine::Text(_) => false,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_search_finds_entries_by_all_their_words() {
        let mut sheet = HelpSheet::on(Screen::Shelf);
        sheet.field = Field::with("skip reason");
        assert_eq!(
            sheet.lines(),
            [
                HelpLine::Heading("keys here".into()),
                HelpLine::Key("x".into(), "skip", "Leave a step out, with a reason."),
            ]
        );
    }

    #[test]
    fn a_search_finds_words_and_the_keys_of_other_screens() {
        let mut sheet = HelpSheet::on(Screen::Bench);
        sheet.field = Field::with("rack");
        let lines = sheet.lines();
        let at = |line: &HelpLine| lines.iter().position(|l| l == line);
        let words = at(&HelpLine::Heading("words".into())).expect("words");
        let there = at(&HelpLine::Heading("keys on other screens".into())).expect("keys");
        assert!(words < there);
        assert!(matches!(&lines[words + 1], HelpLine::Entry(word, _) if word == "rack"));
        let on_shelf =
            |l: &HelpLine| matches!(l, HelpLine::Key(k, "rack, add", _) if k.starts_with("shelf"));
        assert!(lines.iter().skip(there).any(on_shelf));
    }
}
