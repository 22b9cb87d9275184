//! What was learned of ended batches, kept so that it is worked out once.

use super::cells::Order;
use super::error::{Doing, Result};
use super::rows::lessons::read;
use super::{Reader, Store, household, seal};
use crate::domain::records::{BatchId, Dossier, Stage, Style};
use crate::domain::units::{Celsius, Gravity, Moment};
use rusqlite::{Transaction, params};

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
pub(super) const MADE_BY: &str = env!("SKEP_SUMS");

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

    /// Keeps lessons for the next time, where that can be done.
    pub fn keep_lessons(&self, lessons: &[Lesson], revision: i64) {
        if !lessons.is_empty() {
            self.keep_worked_out(revision, |tx| put(tx, lessons));
        }
    }
}

fn put(tx: &Transaction<'_>, lessons: &[Lesson]) -> Result<()> {
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
        seal::row(tx, seal::LESSON, l.batch.0)?;
    }
    Ok(())
}

impl Reader<'_> {
    pub(super) fn lessons(self, now: Moment) -> Result<Lessons> {
        let ended = [Stage::Bottled.word(), Stage::Closed.word()];
        let (mut known, mut without) = (Vec::new(), Vec::new());
        let mut ask = self.conn().prepare_cached(
            "SELECT b.id AS ended, l.* FROM batch b
             LEFT JOIN lesson l ON l.batch = b.id AND l.made_by = ?3
             WHERE b.stage IN (?1, ?2) ORDER BY b.id",
        )?;
        let mut rows = ask.query([ended[0], ended[1], MADE_BY])?;
        let mut order = None;
        while let Some(row) = rows.next()? {
            let order = order.get_or_insert_with(|| Order::of(row));
            match read(&order.on(row)) {
                Ok(lesson) if seal::holds(self.conn(), seal::LESSON, lesson.batch.0)? => {
                    known.push(lesson);
                }
                // There is none, or none that can be believed: it is worked out, and kept then.
                _ => without.push(row.get("ended")?),
            }
        }
        let mut new = Vec::new();
        for batch in without {
            if let Some(batch) = self.get(batch)? {
                new.push(household::ended(self, batch, now)?);
            }
        }
        Ok(Lessons {
            known,
            new,
            revision: self.revision()?,
        })
    }
}
