//! What is wrong with a damaged store, on a screen of its own.

use super::key::{Code, Key};
use super::msg::Effect;
use super::state::{Effects, State};

/// The screen, over everything else.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Damage {
    /// What was found, one sentence each.
    pub found: Vec<String>,
    /// What to do, one sentence each.
    pub to_do: Vec<String>,
    /// The first of these lines that is shown.
    pub from: usize,
}

impl Damage {
    /// The screen from its top.
    pub fn new(found: Vec<String>, to_do: Vec<String>) -> Self {
        Self {
            found,
            to_do,
            from: 0,
        }
    }

    /// All of it in paragraphs, from the first that is shown.
    pub fn paragraphs(&self) -> impl Iterator<Item = String> + '_ {
        let list = |lines: &'_ [String]| -> Vec<String> {
            lines.iter().map(|line| format!("· {line}")).collect()
        };
        let head = "The store is damaged. Nothing more is saved to it.".to_owned();
        [head, String::new(), "What to do:".to_owned()]
            .into_iter()
            .chain(list(&self.to_do))
            .chain([String::new(), "What was found:".to_owned()])
            .chain(list(&self.found))
            .skip(self.from)
    }

    fn scroll(&mut self, by: isize) {
        let most = self.found.len() + self.to_do.len() + 4;
        self.from = self.from.saturating_add_signed(by).min(most);
    }
}

/// Takes a key while the screen is shown.
pub fn press(state: &mut State, key: Key) -> Effects {
    let Some(damage) = &mut state.damage else {
        return Vec::new();
    };
    match key.code {
        Code::Char('q') => return vec![Effect::Quit],
        Code::Char('c') if key.ctrl => return vec![Effect::Quit],
        Code::Esc => state.damage = None,
        Code::Down | Code::Char('j') => damage.scroll(1),
        Code::Up | Code::Char('k') => damage.scroll(-1),
        Code::PageDown => damage.scroll(10),
        Code::PageUp => damage.scroll(-10),
        _ => {}
    }
    Vec::new()
}

/// Turns the wheel over the screen.
pub fn wheel(state: &mut State, by: i32) -> Effects {
    if let Some(damage) = &mut state.damage {
        damage.scroll(by as isize);
    }
    Vec::new()
}
