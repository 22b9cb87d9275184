//! Reading what can be read of a damaged store.

use super::cells::Record;
use super::error::{Doing, Result};
use super::{Reader, Store};
use crate::domain::plan::KeptPlan;
use crate::domain::records::{
    Away, Batch, Draw, Event, Instrument, Lot, PantryDraw, PantryItem, Place, Reading, Room,
    Settings, Stay, Step, Tasting, Tick, Vessel,
};
use serde::Serialize;

/// All records that could be read, and what could not.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Salvage {
    /// Choices; none where there are none or they are lost.
    pub settings: Vec<Settings>,
    /// Places.
    pub places: Vec<Place>,
    /// Vessels.
    pub vessels: Vec<Vessel>,
    /// Instruments.
    pub instruments: Vec<Instrument>,
    /// Batches.
    pub batches: Vec<Batch>,
    /// Where they lay.
    pub stays: Vec<Stay>,
    /// Readings, also those that were removed.
    pub readings: Vec<Reading>,
    /// Steps.
    pub steps: Vec<Step>,
    /// Ledger entries.
    pub events: Vec<Event>,
    /// Bottles.
    pub lots: Vec<Lot>,
    /// Bottles that left.
    pub draws: Vec<Draw>,
    /// Tastings.
    pub tastings: Vec<Tasting>,
    /// The pantry.
    pub pantry: Vec<PantryItem>,
    /// What was taken out of the pantry.
    pub pantry_draws: Vec<PantryDraw>,
    /// Plans of batches; left out of JSON, since a plan has a file format of its own.
    #[serde(skip)]
    pub plans: Vec<KeptPlan>,
    /// Lines of checklists that were ticked.
    pub ticks: Vec<Tick>,
    /// Days away.
    pub away: Vec<Away>,
    /// Sizes of places.
    pub rooms: Vec<Room>,
    /// What could not be read: one sentence each.
    pub lost: Vec<String>,
}

impl Store {
    /// Reads every record that can be read and says what cannot. Of a sound
    /// store that is all of it; logger samples are not among it.
    pub fn salvage(&self) -> Result<Salvage> {
        let tx = self.conn.unchecked_transaction().doing("salvaging")?;
        let reader = Reader::new(&tx);
        let mut lost = Vec::new();
        Ok(Salvage {
            settings: readable(reader, &mut lost),
            places: readable(reader, &mut lost),
            vessels: readable(reader, &mut lost),
            instruments: readable(reader, &mut lost),
            batches: readable(reader, &mut lost),
            stays: readable(reader, &mut lost),
            readings: readable(reader, &mut lost),
            steps: readable(reader, &mut lost),
            events: readable(reader, &mut lost),
            lots: readable(reader, &mut lost),
            draws: readable(reader, &mut lost),
            tastings: readable(reader, &mut lost),
            pantry: readable(reader, &mut lost),
            pantry_draws: readable(reader, &mut lost),
            plans: plans(reader, &mut lost),
            ticks: readable(reader, &mut lost),
            away: readable(reader, &mut lost),
            rooms: readable(reader, &mut lost),
            lost,
        })
    }
}

/// The plans of the batches that can be read.
fn plans(reader: Reader<'_>, lost: &mut Vec<String>) -> Vec<KeptPlan> {
    let mut plans = Vec::new();
    for batch in readable::<Batch>(reader, &mut Vec::new()) {
        match reader.plan_of(&batch) {
            Ok(Some(plan)) => plans.push(KeptPlan {
                batch: batch.id,
                plan,
            }),
            Ok(None) => {}
            Err(why) => lost.push(format!("the plan of '{}': {why}", batch.name)),
        }
    }
    plans
}

/// Rows of a table from its beginning until a page cannot be read, then from its
/// end back to that page.
fn readable<R: Record>(reader: Reader<'_>, lost: &mut Vec<String>) -> Vec<R> {
    let mut rows: Vec<(i64, R)> = Vec::new();
    let Err(why) = walk(reader, "ASC", &mut rows, lost) else {
        return rows.into_iter().map(|(_, record)| record).collect();
    };
    lost.push(format!("a part of table {}: {why}", R::TABLE));
    let mut back = Vec::new();
    // The second reading stops at the same page; it has been told.
    let _ = walk(reader, "DESC", &mut back, lost);
    let last = rows.last().map_or(i64::MIN, |(id, _)| *id);
    rows.extend(back.into_iter().rev().filter(|(id, _)| *id > last));
    rows.into_iter().map(|(_, record)| record).collect()
}

fn walk<R: Record>(
    reader: Reader<'_>,
    order: &str,
    rows: &mut Vec<(i64, R)>,
    lost: &mut Vec<String>,
) -> Result<()> {
    // By the table itself: an index may be sound where the table is not.
    let sql = format!("SELECT * FROM {} NOT INDEXED ORDER BY id {order}", R::TABLE);
    let mut ask = reader.conn().prepare(&sql)?;
    let mut found = ask.query([])?;
    while let Some(row) = found.next()? {
        let id = row.get("id")?;
        match super::reader::read(row) {
            Ok(record) => rows.push((id, record)),
            Err(odd) => lost.push(odd.to_string()),
        }
    }
    Ok(())
}
