//! The one way to a store's file.
//!
//! On Unix, closing any descriptor of a file drops every lock that the process holds on it,
//! SQLite's too. Another program that looks in then takes itself for the last one, and
//! deletes the write-ahead log under a running skep. SQLite minds this among its own
//! connections; so while one of them lives here, nothing else may open the file.

use super::error::{Cause, Result, StoreError};
use super::open::{APPLICATION_ID, FileId, beside, create_private, exists, file_id, refuse_newer};
use rusqlite::{Connection, OpenFlags};
use std::collections::BTreeMap;
use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The files that connections of this process are open on, and how many of them.
static OPEN: Mutex<BTreeMap<FileId, usize>> = Mutex::new(BTreeMap::new());

fn open_files() -> MutexGuard<'static, BTreeMap<FileId, usize>> {
    OPEN.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A connection's entry among the open files.
#[derive(Debug)]
pub(super) struct Seat(FileId);

impl Drop for Seat {
    fn drop(&mut self) {
        let mut open = open_files();
        if let Some(count) = open.get_mut(&self.0) {
            *count -= 1;
            if *count == 0 {
                open.remove(&self.0);
            }
        }
    }
}

/// A connection to a store's file.
#[derive(Debug)]
pub(super) struct Entered {
    // Dropped before the seat is given up.
    pub(super) conn: Connection,
    pub(super) seat: Seat,
}

impl Seat {
    /// Which file it is, whatever lies under its name later.
    pub(super) fn file(&self) -> FileId {
        self.0
    }
}

/// Opens a store's file by SQLite. Its head is read before, which SQLite might change,
/// unless this process has the file open already: then it was read.
pub(super) fn enter(path: &Path, flags: OpenFlags) -> Result<Entered> {
    let mut open = open_files();
    let file = file_id(path)?;
    if !open.contains_key(&file) {
        refuse_foreign(path)?;
        if flags.contains(OpenFlags::SQLITE_OPEN_READ_WRITE) {
            refuse_read_only(path)?;
            share_permissions(path);
        }
    }
    let conn = Connection::open_with_flags(path, flags)?;
    *open.entry(file).or_default() += 1;
    Ok(Entered {
        conn,
        seat: Seat(file),
    })
}

/// Opens and closes a file by other means than SQLite. Refused while a connection of
/// this process is open on it; none is made meanwhile.
pub(super) fn apart<T>(path: &Path, touch: impl FnOnce() -> Result<T>) -> Result<T> {
    let open = open_files();
    if open.contains_key(&file_id(path)?) {
        let why = format!("{} is open in this skep", path.display());
        return Err(Cause::Stuck(why).into());
    }
    touch()
}

/// Looks at the head of the file without SQLite.
fn refuse_foreign(path: &Path) -> Result<()> {
    let not = |why: &str| {
        StoreError::from(Cause::NotAStore {
            path: path.to_path_buf(),
            why: why.to_owned(),
        })
    };
    let meta = fs::metadata(path).map_err(|e| StoreError::file(path, e))?;
    if !meta.is_file() {
        return Err(not("it is no plain file"));
    }
    if meta.len() == 0 {
        return Err(Cause::Empty {
            path: path.to_path_buf(),
        }
        .into());
    }
    let mut head = Vec::with_capacity(100);
    File::open(path)
        .and_then(|f| f.take(100).read_to_end(&mut head))
        .map_err(|e| StoreError::file(path, e))?;
    if head.len() < 100 || !head.starts_with(b"SQLite format 3\0") {
        return Err(not("its first bytes are those of something else"));
    }
    if number(&head, 68) != APPLICATION_ID {
        return Err(not("it is a database of another program"));
    }
    refuse_newer(path, number(&head, 60))
}

/// A big-endian number of four bytes in the file's head.
fn number(head: &[u8], at: usize) -> i64 {
    head.iter()
        .skip(at)
        .take(4)
        .fold(0, |n, b| (n << 8) | i64::from(*b))
}

/// SQLite would open it for reading, and make an index beside it that nobody may write.
fn refuse_read_only(path: &Path) -> Result<()> {
    match OpenOptions::new().write(true).open(path) {
        Err(e)
            if matches!(
                e.kind(),
                ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem
            ) =>
        {
            Err(Cause::ReadOnly.into())
        }
        // Whatever else is wrong with it, SQLite says better.
        _ => Ok(()),
    }
}

/// Journal and index have the permissions of their store. Made while it was read-only,
/// they would keep it so.
#[cfg(unix)]
fn share_permissions(path: &Path) {
    let Ok(meta) = fs::metadata(path) else {
        return;
    };
    for suffix in ["-wal", "-shm"] {
        let file = beside(path, suffix);
        let differs = fs::symlink_metadata(&file)
            .is_ok_and(|m| m.is_file() && m.permissions() != meta.permissions());
        if differs {
            // Another's file stays as it is, and SQLite says what is wrong with it.
            let _ = fs::set_permissions(&file, meta.permissions());
        }
    }
}

#[cfg(not(unix))]
fn share_permissions(_: &Path) {}

/// Copies a store and its journals, byte by byte, into a folder; gives the copy's path.
pub(super) fn copy_apart(path: &Path, folder: &Path) -> Result<PathBuf> {
    let copy = folder.join("copy.store");
    apart(path, || {
        refuse_foreign(path)?;
        for suffix in ["", "-wal", "-journal"] {
            let (from, to) = (beside(path, suffix), beside(&copy, suffix));
            if exists(&from)? {
                let mut source = File::open(&from).map_err(|e| StoreError::file(&from, e))?;
                create_private(&to).map_err(|e| StoreError::file(&to, e))?;
                // By what was read, not by `fs::copy`: that takes over the permissions too.
                OpenOptions::new()
                    .write(true)
                    .open(&to)
                    .and_then(|mut target| std::io::copy(&mut source, &mut target))
                    .map_err(|e| StoreError::file(&from, e))?;
            }
        }
        Ok(())
    })?;
    Ok(copy)
}
