//! The manual page: what the verbs' definition says, then keys, files,
//! environment and care, each from where the program itself has it.

use super::args::{EXAMPLES, Line};
use super::exits::EXITS;
use crate::app::cautions;
use crate::app::keymap::KeyMap;
use crate::app::keys::{Scope, table};
use clap::CommandFactory;
use clap_mangen::Man;
use clap_mangen::roff::{Roff, bold, roman};
use std::io::{self, Write};

/// When this version was finished, as the changelog says.
const DATE: &str = "2026-11-25";

/// Files of skep, under the folders that XDG names; and what each holds.
const FILES: &[(&str, &str)] = &[
    (
        "$XDG_DATA_HOME/skep/skep.store",
        "The store, an SQLite file: everything that was written down. ~/.local/share/skep/skep.store where the variable is not set.",
    ),
    (
        "$XDG_DATA_HOME/skep/skep-backups/",
        "Verified copies of the store, made on each day on which it changed.",
    ),
    (
        "$XDG_CONFIG_HOME/skep/keys.toml",
        "Keys of your own, in the form that skep keys prints. ~/.config/skep where the variable is not set, here and below.",
    ),
    (
        "$XDG_CONFIG_HOME/skep/yeasts.toml",
        "Yeast classes of your own.",
    ),
    (
        "$XDG_CONFIG_HOME/skep/ingredients.toml",
        "Ingredients of your own.",
    ),
    (
        "$XDG_CONFIG_HOME/skep/routines/",
        "Routines of your own, one TOML file each.",
    ),
];

/// What the environment changes.
const ENVIRONMENT: &[(&str, &str)] = &[
    ("SKEP_STORE", "The store to use, as --store says it."),
    (
        "NO_COLOR",
        "If set and not empty: no colour. Words and marks say all of it.",
    ),
    ("COLORTERM, TERM", "How many colours the terminal has."),
    (
        "TZ",
        "The time zone of your days, where it is not the machine's.",
    ),
];

/// Writes skep(1).
pub(super) fn page(out: &mut dyn Write) -> io::Result<()> {
    let man = Man::new(Line::command()).date(DATE);
    man.render_title(out)?;
    man.render_name_section(out)?;
    man.render_synopsis_section(out)?;
    man.render_description_section(out)?;
    man.render_options_section(out)?;
    man.render_subcommands_section(out)?;
    let mut more = Roff::new();
    examples(&mut more);
    exit_status(&mut more);
    keys(&mut more);
    listed(&mut more, "FILES", FILES);
    listed(&mut more, "ENVIRONMENT", ENVIRONMENT);
    care(&mut more);
    more.to_writer(out)?;
    man.render_version_section(out)
}

/// Returns a page for each verb, with its file's name.
pub(super) fn pages_of_verbs() -> io::Result<Vec<(String, Vec<u8>)>> {
    let mut skep = Line::command();
    skep.build();
    let source = format!("skep {}", env!("CARGO_PKG_VERSION"));
    let page = |verb: &clap::Command| {
        let name = format!("skep-{}", verb.get_name());
        let mut page = Vec::new();
        Man::new(verb.clone())
            .title(&name)
            .date(DATE)
            .source(&source)
            .render(&mut page)?;
        Ok((format!("{name}.1"), page))
    };
    let verbs = skep.get_subcommands().filter(|v| !v.is_hide_set());
    verbs.map(page).collect()
}

fn examples(roff: &mut Roff) {
    roff.control("SH", ["EXAMPLES"]);
    roff.control("nf", []);
    for line in EXAMPLES.lines().skip(1) {
        roff.text([roman(line.trim_start())]);
    }
    roff.control("fi", []);
}

fn exit_status(roff: &mut Roff) {
    roff.control("SH", ["EXIT STATUS"]);
    roff.text([roman("The highest that applies.")]);
    for (exit, meaning) in EXITS {
        roff.control("TP", []);
        roff.text([bold(exit.code().to_string())]);
        roff.text([roman(*meaning)]);
    }
}

fn keys(roff: &mut Roff) {
    roff.control("SH", ["KEYS OF THE DASHBOARD"]);
    roff.text([roman(
        "As they are without a file of your own; ? shows those that hold where you are.",
    )]);
    let usual = KeyMap::default();
    for place in Scope::all() {
        let mut here = table().filter(|b| b.scopes.contains(&place)).peekable();
        if here.peek().is_some() {
            roff.control("SS", [place.name()]);
        }
        for binding in here {
            roff.control("TP", []);
            roff.text([bold(usual.names(&[place], binding))]);
            roff.text([roman(binding.help)]);
        }
    }
}

fn listed(roff: &mut Roff, title: &str, rows: &[(&str, &str)]) {
    roff.control("SH", [title]);
    for (name, meaning) in rows {
        roff.control("TP", []);
        roff.text([bold(*name)]);
        roff.text([roman(*meaning)]);
    }
}

fn care(roff: &mut Roff) {
    roff.control("SH", ["CARE"]);
    roff.text([roman(cautions::DEFERS)]);
    for caution in cautions::ALL {
        roff.control("PP", []);
        roff.text([roman(*caution)]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_manual_is_dated_as_the_changelog_dates_this_version() {
        let changelog = include_str!("../../CHANGELOG.md");
        let heading = format!("## [{}] - {DATE}", env!("CARGO_PKG_VERSION"));
        assert!(changelog.contains(&heading), "{heading}");
    }
}
