//! Keys of every day: readings, steps, moving about.

use super::names::{
    BACKTAB, BATCH, BENCH, DEL, DOWN, END, ENTER, ESC, HOME, LEFT, PGDN, PGUP, RIGHT, ROUND, SHELF,
    TAB, TREND, UP, WELCOME, k,
};
use super::{Action as A, Binding, Group, Scope as S};
use crate::app::advice::{self, Pressing};
use crate::app::key::{Code, Key};
use crate::app::screen::Screen;
use crate::app::state::State;

/// Everything that lies on top of a screen.
pub(super) const ON_TOP: &[S] = &[
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
const PADS: &[S] = &[S::Slip, S::Done, S::Skip, S::Move, S::Settings];

/// The table. A new line here is a new key: nothing else needs to know it but
/// the function that carries the action out.
pub(super) static TABLE: &[Binding] = &[
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
    .rank(3)
    .when(State::can_follow_up)
    .worth(|state| matches!(advice::pressing(state), Some(Pressing::Offered(_)))),
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
