//! `skep day`: the day of a planned batch from the shell.

use super::args::Day as Args;
use super::exits::Exit;
use super::shell::Shell;
use super::today::morning_of;
use super::trouble::Trouble;
use crate::app::checklist::to_come;
use crate::app::measure;
use crate::domain::checklist::{Checklist, Doing, Entry, feeding, lines};
use crate::domain::deeds::{Deed, Given};
use crate::domain::plan::{KeptPlan, Supplies, outcome};
use crate::domain::records::{BatchId, Household, Stage, Subject, VesselId};
use crate::domain::slip;
use crate::domain::text::safe;
use crate::store::Store;
use serde::Serialize;

pub(super) fn day(sh: &mut Shell<'_>, args: &Args) -> Result<Exit, Trouble> {
    let (mut store, household) = sh.load()?;
    let supplies = store.supplies().map_err(Trouble::store)?;
    let kept = wanted(&household, &supplies, args.batch.as_deref())?;
    let units = household.settings.units;
    let ticks: Vec<_> = supplies
        .ticks
        .iter()
        .filter(|t| t.batch == kept.batch)
        .cloned()
        .collect();
    let all = lines(&kept.plan, &outcome(&kept.plan), units);
    let steps = household.dossier(kept.batch).map_or(&[][..], |d| &d.steps);
    let list = Checklist::new(feeding::fitting(all, steps), &ticks);
    if let Some(key) = &args.tick {
        return tick(sh, &mut store, &household, kept, &list, key, args);
    }
    if sh.json {
        let lines = list.entries.iter().map(LineJson::new).collect();
        let batch = kept.plan.name.clone();
        sh.print("day", DayJson { batch, lines })?;
        return Ok(Exit::Fine);
    }
    writeln!(sh.out, "{}", safe(&kept.plan.name))?;
    for entry in &list.entries {
        let done = entry
            .done
            .map_or_else(String::new, |at| at.datetime().format("%H:%M").to_string());
        writeln!(
            sh.out,
            "{done:<6} {:<12} {}",
            entry.line.key,
            safe(&entry.line.what)
        )?;
    }
    if list.closed() {
        say_next(sh, &store, &household, kept.batch)?;
    }
    Ok(Exit::Fine)
}

/// The first step to come after the day.
fn say_next(
    sh: &mut Shell<'_>,
    store: &Store,
    household: &Household,
    batch: BatchId,
) -> Result<(), Trouble> {
    let pitched = household.dossier(batch).and_then(|d| d.batch.pitched);
    let morning = morning_of(sh, store, household, sh.now)?;
    if let Some(next) = pitched.and_then(|at| to_come(&morning, at, batch)) {
        writeln!(sh.out, "{}", safe(&next))?;
    }
    Ok(())
}

/// The plan that was named by its batch's name or vessel, or the next one.
fn wanted<'s>(
    household: &Household,
    supplies: &'s Supplies,
    name: Option<&str>,
) -> Result<&'s KeptPlan, Trouble> {
    let fits = |kept: &&KeptPlan| match name {
        Some(name) => {
            kept.plan.name.trim().eq_ignore_ascii_case(name)
                || kept
                    .plan
                    .vessel
                    .as_ref()
                    .is_some_and(|v| v.tag.eq_ignore_ascii_case(name))
        }
        None => household
            .dossier(kept.batch)
            .is_some_and(|d| d.batch.stage == Stage::Planned),
    };
    let found = supplies.plans.iter().filter(fits);
    found
        .min_by_key(|k| (k.plan.pitch_on, k.batch))
        .ok_or_else(|| {
            Trouble::not_found(match name {
                Some(name) => format!("there is no plan '{name}'"),
                None => "no batch is planned; skep plan --keep does".to_owned(),
            })
        })
}

/// The batch that is planned for a vessel, the next one first.
pub(super) fn planned_for(
    household: &Household,
    supplies: &Supplies,
    vessel: VesselId,
) -> Option<BatchId> {
    let planned = |kept: &&KeptPlan| {
        let dossier = household.dossier(kept.batch);
        dossier.is_some_and(|d| d.batch.stage == Stage::Planned)
            && vessel_of(household, kept) == Some(vessel)
    };
    let next = supplies.plans.iter().filter(planned);
    next.min_by_key(|k| (k.plan.pitch_on, k.batch))
        .map(|k| k.batch)
}

fn vessel_of(household: &Household, kept: &KeptPlan) -> Option<VesselId> {
    let held = household
        .dossier(kept.batch)
        .and_then(|d| d.vessels().next());
    held.or_else(|| {
        let tag = &kept.plan.vessel.as_ref()?.tag;
        household.vessel_by_tag(tag).map(|v| v.id)
    })
}

fn tick(
    sh: &mut Shell<'_>,
    store: &mut Store,
    household: &Household,
    kept: &KeptPlan,
    list: &Checklist,
    key: &str,
    args: &Args,
) -> Result<Exit, Trouble> {
    let entry = if key == "next" {
        list.next()
    } else {
        list.entries.iter().find(|e| e.line.key == key)
    };
    let Some(entry) = entry else {
        return Err(Trouble::not_found(format!(
            "there is no open line '{key}'; skep day lists them"
        )));
    };
    if let Some(why) = list.too_early(&entry.line.key).filter(|_| !args.anyway) {
        return Err(Trouble::usage(format!(
            "{why} --anyway does it all the same"
        )));
    }
    if entry.line.doing == Doing::ReadOriginal {
        read_original(sh, store, household, kept, args)?;
    }
    let units = household.settings.units;
    let deed = Deed::Tick {
        batch: kept.batch,
        line: entry.line.key.clone(),
        at: Some(sh.now),
        added: added(entry, args.used.as_deref(), units)?,
        what: entry.line.what.clone(),
    };
    sh.carry_out(store, &deed)?;
    if entry.line.doing == Doing::Pitch {
        pitch(sh, store, kept.batch, vessel_of(household, kept))?;
    }
    let others_done = |e: &Entry| e.done.is_some() || e.line.key == entry.line.key;
    if list.entries.iter().all(others_done) && !sh.json {
        let household = store.household(sh.now).map_err(Trouble::store)?;
        say_next(sh, store, &household, kept.batch)?;
    }
    Ok(Exit::Fine)
}

fn pitch(
    sh: &mut Shell<'_>,
    store: &mut Store,
    batch: BatchId,
    vessel: Option<VesselId>,
) -> Result<(), Trouble> {
    let at = sh.now;
    sh.carry_out(store, &Deed::Pitch { batch, vessel, at })?;
    Ok(())
}

fn added(
    entry: &Entry,
    used: Option<&str>,
    units: crate::domain::records::UnitSystem,
) -> Result<Option<(crate::domain::records::EventKind, Given)>, Trouble> {
    let Doing::Add {
        kind,
        substance,
        mass,
        volume,
    } = &entry.line.doing
    else {
        return Ok(None);
    };
    let (mut mass, mut volume) = (*mass, *volume);
    if let Some(text) = used {
        if volume.is_some() {
            volume = Some(measure::volume(text, units).map_err(Trouble::usage)?);
        } else {
            mass = Some(measure::mass(text, units).map_err(Trouble::usage)?);
        }
    }
    let substance = substance.clone();
    Ok(Some((
        *kind,
        Given {
            substance,
            mass,
            volume,
        },
    )))
}

fn read_original(
    sh: &mut Shell<'_>,
    store: &mut Store,
    household: &Household,
    kept: &KeptPlan,
    args: &Args,
) -> Result<(), Trouble> {
    let Some(text) = args.used.as_deref() else {
        return Err(Trouble::usage(
            "say what was read: skep day --tick original --used '95 68f'",
        ));
    };
    let vessel = vessel_of(household, kept).ok_or_else(|| {
        Trouble::not_found("the plan's vessel is not among yours; plan it into another")
    })?;
    let slip = slip::parse(text, sh.now, &sh.context())?;
    let readings = slip.into_readings(Subject::Vessel(vessel), "shell", false);
    if readings.is_empty() {
        return Err(Trouble::usage(format!("'{text}' is no gravity")));
    }
    sh.carry_out(store, &Deed::Record(readings))?;
    Ok(())
}

#[derive(Debug, Serialize)]
struct DayJson {
    batch: String,
    lines: Vec<LineJson>,
}

#[derive(Debug, Serialize)]
struct LineJson {
    key: String,
    what: String,
    why: String,
    countdown: Option<u32>,
    done: Option<String>,
}

impl LineJson {
    fn new(entry: &Entry) -> Self {
        Self {
            key: entry.line.key.clone(),
            what: entry.line.what.clone(),
            why: entry.line.why.clone(),
            countdown: entry.line.countdown,
            done: entry.done.map(|at| at.datetime().to_rfc3339()),
        }
    }
}
