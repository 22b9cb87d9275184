//! Verified copies of a store: before a migration, by the day, and back again.

use super::door::{Entered, enter};
use super::error::{Cause, Doing, Result, StoreError};
use super::open::{
    BUSY, PAUSE, beside, create_private, exists, make_folder, private_file_beside, put_in_place,
    sync, sync_folder, write_ahead,
};
use super::{Store, keep, leftovers};
use crate::domain::units::Moment;
use chrono::{DateTime, NaiveDateTime, Utc};
use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags, OptionalExtension};
use std::cmp::Reverse;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// How the name of a backup begins and ends; the local time of its making stands between.
const PREFIX: &str = "skep-";
const SUFFIX: &str = ".backup";
const STAMP: &str = "%Y-%m-%d-%H%M%S";

/// Pages copied in one step while something else may come: 2 MiB, some milliseconds.
const STEP: i32 = 512;
/// So often a copy begins again because another program wrote; then it is made in one go.
const RESTARTS: u32 = 3;

/// A copy of a store: one in the folder of backups, or one beside the store.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct BackupFile {
    /// Local time of its making: from its name, or that of its last write.
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

/// Which store it is, whatever its name: a store and its copies have the first of their
/// changes in common, and no other store has the same one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Origin(i64, String);

impl Origin {
    /// None where nothing was ever changed.
    pub(super) fn of(conn: &Connection) -> Result<Option<Self>> {
        let sql = "SELECT at_ms, name FROM change ORDER BY id LIMIT 1";
        Ok(conn
            .query_row(sql, [], |row| Ok(Self(row.get(0)?, row.get(1)?)))
            .optional()?)
    }
}

/// Whether a file is a copy of that store; what can't be read is none of it.
pub(super) fn own(file: &Path, origin: Option<&Origin>) -> bool {
    let theirs =
        enter(file, OpenFlags::SQLITE_OPEN_READ_ONLY).and_then(|entered| Origin::of(&entered.conn));
    origin.is_some() && theirs.is_ok_and(|theirs| theirs.as_ref() == origin)
}

/// A copy whose pages are all there, and which nobody has looked over yet. Dropped
/// unfinished, it leaves nothing.
#[derive(Debug)]
pub struct Pages {
    part: PathBuf,
    to: PathBuf,
    origin: Option<Origin>,
    now: Moment,
}

impl Store {
    /// Makes a verified copy of the store in a folder, readable by its owner
    /// only; gives its path. The store may be written to meanwhile.
    pub fn back_up(&self, folder: &Path, now: Moment) -> Result<PathBuf> {
        let doing = format!("backing up to {}", folder.display());
        let pages = self.copy_pages(folder, now, None).doing(&doing)?;
        let stopped = || Cause::Stuck("the copy was not finished".to_owned());
        pages
            .ok_or_else(stopped)
            .doing(&doing)?
            .in_place()
            .doing(&doing)
    }

    /// Copies the store's pages into a file in a folder, through the store's own
    /// connection. With `go_on`, in steps between which that is asked; none where it
    /// said no. The store may be written to meanwhile.
    pub fn copy_pages(
        &self,
        folder: &Path,
        now: Moment,
        go_on: Option<&mut dyn FnMut() -> bool>,
    ) -> Result<Option<Pages>> {
        let stamp = now.datetime().format(STAMP);
        let to = folder.join(format!("{PREFIX}{stamp}{SUFFIX}"));
        make_folder(&to)?;
        leftovers::clear_backups(folder);
        // Under another name until it is whole, so that no half backup is ever found.
        let pages = Pages {
            part: private_file_beside(&to, "part")?,
            to,
            origin: Origin::of(&self.conn)?,
            now,
        };
        let mut target = open_copy(&pages.part)?;
        let whole = run(&self.conn, &mut target, go_on)?;
        target.close().map_err(|(_, e)| StoreError::from(e))?;
        Ok(whole.then_some(pages))
    }
}

impl Pages {
    /// Looks whether the copy is whole, gives it its name, and removes the copies of
    /// the same store that are old enough. Touches no store.
    pub fn finish(self) -> Result<PathBuf> {
        let (origin, now) = (self.origin.clone(), self.now);
        let made = self.in_place()?;
        if let Some(folder) = made.parent() {
            thin_out(folder, now, keep::Rule::default(), origin.as_ref())?;
        }
        Ok(made)
    }

    fn in_place(self) -> Result<PathBuf> {
        seal(&self.part)?;
        // A second one within the same second takes the place of the first.
        fs::rename(&self.part, &self.to).map_err(|e| StoreError::file(&self.to, e))?;
        sync_folder(&self.to);
        Ok(self.to.clone())
    }
}

impl Drop for Pages {
    fn drop(&mut self) {
        // Gone already where it has its name.
        let _ = fs::remove_file(&self.part);
    }
}

/// Folder of a store's backups, beside it.
pub fn backup_folder(store: &Path) -> PathBuf {
    let mut name = store.file_stem().unwrap_or_default().to_os_string();
    name.push("-backups");
    store.with_file_name(name)
}

/// When the backup of that name was made.
pub(super) fn stamp_of(name: &str) -> Option<NaiveDateTime> {
    let stamp = name.strip_prefix(PREFIX)?.strip_suffix(SUFFIX)?;
    NaiveDateTime::parse_from_str(stamp, STAMP).ok()
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
            Some(BackupFile {
                at: stamp_of(name.to_str()?)?,
                path: entry.path(),
            })
        })
        .collect();
    found.sort();
    Ok(found)
}

/// All copies of a store, that with the newest content first: its backups, and what lies
/// beside it since a restoration or a migration. What can't be read comes last.
pub fn copies(store: &Path, now: Moment) -> Result<Vec<BackupFile>> {
    let mut found = backups(&backup_folder(store))?;
    let name = store.file_name().unwrap_or_default().to_string_lossy();
    let beginnings = ["replaced", "schema"].map(|word| format!("{name}.{word}-"));
    let folder = match store.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        let is_copy = beginnings.iter().any(|b| name.starts_with(b.as_str()))
            && !["-wal", "-shm", "-journal"]
                .iter()
                .any(|s| name.ends_with(s));
        // Never a link.
        let Some(meta) = entry.metadata().ok().filter(|m| is_copy && m.is_file()) else {
            continue;
        };
        let offset = *now.datetime().offset();
        let at = meta.modified().map_or(NaiveDateTime::MIN, |at| {
            DateTime::<Utc>::from(at)
                .with_timezone(&offset)
                .naive_local()
        });
        found.push(BackupFile {
            at,
            path: entry.path(),
        });
    }
    found.sort_by_cached_key(|copy| Reverse((last_change(&copy.path), copy.at)));
    Ok(found)
}

/// The moment and the number of a store's last change.
fn last_change(file: &Path) -> Option<(i64, i64)> {
    let entered = enter(file, OpenFlags::SQLITE_OPEN_READ_ONLY).ok()?;
    let sql = "SELECT max(at_ms), (SELECT max(revision) FROM state) FROM change";
    let last = entered
        .conn
        .query_row(sql, [], |row| Ok((row.get(0)?, row.get(1)?)));
    last.ok()
}

/// The first of the copies that is whole, and how many before it are not.
pub fn first_whole(copies: &[BackupFile]) -> (Option<&BackupFile>, usize) {
    let at = copies.iter().position(|c| whole(&c.path).is_ok());
    (at.and_then(|at| copies.get(at)), at.unwrap_or(copies.len()))
}

/// Removes the backups of a store that the rule no longer wants; returns their paths.
pub(super) fn thin_out(
    folder: &Path,
    now: Moment,
    rule: keep::Rule,
    origin: Option<&Origin>,
) -> Result<Vec<PathBuf>> {
    let mut files = backups(folder)?;
    files.retain(|file| own(&file.path, origin));
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
fn whole(path: &Path) -> Result<Entered> {
    let entered = enter(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    entered.conn.busy_timeout(BUSY)?;
    verify(&entered.conn)?;
    Ok(entered)
}

/// Puts a backup in the place of the store. The store that was there is kept
/// under another name beside it, with all that was written until then. Skeps that
/// have the store open follow.
pub fn restore(backup: &Path, path: &Path, now: Moment) -> Result<Restored> {
    let doing = format!("restoring {} to {}", backup.display(), path.display());
    replace(backup, path, now).doing(&doing)
}

fn replace(backup: &Path, path: &Path, now: Moment) -> Result<Restored> {
    let source = whole(backup)?;
    if !exists(path)? {
        let kept = free_name(path, "replaced", now)?;
        put_new(&source.conn, path, || set_aside_journals(path, &kept))?;
        return Ok(Restored { replaced: None });
    }
    let kept = match swap(&source, path, now) {
        // What lies there is no store that can be read: it is kept byte by byte.
        Err(why) if why.cause.is_damage() => set_aside(&source.conn, path, now)?,
        swapped => swapped?,
    };
    Ok(Restored {
        replaced: Some(kept),
    })
}

/// Copies a live store aside and fills it with another one's pages. No other program
/// writes to it between the two; those that wait write to what comes after.
fn swap(source: &Entered, path: &Path, now: Moment) -> Result<PathBuf> {
    let mut live = enter(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    if live.seat.file() == source.seat.file() {
        let why = "this is the store itself; name a copy of it";
        return Err(Cause::Stuck(why.to_owned()).into());
    }
    live.conn.busy_timeout(BUSY)?;
    let mode: String = live
        .conn
        .query_row("PRAGMA journal_mode", [], |row| row.get(0))?;
    if mode != "wal" {
        verify(&live.conn)?;
        write_ahead(&live.conn)?;
    }
    // The filled one is locked: what it holds is read by another connection.
    let look = enter(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    look.conn.busy_timeout(BUSY)?;
    let filling = Backup::new(&source.conn, &mut live.conn)?;
    // No page, but the lock, which holds until the end.
    step(&filling, 0)?;
    let kept = taken_name(path, "replaced", now)?;
    copy_into(&look.conn, &kept)?;
    let sql = "SELECT revision FROM state WHERE id = 1";
    let revision: i64 = look.conn.query_row(sql, [], |r| r.get(0)).unwrap_or(0);
    step(&filling, -1)?;
    drop(filling);
    live.conn.execute(
        "UPDATE state SET revision = max(revision, ?1) + 1 WHERE id = 1",
        [revision],
    )?;
    Ok(kept)
}

/// Moves away what lies under the store's name, journals too, and puts a new one there.
fn set_aside(source: &Connection, path: &Path, now: Moment) -> Result<PathBuf> {
    let kept = free_name(path, "replaced", now)?;
    // Where it can be had: who waits for the lock finds the store gone, and says so.
    let held = enter(path, OpenFlags::SQLITE_OPEN_READ_WRITE).ok();
    if let Some(held) = &held {
        let _ = held.conn.busy_timeout(BUSY);
        let _ = held.conn.execute_batch("BEGIN IMMEDIATE");
    }
    let moved = put_new(source, path, || {
        fs::rename(path, &kept).map_err(|e| StoreError::file(path, e))?;
        set_aside_journals(path, &kept)
    });
    drop(held);
    if fs::metadata(beside(&kept, "-wal")).is_ok_and(|m| m.len() == 0) {
        // Made by the look just now.
        for suffix in ["-wal", "-shm"] {
            let _ = fs::remove_file(beside(&kept, suffix));
        }
    }
    if moved.is_err() && !exists(path)? {
        let _ = fs::rename(&kept, path);
        for suffix in JOURNALS {
            let _ = fs::rename(beside(&kept, suffix), beside(path, suffix));
        }
    }
    moved.map(|()| kept)
}

const JOURNALS: [&str; 3] = ["-wal", "-shm", "-journal"];

/// Journals without their store would be played into the new one. Beside the file
/// that is kept they belong to it.
fn set_aside_journals(path: &Path, kept: &Path) -> Result<()> {
    for suffix in JOURNALS {
        let journal = beside(path, suffix);
        if exists(&journal)? {
            fs::rename(&journal, beside(kept, suffix))
                .map_err(|e| StoreError::file(&journal, e))?;
        }
    }
    Ok(())
}

/// Fills a new file beside, makes way, then gives it the name.
fn put_new(source: &Connection, path: &Path, make_way: impl FnOnce() -> Result<()>) -> Result<()> {
    make_folder(path)?;
    let fresh = private_file_beside(path, "new")?;
    let put = copy_into(source, &fresh)
        .and_then(|()| make_way())
        .and_then(|()| put_in_place(&fresh, path));
    let _ = fs::remove_file(&fresh);
    if put? {
        return Ok(());
    }
    let why = format!("another store was made at {} meanwhile", path.display());
    Err(Cause::Stuck(why).into())
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
    let mut target = open_copy(to)?;
    run(conn, &mut target, None)?;
    target.close().map_err(|(_, e)| StoreError::from(e))?;
    seal(to)
}

fn open_copy(to: &Path) -> Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE;
    Ok(Connection::open_with_flags(to, flags)?)
}

/// Looks whether a copy is whole, and has the disk keep it.
fn seal(copy: &Path) -> Result<()> {
    let target = open_copy(copy)?;
    // A copy stands alone: no journal beside it.
    target.query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(()))?;
    verify(&target)?;
    target.close().map_err(|(_, e)| StoreError::from(e))?;
    sync(copy)?;
    sync_folder(copy);
    Ok(())
}

/// Copies all pages; false where it was told to stop. In one go it holds up no writer in
/// WAL mode, and none can make it begin again.
fn run(
    from: &Connection,
    to: &mut Connection,
    go_on: Option<&mut dyn FnMut() -> bool>,
) -> Result<bool> {
    let backup = Backup::new(from, to)?;
    let Some(go_on) = go_on else {
        return step(&backup, -1).map(|_| true);
    };
    let (mut left, mut restarts) = (i32::MAX, 0);
    while !step(&backup, if restarts < RESTARTS { STEP } else { -1 })? {
        let now_left = backup.progress().remaining;
        restarts += u32::from(now_left >= left);
        left = now_left;
        if !go_on() {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Copies so many pages, all with -1; true where none is left. Waits for a busy target
/// as long as any write does.
fn step(backup: &Backup<'_, '_>, pages: i32) -> Result<bool> {
    let mut tries = BUSY.as_millis() / PAUSE.as_millis();
    loop {
        match backup.step(pages)? {
            StepResult::Done => return Ok(true),
            StepResult::More => return Ok(false),
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
