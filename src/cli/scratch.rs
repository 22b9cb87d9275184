//! A folder of our own for as long as a run lasts.

use super::trouble::Trouble;
use std::path::{Path, PathBuf};

/// The folder; it goes with this value.
pub(super) struct Scratch(PathBuf);

impl Scratch {
    pub(super) fn new() -> Result<Self, Trouble> {
        let path = std::env::temp_dir().join(format!("skep-{}", std::process::id()));
        let mut builder = std::fs::DirBuilder::new();
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        builder.create(&path).map_err(|why| {
            Trouble::broken(format!(
                "no folder can be made at {}: {why}",
                path.display()
            ))
        })?;
        Ok(Self(path))
    }

    pub(super) fn path(&self) -> &Path {
        &self.0
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        // What stays behind holds nothing of its own; the system clears its folder.
        let _ = std::fs::remove_dir_all(&self.0);
    }
}
