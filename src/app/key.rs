//! Keys as skep knows them, apart from any terminal library.

use std::fmt;
use std::str::FromStr;

/// Which key, without modifiers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Code {
    /// A character as it arrives: shift is already in it.
    Char(char),
    /// Return.
    Enter,
    /// Escape.
    Esc,
    /// Tabulator.
    Tab,
    /// Tabulator with shift.
    BackTab,
    /// Delete to the left.
    Backspace,
    /// Delete to the right.
    Delete,
    /// Arrow.
    Up,
    /// Arrow.
    Down,
    /// Arrow.
    Left,
    /// Arrow.
    Right,
    /// First.
    Home,
    /// Last.
    End,
    /// A page up.
    PageUp,
    /// A page down.
    PageDown,
    /// Function key.
    F(u8),
}

/// A key press.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Key {
    /// Which.
    pub code: Code,
    /// With control.
    pub ctrl: bool,
    /// With alt.
    pub alt: bool,
}

impl Key {
    /// A key by itself.
    pub const fn of(code: Code) -> Self {
        Self {
            code,
            ctrl: false,
            alt: false,
        }
    }

    /// A character.
    pub const fn char(c: char) -> Self {
        Self::of(Code::Char(c))
    }

    /// A character with control.
    pub const fn ctrl(c: char) -> Self {
        Self {
            code: Code::Char(c),
            ctrl: true,
            alt: false,
        }
    }

    /// The character it types into a field, if it types one.
    pub fn typed(self) -> Option<char> {
        match self.code {
            Code::Char(c) if !self.ctrl && !self.alt && !c.is_control() => Some(c),
            _ => None,
        }
    }

    /// The digit it is.
    pub fn digit(self) -> Option<char> {
        self.typed().filter(char::is_ascii_digit)
    }
}

const NAMES: &[(Code, &str)] = &[
    (Code::Enter, "Enter"),
    (Code::Esc, "Esc"),
    (Code::Tab, "Tab"),
    (Code::BackTab, "Shift-Tab"),
    (Code::Backspace, "Backspace"),
    (Code::Delete, "Del"),
    (Code::Up, "↑"),
    (Code::Down, "↓"),
    (Code::Left, "←"),
    (Code::Right, "→"),
    (Code::Home, "Home"),
    (Code::End, "End"),
    (Code::PageUp, "PgUp"),
    (Code::PageDown, "PgDn"),
    (Code::Char(' '), "Space"),
];

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.ctrl {
            f.write_str("Ctrl-")?;
        }
        if self.alt {
            f.write_str("Alt-")?;
        }
        if let Some((_, name)) = NAMES.iter().find(|(code, _)| *code == self.code) {
            return f.write_str(name);
        }
        match self.code {
            Code::Char(c) if self.ctrl => write!(f, "{}", c.to_uppercase()),
            Code::Char(c) => write!(f, "{c}"),
            Code::F(n) => write!(f, "F{n}"),
            _ => Ok(()),
        }
    }
}

/// A key's name that is not known.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{0}' is not a key: write a letter, Enter, Esc, Tab, Space, F1 to F12, Ctrl-X or Alt-X")]
pub struct UnknownKey(String);

impl FromStr for Key {
    type Err = UnknownKey;

    fn from_str(text: &str) -> Result<Self, UnknownKey> {
        let mut rest = text;
        let (mut ctrl, mut alt) = (false, false);
        loop {
            if let Some(tail) = strip(rest, "ctrl-") {
                (ctrl, rest) = (true, tail);
            } else if let Some(tail) = strip(rest, "alt-") {
                (alt, rest) = (true, tail);
            } else {
                break;
            }
        }
        let mut code = code_named(rest).ok_or_else(|| UnknownKey(text.to_owned()))?;
        if let (true, Code::Char(c)) = (ctrl, code) {
            code = Code::Char(c.to_ascii_lowercase());
        }
        Ok(Self { code, ctrl, alt })
    }
}

fn strip<'a>(text: &'a str, prefix: &str) -> Option<&'a str> {
    let head = text.get(..prefix.len())?;
    let tail = text.get(prefix.len()..)?;
    (head.eq_ignore_ascii_case(prefix) && !tail.is_empty()).then_some(tail)
}

fn code_named(name: &str) -> Option<Code> {
    let mut chars = name.chars();
    if let (Some(c), None) = (chars.next(), chars.next()) {
        let arrow = NAMES
            .iter()
            .find(|(_, n)| *n == name)
            .map(|(code, _)| *code);
        return Some(arrow.unwrap_or(Code::Char(c)));
    }
    if let Some((code, _)) = NAMES.iter().find(|(_, n)| n.eq_ignore_ascii_case(name)) {
        return Some(*code);
    }
    // Arrows may be written out too.
    let arrow = match name.to_ascii_lowercase().as_str() {
        "up" => Some(Code::Up),
        "down" => Some(Code::Down),
        "left" => Some(Code::Left),
        "right" => Some(Code::Right),
        _ => None,
    };
    if arrow.is_some() {
        return arrow;
    }
    let number: u8 = name.strip_prefix(['F', 'f'])?.parse().ok()?;
    (1..=12).contains(&number).then_some(Code::F(number))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_read_back_from_its_name() {
        let keys = [
            Key::char('a'),
            Key::char('?'),
            Key::char(' '),
            Key::ctrl('z'),
            Key::of(Code::Enter),
            Key::of(Code::Up),
            Key::of(Code::F(12)),
            Key {
                code: Code::Left,
                ctrl: false,
                alt: true,
            },
        ];
        for key in keys {
            assert_eq!(key.to_string().parse(), Ok(key), "{key}");
        }
    }

    #[test]
    fn a_wrong_name_is_answered_with_what_is_accepted() {
        let said = "Hyper-Q".parse::<Key>().unwrap_err().to_string();
        assert!(said.starts_with("'Hyper-Q' is not a key: write a letter"));
    }
}
