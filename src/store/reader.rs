use super::cells::{Cells, Order, Record, int};
use super::error::Result;
use crate::domain::records::{
    Batch, BatchId, Change, ChangeState, Draw, Event, Lot, LotId, Reading, ReadingId, Settings,
    Stay, Step, Subject, Tasting, VesselId,
};
use crate::domain::units::Moment;
use rusqlite::{Connection, OptionalExtension, Params, params};

/// The questions the store answers, within or outside a transaction.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Reader<'c> {
    conn: &'c Connection,
}

impl<'c> Reader<'c> {
    pub(super) fn new(conn: &'c Connection) -> Self {
        Self { conn }
    }

    pub(super) fn conn(self) -> &'c Connection {
        self.conn
    }

    pub(crate) fn revision(self) -> Result<i64> {
        let mut ask = self
            .conn
            .prepare_cached("SELECT revision FROM state WHERE id = 1")?;
        Ok(ask.query_row([], |row| row.get(0))?)
    }

    /// When the last change was written. A damaged row tells no time.
    pub(super) fn last_entry(self) -> Result<Option<Moment>> {
        let mut ask = self
            .conn
            .prepare_cached("SELECT at_ms, at_off FROM change ORDER BY id DESC LIMIT 1")?;
        let mut rows = ask.query([])?;
        Ok(match rows.next()? {
            Some(row) => Moment::from_stored(row.get(0)?, row.get(1)?),
            None => None,
        })
    }

    /// The record with that row number.
    pub(crate) fn get<R: Record>(self, row: i64) -> Result<Option<R>> {
        Ok(self.some::<R>("id = ?1", [row])?.pop())
    }

    /// All records of a kind, by row number.
    pub(crate) fn all<R: Record>(self) -> Result<Vec<R>> {
        self.some("TRUE ORDER BY id", [])
    }

    /// The records that a condition picks. The condition is ours, never outside text.
    pub(super) fn some<R: Record>(self, condition: &str, params: impl Params) -> Result<Vec<R>> {
        let sql = format!("SELECT * FROM {} WHERE {condition}", R::TABLE);
        let mut ask = self.conn.prepare_cached(&sql)?;
        let mut rows = ask.query(params)?;
        let mut records = Vec::new();
        let mut order = None;
        while let Some(row) = rows.next()? {
            let order = order.get_or_insert_with(|| Order::of(row));
            records.push(read(&order.on(row))?);
        }
        Ok(records)
    }

    pub(super) fn one<T: rusqlite::types::FromSql>(
        self,
        sql: &str,
        params: impl Params,
    ) -> Result<Option<T>> {
        let mut ask = self.conn.prepare_cached(sql)?;
        Ok(ask.query_row(params, |row| row.get(0)).optional()?)
    }

    pub(crate) fn settings(self) -> Result<Option<Settings>> {
        self.get(1)
    }

    /// Stays of a batch, oldest first.
    pub(crate) fn stays(self, batch: BatchId) -> Result<Vec<Stay>> {
        self.some("batch = ?1 ORDER BY from_ms, id", [batch.0])
    }

    /// Stays of a batch that have not ended.
    pub(crate) fn open_stays(self, batch: BatchId) -> Result<Vec<Stay>> {
        self.some("batch = ?1 AND to_ms IS NULL ORDER BY id", [batch.0])
    }

    /// What lies in a vessel now.
    pub(crate) fn open_stay_in(self, vessel: VesselId) -> Result<Option<Stay>> {
        Ok(self
            .some("vessel = ?1 AND to_ms IS NULL", [vessel.0])?
            .pop())
    }

    /// What lay in a vessel then.
    pub(crate) fn stay_at(self, vessel: VesselId, at: Moment) -> Result<Option<Stay>> {
        Ok(self
            .some(
                "vessel = ?1 AND from_ms <= ?2 AND (to_ms IS NULL OR to_ms > ?2) ORDER BY from_ms",
                [vessel.0, at.utc_ms()],
            )?
            .pop())
    }

    /// The first stay in a vessel that began after an instant.
    pub(crate) fn next_stay(self, vessel: VesselId, at: Moment) -> Result<Option<Stay>> {
        Ok(self
            .some(
                "vessel = ?1 AND from_ms > ?2 ORDER BY from_ms LIMIT 1",
                [vessel.0, at.utc_ms()],
            )?
            .pop())
    }

    /// The last stay in a vessel that ended after an instant, or has not ended.
    pub(crate) fn stay_ending_after(self, vessel: VesselId, at: Moment) -> Result<Option<Stay>> {
        Ok(self
            .some(
                "vessel = ?1 AND (to_ms IS NULL OR to_ms > ?2) ORDER BY from_ms",
                [vessel.0, at.utc_ms()],
            )?
            .pop())
    }

    /// The stay in the same vessel before a stay.
    pub(crate) fn stay_before(self, stay: &Stay) -> Result<Option<Stay>> {
        Ok(self
            .some(
                "vessel = ?1 AND id <> ?2 AND from_ms <= ?3 ORDER BY from_ms, id",
                [stay.vessel.0, stay.id.0, stay.from.utc_ms()],
            )?
            .pop())
    }

    /// The first reading of the drink in a vessel at or after an instant.
    pub(crate) fn reading_from(self, vessel: VesselId, at: Moment) -> Result<Option<Reading>> {
        Ok(self
            .some(
                "vessel = ?1 AND at_ms >= ?2 AND kind <> 'temperature' AND removed_ms IS NULL
                 ORDER BY at_ms LIMIT 1",
                [vessel.0, at.utc_ms()],
            )?
            .pop())
    }

    /// The last stay in a vessel.
    pub(crate) fn last_stay(self, vessel: VesselId) -> Result<Option<Stay>> {
        Ok(self
            .some(
                "vessel = ?1 ORDER BY from_ms DESC, id DESC LIMIT 1",
                [vessel.0],
            )?
            .pop())
    }

    /// Whether a reading was taken off the list.
    pub(crate) fn is_removed(self, reading: ReadingId) -> Result<bool> {
        Ok(self
            .one(
                "SELECT removed_ms IS NOT NULL FROM reading WHERE id = ?1",
                [reading.0],
            )?
            .unwrap_or(false))
    }

    /// Whether that very reading is kept already: same thing, instant, value and source.
    pub(crate) fn same_reading(self, r: &Reading) -> Result<bool> {
        let (column, of) = match r.subject {
            Subject::Vessel(v) => ("vessel", v.0),
            Subject::Place(p) => ("place", p.0),
        };
        let sql = format!(
            "SELECT EXISTS (SELECT 1 FROM reading WHERE {column} = ?1 AND at_ms = ?2 AND kind = ?3
             AND value = ?4 AND unit = ?5 AND source = ?6)"
        );
        let params = params![
            of,
            r.at.utc_ms(),
            r.seen.kind().word(),
            r.seen.value(),
            r.seen.unit().word(),
            r.source
        ];
        Ok(self.one(&sql, params)?.unwrap_or(false))
    }

    /// Steps of a batch, in order.
    pub(crate) fn steps(self, batch: BatchId) -> Result<Vec<Step>> {
        // Sorted here: SQLite would copy the rows for it.
        let mut steps: Vec<Step> = self.some("batch = ?1", [batch.0])?;
        steps.sort_by_key(|s| (s.rule.order, s.id));
        Ok(steps)
    }

    /// Entries of a batch, oldest first.
    pub(crate) fn events(self, batch: BatchId) -> Result<Vec<Event>> {
        self.some("batch = ?1 ORDER BY at_ms, id", [batch.0])
    }

    /// Bottles of a batch.
    pub(crate) fn lots(self, batch: BatchId) -> Result<Vec<Lot>> {
        self.some("batch = ?1 ORDER BY id", [batch.0])
    }

    /// What left a lot, oldest first.
    pub(crate) fn draws(self, lot: LotId) -> Result<Vec<Draw>> {
        self.some("lot = ?1 ORDER BY at_ms, id", [lot.0])
    }

    /// How the drink of a batch tasted, oldest first.
    pub(crate) fn tastings(self, batch: BatchId) -> Result<Vec<Tasting>> {
        self.some("batch = ?1 ORDER BY at_ms, id", [batch.0])
    }

    /// Batches by when they began, newest first.
    pub(crate) fn batches(self) -> Result<Vec<Batch>> {
        self.some(
            "TRUE ORDER BY coalesce(pitched_ms, created_ms) DESC, id DESC",
            [],
        )
    }

    /// How many bottles a lot still holds.
    pub(crate) fn left_in(self, lot: &Lot) -> Result<i64> {
        let gone: Option<i64> = self
            .one("SELECT sum(count) FROM draw WHERE lot = ?1", [lot.id.0])
            .map(Option::flatten)?;
        Ok(i64::from(lot.count).saturating_sub(gone.unwrap_or(0)))
    }

    /// The change that undo would take back.
    pub(crate) fn undoable(self) -> Result<Option<Change>> {
        Ok(self
            .some(
                "state = ?1 ORDER BY id DESC LIMIT 1",
                [ChangeState::Done.word()],
            )?
            .pop())
    }

    /// The change that redo would bring again.
    pub(crate) fn redoable(self) -> Result<Option<Change>> {
        Ok(self
            .some(
                "state = ?1 ORDER BY id LIMIT 1",
                [ChangeState::Undone.word()],
            )?
            .pop())
    }
}

/// A record from a row; an odd one says where it stands.
pub(super) fn read<R: Record>(row: &impl Cells) -> Result<R> {
    R::read(row).map_err(|odd| odd.at(R::TABLE, id_of(row)))
}

fn id_of(row: &impl Cells) -> i64 {
    int(row, "id").unwrap_or(0)
}
