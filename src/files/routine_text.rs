//! A routine written as the text that [`super::routines::parse`] reads.

use super::whole::{keep_as, write_whole};
use super::{Problem, routines};
use crate::domain::records::{Fizz, Opens, Routine, StepKind, StepRule, Style, TooLate};
use serde::Serialize;
use std::path::{Path, PathBuf};

#[derive(Serialize)]
struct Head<'a> {
    title: &'a str,
    style: Style,
    variety: &'a str,
    litres: f64,
    fizz: Fizz,
    #[serde(skip_serializing_if = "Option::is_none")]
    yeast: Option<&'a str>,
    source: &'a str,
    about: &'a str,
    step: Vec<Row<'a>>,
}

#[derive(Serialize)]
struct Row<'a> {
    key: &'a str,
    title: &'a str,
    kind: StepKind,
    window: i32,
    slack: i32,
    weight: u8,
    why: &'a str,
    harm: &'a str,
    amount: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    countdown: Option<u32>,
    order: i32,
    opens: &'a Opens,
    too_late: TooLate,
}

impl<'a> Row<'a> {
    fn of(rule: &'a StepRule) -> Self {
        Self {
            key: &rule.key,
            title: &rule.title,
            kind: rule.kind,
            window: rule.window,
            slack: rule.slack,
            weight: rule.weight,
            why: &rule.why,
            harm: &rule.harm,
            amount: &rule.amount,
            countdown: rule.countdown,
            order: rule.order,
            opens: &rule.opens,
            too_late: rule.too_late,
        }
    }
}

/// The routine as text; reading it back gives the same routine.
pub fn write(routine: &Routine) -> String {
    let head = Head {
        title: &routine.title,
        style: routine.style,
        variety: &routine.variety,
        litres: routine.volume.get(),
        fizz: routine.fizz,
        yeast: routine.yeast.as_deref(),
        source: &routine.source,
        about: &routine.about,
        step: routine.steps.iter().map(Row::of).collect(),
    };
    let body = toml::to_string(&head).unwrap_or_default();
    format!("# A routine for skep; the file's name is its key.\n{body}")
}

/// Writes a routine into the folder of the maker's own, after reading it as
/// skep will read it; an older file of that name is kept as `.old`.
pub fn save(routine: &Routine, folder: &Path) -> Result<PathBuf, Problem> {
    let fault = |file: String, reason: String| Problem {
        file,
        line: None,
        reason,
    };
    let good = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    if routine.key.is_empty() || !routine.key.chars().all(good) {
        return Err(fault(
            routine.key.clone(),
            "the key of a routine is its file's name: letters, digits, - and _ only".into(),
        ));
    }
    let path = folder.join(format!("{}.toml", routine.key));
    let name = path.display().to_string();
    let text = write(routine);
    routines::parse(&name, &text)?;
    let io = |e: std::io::Error| fault(name.clone(), format!("can't be written: {e}"));
    std::fs::create_dir_all(folder).map_err(io)?;
    if path.exists() {
        keep_as(&path, &path.with_extension("toml.old")).map_err(io)?;
    }
    write_whole(&path, |out| out.write_all(text.as_bytes())).map_err(io)?;
    Ok(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_built_in_routine_written_and_read_back_is_the_same() {
        let (all, problems) = routines::load(None);
        assert!(problems.is_empty());
        for routine in all {
            let file = format!("{}.toml", routine.key);
            let back = routines::parse(&file, &write(&routine)).unwrap();
            assert_eq!(back, routine);
        }
    }

    #[test]
    fn what_skep_would_not_read_is_not_written() {
        let folder = tempfile::tempdir().unwrap();
        let mut routine = routines::built_in("ale").unwrap();
        routine.steps[1].key = routine.steps[0].key.clone();
        let said = save(&routine, folder.path()).unwrap_err().to_string();
        assert!(said.contains("two steps have the key"), "{said}");
        routine.key = "../escape".into();
        let said = save(&routine, folder.path()).unwrap_err().to_string();
        assert!(said.contains("letters, digits"), "{said}");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
    }

    #[test]
    fn a_routine_of_one_s_own_is_found_again() {
        let folder = tempfile::tempdir().unwrap();
        let mut routine = routines::built_in("ale").unwrap();
        routine.key = "house-ale".into();
        routine.title = "House ale".into();
        save(&routine, folder.path()).unwrap();
        let (all, problems) = routines::load(Some(folder.path()));
        assert!(problems.is_empty(), "{problems:?}");
        assert!(all.contains(&routine));
    }
}
