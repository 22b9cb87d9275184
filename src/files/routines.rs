//! Routines as TOML: built in, and the maker's own.

use super::Problem;
use crate::domain::records::{Fizz, Opens, Routine, StepKind, StepRule, Style, TooLate};
use crate::domain::units::{LITRES_PER_US_GALLON, Litres};
use include_dir::{Dir, include_dir};
use serde::Deserialize;
use std::collections::HashMap;
use std::path::Path;
use toml::Spanned;

static BUILT_IN: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/assets/routines");

/// Farthest day from pitching that a routine may name: ten years.
const FARTHEST: i32 = 3660;

/// A routine as its file writes it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RoutineFile {
    title: String,
    style: Style,
    #[serde(default)]
    variety: String,
    gallons: Option<Spanned<f64>>,
    litres: Option<Spanned<f64>>,
    #[serde(default = "still")]
    fizz: Fizz,
    yeast: Option<String>,
    #[serde(default)]
    source: String,
    #[serde(default)]
    about: String,
    #[serde(default, rename = "step")]
    steps: Vec<Spanned<StepFile>>,
}

fn still() -> Fizz {
    Fizz::Still
}

/// A step as its file writes it; what is left out is nothing.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StepFile {
    key: Spanned<String>,
    title: String,
    kind: StepKind,
    opens: Spanned<Opens>,
    #[serde(default)]
    window: i32,
    #[serde(default)]
    slack: i32,
    #[serde(default = "never")]
    too_late: TooLate,
    #[serde(default)]
    why: String,
    #[serde(default)]
    harm: String,
    #[serde(default)]
    weight: u8,
    #[serde(default)]
    amount: String,
    countdown: Option<u32>,
    order: Option<i32>,
}

fn never() -> TooLate {
    TooLate::Never
}

/// The built-in routines and those in `own`, by title; a routine of the maker's
/// takes the place of a built-in one with the same key. A bad file is named and
/// left out. A folder that does not exist holds nothing.
pub fn load(own: Option<&Path>) -> (Vec<Routine>, Vec<Problem>) {
    let mut found: HashMap<String, Routine> = HashMap::new();
    let mut problems = Vec::new();
    for file in BUILT_IN.files() {
        let name = file.path().display().to_string();
        match file.contents_utf8() {
            Some(text) => keep(parse(&name, text), &mut found, &mut problems),
            None => problems.push(not_text(&name)),
        }
    }
    if let Some(folder) = own {
        for (name, text) in own_files(folder, &mut problems) {
            keep(parse(&name, &text), &mut found, &mut problems);
        }
    }
    let mut routines: Vec<Routine> = found.into_values().collect();
    routines.sort_by(|a, b| a.title.cmp(&b.title).then_with(|| a.key.cmp(&b.key)));
    (routines, problems)
}

/// The built-in routine with that key.
pub fn built_in(key: &str) -> Option<Routine> {
    let name = format!("{key}.toml");
    let text = BUILT_IN.get_file(&name)?.contents_utf8()?;
    parse(&name, text).ok()
}

fn keep(
    parsed: Result<Routine, Problem>,
    found: &mut HashMap<String, Routine>,
    problems: &mut Vec<Problem>,
) {
    match parsed {
        Ok(routine) => {
            found.insert(routine.key.clone(), routine);
        }
        Err(problem) => problems.push(problem),
    }
}

fn not_text(file: &str) -> Problem {
    Problem {
        file: file.to_owned(),
        line: None,
        reason: "is not a text file in UTF-8".into(),
    }
}

fn own_files(folder: &Path, problems: &mut Vec<Problem>) -> Vec<(String, String)> {
    let entries = match std::fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Vec::new(),
        Err(e) => {
            problems.push(Problem {
                file: folder.display().to_string(),
                line: None,
                reason: format!("can't be listed: {e}"),
            });
            return Vec::new();
        }
    };
    let mut paths: Vec<_> = entries
        .filter_map(|e| Some(e.ok()?.path()))
        .filter(|p| p.extension().is_some_and(|e| e == "toml"))
        .collect();
    paths.sort();
    let mut out = Vec::new();
    for path in paths {
        let name = path.display().to_string();
        match std::fs::read_to_string(&path) {
            Ok(text) => out.push((name, text)),
            Err(e) if e.kind() == std::io::ErrorKind::InvalidData => problems.push(not_text(&name)),
            Err(e) => problems.push(Problem {
                file: name,
                line: None,
                reason: format!("can't be read: {e}"),
            }),
        }
    }
    out
}

/// One routine from its text; `file` names it and gives its key.
pub fn parse(file: &str, text: &str) -> Result<Routine, Problem> {
    let raw: RoutineFile = toml::from_str(text).map_err(|e| Problem::toml(file, text, &e))?;
    let fault = |at: Option<usize>, reason: String| Problem::at(file, text, at, reason);
    let key = Path::new(file)
        .file_stem()
        .map(|s| s.to_string_lossy().into_owned())
        .unwrap_or_default();
    if raw.title.trim().is_empty() {
        return Err(fault(None, "`title` is empty".into()));
    }
    let volume = volume(&raw, &fault)?;
    if raw.steps.is_empty() {
        return Err(fault(None, "there is no [[step]]".into()));
    }
    check_steps(&raw.steps, &fault)?;
    Ok(Routine {
        key,
        title: raw.title,
        style: raw.style,
        variety: raw.variety,
        volume,
        fizz: raw.fizz,
        yeast: raw.yeast,
        source: raw.source,
        about: raw.about,
        steps: raw
            .steps
            .into_iter()
            .enumerate()
            .map(|(i, s)| rule(i, s.into_inner()))
            .collect(),
    })
}

type Fault<'a> = &'a dyn Fn(Option<usize>, String) -> Problem;

fn volume(raw: &RoutineFile, fault: Fault<'_>) -> Result<Litres, Problem> {
    let (given, litres) = match (&raw.gallons, &raw.litres) {
        (Some(g), None) => (g, g.get_ref() * LITRES_PER_US_GALLON),
        (None, Some(l)) => (l, *l.get_ref()),
        (Some(_), Some(l)) => {
            return Err(fault(
                Some(l.span().start),
                "give `gallons` or `litres`, not both".into(),
            ));
        }
        (None, None) => {
            return Err(fault(
                None,
                "`gallons` or `litres` is missing: the volume that the amounts are written for"
                    .into(),
            ));
        }
    };
    let at = Some(given.span().start);
    match Litres::new(litres) {
        Ok(v) if v.get() > 0.0 => Ok(v),
        Ok(_) => Err(fault(at, "the volume must be more than nothing".into())),
        Err(e) => Err(fault(at, e.to_string())),
    }
}

fn check_steps(steps: &[Spanned<StepFile>], fault: Fault<'_>) -> Result<(), Problem> {
    let mut hangs_on: HashMap<&str, &str> = HashMap::new();
    let mut keys: HashMap<&str, usize> = HashMap::new();
    for step in steps {
        let s = step.get_ref();
        let at = Some(s.key.span().start);
        let key = s.key.get_ref().as_str();
        if key.trim().is_empty() {
            return Err(fault(at, "`key` is empty".into()));
        }
        if keys.insert(key, s.key.span().start).is_some() {
            return Err(fault(at, format!("two steps have the key `{key}`")));
        }
        check_numbers(s, fault)?;
        if let Opens::After { step, .. } = s.opens.get_ref() {
            hangs_on.insert(key, step);
        }
    }
    for step in steps {
        let s = step.get_ref();
        let Opens::After { step: on, .. } = s.opens.get_ref() else {
            continue;
        };
        let at = Some(s.opens.span().start);
        if !keys.contains_key(on.as_str()) {
            return Err(fault(at, format!("there is no step with the key `{on}`")));
        }
        if goes_round(s.key.get_ref(), &hangs_on) {
            return Err(fault(at, format!("`{}` waits for itself", s.key.get_ref())));
        }
    }
    Ok(())
}

fn goes_round(start: &str, hangs_on: &HashMap<&str, &str>) -> bool {
    let mut here = start;
    for _ in 0..=hangs_on.len() {
        match hangs_on.get(here) {
            Some(next) if *next == start => return true,
            Some(next) => here = next,
            None => return false,
        }
    }
    false
}

fn check_numbers(s: &StepFile, fault: Fault<'_>) -> Result<(), Problem> {
    let at = Some(s.key.span().start);
    let key = s.key.get_ref();
    let whole = 0..=FARTHEST;
    let days = match s.opens.get_ref() {
        Opens::Day { day } => vec![*day],
        Opens::SugarGone { or_day, .. } => or_day.iter().copied().collect(),
        Opens::Finished { days, not_before } => std::iter::once(*days).chain(*not_before).collect(),
        Opens::After { days, .. } | Opens::Stable { days } => vec![*days],
    };
    let late = match s.too_late {
        TooLate::Day { day } => Some(day),
        TooLate::DaysAfterDue { days } => Some(days),
        TooLate::Never | TooLate::SugarGone { .. } => None,
    };
    if let Some(day) = days
        .into_iter()
        .chain(late)
        .find(|d| !(-FARTHEST..=FARTHEST).contains(d))
    {
        let reason = format!("step `{key}`: day {day} is too far: accepted is up to {FARTHEST}");
        return Err(fault(at, reason));
    }
    for (word, value) in [("window", s.window), ("slack", s.slack)] {
        if !whole.contains(&value) {
            let reason = format!(
                "step `{key}`: `{word}` {value} is not possible: accepted is 0 to {FARTHEST}"
            );
            return Err(fault(at, reason));
        }
    }
    if s.weight > 3 {
        let reason = format!(
            "step `{key}`: `weight` {} is not possible: accepted is 0 to 3",
            s.weight
        );
        return Err(fault(at, reason));
    }
    if s.countdown.is_some_and(|c| c == 0 || c > 86_400) {
        let reason = format!("step `{key}`: `countdown` is in seconds: accepted is 1 to 86400");
        return Err(fault(at, reason));
    }
    Ok(())
}

fn rule(index: usize, s: StepFile) -> StepRule {
    StepRule {
        key: s.key.into_inner(),
        title: s.title,
        kind: s.kind,
        opens: s.opens.into_inner(),
        window: s.window,
        slack: s.slack,
        too_late: s.too_late,
        why: s.why,
        harm: s.harm,
        weight: s.weight,
        amount: s.amount,
        countdown: s.countdown,
        order: s
            .order
            .unwrap_or_else(|| i32::try_from(index).unwrap_or(i32::MAX - 1) + 1),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEAD: &str = "title = \"T\"\nstyle = \"mead\"\ngallons = 1\n";

    fn why_not(text: &str) -> String {
        parse("mine.toml", text).unwrap_err().to_string()
    }

    #[test]
    fn the_built_in_ones_are_all_good() {
        let (routines, problems) = load(None);
        assert_eq!(problems, []);
        let mut keys: Vec<&str> = routines.iter().map(|r| r.key.as_str()).collect();
        keys.sort_unstable();
        assert_eq!(
            keys,
            [
                "ale",
                "cider",
                "five-gallon-mead",
                "lager",
                "mead-on-fruit",
                "one-gallon-traditional-mead"
            ]
        );
        for r in &routines {
            assert_eq!(r.source, "common practice, no source", "{}", r.key);
            assert!(
                r.steps.iter().any(|s| s.kind == StepKind::Bottle),
                "{}",
                r.key
            );
            for s in &r.steps {
                assert!(
                    !s.why.is_empty() && !s.harm.is_empty(),
                    "{} {}",
                    r.key,
                    s.key
                );
            }
        }
    }

    #[test]
    fn a_bad_file_is_named_with_line_and_reason() {
        let step = "[[step]]\nkey = \"a\"\ntitle = \"A\"\nkind = \"dance\"\nopens = { by = \"day\", day = 1 }\n";
        let said = why_not(&format!("{HEAD}{step}"));
        assert!(said.starts_with("mine.toml, line 7: "), "{said}");
        assert!(said.contains("dance") && said.contains("swirl"), "{said}");

        let step = "[[step]]\nkey = \"a\"\ntitle = \"A\"\nkind = \"swirl\"\nopens = { by = \"after\", step = \"b\", days = 1 }\n";
        assert_eq!(
            why_not(&format!("{HEAD}{step}")),
            "mine.toml, line 8: there is no step with the key `b`"
        );
        assert_eq!(
            why_not(&format!("{HEAD}{}", step.replace("\"b\"", "\"a\""))),
            "mine.toml, line 8: `a` waits for itself"
        );
        let step = "[[step]]\nkey = \"a\"\ntitle = \"A\"\nkind = \"swirl\"\nopens = { by = \"day\", day = 1 }\nweight = 4\n";
        assert_eq!(
            why_not(&format!("{HEAD}{step}")),
            "mine.toml, line 5: step `a`: `weight` 4 is not possible: accepted is 0 to 3"
        );
        assert_eq!(why_not(HEAD), "mine.toml: there is no [[step]]");
        assert!(why_not("title = \n").starts_with("mine.toml, line 1: "));
    }

    #[test]
    fn a_bad_file_of_ones_own_does_not_hide_the_others() {
        let folder = tempfile::tempdir().unwrap();
        let good = BUILT_IN
            .get_file("ale.toml")
            .unwrap()
            .contents_utf8()
            .unwrap();
        std::fs::write(folder.path().join("bad.toml"), "title = 3\n").unwrap();
        std::fs::write(folder.path().join("house-ale.toml"), good).unwrap();
        std::fs::write(
            folder.path().join("cider.toml"),
            good.replace("title = \"Ale\"", "title = \"Not cider\""),
        )
        .unwrap();
        std::fs::write(folder.path().join("notes.txt"), "no routine").unwrap();
        let (routines, problems) = load(Some(folder.path()));
        assert_eq!(problems.len(), 1);
        assert!(problems[0].file.ends_with("bad.toml"));
        assert_eq!(problems[0].line, Some(1));
        assert!(routines.iter().any(|r| r.key == "house-ale"));
        assert!(
            routines
                .iter()
                .any(|r| r.key == "cider" && r.title == "Not cider")
        );
        assert_eq!(routines.len(), 7);
        let none = load(Some(&folder.path().join("nowhere")));
        assert_eq!((none.0.len(), none.1.len()), (6, 0));
    }
}
