//! A copy of the store for each day on which it changed, and the one check before the
//! first write of a process.

use super::backup::{Origin, Pages, backups, own};
use super::error::{Cause, Doing, Result, StoreError};
use super::keep::Rule;
use super::{Store, samples};
use crate::domain::units::Moment;
use chrono::NaiveDate;
use std::path::{Path, PathBuf};

/// Where the day's copies go, and who is told that one can't be made.
#[derive(Debug)]
pub(super) struct Copies {
    folder: PathBuf,
    tell: fn(&StoreError),
    /// The last day on which one was made, found or tried.
    seen_to: Option<NaiveDate>,
}

impl Store {
    /// Has each first write of a day make the copy of that day in a folder. Where it
    /// can't be made, `tell` hears why, and the write goes on.
    #[must_use]
    pub fn backing_up_to(mut self, folder: PathBuf, tell: fn(&StoreError)) -> Self {
        self.copies = Some(Copies {
            folder,
            tell,
            seen_to: None,
        });
        self
    }

    /// Whether this store is fit to be written, asked before the first write of a
    /// process; then the day's copy. Every way to write comes through here.
    pub fn prepare(&mut self, now: Moment) -> Result<()> {
        self.refuse_unfit()?;
        let Some(mut copies) = self.copies.take() else {
            return Ok(());
        };
        let mut done = Ok(());
        if copies.seen_to != Some(now.day()) {
            copies.seen_to = Some(now.day());
            match self.daily_copy(&copies.folder, now) {
                // The copy shows damage where the check does not look.
                Err(error) if matches!(error.cause, Cause::Damaged(_)) => {
                    copies.seen_to = None;
                    done = Err(error);
                }
                Err(error) => (copies.tell)(&error),
                Ok(_) => {}
            }
        }
        self.copies = Some(copies);
        done
    }

    /// Logger data is left out: it may be a thousand times the rest. The day's copy is
    /// checked whole.
    pub(super) fn refuse_unfit(&self) -> Result<()> {
        if let Some(reading) = &self.reading {
            return Err(reading.why());
        }
        if !self.fit.get() {
            self.check_pages(&samples::TABLES)?;
            self.fit.set(true);
        }
        Ok(())
    }

    /// Makes today's copy when the store changed since the last one and there is none
    /// of today yet; then removes those that are old enough. Returns the path of a new
    /// copy.
    pub fn daily_copy(&self, folder: &Path, now: Moment) -> Result<Option<PathBuf>> {
        if !self.is_copy_due(folder, now)? {
            return Ok(None);
        }
        let doing = format!("backing up to {}", folder.display());
        let pages = self.copy_pages(folder, now, None).doing(&doing)?;
        pages.map(Pages::finish).transpose().doing(&doing)
    }

    /// Whether there is a copy of today to be made.
    pub fn is_copy_due(&self, folder: &Path, now: Moment) -> Result<bool> {
        let changes = self.changes(2)?;
        let Some(last_change) = changes.first().map(|c| c.at) else {
            return Ok(false);
        };
        // With the clock set back meanwhile, the last change bears an earlier time
        // than the one before it.
        let set_back = changes.get(1).is_some_and(|c| c.at > last_change);
        let local = |at: Moment| at.datetime().naive_local();
        let today = local(now).date();
        let origin = Origin::of(&self.conn)?;
        // A copy from the future was dated by a wrong clock: it holds up no other. One
        // of another store is not this one's.
        let last_copy = backups(folder)?
            .into_iter()
            .rev()
            .filter(|b| b.at.date() <= today)
            .find(|b| own(&b.path, origin.as_ref()))
            .map(|b| b.at);
        Ok(last_copy
            .is_none_or(|copy| copy.date() < today && (set_back || copy < local(last_change))))
    }

    /// Removes the copies of this store that the rule no longer wants; returns their
    /// paths. Copies of another store stay.
    pub fn thin_out(&self, folder: &Path, now: Moment, rule: Rule) -> Result<Vec<PathBuf>> {
        super::backup::thin_out(folder, now, rule, Origin::of(&self.conn)?.as_ref())
    }
}
