//! `skep backup`, `skep restore` and `skep check`.

use super::args::{Backup, Restore};
use super::exits::Exit;
use super::report::json::{BackupJson, BackupsJson, CheckJson, RestoreJson};
use super::report::shown;
use super::shell::Shell;
use super::trouble::Trouble;
use crate::app::say;
use crate::domain::records::{Change, ChangeState};
use crate::domain::text::safe;
use crate::store::{self, BackupFile, Finding, SCHEMA, Scratch, Store, StoreError};
use crate::work;
use std::path::{Path, PathBuf};

/// More changes than this are counted, not listed.
const LISTED: usize = 15;

pub(super) fn backup(sh: &mut Shell<'_>, args: &Backup) -> Result<Exit, Trouble> {
    let folder = args.into.clone().unwrap_or_else(|| sh.paths.backups());
    if !args.list {
        let store = sh.open()?;
        let made = store.back_up(&folder, sh.now).map_err(Trouble::store)?;
        sh.saved = Some(format!("a verified copy lies at {}", shown(&made)));
        if !sh.json {
            writeln!(sh.out, "A verified copy lies at {}", shown(&made))?;
            return Ok(Exit::Fine);
        }
    }
    let found = store::backups(&folder).map_err(Trouble::store)?;
    if sh.json {
        let backups = found.iter().map(BackupJson::new).collect();
        let folder = folder.display().to_string();
        sh.print("backups", BackupsJson { folder, backups })?;
        return Ok(Exit::Fine);
    }
    if found.is_empty() {
        writeln!(sh.out, "No backups in {} yet.", shown(&folder))?;
    }
    for file in found {
        let at = file.at.format("%Y-%m-%d %H:%M:%S");
        writeln!(sh.out, "{at}  {}", shown(&file.path))?;
    }
    Ok(Exit::Fine)
}

pub(super) fn restore(sh: &mut Shell<'_>, args: &Restore) -> Result<Exit, Trouble> {
    let from = chosen(sh, args)?;
    let differs = differences(sh, &from)?;
    let replaced = if args.yes {
        let done = store::restore(&from, &sh.paths.store, sh.now).map_err(Trouble::store)?;
        sh.saved = Some(format!("the store of {} is back", shown(&from)));
        Some(done.replaced)
    } else {
        None
    };
    if sh.json {
        let report = RestoreJson::new(&from, &differs, replaced.as_ref());
        sh.print("restore", report)?;
        return Ok(Exit::Fine);
    }
    writeln!(sh.out, "Backup: {}", shown(&from))?;
    for line in &differs {
        writeln!(sh.out, "  {}", safe(line))?;
    }
    match replaced {
        None => writeln!(
            sh.out,
            "Nothing was changed; --yes puts the backup in place."
        )?,
        Some(None) => writeln!(sh.out, "Restored.")?,
        Some(Some(kept)) => writeln!(
            sh.out,
            "Restored. The store that was there is kept at {}, with all that was written until then.",
            shown(&kept)
        )?,
    }
    Ok(Exit::Fine)
}

/// The copy that was named: a file, a day, or the newest that is whole.
fn chosen(sh: &mut Shell<'_>, args: &Restore) -> Result<PathBuf, Trouble> {
    let store = sh.paths.store.clone();
    let folder = sh.paths.backups();
    let mut backups = store::backups(&folder).map_err(Trouble::store)?;
    backups.reverse();
    let all = || store::copies(&store, sh.now).map_err(Trouble::store);
    let found = match &args.from {
        // Where the store is gone, what an earlier restoration replaced may be the newest.
        None if !store.exists() => all()?,
        None => backups,
        Some(word) if Path::new(word).is_file() => {
            let file = PathBuf::from(word);
            let Err(why) = store::verify_file(&file) else {
                return Ok(file);
            };
            return Err(damaged(&why, &all()?));
        }
        Some(word) => {
            let time = "%Y-%m-%d %H:%M:%S";
            backups.retain(|b| b.at.format(time).to_string().starts_with(word));
            if backups.is_empty() {
                return Err(Trouble::not_found(format!(
                    "'{word}' is neither a file nor the day of a backup (such as 2026-08-14) in {}",
                    folder.display()
                )));
            }
            backups
        }
    };
    let Some(newest) = found.first() else {
        return Err(Trouble::not_found(format!(
            "there is no backup in {}",
            folder.display()
        )));
    };
    let (whole, passed) = store::first_whole(&found);
    let Some(whole) = whole else {
        let why = store::verify_file(&newest.path).err();
        return Err(why.map_or_else(
            || Trouble::store("the copies changed meanwhile; try again"),
            |why| damaged(&why, &all().unwrap_or_default()),
        ));
    };
    if passed > 0 && !sh.json {
        writeln!(
            sh.out,
            "{} is damaged, so the next whole copy is taken.",
            shown(&newest.path)
        )?;
    }
    Ok(whole.path.clone())
}

/// Why a copy can't be restored, and which one can.
fn damaged(why: &StoreError, copies: &[BackupFile]) -> Trouble {
    Trouble::store(match store::first_whole(copies) {
        (Some(whole), _) => format!(
            "{why}. The newest whole copy is {}: skep restore {}",
            whole.path.display(),
            whole.path.display()
        ),
        (None, _) => format!("{why}. No whole copy is left"),
    })
}

/// What the store has and the backup has not, in sentences.
fn differences(sh: &Shell<'_>, backup: &Path) -> Result<Vec<String>, Trouble> {
    if !sh.paths.store.exists() {
        return Ok(vec![
            "there is no store yet: the backup becomes it".to_owned(),
        ]);
    }
    // Opened as a copy, so that the backup itself stays as it is.
    let folder = Scratch::new().map_err(Trouble::store)?;
    let copy = folder.path().join("backup.store");
    std::fs::copy(backup, &copy).map_err(Trouble::broken)?;
    let then = changes(&Store::open(&copy, sh.now).map_err(Trouble::store)?)?;
    let Ok(now) = sh.open() else {
        return Ok(vec!["the store can't be opened".to_owned()]);
    };
    // What can't be read is the very reason for restoring: it stops nothing.
    let Ok(now) = changes(&now) else {
        return Ok(vec![
            "the store is damaged: what differs can't be told".to_owned(),
        ]);
    };
    let missing = |a: &[Change], b: &[Change]| -> Vec<String> {
        let there = |c: &Change| {
            b.iter()
                .any(|d| d.id == c.id && d.name == c.name && d.state == c.state)
        };
        a.iter()
            .filter(|c| c.state == ChangeState::Done && !there(c))
            .map(|c| format!("{}: {}", say::when(c.at, sh.now), c.name))
            .collect()
    };
    let mut said = Vec::new();
    tell("would be lost", &missing(&now, &then), &mut said);
    tell("would come back", &missing(&then, &now), &mut said);
    if said.is_empty() {
        said.push("nothing differs".to_owned());
    }
    Ok(said)
}

fn changes(store: &Store) -> Result<Vec<Change>, Trouble> {
    store.changes(u32::MAX).map_err(Trouble::store)
}

fn tell(what: &str, names: &[String], said: &mut Vec<String>) {
    if names.is_empty() {
        return;
    }
    let count = say::count(
        i64::try_from(names.len()).unwrap_or(i64::MAX),
        "change",
        "changes",
    );
    said.push(format!("{count} {what}:"));
    said.extend(names.iter().take(LISTED).map(|n| format!("  {n}")));
    if names.len() > LISTED {
        said.push(format!("  and {} more", names.len() - LISTED));
    }
}

pub(super) fn check(sh: &mut Shell<'_>) -> Result<Exit, Trouble> {
    let store = sh.open()?;
    let found = store.check(sh.now).map_err(Trouble::store)?;
    let findings: Vec<String> = found.iter().map(ToString::to_string).collect();
    let exit = if findings.is_empty() {
        Exit::Fine
    } else {
        Exit::Store
    };
    let backups = store::backups(&sh.paths.backups()).map_err(Trouble::store)?;
    if sh.json {
        sh.print(
            "check",
            CheckJson::new(&sh.paths, SCHEMA, &backups, findings),
        )?;
        return Ok(exit);
    }
    writeln!(
        sh.out,
        "skep {}, tables of version {SCHEMA}",
        env!("CARGO_PKG_VERSION")
    )?;
    writeln!(sh.out, "store     {}", shown(&sh.paths.store))?;
    writeln!(sh.out, "settings  {}", shown(&sh.paths.config))?;
    let last = backups
        .last()
        .map_or("none yet".to_owned(), |b| b.at.to_string());
    writeln!(
        sh.out,
        "backups   {} ({}, the last {last})",
        shown(&sh.paths.backups()),
        backups.len()
    )?;
    let samples = store.sample_count().map_err(Trouble::store)?;
    writeln!(sh.out, "samples   {samples} of loggers")?;
    if findings.is_empty() {
        writeln!(sh.out, "\nNothing is wrong.")?;
    } else {
        writeln!(sh.out, "\nWrong:")?;
    }
    for finding in &findings {
        writeln!(sh.out, "  {}", safe(finding))?;
    }
    if !findings.is_empty() {
        writeln!(sh.out, "\nWhat to do:")?;
        let only_altered = found.iter().all(|f| matches!(f, Finding::Altered(_)));
        let way_out = if only_altered {
            work::way_out_of_altered(&sh.paths.store, sh.now)
        } else {
            work::way_out(&sh.paths.store, sh.now)
        };
        for line in way_out {
            writeln!(sh.out, "  {}", safe(&line))?;
        }
    }
    Ok(exit)
}
