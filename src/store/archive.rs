//! The whole store as JSON, and back: for eyes, other programs and later days.
//!
//! Every table, every row, every column, as it is stored, but for dossiers that are
//! kept in one piece and can be put together again; `assets/schema/archive.schema.json`
//! describes it and is made by [`archive_schema`]. What is read back is equal,
//! also its history, so that undo still works.

use super::error::{Cause, Doing, Result, StoreError};
use super::open::{self, exists, fill_to, migrate, private_file_beside, put_in_place, sync};
use super::{SCHEMA, Store, seal};
use crate::domain::units::Moment;
use rusqlite::types::{Value, ValueRef};
use rusqlite::{Connection, params_from_iter};
use serde::de::{DeserializeSeed, Deserializer, Error as _, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, json};
use std::fmt;
use std::fs;
use std::io::{Read, Write};
use std::path::Path;

/// Number of the format of archives.
const FORMAT: i64 = 1;

/// A table with its columns.
pub(super) struct Table {
    pub(super) name: String,
    pub(super) columns: Vec<Column>,
    /// The columns of its primary key, in order; none where it has none.
    pub(super) key: Vec<String>,
}

pub(super) struct Column {
    pub(super) name: String,
    /// As declared: INTEGER, REAL, TEXT or ANY.
    kind: String,
    required: bool,
}

impl Store {
    /// Writes all of the store as JSON. One moment's view, whatever others write meanwhile.
    pub fn archive(&self, out: &mut dyn Write, now: Moment) -> Result<()> {
        let doing = "writing all of the store as JSON";
        let tx = self.conn.unchecked_transaction().doing(doing)?;
        write(&tx, out, now).doing(doing)
    }

    /// Makes a new store of an archive. A file that is there already is left alone.
    pub fn rebuild(path: &Path, archive: impl Read) -> Result<()> {
        let doing = format!("making the store {} of an archive", path.display());
        rebuild(path, archive).doing(&doing)
    }
}

pub(super) fn tables(conn: &Connection) -> Result<Vec<Table>> {
    let mut ask = conn.prepare(
        "SELECT name FROM sqlite_schema WHERE type = 'table'
         AND (name NOT LIKE 'sqlite@_%' ESCAPE '@' OR name = 'sqlite_sequence')
         AND name NOT IN ('dossier', 'seal') ORDER BY rowid",
    )?;
    let names: Vec<String> = ask
        .query_map([], |row| row.get(0))?
        .collect::<std::result::Result<_, _>>()?;
    names
        .into_iter()
        .map(|name| {
            let mut ask =
                conn.prepare("SELECT name, type, \"notnull\" OR pk FROM pragma_table_info(?1)")?;
            let columns = ask
                .query_map([&name], |row| {
                    Ok(Column {
                        name: row.get(0)?,
                        kind: row.get(1)?,
                        required: row.get(2)?,
                    })
                })?
                .collect::<std::result::Result<_, _>>()?;
            let mut ask =
                conn.prepare("SELECT name FROM pragma_table_info(?1) WHERE pk > 0 ORDER BY pk")?;
            let key = ask
                .query_map([&name], |row| row.get(0))?
                .collect::<std::result::Result<_, _>>()?;
            Ok(Table { name, columns, key })
        })
        .collect()
}

/// What an archive begins with.
pub(super) fn head(schema: i64, now: Moment) -> String {
    let made = now.datetime().to_rfc3339();
    format!("{{\"skep\":\"archive\",\"format\":{FORMAT},\"schema\":{schema},\"made\":\"{made}\",")
}

fn write(conn: &Connection, out: &mut dyn Write, now: Moment) -> Result<()> {
    io(write!(out, "{}\"tables\":{{", head(SCHEMA, now)))?;
    for (i, table) in tables(conn)?.iter().enumerate() {
        io(out.write_all(if i == 0 { b"\n" } else { b",\n" }))?;
        write_table(conn, table, out)?;
    }
    io(out.write_all(b"\n}}\n"))
}

fn write_table(conn: &Connection, table: &Table, out: &mut dyn Write) -> Result<()> {
    io(write!(out, "\"{}\":[", table.name))?;
    let mut ask = conn.prepare(&format!("SELECT * FROM \"{}\"", table.name))?;
    let mut rows = ask.query([])?;
    let mut first = true;
    while let Some(row) = rows.next()? {
        io(out.write_all(if first { b"\n{" } else { b",\n{" }))?;
        first = false;
        for (i, column) in table.columns.iter().enumerate() {
            let comma = if i == 0 { "" } else { "," };
            io(write!(out, "{comma}\"{}\":", column.name))?;
            write_value(row.get_ref(i)?, out)?;
        }
        io(out.write_all(b"}"))?;
    }
    io(out.write_all(b"]"))
}

pub(super) fn write_value(value: ValueRef<'_>, out: &mut dyn Write) -> Result<()> {
    match value {
        ValueRef::Null => io(out.write_all(b"null")),
        ValueRef::Integer(i) => io(write!(out, "{i}")),
        ValueRef::Real(r) => json_to(&r, out),
        ValueRef::Text(text) => json_to(&String::from_utf8_lossy(text), out),
        ValueRef::Blob(_) => {
            Err(Cause::Sql("a table holds bytes, which none should".into()).into())
        }
    }
}

fn json_to(value: &impl serde::Serialize, out: &mut dyn Write) -> Result<()> {
    serde_json::to_writer(out, value).map_err(|e| output(std::io::Error::from(e)))
}

pub(super) fn io(done: std::io::Result<()>) -> Result<()> {
    done.map_err(output)
}

fn output(error: std::io::Error) -> StoreError {
    StoreError::file(Path::new("the output"), error)
}

fn rebuild(path: &Path, archive: impl Read) -> Result<()> {
    if exists(path)? {
        return Err(stuck(format!(
            "{} is there already; name a file that is not with --store",
            path.display()
        )));
    }
    open::make_folder(path)?;
    let fresh = private_file_beside(path, "rebuilt")?;
    let made = fill(&fresh, archive).and_then(|()| put_in_place(&fresh, path));
    let _ = fs::remove_file(&fresh);
    made.map(drop)
}

fn stuck(why: String) -> StoreError {
    Cause::Stuck(why).into()
}

/// Fills a file with what the archive holds, in the tables of its own time, and
/// brings these up to date.
fn fill(fresh: &Path, archive: impl Read) -> Result<()> {
    let mut conn = Connection::open(fresh)?;
    conn.query_row("PRAGMA journal_mode = WAL", [], |_| Ok(()))?;
    conn.pragma_update(None, "foreign_keys", true)?;
    let mut reader = serde_json::Deserializer::from_reader(std::io::BufReader::new(archive));
    let read = Archive { conn: &mut conn }
        .deserialize(&mut reader)
        .and_then(|salvaged| reader.end().map(|()| salvaged));
    let salvaged = read.map_err(|why| stuck(format!("this is no archive of skep: {why}")))?;
    migrate(&mut conn)?;
    if salvaged {
        mend(&conn)?;
    }
    seal::all(&conn)?;
    let broken: i64 = conn.query_row("SELECT count(*) FROM pragma_foreign_key_check", [], |r| {
        r.get(0)
    })?;
    if broken > 0 {
        return Err(stuck(format!(
            "{broken} rows speak of others that are not there"
        )));
    }
    conn.close().map_err(|(_, e)| StoreError::from(e))?;
    sync(fresh)
}

/// Takes out of what was salvaged all that speaks of what is lost, and makes the
/// sums of logger data anew.
fn mend(conn: &Connection) -> Result<()> {
    conn.execute(
        "INSERT OR IGNORE INTO state (id, revision) VALUES (1, 0)",
        [],
    )?;
    loop {
        let mut ask = conn.prepare(
            "SELECT DISTINCT c.\"table\", f.\"from\", f.\"table\", coalesce(f.\"to\", 'id')
             FROM pragma_foreign_key_check c JOIN pragma_foreign_key_list(c.\"table\") f ON f.id = c.fkid",
        )?;
        let broken: Vec<[String; 4]> = ask
            .query_map([], |r| Ok([r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?]))?
            .collect::<rusqlite::Result<_>>()?;
        if broken.is_empty() {
            break;
        }
        let mut taken = 0;
        for [table, from, parent, to] in broken {
            let sql = format!(
                "DELETE FROM \"{table}\" WHERE \"{from}\" IS NOT NULL
                 AND \"{from}\" NOT IN (SELECT \"{to}\" FROM \"{parent}\")"
            );
            taken += conn.execute(&sql, [])?;
        }
        if taken == 0 {
            break;
        }
    }
    super::samples::sum_anew(conn)
}

/// The whole archive.
struct Archive<'c> {
    conn: &'c mut Connection,
}

impl<'de> DeserializeSeed<'de> for Archive<'_> {
    type Value = bool;

    fn deserialize<D: Deserializer<'de>>(self, d: D) -> std::result::Result<bool, D::Error> {
        d.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for Archive<'_> {
    /// Whether it was salvaged from a damaged store.
    type Value = bool;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object with skep, format, schema and tables")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> std::result::Result<bool, A::Error> {
        let (mut ours, mut schema, mut full, mut salvaged) = (false, None, false, false);
        while let Some(key) = map.next_key::<String>()? {
            match key.as_str() {
                "skep" => ours = map.next_value::<String>()? == "archive",
                "format" => {
                    let format = map.next_value::<i64>()?;
                    if format != FORMAT {
                        return Err(A::Error::custom(format!(
                            "its format is {format}, this skep reads {FORMAT}"
                        )));
                    }
                }
                "schema" => schema = Some(map.next_value::<i64>()?),
                "salvaged" => salvaged = map.next_value::<bool>()?,
                "tables" => {
                    let Some(schema) = schema.filter(|_| ours) else {
                        return Err(A::Error::custom(
                            "'skep' and 'schema' must come before 'tables'",
                        ));
                    };
                    prepare(self.conn, schema).map_err(A::Error::custom)?;
                    if salvaged {
                        self.conn
                            .pragma_update(None, "foreign_keys", false)
                            .map_err(A::Error::custom)?;
                    }
                    map.next_value_seed(Tables {
                        conn: self.conn,
                        salvaged,
                    })?;
                    full = true;
                }
                _ => {
                    map.next_value::<serde::de::IgnoredAny>()?;
                }
            }
        }
        if full {
            Ok(salvaged)
        } else {
            Err(A::Error::custom("it has no 'tables'"))
        }
    }
}

/// Makes the tables of that schema, all empty.
fn prepare(conn: &mut Connection, schema: i64) -> Result<()> {
    if !(1..=SCHEMA).contains(&schema) {
        return Err(stuck(format!(
            "its tables are of version {schema}, this skep knows 1 to {SCHEMA}"
        )));
    }
    fill_to(conn, schema)?;
    for table in tables(conn)? {
        conn.execute(&format!("DELETE FROM \"{}\"", table.name), [])?;
    }
    Ok(())
}

/// All tables, in one transaction.
struct Tables<'c> {
    conn: &'c mut Connection,
    salvaged: bool,
}

impl<'de> DeserializeSeed<'de> for Tables<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, d: D) -> std::result::Result<(), D::Error> {
        d.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for Tables<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object of tables")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> std::result::Result<(), A::Error> {
        let known = tables(self.conn).map_err(A::Error::custom)?;
        let tx = self.conn.transaction().map_err(A::Error::custom)?;
        // A row may speak of one that comes later.
        tx.pragma_update(None, "defer_foreign_keys", true)
            .map_err(A::Error::custom)?;
        while let Some(name) = map.next_key::<String>()? {
            let table = known
                .iter()
                .find(|t| t.name == name)
                .ok_or_else(|| A::Error::custom(format!("there is no table '{name}'")))?;
            if name == "sqlite_sequence" {
                // Filled by the rows themselves; what was said then counts.
                tx.execute("DELETE FROM sqlite_sequence", [])
                    .map_err(A::Error::custom)?;
            }
            map.next_value_seed(Rows {
                conn: &tx,
                table,
                salvaged: self.salvaged,
            })?;
        }
        tx.commit().map_err(A::Error::custom)
    }
}

/// The rows of one table.
struct Rows<'c> {
    conn: &'c Connection,
    table: &'c Table,
    /// Rows that do not fit are left out.
    salvaged: bool,
}

impl<'de> DeserializeSeed<'de> for Rows<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, d: D) -> std::result::Result<(), D::Error> {
        d.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for Rows<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the rows of {}", self.table.name)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> std::result::Result<(), A::Error> {
        let columns = &self.table.columns;
        let names: Vec<String> = columns.iter().map(|c| format!("\"{}\"", c.name)).collect();
        let marks = vec!["?"; columns.len()].join(",");
        let sql = format!(
            "INSERT INTO \"{}\" ({}) VALUES ({marks})",
            self.table.name,
            names.join(",")
        );
        let mut put = self.conn.prepare(&sql).map_err(A::Error::custom)?;
        while let Some(mut row) = seq.next_element::<Map<String, serde_json::Value>>()? {
            let mut values = Vec::with_capacity(columns.len());
            for column in columns {
                let cell = row.remove(&column.name).ok_or_else(|| {
                    A::Error::custom(format!(
                        "a row of {} lacks {}",
                        self.table.name, column.name
                    ))
                })?;
                values.push(value(cell).map_err(A::Error::custom)?);
            }
            if let Some(odd) = row.keys().next() {
                let table = &self.table.name;
                return Err(A::Error::custom(format!("{table} has no column '{odd}'")));
            }
            match put.execute(params_from_iter(values)) {
                Err(why) if !self.salvaged => {
                    let table = &self.table.name;
                    return Err(A::Error::custom(format!("a row of {table}: {why}")));
                }
                _ => {}
            }
        }
        Ok(())
    }
}

fn value(cell: serde_json::Value) -> std::result::Result<Value, String> {
    use serde_json::Value as J;
    match cell {
        J::Null => Ok(Value::Null),
        J::String(text) => Ok(Value::Text(text)),
        J::Number(n) => match (n.as_i64(), n.as_f64()) {
            (Some(i), _) => Ok(Value::Integer(i)),
            (None, Some(r)) => Ok(Value::Real(r)),
            (None, None) => Err(format!("{n} is too large")),
        },
        J::Bool(_) | J::Array(_) | J::Object(_) => {
            Err("a cell holds neither number, text nor null".to_owned())
        }
    }
}

/// The JSON Schema of an archive of this skep's tables.
pub fn archive_schema() -> Result<serde_json::Value> {
    let store = Store::in_memory()?;
    let mut properties = Map::new();
    let mut names = Vec::new();
    for table in tables(&store.conn)? {
        let (mut columns, mut required) = (Map::new(), Vec::new());
        for column in &table.columns {
            let kind = match column.kind.as_str() {
                "INTEGER" => json!(["integer"]),
                "REAL" => json!(["number"]),
                "TEXT" => json!(["string"]),
                _ => json!(["integer", "number", "string", "null"]),
            };
            let mut kind = kind.as_array().cloned().unwrap_or_default();
            if !column.required && !kind.contains(&json!("null")) {
                kind.push(json!("null"));
            }
            columns.insert(column.name.clone(), json!({ "type": kind }));
            required.push(json!(column.name));
        }
        let row = json!({
            "type": "object",
            "properties": columns,
            "required": required,
            "additionalProperties": false,
        });
        properties.insert(table.name.clone(), json!({ "type": "array", "items": row }));
        names.push(json!(table.name));
    }
    Ok(json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": format!("urn:skep:archive:{FORMAT}:{SCHEMA}"),
        "title": "All of a skep store",
        "description": "Every table, row and column as stored. A name ending in _ms is an instant in milliseconds since 1970 UTC, and its _off is the offset from UTC in minutes at which it was entered; _c is °C, _g gram, _l litre, _abv % vol, _s seconds; gravities are SG 20/20; a day is ISO 8601. change and change_line hold the history by which undo works. sample and digest hold what loggers reported, and its sums by hour and day; lesson what was worked out of ended batches. What was salvaged from a damaged store says so, and what was lost.",
        "type": "object",
        "required": ["skep", "format", "schema", "made", "tables"],
        "properties": {
            "skep": { "const": "archive" },
            "format": { "const": FORMAT },
            "schema": { "const": SCHEMA },
            "made": { "type": "string", "format": "date-time" },
            "salvaged": { "const": true },
            "lost": { "type": "array", "items": { "type": "string" } },
            "tables": {
                "type": "object",
                "properties": properties,
                "required": names,
                "additionalProperties": false,
            },
        },
        "additionalProperties": false,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn now() -> Moment {
        Moment::from_stored(1_795_592_400_000, -480).unwrap()
    }

    fn archived(store: &Store) -> String {
        let mut out = Vec::new();
        store.archive(&mut out, now()).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn the_demonstration_comes_back_equal_and_can_be_undone() {
        let mut store = Store::in_memory().unwrap();
        crate::work::demo::build(&mut store, now()).unwrap();
        let archive = archived(&store);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("back.store");
        Store::rebuild(&path, archive.as_bytes()).unwrap();
        let mut back = Store::open(&path, now()).unwrap();
        // Not printed: it is long.
        assert!(archived(&back) == archive, "the archive differs");
        assert_eq!(
            back.household(now()).unwrap(),
            store.household(now()).unwrap()
        );
        assert_eq!(back.check(now()).unwrap(), vec![]);
        let undone = crate::work::undo(&mut back, now()).unwrap();
        assert_eq!(undone, crate::work::undo(&mut store, now()).unwrap());
        assert!(archived(&back) == archived(&store), "undo differs");
    }

    #[test]
    fn what_is_no_archive_is_refused_and_nothing_is_left() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("back.store");
        let good = archived(&Store::in_memory().unwrap());
        let row = r#"{"id":1,"name":"x","dark":1,"usual_temp_c":null,"summer_c":null}"#;
        for (archive, said) in [
            ("honey".to_owned(), "expected value"),
            ("{}".to_owned(), "it has no 'tables'"),
            (good.replace("archive", "wax"), "'skep' and 'schema' must come before"),
            (good.replace("\"format\":1", "\"format\":9"), "its format is 9"),
            (good.replace(&format!("\"schema\":{SCHEMA}"), "\"schema\":99"), "its tables are of version 99"),
            (good.replace("\"place\":[", "\"attic\":["), "there is no table 'attic'"),
            (good.replace("\"place\":[", &format!("\"place\":[{}", row.replace("dark", "light"))), "a row of place lacks dark"),
            (good.replace("\"place\":[", &format!("\"place\":[{}", row.replace("1,", "\"one\","))), "a row of place"),
            (good.replace("\"vessel\":[", "\"vessel\":[{\"id\":1,\"tag\":\"J1\",\"kind\":\"jug\",\"capacity_l\":4.0,\"tare_g\":null,\"place\":7,\"clean\":1,\"retired\":0,\"rated_bar\":null,\"note\":\"\"}"), "FOREIGN KEY"),
            (format!("{good}more"), "trailing characters"),
        ] {
            let why = Store::rebuild(&path, archive.as_bytes()).unwrap_err().to_string();
            assert!(why.contains(said), "{said}: {why}");
            assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0, "{said}");
        }
        fs::write(&path, "mine").unwrap();
        let why = Store::rebuild(&path, good.as_bytes())
            .unwrap_err()
            .to_string();
        assert!(why.contains("is there already"), "{why}");
        assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
    }

    #[test]
    fn the_schema_in_the_assets_is_the_one_of_the_tables() {
        let told: serde_json::Value =
            serde_json::from_str(include_str!("../../assets/schema/archive.schema.json")).unwrap();
        assert_eq!(
            told,
            archive_schema().unwrap(),
            "write it anew: skep export schema > assets/schema/archive.schema.json"
        );
    }
}
