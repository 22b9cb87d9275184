//! Keys of looking closely: the trend, and the line that finds anything.

use super::names::{
    BACKTAB, BATCH, DOWN, END, ENTER, ESC, HOME, LEFT, PGDN, PGUP, RIGHT, SHELF, TAB, TREND, UP, k,
};
use super::{Action as A, Binding, Group, Scope as S};
use crate::app::key::Key;
use crate::app::screen::Screen;
use crate::app::state::State;

const FIND: &[S] = &[S::Find];
/// Where text is typed or something lies on top while somebody is led.
const LED: &[S] = &[
    S::On(Screen::Bench),
    S::On(Screen::Bottling),
    S::On(Screen::Handling),
    S::Slip,
    S::Done,
    S::Skip,
    S::Move,
    S::Clock,
    S::Why,
    S::Help,
    S::Settings,
    S::Cell,
    S::Sheet,
    S::Find,
];

pub(super) static TABLE: &[Binding] = &[
    Binding::new(
        A::Go(Screen::Trend),
        &[k('z')],
        "trend",
        "The trend as large as the screen, with a cursor that reads values off.",
        Group::Screens,
        &[SHELF, BATCH],
    )
    .rank(9)
    .when(State::has_trend),
    Binding::new(
        A::Wider,
        &[k('[')],
        "wider",
        "See more days in the trend.",
        Group::Moving,
        &[BATCH],
    )
    .when(State::has_trend),
    Binding::new(
        A::Closer,
        &[k(']')],
        "closer",
        "See fewer days in the trend, closer.",
        Group::Moving,
        &[BATCH],
    )
    .when(State::has_trend),
    Binding::new(
        A::Whole,
        &[k(' ')],
        "whole trend",
        "All of the trend again, and no cursor.",
        Group::Moving,
        &[SHELF, BATCH, TREND],
    )
    .rank(6)
    .when(State::trend_is_moved),
    // The trend in large.
    Binding::new(
        A::Left,
        &[LEFT, k('h')],
        "read off left",
        "The cursor to the left; the first time it stands at the present.",
        Group::Moving,
        &[TREND],
    ),
    Binding::new(
        A::Right,
        &[RIGHT, k('l')],
        "read off",
        "The cursor to the right; the first time it stands at the present.",
        Group::Moving,
        &[TREND],
    )
    .rank(2),
    Binding::new(
        A::Closer,
        &[UP, k(']')],
        "closer",
        "Fewer days, closer; around the cursor, or else the present.",
        Group::Moving,
        &[TREND],
    )
    .rank(3),
    Binding::new(
        A::Wider,
        &[DOWN, k('[')],
        "wider",
        "More days at once.",
        Group::Moving,
        &[TREND],
    )
    .rank(4),
    Binding::new(
        A::PageUp,
        &[PGUP],
        "earlier days",
        "Half a screen of days back.",
        Group::Moving,
        &[TREND],
    ),
    Binding::new(
        A::PageDown,
        &[PGDN],
        "later days",
        "Half a screen of days on.",
        Group::Moving,
        &[TREND],
    ),
    Binding::new(
        A::First,
        &[HOME],
        "first day",
        "The cursor to the first day.",
        Group::Moving,
        &[TREND],
    ),
    Binding::new(
        A::Last,
        &[END],
        "last day",
        "The cursor to the last day that is shown.",
        Group::Moving,
        &[TREND],
    ),
    Binding::new(
        A::Next,
        &[TAB],
        "next reading",
        "The cursor on the next reading.",
        Group::Moving,
        &[TREND],
    )
    .rank(5),
    Binding::new(
        A::Previous,
        &[BACKTAB],
        "reading before",
        "The cursor on the reading before.",
        Group::Moving,
        &[TREND],
    ),
    Binding::new(
        A::Earlier,
        &[k('e')],
        "earlier ones",
        "Lay your earlier batches of this kind over it, day by day, or take them off.",
        Group::Moving,
        &[TREND],
    )
    .rank(7),
    Binding::new(
        A::Names,
        &[k('s')],
        "step names",
        "Name the steps beside their ticks, or not.",
        Group::Moving,
        &[TREND],
    )
    .rank(8),
    Binding::new(
        A::Axis,
        &[k('x')],
        "days, dates",
        "Days of the batch or dates along the axis.",
        Group::Moving,
        &[TREND],
    )
    .rank(9),
    Binding::new(
        A::Up,
        &[k('k'), k('p')],
        "vessel before",
        "The vessel before, in the order of the shelf.",
        Group::Moving,
        &[TREND],
    ),
    Binding::new(
        A::Down,
        &[k('j'), k('n')],
        "next vessel",
        "The next vessel, in the order of the shelf.",
        Group::Moving,
        &[TREND],
    )
    .rank(10),
    // Being led.
    Binding::new(
        A::Guide,
        &[Key::ctrl('g')],
        "first round",
        "In the demo: be led through a first round of two minutes, or no longer.",
        Group::Skep,
        &[S::Everywhere],
    )
    .when(State::can_guide),
    Binding::new(
        A::Guide,
        &[Key::ctrl('g')],
        "first round",
        "Be led no longer.",
        Group::Skep,
        LED,
    )
    .when(State::is_guided),
    // Finding anything.
    Binding::new(
        A::Find,
        &[k('/'), Key::ctrl('f')],
        "find",
        "Find a vessel, batch, step, action, sum, bottle or word by a few of its letters, and go there.",
        Group::Screens,
        &[S::Everywhere],
    )
    .rank(9)
    .when(State::has_household),
    Binding::new(
        A::Find,
        &[Key::ctrl('f')],
        "find",
        "Find a vessel, batch, step, action, sum, bottle or word by a few of its letters, and go there.",
        Group::Screens,
        &[
            S::On(Screen::Bench),
            S::On(Screen::Bottling),
            S::On(Screen::Handling),
        ],
    ),
    Binding::new(
        A::Accept,
        &[ENTER],
        "go there",
        "Go to what is chosen, or do it.",
        Group::Moving,
        FIND,
    )
    .rank(1),
    Binding::new(
        A::Up,
        &[UP, BACKTAB],
        "up",
        "What was found before.",
        Group::Moving,
        FIND,
    ),
    Binding::new(
        A::Down,
        &[DOWN, TAB],
        "down",
        "What was found next.",
        Group::Moving,
        FIND,
    )
    .rank(2),
    Binding::new(
        A::PageUp,
        &[PGUP],
        "page up",
        "A screenful up.",
        Group::Moving,
        FIND,
    ),
    Binding::new(
        A::PageDown,
        &[PGDN],
        "page down",
        "A screenful down.",
        Group::Moving,
        FIND,
    ),
    Binding::new(
        A::Back,
        &[ESC],
        "leave",
        "Back to the screen as it was.",
        Group::Skep,
        FIND,
    )
    .rank(3),
    Binding::new(
        A::Quit,
        &[Key::ctrl('c')],
        "quit at once",
        "Leave skep from anywhere.",
        Group::Skep,
        FIND,
    ),
    Binding::new(
        A::Suspend,
        &[Key::ctrl('z')],
        "to the shell",
        "Hand the terminal to the shell; fg comes back.",
        Group::Skep,
        FIND,
    ),
    Binding::new(
        A::Redraw,
        &[Key::ctrl('l')],
        "redraw",
        "Draw the whole screen afresh.",
        Group::Skep,
        FIND,
    ),
];
