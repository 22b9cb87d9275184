use std::fmt;
use std::path::PathBuf;

/// What went wrong with the store, and while doing what.
///
/// Its `Display` is the sentence shown to the maker.
#[derive(Debug)]
pub struct StoreError {
    /// What was being tried: `recording the reading of J2`.
    pub doing: String,
    /// Why it did not work.
    pub cause: Cause,
}

/// Why something with the store did not work.
#[derive(Debug, thiserror::Error)]
pub enum Cause {
    /// The file is something else.
    #[error(
        "{} is not a skep store ({why}); it was left untouched. Name another file with --store, or restore a backup (skep restore)",
        path.display()
    )]
    NotAStore {
        /// Which file.
        path: PathBuf,
        /// How that was seen.
        why: String,
    },
    /// The file was made by a skep that knows more.
    #[error(
        "{} was written by a newer skep (schema {theirs}; this one knows up to {ours}); it was left untouched. \
         Use the newer skep, or restore a backup made before (skep restore)",
        path.display()
    )]
    Newer {
        /// Which file.
        path: PathBuf,
        /// Its schema.
        theirs: i64,
        /// The newest schema known here.
        ours: i64,
    },
    /// The file is there and holds nothing.
    #[error(
        "{} is empty (0 bytes), so whatever it held is gone; it was left untouched. \
         Restore a backup (skep restore), or move the file away to begin anew",
        path.display()
    )]
    Empty {
        /// Which file.
        path: PathBuf,
    },
    /// A journal without the store it belongs to.
    #[error(
        "{} is there but {} is not: the store was moved or lost. Nothing was touched. \
         Bring the store back beside its journal, restore a backup (skep restore), or move the journal away to begin anew",
        journal.display(), path.display()
    )]
    Orphan {
        /// The store that should be there.
        path: PathBuf,
        /// Its journal.
        journal: PathBuf,
    },
    /// There is no store, but copies of one.
    #[error(
        "{} is gone, and {copies} of it are left: it was moved or lost. Nothing was touched. {}. \
         To begin anew all the same, add --new-store",
        path.display(), way_back(newest.as_deref())
    )]
    Lost {
        /// The store that should be there.
        path: PathBuf,
        /// How many copies, in words.
        copies: String,
        /// The newest of them that is whole.
        newest: Option<PathBuf>,
    },
    /// The file under the store's name is another one than when it was opened, or none.
    #[error(
        "{} is no longer the store that was opened: it was moved, deleted or replaced; nothing was changed. \
         Bring it back, or quit and start again",
        path.display()
    )]
    Gone {
        /// Where it was.
        path: PathBuf,
    },
    /// A newer skep has migrated the store while this one had it open.
    #[error(
        "the store was brought to a newer schema by another skep meanwhile; nothing was changed. Quit and start again"
    )]
    SchemaMoved,
    /// Someone else writes for too long.
    #[error(
        "another program has kept the store busy for {seconds} seconds; nothing was changed. Try again"
    )]
    Busy {
        /// How long it was waited for.
        seconds: u64,
    },
    /// No room.
    #[error("the disk is full; nothing was changed. Free some space and try again")]
    Full,
    /// Not to be written to.
    #[error(
        "the store or its folder is read-only: it may not be written to; nothing was changed. Reading and exporting \
         elsewhere still work. Give yourself write permission, start again and try again"
    )]
    ReadOnly,
    /// Cannot be opened at all.
    #[error("the file or its folder cannot be opened ({0}); nothing was changed")]
    CannotOpen(String),
    /// SQLite says that the file is damaged.
    #[error(
        "the store is damaged ({0}); nothing was changed. Restore a backup (skep restore); \
         skep export salvage writes what can still be read"
    )]
    Damaged(String),
    /// The disk failed.
    #[error("the disk reports an error ({0}); nothing was changed")]
    Disk(String),
    /// A file operation failed.
    #[error("{}: {source}", path.display())]
    File {
        /// Which file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A row holds what cannot be.
    #[error("row {row} of table {table} holds what cannot be: {why}")]
    Odd {
        /// Which table.
        table: &'static str,
        /// Which row.
        row: i64,
        /// What is odd.
        why: String,
    },
    /// Undo or redo would break something else.
    #[error("{0}; nothing was changed")]
    Stuck(String),
    /// Anything else that SQLite says.
    #[error("{0}; nothing was changed")]
    Sql(String),
}

fn way_back(newest: Option<&std::path::Path>) -> String {
    newest.map_or_else(
        || "None of them is whole: skep export salvage --store COPY writes what can still be read".to_owned(),
        |copy| {
            format!(
                "The newest whole copy is {}: skep restore --yes brings it back (without --yes it says what is in it)",
                copy.display()
            )
        },
    )
}

impl Cause {
    /// Whether the file itself is at fault, and nothing around it.
    pub(crate) fn is_damage(&self) -> bool {
        matches!(
            self,
            Self::Damaged(_)
                | Self::NotAStore { .. }
                | Self::Newer { .. }
                | Self::Empty { .. }
                | Self::Disk(_)
                | Self::Odd { .. }
                | Self::Sql(_)
        )
    }

    /// The same once more, where a store can't be written and may still be read.
    pub(super) fn unwritable(&self) -> Option<Self> {
        match self {
            Self::ReadOnly => Some(Self::ReadOnly),
            Self::Full => Some(Self::Full),
            Self::CannotOpen(why) => Some(Self::CannotOpen(why.clone())),
            Self::Disk(why) => Some(Self::Disk(why.clone())),
            _ => None,
        }
    }

    /// Whether it may pass by itself, or by what the maker does meanwhile.
    pub fn may_pass(&self) -> bool {
        matches!(
            self,
            Self::Busy { .. }
                | Self::Full
                | Self::ReadOnly
                | Self::CannotOpen(_)
                | Self::Disk(_)
                | Self::Gone { .. }
                | Self::File { .. }
        )
    }
}

/// Short for what the store gives back.
pub type Result<T> = std::result::Result<T, StoreError>;

impl StoreError {
    /// A cause, with what was being tried still to be said.
    pub(crate) fn new(cause: Cause) -> Self {
        Self {
            doing: String::new(),
            cause,
        }
    }

    /// Says what was being tried, unless that was said already.
    #[must_use]
    pub fn doing(mut self, doing: &str) -> Self {
        if self.doing.is_empty() {
            doing.clone_into(&mut self.doing);
        }
        self
    }

    /// A failed file operation.
    pub(crate) fn file(path: &std::path::Path, source: std::io::Error) -> Self {
        Self::new(Cause::File {
            path: path.to_path_buf(),
            source,
        })
    }
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.doing.is_empty() {
            write!(f, "{}", self.cause)
        } else {
            write!(f, "{}: {}", self.doing, self.cause)
        }
    }
}

impl std::error::Error for StoreError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        Some(&self.cause)
    }
}

impl From<Cause> for StoreError {
    fn from(cause: Cause) -> Self {
        Self::new(cause)
    }
}

impl From<rusqlite::Error> for StoreError {
    fn from(error: rusqlite::Error) -> Self {
        Self::new(cause_of(&error))
    }
}

fn cause_of(error: &rusqlite::Error) -> Cause {
    use rusqlite::ErrorCode as Code;
    let rusqlite::Error::SqliteFailure(failure, message) = error else {
        return Cause::Sql(error.to_string());
    };
    let detail = message.clone().unwrap_or_else(|| failure.to_string());
    if failure.extended_code == rusqlite::ffi::SQLITE_IOERR_SHMSIZE {
        return Cause::Disk("the index beside the store finds no room: is it full?".into());
    }
    match failure.code {
        Code::DatabaseBusy | Code::DatabaseLocked | Code::FileLockingProtocolFailed => {
            Cause::Busy {
                seconds: super::open::BUSY.as_secs(),
            }
        }
        Code::DiskFull => Cause::Full,
        Code::ReadOnly | Code::PermissionDenied => Cause::ReadOnly,
        Code::CannotOpen => Cause::CannotOpen(detail),
        Code::DatabaseCorrupt | Code::NotADatabase => Cause::Damaged(detail),
        Code::SystemIoFailure | Code::OutOfMemory | Code::NoLargeFileSupport => Cause::Disk(detail),
        Code::SchemaChanged => Cause::SchemaMoved,
        _ => Cause::Sql(detail),
    }
}

/// Adds what was being tried to whatever went wrong.
pub(crate) trait Doing<T> {
    /// Says what was being tried.
    fn doing(self, doing: &str) -> Result<T>;
}

impl<T, E: Into<StoreError>> Doing<T> for std::result::Result<T, E> {
    fn doing(self, doing: &str) -> Result<T> {
        self.map_err(|e| e.into().doing(doing))
    }
}
