//! The bench: every trade sum, away from any batch.
//!
//! What there is to be reckoned comes from the one table of
//! [`figures`](crate::domain::sums::figures); here is only what was looked for,
//! what is open and what was typed. Every figure keeps its form, so that
//! nothing typed is lost by going to another.

use super::field::Field;
use super::form::{Entry, Form, FormField};
use super::key::Key;
use super::keys::Action;
use super::msg::Hit;
use super::state::{Effects, State};
use crate::domain::records::UnitSystem;
use crate::domain::sums::figures::{
    FIGURES, Figure, FigureSpec, Group, InputError, InputSpec, Kind, Refusal, System,
};
use std::collections::BTreeMap;

/// Choice of an input that may be left out.
const NOT_GIVEN: &str = "not given";

/// The bench.
#[derive(Debug, Clone, Default)]
pub struct Bench {
    /// What is looked for in the list.
    pub search: Field,
    /// The chosen line among those found.
    at: usize,
    /// The figure whose form has the keys.
    open: Option<usize>,
    /// Forms that were opened, by their figure.
    forms: BTreeMap<usize, Form>,
    /// The inputs, formula and source are shown instead of the form.
    pub why: bool,
    /// Rows of the answer that have been scrolled past.
    pub scroll: usize,
}

/// A line of the list.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BenchLine {
    /// A heading.
    Heading(Group),
    /// A figure, by its place in the table, and whether it is the chosen one.
    Figure(usize, bool),
}

/// What can be said for the inputs as they stand.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// An answer.
    Answer(Box<Figure>),
    /// Something is still to be typed: the labels.
    Wants(Vec<&'static str>),
    /// An input can't be read; its field says why.
    Unread,
    /// The sum refuses; the sentence says why.
    Refused(String),
}

impl Bench {
    /// Figures that hold all the words looked for, by their place in the table.
    fn found(&self) -> Vec<usize> {
        let wanted: Vec<String> = self
            .search
            .text()
            .split_whitespace()
            .map(str::to_lowercase)
            .collect();
        let holds = |spec: &FigureSpec| {
            let all = format!(
                "{} {} {} {}",
                spec.id,
                spec.title,
                spec.about,
                spec.group.title()
            );
            let all = all.to_lowercase();
            wanted.iter().all(|w| all.contains(w))
        };
        FIGURES
            .iter()
            .enumerate()
            .filter(|(_, spec)| holds(spec))
            .map(|(i, _)| i)
            .collect()
    }

    /// The list as shown: headings and figures.
    pub fn lines(&self) -> Vec<BenchLine> {
        let mut lines = Vec::new();
        let mut group = None;
        for (place, i) in self.found().into_iter().enumerate() {
            let Some(spec) = FIGURES.get(i) else { continue };
            if group != Some(spec.group) {
                group = Some(spec.group);
                lines.push(BenchLine::Heading(spec.group));
            }
            lines.push(BenchLine::Figure(i, place == self.at));
        }
        lines
    }

    /// The chosen figure: the open one, else the one of the list.
    pub fn chosen(&self) -> Option<&'static FigureSpec> {
        FIGURES.get(self.chosen_index()?)
    }

    fn chosen_index(&self) -> Option<usize> {
        self.open.or_else(|| self.found().get(self.at).copied())
    }

    /// Whether the form has the keys, not the list.
    pub fn is_open(&self) -> bool {
        self.open.is_some()
    }

    /// Whether the field that has the keys is one of choices.
    pub fn on_choice(&self) -> bool {
        let form = self.open.and_then(|i| self.forms.get(&i));
        let field = form.and_then(Form::current);
        !self.why && field.is_some_and(|f| matches!(f.entry, Entry::Choice { .. }))
    }

    /// The form of the chosen figure, with what was typed into it.
    pub fn form(&self) -> Option<Form> {
        let i = self.chosen_index()?;
        let spec = FIGURES.get(i)?;
        Some(self.forms.get(&i).cloned().unwrap_or_else(|| blank(spec)))
    }

    /// What the chosen figure says for the inputs as they stand.
    pub fn outcome(&self) -> Option<Outcome> {
        let spec = self.chosen()?;
        let form = self.form()?;
        let wants = wanting(spec, &form);
        let given = given(&form);
        Some(match spec.answer(&given) {
            Ok(figure) => Outcome::Answer(Box::new(figure)),
            Err(Refusal::Input(InputError::Missing { .. })) => Outcome::Wants(wants),
            Err(Refusal::Input(_)) => Outcome::Unread,
            Err(refusal) => Outcome::Refused(refusal.to_string()),
        })
    }

    /// Opens the form of a figure.
    pub fn open(&mut self, index: usize) {
        let Some(spec) = FIGURES.get(index) else {
            return;
        };
        self.forms.entry(index).or_insert_with(|| blank(spec));
        self.open = Some(index);
        self.scroll = 0;
        self.check();
    }

    /// Chooses a line of the list.
    pub fn choose(&mut self, index: usize) {
        if let Some(place) = self.found().iter().position(|i| *i == index) {
            self.at = place;
            self.open = None;
            self.scroll = 0;
        }
    }

    /// Moves in the list.
    pub fn step(&mut self, by: isize) {
        let last = self.found().len().saturating_sub(1);
        self.at = self.at.saturating_add_signed(by).min(last);
        self.scroll = 0;
    }

    /// A key that is no command: text.
    pub fn press(&mut self, key: Key) {
        if self.why {
            return;
        }
        match self.open.and_then(|i| self.forms.get_mut(&i)) {
            Some(form) => {
                form.press(key);
                self.check();
            }
            None => {
                if self.search.press(key) {
                    self.at = 0;
                    self.scroll = 0;
                }
            }
        }
    }

    /// Pasted text, as one thing.
    pub fn paste(&mut self, text: &str) {
        if self.why {
            return;
        }
        if let Some(form) = self.open.and_then(|i| self.forms.get_mut(&i)) {
            form.paste(text);
            self.check();
        } else {
            self.search.paste(text);
            self.at = 0;
        }
    }

    /// Carries an action out; false when it means to leave the bench.
    pub fn act(&mut self, action: Action, page: usize) -> bool {
        if action == Action::Why {
            self.why = !self.why && self.chosen().is_some();
            self.scroll = 0;
            return true;
        }
        if action == Action::Back {
            return self.back();
        }
        let page = page.max(2).cast_signed() - 1;
        if self.why {
            self.scroll_by(match action {
                Action::Up => -1,
                Action::Down => 1,
                Action::PageUp => -page,
                Action::PageDown => page,
                _ => 0,
            });
        } else if self.open.is_some() {
            self.act_on_form(action, page);
        } else {
            self.act_on_list(action, page);
        }
        true
    }

    fn act_on_list(&mut self, action: Action, page: isize) {
        match action {
            Action::Up | Action::Previous => self.step(-1),
            Action::Down => self.step(1),
            Action::PageUp => self.step(-page),
            Action::PageDown => self.step(page),
            Action::Accept | Action::Next => {
                if let Some(index) = self.chosen_index() {
                    self.open(index);
                }
            }
            _ => {}
        }
    }

    fn act_on_form(&mut self, action: Action, page: isize) {
        let Some(form) = self.open.and_then(|i| self.forms.get_mut(&i)) else {
            return;
        };
        match action {
            Action::Up | Action::Previous => form.step(-1),
            Action::Accept if form.at_last() => form.at = 0,
            Action::Down | Action::Next | Action::Accept => form.step(1),
            Action::Left => {
                form.turn(-1);
            }
            Action::Right => {
                form.turn(1);
            }
            Action::PageUp => self.scroll_by(-page),
            Action::PageDown => self.scroll_by(page),
            _ => {}
        }
        self.check();
    }

    /// Scrolls the answer; the view stops at its end.
    pub fn scroll_by(&mut self, rows: isize) {
        self.scroll = self.scroll.saturating_add_signed(rows).min(500);
    }

    /// From the why to the form, from the form to the list, from the search to
    /// all of it, and then away.
    fn back(&mut self) -> bool {
        self.scroll = 0;
        if self.why {
            self.why = false;
        } else if let Some(index) = self.open.take() {
            if let Some(place) = self.found().iter().position(|i| *i == index) {
                self.at = place;
            }
        } else if !self.search.is_blank() {
            let index = self.chosen_index();
            self.search = Field::default();
            self.at = index.unwrap_or(0);
        } else {
            return false;
        }
        true
    }

    /// Says at its field what can't be read, without moving the keys.
    fn check(&mut self) {
        let Some(index) = self.open else { return };
        let (Some(spec), Some(form)) = (FIGURES.get(index), self.forms.get_mut(&index)) else {
            return;
        };
        for field in &mut form.fields {
            field.problem = None;
        }
        let said = spec.answer(&given(form)).err();
        if let Some(Refusal::Input(error @ InputError::Bad { .. })) = said {
            let name = error.input().to_owned();
            if let Some(field) = form.fields.iter_mut().find(|f| f.key == name) {
                field.problem = Some(error.to_string());
            }
        }
    }
}

/// A form with the usual values standing in it.
fn blank(spec: &FigureSpec) -> Form {
    Form::new(spec.inputs.iter().map(blank_field).collect())
}

fn blank_field(input: &InputSpec) -> FormField {
    let mut hint = format!("{}: {}", input.help, input.kind.accepted());
    if input.optional {
        hint.push_str("; may be left empty");
    }
    let Kind::Choice(words) = input.kind else {
        let usual = input.default.unwrap_or("");
        return FormField::text(input.name, input.label, &hint, usual);
    };
    let mut options: Vec<String> = words.iter().map(|(w, _)| (*w).to_owned()).collect();
    if input.default.is_none() {
        options.insert(0, NOT_GIVEN.to_owned());
    }
    let at = options
        .iter()
        .position(|o| Some(o.as_str()) == input.default)
        .unwrap_or(0);
    let meanings: Vec<String> = words.iter().map(|(w, m)| format!("{w} ({m})")).collect();
    let hint = format!("{}: {}", input.help, meanings.join(", "));
    FormField::choice(input.name, input.label, &hint, options, at)
}

/// Names and texts of what was given.
fn given(form: &Form) -> Vec<(&'static str, &str)> {
    let filled = form.fields.iter().map(|f| (f.key, f.value()));
    filled
        .filter(|(_, text)| !text.is_empty() && *text != NOT_GIVEN)
        .collect()
}

/// Labels of what is needed and not given.
fn wanting(spec: &FigureSpec, form: &Form) -> Vec<&'static str> {
    let given = given(form);
    let needed = spec
        .inputs
        .iter()
        .filter(|i| i.default.is_none() && !i.optional);
    needed
        .filter(|i| !given.iter().any(|(name, _)| *name == i.name))
        .map(|i| i.label)
        .collect()
}

/// Which units come first.
pub const fn system(units: UnitSystem) -> System {
    match units {
        UnitSystem::Us => System::Us,
        UnitSystem::Metric => System::Metric,
    }
}

/// Carries an action out that belongs to this screen.
pub fn act(state: &mut State, action: Action) -> Effects {
    let page = state.rows;
    if !state.bench.act(action, page) {
        state.go_back();
    }
    Vec::new()
}

/// A line of the list was chosen; again opens it.
pub fn hit(state: &mut State, hit: Hit) {
    let Hit::Line(index) = hit else { return };
    let bench = &mut state.bench;
    if bench.open.is_none() && bench.chosen_index() == Some(index) {
        bench.open(index);
    } else {
        bench.choose(index);
    }
}

/// The wheel: through the list, or through the answer.
pub fn wheel(state: &mut State, by: i32) {
    let bench = &mut state.bench;
    if bench.open.is_some() || bench.why {
        bench.scroll_by(by as isize);
    } else {
        bench.step(by as isize);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn open(id: &str) -> Bench {
        let mut bench = Bench::default();
        let index = FIGURES.iter().position(|f| f.id == id).unwrap();
        bench.open(index);
        bench
    }

    fn typed(bench: &mut Bench, text: &str) {
        for c in text.chars() {
            bench.press(Key::char(c));
        }
    }

    #[test]
    fn the_answer_follows_what_is_typed() {
        let mut bench = open("alcohol");
        assert_eq!(
            bench.outcome(),
            Some(Outcome::Wants(vec!["original gravity", "present gravity"]))
        );
        typed(&mut bench, "100");
        bench.act(Action::Accept, 10);
        typed(&mut bench, "1.000");
        let Some(Outcome::Answer(figure)) = bench.outcome() else {
            panic!("an answer");
        };
        // The balance for 1.100 to 1.000, as the figure's own test has it.
        assert_eq!(figure.lines[0].text(System::Us), "13.5 % vol");
        assert!(figure.lines[0].plus_minus_text().is_some());
        assert!(!figure.why.formula.is_empty() && !figure.why.source.is_empty());
    }

    #[test]
    fn an_error_keeps_what_was_typed_and_says_what_is_accepted() {
        let mut bench = open("prime");
        typed(&mut bench, "5");
        assert_eq!(bench.outcome(), Some(Outcome::Unread));
        let form = bench.form().unwrap();
        let field = form.current().unwrap();
        assert_eq!(field.value(), "5");
        assert_eq!(
            field.problem.as_deref(),
            Some("volume: '5' has no unit; accepted is 5gal, 12floz, 19L or 750ml")
        );
        typed(&mut bench, "gal");
        assert!(bench.form().unwrap().current().unwrap().problem.is_none());
    }

    #[test]
    fn a_form_is_kept_while_another_is_looked_at() {
        let mut bench = open("alcohol");
        typed(&mut bench, "1.105");
        assert!(bench.act(Action::Back, 10));
        bench.act(Action::Down, 10);
        bench.act(Action::Accept, 10);
        assert!(bench.act(Action::Back, 10));
        bench.act(Action::Up, 10);
        bench.act(Action::Accept, 10);
        assert_eq!(bench.chosen().map(|f| f.id), Some("alcohol"));
        assert_eq!(bench.form().unwrap().value("og"), "1.105");
    }

    #[test]
    fn searching_narrows_the_list_and_escape_comes_back() {
        let mut bench = Bench::default();
        typed(&mut bench, "sulfite");
        let found = bench.lines();
        assert!(found.len() < FIGURES.len());
        let before = bench.chosen().map(|f| f.id);
        assert!(bench.act(Action::Back, 10), "first the search is emptied");
        assert_eq!(bench.chosen().map(|f| f.id), before);
        assert!(!bench.act(Action::Back, 10), "then the bench is left");
        typed(&mut bench, "no such thing");
        assert!(bench.lines().is_empty() && bench.chosen().is_none() && bench.outcome().is_none());
        bench.act(Action::Accept, 10);
        bench.act(Action::Down, 10);
        bench.act(Action::Why, 10);
    }

    #[test]
    fn every_figure_has_a_form_that_can_be_walked_through() {
        for index in 0..FIGURES.len() {
            let mut bench = Bench::default();
            bench.open(index);
            let fields = bench.form().unwrap().fields.len();
            for _ in 0..=fields {
                typed(&mut bench, "1");
                bench.act(Action::Right, 10);
                bench.act(Action::Accept, 10);
            }
            assert!(bench.outcome().is_some());
            bench.act(Action::Why, 10);
            assert!(bench.why);
        }
    }
}
