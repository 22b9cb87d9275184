//! The first round: one line at a time that says what to press next, and goes
//! on when it was done. It knows the state only, so whatever way the maker
//! takes to get there counts.

use super::batch::Part;
use super::keys::{Action, key_of};
use super::msg::Spot;
use super::overlay::Overlay;
use super::say;
use super::screen::Screen;
use super::state::State;
use super::trend::DayTime;
use crate::domain::records::GravityScale;
use crate::domain::units::Gravity;

/// Whether somebody is being led.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum Guide {
    /// Nobody.
    #[default]
    Away,
    /// It is offered.
    Offered,
    /// A lesson stands on the screen.
    At(usize, Before),
}

/// How things stood when a lesson began.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Before {
    chosen: Option<Spot>,
    revision: i64,
    cursor: Option<DayTime>,
}

/// One thing to learn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Lesson {
    Choose,
    Type,
    Keep,
    Undo,
    Done,
    Open,
    Ledger,
    Trend,
    ReadOff,
    Why,
    Home,
    Round,
    Walk,
    Find,
    Help,
    Over,
}

use Lesson as L;

/// In the order in which they are taught.
const LESSONS: [Lesson; 16] = [
    L::Choose,
    L::Type,
    L::Keep,
    L::Undo,
    L::Done,
    L::Open,
    L::Ledger,
    L::Trend,
    L::ReadOff,
    L::Why,
    L::Home,
    L::Round,
    L::Walk,
    L::Find,
    L::Help,
    L::Over,
];

/// Begins, or ends.
pub fn begin_or_end(state: &mut State) {
    if matches!(state.guide, Guide::At(..)) {
        state.guide = Guide::Away;
        return;
    }
    state.screen = Screen::Shelf;
    state.trail.clear();
    state.notice = None;
    state.guide = Guide::At(0, Before::of(state));
}

/// After every message: on to the next lesson when this one was done.
pub fn watch(state: &mut State) {
    if state.guide == Guide::Offered && state.screen != Screen::Shelf {
        state.guide = Guide::Away;
    }
    while let Guide::At(at, before) = &state.guide
        && let Some(lesson) = LESSONS.get(*at).copied()
    {
        let next = if lesson.learnt(state, before) {
            at + 1
        } else if lesson == L::Keep && thrown_away(state, before) {
            at - 1
        } else {
            return;
        };
        state.guide = Guide::At(next, Before::of(state));
    }
}

/// What the line says, and how far it has come; none when nobody is led.
pub fn line(state: &State) -> Option<(String, String)> {
    let key = super::key::Key::ctrl('g');
    match &state.guide {
        Guide::Away => None,
        Guide::Offered => Some((
            format!("New here? {key} leads you through a first round of two minutes."),
            "Esc: no".into(),
        )),
        Guide::At(at, _) => {
            let lesson = LESSONS.get(*at)?;
            let so_far = format!("{} of {}, {key} ends it", at + 1, LESSONS.len());
            Some((lesson.says(state), so_far))
        }
    }
}

fn typing(state: &State) -> bool {
    matches!(state.overlays.last(), Some(Overlay::Slip(pad)) if !pad.field.is_blank())
}

/// Revision of the store as it is shown.
fn revision(state: &State) -> i64 {
    state.household.as_ref().map_or(0, |h| h.revision)
}

/// What was typed is gone, and was not kept.
fn thrown_away(state: &State, before: &Before) -> bool {
    !typing(state) && state.under_way.is_empty() && state.own_revision <= before.revision
}

impl Before {
    fn of(state: &State) -> Self {
        Self {
            chosen: state.chosen,
            revision: revision(state),
            cursor: state.trend_view.cursor,
        }
    }
}

impl Lesson {
    fn learnt(self, state: &State, before: &Before) -> bool {
        let top = state.overlays.last();
        let free = top.is_none();
        match self {
            L::Choose => state.chosen != before.chosen,
            L::Type => typing(state),
            L::Keep | L::Done => free && revision(state) > before.revision,
            L::Undo => free && state.redo.is_some() && revision(state) > before.revision,
            L::Open => state.screen == Screen::Batch,
            L::Ledger => state.screen == Screen::Batch && state.batch.part == Part::Ledger,
            L::Trend => state.screen == Screen::Trend,
            L::ReadOff => {
                state.trend_view.cursor.is_some() && state.trend_view.cursor != before.cursor
            }
            L::Why => matches!(top, Some(Overlay::Why(_))),
            L::Home => free && state.screen == Screen::Shelf,
            L::Round => state.screen == Screen::Round,
            L::Walk => state.screen != Screen::Round,
            L::Find => matches!(top, Some(Overlay::Find(_))),
            L::Help => matches!(top, Some(Overlay::Help(_))),
            L::Over => false,
        }
    }

    fn says(self, state: &State) -> String {
        let key = |action| key_of(state, action);
        match self {
            L::Choose => format!(
                "Worst first: what wants you stands at the top. {} goes to the next vessel.",
                key(Action::Down)
            ),
            L::Type => reading(state),
            L::Keep => keep(state),
            L::Undo => format!(
                "Kept. {} takes it back, now or weeks later: try it.",
                key(Action::Undo)
            ),
            L::Done => done(state),
            L::Open => format!(
                "{} looks closer at one batch.",
                key_or(state, Action::Open, "Enter")
            ),
            L::Ledger => format!(
                "{} turns from its plan to its ledger: all that happened to it.",
                key_or(state, Action::Next, "Tab")
            ),
            L::Trend => format!(
                "{} draws its trend as large as the screen.",
                key_or(state, Action::Go(Screen::Trend), "z")
            ),
            L::ReadOff => format!(
                "{} and {} read the curve off, day by day.",
                key_or(state, Action::Left, "←"),
                key_or(state, Action::Right, "→")
            ),
            L::Why => format!(
                "Is a number true? {} shows what it was made from.",
                key(Action::Why)
            ),
            L::Home => {
                "Esc leads back, step by step, and loses nothing. Go back to the shelf.".into()
            }
            L::Round => format!(
                "Every morning: {} walks you from vessel to vessel, only where something is wanted.",
                key(Action::Round)
            ),
            L::Walk => {
                "Enter does what a stop wants, n leaves it for later. Walk to the end, or Esc."
                    .into()
            }
            L::Find => format!(
                "{} finds any vessel, step, sum, bottle or word by a few letters.",
                key(Action::Find)
            ),
            L::Help => format!(
                "Esc, then {}: the keys of every screen, and the words of the trade.",
                key(Action::Help)
            ),
            L::Over => {
                "That was the round. q leaves the demo; skep by itself begins your own.".into()
            }
        }
    }
}

/// The key of an action on the screen shown, else its usual one.
fn key_or(state: &State, action: Action, usual: &str) -> String {
    let key = key_of(state, action);
    if key.is_empty() { usual.into() } else { key }
}

/// Invites to type a gravity a little below the last one.
fn reading(state: &State) -> String {
    let last = state
        .can_slip()
        .then(|| state.chosen_row().and_then(|r| r.last))
        .flatten();
    let Some(last) = last else {
        return "Home, then down, to a jug that ferments: a reading wants a vessel.".into();
    };
    let shown = Gravity::clamped(last.corrected.get() - 0.001);
    let typed = (shown.get() * 1000.0).round() as i64;
    let keys = match typed {
        1000..=1099 => format!("{:02}", typed - 1000),
        _ => typed.to_string(),
    };
    format!(
        "Say the hydrometer shows {}: just type {keys}.",
        say::gravity(shown, GravityScale::Sg)
    )
}

fn keep(state: &State) -> String {
    match state.overlays.last() {
        Some(Overlay::Slip(pad)) if pad.errand.insisting => {
            "It does not fit, and skep says why. Enter once more keeps it all the same.".into()
        }
        _ => "Below it stands what that means. Enter keeps it.".into(),
    }
}

fn done(state: &State) -> String {
    match state.overlays.last() {
        Some(Overlay::Done(_)) => "Type what you really added, or nothing. Enter keeps it.".into(),
        _ if state.has_step() => format!(
            "{} marks what comes next for it as done.",
            key_of(state, Action::Done)
        ),
        _ => "Go to a vessel with something under 'next'.".into(),
    }
}
