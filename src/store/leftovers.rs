//! What a killed run left behind: half-made files with the number of its process.

use super::open::beside;
use std::fs;
use std::path::Path;

/// Words between a file's name and the number of the process that was making it.
const WORDS: [&str; 3] = [".new-", ".rebuilt-", ".part-"];

/// Removes the half-made stores beside a store whose process is gone.
pub(super) fn clear_beside(store: &Path) {
    let (Some(folder), Some(name)) = (store.parent(), store.file_name().and_then(|n| n.to_str()))
    else {
        return;
    };
    let here = Path::new(".");
    let folder = if folder.as_os_str().is_empty() {
        here
    } else {
        folder
    };
    clear(folder, |file| file == name);
}

/// Removes the half-made copies in a folder of backups whose process is gone.
pub(super) fn clear_backups(folder: &Path) {
    clear(folder, |file| super::backup::stamp_of(file).is_some());
}

/// Best effort: what can't be removed now is removed at another start.
fn clear(folder: &Path, ours: impl Fn(&str) -> bool) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name();
        let gone = name
            .to_str()
            .and_then(maker)
            .is_some_and(|(file, process)| ours(file) && is_gone(process));
        if gone && entry.file_type().is_ok_and(|t| t.is_file()) {
            for suffix in ["", "-wal", "-shm", "-journal"] {
                let _ = fs::remove_file(beside(&entry.path(), suffix));
            }
        }
    }
}

/// The file that was being made under this name, and by which process.
fn maker(name: &str) -> Option<(&str, i32)> {
    WORDS.iter().find_map(|word| {
        let (file, rest) = name.rsplit_once(word)?;
        let (process, count) = rest.split_once('-')?;
        let plain = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
        (plain(process) && plain(count))
            .then(|| process.parse().ok())?
            .map(|process| (file, process))
    })
}

/// Numbers of processes come round again: a file whose number is in use stays.
#[cfg(unix)]
fn is_gone(process: i32) -> bool {
    use rustix::io::Errno;
    use rustix::process::{Pid, test_kill_process};
    Pid::from_raw(process).is_some_and(|pid| test_kill_process(pid) == Err(Errno::SRCH))
}

#[cfg(not(unix))]
fn is_gone(_: i32) -> bool {
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_names_of_half_made_files_have_a_maker() {
        assert_eq!(maker("s.store.new-12-0"), Some(("s.store", 12)));
        assert_eq!(maker("a.backup.part-7-3"), Some(("a.backup", 7)));
        for other in [
            "s.store",
            "s.store.new-12",
            "s.store.new-x-0",
            "s.store.new-12-0-wal",
            "s.store.replaced-2026-12-01",
            "s.new-99999999999999-0",
        ] {
            assert_eq!(maker(other), None, "{other}");
        }
    }
}
