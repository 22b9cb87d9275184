//! What every verb needs: where the store is, what time it is, where to write.

use super::exits::Exit;
use super::paths::Paths;
use super::report::json::{DeedJson, Report};
use super::trouble::Trouble;
use crate::app::say;
use crate::clock;
use crate::domain::deeds::Deed;
use crate::domain::records::{Household, clock_behind};
use crate::domain::slip::SlipContext;
use crate::domain::text::{is_order, safe};
use crate::domain::units::{Moment, Zone};
use crate::files;
use crate::store::{self, Store, StoreError};
use crate::work::{self, Receipt, WorkError};
use serde::Serialize;
use std::io::{self, Write};
use std::path::Path;

/// One run of skep from the shell.
pub(super) struct Shell<'a> {
    pub(super) paths: Paths,
    pub(super) now: Moment,
    pub(super) zone: Zone,
    pub(super) json: bool,
    /// A new store is wanted, although copies of another one are left.
    pub(super) new_store: bool,
    pub(super) out: &'a mut dyn Write,
    /// What this run has saved so far, in a sentence.
    pub(super) saved: Option<String>,
}

impl<'a> Shell<'a> {
    /// With the clock and zone of this machine.
    pub(super) fn new(
        store: Option<&Path>,
        json: bool,
        out: &'a mut dyn Write,
    ) -> Result<Self, Trouble> {
        Ok(Self {
            paths: Paths::find(store)?,
            now: clock::now(),
            zone: clock::zone(),
            json,
            new_store: false,
            out,
            saved: None,
        })
    }

    /// Lays the maker's own ingredients over the built-in ones.
    pub(super) fn use_own_ingredients(&self) {
        if let Some(problem) = files::ingredients::use_own(&self.paths.ingredients()) {
            let said = format!("{problem}; the built-in ingredients count");
            let _ = writeln!(io::stderr(), "skep: {}", safe(&said));
        }
    }

    /// The grammar's context for a vessel.
    pub(super) fn context(&self) -> SlipContext {
        SlipContext {
            zone: self.zone,
            place: None,
        }
    }

    /// The store; one that is not there yet is not made for a look.
    pub(super) fn open(&self) -> Result<Store, Trouble> {
        let path = &self.paths.store;
        // Where it cannot be looked at, or its journal lies there alone, opening says so.
        let nothing = path.try_exists().is_ok_and(|there| !there);
        let lost = || store::copies(path, self.now).is_ok_and(|copies| !copies.is_empty());
        if nothing && !path.with_file_name(beside(path, "-wal")).exists() && !lost() {
            return Err(Trouble::store(format!(
                "there is no store at {} yet; run skep for a first tour, add a place and a vessel \
                 (skep places add closet, skep vessels add J1 jug 1gal), or look around with skep demo",
                self.paths.store.display()
            )));
        }
        let store = self.open_or_make()?;
        // What cannot be read is told by the verb itself.
        let last = store.last_entry().unwrap_or(None);
        if let Some(last) = clock_behind(last, self.now) {
            let _ = writeln!(io::stderr(), "skep: {}", say::clock_behind(last, self.now));
        }
        Ok(store)
    }

    /// The store, made when it is not there yet.
    pub(super) fn open_or_make(&self) -> Result<Store, Trouble> {
        let opened = if self.new_store {
            Store::open_anew(&self.paths.store, self.now)
        } else {
            Store::open(&self.paths.store, self.now)
        };
        let copies = self.paths.backups();
        Ok(opened
            .map_err(Trouble::store)?
            .backing_up_to(copies, no_copy))
    }

    /// Store and what is in it.
    pub(super) fn load(&self) -> Result<(Store, Household), Trouble> {
        let store = self.open()?;
        let household = store.household(self.now).map_err(Trouble::store)?;
        Ok((store, household))
    }

    /// Store and what a reading or a note of that vessel asks for.
    pub(super) fn load_about(&self, tag: &str) -> Result<(Store, Household), Trouble> {
        let store = self.open()?;
        let household = store
            .household_about(tag, self.now)
            .map_err(Trouble::store)?;
        Ok((store, household))
    }

    /// Prints a report for programs.
    pub(super) fn print<T: Serialize>(
        &mut self,
        report: &'static str,
        body: T,
    ) -> Result<(), Trouble> {
        let text = Self::report(report, body)?;
        self.out.write_all(text.as_bytes())?;
        Ok(())
    }

    /// A report for programs as text.
    pub(super) fn report<T: Serialize>(report: &'static str, body: T) -> Result<String, Trouble> {
        let text = serde_json::to_string_pretty(&Report::new(report, body))?;
        Ok(format!("{}\n", harmless(&text)))
    }

    /// Carries out a deed and says what it did.
    pub(super) fn carry_out(&mut self, store: &mut Store, deed: &Deed) -> Result<Receipt, Trouble> {
        let receipt = self.save(store, deed)?;
        self.receipt(&receipt)?;
        Ok(receipt)
    }

    /// Carries out a deed; what it did is said by the caller.
    pub(super) fn save(&mut self, store: &mut Store, deed: &Deed) -> Result<Receipt, Trouble> {
        let receipt = work::carry_out(store, deed, self.now)?;
        self.saved = Some(receipt.said.clone());
        Ok(receipt)
    }

    fn receipt(&mut self, receipt: &Receipt) -> Result<(), Trouble> {
        if self.json {
            return self.print("deed", DeedJson::new(receipt));
        }
        writeln!(self.out, "{}", safe(&receipt.said))?;
        for caution in &receipt.cautions {
            writeln!(self.out, "Mind: {}", safe(caution))?;
        }
        Ok(())
    }

    /// One line: as text, or as JSON with the store's revision.
    pub(super) fn say(&mut self, store: &Store, said: &str) -> Result<Exit, Trouble> {
        if self.json {
            let revision = store.revision().map_err(Trouble::store)?;
            self.print("deed", DeedJson::said(said, revision))?;
        } else {
            writeln!(self.out, "{}", safe(said))?;
        }
        Ok(Exit::Fine)
    }
}

/// What is typed is worth more than a copy of what was there before it.
fn no_copy(why: &StoreError) {
    let said = format!("no copy of today could be made ({why}); saving goes on without it");
    // Where stderr is gone too, `skep check` tells when the last copy was made.
    let _ = writeln!(io::stderr(), "skep: {}", safe(&said));
}

/// JSON without any character that a terminal would obey: such ones stand within
/// strings only, where their number means the same.
fn harmless(json: &str) -> String {
    use std::fmt::Write;
    let mut out = String::with_capacity(json.len());
    for c in json.chars() {
        if is_order(c) {
            let _ = write!(out, "\\u{:04x}", u32::from(c));
        } else {
            out.push(c);
        }
    }
    out
}

/// The name of a file beside.
fn beside(path: &Path, suffix: &str) -> std::ffi::OsString {
    let mut name = path.file_name().unwrap_or_default().to_os_string();
    name.push(suffix);
    name
}

impl From<WorkError> for Trouble {
    fn from(why: WorkError) -> Self {
        match why {
            WorkError::Refused(said) => Self::usage(said),
            WorkError::Store(error) => Self::store(error),
        }
    }
}
