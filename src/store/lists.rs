//! Lists for history, the cellar and the pantry.

use super::error::{Doing, Result};
use super::{Reader, Store};
use crate::domain::records::{
    Batch, BatchId, Cellar, CellarLot, Change, ChangeId, ChangeLine, Datum, Draw, Event, Lot,
    LotId, Override, PantryItem, Settings, Tasting,
};
use crate::domain::units::Moment;
use rusqlite::types::Value;
use std::collections::HashMap;

/// A lot with what is left of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Shelved {
    /// The batch it was filled from.
    pub batch: Batch,
    /// The lot.
    pub lot: Lot,
    /// Bottles left.
    pub left: i64,
}

impl Store {
    /// All batches, closed ones too, the youngest first.
    pub fn all_batches(&self) -> Result<Vec<Batch>> {
        self.read().batches().doing("listing the batches")
    }

    /// Batches whose name, variety, style, note or events hold all the words,
    /// without regard to case (of ASCII letters), the youngest first.
    pub fn find_batches(&self, words: &str) -> Result<Vec<Batch>> {
        let words: Vec<_> = words.split_whitespace().collect();
        let mut batches = self.all_batches()?;
        for word in words {
            let hits = self.read().batches_with(word).doing("searching")?;
            batches.retain(|b| hits.contains(&b.id.0));
        }
        Ok(batches)
    }

    /// The last changes, the youngest first; undone ones too.
    pub fn changes(&self, limit: u32) -> Result<Vec<Change>> {
        self.read()
            .some("TRUE ORDER BY id DESC LIMIT ?1", [limit])
            .doing("listing the changes")
    }

    /// When the last change was written.
    pub fn last_entry(&self) -> Result<Option<Moment>> {
        self.read().last_entry().doing("reading the last change")
    }

    /// What a change wrote, column by column.
    pub fn change_lines(&self, change: ChangeId) -> Result<Vec<ChangeLine>> {
        self.read().change_lines(change).doing("reading a change")
    }

    /// The choices; none before the maker has chosen.
    pub fn settings(&self) -> Result<Option<Settings>> {
        self.read().settings().doing("reading the settings")
    }

    /// All lots that still hold bottles, and the empty ones if wanted; the oldest first.
    pub fn cellar(&self, empty_too: bool) -> Result<Vec<Shelved>> {
        let tx = self.conn.unchecked_transaction()?;
        shelved(Reader::new(&tx), empty_too).doing("reading the cellar")
    }

    /// Lots with bottles left that were filled against a hold.
    pub fn overridden(&self) -> Result<Vec<CellarLot>> {
        let tx = self.conn.unchecked_transaction()?;
        let reader = Reader::new(&tx);
        let found = || -> Result<Vec<CellarLot>> {
            if reader.overrules()?.is_empty() {
                return Ok(Vec::new());
            }
            let book = reader.cellar_book(&reader.all::<Batch>()?)?;
            Ok(book.overridden().cloned().collect())
        };
        found().doing("reading the cellar")
    }

    /// What left a lot, oldest first.
    pub fn draws(&self, lot: LotId) -> Result<Vec<Draw>> {
        self.read().draws(lot).doing("reading the cellar")
    }

    /// How the drink of a batch tasted, oldest first.
    pub fn tastings(&self, batch: BatchId) -> Result<Vec<Tasting>> {
        self.read().tastings(batch).doing("reading the tastings")
    }

    /// The pantry, by kind and name.
    pub fn pantry(&self) -> Result<Vec<PantryItem>> {
        self.read()
            .some("TRUE ORDER BY kind, name COLLATE NOCASE, id", [])
            .doing("reading the pantry")
    }
}

impl Reader<'_> {
    /// Holds that were overridden in batches with bottles, oldest first.
    fn overrules(self) -> Result<Vec<Event>> {
        self.some(
            "batch IN (SELECT batch FROM lot) AND kind = 'overrule' ORDER BY id",
            [],
        )
    }

    /// All lots with what left them, and all tastings; `batches` are all there are.
    pub(crate) fn cellar_book(self, batches: &[Batch]) -> Result<Cellar> {
        let batches: HashMap<_, _> = batches.iter().map(|b| (b.id, b)).collect();
        // One question for all: each is a statement for itself otherwise.
        let mut draws: HashMap<LotId, Vec<Draw>> = HashMap::new();
        for draw in self.some::<Draw>("lot IN (SELECT id FROM lot) ORDER BY lot, at_ms, id", [])? {
            draws.entry(draw.lot).or_default().push(draw);
        }
        let mut overrides: HashMap<(BatchId, i64), Vec<Override>> = HashMap::new();
        for event in self.overrules()? {
            let entry = overrides
                .entry((event.batch, event.at.utc_ms()))
                .or_default();
            entry.extend(Override::of(&event));
        }
        let lots = self
            .some::<Lot>("TRUE ORDER BY bottled_ms, id", [])?
            .into_iter()
            .filter_map(|lot| {
                Some(CellarLot {
                    batch: (*batches.get(&lot.batch)?).clone(),
                    draws: draws.remove(&lot.id).unwrap_or_default(),
                    overrides: overrides
                        .get(&(lot.batch, lot.bottled.utc_ms()))
                        .cloned()
                        .unwrap_or_default(),
                    lot,
                })
            })
            .collect();
        Ok(Cellar {
            lots,
            tastings: self.some("TRUE ORDER BY at_ms, id", [])?,
        })
    }
}

fn shelved(reader: Reader<'_>, empty_too: bool) -> Result<Vec<Shelved>> {
    let mut all = Vec::new();
    for lot in reader.some::<Lot>("TRUE ORDER BY bottled_ms, id", [])? {
        let left = reader.left_in(&lot)?;
        if left <= 0 && !empty_too {
            continue;
        }
        if let Some(batch) = reader.get::<Batch>(lot.batch.0)? {
            all.push(Shelved { batch, lot, left });
        }
    }
    Ok(all)
}

impl Reader<'_> {
    /// Row numbers of batches that have the word somewhere.
    fn batches_with(self, word: &str) -> Result<Vec<i64>> {
        let mut ask = self.conn().prepare_cached(
            "SELECT id FROM batch WHERE instr(lower(name), ?1) OR instr(lower(variety), ?1)
                OR instr(lower(style), ?1) OR instr(lower(note), ?1)
                OR EXISTS (SELECT 1 FROM event WHERE event.batch = batch.id
                           AND (instr(lower(event.note), ?1) OR instr(lower(substance), ?1)))",
        )?;
        // SQLite's lower() knows ASCII only; so does this.
        let rows = ask.query_map([word.to_ascii_lowercase()], |row| row.get(0))?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }

    fn change_lines(self, change: ChangeId) -> Result<Vec<ChangeLine>> {
        let mut ask = self.conn().prepare_cached(
            "SELECT tbl, row_id, col, old, new FROM change_line WHERE change = ?1 ORDER BY seq",
        )?;
        let rows = ask.query_map([change.0], |row| {
            Ok(ChangeLine {
                table: row.get(0)?,
                row: row.get(1)?,
                column: row.get(2)?,
                old: datum(row.get(3)?),
                new: datum(row.get(4)?),
            })
        })?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
}

fn datum(value: Value) -> Datum {
    match value {
        Value::Null => Datum::Nothing,
        Value::Integer(i) => Datum::Whole(i),
        Value::Real(x) => Datum::Real(x),
        Value::Text(t) => Datum::Text(t),
        Value::Blob(b) => Datum::Text(String::from_utf8_lossy(&b).into_owned()),
    }
}
