//! Steps on days: the dates of the routines, following, lateness, rest.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod dates;
mod following;
mod jug;
mod lateness;
