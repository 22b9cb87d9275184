//! Every store that is kept in `tests/stores`, whatever it holds: opened by
//! today's skep, each row of each table has what it had.
//!
//! `planning-3.store` was written by the skep of schema 3 with plans, a ticked
//! day, a pantry, days away and a room, by
//! `cargo test --test store -- --ignored write_the_store_of_the_plans`.

use crate::kit::*;
use crate::planning::{keep, plan, stock, tick};
use rusqlite::Connection;
use rusqlite::types::Value;
use skep::domain::checklist::lines;
use skep::domain::deeds::Deed;
use skep::domain::plan::outcome;
use skep::domain::records::UnitSystem;
use skep::domain::units::CubicMetres;
use skep::store::{SCHEMA, Store};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// What is worked out from the rest, and anew whenever it is missing.
const WORKED_OUT: [&str; 3] = ["state", "lesson", "dossier"];

fn stores() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/stores");
    let all = fs::read_dir(folder).unwrap().map(|e| e.unwrap().path());
    let mut found: Vec<_> = all
        .filter(|p| p.extension().is_some_and(|e| e == "store"))
        .collect();
    found.sort();
    found
}

/// Rows by their number, with their values by the name of the column.
type Rows = BTreeMap<i64, BTreeMap<String, Value>>;

fn tables(conn: &Connection) -> Vec<String> {
    let sql = "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'";
    let mut ask = conn.prepare(sql).unwrap();
    let names = ask.query_map([], |row| row.get(0)).unwrap();
    names.map(|name| name.unwrap()).collect()
}

fn rows(conn: &Connection, table: &str) -> Rows {
    // A table without row numbers is taken in the order of its key.
    let numbered = conn.prepare(&format!("SELECT rowid FROM {table}")).is_ok();
    let number = if numbered {
        "rowid"
    } else {
        "row_number() OVER ()"
    };
    let mut ask = conn
        .prepare(&format!("SELECT {number}, * FROM {table}"))
        .unwrap();
    let names: Vec<String> = ask.column_names().iter().map(|n| (*n).to_owned()).collect();
    let read = ask.query_map([], |row| {
        let columns = names.iter().enumerate().skip(1);
        let values = columns.map(|(i, name)| Ok((name.clone(), row.get(i)?)));
        Ok((row.get(0)?, values.collect::<rusqlite::Result<_>>()?))
    });
    read.unwrap().map(|row| row.unwrap()).collect()
}

fn version(conn: &Connection) -> i64 {
    conn.query_row("PRAGMA user_version", [], |row| row.get(0))
        .unwrap()
}

#[test]
fn every_row_of_every_kept_store_holds_what_it_held() {
    let folder = tempfile::tempdir().unwrap();
    let (mut compared, mut schemas, mut filled) = (0, BTreeSet::new(), BTreeSet::new());
    for old in stores() {
        let path = folder.path().join(old.file_name().unwrap());
        fs::copy(&old, &path).unwrap();
        let before = Connection::open(&path).unwrap();
        schemas.insert(version(&before));
        let held: Vec<_> = tables(&before)
            .into_iter()
            .map(|t| (rows(&before, &t), t))
            .collect();
        before.close().unwrap();
        let store = Store::open(&path, now()).unwrap();
        assert_eq!(store.check(now()).unwrap(), vec![], "{}", path.display());
        drop(store);
        let after = Connection::open(&path).unwrap();
        for (old, table) in held {
            let new = rows(&after, &table);
            for (number, row) in old.iter().filter(|_| !WORKED_OUT.contains(&table.as_str())) {
                let now = new
                    .get(number)
                    .unwrap_or_else(|| panic!("{table} {number} is gone"));
                for (column, value) in row {
                    let there = now
                        .get(column)
                        .unwrap_or_else(|| panic!("{table}.{column} is gone"));
                    assert_eq!(
                        there,
                        value,
                        "{}: {table}.{column} of {number}",
                        path.display()
                    );
                    compared += 1;
                }
            }
            if !old.is_empty() {
                filled.insert(table);
            }
        }
    }
    println!(
        "{compared} values of {} kept stores are what they were",
        stores().len()
    );
    assert_eq!(
        schemas,
        (1..=SCHEMA).collect(),
        "no store of a schema is kept"
    );
    let store = Connection::open(folder.path().join(format!("schema-{SCHEMA}.store"))).unwrap();
    let empty: Vec<_> = tables(&store)
        .into_iter()
        .filter(|t| !filled.contains(t))
        .collect();
    assert_eq!(
        empty,
        Vec::<String>::new(),
        "no kept store has a row in these"
    );
}

#[test]
#[ignore = "writes into tests/stores; was run once"]
fn write_the_store_of_the_plans() {
    let folder = tempfile::tempdir().unwrap();
    let mut home = home_in(Store::open(&folder.path().join("s"), now()).unwrap());
    let size = CubicMetres::known(3.5);
    let place = home.closet;
    good(&mut home.store, &Deed::SetRoom { place, size });
    for (name, unit, amount) in [("clover honey", "g", 3000.0), ("caps", "pieces", 40.0)] {
        good(
            &mut home.store,
            &stock(name, unit, amount, Some("2027-05-01")),
        );
    }
    let plan = plan();
    let id = keep(&mut home.store, &plan);
    let list = lines(&plan, &outcome(&plan), UnitSystem::Metric);
    for line in &list {
        good(&mut home.store, &tick(id, line));
    }
    let item = home.store.pantry().unwrap()[0].id;
    let (at, why) = (now(), "counted".to_owned());
    good(
        &mut home.store,
        &Deed::DrawPantry {
            item,
            amount: 5.0,
            at,
            why,
        },
    );
    let (from, to) = (now().plus_days(20.0).day(), now().plus_days(27.0).day());
    let note = "with the neighbours".to_owned();
    good(&mut home.store, &Deed::AddAway { from, to, note });
    let backup = home.store.back_up(folder.path(), now()).unwrap();
    let to = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/stores");
    fs::copy(backup, to.join(format!("planning-{SCHEMA}.store"))).unwrap();
}
