//! What goes into a must: the built-in table with the maker's own laid over.

use super::Problem;
use crate::domain::sums::ingredients::{self, Ingredient};
use std::path::Path;

/// The table, and what was wrong with the file `own`. A row of the maker's
/// takes the place of a built-in one with the same key; a bad file is named
/// and left out; a file that does not exist holds nothing.
pub fn load(own: Option<&Path>) -> (Vec<Ingredient>, Vec<Problem>) {
    let base = ingredients::built_in();
    let Some(path) = own else {
        return (base.to_vec(), Vec::new());
    };
    let fault = |reason: String| Problem {
        file: path.display().to_string(),
        line: None,
        reason,
    };
    match std::fs::read_to_string(path) {
        Ok(text) => match ingredients::parse(&text) {
            Ok(own) => (ingredients::lay_over(base, own), Vec::new()),
            Err(reason) => (base.to_vec(), vec![fault(reason)]),
        },
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => (base.to_vec(), Vec::new()),
        Err(e) => (base.to_vec(), vec![fault(format!("can't be read: {e}"))]),
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
        let (all, problems) = load(Some(&path));
        assert!(problems.is_empty(), "{problems:?}");
        assert!(all.iter().any(|i| i.key == "heather"));
        std::fs::write(&path, row.replace("79.0", "99.0")).unwrap();
        let (all, problems) = load(Some(&path));
        assert!(all.iter().all(|i| i.key != "heather"));
        assert!(
            problems[0]
                .to_string()
                .contains("heather: sugar is more than solids")
        );
    }
}
