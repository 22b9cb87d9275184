//! Forms: labelled fields, some typed, some chosen; one has the keys.

use super::field::Field;
use super::key::{Code, Key};
use super::keys::Action;

/// Lines that a page key turns what stands beside a form by.
const LINES_TURNED: isize = 5;

/// What a form leaves to its screen after a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Acted {
    /// Nothing.
    Nothing,
    /// Another choice was made: what hangs on it follows.
    Chosen,
    /// The maker wants it kept.
    Keep,
    /// What stands beside it moves by so many lines.
    Scrolled(isize),
}

/// What a field holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Entry {
    /// Typed text.
    Text(Field),
    /// One of several choices.
    Choice {
        /// What can be chosen, as shown.
        options: Vec<String>,
        /// Which is chosen.
        at: usize,
    },
}

/// One field of a form.
#[derive(Debug, Clone, PartialEq)]
pub struct FormField {
    /// By what the form's owner finds it.
    pub key: &'static str,
    /// What it asks.
    pub label: String,
    /// What is accepted, or what it is for; shown while it has the keys.
    pub hint: String,
    /// What it holds.
    pub entry: Entry,
    /// What is wrong with it.
    pub problem: Option<String>,
    /// What stands in it while nothing is typed.
    pub blank: &'static str,
}

impl FormField {
    /// A field to be typed into.
    pub fn text(key: &'static str, label: &str, hint: &str, value: &str) -> Self {
        Self {
            key,
            label: label.into(),
            hint: hint.into(),
            entry: Entry::Text(Field::with(value)),
            problem: None,
            blank: "",
        }
    }

    /// The same field, which says what it means to leave it empty.
    #[must_use]
    pub fn blank(self, blank: &'static str) -> Self {
        Self { blank, ..self }
    }

    /// A field with choices.
    pub fn choice(
        key: &'static str,
        label: &str,
        hint: &str,
        options: Vec<String>,
        at: usize,
    ) -> Self {
        Self {
            key,
            label: label.into(),
            hint: hint.into(),
            entry: Entry::Choice { options, at },
            problem: None,
            blank: "",
        }
    }

    /// What it says now.
    pub fn value(&self) -> &str {
        match &self.entry {
            Entry::Text(field) => field.text().trim(),
            Entry::Choice { options, at } => options.get(*at).map_or("", String::as_str),
        }
    }
}

/// A field was objected to; what is wrong stands beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Objected;

/// Fields of which one has the keys. A form keeps what was typed as long as its
/// owner keeps the form.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Form {
    /// The fields, from the top.
    pub fields: Vec<FormField>,
    /// Which has the keys.
    pub at: usize,
    /// Something was changed by the maker.
    pub touched: bool,
}

impl Form {
    /// A form whose first field has the keys.
    pub fn new(fields: Vec<FormField>) -> Self {
        Self {
            fields,
            at: 0,
            touched: false,
        }
    }

    /// The field that has the keys.
    pub fn current(&self) -> Option<&FormField> {
        self.fields.get(self.at)
    }

    /// A field by its key.
    pub fn field(&self, key: &str) -> Option<&FormField> {
        self.fields.iter().find(|f| f.key == key)
    }

    /// What a field says; empty when there is no such field.
    pub fn value(&self, key: &str) -> &str {
        self.field(key).map_or("", FormField::value)
    }

    /// Which choice a field is at.
    pub fn chosen(&self, key: &str) -> usize {
        match self.field(key).map(|f| &f.entry) {
            Some(Entry::Choice { at, .. }) => *at,
            _ => 0,
        }
    }

    /// Writes into a field; the maker has not touched it.
    pub fn set(&mut self, key: &str, value: &str) {
        if let Some(f) = self.fields.iter_mut().find(|f| f.key == key) {
            match &mut f.entry {
                Entry::Text(field) => *field = Field::with(value),
                Entry::Choice { options, at } => {
                    *at = options.iter().position(|o| o == value).unwrap_or(*at);
                }
            }
        }
    }

    /// Says what is wrong with a field and gives it the keys.
    pub fn object(&mut self, key: &str, problem: impl Into<String>) {
        if let Some(i) = self.fields.iter().position(|f| f.key == key) {
            self.at = i;
            if let Some(f) = self.fields.get_mut(i) {
                f.problem = Some(problem.into());
            }
        }
    }

    /// The keys go to another field; `by` is 1 or -1.
    pub fn step(&mut self, by: isize) {
        let last = self.fields.len().saturating_sub(1);
        self.at = self.at.saturating_add_signed(by).min(last);
    }

    /// Whether the last field has the keys.
    pub fn at_last(&self) -> bool {
        self.at + 1 >= self.fields.len()
    }

    /// The choice before or after, going round; false where nothing is to choose.
    pub fn turn(&mut self, by: isize) -> bool {
        let Some(f) = self.fields.get_mut(self.at) else {
            return false;
        };
        let Entry::Choice { options, at } = &mut f.entry else {
            return false;
        };
        if options.is_empty() {
            return false;
        }
        let n = options.len().cast_signed();
        *at = (at.cast_signed() + by).rem_euclid(n).cast_unsigned();
        f.problem = None;
        self.touched = true;
        true
    }

    /// Left (-1) or right (1): another choice, or the cursor in typed text.
    pub fn left_or_right(&mut self, by: isize) {
        if !self.turn(by) {
            self.press(Key::of(if by < 0 { Code::Left } else { Code::Right }));
        }
    }

    /// Carries out what every form does alike; gives what is left to its screen.
    pub fn act(&mut self, action: Action) -> Acted {
        match action {
            Action::Up | Action::Previous => self.step(-1),
            Action::Down | Action::Next => self.step(1),
            Action::Left | Action::Right => {
                self.left_or_right(if action == Action::Left { -1 } else { 1 });
                return Acted::Chosen;
            }
            Action::Accept if !self.at_last() => self.step(1),
            Action::Accept | Action::Keep => return Acted::Keep,
            Action::PageUp => return Acted::Scrolled(-LINES_TURNED),
            Action::PageDown => return Acted::Scrolled(LINES_TURNED),
            _ => {}
        }
        Acted::Nothing
    }

    /// Gives a key to the field that has them; false when it means nothing there.
    pub fn press(&mut self, key: Key) -> bool {
        let Some(f) = self.fields.get_mut(self.at) else {
            return false;
        };
        match &mut f.entry {
            Entry::Text(field) => {
                if !field.press(key) {
                    return false;
                }
                f.problem = None;
                self.touched = true;
                true
            }
            Entry::Choice { .. } => match key.typed() {
                Some(' ') => self.turn(1),
                Some(c) => self.choose(c),
                None => false,
            },
        }
    }

    /// The next choice that begins with a letter or digit. After a digit the
    /// next field has the keys: marks are typed in a row.
    fn choose(&mut self, c: char) -> bool {
        let Some(f) = self.fields.get_mut(self.at) else {
            return false;
        };
        let Entry::Choice { options, at } = &mut f.entry else {
            return false;
        };
        let begins = |o: &String| {
            let first = o.chars().next();
            first.is_some_and(|o| o.to_lowercase().eq(c.to_lowercase()))
        };
        let n = options.len();
        let round = (1..=n).map(|by| (*at + by) % n);
        let Some(found) = round
            .into_iter()
            .find(|i| options.get(*i).is_some_and(begins))
        else {
            return false;
        };
        *at = found;
        f.problem = None;
        self.touched = true;
        if c.is_ascii_digit() {
            self.step(1);
        }
        true
    }

    /// Pastes into the field that has the keys.
    pub fn paste(&mut self, text: &str) {
        if let Some(FormField {
            entry: Entry::Text(field),
            problem,
            ..
        }) = self.fields.get_mut(self.at)
        {
            field.paste(text);
            *problem = None;
            self.touched = true;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marks() -> Form {
        let options = || {
            vec![
                "3 fair".to_owned(),
                "4 good".into(),
                "4 grand".into(),
                "5 lovely".into(),
            ]
        };
        Form::new(vec![
            FormField::choice("smell", "smell", "", options(), 0),
            FormField::choice("taste", "taste", "", options(), 0),
        ])
    }

    #[test]
    fn a_digit_chooses_and_goes_on_and_a_letter_goes_round() {
        let mut form = marks();
        assert!(form.press(Key::char('5')));
        assert!(form.press(Key::char('4')));
        assert_eq!(
            (form.value("smell"), form.value("taste")),
            ("5 lovely", "4 good")
        );
        assert!(form.press(Key::char('4')));
        assert_eq!(form.value("taste"), "4 grand");
        assert!(!form.press(Key::char('9')), "no choice begins with it");
        assert_eq!(form.value("taste"), "4 grand");
    }
}
