//! Yeast classes as TOML: built in, and the maker's own.

use super::Problem;
use crate::domain::records::YeastClass;
use serde::Deserialize;
use std::path::Path;
use toml::Spanned;

const BUILT_IN: &str = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/assets/yeasts.toml"));

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct YeastFile {
    #[serde(default)]
    yeast: Vec<Spanned<YeastClass>>,
}

/// The built-in classes and those in the file `own`, in order; one of the
/// maker's takes the place of a built-in one with the same key. A bad file is
/// named and left out; a file that does not exist holds nothing.
pub fn load(own: Option<&Path>) -> (Vec<YeastClass>, Vec<Problem>) {
    let mut problems = Vec::new();
    let mut classes = Vec::new();
    match parse("yeasts.toml", BUILT_IN) {
        Ok(found) => classes = found,
        Err(problem) => problems.push(problem),
    }
    let Some(path) = own else {
        return (classes, problems);
    };
    let name = path.display().to_string();
    let text = match std::fs::read_to_string(path) {
        Ok(text) => text,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return (classes, problems),
        Err(e) => {
            problems.push(Problem {
                file: name,
                line: None,
                reason: format!("can't be read: {e}"),
            });
            return (classes, problems);
        }
    };
    match parse(&name, &text) {
        Ok(mine) => {
            classes.retain(|c| mine.iter().all(|m| m.key != c.key));
            classes.extend(mine);
        }
        Err(problem) => problems.push(problem),
    }
    (classes, problems)
}

/// The built-in class with that key.
pub fn built_in(key: &str) -> Option<YeastClass> {
    parse("yeasts.toml", BUILT_IN)
        .ok()?
        .into_iter()
        .find(|c| c.key == key)
}

/// Classes from the text of a file.
pub fn parse(file: &str, text: &str) -> Result<Vec<YeastClass>, Problem> {
    let raw: YeastFile = toml::from_str(text).map_err(|e| Problem::toml(file, text, &e))?;
    let mut out: Vec<YeastClass> = Vec::new();
    for yeast in raw.yeast {
        let at = Some(yeast.span().start);
        let class = yeast.into_inner();
        let fault = |reason: String| Problem::at(file, text, at, reason);
        let b = class.band;
        if class.key.trim().is_empty() {
            return Err(fault("`key` is empty".into()));
        }
        if out.iter().any(|c| c.key == class.key) {
            return Err(fault(format!("two yeasts have the key `{}`", class.key)));
        }
        if !(b.min <= b.low && b.low < b.high && b.high <= b.max) {
            let reason = format!(
                "yeast `{}`: temperatures must rise: min, low, high, max",
                class.key
            );
            return Err(fault(reason));
        }
        if class.attenuation.is_some_and(|a| !(a > 0.0 && a <= 110.0)) {
            let reason = format!(
                "yeast `{}`: `attenuation` is in %: accepted is 1 to 110",
                class.key
            );
            return Err(fault(reason));
        }
        out.push(class);
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::routines;

    #[test]
    fn every_routine_names_a_class_that_exists() {
        let (classes, problems) = load(None);
        assert_eq!(problems, []);
        for r in routines::load(None).0 {
            let key = r.yeast.unwrap();
            let class = classes.iter().find(|c| c.key == key);
            assert!(class.is_some_and(|c| c.styles.contains(&r.style)), "{key}");
        }
        assert!(
            classes
                .iter()
                .all(|c| c.source == "common practice, no source")
        );
    }

    #[test]
    fn a_band_that_does_not_rise_is_named() {
        let text = BUILT_IN.replacen("low = 16, high = 24", "low = 26, high = 24", 1);
        let said = parse("mine.toml", &text).unwrap_err().to_string();
        assert_eq!(
            said,
            "mine.toml, line 6: yeast `wine`: temperatures must rise: min, low, high, max"
        );
    }
}
