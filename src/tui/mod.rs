//! The terminal: loop, threads, views, theme.
//!
//! Lives here: setting the terminal up and giving it back ([`terminal`]), keys
//! and mouse at the edge ([`input`]), the loop with its threads ([`run()`]), and
//! views, which are functions from state to buffer ([`screens`]). Must not live
//! here: what a message changes (see `app`), SQL, sums.

pub mod areas;
mod ground;
pub mod ink;
pub mod input;
pub mod run;
pub mod screens;
mod setup;
pub mod terminal;
pub mod theme;
pub mod widgets;
mod worker;

pub use crate::domain::text;
pub(crate) use run::own_keys;
pub use run::{Options, run};
pub(crate) use worker::{carry_all, loaded};
