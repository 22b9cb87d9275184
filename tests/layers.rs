//! The house keeps its floors: dependencies point one way only.
//!
//! Reads the source as text and fails when a folder mentions what its layer
//! must not know.

#![expect(clippy::unwrap_used, reason = "a panic here is a failed test")]

use std::fs;
use std::path::{Path, PathBuf};

fn sources(folder: &str) -> Vec<(PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("src")
        .join(folder);
    let mut found = Vec::new();
    let mut waiting = vec![root];
    while let Some(path) = waiting.pop() {
        if path.is_dir() {
            waiting.extend(fs::read_dir(&path).unwrap().map(|e| e.unwrap().path()));
        } else if path.extension().is_some_and(|e| e == "rs") {
            let text = fs::read_to_string(&path).unwrap();
            found.push((path, text));
        }
    }
    found
}

/// Code only: comment lines and all from the first `#[cfg(test)]` on are left out.
fn code(text: &str) -> String {
    let body = text.split("#[cfg(test)]").next().unwrap_or("");
    body.lines()
        .filter(|line| !line.trim_start().starts_with("//"))
        .collect::<Vec<_>>()
        .join("\n")
}

fn must_not_mention(folder: &str, words: &[&str]) {
    let files = sources(folder);
    assert!(!files.is_empty(), "no sources in src/{folder}");
    let mut wrong = Vec::new();
    for (path, text) in files {
        let code = code(&text);
        for word in words {
            if code.contains(word) {
                wrong.push(format!("{} mentions {word}", path.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

const MACHINE: &[&str] = &[
    "rusqlite",
    "ratatui",
    "crossterm",
    "std::fs",
    "std::env",
    "Utc::now",
    "Local::now",
    "SystemTime",
    "Instant::now",
    "crate::clock",
];

const UPSTAIRS: &[&str] = &[
    "crate::store",
    "crate::work",
    "crate::app",
    "crate::tui",
    "crate::cli",
];

#[test]
fn the_domain_is_pure() {
    must_not_mention("domain", MACHINE);
    must_not_mention("domain", UPSTAIRS);
    must_not_mention("domain", &["crate::engine", "crate::files"]);
}

#[test]
fn units_know_nothing_and_sums_know_units() {
    must_not_mention(
        "domain/units",
        &[
            "domain::sums",
            "domain::records",
            "domain::slip",
            "domain::deeds",
        ],
    );
    must_not_mention(
        "domain/sums",
        &["domain::records", "domain::slip", "domain::deeds"],
    );
}

#[test]
fn the_engine_is_pure() {
    must_not_mention("engine", MACHINE);
    must_not_mention("engine", UPSTAIRS);
    must_not_mention("engine", &["crate::files"]);
}

#[test]
fn the_app_knows_no_terminal_and_no_store() {
    must_not_mention(
        "app",
        &[
            "rusqlite",
            "ratatui",
            "crossterm",
            "std::fs",
            "Instant::now",
            "crate::clock",
            "crate::store",
            "crate::tui",
            "crate::cli",
        ],
    );
}

#[test]
fn sql_stands_in_the_store_alone() {
    for folder in ["domain", "engine", "files", "work", "app", "tui", "cli"] {
        must_not_mention(
            folder,
            &[
                "rusqlite",
                "SELECT ",
                "INSERT INTO",
                "UPDATE ",
                "DELETE FROM",
            ],
        );
    }
}

#[test]
fn store_and_files_know_the_domain_only() {
    for folder in ["store", "files"] {
        must_not_mention(
            folder,
            &[
                "crate::engine",
                "crate::work",
                "crate::app",
                "crate::tui",
                "crate::cli",
                "ratatui",
                "crossterm",
            ],
        );
    }
}
