//! `skep figure`: the sums of the bench from the shell.

use super::args::Figure as Args;
use super::exits::Exit;
use super::report::json::{FigureJson, FigureListJson, FiguresJson};
use super::report::text;
use super::shell::Shell;
use super::trouble::Trouble;
use crate::domain::records::{Settings, UnitSystem};
use crate::domain::sums::figures::{self, FIGURES, FigureSpec, Group, System};

pub(super) fn figure(sh: &mut Shell<'_>, args: &Args) -> Result<Exit, Trouble> {
    let Some(id) = &args.id else {
        return list(sh);
    };
    let spec = figures::find(&id.to_lowercase()).ok_or_else(|| {
        Trouble::not_found(format!(
            "there is no figure '{id}'; skep figure lists them all"
        ))
    })?;
    if args.values.is_empty()
        && spec
            .inputs
            .iter()
            .any(|i| !i.optional && i.default.is_none())
    {
        text::figure_inputs(sh.out, spec)?;
        return Ok(Exit::Usage);
    }
    let mut given = Vec::new();
    for pair in &args.values {
        let (name, value) = pair.split_once('=').ok_or_else(|| not_a_pair(pair, spec))?;
        given.push((name.trim(), value.trim()));
    }
    let answer = spec
        .answer(&given)
        .map_err(|why| Trouble::usage(why.to_string()))?;
    let system = system(sh);
    if sh.json {
        sh.print("figure", FigureJson::new(spec, &answer, system))?;
        return Ok(Exit::Fine);
    }
    text::figure(sh.out, &answer, system)?;
    if args.why {
        writeln!(sh.out, "\n{}", answer.why)?;
    }
    Ok(Exit::Fine)
}

fn not_a_pair(pair: &str, spec: &FigureSpec) -> Trouble {
    let names: Vec<&str> = spec.inputs.iter().map(|i| i.name).collect();
    Trouble::usage(format!(
        "'{pair}' is not NAME=VALUE; {} takes {}",
        spec.id,
        names.join(", ")
    ))
}

/// The units of the store, or the usual ones where there is none.
fn system(sh: &Shell<'_>) -> System {
    let settings = sh
        .load()
        .map_or_else(|_| Settings::default(), |(_, household)| household.settings);
    match settings.units {
        UnitSystem::Us => System::Us,
        UnitSystem::Metric => System::Metric,
    }
}

fn list(sh: &mut Shell<'_>) -> Result<Exit, Trouble> {
    if sh.json {
        let figures = FIGURES.iter().map(FigureListJson::new).collect();
        sh.print("figures", FiguresJson { figures })?;
        return Ok(Exit::Fine);
    }
    for group in Group::ALL {
        writeln!(sh.out, "{}", group.title())?;
        for spec in FIGURES.iter().filter(|f| f.group == group) {
            text::figure_line(sh.out, spec)?;
        }
    }
    Ok(Exit::Fine)
}
