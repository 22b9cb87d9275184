//! What the maker's own ended batches teach.

use super::WorkError;
use crate::domain::records::{Dossier, Household};
use crate::domain::units::Moment;
use crate::engine::{History, PastBatch, facts};
use crate::store::{Course, Lesson, Lessons, Store};

/// The ended ferments of a store, for the engine to learn from. Each is worked
/// out once; the store keeps what came of it until something of it changes.
pub fn learned(store: &Store, household: &Household, now: Moment) -> Result<History, WorkError> {
    Ok(taught(store, household, store.lessons(now)?, now))
}

/// The same by lessons that were read together with the household.
pub fn taught(store: &Store, household: &Household, found: Lessons, now: Moment) -> History {
    let new: Vec<Lesson> = found
        .new
        .iter()
        .filter_map(|dossier| lesson(household, dossier, now))
        .collect();
    store.keep_lessons(&new, found.revision);
    let ended = |l: &Lesson| l.until <= now;
    let mut all: Vec<Lesson> = found.known.into_iter().chain(new).filter(ended).collect();
    all.sort_by_key(|l| l.batch);
    History {
        batches: all.into_iter().filter_map(past).collect(),
    }
}

/// None for a batch that ends later than now.
fn lesson(household: &Household, dossier: &Dossier, now: Moment) -> Option<Lesson> {
    let batch = &dossier.batch;
    let until = batch.bottled.or(batch.closed).filter(|end| *end <= now)?;
    let past = facts::history(household, [dossier], now).batches.pop();
    let course = past.as_ref().map(|p| Course {
        og: p.og,
        fg: p.fg,
        days: p.days_to_finish,
        temperature: p.temperature,
        stuck: p.stuck,
    });
    Some(Lesson {
        batch: batch.id,
        until,
        style: batch.style,
        yeast: batch.yeast.clone(),
        place: past.and_then(|p| p.place),
        expected_fg: batch.expected_fg,
        course,
    })
}

fn past(lesson: Lesson) -> Option<PastBatch> {
    let course = lesson.course?;
    Some(PastBatch {
        style: facts::kind(lesson.style),
        yeast: lesson.yeast,
        place: lesson.place,
        og: course.og,
        expected_fg: lesson.expected_fg,
        fg: course.fg,
        days_to_finish: course.days,
        temperature: course.temperature,
        stuck: course.stuck,
    })
}
