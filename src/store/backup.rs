//! Verified copies of a store: before a migration, by the day, and back again.

use super::error::{Cause, Doing, Result, StoreError};
use super::open::{
    BUSY, PAUSE, beside, create_private, exists, make_folder, private_file_beside, refuse_foreign,
    sync, sync_folder,
};
use super::{Store, keep};
use crate::domain::units::Moment;
use chrono::NaiveDateTime;
use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags};
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// How the name of a backup begins and ends; the local time of its making stands between.
const PREFIX: &str = "skep-";
const SUFFIX: &str = ".backup";
const STAMP: &str = "%Y-%m-%d-%H%M%S";

/// A backup that lies in the folder of backups.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct BackupFile {
    /// Local time of its making, from its name.
    pub at: NaiveDateTime,
    /// Where it lies.
    pub path: PathBuf,
}

/// What a restoration did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Restored {
    /// Where the store that was replaced lies now; none where there was none.
    pub replaced: Option<PathBuf>,
}

impl Store {
    /// Makes a verified copy of the store in a folder, readable by its owner
    /// only; gives its path. The store may be written to meanwhile.
    pub fn back_up(&self, folder: &Path, now: Moment) -> Result<PathBuf> {
        let doing = format!("backing up to {}", folder.display());
        back_up(&self.conn, folder, now).doing(&doing)
    }
}

fn back_up(conn: &Connection, folder: &Path, now: Moment) -> Result<PathBuf> {
    let stamp = now.datetime().format(STAMP);
    let to = folder.join(format!("{PREFIX}{stamp}{SUFFIX}"));
    make_folder(&to)?;
    // Under another name until it is whole, so that no half backup is ever found.
    let part = private_file_beside(&to, "part")?;
    copy_into(conn, &part)?;
    // A second one within the same second takes the place of the first.
    if let Err(e) = fs::rename(&part, &to) {
        let _ = fs::remove_file(&part);
        return Err(StoreError::file(&to, e));
    }
    sync_folder(&to);
    Ok(to)
}

/// The backups in a folder, the oldest first. Other files are not looked at.
pub fn backups(folder: &Path) -> Result<Vec<BackupFile>> {
    let doing = format!("looking for backups in {}", folder.display());
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(e) if e.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        Err(e) => return Err(StoreError::file(folder, e).doing(&doing)),
    };
    let mut found: Vec<_> = entries
        .filter_map(std::result::Result::ok)
        .filter_map(|entry| {
            let name = entry.file_name();
            let stamp = name.to_str()?.strip_prefix(PREFIX)?.strip_suffix(SUFFIX)?;
            Some(BackupFile {
                at: NaiveDateTime::parse_from_str(stamp, STAMP).ok()?,
                path: entry.path(),
            })
        })
        .collect();
    found.sort();
    Ok(found)
}

/// Takes away the backups that the rule no longer wants; gives their paths.
pub fn thin_out(folder: &Path, now: Moment, rule: keep::Rule) -> Result<Vec<PathBuf>> {
    let files = backups(folder)?;
    let times: Vec<_> = files.iter().map(|b| b.at).collect();
    let wanted = keep::wanted(&times, now.day(), rule);
    let mut gone = Vec::new();
    for (file, _) in files.into_iter().zip(wanted).filter(|(_, keep)| !keep) {
        match fs::remove_file(&file.path) {
            Ok(()) => gone.push(file.path),
            // Another skep took it away.
            Err(e) if e.kind() == ErrorKind::NotFound => {}
            Err(e) => {
                return Err(StoreError::file(&file.path, e).doing("taking away an old backup"));
            }
        }
    }
    Ok(gone)
}

/// Looks whether a file is a whole store that this skep can read. Changes nothing.
pub fn verify_file(path: &Path) -> Result<()> {
    let doing = format!("looking at {}", path.display());
    whole(path).map(drop).doing(&doing)
}

/// A connection that only reads, to a store that is whole.
fn whole(path: &Path) -> Result<Connection> {
    refuse_foreign(path)?;
    let conn = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    conn.busy_timeout(BUSY)?;
    verify(&conn)?;
    Ok(conn)
}

/// Puts a backup in the place of the store. The store that was there is kept
/// under another name beside it. Skeps that have the store open follow.
pub fn restore(backup: &Path, path: &Path, now: Moment) -> Result<Restored> {
    let doing = format!("restoring {} to {}", backup.display(), path.display());
    replace(backup, path, now).doing(&doing)
}

fn replace(backup: &Path, path: &Path, now: Moment) -> Result<Restored> {
    let source = whole(backup)?;
    if !exists(path)? {
        set_aside_journals(path, now)?;
        put_new(&source, path)?;
        return Ok(Restored { replaced: None });
    }
    if let Ok(mut live) = usable(path) {
        let kept = free_name(path, "replaced", now)?;
        if copy_into(&live, &kept).is_ok() {
            let revision: i64 =
                live.query_row("SELECT revision FROM state WHERE id = 1", [], |r| r.get(0))?;
            run(&source, &mut live)?;
            live.execute(
                "UPDATE state SET revision = max(revision, ?1) + 1 WHERE id = 1",
                [revision],
            )?;
            return Ok(Restored {
                replaced: Some(kept),
            });
        }
    }
    // What lies there is no store that can be read: it is kept as it is, byte by byte.
    let kept = free_name(path, "replaced", now)?;
    fs::rename(path, &kept).map_err(|e| StoreError::file(path, e))?;
    set_aside_journals(path, now)?;
    put_new(&source, path)?;
    Ok(Restored {
        replaced: Some(kept),
    })
}

/// A connection to a live store that is a store of ours.
fn usable(path: &Path) -> Result<Connection> {
    refuse_foreign(path)?;
    let conn = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    conn.busy_timeout(BUSY)?;
    Ok(conn)
}

/// Journals without their store would be played into the new one.
fn set_aside_journals(path: &Path, now: Moment) -> Result<()> {
    for suffix in ["-wal", "-shm", "-journal"] {
        let journal = beside(path, suffix);
        if exists(&journal)? {
            let kept = free_name(&journal, "replaced", now)?;
            fs::rename(&journal, &kept).map_err(|e| StoreError::file(&journal, e))?;
        }
    }
    Ok(())
}

/// Fills a new file beside, then gives it the name.
fn put_new(source: &Connection, path: &Path) -> Result<()> {
    make_folder(path)?;
    let fresh = private_file_beside(path, "new")?;
    copy_into(source, &fresh)?;
    fs::rename(&fresh, path).map_err(|e| StoreError::file(path, e))?;
    sync_folder(path);
    Ok(())
}

/// The names that a copy or what is set aside may have, in order.
fn names<'a>(path: &'a Path, word: &'a str, now: Moment) -> impl Iterator<Item = PathBuf> + 'a {
    let day = now.day();
    (1..1000).map(move |n| match n {
        1 => beside(path, &format!(".{word}-{day}")),
        n => beside(path, &format!(".{word}-{day}-{n}")),
    })
}

fn no_name_left(path: &Path) -> StoreError {
    let why = std::io::Error::other("a thousand copies lie beside it already");
    StoreError::file(path, why)
}

/// A name beside the file that nothing has.
fn free_name(path: &Path, word: &str, now: Moment) -> Result<PathBuf> {
    for name in names(path, word, now) {
        if !exists(&name)? {
            return Ok(name);
        }
    }
    Err(no_name_left(path))
}

/// The same, taken at once by an empty file, so that no other hand takes it too.
fn taken_name(path: &Path, word: &str, now: Moment) -> Result<PathBuf> {
    for name in names(path, word, now) {
        match create_private(&name) {
            Ok(()) => return Ok(name),
            Err(e) if e.kind() == ErrorKind::AlreadyExists => {}
            Err(e) => return Err(StoreError::file(&name, e)),
        }
    }
    Err(no_name_left(path))
}

/// A verified copy of the store as it was before a migration, beside it.
pub(super) fn before_migration(
    conn: &Connection,
    path: &Path,
    schema: i64,
    now: Moment,
) -> Result<PathBuf> {
    let to = taken_name(path, &format!("schema-{schema}"), now)?;
    copy_into(conn, &to).map(|()| to)
}

/// Copies the whole store into a file of the caller's, and looks whether the
/// copy is whole. A copy that is not is taken away again.
fn copy_into(conn: &Connection, to: &Path) -> Result<()> {
    match create_private(to) {
        Ok(()) => {}
        Err(e) if e.kind() == ErrorKind::AlreadyExists && is_empty_file(to) => {}
        Err(e) => return Err(StoreError::file(to, e)),
    }
    let copied = copy(conn, to);
    if copied.is_err() {
        let _ = fs::remove_file(to);
    }
    copied
}

/// A file that we just made; never a link.
fn is_empty_file(path: &Path) -> bool {
    fs::symlink_metadata(path).is_ok_and(|m| m.is_file() && m.len() == 0)
}

fn copy(conn: &Connection, to: &Path) -> Result<()> {
    let mut target = Connection::open_with_flags(to, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    run(conn, &mut target)?;
    // A copy stands alone: no journal beside it.
    target.query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(()))?;
    verify(&target)?;
    target.close().map_err(|(_, e)| StoreError::from(e))?;
    sync(to)?;
    sync_folder(to);
    Ok(())
}

/// All pages in one go: in WAL mode it holds up no writer, and no writer can make
/// it begin again. Waits for a busy target as long as any write does.
fn run(from: &Connection, to: &mut Connection) -> Result<()> {
    let backup = Backup::new(from, to)?;
    let mut tries = BUSY.as_millis() / PAUSE.as_millis();
    loop {
        match backup.step(-1)? {
            StepResult::Done => return Ok(()),
            StepResult::More => {}
            _ if tries == 0 => {
                return Err(Cause::Busy {
                    seconds: BUSY.as_secs(),
                }
                .into());
            }
            _ => {
                tries -= 1;
                std::thread::sleep(PAUSE);
            }
        }
    }
}

fn verify(conn: &Connection) -> Result<()> {
    let said: String = conn.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
    if said == "ok" {
        Ok(())
    } else {
        Err(Cause::Damaged(said).into())
    }
}
