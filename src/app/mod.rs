//! State, messages, update, keys. Pure: no terminal, no SQL, no clock.
//!
//! ```text
//! keys, store's answers, engine's answers, time -> Msg
//! update(&mut State, Msg, now) -> Vec<Effect>
//! ```
//!
//! Lives here: what is shown and what is being typed ([`State`]), what a
//! message changes ([`update()`]), the one table of keys ([`keys`]). Must not
//! live here: drawing (see `tui`), SQL, files, the clock.
//!
//! # A new screen
//!
//! 1. A variant in [`Screen`], with its title and sentence.
//! 2. A file here with its state (a field of [`State`], so that drafts outlive
//!    a change of screen) and `act(&mut State, Action) -> Effects`; one arm
//!    in `update::act_on_screen`, and in `mouse` and `wheel` if it has lists.
//! 3. Its lines in the table of [`keys`]: `Action::Go(Screen::New)` to get
//!    there, its own actions with `Scope::On(Screen::New)`. Footer and help
//!    follow by themselves.
//! 4. A view `tui/screens/new.rs`, a function from state to buffer, and one arm
//!    in `tui::screens::draw`.
//!
//! What a maker does goes out as `Effect::CarryOut(ticket, deeds)`; the answer
//! comes back as `Msg::Kept` or `Msg::Refused` with the same ticket, and only
//! then is anything said to be kept. For fields to type into use
//! [`form::Form`], drawn by `tui::widgets::form`. Something that lies on top is
//! a variant of [`overlay::Overlay`] with a [`keys::Scope`] of its own.

pub mod advice;
pub mod batch;
pub mod bench;
pub mod bottling;
pub mod brief;
pub mod cautions;
pub mod cell;
pub mod cellar;
pub mod checklist;
pub mod clock;
pub mod damage;
pub mod editor;
pub mod field;
pub mod find;
pub mod form;
pub mod glossary;
pub mod guide;
pub mod handling;
pub mod help;
pub mod key;
pub mod keymap;
pub mod keys;
pub mod measure;
pub mod msg;
pub mod overlay;
pub mod overridden;
pub mod panel;
pub mod pantry;
pub mod planner;
pub mod register;
pub mod round;
pub mod say;
pub mod screen;
pub mod season;
pub mod settings;
pub mod setup;
pub mod sheet;
pub mod shelf;
pub mod slip;
pub mod state;
pub mod steps;
pub mod trend;
pub mod update;
pub mod welcome;
pub mod when;
pub mod why;

pub use key::{Code, Key};
pub use keys::{Action, Scope};
pub use msg::{Effect, Hit, Kept, Library, Loaded, Msg, Spot, Ticket};
pub use screen::Screen;
pub use state::{Notice, NoticeTone, Options, State};
pub use update::update;
