//! Files that hold what can be worked out again: each can be lost at any time.

use std::fs::{self, OpenOptions};
use std::io::{self, Read, Write};
use std::path::Path;

/// No file that skep keeps here comes near it; a larger one is another's.
const LARGEST: u64 = 64 << 20;

/// What was kept; none where nothing can be read.
pub fn get(path: &Path) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    let file = fs::File::open(path).ok()?;
    file.take(LARGEST).read_to_end(&mut bytes).ok()?;
    Some(bytes)
}

/// Keeps bytes for its owner's eyes, whole or not at all. Nothing waits for
/// the disk: what is lost is worked out again.
pub fn put(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    if !folder.is_dir() {
        make_private(folder)?;
    }
    let fresh = path.with_extension(std::process::id().to_string());
    let write = || {
        private(&fresh)?.write_all(bytes)?;
        fs::rename(&fresh, path)
    };
    let done = write();
    if done.is_err() {
        let _ = fs::remove_file(&fresh);
    }
    done
}

fn make_private(folder: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

fn private(path: &Path) -> io::Result<fs::File> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_is_whole_and_its_owners() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a/b/answers");
        assert_eq!(get(&path), None);
        for text in [b"one\ntwo", b"another"] {
            put(&path, text).unwrap();
            assert_eq!(get(&path).as_deref(), Some(&text[..]));
        }
        let beside = fs::read_dir(path.parent().unwrap()).unwrap().count();
        assert_eq!(beside, 1);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = |p: &Path| fs::metadata(p).unwrap().permissions().mode() & 0o777;
            assert_eq!(mode(&path), 0o600);
            assert_eq!(mode(path.parent().unwrap()), 0o700);
        }
        // A folder in its place holds nothing up.
        let taken = folder.path().join("taken");
        fs::create_dir(&taken).unwrap();
        assert_eq!(get(&taken), None);
        assert!(put(&taken, b"text").is_err());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
    }
}
