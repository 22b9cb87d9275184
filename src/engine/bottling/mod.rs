//! Bottling day: may it be bottled, with how much sugar, into what.
//!
//! Lives here: holds with their evidence, what was done to make a batch safe,
//! the fit of bottles to a volume. The sums themselves stand in
//! `domain::sums::carbonation` and `sulfite`.

mod clearance;
mod day;
mod desk;
mod filled;
mod fit;
mod hold;
mod pressure;
mod strength;
mod sugar;
mod treatment;

pub(crate) use clearance::batch_holds;
pub use day::{BottlingDay, BottlingWish, Stored, plan, usual_target};
pub use desk::{
    KEG_DAYS, Order, PRIMERS, Shares, deed, fills, kinds, run_out, shares, stock, swollen,
    unlisted, usual_keep, usual_loss, usual_ready, warmest_since_end,
};
pub(crate) use desk::{clipped, draw, rule};
pub use filled::{Filled, filled, may_hold_sulfite};
pub use fit::{BottleStock, Fitted, fit};
pub use hold::{Hold, WayOut, kinds_of, unstable, ways_out};
pub use pressure::{Dextrins, KEG_RATING, MOST_KEG_RATING, SUMMER, dextrins, keg_holds, summer};
pub use strength::{Load, Strength};
pub use sugar::drink_in;
pub(crate) use sugar::lowest;
pub use treatment::{Treatment, Weakness, ended, sulfited, treatment, volume_in, volume_now};
