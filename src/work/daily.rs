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
    let changes = store.changes(2)?;
    let Some(last_change) = changes.first().map(|c| c.at) else {
        return Ok(None);
    };
    // With the clock set back meanwhile, the last change bears an earlier time
    // than the one before it.
    let set_back = changes.get(1).is_some_and(|c| c.at > last_change);
    let local = |at: Moment| at.datetime().naive_local();
    let today = local(now).date();
    // A copy from the future was dated by a wrong clock: it holds up no other.
    let last_copy = backups(folder)?
        .iter()
        .map(|b| b.at)
        .filter(|at| at.date() <= today)
        .max();
    let needed =
        last_copy.is_none_or(|copy| copy.date() < today && (set_back || copy < local(last_change)));
    if !needed {
        return Ok(None);
    }
    let made = store.back_up(folder, now)?;
    thin_out(folder, now, Rule::default())?;
    Ok(Some(made))
}
