//! The register of bottles, as migrations fill and correct it.

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

/// A class that does not stand in the name but was read out of other words in
/// it, as was done once, is no longer known.
pub(super) fn forget_guesses(tx: &Transaction<'_>) -> HookResult {
    let mut ask = tx.prepare(
        "SELECT id, name, note, bottle_class FROM pantry WHERE bottle_class IS NOT NULL",
    )?;
    let mut put = tx.prepare("UPDATE pantry SET bottle_class = NULL WHERE id = ?1")?;
    let mut rows = ask.query([])?;
    while let Some(row) = rows.next()? {
        let (id, name, note, class): (i64, String, String, String) =
            (row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?);
        let stored = BottleClass::from_word(&class);
        let guessed = stored == guess(&format!("{name} {note}").to_lowercase());
        if guessed && stored != bottles::class(&name) {
            put.execute([id])?;
        }
    }
    Ok(())
}

/// The class that was once guessed from words.
fn guess(words: &str) -> Option<BottleClass> {
    let says = |list: &[&str]| list.iter().any(|w| words.contains(w));
    let still = [
        "still-wine",
        "still wine",
        "jar",
        "jug",
        "growler",
        "demijohn",
    ];
    if says(&still) {
        return Some(BottleClass::NoPressure);
    }
    if says(&["sparkling-wine", "sparkling wine"]) {
        let new = says(&["wine bottle, new", "new,", "new sparkling"]);
        return Some(if new {
            BottleClass::SparklingNew
        } else {
            BottleClass::SparklingUsed
        });
    }
    if says(&["swing", "heavy"]) {
        return Some(BottleClass::Heavy);
    }
    if says(&["plastic"]) {
        return Some(BottleClass::Plastic);
    }
    says(&["crown", "beer bottle"]).then_some(BottleClass::Crown)
}
