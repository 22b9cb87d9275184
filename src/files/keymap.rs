//! The maker's own keys, as a file asks for them; what they mean is not known here.

use super::Problem;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::Path;

/// Place, word at the foot, names of keys.
pub type Wanted = BTreeMap<String, BTreeMap<String, Vec<String>>>;

/// One key, or several.
#[derive(Deserialize)]
#[serde(untagged)]
enum Keys {
    One(String),
    Several(Vec<String>),
}

/// What the file asks for, and what was wrong with it; a file that does not
/// exist asks for nothing.
pub fn load(path: &Path) -> (Wanted, Vec<Problem>) {
    let file = path.display().to_string();
    match std::fs::read_to_string(path) {
        Ok(text) => match parse(&file, &text) {
            Ok(wanted) => (wanted, Vec::new()),
            Err(problem) => (Wanted::new(), vec![problem]),
        },
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => (Wanted::new(), Vec::new()),
        Err(e) => {
            let reason = format!("can't be read: {e}");
            let line = None;
            (Wanted::new(), vec![Problem { file, line, reason }])
        }
    }
}

/// What the text of a file asks for.
pub fn parse(file: &str, text: &str) -> Result<Wanted, Problem> {
    let read: BTreeMap<String, BTreeMap<String, Keys>> = toml::from_str(text).map_err(|e| {
        let mut problem = Problem::toml(file, text, &e);
        problem.reason.push_str(
            "; accepted is a place in brackets, then lines such as round = \"R\" or help = [\"?\", \"F1\"]",
        );
        problem
    })?;
    let several = |keys: Keys| match keys {
        Keys::One(key) => vec![key],
        Keys::Several(keys) => keys,
    };
    Ok(read
        .into_iter()
        .map(|(place, words)| {
            let words = words.into_iter().map(|(word, keys)| (word, several(keys)));
            (place, words.collect())
        })
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_key_or_several_are_read_and_anything_else_is_named_by_its_line() {
        let wanted = parse(
            "keys.toml",
            "[shelf]\nround = \"R\"\n\"why?\" = [\"y\", \"F2\"]\n",
        )
        .unwrap();
        assert_eq!(wanted["shelf"]["round"], ["R"]);
        assert_eq!(wanted["shelf"]["why?"], ["y", "F2"]);
        let said = parse("keys.toml", "[shelf]\nround = 3\n")
            .unwrap_err()
            .to_string();
        assert!(said.starts_with("keys.toml, line 2: "), "{said}");
        assert!(said.contains("accepted is a place in brackets"), "{said}");
    }
}
