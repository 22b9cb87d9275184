//! The morning's answer for programs, given again.
//!
//! A bar or a prompt asks every few seconds. For up to a minute it gets the
//! same answer, stamped with the moment it was worked out for, as long as
//! nobody has touched the store: file, size and the times that the file system
//! itself sets are those of then. What is kept can be lost at any time.

use super::exits::{EXITS, Exit};
use super::shell::Shell;
use crate::files::cache;
use std::fmt::Write as _;
use std::fs::{self, Metadata};
use std::path::{Path, PathBuf};

/// How long an answer holds.
const HOLDS_MS: i64 = 60_000;
/// A store that was written so lately may be written again without a new time:
/// the coarsest file system counts by two seconds.
const SETTLED_MS: i64 = 2_000;

/// An answer that may have been given before.
pub(super) struct Again {
    file: PathBuf,
    /// What it depends on, in one line.
    key: String,
    /// Now, and when the store was touched last.
    now: i64,
    touched: i64,
}

impl Again {
    /// None where the file system does not tell what is needed.
    pub(super) fn of(sh: &Shell<'_>, all: bool) -> Option<Self> {
        let store = &sh.paths.store;
        let path = fs::canonicalize(store).ok()?;
        let mut key = format!(
            "{} {:?} {all} {} {} {:?}",
            concat!(env!("CARGO_PKG_VERSION"), " ", env!("SKEP_SUMS")),
            path.to_string_lossy(),
            sh.now.day(),
            sh.now.offset_minutes(),
            std::env::var_os("TZ"),
        );
        let mut touched = 0;
        for suffix in ["", "-wal", "-journal"] {
            let mut name = path.clone().into_os_string();
            name.push(suffix);
            match fs::metadata(Path::new(&name)) {
                Ok(meta) => touched = touched.max(mark(&meta, &mut key)?),
                Err(_) => key.push_str(" -"),
            }
        }
        Some(Self {
            file: sh.paths.cache.join("today.json"),
            key,
            now: sh.now.utc_ms(),
            touched,
        })
    }

    /// The answer of before, if it holds.
    pub(super) fn answer(&self) -> Option<(Exit, String)> {
        let kept = String::from_utf8(cache::get(&self.file)?).ok()?;
        let (key, rest) = kept.split_once('\n')?;
        let (head, text) = rest.split_once('\n')?;
        let (at, code) = head.split_once(' ')?;
        let age = self.now - at.parse::<i64>().ok()?;
        let exit = EXITS.iter().find(|(e, _)| e.code().to_string() == code)?.0;
        (key == self.key && (0..HOLDS_MS).contains(&age)).then(|| (exit, text.to_owned()))
    }

    /// Keeps an answer for the next minute, where that can be done.
    pub(super) fn keep(&self, exit: Exit, text: &str) {
        if self.now - self.touched > SETTLED_MS {
            let whole = format!("{}\n{} {}\n{text}", self.key, self.now, exit.code());
            // Not kept, it is worked out once more.
            let _ = cache::put(&self.file, whole.as_bytes());
        }
    }
}

/// Writes what tells a file's state into the key; gives when it was touched
/// last, in milliseconds. The time of change is the system's own: no program
/// can set it back.
#[cfg(unix)]
fn mark(meta: &Metadata, key: &mut String) -> Option<i64> {
    use std::os::unix::fs::MetadataExt;
    let _ = write!(
        key,
        " {}:{}:{}:{}.{}:{}.{}",
        meta.dev(),
        meta.ino(),
        meta.size(),
        meta.mtime(),
        meta.mtime_nsec(),
        meta.ctime(),
        meta.ctime_nsec(),
    );
    meta.ctime()
        .checked_mul(1000)?
        .checked_add(meta.ctime_nsec() / 1_000_000)
}

#[cfg(not(unix))]
fn mark(_: &Metadata, _: &mut String) -> Option<i64> {
    None
}
