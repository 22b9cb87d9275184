//! `skep keys`.

use super::exits::Exit;
use super::report::json::{KeyJson, KeysJson};
use super::shell::Shell;
use super::trouble::Trouble;
use crate::app::keys::{Scope, table};
use crate::domain::text::safe;
use crate::tui::own_keys;

/// Every key as it is, in the form of the file that changes them.
pub(super) fn keys(sh: &mut Shell<'_>) -> Result<Exit, Trouble> {
    let file = sh.paths.keys();
    let (map, problems) = own_keys(&file);
    if sh.json {
        let mut keys = Vec::new();
        for place in Scope::all() {
            for binding in table().filter(|b| b.scopes.contains(&place)) {
                keys.push(KeyJson {
                    place: place.name(),
                    word: binding.label,
                    keys: map.names(&[place], binding),
                    help: binding.help,
                });
            }
        }
        sh.print("keys", KeysJson { keys, problems })?;
        return Ok(Exit::Fine);
    }
    let file = safe(&file.display().to_string());
    writeln!(sh.out, "# Keys as they are now. Lines of this form in")?;
    writeln!(sh.out, "# {file}")?;
    writeln!(
        sh.out,
        "# change them: the place, the word for it, its keys."
    )?;
    writeln!(
        sh.out,
        "# What [everywhere] says counts wherever the word is."
    )?;
    for problem in problems {
        writeln!(sh.out, "# Left out: {}", safe(&problem))?;
    }
    write!(sh.out, "\n{}", map.written())?;
    Ok(Exit::Fine)
}
