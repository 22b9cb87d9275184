//! Writing: one named change, its lines and the data in one transaction.

use super::cells::{Cell, Record, to};
use super::error::{Result, StoreError};
use super::reader::Reader;
use super::{SCHEMA, Store, open, seal};
use crate::domain::records::{BatchId, ChangeId, ChangeState};
use crate::domain::units::Moment;
use rusqlite::types::Value;
use rusqlite::{Transaction, TransactionBehavior, params, params_from_iter};
use std::collections::BTreeSet;
use std::time::Duration;

/// What a finished change is called, and what it gives back.
#[derive(Debug)]
pub(crate) struct Named<T> {
    /// In words: `reading 1.042 of J2`.
    pub(crate) name: String,
    /// The batch it belongs to, if to one.
    pub(crate) batch: Option<BatchId>,
    /// Whatever the caller wants back.
    pub(crate) gives: T,
}

/// A change that stands in the store.
#[derive(Debug)]
pub(crate) struct Kept<T> {
    pub(crate) revision: i64,
    /// None where nothing had to be changed.
    pub(crate) change: Option<ChangeId>,
    pub(crate) named: Named<T>,
}

/// Writes records within one change and notes what each column was.
#[derive(Debug)]
pub(crate) struct Writer<'t> {
    tx: &'t Transaction<'t>,
    change: i64,
    seq: i64,
    /// Rows that were added or set.
    touched: BTreeSet<(&'static str, i64)>,
}

impl Store {
    /// Carries out one change. Where the closure fails, nothing is changed.
    pub(crate) fn change<T, E>(
        &mut self,
        now: Moment,
        write: impl FnOnce(&mut Writer<'_>) -> std::result::Result<Named<T>, E>,
    ) -> std::result::Result<Kept<T>, E>
    where
        E: From<StoreError>,
    {
        self.prepare(now)?;
        let tx = self.begin()?;
        let change = new_change(&tx, now)?;
        let mut writer = Writer {
            tx: &tx,
            change,
            seq: 0,
            touched: BTreeSet::new(),
        };
        let named = write(&mut writer)?;
        if writer.seq == 0 {
            // Nothing differs: no empty entry for undo to stumble on.
            drop(tx);
            let revision = self.read().revision()?;
            return Ok(Kept {
                revision,
                change: None,
                named,
            });
        }
        let touched = std::mem::take(&mut writer.touched);
        name_change(&tx, change, &named)?;
        for (table, row) in touched {
            seal::row(&tx, table, row)?;
        }
        seal::change(&tx, change)?;
        let revision = finish(tx)?;
        Ok(Kept {
            revision,
            change: Some(ChangeId(change)),
            named,
        })
    }
}

impl Store {
    /// Keeps what was worked out of that revision and can be worked out again: where
    /// the store is busy, was changed since, or cannot be written, nothing is kept.
    pub(super) fn keep_worked_out(
        &self,
        revision: i64,
        write: impl FnOnce(&Transaction<'_>) -> Result<()>,
    ) {
        if self.conn.busy_timeout(Duration::ZERO).is_err() {
            return;
        }
        // What could not be kept is worked out once more.
        let _ = self.try_to_keep(revision, write);
        let _ = self.conn.busy_timeout(open::BUSY);
    }

    fn try_to_keep(
        &self,
        revision: i64,
        write: impl FnOnce(&Transaction<'_>) -> Result<()>,
    ) -> Result<()> {
        self.refuse_unfit()?;
        let tx = Transaction::new_unchecked(&self.conn, TransactionBehavior::Immediate)?;
        if open::user_version(&tx)? != SCHEMA || Reader::new(&tx).revision()? != revision {
            return Ok(());
        }
        write(&tx)?;
        Ok(tx.commit()?)
    }
}

/// Counts the revision up and makes the transaction last.
pub(super) fn finish(tx: Transaction<'_>) -> Result<i64> {
    let revision = tx.query_row(
        "UPDATE state SET revision = revision + 1 WHERE id = 1 RETURNING revision",
        [],
        |row| row.get(0),
    )?;
    tx.commit()?;
    Ok(revision)
}

fn new_change(tx: &Transaction<'_>, now: Moment) -> Result<i64> {
    tx.prepare_cached("INSERT INTO change (name, at_ms, at_off, state) VALUES ('', ?1, ?2, ?3)")?
        .execute(params![
            now.utc_ms(),
            now.offset_minutes(),
            ChangeState::Done.word()
        ])?;
    Ok(tx.last_insert_rowid())
}

fn name_change<T>(tx: &Transaction<'_>, change: i64, named: &Named<T>) -> Result<()> {
    tx.prepare_cached("UPDATE change SET name = ?2, batch = ?3 WHERE id = ?1")?
        .execute(params![change, named.name, named.batch.map(|b| b.0)])?;
    // What was undone before this can no longer come back; it stays as history.
    let undone: Vec<i64> = tx
        .prepare_cached("UPDATE change SET state = ?2 WHERE state = ?1 RETURNING id")?
        .query_map(
            [ChangeState::Undone.word(), ChangeState::Dropped.word()],
            |row| row.get(0),
        )?
        .collect::<rusqlite::Result<_>>()?;
    for change in undone {
        seal::change(tx, change)?;
    }
    Ok(())
}

impl Writer<'_> {
    /// The questions, with what this change has written so far.
    pub(crate) fn read(&self) -> Reader<'_> {
        Reader::new(self.tx)
    }

    /// Adds a record; gives its row number.
    pub(crate) fn add<R: Record>(&mut self, record: &R) -> Result<i64> {
        let cells = record.cells();
        let columns: Vec<_> = cells.iter().map(|(name, _)| *name).collect();
        let marks = vec!["?"; cells.len()].join(", ");
        let sql = format!(
            "INSERT INTO {} ({}) VALUES ({marks})",
            R::TABLE,
            columns.join(", ")
        );
        self.tx
            .prepare_cached(&sql)?
            .execute(params_from_iter(cells.iter().map(|(_, value)| value)))?;
        let row = self.tx.last_insert_rowid();
        for (column, value) in cells {
            if value != Value::Null {
                self.line("add", R::TABLE, row, column, &Value::Null, &value)?;
            }
        }
        Ok(row)
    }

    /// Writes a record that has a row; only what differs is written and noted.
    pub(crate) fn put<R: Record>(&mut self, record: &R) -> Result<()> {
        self.set::<R>(record.row(), &record.cells())
    }

    /// Writes a record, whether it has a row yet or not.
    pub(crate) fn put_or_add<R: Record>(&mut self, record: &R) -> Result<i64> {
        if record.row() > 0 && self.read().get::<R>(record.row())?.is_some() {
            self.put(record)?;
            Ok(record.row())
        } else {
            self.add(record)
        }
    }

    /// Marks a reading as removed; the row stays for the ledger.
    pub(crate) fn remove_reading(&mut self, row: i64, now: Moment) -> Result<()> {
        let cells = to::moment("removed_ms", "removed_off", now);
        self.set::<crate::domain::records::Reading>(row, &cells)
    }

    /// One statement for all columns that differ: checks may span columns.
    fn set<R: Record>(&mut self, row: i64, cells: &[Cell]) -> Result<()> {
        let columns: Vec<_> = cells.iter().map(|(name, _)| *name).collect();
        let ask = format!(
            "SELECT {} FROM {} WHERE id = ?1",
            columns.join(", "),
            R::TABLE
        );
        let before: Vec<Value> = self
            .tx
            .prepare_cached(&ask)?
            .query_row([row], |r| (0..cells.len()).map(|i| r.get(i)).collect())?;
        let differ: Vec<_> = cells
            .iter()
            .zip(before)
            .filter(|((_, new), old)| new != old)
            .collect();
        if differ.is_empty() {
            return Ok(());
        }
        let sets: Vec<_> = differ
            .iter()
            .map(|((column, _), _)| format!("{column} = ?"))
            .collect();
        let sql = format!("UPDATE {} SET {} WHERE id = ?", R::TABLE, sets.join(", "));
        let id = Value::Integer(row);
        let values = differ.iter().map(|((_, new), _)| new).chain([&id]);
        self.tx
            .prepare_cached(&sql)?
            .execute(params_from_iter(values))?;
        for ((column, new), old) in differ {
            self.line("set", R::TABLE, row, column, &old, new)?;
        }
        Ok(())
    }

    fn line(
        &mut self,
        what: &str,
        table: &'static str,
        row: i64,
        column: &str,
        old: &Value,
        new: &Value,
    ) -> Result<()> {
        self.seq += 1;
        self.touched.insert((table, row));
        self.tx
            .prepare_cached(
                "INSERT INTO change_line (change, seq, what, tbl, row_id, col, old, new)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            )?
            .execute(params![
                self.change,
                self.seq,
                what,
                table,
                row,
                column,
                old,
                new
            ])?;
        Ok(())
    }
}
