//! `skep read` and `skep note`: what was seen, by the grammar of the slip.

use super::args::{Note, Read};
use super::exits::Exit;
use super::report::json::ReadJson;
use super::shell::Shell;
use super::trouble::Trouble;
use super::{find, values};
use crate::domain::deeds::{Deed, NewEvent};
use crate::domain::records::{
    BatchId, EventKind, Household, Settings, Subject, Unit, UnitSystem, Vessel,
};
use crate::domain::slip::{Known, Meaning, Slip, SlipContext, parse};
use crate::domain::text::safe;
use crate::engine::slip_meaning;
use std::fmt::Write as _;

/// What a tag names: a vessel, or else a place.
struct Target<'h> {
    subject: Subject,
    vessel: Option<&'h Vessel>,
    batch: Option<BatchId>,
}

fn target<'h>(household: &'h Household, tag: &str) -> Result<Target<'h>, Trouble> {
    if household.vessel_by_tag(tag).is_none()
        && let Some(place) = find::place(household, tag)
    {
        return Ok(Target {
            subject: Subject::Place(place.id),
            vessel: None,
            batch: None,
        });
    }
    let vessel = find::vessel(household, tag)?;
    Ok(Target {
        subject: Subject::Vessel(vessel.id),
        vessel: Some(vessel),
        batch: household.in_vessel(vessel.id).map(|d| d.batch.id),
    })
}

pub(super) fn read(sh: &mut Shell<'_>, args: &Read) -> Result<Exit, Trouble> {
    let (mut store, household) = sh.load_about(&args.tag)?;
    let target = target(&household, &args.tag)?;
    let settings = &household.settings;
    let slip = slip(sh, args, &target, settings)?;
    let meaning = known(sh, &household, &target, &slip);
    let doubts: Vec<String> = meaning
        .doubts
        .iter()
        .map(|d| d.sentence(settings))
        .collect();
    if args.dry_run {
        report(sh, &slip, &meaning, settings, "nothing was kept", None)?;
        return Ok(if doubts.is_empty() {
            Exit::Fine
        } else {
            Exit::Doubted
        });
    }
    if !doubts.is_empty() && !args.anyway {
        if sh.json {
            report(sh, &slip, &meaning, settings, "nothing was kept", None)?;
        }
        return Err(Trouble::new(
            Exit::Doubted,
            format!("{}; not kept, --anyway keeps it", doubts.join("; ")),
        ));
    }
    let kept = slip.clone().into_deed(
        target.subject,
        target.batch,
        &args.source,
        !doubts.is_empty(),
    );
    let deed = kept.ok_or_else(|| {
        Trouble::usage("a note needs a batch; nothing lies there to write it down for")
    })?;
    let receipt = sh.save(&mut store, &deed)?;
    report(
        sh,
        &slip,
        &meaning,
        settings,
        &receipt.said,
        Some(receipt.revision),
    )?;
    Ok(Exit::Fine)
}

fn slip(
    sh: &Shell<'_>,
    args: &Read,
    target: &Target<'_>,
    settings: &Settings,
) -> Result<Slip, Trouble> {
    let context = SlipContext {
        zone: sh.zone,
        place: matches!(target.subject, Subject::Place(_)).then_some(match settings.units {
            UnitSystem::Us => Unit::Fahrenheit,
            UnitSystem::Metric => Unit::Celsius,
        }),
    };
    let mut slip = parse(&args.slip.join(" "), sh.now, &context)?;
    slip.note = values::typed(&slip.note);
    if let Some(note) = &args.note {
        if !slip.note.is_empty() {
            slip.note.push_str("; ");
        }
        slip.note.push_str(note);
    }
    Ok(slip)
}

fn known(sh: &Shell<'_>, household: &Household, target: &Target<'_>, slip: &Slip) -> Meaning {
    let known = Known {
        now: sh.now,
        dossier: target.batch.and_then(|id| household.dossier(id)),
        vessel: target.vessel,
        instruments: &household.instruments,
    };
    slip_meaning(slip, &known, household)
}

fn report(
    sh: &mut Shell<'_>,
    slip: &Slip,
    meaning: &Meaning,
    settings: &Settings,
    said: &str,
    revision: Option<i64>,
) -> Result<(), Trouble> {
    if sh.json {
        return sh.print(
            "reading",
            ReadJson::new(slip, meaning, settings, said, revision),
        );
    }
    let mut line = safe(said);
    let means = meaning.line(settings);
    if !means.is_empty() {
        let _ = write!(line, ": {means}");
    }
    writeln!(sh.out, "{line}")?;
    for doubt in &meaning.doubts {
        writeln!(sh.out, "Doubtful: {}", doubt.sentence(settings))?;
    }
    Ok(())
}

pub(super) fn note(sh: &mut Shell<'_>, args: &Note) -> Result<Exit, Trouble> {
    let (mut store, household) = sh.load_about(&args.tag)?;
    let (vessel, dossier) = find::dossier(&household, &args.tag)?;
    let at = values::when(args.at.at.as_deref(), sh.now, &sh.context())?;
    let deed = Deed::AddEvent(NewEvent {
        batch: dossier.batch.id,
        vessel: Some(vessel.id),
        step: None,
        at,
        kind: EventKind::Note,
        substance: String::new(),
        mass: None,
        volume: None,
        note: values::note(&args.words.join(" ")).map_err(Trouble::usage)?,
    });
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}
