//! Reading what can be read of a damaged store, as an archive.

use super::archive::{Table, head, io, tables, write_value};
use super::door::{Entered, copy_apart, enter};
use super::error::{Cause, Doing, Result, StoreError};
use super::open::{fill_to, refuse_garbled, set_up, user_version};
use super::{SCHEMA, Store, seal};
use crate::domain::units::Moment;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, OpenFlags, Row};
use std::io::Write;
use std::path::Path;

impl Store {
    /// Writes every row that can be read, in the format of [`Store::archive`], so
    /// that [`Store::rebuild`] makes a store of it; gives what could not be read or is
    /// not as skep wrote it, one sentence each. The store itself is not touched: what is read is a copy
    /// in `folder`, which is the caller's and private.
    pub fn salvage(
        path: &Path,
        folder: &Path,
        out: &mut dyn Write,
        now: Moment,
    ) -> Result<Vec<String>> {
        let doing = format!("reading what can be read of {}", path.display());
        salvage(path, folder, out, now).doing(&doing)
    }
}

fn salvage(path: &Path, folder: &Path, out: &mut dyn Write, now: Moment) -> Result<Vec<String>> {
    let Entered { conn, seat: _seat } = enter(
        &copy_apart(path, folder)?,
        OpenFlags::SQLITE_OPEN_READ_WRITE,
    )?;
    set_up(&conn)?;
    let mut lost = Vec::new();
    let schema = user_version(&conn)?;
    if !(1..=SCHEMA).contains(&schema) {
        let why = format!("its tables are said to be of version {schema}");
        return Err(Cause::Damaged(why).into());
    }
    refuse_garbled(&conn)?;
    // The tables as they were made, whatever the damaged file says of them.
    let mut fresh = Connection::open_in_memory()?;
    fill_to(&mut fresh, schema)?;
    io(write!(
        out,
        "{}\"salvaged\":true,\"tables\":{{",
        head(schema, now)
    ))?;
    for (i, table) in tables(&fresh)?.iter().enumerate() {
        io(out.write_all(if i == 0 { b"\n" } else { b",\n" }))?;
        write_table(&conn, table, out, &mut lost)?;
    }
    if schema == SCHEMA {
        // What is so damaged that it cannot be asked has been told above.
        let altered = seal::broken(&conn).unwrap_or_default();
        lost.extend(
            altered
                .iter()
                .map(|row| format!("{row}; it was written as it is")),
        );
    }
    let told = serde_json::to_string(&lost).map_err(|e| StoreError::file(path, e.into()))?;
    io(writeln!(out, "\n}},\"lost\":{told}}}"))?;
    Ok(lost)
}

/// The rows of a table from its beginning until a page cannot be read, then from
/// its end back to that page.
fn write_table(
    conn: &Connection,
    table: &Table,
    out: &mut dyn Write,
    lost: &mut Vec<String>,
) -> Result<()> {
    io(write!(out, "\"{}\":[", table.name))?;
    let (mut rows, mut last) = (0, None);
    for order in ["ASC", "DESC"] {
        let mut taken = Taken {
            table,
            order,
            rows: &mut rows,
            last: &mut last,
            lost,
        };
        match walk(conn, &mut taken, out) {
            Ok(()) => break,
            // Only a failing output ends it all.
            Err(StoreError {
                cause: cause @ Cause::File { .. },
                ..
            }) => return Err(cause.into()),
            Err(why) if order == "ASC" => {
                lost.push(format!("a part of table {}: {}", table.name, why.cause));
            }
            // The second reading stops at the same page; it has been told.
            Err(_) => {}
        }
    }
    io(out.write_all(b"]"))
}

/// A walk through the rows of a table.
struct Taken<'a> {
    table: &'a Table,
    order: &'static str,
    rows: &'a mut usize,
    /// The key of the last row of the walk from the beginning.
    last: &'a mut Option<Vec<i64>>,
    lost: &'a mut Vec<String>,
}

fn walk(conn: &Connection, taken: &mut Taken<'_>, out: &mut dyn Write) -> Result<()> {
    let table = taken.table;
    let keys: Vec<&str> = match table.key.as_slice() {
        [] => vec!["rowid"],
        keys => keys.iter().map(String::as_str).collect(),
    };
    let columns: Vec<_> = table
        .columns
        .iter()
        .map(|c| format!("\"{}\"", c.name))
        .collect();
    let order: Vec<_> = keys
        .iter()
        .map(|k| format!("{k} {}", taken.order))
        .collect();
    // By the table itself: an index may be sound where the table is not.
    let sql = format!(
        "SELECT {}, {} FROM \"{}\" NOT INDEXED ORDER BY {}",
        keys.join(", "),
        columns.join(", "),
        table.name,
        order.join(", ")
    );
    let mut ask = conn.prepare(&sql)?;
    let mut found = ask.query([])?;
    while let Some(row) = found.next()? {
        let key: Vec<i64> = (0..keys.len())
            .map(|i| row.get_ref(i).map(|v| v.as_i64().unwrap_or(i64::MIN)))
            .collect::<rusqlite::Result<_>>()?;
        if taken.order == "DESC" && taken.last.as_ref().is_some_and(|last| key <= *last) {
            return Ok(());
        }
        match row_of(table, row, keys.len()) {
            Ok(text) => {
                let comma = if *taken.rows == 0 { "\n" } else { ",\n" };
                io(write!(out, "{comma}{text}"))?;
                *taken.rows += 1;
            }
            Err(why) => taken
                .lost
                .push(format!("row {key:?} of table {}: {why}", table.name)),
        }
        if taken.order == "ASC" {
            *taken.last = Some(key);
        }
    }
    Ok(())
}

/// One row as JSON; the columns come after so many of the key.
fn row_of(table: &Table, row: &Row<'_>, after: usize) -> std::result::Result<String, String> {
    let mut text = Vec::new();
    for (i, column) in table.columns.iter().enumerate() {
        let value = row.get_ref(after + i).map_err(|e| e.to_string())?;
        if matches!(value, ValueRef::Blob(_)) {
            return Err(format!("{} holds bytes", column.name));
        }
        let comma = if i == 0 { "{" } else { "," };
        let _ = write!(text, "{comma}\"{}\":", column.name);
        write_value(value, &mut text).map_err(|e| e.to_string())?;
    }
    text.push(b'}');
    Ok(String::from_utf8_lossy(&text).into_owned())
}
