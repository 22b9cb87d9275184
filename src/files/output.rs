//! Files that a maker asks for: never over a store, never over a stranger's file.

use super::whole::{Unfinished, resolved};
use std::fs::{self, File};
use std::io::{self, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

/// What a file holds, and the words by which one that skep wrote is known again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kind {
    /// What it is, with its article, for a sentence.
    pub name: &'static str,
    /// Text that stands in the first lines of such a file; none where nothing tells it apart.
    pub marker: Option<&'static str>,
}

impl Kind {
    /// The whole store as JSON.
    pub const ARCHIVE: Self = Self::marked("an archive", "{\"skep\":\"archive\"");
    /// The schema of an archive.
    pub const SCHEMA: Self = Self::marked("the archive's schema", "urn:skep:archive:");
    /// A calendar.
    pub const CALENDAR: Self = Self::marked("a calendar", "PRODID:-//skep//");
    /// A sheet or labels.
    pub const PAGE: Self = Self::marked("a sheet", "<meta name=\"generator\" content=\"skep\">");
    /// A label without markup.
    pub const TEXT: Self = Self {
        name: "a label",
        marker: None,
    };
    /// A plan.
    pub const PLAN: Self = Self::marked("a plan", "skep_plan = ");
    /// A page of the manual.
    pub const MANUAL: Self = Self::marked("a page of the manual", ".TH skep");

    /// A table, known by its first line.
    pub const fn table(header: &'static str) -> Self {
        Self::marked("a table", header)
    }

    const fn marked(name: &'static str, marker: &'static str) -> Self {
        Self {
            name,
            marker: Some(marker),
        }
    }
}

/// Where and how to write.
#[derive(Debug, Clone, Copy)]
pub struct Target<'a> {
    /// The file; a link is followed.
    pub path: &'a Path,
    /// What will be in it.
    pub kind: Kind,
    /// Whether a file that skep did not write may be replaced. Never covers stores.
    pub replace: bool,
    /// The store in use.
    pub store: &'a Path,
}

/// Why nothing was written. Its `Display` is the sentence for the maker.
#[derive(Debug, thiserror::Error)]
pub enum OutputError {
    /// The target is a store, a copy of one, or another database.
    #[error(
        "{0} is a store, a copy of one, or another database: skep never writes a file over it. Give another name."
    )]
    Store(String),
    /// The target is a file that skep did not write as this kind of output.
    #[error(
        "{path} is there already, and not as {kind} that skep wrote. Give another name, or --replace to replace it."
    )]
    Foreign {
        /// The file.
        path: String,
        /// What would have been written.
        kind: &'static str,
    },
    /// There is no such folder.
    #[error("{path} can't be written: there is no folder {folder}. Make it, or give another name.")]
    NoFolder {
        /// The file.
        path: String,
        /// Its folder.
        folder: String,
    },
    /// The folder takes no new file, and a file is only replaced by one that is whole.
    #[error("{path} can't be written: its folder {folder} can't be written to ({why}).")]
    Folder {
        /// The file.
        path: String,
        /// Its folder.
        folder: String,
        /// What the system says.
        why: io::Error,
    },
    /// The system refused.
    #[error("{path} can't be written: {why}")]
    File {
        /// The file.
        path: String,
        /// What the system says.
        why: io::Error,
    },
}

impl From<io::Error> for OutputError {
    fn from(why: io::Error) -> Self {
        Self::File {
            path: "the output".to_owned(),
            why,
        }
    }
}

/// Writes a file whole or not at all. A file that is there keeps its permissions.
///
/// # Errors
/// [`OutputError`] as `E` where the target may not be replaced or the system
/// refuses; what `write` fails with otherwise. The old file then stays.
pub fn write_output<E: From<io::Error> + From<OutputError>>(
    target: &Target<'_>,
    write: impl FnOnce(&mut dyn Write) -> Result<(), E>,
) -> Result<(), E> {
    let path = checked(target)?;
    let file = Unfinished::beside(&path).map_err(|why| not_begun(target.path, &path, why))?;
    file.fill(write)
}

/// Why a file can't even be begun: mostly its folder.
fn not_begun(asked: &Path, path: &Path, why: io::Error) -> OutputError {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let shown = asked.display().to_string();
    match why.kind() {
        ErrorKind::NotFound if !folder.exists() => OutputError::NoFolder {
            path: shown,
            folder: folder.display().to_string(),
        },
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem
            if !path.exists() || path.is_file() =>
        {
            OutputError::Folder {
                path: shown,
                folder: folder.display().to_string(),
                why,
            }
        }
        _ => OutputError::File { path: shown, why },
    }
}

/// Returns the file that a target means, its links followed, where it may be written.
///
/// # Errors
/// Where it may not.
pub fn checked(target: &Target<'_>) -> Result<PathBuf, OutputError> {
    let shown = || target.path.display().to_string();
    let broken = |why| OutputError::File { path: shown(), why };
    let path = resolved(target.path).map_err(broken)?;
    // By its name and number first: a file of the store in use must not be opened,
    // since closing it would drop the locks that the store's connection holds.
    if is_same(&path, target.store) || is_copy_or_journal(&path) {
        return Err(OutputError::Store(shown()));
    }
    let head = match head(&path) {
        Ok(None) => return Ok(path),
        Ok(Some(head)) => head,
        Err(why) => return Err(broken(why)),
    };
    if is_database(&head) {
        return Err(OutputError::Store(shown()));
    }
    let ours = target
        .kind
        .marker
        .is_some_and(|m| String::from_utf8_lossy(&head).contains(m));
    if head.is_empty() || ours || target.replace {
        return Ok(path);
    }
    Err(OutputError::Foreign {
        path: shown(),
        kind: target.kind.name,
    })
}

/// The first bytes of a plain file; none where there is no file or no plain one.
fn head(path: &Path) -> io::Result<Option<Vec<u8>>> {
    match fs::metadata(path) {
        Ok(there) if there.is_file() => {}
        Ok(there) if there.is_dir() => return Err(io::ErrorKind::IsADirectory.into()),
        _ => return Ok(None),
    }
    let mut head = Vec::new();
    File::open(path)?.take(4096).read_to_end(&mut head)?;
    Ok(Some(head))
}

/// Whether a file begins as a database does, or bears skep's mark in the place of it where its
/// beginning is damaged (the file format of SQLite, section 1.3).
fn is_database(head: &[u8]) -> bool {
    head.starts_with(b"SQLite format 3\0") || head.get(68..72) == Some(b"SKEP")
}

/// Names under which skep keeps copies of stores, also damaged ones, and SQLite its journals.
fn is_copy_or_journal(path: &Path) -> bool {
    let Some(name) = path.file_name().and_then(|n| n.to_str()) else {
        return false;
    };
    let copy =
        name.ends_with(".backup") || [".replaced-", ".schema-"].iter().any(|w| name.contains(w));
    let journal = ["-wal", "-shm", "-journal"].iter().any(|end| {
        name.strip_suffix(end)
            .is_some_and(|store| path.with_file_name(store).exists())
    });
    (copy || journal) && path.exists()
}

#[cfg(unix)]
fn is_same(a: &Path, b: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let id = |p: &Path| fs::metadata(p).map(|m| (m.dev(), m.ino()));
    a == b || matches!((id(a), id(b)), (Ok(a), Ok(b)) if a == b)
}

#[cfg(not(unix))]
fn is_same(a: &Path, b: &Path) -> bool {
    a == b || matches!((a.canonicalize(), b.canonicalize()), (Ok(a), Ok(b)) if a == b)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn write(path: &Path, kind: Kind, replace: bool) -> Result<(), String> {
        let store = path.with_file_name("own.store");
        let target = Target {
            path,
            kind,
            replace,
            store: &store,
        };
        write_output::<Failed>(&target, |out| Ok(out.write_all(b"new")?)).map_err(|e| e.0)
    }

    struct Failed(String);
    impl From<io::Error> for Failed {
        fn from(e: io::Error) -> Self {
            Self(e.to_string())
        }
    }
    impl From<OutputError> for Failed {
        fn from(e: OutputError) -> Self {
            Self(e.to_string())
        }
    }

    #[test]
    fn a_store_is_never_replaced_whatever_is_asked() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::write(at("own.store"), "").unwrap();
        fs::write(at("own.store-wal"), "").unwrap();
        fs::write(at("a.store"), "SQLite format 3\0 and more").unwrap();
        let damaged = [vec![7; 68], b"SKEP".to_vec()].concat();
        fs::write(at("damaged"), damaged).unwrap();
        fs::write(at("skep-2026-01-01-070000.backup"), "damaged").unwrap();
        fs::write(at("own.store.replaced-2026-01-01"), "damaged").unwrap();
        fs::hard_link(at("own.store"), at("other-name")).unwrap();
        for name in [
            "own.store",
            "own.store-wal",
            "a.store",
            "damaged",
            "skep-2026-01-01-070000.backup",
            "own.store.replaced-2026-01-01",
            "other-name",
        ] {
            let before = fs::read(at(name)).unwrap();
            let said = write(&at(name), Kind::CALENDAR, true).unwrap_err();
            assert!(
                said.contains("never writes a file over it"),
                "{name}: {said}"
            );
            assert_eq!(fs::read(at(name)).unwrap(), before);
        }
    }

    #[test]
    fn a_folder_that_is_not_there_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("none/out");
        let said = write(&path, Kind::CALENDAR, false).unwrap_err();
        assert!(said.contains("there is no folder"), "{said}");
        fs::write(folder.path().join("none"), "").unwrap();
        let said = write(&path, Kind::CALENDAR, false).unwrap_err();
        assert!(said.contains("none/out can't be written"), "{said}");
    }

    #[test]
    fn a_stranger_is_replaced_only_when_asked_and_our_own_of_that_kind_always() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("out");
        write(&path, Kind::CALENDAR, false).unwrap();
        fs::write(&path, "a letter").unwrap();
        let said = write(&path, Kind::CALENDAR, false).unwrap_err();
        assert!(said.contains("--replace"), "{said}");
        write(&path, Kind::CALENDAR, true).unwrap();
        fs::write(&path, "BEGIN:VCALENDAR\r\nPRODID:-//skep//skep//EN\r\n").unwrap();
        write(&path, Kind::ARCHIVE, false).unwrap_err();
        write(&path, Kind::CALENDAR, false).unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), "new");
    }
}
