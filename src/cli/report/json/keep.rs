//! Copies of the store, and what a look over it found.

use crate::cli::paths::Paths;
use crate::store::BackupFile;
use serde::Serialize;
use std::path::{Path, PathBuf};

#[derive(Debug, Serialize)]
pub(crate) struct BackupsJson {
    pub(crate) folder: String,
    pub(crate) backups: Vec<BackupJson>,
}

#[derive(Debug, Serialize)]
pub(crate) struct BackupJson {
    /// Local time of its making, without an offset.
    at: String,
    path: String,
}

impl BackupJson {
    pub(crate) fn new(file: &BackupFile) -> Self {
        Self {
            at: file.at.format("%Y-%m-%dT%H:%M:%S").to_string(),
            path: file.path.display().to_string(),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct RestoreJson {
    from: String,
    differs: Vec<String>,
    done: bool,
    replaced: Option<String>,
}

impl RestoreJson {
    pub(crate) fn new(from: &Path, differs: &[String], done: Option<&Option<PathBuf>>) -> Self {
        Self {
            from: from.display().to_string(),
            differs: differs.to_vec(),
            done: done.is_some(),
            replaced: done
                .and_then(Option::as_ref)
                .map(|p| p.display().to_string()),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct CheckJson {
    version: &'static str,
    schema: i64,
    store: String,
    config: String,
    backups: Vec<BackupJson>,
    findings: Vec<String>,
}

impl CheckJson {
    pub(crate) fn new(
        paths: &Paths,
        schema: i64,
        backups: &[BackupFile],
        findings: Vec<String>,
    ) -> Self {
        Self {
            version: env!("CARGO_PKG_VERSION"),
            schema,
            store: paths.store.display().to_string(),
            config: paths.config.display().to_string(),
            backups: backups.iter().map(BackupJson::new).collect(),
            findings,
        }
    }
}
