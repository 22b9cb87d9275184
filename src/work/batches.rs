//! Batches: begun, pitched, taken from stage to stage.

use super::check::{self, refuse};
use super::{Done, Made, WorkError, done};
use crate::domain::deeds::NewBatch;
use crate::domain::records::{
    Batch, BatchId, Event, EventId, EventKind, Opens, Stage, Stay, StayId, Step, StepId, StepKind,
    StepRule, StepStatus, Vessel, VesselId,
};
use crate::domain::units::{Gravity, Litres, Moment};
use crate::store::{Reader, Writer};

/// More steps than any routine has.
const MOST_STEPS: usize = 500;

pub(super) fn start(w: &mut Writer<'_>, new: &NewBatch, now: Moment) -> Done {
    let name = check::name(&new.name, "the name of a batch")?;
    let at = new.pitched.unwrap_or(now);
    check::past(at, now, "pitching")?;
    if let Some(day) = new.planned_day {
        check::day(day, "the planned day")?;
    }
    check_rules(&new.steps)?;
    let vessel = match new.vessel {
        Some(id) => Some(check::free_vessel(w.read(), id, at)?),
        None if new.pitched.is_some() => {
            return refuse("a batch with yeast in it lies in a vessel: say in which");
        }
        None => None,
    };
    if let Some(vessel) = &vessel {
        check::fits(vessel, new.volume)?;
    }
    let batch = batch_of(new, name.clone(), now)?;
    let id = BatchId(w.add(&batch)?);
    let mut made = vec![Made::Batch(id)];
    for rule in &new.steps {
        made.push(Made::Step(add_step(w, id, rule)?));
    }
    if let Some(vessel) = &vessel {
        arrive(w, id, vessel.id, at, new.volume)?;
    }
    if let Some(pitched) = new.pitched {
        yeast_in(
            w,
            &Batch { id, ..batch },
            vessel.as_ref().map(|v| v.id),
            pitched,
        )?;
    }
    let verb = if new.pitched.is_some() {
        "started"
    } else {
        "planned"
    };
    let place = vessel.map(|v| format!(" in {}", v.tag)).unwrap_or_default();
    Ok(done(format!("'{name}' {verb}{place}"), Some(id), made))
}

fn batch_of(new: &NewBatch, name: String, now: Moment) -> Result<Batch, WorkError> {
    if let (Some(og), Some(fg)) = (new.planned_og, new.expected_fg)
        && fg > og
    {
        return refuse(format!(
            "a final gravity of {:.3} above the original {:.3} is not possible",
            fg.get(),
            og.get()
        ));
    }
    if let Some(band) = new.band
        && !(band.min <= band.low && band.low <= band.high && band.high <= band.max)
    {
        return refuse(
            "the temperatures of the yeast are out of order: coldest, good from, good to, warmest",
        );
    }
    Ok(Batch {
        id: BatchId(0),
        name,
        style: new.style,
        variety: new.variety.trim().to_owned(),
        stage: if new.pitched.is_some() {
            Stage::Fermenting
        } else {
            Stage::Planned
        },
        routine: new.routine.clone(),
        yeast: new.yeast.clone(),
        tolerance: new.tolerance,
        band: new.band,
        planned_og: new.planned_og,
        expected_fg: new.expected_fg,
        volume: new.volume,
        fizz: new.fizz,
        pitched: new.pitched,
        bottled: None,
        closed: None,
        created: now,
        planned_day: new.planned_day,
        note: check::note(&new.note)?,
    })
}

/// Step keys must differ, and what a step hangs on must be there.
fn check_rules(rules: &[StepRule]) -> Result<(), WorkError> {
    if rules.len() > MOST_STEPS {
        return refuse(format!(
            "{} steps are too many: accepted are up to {MOST_STEPS}",
            rules.len()
        ));
    }
    for (i, rule) in rules.iter().enumerate() {
        check_rule(rule)?;
        if rules.iter().take(i).any(|other| other.key == rule.key) {
            return refuse(format!(
                "two steps have the key '{}': every step needs its own",
                rule.key
            ));
        }
        if let Opens::After { step, .. } = &rule.opens
            && (*step == rule.key || !rules.iter().any(|other| other.key == *step))
        {
            return refuse(format!(
                "step '{}' hangs on step '{step}', which is not in the list",
                rule.key
            ));
        }
    }
    Ok(())
}

fn check_rule(rule: &StepRule) -> Result<(), WorkError> {
    check::name(&rule.key, "the key of a step")?;
    check::name(&rule.title, "the title of a step")?;
    check::note(&rule.why)?;
    check::note(&rule.harm)?;
    check::note(&rule.amount)?;
    if rule.weight > 3 {
        return refuse(format!(
            "a weight of {} is not possible: accepted is 0 to 3",
            rule.weight
        ));
    }
    Ok(())
}

fn add_step(w: &mut Writer<'_>, batch: BatchId, rule: &StepRule) -> Result<StepId, WorkError> {
    Ok(StepId(w.add(&Step {
        id: StepId(0),
        batch,
        rule: rule.clone(),
        status: StepStatus::Open,
        moved_to: None,
    })?))
}

/// Puts one more step on a batch's list. A key that is taken gets a number, since
/// a second swirl is a second swirl.
pub(super) fn add_one_step(w: &mut Writer<'_>, id: BatchId, rule: &StepRule) -> Done {
    let batch = check::batch(w.read(), id)?;
    refuse_closed(&batch)?;
    check_rule(rule)?;
    let steps = w.read().steps(id)?;
    if steps.len() >= MOST_STEPS {
        return refuse(format!(
            "there are {MOST_STEPS} steps already: more are not accepted"
        ));
    }
    if let Opens::After { step, .. } = &rule.opens
        && !steps.iter().any(|s| s.rule.key == *step)
    {
        let keys: Vec<_> = steps.iter().map(|s| s.rule.key.as_str()).collect();
        return refuse(format!(
            "the step hangs on '{step}', which this batch does not have: accepted are {}",
            keys.join(", ")
        ));
    }
    let taken = |key: &str| steps.iter().any(|s| s.rule.key == key);
    let mut rule = rule.clone();
    let wanted = rule.key.clone();
    for n in 2.. {
        if !taken(&rule.key) {
            break;
        }
        rule.key = format!("{wanted}-{n}");
    }
    let step = add_step(w, id, &rule)?;
    let label = check::label(w.read(), &batch)?;
    Ok(done(
        format!("{label}: step '{}' added", rule.title),
        Some(id),
        vec![Made::Step(step)],
    ))
}

/// A batch goes into a vessel. A moment may have been added to the stay before,
/// see [`end`]; then this one begins after it.
pub(super) fn arrive(
    w: &mut Writer<'_>,
    batch: BatchId,
    vessel: VesselId,
    at: Moment,
    volume: Option<Litres>,
) -> Result<(), WorkError> {
    let before = w.read().last_stay(vessel)?.and_then(|s| s.to);
    w.add(&Stay {
        id: StayId(0),
        batch,
        vessel,
        from: before.map_or(at, |to| to.max(at)),
        to: None,
        volume,
    })?;
    Ok(())
}

/// A batch leaves a vessel, which then wants cleaning.
pub(super) fn leave(w: &mut Writer<'_>, stay: &Stay, at: Moment) -> Result<(), WorkError> {
    let vessel = end(w, stay, at)?;
    w.put(&Vessel {
        clean: false,
        ..vessel
    })?;
    Ok(())
}

/// Refuses an instant before a stay; gives its vessel.
pub(super) fn began(r: Reader<'_>, stay: &Stay, at: Moment) -> Result<Vessel, WorkError> {
    let vessel = check::vessel(r, stay.vessel)?;
    if at < stay.from {
        return refuse(format!(
            "on {} it was not in {} yet: it went in on {}",
            check::when(at),
            vessel.tag,
            check::when(stay.from)
        ));
    }
    Ok(vessel)
}

/// Ends a stay; gives the vessel. No reading of the drink may be left without it: one
/// of the very same instant is taken to come before.
pub(super) fn end(w: &mut Writer<'_>, stay: &Stay, at: Moment) -> Result<Vessel, WorkError> {
    let vessel = began(w.read(), stay, at)?;
    let mut to = at;
    if let Some(reading) = w.read().reading_from(vessel.id, at)? {
        to = check::next_instant(at);
        if let Some(later) = w.read().reading_from(vessel.id, to)? {
            return refuse(format!(
                "{} has a reading of {}, so it was still in there on {}: give a later time, or mend that reading first",
                vessel.tag,
                check::when(later.at),
                check::when(reading.at.min(at))
            ));
        }
    }
    w.put(&Stay {
        to: Some(to),
        ..stay.clone()
    })?;
    Ok(vessel)
}

/// All that a batch lies in is emptied.
pub(super) fn leave_all(w: &mut Writer<'_>, batch: BatchId, at: Moment) -> Result<(), WorkError> {
    for stay in w.read().open_stays(batch)? {
        leave(w, &stay, at)?;
    }
    Ok(())
}

/// The ledger gets the pitching; steps that lie before it are done by it.
fn yeast_in(
    w: &mut Writer<'_>,
    batch: &Batch,
    vessel: Option<VesselId>,
    at: Moment,
) -> Result<(), WorkError> {
    let mut pitching = None;
    for step in w.read().steps(batch.id)? {
        let first_day = matches!(step.rule.opens, Opens::Day { day } if day <= 1);
        let before = match step.rule.kind {
            StepKind::Pitch => true,
            StepKind::Clean | StepKind::Mix => first_day,
            _ => false,
        };
        if !before || !step.is_open() {
            continue;
        }
        if step.rule.kind == StepKind::Pitch {
            pitching.get_or_insert(step.id);
        }
        w.put(&Step {
            status: StepStatus::Done { at },
            ..step
        })?;
    }
    w.add(&Event {
        step: pitching,
        vessel,
        substance: batch.yeast.clone().unwrap_or_default(),
        ..event(batch.id, at, EventKind::Pitch)
    })?;
    Ok(())
}

pub(super) fn pitch(
    w: &mut Writer<'_>,
    id: BatchId,
    vessel: Option<VesselId>,
    at: Moment,
    now: Moment,
) -> Done {
    check::past(at, now, "pitching")?;
    let batch = check::batch(w.read(), id)?;
    refuse_closed(&batch)?;
    if let Some(pitched) = batch.pitched {
        return refuse(format!(
            "'{}' was pitched on {}: yeast added later is a ledger entry",
            batch.name,
            check::when(pitched)
        ));
    }
    let stays = w.read().open_stays(id)?;
    let vessel = match (vessel, stays.as_slice()) {
        (None, []) => {
            return refuse(format!(
                "'{}' lies in no vessel: say in which it is pitched",
                batch.name
            ));
        }
        (None, [first, ..]) => first.vessel,
        (Some(wanted), held) if held.iter().any(|s| s.vessel == wanted) => wanted,
        (Some(wanted), held) => {
            let free = check::free_vessel(w.read(), wanted, at)?;
            check::fits(&free, batch.volume)?;
            for stay in held {
                // The plan had another vessel in mind: that one is free again.
                end(w, stay, at.max(stay.from))?;
            }
            arrive(w, id, wanted, at, batch.volume)?;
            wanted
        }
    };
    reach_back(w, id, vessel, at)?;
    let batch = Batch {
        stage: Stage::Fermenting,
        pitched: Some(at),
        ..batch
    };
    w.put(&batch)?;
    yeast_in(w, &batch, Some(vessel), at)?;
    let tag = check::vessel(w.read(), vessel)?.tag;
    Ok(done(
        format!("'{}' pitched in {tag}", batch.name),
        Some(id),
        vec![],
    ))
}

/// A plan that was pitched before it was written down lay in its vessel since then,
/// as far as the vessel was free.
fn reach_back(
    w: &mut Writer<'_>,
    batch: BatchId,
    vessel: VesselId,
    at: Moment,
) -> Result<(), WorkError> {
    let Some(stay) = w.read().open_stay_in(vessel)? else {
        return Ok(());
    };
    if stay.batch != batch || stay.from <= at {
        return Ok(());
    }
    let free_from = w.read().stay_before(&stay)?.and_then(|s| s.to);
    let from = free_from.map_or(at, |to| to.max(at));
    w.put(&Stay { from, ..stay })?;
    Ok(())
}

pub(super) fn set_stage(
    w: &mut Writer<'_>,
    id: BatchId,
    stage: Stage,
    at: Moment,
    note: &str,
    now: Moment,
) -> Done {
    check::past(at, now, "a change of stage")?;
    let mut batch = check::batch(w.read(), id)?;
    let label = check::label(w.read(), &batch)?;
    if batch.stage == stage {
        return refuse(format!("{label} is {stage} already: nothing to change"));
    }
    allowed(w, &batch, stage)?;
    let note = check::note(note)?;
    batch.stage = stage;
    batch.closed = (stage == Stage::Closed).then_some(at);
    w.put(&batch)?;
    let kind = if stage == Stage::Closed {
        EventKind::Close
    } else {
        EventKind::Stage
    };
    let words = if stage == Stage::Closed {
        note.clone()
    } else {
        String::new()
    };
    w.add(&Event {
        substance: stage.word().to_owned(),
        note: words,
        ..event(id, at, kind)
    })?;
    if stage != Stage::Closed && !note.is_empty() {
        w.add(&Event {
            note,
            ..event(id, at, EventKind::Overrule)
        })?;
    }
    if stage == Stage::Closed {
        leave_all(w, id, at)?;
        skip_open(w, id, at, "the batch was closed", |_| true)?;
    }
    Ok(done(format!("{label}: {stage}"), Some(id), vec![]))
}

fn allowed(w: &Writer<'_>, batch: &Batch, to: Stage) -> Result<(), WorkError> {
    let name = &batch.name;
    let bottles = !w.read().lots(batch.id)?.is_empty();
    match (batch.stage, to) {
        (_, Stage::Closed) => Ok(()),
        (Stage::Closed, Stage::Bottled) if bottles => Ok(()),
        (Stage::Closed, _) => refuse(format!(
            "'{name}' is closed: undo that, or start a new batch"
        )),
        (Stage::Planned, _) => refuse(format!("'{name}' is not pitched yet: pitch it first")),
        (_, Stage::Planned) => refuse(format!(
            "'{name}' is pitched and no plan any more: undo the pitching instead"
        )),
        (_, Stage::Bottled) => refuse(format!(
            "'{name}' is bottled by saying what was filled: record the bottling"
        )),
        (Stage::Bottled, _) => refuse(format!("'{name}' is in bottles: only closing it is left")),
        _ => Ok(()),
    }
}

/// Open steps of some kinds are left out, with the reason.
pub(super) fn skip_open(
    w: &mut Writer<'_>,
    id: BatchId,
    at: Moment,
    reason: &str,
    which: impl Fn(StepKind) -> bool,
) -> Result<(), WorkError> {
    for step in w.read().steps(id)? {
        if step.is_open() && which(step.rule.kind) {
            let reason = reason.to_owned();
            w.put(&Step {
                status: StepStatus::Skipped { at, reason },
                ..step
            })?;
        }
    }
    Ok(())
}

pub(super) fn edit(
    w: &mut Writer<'_>,
    id: BatchId,
    name: Option<&str>,
    note: Option<&str>,
    expected_fg: Option<Gravity>,
) -> Done {
    let mut batch = check::batch(w.read(), id)?;
    let label = check::label(w.read(), &batch)?;
    let old = batch.clone();
    if let Some(name) = name {
        batch.name = check::name(name, "the name of a batch")?;
    }
    if let Some(note) = note {
        batch.note = check::note(note)?;
    }
    if expected_fg.is_some() {
        batch.expected_fg = expected_fg;
    }
    if batch == old {
        return refuse(format!("nothing to change about {label}"));
    }
    w.put(&batch)?;
    let mut news = Vec::new();
    if batch.name != old.name {
        news.push(format!("now called '{}'", batch.name));
    }
    if batch.note != old.note {
        news.push("note changed".to_owned());
    }
    if let Some(fg) = batch.expected_fg.filter(|fg| Some(*fg) != old.expected_fg) {
        news.push(format!("final gravity {:.3} expected", fg.get()));
    }
    Ok(done(
        format!("{label}: {}", news.join(", ")),
        Some(id),
        vec![],
    ))
}

pub(super) fn refuse_closed(batch: &Batch) -> Result<(), WorkError> {
    if batch.stage == Stage::Closed {
        return refuse(format!(
            "'{}' is closed: only a note can still be added",
            batch.name
        ));
    }
    Ok(())
}

/// A bare ledger entry.
pub(super) fn event(batch: BatchId, at: Moment, kind: EventKind) -> Event {
    Event {
        id: EventId(0),
        batch,
        vessel: None,
        step: None,
        at,
        kind,
        substance: String::new(),
        mass: None,
        volume: None,
        gravity: None,
        alcohol: None,
        note: String::new(),
    }
}
