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
mod daily;
mod door;
mod dossiers;
mod error;
mod household;
pub mod keep;
mod ledger;
mod leftovers;
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
mod scratch;
mod seal;
mod undo;

pub use archive::archive_schema;
pub use backup::{
    BackupFile, Pages, Restored, backup_folder, backups, copies, first_whole, restore, verify_file,
};
pub use check::Finding;
pub use error::{Cause, Result, StoreError};
pub use lessons::{Course, Lesson, Lessons};
pub use lists::Shelved;
pub use open::{Migrated, SCHEMA};

pub use scratch::Scratch;

pub use samples::{Bucket, Intake, Sample, Thinned};

pub(crate) use changes::{Named, Writer};
pub(crate) use error::Doing;
pub(crate) use reader::Reader;
pub(crate) use rows::Standing;
pub(crate) use rows::planning::{FoodRow, PartRow, PlanRow};

use rusqlite::Connection;
use std::cell::Cell;
use std::path::{Path, PathBuf};

/// An open store.
#[derive(Debug)]
pub struct Store {
    // Dropped in this order: the connection first, its folder last.
    conn: Connection,
    /// Which file it is; none in memory.
    seat: Option<door::Seat>,
    path: Option<PathBuf>,
    migrated: Option<Migrated>,
    /// Set where the store can't be written and a copy of it is read.
    reading: Option<open::Reading>,
    copies: Option<daily::Copies>,
    /// Looked over, and found fit to be written.
    fit: Cell<bool>,
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
