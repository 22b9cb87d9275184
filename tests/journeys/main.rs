//! Whole mornings with the real program in a pseudo-terminal.

#![expect(clippy::unwrap_used, reason = "a panic here is a failed test")]

mod cellar;
#[path = "../hours/clock.rs"]
mod clock;
mod hands;
mod morning;
mod terminal;
#[path = "../hours/wait.rs"]
mod wait;
