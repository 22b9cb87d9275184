//! What the maker's own ended batches teach.

use super::WorkError;
use crate::domain::records::Household;
use crate::domain::units::Moment;
use crate::engine::{History, facts};
use crate::store::Store;

/// The ended ferments of a store, for the engine to learn from.
pub fn learned(store: &Store, household: &Household, now: Moment) -> Result<History, WorkError> {
    let ended = store.ended(now)?;
    Ok(facts::history(household, &ended, now))
}
