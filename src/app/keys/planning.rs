//! Keys of planning: the planner, the day, the season, the pantry, routines,
//! and the pads and forms that lie on top of them.

use super::names::{
    BACKTAB, BATCH, DAY, DEL, DOWN, EDITOR, END, ENTER, ESC, HOME, LEFT, PANTRY, PLANNER, RIGHT,
    SEASON, SHELF, TAB, UP, k,
};
use super::{Action as A, Binding, Group, Scope as S};
use crate::app::key::{Code, Key};
use crate::app::screen::Screen;
use crate::app::state::State;
use crate::app::{checklist, editor, season};

const LISTS: &[S] = &[PLANNER, DAY, SEASON, PANTRY, EDITOR];

fn planned(state: &State) -> bool {
    checklist::can_begin(state)
}

fn kept_plan(state: &State) -> bool {
    state.planner.plan.is_some()
}

fn on_item(state: &State) -> bool {
    crate::app::pantry::current(state).is_some()
}

pub(super) static TABLE: &[Binding] = &[
    // To the screens.
    Binding::new(
        A::Go(Screen::Planner),
        &[k('p')],
        "plan",
        "Plan a batch: change any number, the others follow.",
        Group::Screens,
        &[SHELF, SEASON, PANTRY],
    )
    .rank(9)
    .when(State::has_household),
    Binding::new(
        A::Again,
        &[k('p')],
        "plan again",
        "Plan this batch once more as it was made, with its notes; a planned one is opened.",
        Group::Screens,
        &[BATCH],
    )
    .when(State::has_chosen),
    Binding::new(
        A::Go(Screen::Season),
        &[k('s')],
        "season",
        "Vessels against weeks: what falls when, what clashes, days away.",
        Group::Screens,
        &[SHELF, BATCH, PANTRY],
    )
    .when(State::has_household),
    Binding::new(
        A::Go(Screen::Pantry),
        &[k('y')],
        "pantry",
        "What there is, and what to buy.",
        Group::Screens,
        &[SHELF, BATCH, SEASON, PLANNER],
    )
    .when(State::has_household),
    Binding::new(
        A::Go(Screen::Editor),
        &[k('o')],
        "routines",
        "Make and change routines.",
        Group::Screens,
        &[SHELF, PLANNER, SEASON],
    ),
    Binding::new(
        A::Go(Screen::Checklist),
        &[k('g')],
        "the day",
        "Go through the day of a planned batch, line by line.",
        Group::Screens,
        &[SHELF, BATCH, SEASON],
    )
    .when(planned),
    // The planner.
    Binding::new(
        A::Type,
        &[],
        "value",
        "Type another value; all others follow as you type.",
        Group::Planning,
        &[PLANNER],
    )
    .digits()
    .rank(1),
    Binding::new(
        A::Open,
        &[ENTER],
        "change",
        "Change the row: type its value, or choose.",
        Group::Planning,
        &[PLANNER],
    )
    .rank(2),
    Binding::new(
        A::Left,
        &[LEFT, k('h')],
        "choice before",
        "The choice before, where a row has choices.",
        Group::Planning,
        &[PLANNER],
    ),
    Binding::new(
        A::Right,
        &[RIGHT],
        "other choice",
        "The next choice, where a row has choices.",
        Group::Planning,
        &[PLANNER],
    )
    .rank(3),
    Binding::new(
        A::Next,
        &[TAB],
        "in words",
        "Between the picture of the vessel and all that is to be known.",
        Group::Planning,
        &[PLANNER],
    ),
    Binding::new(
        A::Lock,
        &[k('l')],
        "lock",
        "Let this number stay when others change, or follow again.",
        Group::Planning,
        &[PLANNER],
    )
    .rank(4),
    Binding::new(
        A::Add,
        &[k('a')],
        "add",
        "Add a part: from the pantry, the table, or your own.",
        Group::Planning,
        &[PLANNER],
    )
    .rank(5),
    Binding::new(
        A::Remove,
        &[k('-'), DEL],
        "take out",
        "Take the part out of the plan.",
        Group::Planning,
        &[PLANNER],
    ),
    Binding::new(
        A::Fit,
        &[k('z')],
        "fit",
        "Scale all amounts to the vessel, with the room its foam wants.",
        Group::Planning,
        &[PLANNER],
    ),
    Binding::new(
        A::Fresh,
        &[k('n')],
        "new",
        "Begin a fresh plan.",
        Group::Planning,
        &[PLANNER],
    ),
    Binding::new(
        A::Keep,
        &[k('s')],
        "keep",
        "Keep the plan in the store, with its steps on their days.",
        Group::Planning,
        &[PLANNER],
    )
    .rank(2)
    .when(kept_plan),
    Binding::new(
        A::Day,
        &[k('g')],
        "begin the day",
        "Keep the plan and go through its day.",
        Group::Planning,
        &[PLANNER],
    )
    .rank(7)
    .when(kept_plan),
    // The day.
    Binding::new(
        A::Accept,
        &[ENTER],
        "tick",
        "Tick the line with the amounts as planned; the time is kept.",
        Group::Planning,
        &[DAY],
    )
    .rank(1),
    Binding::new(
        A::Type,
        &[],
        "really used",
        "Type what was really used, or the gravity.",
        Group::Planning,
        &[DAY],
    )
    .digits()
    .rank(2),
    Binding::new(
        A::LineClock,
        &[k('c')],
        "clock",
        "Start the countdown of the line.",
        Group::Planning,
        &[DAY],
    )
    .rank(3)
    .when(checklist::can_clock),
    Binding::new(
        A::Remove,
        &[k('-'), DEL],
        "untick",
        "Take the tick off a line that put nothing in.",
        Group::Planning,
        &[DAY],
    ),
    // The season.
    Binding::new(
        A::Left,
        &[LEFT, k('h')],
        "earlier",
        "A week earlier.",
        Group::Planning,
        &[SEASON],
    ),
    Binding::new(
        A::Right,
        &[RIGHT, k('l')],
        "later",
        "A week later.",
        Group::Planning,
        &[SEASON],
    )
    .rank(2),
    Binding::new(
        A::Open,
        &[ENTER],
        "look closer",
        "Open the batch in the vessel.",
        Group::Planning,
        &[SEASON],
    )
    .rank(1),
    Binding::new(
        A::Add,
        &[k('a')],
        "away",
        "Write down days away: 12-19 May.",
        Group::Planning,
        &[SEASON],
    )
    .rank(3),
    Binding::new(
        A::Next,
        &[TAB],
        "leaving",
        "Between the clashes and what to do before leaving.",
        Group::Planning,
        &[SEASON],
    )
    .rank(4),
    Binding::new(
        A::MoveAll,
        &[k('m')],
        "move",
        "Move the steps that can be moved before or after the days away.",
        Group::Planning,
        &[SEASON],
    )
    .rank(5)
    .when(season::has_away),
    Binding::new(
        A::Remove,
        &[k('-'), DEL],
        "not away",
        "Take the days away off the list.",
        Group::Planning,
        &[SEASON],
    )
    .when(season::has_away),
    Binding::new(
        A::Room,
        &[k('z')],
        "room size",
        "Say how large the place is, for the estimate of its air.",
        Group::Planning,
        &[SEASON],
    ),
    // The pantry.
    Binding::new(
        A::Add,
        &[k('a')],
        "add",
        "Put a thing into the pantry.",
        Group::Planning,
        &[PANTRY],
    )
    .rank(1),
    Binding::new(
        A::Edit,
        &[k('e'), ENTER],
        "change",
        "Change amount, lot, date, price and the rest.",
        Group::Planning,
        &[PANTRY],
    )
    .rank(2)
    .when(on_item),
    Binding::new(
        A::Type,
        &[k('-')],
        "take out",
        "Type how much is taken out.",
        Group::Planning,
        &[PANTRY],
    )
    .digits()
    .rank(3)
    .when(on_item),
    Binding::new(
        A::Next,
        &[TAB],
        "to buy",
        "Between what there is and what to buy.",
        Group::Planning,
        &[PANTRY],
    )
    .rank(4),
    // Routines.
    Binding::new(
        A::Open,
        &[ENTER],
        "open",
        "Open the routine, or the step, to change it.",
        Group::Planning,
        &[EDITOR],
    )
    .rank(1),
    Binding::new(
        A::Left,
        &[LEFT, k('h')],
        "a day earlier",
        "Let the step open a day earlier.",
        Group::Planning,
        &[EDITOR],
    )
    .when(editor::has_draft),
    Binding::new(
        A::Right,
        &[RIGHT, k('l')],
        "a day later",
        "Let the step open a day later.",
        Group::Planning,
        &[EDITOR],
    )
    .rank(3)
    .when(editor::has_draft),
    Binding::new(
        A::Add,
        &[k('a')],
        "add a step",
        "Put a new step after this one.",
        Group::Planning,
        &[EDITOR],
    )
    .rank(4)
    .when(editor::has_draft),
    Binding::new(
        A::Remove,
        &[k('-'), DEL],
        "take out",
        "Take the step out of the routine.",
        Group::Planning,
        &[EDITOR],
    )
    .when(editor::has_draft),
    Binding::new(
        A::Edit,
        &[k('e')],
        "title, key",
        "Change the routine's key, title and words; a new key makes a new routine.",
        Group::Planning,
        &[EDITOR],
    )
    .rank(5)
    .when(editor::has_draft),
    Binding::new(
        A::Keep,
        &[k('s')],
        "save",
        "Check the routine and save it as a file of your own.",
        Group::Planning,
        &[EDITOR],
    )
    .rank(6)
    .when(editor::has_draft),
    Binding::new(
        A::Fresh,
        &[k('n')],
        "the list",
        "Back to the list of routines.",
        Group::Planning,
        &[EDITOR],
    )
    .when(editor::has_draft),
    // Moving about in lists.
    Binding::new(A::Up, &[UP, k('k')], "up", "One up.", Group::Moving, LISTS),
    Binding::new(
        A::Down,
        &[DOWN, k('j')],
        "down",
        "One down.",
        Group::Moving,
        LISTS,
    ),
    Binding::new(
        A::PageUp,
        &[Key::of(Code::PageUp)],
        "page up",
        "A screenful up.",
        Group::Moving,
        LISTS,
    ),
    Binding::new(
        A::PageDown,
        &[Key::of(Code::PageDown)],
        "page down",
        "A screenful down.",
        Group::Moving,
        LISTS,
    ),
    Binding::new(
        A::First,
        &[HOME],
        "first",
        "To the first.",
        Group::Moving,
        LISTS,
    ),
    Binding::new(
        A::Last,
        &[END],
        "last",
        "To the last.",
        Group::Moving,
        LISTS,
    ),
    // What lies on top.
    Binding::new(
        A::Accept,
        &[ENTER],
        "take it",
        "Take the value that was typed.",
        Group::Skep,
        &[S::Cell],
    )
    .rank(1),
    Binding::new(
        A::Accept,
        &[ENTER],
        "keep it",
        "Keep what the form says.",
        Group::Skep,
        &[S::Sheet],
    )
    .rank(1),
    Binding::new(
        A::Back,
        &[ESC],
        "leave",
        "Close what lies on top; typed text is asked about first.",
        Group::Skep,
        &[S::Cell, S::Sheet],
    )
    .rank(12),
    Binding::new(
        A::Up,
        &[UP],
        "up",
        "The field above.",
        Group::Moving,
        &[S::Sheet],
    ),
    Binding::new(
        A::Down,
        &[DOWN],
        "down",
        "The field below.",
        Group::Moving,
        &[S::Sheet],
    ),
    Binding::new(
        A::Next,
        &[TAB],
        "next field",
        "The next field.",
        Group::Moving,
        &[S::Sheet],
    )
    .rank(2),
    Binding::new(
        A::Previous,
        &[BACKTAB],
        "field before",
        "The field before.",
        Group::Moving,
        &[S::Sheet],
    ),
    Binding::new(
        A::Left,
        &[LEFT],
        "choice before",
        "The choice before, where a field has choices.",
        Group::Moving,
        &[S::Sheet],
    ),
    Binding::new(
        A::Right,
        &[RIGHT],
        "other choice",
        "The next choice, where a field has choices.",
        Group::Moving,
        &[S::Sheet],
    )
    .rank(3),
    Binding::new(
        A::Quit,
        &[Key::ctrl('c')],
        "quit at once",
        "Leave skep from anywhere.",
        Group::Skep,
        &[S::Cell, S::Sheet],
    ),
    Binding::new(
        A::Suspend,
        &[Key::ctrl('z')],
        "to the shell",
        "Hand the terminal to the shell; fg comes back.",
        Group::Skep,
        &[S::Cell, S::Sheet],
    ),
    Binding::new(
        A::Redraw,
        &[Key::ctrl('l')],
        "redraw",
        "Draw the whole screen afresh.",
        Group::Skep,
        &[S::Cell, S::Sheet],
    ),
];
