//! A copy of the store for each day on which it changed.

use crate::domain::units::Moment;
use crate::store::keep::Rule;
use crate::store::{Store, StoreError, backups, thin_out};
use std::path::{Path, PathBuf};

/// Makes today's copy when the store changed since the last one and there is
/// none of today yet; then takes away those that are old enough. Gives the path
/// of a new copy.
pub fn daily_copy(
    store: &Store,
    folder: &Path,
    now: Moment,
) -> Result<Option<PathBuf>, StoreError> {
    let Some(last_change) = store.changes(1)?.first().map(|c| c.at) else {
        return Ok(None);
    };
    let last_copy = backups(folder)?.last().map(|b| b.at);
    let local = |at: Moment| at.datetime().naive_local();
    let needed =
        last_copy.is_none_or(|copy| copy.date() < local(now).date() && copy < local(last_change));
    if !needed {
        return Ok(None);
    }
    let made = store.back_up(folder, now)?;
    thin_out(folder, now, Rule::default())?;
    Ok(Some(made))
}
