//! `skep done`, `skep skip` and `skep move`.

use super::args::{Done, MoveTo, Skip};
use super::exits::Exit;
use super::shell::Shell;
use super::today::morning_of;
use super::trouble::Trouble;
use super::{find, values};
use crate::domain::deeds::{Deed, Given};
use crate::domain::slip::parse_day;

pub(super) fn done(sh: &mut Shell<'_>, args: &Done) -> Result<Exit, Trouble> {
    let (mut store, household) = sh.load()?;
    let (_, dossier) = find::dossier(&household, &args.tag)?;
    let morning = morning_of(sh, &store, &household, sh.now)?;
    let step = match &args.step {
        Some(word) => find::step(dossier, &morning, word)?,
        None => find::wanted_step(dossier, &morning)?,
    };
    let deed = Deed::StepDone {
        step: step.id,
        at: values::when(args.at.at.as_deref(), sh.now, &sh.context())?,
        given: given(sh, args)?,
        note: args.note.clone(),
    };
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}

fn given(sh: &Shell<'_>, args: &Done) -> Result<Option<Given>, Trouble> {
    let Some(substance) = args.added.clone() else {
        return Ok(None);
    };
    let mass = args.mass.as_deref().map(|m| values::mass(m, sh.now));
    let volume = args.volume.as_deref().map(|v| values::volume(v, sh.now));
    Ok(Some(Given {
        substance,
        mass: mass.transpose()?,
        volume: volume.transpose()?,
    }))
}

pub(super) fn skip(sh: &mut Shell<'_>, args: &Skip) -> Result<Exit, Trouble> {
    let (mut store, household) = sh.load()?;
    let (_, dossier) = find::dossier(&household, &args.tag)?;
    let morning = morning_of(sh, &store, &household, sh.now)?;
    let deed = Deed::StepSkip {
        step: find::step(dossier, &morning, &args.step)?.id,
        at: values::when(args.at.at.as_deref(), sh.now, &sh.context())?,
        reason: args.reason.join(" "),
    };
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}

pub(super) fn go(sh: &mut Shell<'_>, args: &MoveTo) -> Result<Exit, Trouble> {
    let (mut store, household) = sh.load()?;
    let (_, dossier) = find::dossier(&household, &args.tag)?;
    let morning = morning_of(sh, &store, &household, sh.now)?;
    let deed = Deed::StepMove {
        step: find::step(dossier, &morning, &args.step)?.id,
        to: parse_day(&args.day, sh.zone.localise(sh.now).day())?,
    };
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}
