//! Opening: what is refused, what is made, what is migrated.

use super::error::{Cause, Doing, Result, StoreError};
use super::{Store, backup, register};
use crate::domain::units::Moment;
use include_dir::{Dir, include_dir};
use rusqlite::config::DbConfig;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, ErrorCode, OpenFlags, TransactionBehavior};
use rusqlite_migration::{Migrations, MigrationsBuilder};
use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::thread;
use std::time::Duration;

static MIGRATIONS: Dir<'static> = include_dir!("$CARGO_MANIFEST_DIR/migrations");

/// The schema this skep knows: the number of files in `migrations/`.
pub const SCHEMA: i64 = 5;

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

impl Store {
    /// Opens the store in that file; makes it, and its folder, where there is none.
    /// A store of an earlier schema is copied, then migrated; see [`Store::migrated`].
    ///
    /// What is no skep store, or a newer skep's, is refused and left untouched.
    pub fn open(path: &Path, now: Moment) -> Result<Self> {
        let doing = format!("opening the store {}", path.display());
        open(path, now).doing(&doing)
    }

    /// A store in memory, for tests and trials.
    pub fn in_memory() -> Result<Self> {
        let doing = "making a store in memory";
        let mut conn = Connection::open_in_memory().doing(doing)?;
        set_up(&conn).doing(doing)?;
        migrate(&mut conn).doing(doing)?;
        Ok(Self {
            conn,
            path: None,
            file: None,
            migrated: None,
        })
    }
}

fn open(path: &Path, now: Moment) -> Result<Store> {
    if !exists(path)? {
        make(path)?;
    }
    refuse_foreign(path)?;
    // Before it is opened: what comes under the name later is another one.
    let file = file_id(path)?;
    let mut conn = connect(path)?;
    let from = user_version(&conn)?;
    refuse_newer(path, from)?;
    refuse_garbled(&conn)?;
    let migrated = if from < SCHEMA {
        let copy = backup::before_migration(&conn, path, from, now)?;
        migrate(&mut conn)?;
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
        path: Some(path.to_path_buf()),
        file: Some(file),
        migrated,
    })
}

/// Changes to a journal that is written ahead, where it is not one yet. SQLite waits
/// for no other program here, as it does with all else.
fn write_ahead(conn: &Connection) -> Result<()> {
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
fn file_id(path: &Path) -> Result<FileId> {
    use std::os::unix::fs::MetadataExt;
    let meta = fs::metadata(path).map_err(|e| StoreError::file(path, e))?;
    Ok((meta.dev(), meta.ino()))
}

#[cfg(not(unix))]
fn file_id(path: &Path) -> Result<FileId> {
    fs::metadata(path).map_err(|e| StoreError::file(path, e))?;
    Ok((0, 0))
}

impl Store {
    /// The open file must still be the one under its name: what is written into a
    /// file that was deleted or moved meanwhile would be lost.
    pub(super) fn still_there(&self) -> Result<()> {
        match (&self.path, self.file) {
            (Some(path), Some(file)) if !file_id(path).is_ok_and(|now| now == file) => {
                Err(Cause::Gone { path: path.clone() }.into())
            }
            _ => Ok(()),
        }
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
    let made = fill(&fresh).and_then(|()| put_in_place(&fresh, path));
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

pub(super) fn put_in_place(fresh: &Path, path: &Path) -> Result<()> {
    match fs::hard_link(fresh, path) {
        // Another skep was quicker: its store is as good.
        Err(e) if e.kind() == ErrorKind::AlreadyExists => return Ok(()),
        Ok(()) => {}
        // A file system without links: rename, after one more look.
        Err(_) if !exists(path)? => {
            fs::rename(fresh, path).map_err(|e| StoreError::file(path, e))?;
        }
        Err(_) => return Ok(()),
    }
    sync_folder(path);
    Ok(())
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
    File::open(path)
        .and_then(|f| f.sync_all())
        .map_err(|e| StoreError::file(path, e))
}

/// Has the disk keep the file's name. Not every system can; none needs it to read.
pub(super) fn sync_folder(path: &Path) {
    let folder = match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    let _ = File::open(folder).and_then(|f| f.sync_all());
}

/// Looks at the head of the file without SQLite, which might change it.
pub(super) fn refuse_foreign(path: &Path) -> Result<()> {
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

fn refuse_newer(path: &Path, theirs: i64) -> Result<()> {
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

pub(super) fn connect(path: &Path) -> Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let conn = Connection::open_with_flags(path, flags)?;
    set_up(&conn)?;
    Ok(conn)
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

fn migrations() -> Result<Migrations<'static>> {
    let all = MigrationsBuilder::from_directory(&MIGRATIONS).map_err(odd_migration)?;
    Ok(all
        .edit(REGISTER, |m| m.set_up_hook(register::from_notes))
        .finalize())
}

/// Makes the tables of an earlier schema in an empty file.
pub(super) fn fill_to(conn: &mut Connection, schema: i64) -> Result<()> {
    let migrations = migrations()?;
    let version = usize::try_from(schema).unwrap_or_default();
    migrations.to_version(conn, version).map_err(odd_migration)
}

pub(super) fn migrate(conn: &mut Connection) -> Result<()> {
    let migrations = migrations()?;
    conn.set_transaction_behavior(TransactionBehavior::Immediate);
    let went = migrations.to_latest(conn);
    conn.set_transaction_behavior(TransactionBehavior::Deferred);
    match went {
        Ok(()) => Ok(()),
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
