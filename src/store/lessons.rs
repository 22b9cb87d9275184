//! What was learned of ended batches, kept so that it is worked out once.

use super::cells::Order;
use super::error::{Doing, Result};
use super::rows::lessons::read;
use super::{Reader, SCHEMA, Store, household, open};
use crate::domain::records::{Batch, BatchId, Dossier, Stage, Style};
use crate::domain::units::{Celsius, Gravity, Moment};
use rusqlite::{Transaction, TransactionBehavior, params};
use std::time::Duration;

/// What is learned of one ended batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Lesson {
    /// The batch.
    pub batch: BatchId,
    /// When it ended.
    pub until: Moment,
    /// Family.
    pub style: Style,
    /// Key of its yeast class.
    pub yeast: Option<String>,
    /// Name of the place it stood in.
    pub place: Option<String>,
    /// Final gravity as planned.
    pub expected_fg: Option<Gravity>,
    /// How it went; none where that cannot be told.
    pub course: Option<Course>,
}

/// How a ferment went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Course {
    /// Original gravity as measured.
    pub og: Gravity,
    /// Gravity at the end.
    pub fg: Gravity,
    /// Days from pitching to the end of its fall.
    pub days: f64,
    /// Mean temperature.
    pub temperature: Option<Celsius>,
    /// It was given up far above its end.
    pub stuck: bool,
}

/// The number of the sums that made a lesson: others work it out anew.
const MADE_BY: &str = env!("SKEP_SUMS");

/// Lessons kept, and the ended batches that have none yet.
#[derive(Debug, Default)]
pub struct Lessons {
    /// Kept ones, in order of their batches.
    pub known: Vec<Lesson>,
    /// Batches to be learned from, with where they lay, readings and
    /// temperatures. Without steps, other entries and bottles.
    pub new: Vec<Dossier>,
    /// The revision they were read at.
    pub revision: i64,
}

impl Store {
    /// The lessons of all ended batches.
    pub fn lessons(&self, now: Moment) -> Result<Lessons> {
        let doing = "reading what ended batches teach";
        let tx = self.conn.unchecked_transaction().doing(doing)?;
        Reader::new(&tx).lessons(now).doing(doing)
    }

    /// Keeps lessons for the next time. They can be worked out again: where the
    /// store is busy, was changed since, or cannot be written, nothing is kept.
    pub fn keep_lessons(&self, lessons: &[Lesson], revision: i64) {
        if lessons.is_empty() || self.conn.busy_timeout(Duration::ZERO).is_err() {
            return;
        }
        // A copy that failed is a lesson to be worked out once more.
        let _ = self.try_to_keep(lessons, revision);
        let _ = self.conn.busy_timeout(open::BUSY);
    }

    fn try_to_keep(&self, lessons: &[Lesson], revision: i64) -> Result<()> {
        let tx = Transaction::new_unchecked(&self.conn, TransactionBehavior::Immediate)?;
        if open::user_version(&tx)? != SCHEMA || Reader::new(&tx).revision()? != revision {
            return Ok(());
        }
        let mut put = tx.prepare_cached(
            "INSERT OR REPLACE INTO lesson (batch, until_ms, made_by, og, fg, days, celsius, stuck,
             style, yeast, place, expected_fg)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
        )?;
        for l in lessons {
            let course = l.course.as_ref();
            put.execute(params![
                l.batch.0,
                l.until.utc_ms(),
                MADE_BY,
                course.map(|c| c.og.get()),
                course.map(|c| c.fg.get()),
                course.map(|c| c.days),
                course.and_then(|c| c.temperature).map(Celsius::get),
                course.map(|c| c.stuck),
                l.style.word(),
                l.yeast,
                l.place,
                l.expected_fg.map(Gravity::get),
            ])?;
        }
        drop(put);
        Ok(tx.commit()?)
    }
}

impl Reader<'_> {
    fn lessons(self, now: Moment) -> Result<Lessons> {
        let ended = [Stage::Bottled.word(), Stage::Closed.word()];
        let mut known = Vec::new();
        let mut ask = self.conn().prepare_cached(
            "SELECT l.* FROM batch b JOIN lesson l ON l.batch = b.id
             WHERE b.stage IN (?1, ?2) AND l.made_by = ?3 ORDER BY b.id",
        )?;
        let mut rows = ask.query([ended[0], ended[1], MADE_BY])?;
        let mut unreadable = Vec::new();
        let mut order = None;
        while let Some(row) = rows.next()? {
            let order = order.get_or_insert_with(|| Order::of(row));
            match read(&order.on(row)) {
                Ok(lesson) => known.push(lesson),
                Err(_) => unreadable.push(row.get("batch")?),
            }
        }
        let mut new: Vec<Batch> = self.some(
            "stage IN (?1, ?2) AND NOT EXISTS
             (SELECT 1 FROM lesson WHERE lesson.batch = batch.id AND made_by = ?3) ORDER BY id",
            [ended[0], ended[1], MADE_BY],
        )?;
        // It is worked out again, and then written over.
        for batch in unreadable {
            new.extend(self.get(batch)?);
        }
        let new = new
            .into_iter()
            .map(|batch| household::ended(self, batch, now))
            .collect::<Result<_>>()?;
        Ok(Lessons {
            known,
            new,
            revision: self.revision()?,
        })
    }
}
