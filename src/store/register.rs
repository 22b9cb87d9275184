//! The register of bottles, as the migration that made its columns fills it.

use crate::domain::bottles;
use crate::domain::records::{BottleClass, PantryKind};
use crate::domain::sums::carbonation::Rating;
use rusqlite::Transaction;
use rusqlite_migration::HookResult;

/// What the notes of empty bottles told in words goes into columns; the notes
/// themselves stay as they are.
pub(super) fn from_notes(tx: &Transaction<'_>) -> HookResult {
    let mut ask =
        tx.prepare("SELECT id, name, note FROM pantry WHERE kind = ?1 AND unit = 'pieces'")?;
    let mut put = tx.prepare(
        "UPDATE pantry SET bottle_l = ?2, bottle_class = ?3, bottle_volumes = ?4, \
         bottle_bar = ?5, bottle_filled = ?6, bottle_rejected = ?7, bottle_clear = ?8 \
         WHERE id = ?1",
    )?;
    let mut rows = ask.query([PantryKind::Bottle.word()])?;
    while let Some(row) = rows.next()? {
        let (id, name, note): (i64, String, String) = (row.get(0)?, row.get(1)?, row.get(2)?);
        let Some(bottle) = bottles::read(&name, &note) else {
            continue;
        };
        let (volumes, bar) = match bottle.rating {
            Some(Rating::Volumes(v)) => (Some(v.get()), None),
            Some(Rating::Gauge(p)) => (None, Some(p.get())),
            Some(Rating::None) | None => (None, None),
        };
        put.execute((
            id,
            bottle.size.get(),
            bottle.class.map(BottleClass::word),
            volumes,
            bar,
            bottle.filled,
            bottle.rejected,
            bottle.clear_glass,
        ))?;
    }
    Ok(())
}
