//! One account of every batch: whatever shows a figure, a state, a date or an order shows
//! that of the account, and no page holds two values of one fact.
//!
//! `SKEP_ACCOUNT_HOUSEHOLDS` asks for more households than the few of every run.

#![expect(
    clippy::unwrap_used,
    reason = "a helper of the tests fails by panicking"
)]

#[path = "../hours/clock.rs"]
#[expect(dead_code, reason = "each household has a zone of its own")]
mod clock;
mod contradictions;
mod kit;
mod page;
mod programs;
mod screens;

/// How many households are tried.
fn households(usual: u64) -> u64 {
    std::env::var("SKEP_ACCOUNT_HOUSEHOLDS")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(usual)
}
