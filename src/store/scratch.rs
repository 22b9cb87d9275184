//! A folder of our own for as long as a run lasts.

use super::error::{Result, StoreError};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// Folders left behind under one number of a process that are passed over.
const MOST: u32 = 100;

/// A private folder among the temporary ones; it goes with this value.
#[derive(Debug)]
pub struct Scratch(PathBuf);

impl Scratch {
    /// Makes the folder.
    pub fn new() -> Result<Self> {
        Self::within(&std::env::temp_dir())
    }

    /// A folder of this process within another one. Numbers of processes come
    /// round again, and one that was killed leaves its folder behind.
    fn within(outer: &Path) -> Result<Self> {
        let mut builder = std::fs::DirBuilder::new();
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        let mut tries = 0;
        loop {
            let path = outer.join(format!("skep-{}-{tries}", std::process::id()));
            match builder.create(&path) {
                Ok(()) => return Ok(Self(path)),
                Err(why) if why.kind() == ErrorKind::AlreadyExists && tries < MOST => tries += 1,
                Err(why) => return Err(StoreError::file(&path, why)),
            }
        }
    }

    /// Where it lies.
    pub fn path(&self) -> &Path {
        &self.0
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        // What stays behind holds nothing of its own; the system clears its folder.
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_that_was_left_behind_is_passed_over() {
        let outer = tempfile::tempdir().unwrap();
        let first = Scratch::within(outer.path()).unwrap();
        let second = Scratch::within(outer.path()).unwrap();
        assert_ne!(first.path(), second.path());
        assert!(first.path().is_dir() && second.path().is_dir());
    }
}
