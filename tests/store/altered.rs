//! Values that another hand than skep's has changed, as a flipped bit on a disk does: `check`
//! names the row, whatever table and column it is.

use crate::kit::*;
use rusqlite::Connection;
use rusqlite::types::Value;
use skep::store::{Finding, SCHEMA, Store};
use skep::work;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// A copy of one of the kept stores.
fn full(name: &str) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("store");
    let stores = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/stores");
    fs::copy(stores.join(format!("{name}.store")), &path).unwrap();
    (folder, path)
}

/// A hand that asks no constraint.
fn other_hand(path: &Path) -> Connection {
    let conn = Connection::open(path).unwrap();
    conn.execute_batch("PRAGMA foreign_keys = OFF; PRAGMA ignore_check_constraints = ON")
        .unwrap();
    conn
}

fn names(conn: &Connection, sql: &str) -> Vec<String> {
    let mut ask = conn.prepare(sql).unwrap();
    let rows = ask.query_map([], |row| row.get(0)).unwrap();
    rows.map(Result::unwrap).collect()
}

/// The value with a bit turned over; where there was nothing, something of its kind.
fn flipped(value: &Value, kind: &str) -> Value {
    match value {
        // Not the last bit: many a number is counted on by one, and must be its own.
        Value::Integer(n) => Value::Integer(n ^ 64),
        Value::Real(x) => Value::Real(f64::from_bits(x.to_bits() ^ 1)),
        Value::Text(text) if !text.is_empty() => {
            let mut bytes = text.clone().into_bytes();
            *bytes.last_mut().unwrap() ^= 1;
            Value::Text(String::from_utf8(bytes).unwrap())
        }
        _ if kind == "INTEGER" => Value::Integer(1),
        _ if kind == "REAL" => Value::Real(1.0),
        _ => Value::Text("x".into()),
    }
}

/// How the row of a table is named: a line by its change, a sample by its source.
fn named(conn: &Connection, table: &str, row: &str) -> String {
    match table {
        "change_line" => {
            let sql = format!("SELECT change FROM change_line WHERE {row}");
            let change: i64 = conn.query_row(&sql, [], |row| row.get(0)).unwrap();
            format!("row {change} of change ")
        }
        "sample" | "digest" => "samples of 'probe' on ".to_owned(),
        "seal" => {
            let sql =
                format!("SELECT 'row ' || row_id || ' of ' || tbl || ' ' FROM seal WHERE {row}");
            conn.query_row(&sql, [], |row| row.get(0)).unwrap()
        }
        _ => {
            let key = if table == "lesson" { "batch" } else { "id" };
            let sql = format!("SELECT {key} FROM \"{table}\" WHERE {row}");
            let id: i64 = conn.query_row(&sql, [], |row| row.get(0)).unwrap();
            format!("row {id} of {table} ")
        }
    }
}

/// A cell of a table: the condition that finds its row, and its column.
struct Cell {
    table: String,
    column: String,
    row: String,
}

impl Cell {
    fn get(&self, conn: &Connection) -> Value {
        let sql = format!(
            "SELECT {} FROM {} WHERE {}",
            self.column, self.table, self.row
        );
        conn.query_row(&sql, [], |row| row.get(0)).unwrap()
    }

    fn set(&self, conn: &Connection, value: &Value) {
        let sql = format!(
            "UPDATE {} SET {} = ?1 WHERE {}",
            self.table, self.column, self.row
        );
        assert_eq!(conn.execute(&sql, [value]).unwrap(), 1, "{sql}");
    }
}

/// A cell of each column of each table that has a row, but for those of the keys.
fn cells(conn: &Connection) -> Vec<(Cell, String)> {
    // A count of writes and numbers to come are no values; a dossier bears its own proof and is
    // not believed without it.
    let tables = names(
        conn,
        "SELECT name FROM sqlite_schema WHERE type = 'table'
         AND name NOT LIKE 'sqlite@_%' ESCAPE '@' AND name NOT IN ('state', 'dossier')",
    );
    let mut cells = Vec::new();
    for table in tables {
        let mut ask = conn
            .prepare("SELECT name, type, pk FROM pragma_table_info(?1)")
            .unwrap();
        let columns = ask
            .query_map([&table], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
            .unwrap()
            .map(Result::unwrap);
        let (keys, others): (Vec<_>, Vec<_>) =
            columns.partition(|(_, _, key): &(String, String, i64)| *key > 0);
        let each: Vec<_> = keys
            .iter()
            .map(|(key, ..)| format!("'{key} IS ' || quote({key})"))
            .collect();
        for (column, kind, _) in others {
            // The last bits of a sum depend on the order in which it was added up.
            if table == "digest" && column == "total" {
                continue;
            }
            let sql = format!(
                "SELECT {} FROM {table} ORDER BY {column} IS NULL LIMIT 1",
                each.join(" || ' AND ' || ")
            );
            for row in names(conn, &sql) {
                let (table, column) = (table.clone(), column.clone());
                cells.push((Cell { table, column, row }, kind.clone()));
            }
        }
    }
    cells
}

#[test]
fn a_flipped_bit_in_any_column_is_named_with_table_and_row() {
    let mut tried = BTreeSet::new();
    for kept in [format!("schema-{SCHEMA}"), "planning-3".to_owned()] {
        let (_folder, path) = full(&kept);
        let store = Store::open(&path, now()).unwrap();
        // Its lessons are of other sums than ours: they are worked out anew.
        let household = store.household(now()).unwrap();
        work::learned(&store, &household, now()).unwrap();
        assert_eq!(store.check(now()).unwrap(), vec![]);
        let conn = other_hand(&path);
        conn.execute_batch("CREATE TEMP TABLE kept AS SELECT * FROM main.lesson")
            .unwrap();
        for (cell, kind) in cells(&conn) {
            if !tried.insert(format!("{}.{}", cell.table, cell.column)) {
                continue;
            }
            let name = named(&conn, &cell.table, &cell.row);
            let old = cell.get(&conn);
            let new = flipped(&old, &kind);
            cell.set(&conn, &new);
            let found = store.check(now()).unwrap();
            let said: Vec<String> = found.iter().map(ToString::to_string).collect();
            assert!(
                said.iter().any(|s| s.contains(&name)),
                "{}.{} was {old:?}, is {new:?}: {said:?}",
                cell.table,
                cell.column
            );
            cell.set(&conn, &old);
            // Lessons go when what they rest on changes.
            conn.execute_batch(
                "DELETE FROM main.lesson; INSERT INTO main.lesson SELECT * FROM kept",
            )
            .unwrap();
        }
        assert_eq!(store.check(now()).unwrap(), vec![], "{kept}");
    }
    println!("{} columns, a bit of each flipped, each named", tried.len());
    assert!(tried.len() > 230, "{}", tried.len());
}

#[test]
fn a_row_that_is_gone_and_one_of_another_hand_are_named() {
    let (_folder, path) = full(&format!("schema-{SCHEMA}"));
    let conn = other_hand(&path);
    let event: i64 = conn
        .query_row(
            "DELETE FROM event WHERE id = (SELECT max(id) FROM event) RETURNING id",
            [],
            |r| r.get(0),
        )
        .unwrap();
    conn.execute("INSERT INTO place (name, dark) VALUES ('attic', 1)", [])
        .unwrap();
    let place = conn.last_insert_rowid();
    let gone = conn
        .execute(
            "DELETE FROM sample WHERE at_ms = (SELECT max(at_ms) FROM sample)",
            [],
        )
        .unwrap();
    assert_eq!(gone, 1);
    let found = Store::open(&path, now()).unwrap().check(now()).unwrap();
    for name in [
        format!("row {event} of event is missing"),
        format!("row {place} of place was not written by skep"),
        "samples of 'probe' on ".to_owned(),
    ] {
        assert!(
            found
                .iter()
                .any(|f| matches!(f, Finding::Altered(s) if s.starts_with(&name))),
            "{name}: {found:?}"
        );
    }
}

/// What was altered stays as it is until a maker corrects it; then it is whole again.
#[test]
fn a_correction_by_the_maker_makes_an_altered_row_whole() {
    let (_folder, path) = full(&format!("schema-{SCHEMA}"));
    let mut store = Store::open(&path, now()).unwrap();
    other_hand(&path)
        .execute("UPDATE settings SET adults = 7", [])
        .unwrap();
    assert_eq!(store.check(now()).unwrap().len(), 1);
    let settings = store.household(now()).unwrap().settings;
    assert_eq!(settings.adults, 7);
    good(
        &mut store,
        &skep::domain::deeds::Deed::SaveSettings(skep::domain::records::Settings {
            adults: 2,
            ..settings
        }),
    );
    assert_eq!(store.check(now()).unwrap(), vec![]);
    work::undo(&mut store, now()).unwrap();
    assert_eq!(store.check(now()).unwrap(), vec![]);
}

#[test]
fn what_is_salvaged_names_what_was_altered() {
    let (folder, path) = full(&format!("schema-{SCHEMA}"));
    other_hand(&path)
        .execute("UPDATE reading SET value = value + 0.5 WHERE id = 1", [])
        .unwrap();
    let mut archive = Vec::new();
    let lost = Store::salvage(&path, folder.path(), &mut archive, now()).unwrap();
    assert_eq!(
        lost,
        ["row 1 of reading is not as skep wrote it; it was written as it is"]
    );
    let again = folder.path().join("again");
    Store::rebuild(&again, archive.as_slice()).unwrap();
    assert_eq!(
        Store::open(&again, now()).unwrap().check(now()).unwrap(),
        vec![]
    );
}

/// A lesson that was altered teaches nothing: it is worked out anew.
#[test]
fn an_altered_lesson_is_not_believed() {
    let (_folder, path) = full(&format!("schema-{SCHEMA}"));
    let store = Store::open(&path, now()).unwrap();
    let household = store.household(now()).unwrap();
    let before = work::learned(&store, &household, now()).unwrap();
    let known = store.lessons(now()).unwrap().known.len();
    assert!(known > 0);
    other_hand(&path)
        .execute("UPDATE lesson SET until_ms = until_ms + 1", [])
        .unwrap();
    assert_eq!(store.lessons(now()).unwrap().known.len(), 0);
    let after = work::learned(&store, &household, now()).unwrap();
    assert_eq!(after, before);
    assert_eq!(store.lessons(now()).unwrap().known.len(), known);
    assert_eq!(store.check(now()).unwrap(), vec![]);
}
