//! Steps on days, lateness, rest, and what the morning flags.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod any;
mod dates;
mod flags;
mod following;
mod jug;
mod lateness;
