//! Opening: what is refused, what is made, what is migrated.

use super::door::{Entered, Seat, apart, copy_apart, enter};
use super::error::{Cause, Doing, Result, StoreError};
use super::scratch::Scratch;
use super::{Store, backup, leftovers, register, samples, seal};
use crate::domain::units::Moment;
use include_dir::{Dir, include_dir};
use rusqlite::config::DbConfig;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, ErrorCode, OpenFlags, Transaction, TransactionBehavior};
use rusqlite_migration::{HookError, HookResult, Migrations, MigrationsBuilder};
use std::cell::Cell;
use std::collections::BTreeSet;
use std::fs::{self, File, OpenOptions};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::Duration;

static MIGRATIONS: Dir<'static> = include_dir!("$CARGO_MANIFEST_DIR/migrations");

/// The schema this skep knows: the number of files in `migrations/`.
pub const SCHEMA: i64 = 7;

/// 'SKEP' in ASCII, at offset 68 of the file.
pub(super) const APPLICATION_ID: i64 = 0x534B_4550;

/// How long a write waits for another program to finish.
pub(super) const BUSY: Duration = Duration::from_secs(5);
/// Between two tries, where SQLite does not wait by itself.
pub(super) const PAUSE: Duration = Duration::from_millis(50);

/// Pages that SQLite holds, 256 KiB. A start reads most pages once: to hold more of them is to
/// have fresh memory for each, which takes longer than to read one again from the system.
const CACHE: i64 = 64;

/// What opening had to migrate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Migrated {
    /// The schema it had.
    pub from: i64,
    /// The schema it has now.
    pub to: i64,
    /// The verified copy of the store as it was.
    pub copy: PathBuf,
}

/// A store that can't be written is read from a copy.
#[derive(Debug)]
pub(super) struct Reading {
    why: Cause,
    /// Where the copy lies, for as long as it is open.
    _folder: Scratch,
}

impl Reading {
    /// Why nothing can be written.
    pub(super) fn why(&self) -> StoreError {
        self.why.unwritable().unwrap_or(Cause::ReadOnly).into()
    }
}

impl Store {
    /// Opens the store in that file; makes it, and its folder, where there is none.
    /// A store of an earlier schema is copied, then migrated; see [`Store::migrated`].
    /// One that can't be written, on a full disk or without permission, can still be
    /// read; see [`Store::unwritable`].
    ///
    /// What is no skep store, or a newer skep's, is refused and left untouched; so is
    /// the place of a store that is gone while copies of it are left.
    pub fn open(path: &Path, now: Moment) -> Result<Self> {
        let doing = format!("opening the store {}", path.display());
        refuse_lost(path, now)
            .and_then(|()| open(path, now))
            .doing(&doing)
    }

    /// The same, and a new store is made although copies of another one are left.
    pub fn open_anew(path: &Path, now: Moment) -> Result<Self> {
        let doing = format!("opening the store {}", path.display());
        open(path, now).doing(&doing)
    }

    /// Why nothing can be written to the store, where that is so.
    pub fn unwritable(&self) -> Option<StoreError> {
        self.reading.as_ref().map(Reading::why)
    }

    /// A store in memory, for tests and trials.
    pub fn in_memory() -> Result<Self> {
        let doing = "making a store in memory";
        let mut conn = Connection::open_in_memory().doing(doing)?;
        set_up(&conn).doing(doing)?;
        migrate(&mut conn).doing(doing)?;
        Ok(Self {
            conn,
            seat: None,
            path: None,
            migrated: None,
            reading: None,
            copies: None,
            fit: Cell::new(true),
        })
    }
}

/// A store that is gone is no new household.
fn refuse_lost(path: &Path, now: Moment) -> Result<()> {
    // An orphaned journal is told first: it may hold more than any copy.
    if exists(path)? || exists(&beside(path, "-wal"))? {
        return Ok(());
    }
    let copies = backup::copies(path, now)?;
    if copies.is_empty() {
        return Ok(());
    }
    let (newest, _) = backup::first_whole(&copies);
    Err(Cause::Lost {
        path: path.to_path_buf(),
        copies: match copies.len() {
            1 => "1 copy".to_owned(),
            n => format!("{n} copies"),
        },
        newest: newest.map(|c| c.path.clone()),
    }
    .into())
}

fn open(path: &Path, now: Moment) -> Result<Store> {
    leftovers::clear_beside(path);
    leftovers::clear_backups(&backup::backup_folder(path));
    if !exists(path)? {
        make(path)?;
    }
    open_there(path, now).or_else(|error| match error.cause.unwritable() {
        Some(why) => open_to_read(path, why).map_err(|_| error),
        None => Err(error),
    })
}

fn open_there(path: &Path, now: Moment) -> Result<Store> {
    // Which file it is, is seen before it is opened: what comes under the name later is
    // another one.
    let Entered { mut conn, seat } = enter(path, OPEN)?;
    set_up(&conn)?;
    let from = user_version(&conn)?;
    refuse_newer(path, from)?;
    refuse_garbled(&conn)?;
    let migrated = if from < SCHEMA {
        refuse_misnumbered(&conn, from)?;
        let copy = backup::before_migration(&conn, path, from, now)?;
        if let Err(error) = migrate(&mut conn) {
            if user_version(&conn)? == from {
                // Nothing was changed: the same copy would be made at each attempt.
                let _ = fs::remove_file(&copy);
            }
            return Err(error);
        }
        Some(Migrated {
            from,
            to: SCHEMA,
            copy,
        })
    } else {
        None
    };
    // Last of all: it is written into the file, and what is refused stays as it was.
    write_ahead(&conn)?;
    Ok(Store {
        conn,
        seat: Some(seat),
        path: Some(path.to_path_buf()),
        migrated,
        reading: None,
        copies: None,
        fit: Cell::new(false),
    })
}

const OPEN: OpenFlags = OpenFlags::SQLITE_OPEN_READ_WRITE.union(OpenFlags::SQLITE_OPEN_NO_MUTEX);

/// Reads a copy in a folder of our own: beside the store there may be no room for a
/// journal and its index, or no permission to make them.
fn open_to_read(path: &Path, why: Cause) -> Result<Store> {
    let folder = Scratch::new()?;
    let copy = copy_apart(path, folder.path())?;
    let Entered { mut conn, seat } = enter(&copy, OPEN)?;
    set_up(&conn)?;
    refuse_newer(path, user_version(&conn)?)?;
    refuse_garbled(&conn)?;
    migrate(&mut conn)?;
    Ok(Store {
        conn,
        seat: Some(seat),
        path: Some(path.to_path_buf()),
        migrated: None,
        reading: Some(Reading {
            why,
            _folder: folder,
        }),
        copies: None,
        fit: Cell::new(false),
    })
}

/// The tables must be those of the schema that the file names: a damaged number would
/// have it migrated from what it never was.
fn refuse_misnumbered(conn: &Connection, from: i64) -> Result<()> {
    let names = |conn: &Connection| -> Result<BTreeSet<String>> {
        let sql = "SELECT name FROM sqlite_schema WHERE name NOT LIKE 'sqlite@_%' ESCAPE '@'";
        let mut ask = conn.prepare(sql)?;
        let rows = ask.query_map([], |row| row.get(0))?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    };
    let mut fresh = Connection::open_in_memory()?;
    fill_to(&mut fresh, from)?;
    let theirs = names(&fresh)?;
    migrate(&mut fresh)?;
    let ours = names(&fresh)?;
    let there = names(conn)?;
    let fits =
        theirs.is_subset(&there) && ours.difference(&theirs).all(|later| !there.contains(later));
    // Another skep may have migrated it between the two looks.
    if fits || user_version(conn)? != from {
        return Ok(());
    }
    let what = format!("it says that its tables are of version {from}, and they are not");
    Err(Cause::Damaged(what).into())
}

/// Changes to a journal that is written ahead, where it is not one yet. SQLite waits
/// for no other program here, as it does with all else.
pub(super) fn write_ahead(conn: &Connection) -> Result<()> {
    let mut tries = BUSY.as_millis() / PAUSE.as_millis();
    loop {
        match conn.query_row("PRAGMA journal_mode = WAL", [], |_| Ok(())) {
            Err(e) if tries > 0 && e.sqlite_error_code() == Some(ErrorCode::DatabaseBusy) => {
                tries -= 1;
                thread::sleep(PAUSE);
            }
            changed => return Ok(changed?),
        }
    }
}

/// Device and number of a file.
pub(super) type FileId = (u64, u64);

#[cfg(unix)]
pub(super) fn file_id(path: &Path) -> Result<FileId> {
    use std::os::unix::fs::MetadataExt;
    let meta = fs::metadata(path).map_err(|e| StoreError::file(path, e))?;
    Ok((meta.dev(), meta.ino()))
}

#[cfg(not(unix))]
pub(super) fn file_id(path: &Path) -> Result<FileId> {
    use std::hash::{DefaultHasher, Hash, Hasher};
    let path = fs::canonicalize(path).map_err(|e| StoreError::file(path, e))?;
    let mut hasher = DefaultHasher::new();
    path.hash(&mut hasher);
    Ok((0, hasher.finish()))
}

impl Store {
    /// The open file must still be the one under its name: what is written into a
    /// file that was deleted or moved meanwhile would be lost.
    pub(super) fn still_there(&self) -> Result<()> {
        match &self.reading {
            // Another file is open, and nothing is written.
            Some(_) => Ok(()),
            None => still_there(self.path.as_deref(), self.seat.as_ref()),
        }
    }

    /// Begins a transaction that will write, in a store that is fit for it, still there,
    /// and still has our schema.
    pub(super) fn begin(&mut self) -> Result<Transaction<'_>> {
        self.refuse_unfit()?;
        let behaviour = TransactionBehavior::Immediate;
        let tx = self.conn.transaction_with_behavior(behaviour)?;
        // Asked under the lock: a restoration holds it while it moves a store away.
        still_there(self.path.as_deref(), self.seat.as_ref())?;
        if user_version(&tx)? == SCHEMA {
            Ok(tx)
        } else {
            Err(Cause::SchemaMoved.into())
        }
    }
}

fn still_there(path: Option<&Path>, seat: Option<&Seat>) -> Result<()> {
    match (path, seat) {
        (Some(path), Some(seat)) if !file_id(path).is_ok_and(|now| now == seat.file()) => {
            Err(Cause::Gone {
                path: path.to_path_buf(),
            }
            .into())
        }
        _ => Ok(()),
    }
}

/// Whether there is something at the path; also something that cannot be looked at.
pub(super) fn exists(path: &Path) -> Result<bool> {
    match fs::symlink_metadata(path) {
        Ok(_) => Ok(true),
        Err(e) if e.kind() == ErrorKind::NotFound => Ok(false),
        Err(e) => Err(StoreError::file(path, e)),
    }
}

/// Makes an empty store whole in a file beside, then puts it in place, so that
/// no half-made store is ever found under the name.
fn make(path: &Path) -> Result<()> {
    for suffix in ["-wal", "-journal"] {
        let journal = beside(path, suffix);
        if exists(&journal)? {
            // SQLite would play it into the new file.
            return Err(Cause::Orphan {
                path: path.to_path_buf(),
                journal,
            }
            .into());
        }
    }
    make_folder(path)?;
    let fresh = private_file_beside(path, "new")?;
    // Another skep may have been quicker: its store is as good.
    let made = fill(&fresh).and_then(|()| put_in_place(&fresh, path).map(drop));
    // The name beside is only a second name now, or a leftover.
    let _ = fs::remove_file(&fresh);
    made
}

fn fill(fresh: &Path) -> Result<()> {
    let mut conn = Connection::open_with_flags(fresh, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    conn.busy_timeout(BUSY)?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    // Once here, so that several skeps that open it at once need not agree on it.
    conn.query_row("PRAGMA journal_mode = WAL", [], |_| Ok(()))?;
    migrate(&mut conn)?;
    conn.close().map_err(|(_, e)| StoreError::from(e))?;
    sync(fresh)
}

/// Gives a new file its name; false where something has that name already.
pub(super) fn put_in_place(fresh: &Path, path: &Path) -> Result<bool> {
    match fs::hard_link(fresh, path) {
        Err(e) if e.kind() == ErrorKind::AlreadyExists => return Ok(false),
        Ok(()) => {}
        // A file system without links: rename, after one more look.
        Err(_) if !exists(path)? => {
            fs::rename(fresh, path).map_err(|e| StoreError::file(path, e))?;
        }
        Err(_) => return Ok(false),
    }
    sync_folder(path);
    Ok(true)
}

/// Makes the folder of a file, for its owner only, where there is none.
pub(super) fn make_folder(path: &Path) -> Result<()> {
    let Some(folder) = path.parent().filter(|p| !p.as_os_str().is_empty()) else {
        return Ok(());
    };
    if exists(folder)? {
        return Ok(());
    }
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::DirBuilderExt;
        builder.mode(0o700);
    }
    builder
        .create(folder)
        .map_err(|e| StoreError::file(folder, e))
}

/// A new empty file beside the store, readable by its owner only. It is made
/// with a name that nothing had before, so a link laid there beforehand is
/// never followed.
pub(super) fn private_file_beside(path: &Path, word: &str) -> Result<PathBuf> {
    for n in 0..1000 {
        let candidate = beside(path, &format!(".{word}-{}-{n}", std::process::id()));
        match create_private(&candidate) {
            Ok(()) => return Ok(candidate),
            Err(e) if e.kind() == ErrorKind::AlreadyExists => {}
            Err(e) => return Err(StoreError::file(&candidate, e)),
        }
    }
    Err(StoreError::file(
        path,
        std::io::Error::other("a thousand leftover files lie beside it"),
    ))
}

/// Makes a file that was not there, readable by its owner only.
pub(super) fn create_private(path: &Path) -> std::io::Result<()> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options.open(path).map(drop)
}

/// The path with something added to the file's name.
pub(super) fn beside(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.as_os_str().to_os_string();
    name.push(suffix);
    PathBuf::from(name)
}

/// Has the disk keep the file's content.
pub(super) fn sync(path: &Path) -> Result<()> {
    apart(path, || {
        File::open(path)
            .and_then(|f| f.sync_all())
            .map_err(|e| StoreError::file(path, e))
    })
}

/// Has the disk keep the file's name. Not every system can; none needs it to read.
pub(super) fn sync_folder(path: &Path) {
    let folder = match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    let _ = File::open(folder).and_then(|f| f.sync_all());
}

pub(super) fn refuse_newer(path: &Path, theirs: i64) -> Result<()> {
    if theirs <= SCHEMA {
        return Ok(());
    }
    Err(Cause::Newer {
        path: path.to_path_buf(),
        theirs,
        ours: SCHEMA,
    }
    .into())
}

/// The description of the tables must be text: names of columns are read from it.
pub(super) fn refuse_garbled(conn: &Connection) -> Result<()> {
    let mut ask = conn.prepare("SELECT name, sql FROM sqlite_schema")?;
    let mut rows = ask.query([])?;
    while let Some(row) = rows.next()? {
        for column in 0..2 {
            if let ValueRef::Text(bytes) = row.get_ref(column)?
                && std::str::from_utf8(bytes).is_err()
            {
                let what = "the description of its tables is garbled";
                return Err(Cause::Damaged(what.to_owned()).into());
            }
        }
    }
    Ok(())
}

pub(super) fn set_up(conn: &Connection) -> Result<()> {
    conn.busy_timeout(BUSY)?;
    conn.set_prepared_statement_cache_capacity(128);
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_DQS_DML, false)?;
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_DQS_DDL, false)?;
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
    conn.pragma_update(None, "foreign_keys", true)?;
    conn.pragma_update(None, "synchronous", "FULL")?;
    conn.pragma_update(None, "cell_size_check", true)?;
    conn.pragma_update(None, "cache_size", CACHE)?;
    Ok(())
}

pub(super) fn user_version(conn: &Connection) -> Result<i64> {
    Ok(conn.query_row("PRAGMA user_version", [], |row| row.get(0))?)
}

/// The migration that gave the register of bottles its columns.
const REGISTER: usize = 4;

/// The migration that sealed all rows, and the hours and days of samples.
const SEALS: usize = 6;

/// The migration after which the class of a bottle is selected and never guessed.
const STRENGTH: usize = 7;

/// What the program does in the transaction of a migration, after its statements.
fn after(migration: usize, tx: &Transaction<'_>) -> HookResult {
    match migration {
        REGISTER => register::from_notes(tx)?,
        SEALS => samples::sum_anew(tx).map_err(hook_error)?,
        STRENGTH => register::forget_guesses(tx)?,
        _ => {}
    }
    if migration >= SEALS {
        // A new column, or a value that was changed, is part of the seal.
        seal::all(tx).map_err(hook_error)?;
    }
    Ok(())
}

#[expect(clippy::needless_pass_by_value, reason = "is mapped over errors")]
fn hook_error(why: StoreError) -> HookError {
    HookError::Hook(why.to_string())
}

fn migrations() -> Result<Migrations<'static>> {
    let all = MigrationsBuilder::from_directory(&MIGRATIONS).map_err(odd_migration)?;
    let hooked = (1..=MIGRATIONS.dirs().count()).fold(all, |all, n| {
        all.edit(n, move |m| {
            m.set_up_hook(move |tx: &Transaction<'_>| after(n, tx))
        })
    });
    Ok(hooked.finalize())
}

/// Makes the tables of an earlier schema in an empty file.
pub(super) fn fill_to(conn: &mut Connection, schema: i64) -> Result<()> {
    let migrations = migrations()?;
    let version = usize::try_from(schema).unwrap_or_default();
    migrations.to_version(conn, version).map_err(odd_migration)
}

pub(super) fn migrate(conn: &mut Connection) -> Result<()> {
    let migrations = migrations()?;
    // What was altered before is not sealed as if it were right.
    let sealed = i64::try_from(SEALS).unwrap_or_default()..SCHEMA;
    let altered = if sealed.contains(&user_version(conn)?) {
        seal::broken(conn)?
    } else {
        Vec::new()
    };
    conn.set_transaction_behavior(TransactionBehavior::Immediate);
    let went = migrations.to_latest(conn);
    conn.set_transaction_behavior(TransactionBehavior::Deferred);
    match went {
        Ok(()) => seal::break_seals(conn, &altered),
        // Another skep migrated between our look and our turn.
        Err(_) if user_version(conn)? == SCHEMA => Ok(()),
        Err(e) => Err(odd_migration(e)),
    }
}

fn odd_migration(error: rusqlite_migration::Error) -> StoreError {
    match error {
        rusqlite_migration::Error::RusqliteError { err, .. } => err.into(),
        other => Cause::Sql(other.to_string()).into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_schema_is_the_number_of_migrations() {
        assert_eq!(usize::try_from(SCHEMA), Ok(MIGRATIONS.dirs().count()));
        migrations().unwrap().validate().unwrap();
    }
}
