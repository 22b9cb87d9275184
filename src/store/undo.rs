//! Taking changes back and bringing them again, by their lines.

use super::cells::to;
use super::changes::finish;
use super::error::{Cause, Doing, Result, StoreError};
use super::reader::Reader;
use super::{Store, cells::Cell, seal};
use crate::domain::records::{Change, ChangeState};
use crate::domain::units::Moment;
use rusqlite::types::Value;
use rusqlite::{Transaction, params, params_from_iter};

/// Tables that changes may speak of. A store file comes from outside: what its
/// lines name is looked up here before it becomes part of a statement.
pub(super) const TABLES: &[&str] = &[
    "place",
    "vessel",
    "standing",
    "instrument",
    "batch",
    "stay",
    "reading",
    "step",
    "event",
    "lot",
    "draw",
    "tasting",
    "pantry",
    "settings",
    "plan",
    "plan_part",
    "plan_food",
    "tick",
    "pantry_draw",
    "away",
    "room",
];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Back,
    Again,
}

/// Columns of one row that were written together.
#[derive(Debug)]
struct Group {
    added: bool,
    table: &'static str,
    row: i64,
    cells: Vec<(String, Value, Value)>,
}

impl Store {
    /// Takes the last change that stands back; none where nothing is left to.
    pub(crate) fn undo(&mut self, now: Moment) -> Result<Option<Change>> {
        self.walk(Way::Back, now)
            .doing("taking the last change back")
    }

    /// Brings the change again that was taken back last.
    pub(crate) fn redo(&mut self, now: Moment) -> Result<Option<Change>> {
        self.walk(Way::Again, now).doing("bringing a change again")
    }

    fn walk(&mut self, way: Way, now: Moment) -> Result<Option<Change>> {
        self.prepare(now)?;
        let tx = self.begin()?;
        let reader = Reader::new(&tx);
        let next = match way {
            Way::Back => reader.undoable()?,
            Way::Again => reader.redoable()?,
        };
        let Some(mut change) = next else {
            return Ok(None);
        };
        let mut groups = groups(&tx, change.id.0)?;
        if way == Way::Back {
            groups.reverse();
        }
        for group in &groups {
            apply(&tx, group, way).map_err(|e| explain(e, &change, way))?;
        }
        let (state, cells) = match way {
            Way::Back => (
                ChangeState::Undone,
                to::opt_moment("undone_ms", "undone_off", Some(now)),
            ),
            Way::Again => (
                ChangeState::Done,
                to::opt_moment("undone_ms", "undone_off", None),
            ),
        };
        mark(&tx, change.id.0, state, cells)?;
        for group in &groups {
            seal::row(&tx, group.table, group.row)?;
        }
        seal::change(&tx, change.id.0)?;
        finish(tx)?;
        change.state = state;
        Ok(Some(change))
    }
}

fn mark(tx: &Transaction<'_>, id: i64, state: ChangeState, undone: [Cell; 2]) -> Result<()> {
    let [(_, ms), (_, off)] = undone;
    tx.execute(
        "UPDATE change SET state = ?2, undone_ms = ?3, undone_off = ?4 WHERE id = ?1",
        params![id, state.word(), ms, off],
    )?;
    Ok(())
}

/// The lines of a change, those written to one row in one go taken together.
fn groups(tx: &Transaction<'_>, change: i64) -> Result<Vec<Group>> {
    let mut ask = tx.prepare_cached(
        "SELECT what, tbl, row_id, col, old, new FROM change_line WHERE change = ?1 ORDER BY seq",
    )?;
    let mut rows = ask.query([change])?;
    let mut groups: Vec<Group> = Vec::new();
    while let Some(row) = rows.next()? {
        let added = row.get_ref(0)? == rusqlite::types::ValueRef::Text(b"add");
        let (table, column) = (
            known_table(&row.get::<_, String>(1)?)?,
            known_column(row.get(3)?)?,
        );
        let (id, old, new): (i64, Value, Value) = (row.get(2)?, row.get(4)?, row.get(5)?);
        match groups.last_mut() {
            Some(g)
                if g.added == added
                    && g.table == table
                    && g.row == id
                    && g.cells.iter().all(|(c, ..)| *c != column) =>
            {
                g.cells.push((column, old, new));
            }
            _ => groups.push(Group {
                added,
                table,
                row: id,
                cells: vec![(column, old, new)],
            }),
        }
    }
    Ok(groups)
}

pub(super) fn known_table(name: &str) -> Result<&'static str> {
    TABLES
        .iter()
        .find(|table| **table == name)
        .copied()
        .ok_or_else(|| Cause::Damaged(format!("a change speaks of table '{name}'")).into())
}

fn known_column(name: String) -> Result<String> {
    if !name.is_empty() && name.bytes().all(|b| b.is_ascii_lowercase() || b == b'_') {
        Ok(name)
    } else {
        Err(Cause::Damaged(format!("a change speaks of column '{name}'")).into())
    }
}

fn apply(tx: &Transaction<'_>, group: &Group, way: Way) -> Result<()> {
    let touched = match (group.added, way) {
        (true, Way::Back) => tx
            .prepare_cached(&format!("DELETE FROM {} WHERE id = ?1", group.table))?
            .execute([group.row])?,
        (true, Way::Again) => insert(tx, group)?,
        (false, _) => update(tx, group, way)?,
    };
    if touched == 1 {
        Ok(())
    } else {
        Err(Cause::Stuck(format!(
            "row {} of {} is no longer as that change left it",
            group.row, group.table
        ))
        .into())
    }
}

fn insert(tx: &Transaction<'_>, group: &Group) -> Result<usize> {
    let columns: Vec<_> = group.cells.iter().map(|(c, ..)| c.as_str()).collect();
    let sql = format!(
        "INSERT INTO {} (id, {}) VALUES (?{})",
        group.table,
        columns.join(", "),
        ", ?".repeat(columns.len())
    );
    let id = Value::Integer(group.row);
    let values = [&id]
        .into_iter()
        .chain(group.cells.iter().map(|(_, _, new)| new));
    Ok(tx.prepare_cached(&sql)?.execute(params_from_iter(values))?)
}

/// Sets the columns, provided that they still are as the change left them.
fn update(tx: &Transaction<'_>, group: &Group, way: Way) -> Result<usize> {
    let sets: Vec<_> = group
        .cells
        .iter()
        .map(|(c, ..)| format!("{c} = ?"))
        .collect();
    let still: Vec<_> = group
        .cells
        .iter()
        .map(|(c, ..)| format!("{c} IS ?"))
        .collect();
    let sql = format!(
        "UPDATE {} SET {} WHERE id = ? AND {}",
        group.table,
        sets.join(", "),
        still.join(" AND ")
    );
    let id = Value::Integer(group.row);
    let pick = |old, new| match way {
        Way::Back => (old, new),
        Way::Again => (new, old),
    };
    let pairs: Vec<(&Value, &Value)> = group
        .cells
        .iter()
        .map(|(_, old, new)| pick(old, new))
        .collect();
    let values = pairs
        .iter()
        .map(|(target, _)| *target)
        .chain([&id])
        .chain(pairs.iter().map(|(_, now)| *now));
    Ok(tx.prepare_cached(&sql)?.execute(params_from_iter(values))?)
}

/// A foreign key or check in the way has a reason the maker can see.
fn explain(error: StoreError, change: &Change, way: Way) -> StoreError {
    let verb = match way {
        Way::Back => "taken back",
        Way::Again => "brought again",
    };
    match error.cause {
        Cause::Sql(why) if why.contains("FOREIGN KEY") => Cause::Stuck(format!(
            "'{}' cannot be {verb}, because other data hangs on it, such as a logger's",
            change.name
        ))
        .into(),
        Cause::Sql(why) => {
            Cause::Stuck(format!("'{}' cannot be {verb} ({why})", change.name)).into()
        }
        Cause::Stuck(why) => {
            Cause::Stuck(format!("'{}' cannot be {verb}: {why}", change.name)).into()
        }
        _ => error,
    }
}
