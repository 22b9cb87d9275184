//! What skep does when things break: it is killed, its file is damaged, its
//! disk fails, many write at once, the clock jumps, and what comes in is hostile.
//!
//! Each test prints its counts; the long forms are listed in `DEVELOPERS.md`.

#![expect(clippy::unwrap_used, reason = "a panic here is a failed test")]
#![expect(
    clippy::disallowed_methods,
    reason = "how long a program runs is measured"
)]

mod absurd;
#[path = "../hours/clock.rs"]
mod clock;
mod clocks;
mod closed;
mod damage;
mod disk;
mod door;
mod hands;
mod kill;
mod kit;
mod private;
mod replay;
mod supply;
#[path = "../frames/kit.rs"]
#[expect(dead_code, reason = "the frames use more of it")]
mod table;
#[path = "../journeys/terminal.rs"]
#[expect(dead_code, reason = "the journeys use more of it")]
mod terminal;
mod text;
#[path = "../hours/wait.rs"]
mod wait;
