//! A checksum for every row: a value that other hands have changed is found.

use super::error::Result;
use super::undo;
use crate::domain::proof::number_of;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, OptionalExtension, Row, params};
use std::fmt;

/// The table of changes; one of them is sealed together with its lines.
const CHANGE: &str = "change";
/// The table of lessons. They go by triggers, which leave their seals behind; one without a
/// seal is worked out anew.
pub(super) const LESSON: &str = "lesson";

const ALTERED: &str = "is not as skep wrote it";

/// A row that is not as skep wrote it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Broken {
    /// Its table.
    pub(super) table: String,
    /// Its row number.
    pub(super) row: i64,
    /// What is the matter with it.
    pub(super) what: &'static str,
}

impl fmt::Display for Broken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "row {} of {} {}", self.row, self.table, self.what)
    }
}

/// Tables whose rows bear a seal of their own.
fn tables() -> impl Iterator<Item = &'static str> {
    undo::TABLES.iter().copied().chain(["stream"])
}

/// Seals a row as it is now; takes the seal away from one that is gone.
pub(super) fn row(conn: &Connection, table: &str, row: i64) -> Result<()> {
    let sum = sum_of_row(conn, table, row)?;
    put(conn, table, row, sum)
}

/// Seals a change and its lines as they are now.
pub(super) fn change(conn: &Connection, change: i64) -> Result<()> {
    let sum = sum_of_change(conn, change)?;
    put(conn, CHANGE, change, sum)
}

/// Whether a row is as it was sealed.
pub(super) fn holds(conn: &Connection, table: &str, row: i64) -> Result<bool> {
    let seal: Option<i64> = conn
        .prepare_cached("SELECT sum FROM seal WHERE tbl = ?1 AND row_id = ?2")?
        .query_row(params![table, row], |r| r.get(0))
        .optional()?;
    Ok(seal.is_some() && seal == sum_of_row(conn, table, row)?)
}

/// Takes the seals of rows away, so that they stay named whatever seals anew what is there.
pub(super) fn break_seals(conn: &Connection, broken: &[Broken]) -> Result<()> {
    for row in broken {
        put(conn, &row.table, row.row, None)?;
    }
    Ok(())
}

/// Seals everything anew, as it is now.
pub(super) fn all(conn: &Connection) -> Result<()> {
    conn.execute("DELETE FROM seal", [])?;
    for table in tables() {
        for id in ids(conn, table)? {
            row(conn, table, id)?;
        }
    }
    for id in ids(conn, CHANGE)? {
        change(conn, id)?;
    }
    Ok(())
}

/// Returns the rows that are not as skep wrote them, table by table.
pub(super) fn broken(conn: &Connection) -> Result<Vec<Broken>> {
    let mut found = Vec::new();
    for table in tables().chain([CHANGE]) {
        let seals: std::collections::BTreeMap<i64, i64> = {
            let mut ask = conn.prepare_cached("SELECT row_id, sum FROM seal WHERE tbl = ?1")?;
            let rows = ask.query_map([table], |r| Ok((r.get(0)?, r.get(1)?)))?;
            rows.collect::<rusqlite::Result<_>>()?
        };
        let there = ids(conn, table)?;
        let mut add = |row, what| {
            found.push(Broken {
                table: table.to_owned(),
                row,
                what,
            });
        };
        for id in &there {
            let sum = if table == CHANGE {
                sum_of_change(conn, *id)?
            } else {
                sum_of_row(conn, table, *id)?
            };
            match seals.get(id) {
                None => add(*id, "was not written by skep"),
                Some(seal) if Some(*seal) != sum => add(*id, ALTERED),
                Some(_) => {}
            }
        }
        for id in seals.keys().filter(|id| there.binary_search(id).is_err()) {
            add(*id, "is missing");
        }
    }
    let mut ask = conn.prepare_cached(
        "SELECT batch FROM lesson JOIN seal ON tbl = ?1 AND row_id = batch ORDER BY batch",
    )?;
    let mut rows = ask.query([LESSON])?;
    while let Some(lesson) = rows.next()? {
        let batch = lesson.get(0)?;
        if !holds(conn, LESSON, batch)? {
            found.push(Broken {
                table: LESSON.to_owned(),
                row: batch,
                what: ALTERED,
            });
        }
    }
    Ok(found)
}

/// Row numbers, in order.
fn ids(conn: &Connection, table: &str) -> Result<Vec<i64>> {
    let mut ask = conn.prepare(&format!("SELECT id FROM {table} ORDER BY id"))?;
    let rows = ask.query_map([], |r| r.get(0))?;
    Ok(rows.collect::<rusqlite::Result<_>>()?)
}

fn put(conn: &Connection, table: &str, row: i64, sum: Option<i64>) -> Result<()> {
    match sum {
        Some(sum) => conn
            .prepare_cached("INSERT OR REPLACE INTO seal (tbl, row_id, sum) VALUES (?1, ?2, ?3)")?
            .execute(params![table, row, sum])?,
        None => conn
            .prepare_cached("DELETE FROM seal WHERE tbl = ?1 AND row_id = ?2")?
            .execute(params![table, row])?,
    };
    Ok(())
}

fn sum_of_row(conn: &Connection, table: &str, row: i64) -> Result<Option<i64>> {
    let mut bytes = Vec::new();
    let key = if table == LESSON { "batch" } else { "id" };
    let mut ask = conn.prepare_cached(&format!("SELECT * FROM {table} WHERE {key} = ?1"))?;
    let mut rows = ask.query([row])?;
    let Some(row) = rows.next()? else {
        return Ok(None);
    };
    write_row(row, &mut bytes)?;
    Ok(Some(sum(&bytes)))
}

fn sum_of_change(conn: &Connection, change: i64) -> Result<Option<i64>> {
    let mut bytes = Vec::new();
    for (sql, needed) in [
        ("SELECT * FROM change WHERE id = ?1", true),
        (
            "SELECT * FROM change_line WHERE change = ?1 ORDER BY seq",
            false,
        ),
    ] {
        let mut ask = conn.prepare_cached(sql)?;
        let mut rows = ask.query([change])?;
        let mut any = false;
        while let Some(row) = rows.next()? {
            write_row(row, &mut bytes)?;
            any = true;
        }
        if needed && !any {
            return Ok(None);
        }
    }
    Ok(Some(sum(&bytes)))
}

/// The cells of a row that are not NULL, each with the name of its column.
fn write_row(row: &Row<'_>, bytes: &mut Vec<u8>) -> Result<()> {
    for (i, name) in row.as_ref().column_names().into_iter().enumerate() {
        let cell = row.get_ref(i)?;
        let (kind, value): (u8, &[u8]) = match &cell {
            ValueRef::Null => continue,
            ValueRef::Integer(n) => (1, &n.to_le_bytes()),
            ValueRef::Real(x) => (2, &x.to_bits().to_le_bytes()),
            ValueRef::Text(text) => (3, text),
            ValueRef::Blob(blob) => (4, blob),
        };
        for part in [name.as_bytes(), value] {
            bytes.extend_from_slice(&(part.len() as u64).to_le_bytes());
            bytes.extend_from_slice(part);
        }
        bytes.push(kind);
    }
    Ok(())
}

/// The lower half of the number of some bytes.
fn sum(bytes: &[u8]) -> i64 {
    number_of(&[bytes]) as i64
}

/// Returns the checksum of a logger's sample.
pub(super) fn of_sample(stream: i64, at: i64, offset: i32, value: f64) -> i64 {
    number_of(&[
        &stream.to_le_bytes(),
        &at.to_le_bytes(),
        &offset.to_le_bytes(),
        &value.to_bits().to_le_bytes(),
    ]) as i64
}
