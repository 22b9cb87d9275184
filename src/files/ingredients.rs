//! Ingredients of the maker's own.

use super::Problem;
use crate::domain::sums::ingredients::{self, Ingredient};
use std::path::Path;

/// Lays the maker's own rows in the file `own` over the built-in table, for as long as the
/// program runs: a row takes the place of a built-in one with the same key. Returns what was
/// wrong with the file, which then counts for nothing; one that does not exist holds nothing.
pub fn use_own(own: &Path) -> Option<Problem> {
    match read(own) {
        Ok(rows) => {
            ingredients::use_own(rows);
            None
        }
        Err(problem) => Some(problem),
    }
}

fn read(own: &Path) -> Result<Vec<Ingredient>, Problem> {
    let fault = |reason: String| Problem {
        file: own.display().to_string(),
        line: None,
        reason,
    };
    match std::fs::read_to_string(own) {
        Ok(text) => ingredients::parse(&text).map_err(fault),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(Vec::new()),
        Err(e) => Err(fault(format!("can't be read: {e}"))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_copied_row_adds_and_a_bad_file_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ingredients.toml");
        let row = "[[ingredient]]\nkey = \"heather\"\nname = \"heather honey\"\nkind = \"honey\"\nsolids = 80.0\nsugar = 79.0\nferments = \"dry\"\nhow = \"practice\"\nsource = \"own\"\n";
        std::fs::write(&path, row).unwrap();
        let rows = read(&path).unwrap();
        assert!(rows.iter().any(|i| i.key == "heather"));
        std::fs::write(&path, row.replace("79.0", "99.0")).unwrap();
        let problem = read(&path).unwrap_err().to_string();
        assert!(
            problem.contains("heather: sugar is more than solids"),
            "{problem}"
        );
    }
}
