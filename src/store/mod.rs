//! All SQL lives here, and nothing else does.
//!
//! A [`Store`] is one SQLite file. Everything a maker does is written as one
//! named change, with what each column was before, in the same transaction as
//! the data (`changes`); undo, redo and the ledger read that list. Dense logger
//! data goes apart (`samples`).

mod archive;
mod backup;
mod cells;
mod changes;
mod check;
mod dossiers;
mod error;
mod household;
pub mod keep;
mod ledger;
mod lessons;
mod lists;
mod open;
mod planning;
mod plans;
mod reader;
mod register;
mod rows;
mod salvage;
mod samples;
mod undo;

pub use archive::archive_schema;
pub use backup::{BackupFile, Restored, backups, restore, thin_out, verify_file};
pub use check::Finding;
pub use error::{Cause, Result, StoreError};
pub use lessons::{Course, Lesson, Lessons};
pub use lists::Shelved;
pub use open::{Migrated, SCHEMA};

pub use samples::{Bucket, Intake, Sample, Thinned};

pub(crate) use changes::{Named, Writer};
pub(crate) use error::Doing;
pub(crate) use reader::Reader;
pub(crate) use rows::Standing;
pub(crate) use rows::planning::{FoodRow, PartRow, PlanRow};

use rusqlite::Connection;
use std::path::{Path, PathBuf};

/// An open store.
#[derive(Debug)]
pub struct Store {
    conn: Connection,
    path: Option<PathBuf>,
    /// Which file it is, whatever lies under its name later.
    file: Option<open::FileId>,
    migrated: Option<Migrated>,
}

impl Store {
    /// Where the file lies; none for a store in memory.
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// What opening had to migrate, and where the copy made before lies.
    pub fn migrated(&self) -> Option<&Migrated> {
        self.migrated.as_ref()
    }

    /// Number of the last write of any kind, by any program.
    pub fn revision(&self) -> Result<i64> {
        self.still_there().doing("asking for news")?;
        self.read().revision().doing("asking for news")
    }

    /// The questions the store answers.
    pub(crate) fn read(&self) -> Reader<'_> {
        Reader::new(&self.conn)
    }
}
