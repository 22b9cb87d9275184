//! `skep completions` and `skep man`, made from the one definition of the verbs.

use super::args::{Completions, Line, Man};
use super::exits::Exit;
use super::manual;
use super::trouble::Trouble;
use crate::files::output::{Kind, Target, write_output};
use clap::CommandFactory;
use std::io::Write;
use std::path::Path;

pub(super) fn completions(args: &Completions, out: &mut dyn Write) -> Result<Exit, Trouble> {
    // Written to memory first: the generator panics when its writer fails.
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Line::command(), "skep", &mut script);
    out.write_all(&script)?;
    Ok(out.flush().map(|()| Exit::Fine)?)
}

pub(super) fn man(args: &Man, out: &mut dyn Write) -> Result<Exit, Trouble> {
    let mut page = Vec::new();
    manual::page(&mut page)?;
    let Some(folder) = &args.into else {
        out.write_all(&page)?;
        out.flush()?;
        return Ok(Exit::Fine);
    };
    std::fs::create_dir_all(folder)
        .map_err(|why| Trouble::broken(format!("{} can't be made: {why}", folder.display())))?;
    let mut pages = manual::pages_of_verbs()?;
    pages.push(("skep.1".to_owned(), page));
    for (name, page) in pages {
        let target = Target {
            path: &folder.join(name),
            kind: Kind::MANUAL,
            replace: args.replace,
            // No verb has the store open here.
            store: Path::new(""),
        };
        write_output::<Trouble>(&target, |out| Ok(out.write_all(&page)?))?;
    }
    Ok(Exit::Fine)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(command: &clap::Command) {
        let name = command.get_name();
        assert!(command.get_about().is_some(), "{name} has no sentence");
        for arg in command.get_arguments() {
            assert!(
                arg.get_help().is_some(),
                "{name} {} has no sentence",
                arg.get_id()
            );
        }
        command.get_subcommands().for_each(told);
    }

    #[test]
    fn the_definition_is_sound_and_every_verb_and_option_has_a_sentence() {
        let command = Line::command();
        command.clone().debug_assert();
        told(&command);
    }
}
