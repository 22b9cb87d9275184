//! The shell's verbs on the real binary: words in, text or JSON and an exit
//! code out.

#![expect(
    clippy::unwrap_used,
    reason = "a helper of the tests fails by panicking"
)]

mod again;
mod amounts;
mod broken;
mod cellar;
#[path = "../hours/clock.rs"]
mod clock;
mod documents;
mod examples;
mod home;
mod intake;
mod json;
mod keys;
mod morning;
mod outputs;
mod planning;
mod readings;
mod real;
mod round;
mod steps;
mod unanswered;
#[path = "../hours/wait.rs"]
mod wait;
