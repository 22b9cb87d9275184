//! The one table of key bindings: dispatch, footer and help all read it.

use super::key::{Code, Key};
use super::screen::Screen;
use super::state::State;

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
        .filter(|b| b.rank > 0 && scopes.iter().any(|s| b.holds(*s, state)))
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
    TABLE
        .iter()
        .chain(super::keys_looking::TABLE)
        .chain(super::keys_planning::TABLE)
        .chain(super::keys_cellar::TABLE)
}

use Action as A;
use Scope as S;

const fn k(c: char) -> Key {
    Key::char(c)
}
const ENTER: Key = Key::of(Code::Enter);
const ESC: Key = Key::of(Code::Esc);
const UP: Key = Key::of(Code::Up);
const DOWN: Key = Key::of(Code::Down);
const LEFT: Key = Key::of(Code::Left);
const RIGHT: Key = Key::of(Code::Right);
const PGUP: Key = Key::of(Code::PageUp);
const PGDN: Key = Key::of(Code::PageDown);
const HOME: Key = Key::of(Code::Home);
const END: Key = Key::of(Code::End);
const TAB: Key = Key::of(Code::Tab);
const BACKTAB: Key = Key::of(Code::BackTab);
const DEL: Key = Key::of(Code::Delete);

const SHELF: Scope = S::On(Screen::Shelf);
const ROUND: Scope = S::On(Screen::Round);
const BATCH: Scope = S::On(Screen::Batch);
const TREND: Scope = S::On(Screen::Trend);
const BENCH: Scope = S::On(Screen::Bench);
const WELCOME: Scope = S::On(Screen::Welcome);
/// Everything that lies on top of a screen.
const ON_TOP: &[Scope] = &[
    S::Slip,
    S::Done,
    S::Skip,
    S::Move,
    S::Clock,
    S::Why,
    S::Help,
    S::Settings,
];
/// Forms and pads that end with Enter.
const PADS: &[Scope] = &[S::Slip, S::Done, S::Skip, S::Move, S::Settings];

/// The table. A new line here is a new key: nothing else needs to know it but
/// the function that carries the action out.
static TABLE: &[Binding] = &[
    // Readings.
    Binding::new(
        A::Slip,
        &[],
        "reading",
        "Type what you saw: 42 is 1.042, 68f a temperature, ph3.4, 4312g, 10.4bx; then Enter.",
        Group::Readings,
        &[SHELF, BATCH, TREND],
    )
    .digits()
    .rank(1)
    .when(State::can_slip),
    Binding::new(
        A::Slip,
        &[],
        "reading",
        "Type the reading this stop asks for, then Enter.",
        Group::Readings,
        &[ROUND],
    )
    .digits()
    .rank(2)
    .when(State::can_slip),
    Binding::new(
        A::Note,
        &[k('\'')],
        "note",
        "Write a note into the ledger of the chosen vessel.",
        Group::Readings,
        &[SHELF, BATCH, TREND, ROUND],
    )
    .when(State::can_slip),
    Binding::new(
        A::PlaceSlip,
        &[k('t')],
        "place",
        "Type the temperature of the place; it counts for every vessel in it.",
        Group::Readings,
        &[SHELF, BATCH],
    )
    .rank(6)
    .when(State::can_place_slip),
    Binding::new(
        A::Edit,
        &[k('e')],
        "mend",
        "Mend the chosen reading of the ledger; the old one stays in history.",
        Group::Readings,
        &[BATCH],
    )
    .rank(3)
    .when(State::on_reading),
    Binding::new(
        A::Remove,
        &[DEL, k('-')],
        "take out",
        "Take the chosen reading out of the ledger; undo brings it back.",
        Group::Readings,
        &[BATCH],
    )
    .rank(4)
    .when(State::on_reading),
    // Steps.
    Binding::new(
        A::FollowUp,
        &[k('+')],
        "advice",
        "Put what is advised on the list: the deed today, then a reading to see whether it helped.",
        Group::Steps,
        &[SHELF, BATCH],
    )
    .when(State::can_follow_up),
    Binding::new(
        A::Done,
        &[k('d')],
        "done",
        "Mark a step done, with what was really added.",
        Group::Steps,
        &[SHELF, BATCH],
    )
    .rank(2)
    .when(State::has_step),
    Binding::new(
        A::Skip,
        &[k('x')],
        "skip",
        "Leave a step out, with a reason.",
        Group::Steps,
        &[SHELF, BATCH, ROUND],
    )
    .rank(4)
    .when(State::has_step),
    Binding::new(
        A::Move,
        &[k('m')],
        "move",
        "Move a step to another day; what hangs on it follows.",
        Group::Steps,
        &[SHELF, BATCH, ROUND],
    )
    .rank(5)
    .when(State::has_step),
    Binding::new(
        A::Clock,
        &[k('c')],
        "clock",
        "Start the countdown of a step that wants one, or show it again.",
        Group::Steps,
        &[SHELF, BATCH, ROUND],
    )
    .rank(5)
    .when(State::can_clock),
    Binding::new(
        A::Clock,
        &[TAB],
        "start clock",
        "Start the countdown of this step.",
        Group::Steps,
        &[S::Done],
    )
    .rank(3)
    .when(State::can_clock),
    Binding::new(
        A::Pause,
        &[k(' ')],
        "stop, go on",
        "Stop the countdown, or let it go on.",
        Group::Steps,
        &[S::Clock],
    )
    .rank(2),
    Binding::new(
        A::Accept,
        &[ENTER],
        "mark done",
        "Mark the step of the countdown done.",
        Group::Steps,
        &[S::Clock],
    )
    .rank(1),
    Binding::new(
        A::Round,
        &[k('r')],
        "round",
        "Walk from vessel to vessel, only where something is wanted.",
        Group::Steps,
        &[SHELF, BATCH],
    )
    .rank(3)
    .when(State::can_round),
    Binding::new(
        A::Accept,
        &[ENTER],
        "go on",
        "Mark this stop done, or begin its slip.",
        Group::Steps,
        &[ROUND],
    )
    .rank(1),
    Binding::new(
        A::Later,
        &[k('n'), RIGHT],
        "leave it",
        "Leave this stop as it is and go to the next.",
        Group::Steps,
        &[ROUND],
    )
    .rank(3)
    .when(State::in_round),
    Binding::new(
        A::Left,
        &[k('p'), LEFT],
        "stop before",
        "Go back to the stop before.",
        Group::Steps,
        &[ROUND],
    )
    .when(State::in_round),
    // Moving about.
    Binding::new(
        A::Up,
        &[UP, k('k')],
        "up",
        "One up.",
        Group::Moving,
        &[SHELF, BATCH],
    ),
    Binding::new(
        A::Up,
        &[UP, k('k')],
        "number above",
        "The number above.",
        Group::Moving,
        &[S::Why],
    ),
    Binding::new(
        A::Down,
        &[DOWN, k('j')],
        "next number",
        "The next number.",
        Group::Moving,
        &[S::Why],
    )
    .rank(1),
    Binding::new(
        A::Down,
        &[DOWN, k('j')],
        "down",
        "One down.",
        Group::Moving,
        &[SHELF, BATCH],
    ),
    Binding::new(
        A::Up,
        &[UP],
        "up",
        "The line or field above.",
        Group::Moving,
        &[
            S::Slip,
            S::Skip,
            S::Move,
            S::Help,
            S::Settings,
            BENCH,
            WELCOME,
        ],
    ),
    Binding::new(
        A::Down,
        &[DOWN],
        "down",
        "The line or field below.",
        Group::Moving,
        &[
            S::Slip,
            S::Skip,
            S::Move,
            S::Help,
            S::Settings,
            BENCH,
            WELCOME,
        ],
    ),
    Binding::new(
        A::Up,
        &[UP],
        "step above",
        "The step above.",
        Group::Moving,
        &[S::Done],
    ),
    Binding::new(
        A::Down,
        &[DOWN],
        "other step",
        "Another step of the same batch.",
        Group::Moving,
        &[S::Done],
    )
    .rank(2)
    .when(State::has_other_steps),
    Binding::new(
        A::PageUp,
        &[PGUP],
        "page up",
        "A screenful up.",
        Group::Moving,
        &[SHELF, BATCH, BENCH, S::Help, S::Why],
    ),
    Binding::new(
        A::PageDown,
        &[PGDN],
        "page down",
        "A screenful down.",
        Group::Moving,
        &[SHELF, BATCH, BENCH, S::Help, S::Why],
    ),
    Binding::new(
        A::First,
        &[HOME],
        "first",
        "To the first.",
        Group::Moving,
        &[SHELF, BATCH],
    ),
    Binding::new(
        A::Last,
        &[END],
        "last",
        "To the last.",
        Group::Moving,
        &[SHELF, BATCH],
    ),
    Binding::new(
        A::Left,
        &[LEFT, k('h')],
        "vessel before",
        "The vessel before, in the order of the shelf.",
        Group::Moving,
        &[BATCH],
    ),
    Binding::new(
        A::Right,
        &[RIGHT, k('l')],
        "next vessel",
        "The next vessel, in the order of the shelf.",
        Group::Moving,
        &[BATCH],
    ),
    Binding::new(
        A::Next,
        &[TAB],
        "plan, ledger",
        "Between the plan, the ledger and what skep makes of it.",
        Group::Moving,
        &[BATCH],
    )
    .rank(7),
    Binding::new(
        A::Next,
        &[TAB],
        "keys, words",
        "Between the keys and the words.",
        Group::Moving,
        &[S::Help],
    )
    .rank(1),
    Binding::new(
        A::Next,
        &[TAB],
        "next field",
        "The next field.",
        Group::Moving,
        &[S::Settings, BENCH, WELCOME],
    ),
    Binding::new(
        A::Previous,
        &[BACKTAB],
        "field before",
        "The field before.",
        Group::Moving,
        &[S::Settings, BENCH, WELCOME],
    ),
    Binding::new(
        A::Left,
        &[LEFT],
        "choice before",
        "The choice before, where a field has choices.",
        Group::Moving,
        &[S::Settings, WELCOME],
    ),
    Binding::new(
        A::Right,
        &[RIGHT],
        "other choice",
        "The next choice, where a field has choices.",
        Group::Moving,
        &[S::Settings, WELCOME],
    )
    .rank(2),
    Binding::new(
        A::Right,
        &[RIGHT],
        "other choice",
        "The next choice, where a field has choices.",
        Group::Moving,
        &[BENCH],
    )
    .rank(4)
    .when(|state| state.bench.on_choice()),
    Binding::new(
        A::Left,
        &[LEFT],
        "choice before",
        "The choice before, where a field has choices.",
        Group::Moving,
        &[BENCH],
    )
    .when(|state| state.bench.on_choice()),
    // Screens.
    Binding::new(
        A::Open,
        &[ENTER],
        "look closer",
        "Open the chosen batch: its trend, plan and ledger.",
        Group::Screens,
        &[SHELF],
    )
    .rank(7)
    .when(State::has_chosen),
    Binding::new(
        A::Why,
        &[k('w')],
        "why?",
        "Show where the numbers of the chosen vessel come from.",
        Group::Screens,
        &[SHELF, BATCH, TREND, ROUND],
    )
    .rank(8)
    .when(State::has_chosen),
    Binding::new(
        A::Help,
        &[k('?'), Key::of(Code::F(1))],
        "help",
        "Keys and words, searchable.",
        Group::Screens,
        &[S::Everywhere],
    )
    .rank(9),
    Binding::new(
        A::Settings,
        &[k(',')],
        "choices",
        "Units, gravity scale and other choices.",
        Group::Screens,
        &[S::Everywhere],
    )
    .when(State::has_household),
    Binding::new(
        A::Demo,
        &[Key::ctrl('d')],
        "the demo",
        "Look at an invented household instead; nothing of yours is touched.",
        Group::Screens,
        &[WELCOME],
    )
    .rank(3),
    Binding::new(
        A::Go(Screen::Bench),
        &[k('b')],
        "bench",
        "Every trade sum away from any batch: conversions, blends, priming, sulfite and more.",
        Group::Screens,
        &[SHELF, BATCH],
    )
    .rank(14),
    Binding::new(
        A::Accept,
        &[ENTER],
        "open, go on",
        "Open the chosen sum, or go on to its next field; the answer follows what is typed.",
        Group::Screens,
        &[BENCH],
    )
    .rank(1),
    Binding::new(
        A::Why,
        &[Key::ctrl('y'), Key::of(Code::F(2))],
        "why?",
        "Show inputs, formula, range and source of the chosen sum, or its form again.",
        Group::Screens,
        &[BENCH],
    )
    .rank(2),
    Binding::new(
        A::Help,
        &[Key::of(Code::F(1))],
        "help",
        "Keys and words, searchable.",
        Group::Screens,
        &[BENCH],
    )
    .rank(6),
    Binding::new(
        A::Back,
        &[ESC],
        "back",
        "From the why to the form, from the form to the list, and away; what was typed stays.",
        Group::Skep,
        &[BENCH],
    )
    .rank(3),
    // Skep itself.
    Binding::new(
        A::Accept,
        &[ENTER],
        "go on",
        "To the next question; on the last one, begin.",
        Group::Skep,
        &[WELCOME],
    )
    .rank(1),
    Binding::new(
        A::Accept,
        &[ENTER],
        "keep it",
        "Keep what was typed.",
        Group::Skep,
        PADS,
    )
    .rank(1),
    Binding::new(
        A::Undo,
        &[k('u')],
        "undo",
        "Take the last change back, also after a restart.",
        Group::Skep,
        &[S::Everywhere],
    )
    .rank(10)
    .when(State::can_undo),
    Binding::new(
        A::Redo,
        &[k('U'), Key::ctrl('r')],
        "redo",
        "Bring back what undo took.",
        Group::Skep,
        &[S::Everywhere],
    )
    .rank(11)
    .when(State::can_redo),
    Binding::new(
        A::Back,
        &[ESC],
        "back",
        "Back to where you came from.",
        Group::Skep,
        &[S::Everywhere],
    )
    .rank(12)
    .when(State::can_go_back),
    Binding::new(
        A::Back,
        &[ESC],
        "leave",
        "Close what lies on top; typed text is asked about first.",
        Group::Skep,
        ON_TOP,
    )
    .rank(12),
    Binding::new(
        A::Quit,
        &[k('q')],
        "quit",
        "Leave skep. All that was kept is in the store.",
        Group::Skep,
        &[S::Everywhere],
    )
    .rank(13),
    Binding::new(
        A::Quit,
        &[Key::ctrl('c')],
        "quit at once",
        "Leave skep from anywhere.",
        Group::Skep,
        &[
            S::Everywhere,
            BENCH,
            WELCOME,
            S::Slip,
            S::Done,
            S::Skip,
            S::Move,
            S::Clock,
            S::Why,
            S::Help,
            S::Settings,
        ],
    ),
    Binding::new(
        A::Suspend,
        &[Key::ctrl('z')],
        "to the shell",
        "Hand the terminal to the shell; fg comes back.",
        Group::Skep,
        &[
            S::Everywhere,
            BENCH,
            WELCOME,
            S::Slip,
            S::Done,
            S::Skip,
            S::Move,
            S::Clock,
            S::Why,
            S::Help,
            S::Settings,
        ],
    ),
    Binding::new(
        A::Redraw,
        &[Key::ctrl('l')],
        "redraw",
        "Draw the whole screen afresh.",
        Group::Skep,
        &[
            S::Everywhere,
            BENCH,
            WELCOME,
            S::Slip,
            S::Done,
            S::Skip,
            S::Move,
            S::Clock,
            S::Why,
            S::Help,
            S::Settings,
        ],
    ),
];

#[cfg(test)]
mod tests {
    use super::*;
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
