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

    /// What it shows, in order.
    pub fn lines(&self) -> Vec<HelpLine> {
        let lines = if self.words {
            words()
        } else {
            keys_of(self.on.unwrap_or(Screen::Shelf), &self.map)
        };
        found(lines, self.field.text())
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

/// Entries that hold all the words searched for; headings without entries go.
fn found(lines: Vec<HelpLine>, wanted: &str) -> Vec<HelpLine> {
    let wanted: Vec<String> = wanted.split_whitespace().map(str::to_lowercase).collect();
    if wanted.is_empty() {
        return lines;
    }
    lines
        .into_iter()
        .filter(|line| match line {
            HelpLine::Entry(key, text) => {
                let all = format!("{key} {text}").to_lowercase();
                wanted.iter().all(|w| all.contains(w))
            }
            HelpLine::Key(key, label, help) => {
                let all = format!("{key} {label} {help}").to_lowercase();
                wanted.iter().all(|w| all.contains(w))
            }
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
        let lines = sheet.lines();
        assert_eq!(
            lines,
            [HelpLine::Key(
                "x".into(),
                "skip",
                "Leave a step out, with a reason."
            )]
        );
    }
}
