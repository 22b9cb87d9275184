//! Whole screens of a small invented household, as text and styles.

#![expect(clippy::unwrap_used, reason = "a panic here is a failed test")]

mod cellar;
mod colours;
mod every;
mod guide;
mod hands;
mod keystrokes;
mod kit;
mod planning;
mod screens;
mod strength;
mod told;
