//! Keys of bottling day and the cellar.

use super::names::{
    BACKTAB, BATCH, BOTTLING, CELLAR, DOWN, END, ENTER, ESC, HOME, LEFT, PGDN, PGUP, RIGHT, SHELF,
    TAB, UP, k,
};
use super::{Action as A, Binding, Group, Scope as S};
use crate::app::key::{Code, Key};
use crate::app::screen::Screen;
use crate::app::state::State;
use crate::app::{bottling, cellar, handling};

/// Screens that are a form with lines beside it.
const DESKS: &[S] = &[BOTTLING, S::On(Screen::Handling)];

pub(super) static TABLE: &[Binding] = &[
    Binding::new(
        A::Go(Screen::Bottling),
        &[k('f')],
        "fill bottles",
        "Bottling day: may it be bottled, how much sugar, which bottles, how many.",
        Group::Screens,
        &[SHELF, BATCH],
    )
    .when(bottling::can_open),
    Binding::new(
        A::Go(Screen::Handling),
        &[k('a')],
        "rack, add",
        "Rack, split, blend, top up, stabilise or sweeten, with what comes of it.",
        Group::Screens,
        &[SHELF, BATCH],
    )
    .when(handling::can_open),
    Binding::new(
        A::Go(Screen::Cellar),
        &[k('v')],
        "cellar",
        "Bottles: what is there, what to open next, how it tasted; batches side by side.",
        Group::Screens,
        &[SHELF, BATCH, S::On(Screen::Season), S::On(Screen::Pantry)],
    )
    .rank(10)
    .when(State::has_household),
    // A form with what comes of it beside.
    Binding::new(
        A::Accept,
        &[ENTER],
        "go on",
        "To the next line; on the last one it is done and kept.",
        Group::Skep,
        DESKS,
    )
    .rank(1),
    Binding::new(
        A::Keep,
        &[Key::ctrl('s')],
        "do it now",
        "Do it as it stands, from any line.",
        Group::Skep,
        DESKS,
    )
    .rank(2),
    Binding::new(A::Up, &[UP], "up", "The line above.", Group::Moving, DESKS),
    Binding::new(
        A::Down,
        &[DOWN],
        "down",
        "The line below.",
        Group::Moving,
        DESKS,
    ),
    Binding::new(
        A::Next,
        &[TAB],
        "next line",
        "The line below.",
        Group::Moving,
        DESKS,
    ),
    Binding::new(
        A::Previous,
        &[BACKTAB],
        "line before",
        "The line above.",
        Group::Moving,
        DESKS,
    ),
    Binding::new(
        A::Left,
        &[LEFT],
        "choice before",
        "The choice before, where a line has choices.",
        Group::Moving,
        DESKS,
    ),
    Binding::new(
        A::Right,
        &[RIGHT],
        "other choice",
        "The next choice, where a line has choices.",
        Group::Moving,
        DESKS,
    )
    .rank(3),
    Binding::new(
        A::PageUp,
        &[PGUP],
        "read up",
        "What stands beside the form, further up.",
        Group::Moving,
        DESKS,
    ),
    Binding::new(
        A::PageDown,
        &[PGDN],
        "read on",
        "What stands beside the form, further down.",
        Group::Moving,
        DESKS,
    )
    .rank(4),
    Binding::new(
        A::Help,
        &[Key::of(Code::F(1))],
        "help",
        "Keys and words, searchable.",
        Group::Screens,
        DESKS,
    )
    .rank(8),
    Binding::new(
        A::Back,
        &[ESC],
        "back",
        "Back to where you came from; what was typed stays.",
        Group::Skep,
        DESKS,
    )
    .rank(9),
    Binding::new(
        A::Quit,
        &[Key::ctrl('c')],
        "quit at once",
        "Leave skep from anywhere.",
        Group::Skep,
        DESKS,
    ),
    Binding::new(
        A::Suspend,
        &[Key::ctrl('z')],
        "to the shell",
        "Hand the terminal to the shell; fg comes back.",
        Group::Skep,
        DESKS,
    ),
    Binding::new(
        A::Redraw,
        &[Key::ctrl('l')],
        "redraw",
        "Draw the whole screen afresh.",
        Group::Skep,
        DESKS,
    ),
    // The cellar.
    Binding::new(
        A::Type,
        &[k('-')],
        "take",
        "Take bottles out: 1, 2 given Anna, 1 broken, count 7; glasses out of a keg.",
        Group::Planning,
        &[CELLAR],
    )
    .digits()
    .rank(1)
    .when(cellar::can_take),
    Binding::new(
        A::Taste,
        &[k('t')],
        "taste",
        "Five marks and words for what was opened.",
        Group::Planning,
        &[CELLAR],
    )
    .rank(2)
    .when(cellar::can_taste),
    Binding::new(
        A::Next,
        &[TAB],
        "compare",
        "Between the bottles and all batches side by side.",
        Group::Planning,
        &[CELLAR],
    )
    .rank(3),
    Binding::new(
        A::Empties,
        &[k('e')],
        "empties",
        "Show emptied lots too, or hide them.",
        Group::Planning,
        &[CELLAR],
    )
    .rank(5)
    .when(cellar::listing),
    Binding::new(
        A::MarkIt,
        &[k(' '), ENTER],
        "lay over",
        "Lay the trend of this batch over the others, or take it off.",
        Group::Planning,
        &[CELLAR],
    )
    .rank(1)
    .when(cellar::comparing),
    Binding::new(
        A::Sort,
        &[k('s')],
        "order",
        "The youngest first, the best, the quickest, by yeast, by honey and sugar.",
        Group::Planning,
        &[CELLAR],
    )
    .rank(2)
    .when(cellar::comparing),
    Binding::new(
        A::Up,
        &[UP, k('k')],
        "up",
        "One up.",
        Group::Moving,
        &[CELLAR],
    ),
    Binding::new(
        A::Down,
        &[DOWN, k('j')],
        "down",
        "One down.",
        Group::Moving,
        &[CELLAR],
    ),
    Binding::new(
        A::PageUp,
        &[PGUP],
        "page up",
        "A screenful up.",
        Group::Moving,
        &[CELLAR],
    ),
    Binding::new(
        A::PageDown,
        &[PGDN],
        "page down",
        "A screenful down.",
        Group::Moving,
        &[CELLAR],
    ),
    Binding::new(
        A::First,
        &[HOME],
        "first",
        "To the first.",
        Group::Moving,
        &[CELLAR],
    ),
    Binding::new(
        A::Last,
        &[END],
        "last",
        "To the last.",
        Group::Moving,
        &[CELLAR],
    ),
];
