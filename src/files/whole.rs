//! A file written whole or not at all.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter, ErrorKind, Write};
use std::path::{Path, PathBuf};

/// Writes a file: into a new one beside it first, which takes its place when it
/// is whole. A link in its place is followed, one laid in the place of the new
/// file is not. A new file is readable by its owner only; one that was there
/// keeps its permissions. What is no plain file, such as a pipe, is written to
/// as it is.
pub fn write_whole<E: From<io::Error>>(
    path: &Path,
    write: impl FnOnce(&mut dyn Write) -> Result<(), E>,
) -> Result<(), E> {
    Unfinished::beside(&resolved(path)?)?.fill(write)
}

/// A file that is being written.
pub(super) struct Unfinished<'p> {
    path: &'p Path,
    /// Where it lies until it is whole; none for a pipe.
    part: Option<PathBuf>,
    file: File,
}

impl<'p> Unfinished<'p> {
    /// Begins a file; its links have been followed.
    pub(super) fn beside(path: &'p Path) -> io::Result<Self> {
        let there = fs::metadata(path).ok();
        if there.as_ref().is_some_and(|there| !there.is_file()) {
            let file = OpenOptions::new().write(true).open(path)?;
            return Ok(Self {
                path,
                part: None,
                file,
            });
        }
        let (part, file) = new_beside(path)?;
        if let Some(there) = there {
            file.set_permissions(there.permissions())?;
        }
        Ok(Self {
            path,
            part: Some(part),
            file,
        })
    }

    /// Writes it and puts it in place; nothing is left of one that fails half-way.
    pub(super) fn fill<E: From<io::Error>>(
        self,
        write: impl FnOnce(&mut dyn Write) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut file = self.file;
        let Some(part) = self.part else {
            return write(&mut file);
        };
        let mut file = BufWriter::new(file);
        let done = write(&mut file).and_then(|()| Ok(put_in_place(file, &part, self.path)?));
        if done.is_err() {
            let _ = fs::remove_file(&part);
        }
        done
    }
}

/// Returns the file that a path means: links followed, also to a file that is not there yet.
pub(super) fn resolved(path: &Path) -> io::Result<PathBuf> {
    // As many links in a row as Linux follows.
    const MOST: usize = 40;
    let mut path = path.to_path_buf();
    for _ in 0..MOST {
        match fs::read_link(&path) {
            Ok(to) => path = path.parent().map_or(to.clone(), |folder| folder.join(&to)),
            Err(_) => return Ok(path),
        }
    }
    Err(io::Error::other("too many links in a row"))
}

/// Keeps a file under its name with something added, in place of what was there.
pub fn keep_as(path: &Path, old: &Path) -> io::Result<()> {
    let text = fs::read(path)?;
    write_whole(old, |out| out.write_all(&text))
}

fn put_in_place(file: BufWriter<File>, part: &Path, path: &Path) -> io::Result<()> {
    let file = file.into_inner().map_err(io::IntoInnerError::into_error)?;
    file.sync_all()?;
    fs::rename(part, path)
}

fn new_beside(path: &Path) -> io::Result<(PathBuf, File)> {
    for n in 0..1000 {
        let mut name = path.as_os_str().to_os_string();
        name.push(format!(".part-{}-{n}", std::process::id()));
        let part = PathBuf::from(name);
        match create_private(&part) {
            Ok(file) => return Ok((part, file)),
            Err(why) if why.kind() == ErrorKind::AlreadyExists => {}
            Err(why) => return Err(why),
        }
    }
    Err(io::Error::other("a thousand leftover files lie beside it"))
}

fn create_private(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options.open(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(unix)]
    #[test]
    fn a_new_file_is_its_owners_and_no_link_in_place_of_the_part_is_followed() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::write(at("victim"), "precious").unwrap();
        let part = format!("out.part-{}-0", std::process::id());
        symlink(at("victim"), at(&part)).unwrap();
        write_whole(&at("out"), |out| out.write_all(b"mine")).unwrap();
        assert_eq!(fs::read_to_string(at("victim")).unwrap(), "precious");
        assert_eq!(fs::read_to_string(at("out")).unwrap(), "mine");
        let mode = fs::symlink_metadata(at("out")).unwrap().permissions();
        assert_eq!(mode.mode() & 0o777, 0o600);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_is_followed_and_permissions_stay() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::write(at("shared"), "old").unwrap();
        fs::set_permissions(at("shared"), fs::Permissions::from_mode(0o644)).unwrap();
        symlink("shared", at("out")).unwrap();
        symlink("not-there-yet", at("new")).unwrap();
        for (name, file) in [("out", "shared"), ("new", "not-there-yet")] {
            write_whole(&at(name), |out| out.write_all(b"mine")).unwrap();
            assert!(fs::symlink_metadata(at(name)).unwrap().is_symlink());
            assert_eq!(fs::read_to_string(at(file)).unwrap(), "mine");
        }
        let mode = |name: &str| fs::metadata(at(name)).unwrap().permissions().mode() & 0o777;
        assert_eq!((mode("shared"), mode("not-there-yet")), (0o644, 0o600));
    }

    #[test]
    fn what_fails_half_way_leaves_the_old_file_and_nothing_beside() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("out");
        fs::write(&path, "old").unwrap();
        let failed = write_whole(&path, |out| {
            out.write_all(b"half")?;
            Err(io::Error::other("no more"))
        });
        assert_eq!(failed.unwrap_err().to_string(), "no more");
        assert_eq!(fs::read_to_string(&path).unwrap(), "old");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
