//! A home of its own for each test: no store, no settings of anyone else.

use crate::clock;
use assert_cmd::Command;
use assert_cmd::assert::Assert;
use std::path::PathBuf;
use tempfile::TempDir;

pub(crate) struct Home {
    folder: TempDir,
    /// The clock and the zone of its programs.
    time: [(&'static str, String); 2],
}

impl Home {
    /// Nothing there yet.
    pub(crate) fn empty() -> Self {
        Self::in_time(clock::environment())
    }

    /// The same by another clock than that of the tests.
    pub(crate) fn in_time(time: [(&'static str, String); 2]) -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
            time,
        }
    }

    /// Sets the clock for the programs from now on.
    pub(crate) fn set_time(&mut self, time: [(&'static str, String); 2]) {
        self.time = time;
    }

    /// A closet with the jugs J1 and J2.
    pub(crate) fn with_jugs() -> Self {
        let home = Self::empty();
        home.add_jugs();
        home
    }

    pub(crate) fn add_jugs(&self) {
        self.skep("places add closet --usual 68f").success();
        self.skep("vessels add J1 jug 1gal").success();
        self.skep("vessels add J2 jug 1gal --tare 1400g").success();
    }

    /// The same, with a mead in J2 since some days.
    pub(crate) fn with_mead(days: u32) -> Self {
        let home = Self::with_jugs();
        home.start_mead(days);
        home
    }

    pub(crate) fn start_mead(&self, days: u32) {
        self.skep(&format!(
            "start J2 one-gallon-traditional-mead --name heather --og 1.092 --at -{days}d"
        ))
        .success();
    }

    pub(crate) fn store(&self) -> PathBuf {
        self.folder.path().join("home.store")
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// The binary in this home, with the clock and the zone of the tests.
    pub(crate) fn process(&self) -> std::process::Command {
        let mut command = std::process::Command::new(assert_cmd::cargo::cargo_bin!("skep"));
        command
            .env_clear()
            .envs(self.time.clone())
            .env("HOME", self.folder.path())
            .env("SKEP_STORE", self.store())
            .current_dir(self.folder.path());
        command
    }

    /// The same, to be asserted about.
    pub(crate) fn command(&self) -> Command {
        Command::from_std(self.process())
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

/// Eight in the morning of five days ago, as a table has it.
pub(crate) fn five_days_ago() -> String {
    let day = clock::now().plus_days(-5.0).day();
    format!("{day} 08:00")
}
