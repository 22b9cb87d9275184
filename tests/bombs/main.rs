//! Bottle bombs, overdoses and false labels: ways in which the trade's fillings go
//! wrong, told through the shell verbs, each held with its reason; and sound
//! fillings beside them, which nothing holds.

#![expect(
    clippy::unwrap_used,
    reason = "a helper of the tests fails by panicking"
)]

#[path = "../hours/clock.rs"]
#[expect(
    dead_code,
    reason = "these cases take their days from the program's clock"
)]
mod clock;
mod kit;
mod strength;
mod sugar;
