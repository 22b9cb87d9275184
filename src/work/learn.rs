//! What the maker's own ended batches teach.

use super::WorkError;
use crate::domain::records::{Household, Stage};
use crate::domain::units::Moment;
use crate::engine::{History, facts};
use crate::store::Store;

/// The ended ferments of a store, for the engine to learn from.
pub fn learned(store: &Store, household: &Household, now: Moment) -> Result<History, WorkError> {
    let mut ended = Vec::new();
    for batch in store.all_batches()? {
        if matches!(batch.stage, Stage::Bottled | Stage::Closed) {
            ended.extend(store.dossier(batch.id, now)?);
        }
    }
    Ok(facts::history(household, &ended, now))
}
