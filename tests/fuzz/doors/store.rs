//! A file opened as a store.

use crate::table::now;
use rusqlite::Connection;
use skep::store::Store;
use skep::work;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

/// A folder in memory where there is one: opening waits for the disk.
fn folder() -> &'static Path {
    static FOLDER: OnceLock<tempfile::TempDir> = OnceLock::new();
    let make = || {
        let memory = Path::new("/dev/shm");
        if memory.is_dir() {
            return tempfile::tempdir_in(memory).unwrap();
        }
        tempfile::tempdir().unwrap()
    };
    FOLDER.get_or_init(make).path()
}

/// A small store with a batch, in pages of 512 bytes: less to wade through.
fn whole() -> &'static [u8] {
    static WHOLE: OnceLock<Vec<u8>> = OnceLock::new();
    WHOLE.get_or_init(|| {
        let (path, small) = (folder().join("whole"), folder().join("small"));
        fs::write(folder().join("archive"), archive()).unwrap();
        let archive = fs::File::open(folder().join("archive")).unwrap();
        Store::rebuild(&path, archive).unwrap();
        let conn = Connection::open(&path).unwrap();
        conn.query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(()))
            .unwrap();
        conn.execute_batch("PRAGMA page_size = 512; VACUUM")
            .unwrap();
        conn.close().unwrap();
        fs::rename(&path, &small).unwrap();
        fs::read(small).unwrap()
    })
}

fn archive() -> Vec<u8> {
    let mut text = Vec::new();
    crate::table::store().archive(&mut text, now()).unwrap();
    text
}

/// The first byte says what the rest is: the file itself, changes to a whole
/// one (a place of three bytes and a new byte each), such changes after a cut,
/// or a journal beside a whole one; and which of eight things is done with the
/// store once it is open, in one file of four, for some take longer than opening.
pub(crate) fn store(data: &[u8]) {
    let Some((kind, rest)) = data.split_first() else {
        return;
    };
    let path = folder().join("s");
    for suffix in ["", "-wal", "-shm", "-journal"] {
        let _ = fs::remove_file(with(&path, suffix));
    }
    let bytes = match kind % 5 {
        0 => rest.to_vec(),
        1 => changed(whole().to_vec(), rest),
        2 => cut(rest),
        n => {
            let name = if n == 3 { "-wal" } else { "-journal" };
            fs::write(with(&path, name), rest).unwrap();
            whole().to_vec()
        }
    };
    fs::write(&path, &bytes).unwrap();
    look(&path, &bytes, kind / 32);
}

fn with(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(suffix);
    name.into()
}

fn changed(mut bytes: Vec<u8>, changes: &[u8]) -> Vec<u8> {
    for change in changes.chunks_exact(4) {
        let at = u32::from_be_bytes([0, change[0], change[1], change[2]]) as usize % bytes.len();
        bytes[at] = change[3];
    }
    bytes
}

fn cut(rest: &[u8]) -> Vec<u8> {
    let (place, changes) = rest.split_at(rest.len().min(3));
    let mut bytes = changed(whole().to_vec(), changes);
    let length = place.iter().fold(0, |n, b| (n << 8) | usize::from(*b));
    bytes.truncate(length % bytes.len());
    bytes
}

/// Nothing that is done with a store may panic, and what is refused stays as it was.
fn look(path: &Path, bytes: &[u8], then: u8) {
    let mut store = match Store::open(path, now()) {
        Ok(store) => store,
        Err(why) => {
            super::shown(&why.to_string());
            assert!(fs::read(path).unwrap() == bytes, "refused, yet written to");
            if then == 7 && one_in(16, bytes) {
                salvage(path);
            }
            return;
        }
    };
    if !one_in(4, bytes) {
        return;
    }
    match then {
        0 => drop(store.changes(100)),
        1 | 2 => drop(store.household(now())),
        3 => drop(store.check(now())),
        4 => {
            if let Some(batch) = store.all_batches().unwrap_or_default().first() {
                let _ = store.ledger(batch.id);
            }
        }
        5 => drop(store.archive(&mut std::io::sink(), now())),
        6 => drop(work::undo(&mut store, now())),
        _ if one_in(16, bytes) => {
            drop(store);
            salvage(path);
        }
        _ => {}
    }
}

/// By what the file holds, so that what is slow is not what is searched most.
fn one_in(count: u8, bytes: &[u8]) -> bool {
    bytes.iter().fold(0_u8, |sum, b| sum.wrapping_add(*b)) % count == 0
}

fn salvage(path: &Path) {
    let _ = Store::salvage(path, folder(), &mut std::io::sink(), now());
}
