//! `skep start` and `skep pitch`.

use super::args::{Pitch, Start};
use super::exits::Exit;
use super::shell::Shell;
use super::trouble::Trouble;
use super::{day, find, routines, values};
use crate::domain::deeds::{Deed, NewBatch};
use crate::domain::records::{Routine, Vessel, YeastClass};
use crate::domain::slip::parse_day;
use crate::domain::units::{Litres, Moment};
use chrono::NaiveDate;

pub(super) fn start(sh: &mut Shell<'_>, args: &Start) -> Result<Exit, Trouble> {
    let (mut store, household) = sh.load()?;
    let vessel = find::vessel(&household, &args.tag)?;
    let (all, _) = routines::load(sh);
    let routine = routines::find(&all, &args.routine)?;
    let batch = new_batch(sh, args, vessel, routine)?;
    sh.carry_out(&mut store, &Deed::StartBatch(Box::new(batch)))?;
    Ok(Exit::Fine)
}

fn new_batch(
    sh: &Shell<'_>,
    args: &Start,
    vessel: &Vessel,
    routine: &Routine,
) -> Result<NewBatch, Trouble> {
    let yeast = routines::yeast(sh, routine.yeast.as_deref());
    let (pitched, planned_day) = begin(sh, args)?;
    let gravity = |text: &Option<String>| {
        text.as_deref()
            .map(|t| values::gravity(t, sh.now))
            .transpose()
    };
    Ok(NewBatch {
        name: args.name.clone().unwrap_or_else(|| routine.title.clone()),
        style: routine.style,
        variety: routine.variety.clone(),
        vessel: Some(vessel.id),
        routine: Some(routine.key.clone()),
        steps: routine.steps.clone(),
        yeast: yeast.as_ref().map(|y| y.key.clone()),
        tolerance: yeast.as_ref().map(|y| y.tolerance),
        band: yeast.as_ref().map(|y: &YeastClass| y.band),
        planned_og: gravity(&args.og)?,
        expected_fg: gravity(&args.fg)?,
        volume: Some(volume(sh, args, vessel, routine)?),
        fizz: routine.fizz,
        pitched,
        planned_day,
        note: args.note.clone(),
    })
}

/// When the yeast went in, or the day for which that is planned.
fn begin(sh: &Shell<'_>, args: &Start) -> Result<(Option<Moment>, Option<NaiveDate>), Trouble> {
    if let Some(day) = &args.plan {
        let today = sh.zone.localise(sh.now).day();
        return Ok((None, Some(parse_day(day, today)?)));
    }
    let at = values::when(args.at.as_deref(), sh.now, &sh.context())?;
    Ok((Some(at), None))
}

/// What was said, else the routine's volume where the vessel holds it.
fn volume(
    sh: &Shell<'_>,
    args: &Start,
    vessel: &Vessel,
    routine: &Routine,
) -> Result<Litres, Trouble> {
    match &args.volume {
        Some(text) => values::volume(text, sh.now),
        None if routine.volume > vessel.capacity => Ok(vessel.capacity),
        None => Ok(routine.volume),
    }
}

pub(super) fn pitch(sh: &mut Shell<'_>, args: &Pitch) -> Result<Exit, Trouble> {
    let (mut store, household) = sh.load()?;
    let vessel = find::vessel(&household, &args.tag)?;
    let lies = household.in_vessel(vessel.id).map(|d| d.batch.id);
    let supplies = store.supplies().map_err(Trouble::store)?;
    let planned = || day::planned_for(&household, &supplies, vessel.id);
    let batch = lies.or_else(planned);
    let batch = batch.ok_or_else(|| find::empty(vessel))?;
    let deed = Deed::Pitch {
        batch,
        vessel: Some(vessel.id),
        at: values::when(args.at.at.as_deref(), sh.now, &sh.context())?,
    };
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}
