//! A batch's whole history, also what was mended, removed or taken back.

use super::cells::{Columns, Odd, Record, int, opt_moment};
use super::error::{Doing, Result};
use super::{Reader, Store};
use crate::domain::records::{
    BatchId, Change, ChangeId, ChangeState, Event, Fate, LedgerEntry, LedgerLine, Reading, Stay,
    Step, StepId, StepStatus, Subject,
};
use crate::domain::units::Moment;
use rusqlite::types::Value;
use std::collections::HashMap;

/// A change as far as a line of the ledger needs it.
#[derive(Debug, Clone, Copy)]
struct Stamp {
    id: ChangeId,
    at: Moment,
}

impl Store {
    /// Everything that happened to a batch, in the order in which it happened.
    /// Readings mended, removed or taken back stand where they stood, with
    /// their fate.
    pub fn ledger(&self, batch: BatchId) -> Result<Vec<LedgerLine>> {
        let doing = "reading the ledger";
        let tx = self.conn.unchecked_transaction().doing(doing)?;
        let mut lines = Reader::new(&tx).ledger(batch).doing(doing)?;
        lines.sort_by_key(|line| (line.at, line.change.map_or(0, |c| c.0)));
        Ok(lines)
    }
}

fn stands(at: Moment, stamp: Option<Stamp>, entry: LedgerEntry) -> LedgerLine {
    LedgerLine {
        at,
        entered: stamp.map(|s| s.at),
        change: stamp.map(|s| s.id),
        entry,
        fate: Fate::Stands,
    }
}

// CROSS JOIN has SQLite keep the order of the tables: from the few rows of one
// batch to their lines, never from all changes there are.
impl Reader<'_> {
    fn ledger(self, batch: BatchId) -> Result<Vec<LedgerLine>> {
        let stays = self.stays(batch)?;
        let mut lines = Vec::new();
        self.stay_lines(&stays, &mut lines)?;
        self.reading_lines(&stays, &mut lines)?;
        let stamps = self.stamps("event", batch)?;
        for event in self.events(batch)? {
            let stamp = stamps.get(&event.id.0).copied();
            lines.push(stands(event.at, stamp, LedgerEntry::Event(event)));
        }
        self.step_lines(batch, &mut lines)?;
        self.cellar_lines(batch, &mut lines)?;
        self.fact_lines(batch, &mut lines)?;
        self.undone_lines(batch, &mut lines)?;
        Ok(lines)
    }

    fn stay_lines(self, stays: &[Stay], lines: &mut Vec<LedgerLine>) -> Result<()> {
        let Some(first) = stays.first() else {
            return Ok(());
        };
        let stamps = self.stamps("stay", first.batch)?;
        for stay in stays {
            let stamp = stamps.get(&stay.id.0).copied();
            lines.push(stands(stay.from, stamp, LedgerEntry::Arrived(stay.clone())));
            if let Some(to) = stay.to {
                lines.push(stands(to, None, LedgerEntry::Left(stay.clone())));
            }
        }
        Ok(())
    }

    /// By which change each row of a batch was added. A row number is never used twice.
    fn stamps(self, table: &str, batch: BatchId) -> Result<HashMap<i64, Stamp>> {
        let sql = format!(
            "SELECT DISTINCT l.row_id, c.id, c.at_ms, c.at_off FROM {table} t
             CROSS JOIN change_line l ON l.tbl = '{table}' AND l.row_id = t.id AND l.what = 'add'
             CROSS JOIN change c ON c.id = l.change WHERE t.batch = ?1"
        );
        let mut ask = self.conn().prepare_cached(&sql)?;
        let mut rows = ask.query([batch.0])?;
        let mut stamps = HashMap::new();
        while let Some(row) = rows.next()? {
            stamps.insert(row.get(0)?, stamp(row)?);
        }
        Ok(stamps)
    }

    fn reading_lines(self, stays: &[Stay], lines: &mut Vec<LedgerLine>) -> Result<()> {
        for stay in stays {
            let span = [
                stay.vessel.0,
                stay.from.utc_ms(),
                stay.to.map_or(i64::MAX, Moment::utc_ms),
            ];
            let mut ask = self.conn().prepare_cached(
                "SELECT * FROM reading WHERE vessel = ?1 AND at_ms >= ?2 AND at_ms < ?3
                 UNION SELECT r.* FROM change_line l JOIN reading r ON r.id = l.row_id
                 WHERE l.what = 'set' AND l.tbl = 'reading' AND l.col = 'vessel' AND l.old = ?1",
            )?;
            let mut rows = ask.query(span)?;
            while let Some(row) = rows.next()? {
                self.versions(columns(row)?, stay, lines)?;
            }
        }
        Ok(())
    }

    /// A reading as it is and as it was before each mending; those versions
    /// that belong to the stay.
    fn versions(self, mut now: Columns, stay: &Stay, lines: &mut Vec<LedgerLine>) -> Result<()> {
        let id = int(&now, "id").map_err(|e| e.at("reading", 0))?;
        let odd = |e: Odd| e.at("reading", id);
        let removed = opt_moment(&now, "removed_ms", "removed_off").map_err(odd)?;
        let mut fate = removed.map_or(Fate::Stands, |at| Fate::Removed { at });
        let mut lines_of = |now: &Columns, fate, change| -> Result<()> {
            let reading = Reading::read(now).map_err(odd)?;
            if reading.subject == Subject::Vessel(stay.vessel) && stay.covers(reading.at) {
                lines.push(LedgerLine {
                    at: reading.at,
                    entered: Some(reading.entered),
                    change,
                    entry: LedgerEntry::Reading(reading),
                    fate,
                });
            }
            Ok(())
        };
        for (change, old) in self.mendings(id)? {
            lines_of(&now, fate, Some(change.id))?;
            now.extend(old);
            fate = Fate::Mended {
                at: change.at,
                by: change.id,
            };
        }
        let added = self.added_by("reading", id)?;
        lines_of(&now, fate, added.map(|s| s.id))
    }

    /// Changes that mended a reading and still stand, the youngest first, with
    /// the columns as they were before.
    fn mendings(self, reading: i64) -> Result<Vec<(Stamp, Columns)>> {
        let mut ask = self.conn().prepare_cached(
            "SELECT l.row_id, c.id, c.at_ms, c.at_off, l.col, l.old FROM change_line l
             CROSS JOIN change c ON c.id = l.change
             WHERE l.tbl = 'reading' AND l.row_id = ?1 AND l.what = 'set' AND c.state = ?2
               AND l.col NOT LIKE 'removed%' ORDER BY c.id DESC, l.seq DESC",
        )?;
        let mut rows = ask.query((reading, ChangeState::Done.word()))?;
        let mut all: Vec<(Stamp, Columns)> = Vec::new();
        while let Some(row) = rows.next()? {
            let stamp = stamp(row)?;
            let (column, old): (String, Value) = (row.get(4)?, row.get(5)?);
            match all.last_mut() {
                Some((last, columns)) if last.id == stamp.id => {
                    columns.insert(column, old);
                }
                _ => all.push((stamp, Columns::from([(column, old)]))),
            }
        }
        Ok(all)
    }

    fn added_by(self, table: &str, row: i64) -> Result<Option<Stamp>> {
        let mut ask = self.conn().prepare_cached(
            "SELECT l.row_id, c.id, c.at_ms, c.at_off FROM change_line l
             CROSS JOIN change c ON c.id = l.change
             WHERE l.tbl = ?1 AND l.row_id = ?2 AND l.what = 'add' LIMIT 1",
        )?;
        let mut rows = ask.query((table, row))?;
        rows.next()?.map(stamp).transpose()
    }

    fn step_lines(self, batch: BatchId, lines: &mut Vec<LedgerLine>) -> Result<()> {
        let steps = self.steps(batch)?;
        let settings = self.step_settings(batch)?;
        for step in &steps {
            let last = settings
                .iter()
                .rev()
                .find(|(row, column, ..)| *row == step.id.0 && column == "status_ms")
                .map(|(_, _, _, stamp)| *stamp);
            let (id, title) = (step.id, step.rule.title.clone());
            match &step.status {
                StepStatus::Open => {}
                StepStatus::Done { at } => lines.push(stands(
                    *at,
                    last,
                    LedgerEntry::StepDone {
                        step: id,
                        kind: step.rule.kind,
                        title,
                    },
                )),
                StepStatus::Skipped { at, reason } => lines.push(stands(
                    *at,
                    last,
                    LedgerEntry::StepSkipped {
                        step: id,
                        title,
                        reason: reason.clone(),
                    },
                )),
            }
        }
        for (row, column, new, stamp) in settings {
            let to = match &new {
                Value::Text(day) if column == "moved_to" => day.parse().ok(),
                _ => None,
            };
            if let Some(to) = to {
                let entry = LedgerEntry::StepMoved {
                    step: StepId(row),
                    title: title_of(&steps, row),
                    to,
                };
                lines.push(stands(stamp.at, Some(stamp), entry));
            }
        }
        Ok(())
    }

    /// What stands of marking and moving a batch's steps, the oldest first.
    fn step_settings(self, batch: BatchId) -> Result<Vec<(i64, String, Value, Stamp)>> {
        let mut ask = self.conn().prepare_cached(
            "SELECT l.row_id, c.id, c.at_ms, c.at_off, l.col, l.new FROM step s
             CROSS JOIN change_line l ON l.tbl = 'step' AND l.row_id = s.id AND l.what = 'set'
             CROSS JOIN change c ON c.id = l.change
             WHERE s.batch = ?1 AND c.state = ?2 AND l.col IN ('status_ms', 'moved_to')
             ORDER BY c.id, l.seq",
        )?;
        let mut rows = ask.query((batch.0, ChangeState::Done.word()))?;
        let mut all = Vec::new();
        while let Some(row) = rows.next()? {
            all.push((row.get(0)?, row.get(4)?, row.get(5)?, stamp(row)?));
        }
        Ok(all)
    }

    fn cellar_lines(self, batch: BatchId, lines: &mut Vec<LedgerLine>) -> Result<()> {
        let stamps = self.stamps("lot", batch)?;
        for lot in self.lots(batch)? {
            for draw in self.draws(lot.id)? {
                let stamp = self.added_by("draw", draw.id.0)?;
                lines.push(stands(draw.at, stamp, LedgerEntry::Drawn(draw)));
            }
            let stamp = stamps.get(&lot.id.0).copied();
            lines.push(stands(lot.bottled, stamp, LedgerEntry::Filled(lot)));
        }
        let stamps = self.stamps("tasting", batch)?;
        for tasting in self.tastings(batch)? {
            let stamp = stamps.get(&tasting.id.0).copied();
            lines.push(stands(tasting.at, stamp, LedgerEntry::Tasted(tasting)));
        }
        Ok(())
    }

    /// Changes of the batch's own facts that no other line tells.
    fn fact_lines(self, batch: BatchId, lines: &mut Vec<LedgerLine>) -> Result<()> {
        let mut ask = self.conn().prepare_cached(
            "SELECT DISTINCT l.row_id, c.id, c.at_ms, c.at_off, c.name FROM change_line l
             CROSS JOIN change c ON c.id = l.change
             WHERE l.tbl = 'batch' AND l.row_id = ?1 AND l.what = 'set' AND c.state = ?2
               AND l.col IN ('name', 'note', 'expected_fg')",
        )?;
        let mut rows = ask.query((batch.0, ChangeState::Done.word()))?;
        while let Some(row) = rows.next()? {
            let stamp = stamp(row)?;
            let name = row.get(4)?;
            lines.push(stands(stamp.at, Some(stamp), LedgerEntry::Changed { name }));
        }
        Ok(())
    }

    /// What was taken back: its readings and entries where they stood, else its name.
    fn undone_lines(self, batch: BatchId, lines: &mut Vec<LedgerLine>) -> Result<()> {
        let changes: Vec<Change> =
            self.some("batch = ?1 AND state <> 'done' ORDER BY id", [batch.0])?;
        for change in changes {
            let undone = change.undone.unwrap_or(change.at);
            let mut entries = Vec::new();
            for (table, row) in self.added_rows(change.id)? {
                match table.as_str() {
                    "reading" => {
                        let reading = Reading::read(&row).map_err(|e| e.at("reading", 0))?;
                        entries.push((reading.at, LedgerEntry::Reading(reading)));
                    }
                    "event" => {
                        let event = Event::read(&row).map_err(|e| e.at("event", 0))?;
                        entries.push((event.at, LedgerEntry::Event(event)));
                    }
                    _ => {}
                }
            }
            if entries.is_empty() {
                let name = change.name.clone();
                entries.push((change.at, LedgerEntry::Changed { name }));
            }
            lines.extend(entries.into_iter().map(|(at, entry)| LedgerLine {
                at,
                entered: Some(change.at),
                change: Some(change.id),
                entry,
                fate: Fate::Undone { at: undone },
            }));
        }
        Ok(())
    }

    /// The readings and entries that a change added, put together from its lines.
    fn added_rows(self, change: ChangeId) -> Result<Vec<(String, Columns)>> {
        let mut ask = self.conn().prepare_cached(
            "SELECT tbl, row_id, col, new FROM change_line
             WHERE change = ?1 AND what = 'add' AND tbl IN ('reading', 'event') ORDER BY seq",
        )?;
        let mut rows = ask.query([change.0])?;
        let mut all: Vec<(String, Columns)> = Vec::new();
        while let Some(row) = rows.next()? {
            let (table, id): (String, i64) = (row.get(0)?, row.get(1)?);
            let id = Value::Integer(id);
            let same = all
                .last()
                .is_some_and(|(t, c)| *t == table && c.get("id") == Some(&id));
            if !same {
                all.push((table, Columns::from([("id".to_owned(), id)])));
            }
            if let Some((_, columns)) = all.last_mut() {
                columns.insert(row.get(2)?, row.get(3)?);
            }
        }
        Ok(all)
    }
}

fn title_of(steps: &[Step], row: i64) -> String {
    steps
        .iter()
        .find(|s| s.id.0 == row)
        .map(|s| s.rule.title.clone())
        .unwrap_or_default()
}

/// The change in columns 1 to 3 of a row.
fn stamp(row: &rusqlite::Row<'_>) -> Result<Stamp> {
    let id = row.get(1)?;
    let at = Moment::from_stored(row.get(2)?, row.get(3)?)
        .ok_or_else(|| Odd("at_ms is no instant".to_owned()).at("change", id))?;
    Ok(Stamp {
        id: ChangeId(id),
        at,
    })
}

fn columns(row: &rusqlite::Row<'_>) -> Result<Columns> {
    let names = row.as_ref().column_names();
    let mut columns = Columns::with_capacity(names.len());
    for (i, name) in names.into_iter().enumerate() {
        columns.insert(name.to_owned(), row.get(i)?);
    }
    Ok(columns)
}
