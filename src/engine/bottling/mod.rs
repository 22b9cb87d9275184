//! Bottling day: may it be bottled, with how much sugar, into what.
//!
//! Lives here: holds with their evidence, what was done to make a batch safe,
//! the fit of bottles to a volume. The sums themselves stand in
//! `domain::sums::carbonation` and `sulfite`.

mod day;
mod fit;
mod hold;
mod treatment;

pub use day::{BottlingDay, BottlingWish, Stored, plan, usual_target};
pub use fit::{BottleStock, Fitted, ceiling, fit};
pub use hold::Hold;
pub use treatment::{Treatment, treatment};
