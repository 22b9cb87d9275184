//! A home of its own for each test: no store, no settings of anyone else.

use assert_cmd::Command;
use assert_cmd::assert::Assert;
use std::path::PathBuf;
use tempfile::TempDir;

pub(crate) struct Home {
    folder: TempDir,
}

impl Home {
    /// Nothing there yet.
    pub(crate) fn empty() -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
        }
    }

    /// A closet with the jugs J1 and J2.
    pub(crate) fn with_jugs() -> Self {
        let home = Self::empty();
        home.skep("places add closet --usual 68f").success();
        home.skep("vessels add J1 jug 1gal").success();
        home.skep("vessels add J2 jug 1gal --tare 1400g").success();
        home
    }

    /// The same, with a mead in J2 since some days.
    pub(crate) fn with_mead(days: u32) -> Self {
        let home = Self::with_jugs();
        home.skep(&format!(
            "start J2 one-gallon-traditional-mead --name heather --og 1.092 --at -{days}d"
        ))
        .success();
        home
    }

    pub(crate) fn store(&self) -> PathBuf {
        self.folder.path().join("home.store")
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// The binary in this home, in a zone with clock changes.
    pub(crate) fn command(&self) -> Command {
        let mut command = Command::cargo_bin("skep").unwrap();
        command
            .env_clear()
            .env("HOME", self.folder.path())
            .env("TZ", "America/Los_Angeles")
            .env("SKEP_STORE", self.store())
            .current_dir(self.folder.path());
        command
    }

    /// Runs a line of words parted by blanks.
    pub(crate) fn skep(&self, line: &str) -> Assert {
        self.command().args(line.split_whitespace()).assert()
    }

    /// What a line prints, whatever its exit code.
    pub(crate) fn out(&self, line: &str) -> String {
        text(&self.skep(line).get_output().stdout)
    }

    /// What a line prints as JSON.
    pub(crate) fn json(&self, line: &str) -> serde_json::Value {
        serde_json::from_str(&self.out(&format!("{line} --json"))).unwrap()
    }
}

pub(crate) fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}
