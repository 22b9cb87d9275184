//! What was said of bottles, kept from one run to the next.

use crate::domain::records::Household;
use crate::domain::units::{Moment, Zone};
use crate::engine::{History, Memory, Morning, morning_by};
use crate::files::cache;
use std::path::PathBuf;

/// Answers of the engine with the file that they are kept in.
#[derive(Debug, Default)]
pub struct Answers {
    file: Option<PathBuf>,
    memory: Memory,
}

impl Answers {
    /// From that file, where there is one; without a file nothing is kept.
    pub fn of(file: Option<PathBuf>) -> Self {
        let bytes = file.as_deref().and_then(cache::get);
        Self {
            memory: bytes.as_deref().map_or_else(Memory::default, Memory::of),
            file,
        }
    }

    /// The morning of a household, in a time zone.
    pub fn morning(&self, household: &Household, history: &History, at: (Moment, Zone)) -> Morning {
        morning_by(household, history, at, &self.memory)
    }

    /// Keeps what was said for the next run, where that can be done and is not
    /// what was kept before.
    pub fn keep(&mut self) {
        if let Some(bytes) = self.memory.to_keep()
            && let Some(file) = &self.file
        {
            // Not kept, it is worked out once more.
            let _ = cache::put(file, &bytes);
        }
    }
}
