//! `skep routines`.

use super::args::Routines;
use super::exits::Exit;
use super::report::json::{RoutineJson, RoutinesJson};
use super::report::text;
use super::shell::Shell;
use super::trouble::Trouble;
use crate::domain::records::{Routine, Settings, YeastClass};
use crate::domain::text::safe;
use crate::files;

/// Every routine, and what was wrong with the user's own files.
pub(super) fn load(sh: &Shell<'_>) -> (Vec<Routine>, Vec<String>) {
    let (routines, problems) = files::routines::load(Some(&sh.paths.routines()));
    (routines, problems.iter().map(ToString::to_string).collect())
}

/// The yeast class of that key.
pub(super) fn yeast(sh: &Shell<'_>, key: Option<&str>) -> Option<YeastClass> {
    let (classes, _) = files::yeasts::load(Some(&sh.paths.yeasts()));
    classes.into_iter().find(|c| Some(c.key.as_str()) == key)
}

/// The routine of that key, or the only one whose key begins so.
pub(super) fn find<'r>(all: &'r [Routine], key: &str) -> Result<&'r Routine, Trouble> {
    let wanted = key.to_lowercase();
    if let Some(exact) = all.iter().find(|r| r.key.to_lowercase() == wanted) {
        return Ok(exact);
    }
    let begin: Vec<&Routine> = all
        .iter()
        .filter(|r| r.key.to_lowercase().starts_with(&wanted))
        .collect();
    let names = |found: &[&Routine]| {
        let keys: Vec<String> = found.iter().map(|r| safe(&r.key)).collect();
        keys.join(", ")
    };
    match begin.as_slice() {
        [only] => Ok(only),
        [] => Err(Trouble::not_found(format!(
            "there is no routine '{key}'; there are {}",
            names(&all.iter().collect::<Vec<_>>())
        ))),
        several => Err(Trouble::usage(format!(
            "'{key}' can mean several routines: {}",
            names(several)
        ))),
    }
}

pub(super) fn routines(sh: &mut Shell<'_>, args: &Routines) -> Result<Exit, Trouble> {
    let (all, problems) = load(sh);
    let shown: Vec<&Routine> = match &args.key {
        Some(key) => vec![find(&all, key)?],
        None => all.iter().collect(),
    };
    if sh.json {
        let routines = shown.iter().map(|r| RoutineJson::new(r)).collect();
        sh.print("routines", RoutinesJson { routines, problems })?;
        return Ok(Exit::Fine);
    }
    // Without a store the units are the usual ones.
    let settings = sh
        .load()
        .map_or_else(|_| Settings::default(), |(_, h)| h.settings);
    if let (Some(_), [only]) = (&args.key, shown.as_slice()) {
        text::routine(sh.out, only, &settings)?;
    } else {
        for routine in shown {
            writeln!(
                sh.out,
                "{:<28} {}",
                safe(&routine.key),
                safe(&routine.title)
            )?;
        }
    }
    for problem in problems {
        writeln!(sh.out, "Left out: {}", safe(&problem))?;
    }
    Ok(Exit::Fine)
}
