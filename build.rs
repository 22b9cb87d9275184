//! The migrations are compiled in; a new file among them must cause a build.
//!
//! What is kept of earlier answers bears the number of the sums that gave it.
//! The number is worked out from their source, so that nobody has to think of
//! it: a changed sum, and nothing that was kept before is believed.

use std::fs;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::{Path, PathBuf};

/// All that an answer of the engine, a lesson and a kept dossier hang on.
const SUMS: [&str; 7] = [
    "src/domain",
    "src/engine",
    "src/store/household.rs",
    "src/store/dossiers.rs",
    "src/store/rows",
    "src/store/samples.rs",
    "src/work/learn.rs",
];

fn main() {
    println!("cargo:rerun-if-changed=migrations");
    println!("cargo:rerun-if-changed=build.rs");
    for path in SUMS {
        println!("cargo:rerun-if-changed={path}");
    }
    println!("cargo:rustc-env=SKEP_SUMS={}", number(&sources()));
}

/// The files with their text, in the order of their names.
pub(crate) fn sources() -> Vec<(PathBuf, String)> {
    let mut files = Vec::new();
    for path in SUMS {
        gather(Path::new(path), &mut files);
    }
    files.sort();
    files
}

fn gather(path: &Path, files: &mut Vec<(PathBuf, String)>) {
    if let Ok(inside) = fs::read_dir(path) {
        for entry in inside.map_while(Result::ok) {
            gather(&entry.path(), files);
        }
        return;
    }
    match fs::read_to_string(path) {
        Ok(text) => files.push((path.to_path_buf(), text)),
        Err(why) => panic!("{}: {why}", path.display()),
    }
}

/// One number of all of them, whatever ends their lines.
pub(crate) fn number(files: &[(PathBuf, String)]) -> String {
    let mut hasher = DefaultHasher::new();
    for (path, text) in files {
        path.hash(&mut hasher);
        for line in text.lines() {
            line.hash(&mut hasher);
        }
    }
    format!("{:016x}", hasher.finish())
}
