//! Laws that must hold for any input: round trips, one-way slopes, mass kept.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod bench;
mod ends;
mod limits;
mod mixtures;
mod scales;
mod servings;
mod told;
