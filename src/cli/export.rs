//! `skep export`, `skep calendar` and `skep rebuild`.

use super::args::{Calendar, Export, Rebuild, What};
use super::exits::Exit;
use super::report::shown;
use super::shell::Shell;
use super::today::morning_of;
use super::trouble::Trouble;
use crate::domain::records::{
    Batch, BatchId, Dossier, Household, Step, StepKind, StepStatus, Subject,
};
use crate::domain::units::Moment;
use crate::engine::{Due, Morning};
use crate::files::csv::{self, Samples, Table};
use crate::files::ical::{self, Entry};
use crate::files::output::{Kind, Target, write_output};
use crate::store::{Scratch, Store, archive_schema};
use chrono::{NaiveTime, TimeDelta};
use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;
use std::path::Path;

/// What was done or left out longer ago than this has left every phone, days.
const CANCELLED_FOR: i64 = 14;

/// Parts of a damaged store that are told one by one.
const LISTED: usize = 20;

/// Where the output of a verb goes: to a file, or to the terminal.
#[derive(Clone, Copy)]
struct Into<'a> {
    file: Option<&'a Path>,
    replace: bool,
    kind: Kind,
}

/// Writes to a file that is put in place when it is whole, or to the output.
fn written(
    sh: &mut Shell<'_>,
    into: Into<'_>,
    write: impl FnOnce(&mut dyn Write) -> Result<(), Trouble>,
) -> Result<Exit, Trouble> {
    let Some(path) = into.file else {
        write(sh.out)?;
        sh.out.flush()?;
        return Ok(Exit::Fine);
    };
    let target = Target {
        path,
        kind: into.kind,
        replace: into.replace,
        store: &sh.paths.store,
    };
    write_output(&target, write)?;
    sh.saved = Some(format!("written to {}", shown(path)));
    writeln!(sh.out, "Written to {}", shown(path))?;
    Ok(Exit::Fine)
}

pub(super) fn export(sh: &mut Shell<'_>, args: &Export) -> Result<Exit, Trouble> {
    let into = Into {
        file: args.into.as_deref(),
        replace: args.replace,
        kind: kind(args.what),
    };
    let table = match args.what {
        What::Readings => Table::Readings,
        What::Steps => Table::Steps,
        What::Batches => Table::Batches,
        What::Cellar => Table::Cellar,
        What::Samples => {
            let (store, household) = sh.load()?;
            return written(sh, into, |out| samples(&store, &household, out));
        }
        What::All => {
            let (store, now) = (sh.open()?, sh.now);
            return written(sh, into, |out| {
                store
                    .archive(out, now)
                    .map_err(|why| Trouble::archive(&why))
            });
        }
        What::Salvage => return salvage(sh, into),
        What::Schema => {
            let schema = archive_schema().map_err(Trouble::store)?;
            return written(sh, into, |out| {
                serde_json::to_writer_pretty(&mut *out, &schema)?;
                Ok(writeln!(out)?)
            });
        }
    };
    let (store, household) = everything(sh)?;
    let shelved = store.cellar(true).map_err(Trouble::store)?;
    let left: BTreeMap<_, _> = shelved.iter().map(|s| (s.lot.id, s.left)).collect();
    written(sh, into, |out| {
        csv::write(table, &household, &left, out).map_err(|why| table_trouble(&why))
    })
}

fn kind(what: What) -> Kind {
    match what {
        What::Readings => Table::Readings.kind(),
        What::Steps => Table::Steps.kind(),
        What::Batches => Table::Batches.kind(),
        What::Cellar => Table::Cellar.kind(),
        What::Samples => csv::SAMPLES,
        What::All | What::Salvage => Kind::ARCHIVE,
        What::Schema => Kind::SCHEMA,
    }
}

/// All that can be read; what cannot is told, and the exit code says so.
fn salvage(sh: &mut Shell<'_>, into: Into<'_>) -> Result<Exit, Trouble> {
    let scratch = Scratch::new().map_err(Trouble::store)?;
    let (path, now, mut lost) = (sh.paths.store.clone(), sh.now, Vec::new());
    written(sh, into, |out| {
        lost = Store::salvage(&path, scratch.path(), out, now)
            .map_err(|why| Trouble::archive(&why))?;
        Ok(())
    })?;
    if lost.is_empty() {
        return Ok(Exit::Fine);
    }
    let told: Vec<_> = lost.iter().take(LISTED).map(|l| format!("  {l}")).collect();
    Err(Trouble::new(
        Exit::Store,
        format!(
            "what can be read was written; {} lost or altered:\n{}",
            match lost.len() {
                1 => "one part is".to_owned(),
                n => format!("{n} parts are"),
            },
            told.join("\n")
        ),
    ))
}

fn table_trouble(why: &::csv::Error) -> Trouble {
    match why.kind() {
        ::csv::ErrorKind::Io(error) => std::io::Error::from(error.kind()).into(),
        _ => Trouble::broken(why),
    }
}

/// The store with every batch in the household, closed ones too.
fn everything(sh: &Shell<'_>) -> Result<(Store, Household), Trouble> {
    let (store, mut household) = sh.load()?;
    let there: BTreeSet<BatchId> = household.dossiers.iter().map(|d| d.batch.id).collect();
    for batch in store.all_batches().map_err(Trouble::store)? {
        if !there.contains(&batch.id) {
            let dossier = store.dossier(batch.id, sh.now).map_err(Trouble::store)?;
            household.dossiers.extend(dossier);
        }
    }
    household.dossiers.sort_by_key(|d| d.batch.id);
    Ok((store, household))
}

/// From the beginning to the end of stored time.
fn all_time() -> (Moment, Moment) {
    let at = |ms| Moment::from_stored(ms, 0);
    // The years 1 and 9999.
    let (first, last) = (at(-62_135_596_800_000), at(253_402_300_799_000));
    let now = crate::clock::now();
    (first.unwrap_or(now), last.unwrap_or(now))
}

fn samples(store: &Store, household: &Household, out: &mut dyn Write) -> Result<(), Trouble> {
    let mut table = Samples::new(out).map_err(|why| table_trouble(&why))?;
    let (from, to) = all_time();
    let vessels = household
        .vessels
        .iter()
        .map(|v| (Subject::Vessel(v.id), (v.tag.as_str(), "")));
    let places = household
        .places
        .iter()
        .map(|p| (Subject::Place(p.id), ("", p.name.as_str())));
    for (subject, names) in vessels.chain(places) {
        let mut failed = None;
        store
            .each_sample(subject, from, to, |source, sample| {
                if failed.is_none() {
                    failed = table.add(names, sample.at, sample.seen, source).err();
                }
            })
            .map_err(Trouble::store)?;
        if let Some(why) = failed {
            return Err(table_trouble(&why));
        }
    }
    Ok(table.finish()?)
}

pub(super) fn rebuild(sh: &mut Shell<'_>, args: &Rebuild) -> Result<Exit, Trouble> {
    let file = std::fs::File::open(&args.file)
        .map_err(|why| Trouble::broken(format!("{} can't be read: {why}", args.file.display())))?;
    Store::rebuild(&sh.paths.store, file).map_err(Trouble::store)?;
    sh.saved = Some(format!("a store at {}", shown(&sh.paths.store)));
    writeln!(
        sh.out,
        "A store was made of it at {}",
        sh.paths.store.display()
    )?;
    Ok(Exit::Fine)
}

pub(super) fn calendar(sh: &mut Shell<'_>, args: &Calendar) -> Result<Exit, Trouble> {
    let alarm = NaiveTime::parse_from_str(&args.alarm, "%H:%M").map_err(|_| {
        Trouble::usage(format!(
            "'{}' is no time of day for the alarm; accepted: 07:30",
            args.alarm
        ))
    })?;
    let (store, household) = everything(sh)?;
    let morning = morning_of(sh, &store, &household, sh.now)?;
    let entries = entries(&household, &morning, sh.now, args.days);
    let now = sh.now;
    let into = Into {
        file: args.into.as_deref(),
        replace: args.replace,
        kind: Kind::CALENDAR,
    };
    written(sh, into, |out| {
        Ok(out.write_all(ical::calendar(&entries, alarm, now).as_bytes())?)
    })
}

fn entries(household: &Household, morning: &Morning, now: Moment, days: u32) -> Vec<Entry> {
    let horizon = now.day() + TimeDelta::days(i64::from(days));
    let open = morning.due.iter().filter(|d| {
        // A rest asks for nothing; a step that waits has no day yet.
        let dated = d.wants_hands() || d.waits.is_none();
        dated && d.kind != StepKind::Rest && d.opens <= horizon
    });
    let mut entries: Vec<Entry> = open
        .filter_map(|due| {
            let dossier = household.dossier(due.batch)?;
            Some(open_entry(due, dossier, now))
        })
        .collect();
    for dossier in &household.dossiers {
        let settled = dossier
            .steps
            .iter()
            .filter_map(|s| settled_entry(s, dossier, now));
        entries.extend(settled);
    }
    entries.sort_by(|a, b| (a.day, &a.uid).cmp(&(b.day, &b.uid)));
    entries
}

/// Stays the same whatever becomes of the step, and is no other store's.
fn uid(step: &Step, batch: &Batch) -> String {
    format!("step-{}-{}@skep", step.id.0, batch.created.utc_ms())
}

fn title(tag: &str, batch: &Batch, title: &str) -> String {
    if tag.is_empty() {
        format!("{}: {title}", batch.name)
    } else {
        format!("{tag}: {title}")
    }
}

fn open_entry(due: &Due, dossier: &Dossier, now: Moment) -> Entry {
    let step = dossier.steps.iter().find(|s| s.id == due.step);
    let batch = &dossier.batch;
    let forecast = if due.forecast {
        "The day is a forecast."
    } else {
        ""
    };
    Entry {
        uid: step.map_or_else(String::new, |s| uid(s, batch)),
        // What is late is for today.
        day: due.opens.max(now.day()),
        title: title(&due.tag, batch, &due.title),
        about: vec![
            batch.name.clone(),
            due.amount.clone(),
            format!("In time until {}.", due.due),
            due.why.clone(),
            due.harm.clone(),
            due.warning
                .as_ref()
                .map_or_else(String::new, crate::engine::Warning::sentence),
            forecast.to_owned(),
        ],
        open: true,
    }
}

fn settled_entry(step: &Step, dossier: &Dossier, now: Moment) -> Option<Entry> {
    let at = match &step.status {
        StepStatus::Open => return None,
        StepStatus::Done { at } | StepStatus::Skipped { at, .. } => *at,
    };
    let recent = (now.day() - at.day()).num_days() <= CANCELLED_FOR;
    recent.then(|| Entry {
        uid: uid(step, &dossier.batch),
        day: at.day(),
        title: title("", &dossier.batch, &step.rule.title),
        about: Vec::new(),
        open: false,
    })
}
