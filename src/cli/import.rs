//! `skep import`: readings from a spreadsheet.

use super::args::Import;
use super::exits::Exit;
use super::find;
use super::report::json::{BadLineJson, FoundJson, ImportJson};
use super::shell::Shell;
use super::trouble::Trouble;
use crate::app::say;
use crate::domain::deeds::{Deed, NewReading};
use crate::domain::records::{Household, Subject, Unit};
use crate::domain::text::safe;
use crate::files::csv::{Choices, DateOrder, Decimal, Found, Line, Preview, preview};
use crate::work::{Rehearsed, rehearse};
use std::io::Read;
use std::path::Path;

/// More lines than this are counted, not listed.
const LISTED: usize = 20;

/// A table with what would become of each line.
struct Plan {
    found: Found,
    new: Vec<NewReading>,
    new_lines: usize,
    known: usize,
    bad: Vec<(u64, String)>,
}

pub(super) fn import(sh: &mut Shell<'_>, args: &Import) -> Result<Exit, Trouble> {
    let bytes = bytes(&args.file)?;
    let preview =
        preview(&bytes, &choices(sh, args)?).map_err(|e| Trouble::usage(e.to_string()))?;
    let (mut store, household) = sh.load()?;
    let plan = plan(sh, args, &household, &mut store, preview)?;
    let all_or_nothing = !plan.bad.is_empty() && !args.good_lines;
    let exit = if plan.bad.is_empty() {
        Exit::Fine
    } else {
        Exit::BadLines
    };
    let keep = args.keep && !all_or_nothing && !plan.new.is_empty();
    let said = if keep {
        let deed = Deed::Record(plan.new.clone());
        sh.save(&mut store, &deed)?.said
    } else {
        not_kept(args, &plan, all_or_nothing).to_owned()
    };
    report(sh, &plan, keep, &said)?;
    Ok(exit)
}

fn not_kept(args: &Import, plan: &Plan, all_or_nothing: bool) -> &'static str {
    if plan.new.is_empty() {
        "nothing new: nothing was kept"
    } else if args.keep && all_or_nothing {
        "nothing was kept; mend the lines, or keep the others with --good-lines"
    } else if all_or_nothing {
        "nothing was kept; --keep --good-lines keeps the lines that can be kept"
    } else {
        "nothing was kept; --keep keeps them"
    }
}

/// The file, or what comes in for `-`.
fn bytes(file: &Path) -> Result<Vec<u8>, Trouble> {
    let mut bytes = Vec::new();
    let read = if file == Path::new("-") {
        std::io::stdin().lock().read_to_end(&mut bytes).map(drop)
    } else {
        std::fs::read(file).map(|b| bytes = b)
    };
    read.map_err(|why| Trouble::broken(format!("{} can't be read: {why}", file.display())))?;
    Ok(bytes)
}

fn choices(sh: &Shell<'_>, args: &Import) -> Result<Choices, Trouble> {
    let mut columns = Vec::new();
    for pair in &args.column {
        let (heading, name) = pair.rsplit_once('=').ok_or_else(|| {
            Trouble::usage(format!(
                "'{pair}' is not HEADING=NAME, such as 'SG=gravity'"
            ))
        })?;
        columns.push((heading.to_owned(), name.to_owned()));
    }
    Ok(Choices {
        columns,
        order: args.dates.as_deref().map(order).transpose()?,
        decimal: args.decimal.as_deref().map(decimal).transpose()?,
        temperature: args.temperature.as_deref().map(temperature).transpose()?,
        zone: sh.zone,
    })
}

fn order(word: &str) -> Result<DateOrder, Trouble> {
    let found = DateOrder::ALL.into_iter().find(|o| o.word() == word);
    found.ok_or_else(|| {
        Trouble::usage(format!(
            "'{word}' is no order of dates; accepted: ymd, mdy, dmy"
        ))
    })
}

fn decimal(word: &str) -> Result<Decimal, Trouble> {
    match word {
        "point" => Ok(Decimal::Point),
        "comma" => Ok(Decimal::Comma),
        _ => Err(Trouble::usage(format!(
            "'{word}' is no decimal mark; accepted: point, comma"
        ))),
    }
}

fn temperature(word: &str) -> Result<Unit, Trouble> {
    match word.to_lowercase().as_str() {
        "f" => Ok(Unit::Fahrenheit),
        "c" => Ok(Unit::Celsius),
        _ => Err(Trouble::usage(format!(
            "'{word}' is no unit of temperature; accepted: f, c"
        ))),
    }
}

fn plan(
    sh: &Shell<'_>,
    args: &Import,
    household: &Household,
    store: &mut crate::store::Store,
    preview: Preview,
) -> Result<Plan, Trouble> {
    let mut plan = Plan {
        found: preview.found,
        new: Vec::new(),
        new_lines: 0,
        known: 0,
        bad: Vec::new(),
    };
    let mut tried: Vec<(u64, Vec<NewReading>)> = Vec::new();
    for (number, line) in preview.lines {
        match line.and_then(|line| readings(household, args, line)) {
            Ok(readings) => tried.push((number, readings)),
            Err(why) => plan.bad.push((number, why)),
        }
    }
    let deeds: Vec<Deed> = tried.iter().map(|(_, r)| Deed::Record(r.clone())).collect();
    let outcomes = rehearse(store, &deeds, sh.now)?;
    for ((number, readings), outcome) in tried.into_iter().zip(outcomes) {
        match outcome {
            Rehearsed::Kept => {
                plan.new_lines += 1;
                plan.new.extend(readings);
            }
            Rehearsed::Known => plan.known += 1,
            Rehearsed::Refused(why) => plan.bad.push((number, why)),
        }
    }
    plan.bad.sort();
    Ok(plan)
}

/// A line's readings, of the vessel or place that it or the maker names.
fn readings(household: &Household, args: &Import, line: Line) -> Result<Vec<NewReading>, String> {
    let subject = match (&line.vessel, &line.place, &args.vessel) {
        (Some(tag), _, _) | (None, None, Some(tag)) => find::vessel(household, tag)
            .map(|v| Subject::Vessel(v.id))
            .map_err(|why| why.said)?,
        (None, Some(name), _) => find::place(household, name)
            .map(|p| Subject::Place(p.id))
            .ok_or_else(|| format!("there is no place '{name}'"))?,
        (None, None, None) => {
            return Err("it names no vessel; say --vessel TAG for the whole file".to_owned());
        }
    };
    let mut note = line.note;
    let keep = |seen| NewReading {
        subject,
        at: line.at,
        seen,
        sample_temp: line.sample,
        instrument: None,
        source: args.source.clone(),
        doubted: false,
        note: std::mem::take(&mut note),
    };
    Ok(line.seen.into_iter().map(keep).collect())
}

fn report(sh: &mut Shell<'_>, plan: &Plan, kept: bool, said: &str) -> Result<(), Trouble> {
    if sh.json {
        let report = ImportJson {
            found: FoundJson::new(&plan.found),
            new_lines: plan.new_lines,
            readings: plan.new.len(),
            known_lines: plan.known,
            bad: plan
                .bad
                .iter()
                .map(|(n, why)| BadLineJson::new(*n, why))
                .collect(),
            kept,
            said: said.to_owned(),
        };
        return sh.print("import", report);
    }
    found_lines(sh, &plan.found)?;
    for new in plan.new.iter().take(3) {
        let at = new.at.datetime().format("%Y-%m-%d %H:%M");
        writeln!(
            sh.out,
            "  {at}  {} {} {}",
            new.seen.kind(),
            new.seen.value(),
            new.seen.unit()
        )?;
    }
    if plan.new.len() > 3 {
        writeln!(sh.out, "  ...")?;
    }
    let lines = |n: usize| say::count(i64::try_from(n).unwrap_or(i64::MAX), "line", "lines");
    writeln!(
        sh.out,
        "{} new ({} readings), {} known already, {} not understood or refused",
        lines(plan.new_lines),
        plan.new.len(),
        plan.known,
        plan.bad.len()
    )?;
    for (number, why) in plan.bad.iter().take(LISTED) {
        writeln!(sh.out, "  line {number}: {}", safe(why))?;
    }
    if plan.bad.len() > LISTED {
        writeln!(sh.out, "  and {} more", plan.bad.len() - LISTED)?;
    }
    writeln!(sh.out, "{}", safe(said))?;
    Ok(())
}

fn found_lines(sh: &mut Shell<'_>, found: &Found) -> Result<(), Trouble> {
    for (heading, holds) in &found.columns {
        let holds = holds.unwrap_or("not used");
        writeln!(sh.out, "  column {}: {holds}", safe(heading))?;
    }
    let json = FoundJson::new(found);
    let temperature = json
        .temperature
        .map_or(String::new(), |t| format!(", temperatures in {t}"));
    writeln!(
        sh.out,
        "  dates {}, decimal {}{temperature}",
        json.dates, json.decimal
    )?;
    Ok(())
}
