//! Looking a store over: is the file whole, and can what it says be?

use super::cells::Record;
use super::error::{Cause, Doing, Result, StoreError};
use super::rows::Standing;
use super::{FoodRow, PartRow, PlanRow, Reader, Store, samples, seal, undo};
use crate::domain::records::{
    Away, Batch, Change, Draw, Event, Instrument, Lot, PantryDraw, PantryItem, Place, Reading,
    Room, Settings, Stay, Step, Tasting, Tick, Vessel,
};
use crate::domain::units::Moment;
use rusqlite::Connection;
use std::collections::BTreeMap;
use std::fmt;
use std::sync::OnceLock;

/// So much of a damaged file is told.
const LISTED: usize = 20;

/// Something that a check found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Finding {
    /// The file is damaged: restore a backup, or export what can be read.
    Damaged(String),
    /// The tables are not those that this skep makes.
    Schema(String),
    /// A row speaks of another that is not there.
    Dangling(String),
    /// A row cannot be read.
    Unreadable(String),
    /// What is said cannot be.
    Impossible(String),
    /// A value is not the one that skep wrote.
    Altered(String),
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Damaged(what) => write!(f, "the file is damaged: {what}"),
            Self::Schema(what) => write!(f, "the tables are not those of skep: {what}"),
            Self::Dangling(what)
            | Self::Unreadable(what)
            | Self::Impossible(what)
            | Self::Altered(what) => f.write_str(what),
        }
    }
}

impl Store {
    /// Looks the whole store over: pages and indexes, references, tables,
    /// every row, and what cannot be. Takes a second for a million samples.
    /// Nothing found means nothing wrong that is known how to look for.
    pub fn check(&self, now: Moment) -> Result<Vec<Finding>> {
        match self.look_over(now) {
            // So damaged that SQLite gives up in the middle.
            Err(StoreError {
                cause: Cause::Damaged(what),
                ..
            }) => Ok(vec![Finding::Damaged(what)]),
            found => found.doing("checking the store"),
        }
    }

    fn look_over(&self, now: Moment) -> Result<Vec<Finding>> {
        let tx = self.conn.unchecked_transaction()?;
        let mut found = pages(&tx)?;
        let reader = Reader::new(&tx);
        if !found.is_empty() {
            // On damaged pages every other question may be answered wrongly, but which rows
            // are concerned is worth knowing.
            let altered = altered(reader).unwrap_or_default();
            found.extend(altered.into_iter().take(LISTED));
            return Ok(found);
        }
        found.extend(schema(&tx)?);
        found.extend(references(&tx)?);
        found.extend(unreadable(reader)?);
        for (sql, say) in IMPOSSIBLE {
            found.extend(impossible(reader, sql, say, now)?);
        }
        found.extend(history(reader)?);
        found.extend(altered(reader)?);
        Ok(found)
    }
}

impl Store {
    /// Looks over the pages and indexes of all tables but these.
    pub(super) fn check_pages(&self, but: &[&str]) -> Result<()> {
        let mut ask = self
            .conn
            .prepare("SELECT name FROM sqlite_schema WHERE type = 'table'")?;
        let names = ask.query_map([], |row| row.get::<_, String>(0))?;
        let names: Vec<String> = names.collect::<rusqlite::Result<_>>()?;
        let mut ask = self
            .conn
            .prepare("SELECT integrity_check FROM pragma_integrity_check(?1) LIMIT 1")?;
        for name in names.iter().filter(|name| !but.contains(&name.as_str())) {
            let said: String = ask.query_row([name], |row| row.get(0))?;
            if said != "ok" {
                return Err(Cause::Damaged(said).into());
            }
        }
        Ok(())
    }
}

fn pages(conn: &Connection) -> Result<Vec<Finding>> {
    let mut ask = conn.prepare(&format!("PRAGMA integrity_check({LISTED})"))?;
    let rows = ask.query_map([], |row| row.get::<_, String>(0))?;
    let mut found = Vec::new();
    for row in rows {
        let said = row?;
        if said != "ok" {
            found.push(Finding::Damaged(said));
        }
    }
    Ok(found)
}

/// Tables and indexes by name, as they were written.
fn tables(conn: &Connection) -> Result<BTreeMap<String, String>> {
    let mut ask = conn.prepare(
        "SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite_%'",
    )?;
    let rows = ask.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(rows.collect::<rusqlite::Result<_>>()?)
}

/// Those that this skep makes; made once.
fn our_tables() -> Result<&'static BTreeMap<String, String>> {
    static OURS: OnceLock<BTreeMap<String, String>> = OnceLock::new();
    if let Some(ours) = OURS.get() {
        return Ok(ours);
    }
    let made = tables(&Store::in_memory()?.conn)?;
    Ok(OURS.get_or_init(|| made))
}

fn schema(conn: &Connection) -> Result<Vec<Finding>> {
    let (ours, theirs) = (our_tables()?, tables(conn)?);
    let mut found = Vec::new();
    for (name, sql) in ours {
        match theirs.get(name) {
            None => found.push(Finding::Schema(format!("'{name}' is missing"))),
            Some(other) if other != sql => {
                found.push(Finding::Schema(format!("'{name}' is another one")));
            }
            Some(_) => {}
        }
    }
    for name in theirs.keys().filter(|name| !ours.contains_key(*name)) {
        found.push(Finding::Schema(format!("'{name}' does not belong here")));
    }
    Ok(found)
}

fn references(conn: &Connection) -> Result<Vec<Finding>> {
    let mut ask = conn.prepare("PRAGMA foreign_key_check")?;
    let rows = ask.query_map([], |row| {
        let (table, id, parent): (String, Option<i64>, String) =
            (row.get(0)?, row.get(1)?, row.get(2)?);
        let id = id.map(|id| format!("row {id} of ")).unwrap_or_default();
        Ok(Finding::Dangling(format!(
            "{id}{table} speaks of a {parent} that is not there"
        )))
    })?;
    Ok(rows.collect::<rusqlite::Result<_>>()?)
}

/// Every kind of row, by its table.
type Rows = (
    &'static str,
    fn(Reader<'_>, &mut Vec<Finding>) -> Result<()>,
);
const ROWS: &[Rows] = &[
    (Place::TABLE, each::<Place>),
    (Vessel::TABLE, each::<Vessel>),
    (Standing::TABLE, each::<Standing>),
    (Instrument::TABLE, each::<Instrument>),
    (Batch::TABLE, each::<Batch>),
    (Stay::TABLE, each::<Stay>),
    (Reading::TABLE, each::<Reading>),
    (Step::TABLE, each::<Step>),
    (Event::TABLE, each::<Event>),
    (Lot::TABLE, each::<Lot>),
    (Draw::TABLE, each::<Draw>),
    (Tasting::TABLE, each::<Tasting>),
    (PantryItem::TABLE, each::<PantryItem>),
    (Settings::TABLE, each::<Settings>),
    (PlanRow::TABLE, each::<PlanRow>),
    (PartRow::TABLE, each::<PartRow>),
    (FoodRow::TABLE, each::<FoodRow>),
    (Tick::TABLE, each::<Tick>),
    (PantryDraw::TABLE, each::<PantryDraw>),
    (Away::TABLE, each::<Away>),
    (Room::TABLE, each::<Room>),
    (Change::TABLE, each::<Change>),
];

fn unreadable(reader: Reader<'_>) -> Result<Vec<Finding>> {
    let mut found = Vec::new();
    for (_, each) in ROWS {
        each(reader, &mut found)?;
    }
    Ok(found)
}

fn each<R: Record>(reader: Reader<'_>, found: &mut Vec<Finding>) -> Result<()> {
    let sql = format!("SELECT * FROM {}", R::TABLE);
    let mut ask = reader.conn().prepare(&sql)?;
    let mut rows = ask.query([])?;
    while let Some(row) = rows.next()? {
        if let Err(error) = super::reader::read::<R>(row) {
            found.push(Finding::Unreadable(error.to_string()));
        }
    }
    Ok(())
}

/// Questions whose every answer is impossible, and the sentence for one. `?1` is
/// a day from now. What is asked here is refused when it is typed; a file that
/// was changed by other hands may hold it all the same.
const IMPOSSIBLE: &[(&str, &str)] = &[
    (
        "SELECT v.tag FROM stay a JOIN stay b ON a.vessel = b.vessel AND a.id < b.id
         JOIN vessel v ON v.id = a.vessel
         WHERE a.from_ms < coalesce(b.to_ms, 9e18) AND b.from_ms < coalesce(a.to_ms, 9e18)
           AND ?1 IS NOT NULL",
        "vessel {} holds two batches at a time",
    ),
    (
        "SELECT b.name FROM batch b WHERE b.stage IN ('bottled', 'closed') AND ?1 IS NOT NULL
         AND EXISTS (SELECT 1 FROM stay s WHERE s.batch = b.id AND s.to_ms IS NULL)",
        "batch '{}' is bottled or closed and lies in a vessel all the same",
    ),
    (
        "SELECT b.name FROM batch b WHERE b.stage IN ('fermenting', 'resting', 'ageing')
         AND ?1 IS NOT NULL
         AND NOT EXISTS (SELECT 1 FROM stay s WHERE s.batch = b.id AND s.to_ms IS NULL)",
        "batch '{}' ferments or rests and lies in no vessel",
    ),
    (
        "SELECT b.name FROM lot l JOIN batch b ON b.id = l.batch WHERE ?1 IS NOT NULL
         AND (SELECT coalesce(sum(count), 0) FROM draw d WHERE d.lot = l.id) > l.count",
        "more bottles of '{}' left than were filled",
    ),
    (
        "SELECT id FROM reading WHERE at_ms > ?1",
        "reading {} lies in the future",
    ),
    (
        "SELECT r.id FROM reading r WHERE r.vessel IS NOT NULL AND r.kind <> 'temperature'
         AND ?1 IS NOT NULL AND r.removed_ms IS NULL
         AND NOT EXISTS (SELECT 1 FROM stay s WHERE s.vessel = r.vessel AND s.from_ms <= r.at_ms
                         AND (s.to_ms IS NULL OR r.at_ms < s.to_ms))",
        "reading {} was taken of a vessel that held nothing then",
    ),
    (
        "SELECT s.title FROM step s WHERE s.opens = 'after' AND ?1 IS NOT NULL
         AND NOT EXISTS (SELECT 1 FROM step o WHERE o.batch = s.batch AND o.key = s.opens_step)",
        "step '{}' hangs on a step that is not there",
    ),
    (
        "SELECT e.id FROM event e JOIN step s ON s.id = e.step
         WHERE s.batch <> e.batch AND ?1 IS NOT NULL",
        "ledger entry {} is the doing of another batch's step",
    ),
    (
        "SELECT t.id FROM tasting t JOIN lot l ON l.id = t.lot
         WHERE l.batch <> t.batch AND ?1 IS NOT NULL",
        "tasting {} is of another batch's bottles",
    ),
    (
        "SELECT v.tag FROM vessel v WHERE ?1 IS NOT NULL AND v.place IS NOT
         (SELECT place FROM standing s WHERE s.vessel = v.id ORDER BY from_ms DESC, id DESC LIMIT 1)",
        "vessel {} stands elsewhere than its history says",
    ),
];

fn impossible(reader: Reader<'_>, sql: &str, say: &str, now: Moment) -> Result<Vec<Finding>> {
    let mut ask = reader.conn().prepare(sql)?;
    let mut rows = ask.query([now.plus_days(1.0).utc_ms()])?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        let what = match row.get_ref(0)? {
            rusqlite::types::ValueRef::Text(t) => String::from_utf8_lossy(t).into_owned(),
            rusqlite::types::ValueRef::Integer(i) => i.to_string(),
            _ => String::from("?"),
        };
        found.push(Finding::Impossible(say.replace("{}", &what)));
    }
    Ok(found)
}

/// The list of changes must speak of known tables.
fn history(reader: Reader<'_>) -> Result<Vec<Finding>> {
    let mut found = Vec::new();
    let mut ask = reader
        .conn()
        .prepare("SELECT DISTINCT tbl FROM change_line")?;
    for name in ask.query_map([], |row| row.get::<_, String>(0))? {
        let name = name?;
        if undo::known_table(&name).is_err() {
            found.push(Finding::Impossible(format!(
                "a change speaks of a table '{name}' that there is not"
            )));
        }
    }
    Ok(found)
}

/// Rows and samples must be as their seals say.
fn altered(reader: Reader<'_>) -> Result<Vec<Finding>> {
    let rows = seal::broken(reader.conn())?;
    let mut found: Vec<_> = rows
        .iter()
        .map(|row| Finding::Altered(row.to_string()))
        .collect();
    for (stream, from) in samples::broken(reader.conn())? {
        let source: Option<String> =
            reader.one("SELECT source FROM stream WHERE id = ?1", [stream])?;
        let day = Moment::from_stored(from, 0).map_or_else(String::new, |at| at.day().to_string());
        found.push(Finding::Altered(format!(
            "samples of '{}' on {day} are not as they were reported",
            source.unwrap_or_default()
        )));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_table_is_read_and_can_be_undone() {
        let store = Store::in_memory().unwrap();
        // Lessons and kept dossiers are worked out, and again where they cannot be read.
        let apart = [
            "state",
            "change_line",
            "stream",
            "sample",
            "digest",
            "lesson",
            "dossier",
            "seal",
        ];
        let sql =
            "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'";
        let mut ask = store.conn.prepare(sql).unwrap();
        let tables: BTreeSet<String> = ask
            .query_map([], |row| row.get(0))
            .unwrap()
            .map(rusqlite::Result::unwrap)
            .filter(|name: &String| !apart.contains(&name.as_str()))
            .collect();
        let read: BTreeSet<_> = ROWS.iter().map(|(table, _)| (*table).to_owned()).collect();
        assert_eq!(read, tables);
        for table in tables.iter().filter(|t| *t != "change") {
            assert!(undo::known_table(table).is_ok(), "{table}");
        }
    }
}
