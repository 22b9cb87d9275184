//! What planning needs besides the household.

use super::error::{Doing, Result};
use super::{FoodRow, PartRow, PlanRow, Reader, Store};
use crate::domain::plan::{
    Bottling, Feeding, KeptPlan, Locks, MadeBefore, Plan, Supplies, same_thing, wine_yeast,
};
use crate::domain::records::{
    Away, Batch, BatchId, PantryDraw, PantryItem, Room, Tick, YeastClass,
};
use chrono::Datelike;

impl Store {
    /// The pantry, plans, ticks, days away and sizes of places, at one moment.
    pub fn supplies(&self) -> Result<Supplies> {
        let tx = self.conn.unchecked_transaction()?;
        Reader::new(&tx)
            .supplies()
            .doing("reading what planning needs")
    }

    /// The plan of a batch, pitched ones too; none where it was not planned.
    pub fn plan(&self, batch: BatchId) -> Result<Option<Plan>> {
        let reader = self.read();
        let Some(batch) = reader.get::<Batch>(batch.0).doing("reading a batch")? else {
            return Ok(None);
        };
        reader.plan_of(&batch).doing("reading a plan")
    }
}

/// All that was pitched, with its volume.
fn made_before(batches: &[Batch]) -> Vec<MadeBefore> {
    batches
        .iter()
        .filter_map(|b| {
            Some(MadeBefore {
                style: b.style,
                year: b.pitched?.day().year(),
                volume: b.volume?,
            })
        })
        .collect()
}

impl Reader<'_> {
    fn supplies(self) -> Result<Supplies> {
        let batches: Vec<Batch> = self.all()?;
        let mut plans = Vec::new();
        for row in self.some::<PlanRow>(
            "batch IN (SELECT id FROM batch WHERE stage NOT IN ('bottled', 'closed')) ORDER BY batch",
            [],
        )? {
            if let Some(batch) = batches.iter().find(|b| b.id == row.batch) {
                let plan = self.plan_from(row, batch)?;
                plans.push(KeptPlan {
                    batch: batch.id,
                    plan,
                });
            }
        }
        Ok(Supplies {
            pantry: self.some::<PantryItem>("TRUE ORDER BY kind, name COLLATE NOCASE, id", [])?,
            draws: self.some::<PantryDraw>("TRUE ORDER BY at_ms, id", [])?,
            away: self.some::<Away>("dropped = 0 ORDER BY from_day, id", [])?,
            rooms: self.all::<Room>()?,
            plans,
            made: made_before(&batches),
            cellar: self.cellar_book(&batches)?,
            ticks: self.some::<Tick>(
                "at_ms IS NOT NULL AND batch IN
                 (SELECT id FROM batch WHERE stage NOT IN ('bottled', 'closed')) ORDER BY batch, id",
                [],
            )?,
        })
    }

    /// The row of a batch's plan.
    pub(crate) fn plan_row(self, batch: BatchId) -> Result<Option<PlanRow>> {
        Ok(self.some::<PlanRow>("batch = ?1", [batch.0])?.pop())
    }

    /// All parts that a batch's plan ever had, in order.
    pub(crate) fn plan_parts(self, batch: BatchId) -> Result<Vec<PartRow>> {
        self.some("batch = ?1 ORDER BY seq", [batch.0])
    }

    /// All nutrients that a batch's plan ever had, in order.
    pub(crate) fn plan_foods(self, batch: BatchId) -> Result<Vec<FoodRow>> {
        self.some("batch = ?1 ORDER BY seq", [batch.0])
    }

    /// The tick of a line, taken off or not.
    pub(crate) fn tick(self, batch: BatchId, line: &str) -> Result<Option<Tick>> {
        Ok(self
            .some::<Tick>("batch = ?1 AND line = ?2", rusqlite::params![batch.0, line])?
            .pop())
    }

    /// Lots of a thing in the pantry with something left, what goes stale
    /// first before the rest.
    pub(crate) fn lots_of(self, name: &str, unit: &str) -> Result<Vec<PantryItem>> {
        self.some(
            "unit = ?1 AND amount > 0 ORDER BY best_before IS NULL, best_before, id",
            [unit],
        )
        .map(|mut lots: Vec<PantryItem>| {
            lots.retain(|i| same_thing(&i.name, name));
            lots
        })
    }

    /// The size of a place, if it was said.
    pub(crate) fn room_of(self, place: crate::domain::records::PlaceId) -> Result<Option<Room>> {
        Ok(self.some::<Room>("place = ?1", [place.0])?.pop())
    }

    pub(super) fn plan_of(self, batch: &Batch) -> Result<Option<Plan>> {
        self.plan_row(batch.id)?
            .map(|row| self.plan_from(row, batch))
            .transpose()
    }

    fn plan_from(self, row: PlanRow, batch: &Batch) -> Result<Plan> {
        let parts = self.plan_parts(batch.id)?;
        let foods = self.plan_foods(batch.id)?;
        Ok(Plan {
            name: batch.name.clone(),
            style: batch.style,
            variety: batch.variety.clone(),
            fizz: batch.fizz,
            vessel: row.vessel,
            volume: row.volume,
            aim: row.aim,
            locks: Locks {
                volume: row.lock_volume,
                aim: row.lock_aim,
            },
            parts: parts
                .into_iter()
                .filter(|p| !p.dropped)
                .map(|p| p.part)
                .collect(),
            filler: row.filler,
            yeast: YeastClass {
                key: batch.yeast.clone().unwrap_or_default(),
                title: row.yeast_title,
                styles: vec![batch.style],
                band: batch.band.unwrap_or(wine_yeast().band),
                tolerance: batch.tolerance.unwrap_or(wine_yeast().tolerance),
                attenuation: row.attenuation,
                demand: row.demand,
                source: row.yeast_source,
            },
            feeding: Feeding {
                foods: foods
                    .into_iter()
                    .filter(|f| !f.dropped)
                    .map(|f| f.food)
                    .collect(),
                portions: row.portions,
            },
            bottling: Bottling {
                size: row.bottle,
                loss: row.loss,
                price: row.bottle_price,
            },
            routine: batch.routine.clone().unwrap_or_default(),
            pitch_on: batch.planned_day,
            feast_on: row.feast_on,
            note: batch.note.clone(),
        })
    }
}
