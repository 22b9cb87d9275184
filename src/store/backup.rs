//! Verified copies of a store.

use super::error::{Cause, Result, StoreError};
use super::open::{beside, create_private, sync, sync_folder};
use crate::domain::units::Moment;
use rusqlite::backup::Backup;
use rusqlite::{Connection, OpenFlags};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// A verified copy of the store as it was before a migration, beside it.
pub(super) fn before_migration(
    conn: &Connection,
    path: &Path,
    schema: i64,
    now: Moment,
) -> Result<PathBuf> {
    let day = now.day();
    let name = |n: u32| match n {
        1 => beside(path, &format!(".schema-{schema}-{day}")),
        n => beside(path, &format!(".schema-{schema}-{day}-{n}")),
    };
    for n in 1..1000 {
        let to = name(n);
        match create_private(&to) {
            Ok(()) => return copy_into(conn, &to).map(|()| to),
            Err(e) if e.kind() == ErrorKind::AlreadyExists => {}
            Err(e) => return Err(StoreError::file(&to, e)),
        }
    }
    Err(StoreError::file(
        path,
        std::io::Error::other("a thousand copies lie beside it already"),
    ))
}

/// Copies the whole store into a file that was just made, and looks whether the
/// copy is whole. A copy that is not is taken away again.
pub(super) fn copy_into(conn: &Connection, to: &Path) -> Result<()> {
    let copied = copy(conn, to);
    if copied.is_err() {
        let _ = std::fs::remove_file(to);
    }
    copied
}

fn copy(conn: &Connection, to: &Path) -> Result<()> {
    let mut target = Connection::open_with_flags(to, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    // In one go: it holds up no writer in WAL mode, and no writer can make it begin again.
    Backup::new(conn, &mut target)?.run_to_completion(-1, Duration::from_millis(50), None)?;
    // A copy stands alone: no journal beside it.
    target.query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(()))?;
    verify(&target)?;
    target.close().map_err(|(_, e)| StoreError::from(e))?;
    sync(to)?;
    sync_folder(to);
    Ok(())
}

fn verify(conn: &Connection) -> Result<()> {
    let said: String = conn.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
    if said == "ok" {
        Ok(())
    } else {
        Err(Cause::Damaged(said).into())
    }
}
