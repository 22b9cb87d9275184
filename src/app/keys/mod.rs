//! The one table of key bindings: dispatch, footer and help all read it.

mod cellar;
mod daily;
mod looking;
mod names;
mod planning;

use crate::app::key::Key;
use crate::app::screen::Screen;
use crate::app::state::State;

/// What a key does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Action {
    /// Leave skep.
    Quit,
    /// Hand the terminal back to the shell for a while.
    Suspend,
    /// Draw everything afresh.
    Redraw,
    /// Go back, close what lies on top.
    Back,
    /// Keys and words.
    Help,
    /// Where a number comes from.
    Why,
    /// Choices.
    Settings,
    /// Take the last change back.
    Undo,
    /// Bring back what undo took.
    Redo,
    /// One up.
    Up,
    /// One down.
    Down,
    /// A screenful up.
    PageUp,
    /// A screenful down.
    PageDown,
    /// To the first.
    First,
    /// To the last.
    Last,
    /// To the left.
    Left,
    /// To the right.
    Right,
    /// To the next part.
    Next,
    /// To the part before.
    Previous,
    /// Look closer.
    Open,
    /// Go to a screen.
    Go(Screen),
    /// Begin a slip for the chosen vessel with the digit typed.
    Slip,
    /// Begin a slip that is a note.
    Note,
    /// Put what is advised on the chosen batch's list.
    FollowUp,
    /// Begin a slip for the place the chosen vessel stands in.
    PlaceSlip,
    /// Mark a step done.
    Done,
    /// Leave a step out.
    Skip,
    /// Move a step to another day.
    Move,
    /// Start or show the countdown.
    Clock,
    /// Begin the round.
    Round,
    /// Say yes to what lies on top: keep, mark, start.
    Accept,
    /// Stop and go on with the countdown.
    Pause,
    /// Leave this stop of the round for later.
    Later,
    /// Mend a reading.
    Edit,
    /// Take a reading out.
    Remove,
    /// See more of the time axis at once.
    Wider,
    /// See less of it, closer.
    Closer,
    /// Look for anything and go there.
    Find,
    /// All of the time axis, nothing read off.
    Whole,
    /// Days or dates on the time axis.
    Axis,
    /// Names of the steps beside their ticks.
    Names,
    /// Earlier batches laid over the trend.
    Earlier,
    /// Look into the demo.
    Demo,
    /// Be led through a first round, or no longer.
    Guide,
    /// Begin to type a value where the keys are.
    Type,
    /// A number stays, or follows.
    Lock,
    /// Something more: a part, a thing, days away, a step.
    Add,
    /// Keep what was planned or made.
    Keep,
    /// Begin the day, or go on with it.
    Day,
    /// The chosen batch planned once more.
    Again,
    /// All amounts fitted to the vessel.
    Fit,
    /// From the beginning.
    Fresh,
    /// How large a place is.
    Room,
    /// Steps moved before or after days away.
    MoveAll,
    /// The countdown of a line of the day.
    LineClock,
    /// Marks and words for what was opened.
    Taste,
    /// Emptied lots too.
    Empties,
    /// This one, to be laid over the others.
    MarkIt,
    /// Another order of the list.
    Sort,
}

/// Where a binding holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Scope {
    /// On every screen, while nothing lies on top.
    Everywhere,
    /// On one screen, while nothing lies on top.
    On(Screen),
    /// While a slip is being typed.
    Slip,
    /// While a step is being marked done.
    Done,
    /// While the reason of a skip is being typed.
    Skip,
    /// While a new day is being typed.
    Move,
    /// While the countdown lies on top.
    Clock,
    /// While the inputs of numbers lie on top.
    Why,
    /// While keys and words lie on top.
    Help,
    /// While the choices lie on top.
    Settings,
    /// While one value is being typed.
    Cell,
    /// While a form lies on top.
    Sheet,
    /// While something is looked for.
    Find,
}

impl Scope {
    /// All of them.
    pub fn all() -> impl Iterator<Item = Self> {
        let screens = Screen::ALL.iter().map(|s| Self::On(*s));
        let on_top = [
            Self::Slip,
            Self::Done,
            Self::Skip,
            Self::Move,
            Self::Clock,
            Self::Why,
            Self::Help,
            Self::Settings,
            Self::Cell,
            Self::Sheet,
            Self::Find,
        ];
        std::iter::once(Self::Everywhere)
            .chain(screens)
            .chain(on_top)
    }

    /// Its name in a file of keys.
    pub fn name(self) -> &'static str {
        match self {
            Self::Everywhere => "everywhere",
            Self::On(screen) => screen.title(),
            Self::Slip => "slip",
            Self::Done => "marking done",
            Self::Skip => "skipping",
            Self::Move => "moving",
            Self::Clock => "clock",
            Self::Why => "why",
            Self::Help => "help",
            Self::Settings => "choices",
            Self::Cell => "value",
            Self::Sheet => "form",
            Self::Find => "find",
        }
    }

    /// Whether keys are looked up there together with those everywhere.
    pub fn is_plain_screen(self) -> bool {
        matches!(self, Self::On(screen) if !screen.types())
    }

    /// Whether plain characters are text there and no commands.
    pub fn types(self) -> bool {
        match self {
            Self::Everywhere | Self::Clock | Self::Why => false,
            Self::On(screen) => screen.types(),
            Self::Slip
            | Self::Done
            | Self::Skip
            | Self::Move
            | Self::Help
            | Self::Settings
            | Self::Cell
            | Self::Sheet
            | Self::Find => true,
        }
    }
}

/// Heading in the help.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Group {
    /// Readings.
    Readings,
    /// Steps.
    Steps,
    /// Planning.
    Planning,
    /// Moving about.
    Moving,
    /// Screens.
    Screens,
    /// Skep itself.
    Skep,
}

impl Group {
    /// All of them, in the order of the help.
    pub const ALL: [Self; 6] = [
        Self::Readings,
        Self::Steps,
        Self::Planning,
        Self::Moving,
        Self::Screens,
        Self::Skep,
    ];

    /// Its heading.
    pub fn title(self) -> &'static str {
        match self {
            Self::Readings => "readings",
            Self::Steps => "steps",
            Self::Planning => "planning",
            Self::Moving => "moving about",
            Self::Screens => "screens",
            Self::Skep => "skep itself",
        }
    }
}

/// One line of the table.
pub struct Binding {
    /// What it does.
    pub action: Action,
    /// Its keys, the one to be shown first.
    pub keys: &'static [Key],
    /// Whether every digit is a key of it.
    pub digits: bool,
    /// A word or two for the footer.
    pub label: &'static str,
    /// A sentence for the help.
    pub help: &'static str,
    /// Heading in the help.
    pub group: Group,
    /// Where it holds.
    pub scopes: &'static [Scope],
    /// Place in the footer, the smallest first; 0 keeps it out.
    pub rank: u8,
    /// Whether it can do something now.
    pub available: fn(&State) -> bool,
    /// Whether its place in the footer is worth the columns now.
    pub worth: fn(&State) -> bool,
}

fn always(_: &State) -> bool {
    true
}

impl Binding {
    pub(super) const fn new(
        action: Action,
        keys: &'static [Key],
        label: &'static str,
        help: &'static str,
        group: Group,
        scopes: &'static [Scope],
    ) -> Self {
        Self {
            action,
            keys,
            digits: false,
            label,
            help,
            group,
            scopes,
            rank: 0,
            available: always,
            worth: always,
        }
    }

    pub(super) const fn rank(mut self, rank: u8) -> Self {
        self.rank = rank;
        self
    }

    pub(super) const fn digits(mut self) -> Self {
        self.digits = true;
        self
    }

    pub(super) const fn when(mut self, available: fn(&State) -> bool) -> Self {
        self.available = available;
        self
    }

    pub(super) const fn worth(mut self, worth: fn(&State) -> bool) -> Self {
        self.worth = worth;
        self
    }

    /// The label for the footer; undo and redo say what they would do.
    pub fn label_now(&self, state: &State) -> String {
        let name = match self.action {
            Action::Undo => state.undo.as_deref(),
            Action::Redo => state.redo.as_deref(),
            _ => None,
        };
        name.map_or_else(
            || self.label.to_owned(),
            |name| format!("{}: {name}", self.label),
        )
    }

    fn holds(&self, scope: Scope, state: &State) -> bool {
        self.scopes.contains(&scope) && (self.available)(state)
    }
}

/// What a key does now, if anything.
pub fn resolve(state: &State, key: Key) -> Option<Action> {
    let map = &state.library.keys;
    state.scopes().into_iter().find_map(|scope| {
        table()
            .find(|b| map.has(scope, b, key) && b.holds(scope, state))
            .map(|b| b.action)
    })
}

/// The key of an action on the screen shown, or empty where it has none.
pub fn key_of(state: &State, action: Action) -> String {
    let here = [Scope::On(state.screen), Scope::Everywhere];
    table()
        .find(|b| b.action == action && b.scopes.iter().any(|s| here.contains(s)))
        .map_or_else(String::new, |b| state.library.keys.first(&here, b))
}

/// The bindings that can do something now, in the order of the footer.
pub fn hints(state: &State) -> Vec<&'static Binding> {
    let scopes = state.scopes();
    let mut shown: Vec<&'static Binding> = table()
        .filter(|b| b.rank > 0 && (b.worth)(state))
        .filter(|b| scopes.iter().any(|s| b.holds(*s, state)))
        .collect();
    shown.sort_by_key(|b| b.rank);
    shown
}

/// The bindings of some scopes under a heading, for the help.
pub fn listed(scopes: &[Scope], group: Group) -> impl Iterator<Item = &'static Binding> {
    table().filter(move |b| b.group == group && b.scopes.iter().any(|s| scopes.contains(s)))
}

/// All bindings.
pub fn table() -> impl Iterator<Item = &'static Binding> {
    daily::TABLE
        .iter()
        .chain(looking::TABLE)
        .chain(planning::TABLE)
        .chain(cellar::TABLE)
}

#[cfg(test)]
mod tests {
    use super::daily::ON_TOP;
    use super::*;
    use super::{Action as A, Scope as S};
    use std::collections::HashSet;

    /// Scopes in which keys are looked up together.
    fn together(scope: Scope) -> Vec<Scope> {
        if scope.is_plain_screen() {
            vec![scope, Scope::Everywhere]
        } else {
            vec![scope]
        }
    }

    #[test]
    fn no_key_does_two_things_in_one_place() {
        for scope in Scope::all() {
            let mut seen: HashSet<Key> = HashSet::new();
            let scopes = together(scope);
            let mut digits = 0;
            for binding in table().filter(|b| b.scopes.iter().any(|s| scopes.contains(s))) {
                digits += u32::from(binding.digits);
                for key in binding.keys {
                    assert!(seen.insert(*key), "{key} is bound twice in {scope:?}");
                    assert!(
                        key.digit().is_none(),
                        "{key}: a digit begins a slip and nothing else"
                    );
                }
            }
            assert!(digits <= 1, "digits are bound twice in {scope:?}");
        }
    }

    #[test]
    fn a_word_names_one_key_in_one_place() {
        for scope in Scope::all() {
            let mut seen = HashSet::new();
            for binding in table().filter(|b| b.scopes.contains(&scope)) {
                let label = binding.label;
                assert!(seen.insert(label), "'{label}' twice in {}", scope.name());
            }
        }
        let names: HashSet<&str> = Scope::all().map(Scope::name).collect();
        assert_eq!(names.len(), Scope::all().count());
    }

    #[test]
    fn text_is_never_taken_for_a_command() {
        for binding in table() {
            for scope in binding.scopes.iter().filter(|s| s.types()) {
                assert!(!binding.digits, "digits are text in {scope:?}");
                for key in binding.keys {
                    assert_eq!(key.typed(), None, "{key} is text in {scope:?}");
                }
            }
        }
    }

    #[test]
    fn there_is_a_way_out_of_everything_that_lies_on_top() {
        for scope in ON_TOP.iter().chain(&[S::Cell, S::Sheet, S::Find]) {
            let out = table().any(|b| b.action == A::Back && b.scopes.contains(scope));
            assert!(out, "no way out of {scope:?}");
        }
        for screen in Screen::ALL {
            let scopes = together(Scope::On(*screen));
            let out = table().any(|b| {
                matches!(b.action, A::Quit | A::Back) && b.scopes.iter().any(|s| scopes.contains(s))
            });
            assert!(out, "no way out of {}", screen.title());
        }
    }

    #[test]
    fn every_binding_can_be_reached_and_read() {
        for binding in table() {
            let action = binding.action;
            assert!(
                binding.digits || !binding.keys.is_empty(),
                "{action:?} has no key"
            );
            assert!(!binding.scopes.is_empty(), "{action:?} holds nowhere");
            assert!(binding.label.len() <= 14, "'{}' is long", binding.label);
            assert!(binding.help.ends_with('.'), "'{}'", binding.help);
            let first = binding.help.chars().next().unwrap();
            assert!(first.is_uppercase(), "'{}'", binding.help);
        }
    }
}
