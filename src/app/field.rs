//! A line of typed text with its cursor.

use super::key::{Code, Key};
use tui_input::{Input, InputRequest};

/// Longest line that is taken, in characters: far above any slip or name.
const LONGEST: usize = 400;

/// A line being typed.
#[derive(Debug, Clone, Default)]
pub struct Field {
    input: Input,
}

impl Field {
    /// A line that already holds something, cursor at its end.
    pub fn with(text: &str) -> Self {
        Self {
            input: Input::new(text.to_owned()),
        }
    }

    /// What stands there.
    pub fn text(&self) -> &str {
        self.input.value()
    }

    /// Whether nothing but blanks stands there.
    pub fn is_blank(&self) -> bool {
        self.text().trim().is_empty()
    }

    /// Cursor, counted in characters from the left.
    pub fn cursor(&self) -> usize {
        self.input.cursor()
    }

    /// Column of the cursor on a screen.
    pub fn column(&self) -> usize {
        self.input.visual_cursor()
    }

    /// Columns to leave out on the left so that the cursor shows in `width` columns.
    pub fn scroll(&self, width: usize) -> usize {
        self.input.visual_scroll(width)
    }

    /// Types one character.
    pub fn insert(&mut self, c: char) {
        if self.text().chars().count() < LONGEST && !c.is_control() {
            self.input.handle(InputRequest::InsertChar(c));
        }
    }

    /// Puts in pasted text as one thing; line ends become blanks.
    pub fn paste(&mut self, text: &str) {
        let text = text.trim_end_matches(['\r', '\n']).replace("\r\n", "\n");
        for c in text.chars() {
            self.insert(if matches!(c, '\n' | '\r' | '\t') {
                ' '
            } else {
                c
            });
        }
    }

    /// Takes a key that types or edits; false when it is not such a key.
    pub fn press(&mut self, key: Key) -> bool {
        if let Some(c) = key.typed() {
            self.insert(c);
            return true;
        }
        let Some(request) = request(key) else {
            return false;
        };
        self.input.handle(request);
        true
    }
}

fn request(key: Key) -> Option<InputRequest> {
    use InputRequest as R;
    Some(match (key.code, key.ctrl || key.alt) {
        (Code::Backspace, false) => R::DeletePrevChar,
        (Code::Backspace, true) => R::DeletePrevWord,
        (Code::Delete, false) => R::DeleteNextChar,
        (Code::Delete, true) => R::DeleteNextWord,
        (Code::Left, false) => R::GoToPrevChar,
        (Code::Right, false) => R::GoToNextChar,
        (Code::Left, true) => R::GoToPrevWord,
        (Code::Right, true) => R::GoToNextWord,
        (Code::Home, _) => R::GoToStart,
        (Code::End, _) => R::GoToEnd,
        (Code::Char(c), _) if key.ctrl => match c {
            'a' => R::GoToStart,
            'e' => R::GoToEnd,
            'w' => R::DeletePrevWord,
            'u' => R::DeleteFromStart,
            'k' => R::DeleteTillEnd,
            _ => return None,
        },
        _ => return None,
    })
}

impl PartialEq for Field {
    fn eq(&self, other: &Self) -> bool {
        self.text() == other.text() && self.cursor() == other.cursor()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pasted_lines_become_one() {
        let mut field = Field::default();
        field.paste("1.042\n68f\u{7}\r\n");
        assert_eq!(field.text(), "1.042 68f");
    }

    #[test]
    fn keys_edit_whole_characters() {
        let mut field = Field::with("pear e\u{301}");
        field.press(Key::of(Code::Backspace));
        assert_eq!(field.text(), "pear ");
        assert!(!field.press(Key::of(Code::Enter)));
    }
}
