//! Plans kept and changed, the lines of the day ticked, days away.

use super::check::{self, refuse};
use super::{Done, Made, WorkError, batches, done, pantry};
use crate::domain::checklist::feeding;
use crate::domain::deeds::{Deed, Given, NewBatch};
use crate::domain::plan::Plan;
use crate::domain::records::{
    Away, AwayId, Batch, BatchId, Event, EventId, EventKind, PlaceId, Room, RoomId, Stage, Step,
    StepId, StepRule, StepStatus, Tick, TickId, Vessel,
};
use crate::domain::units::{CubicMetres, Moment};
use crate::store::{FoodRow, PartRow, PlanRow, Writer};
use chrono::NaiveDate;

/// Key of the line on which the yeast goes in: it uses a packet up.
const PITCH: &str = "pitch";
/// More parts than any must has.
const MOST_PARTS: usize = 60;

pub(super) fn keep(
    w: &mut Writer<'_>,
    batch: Option<BatchId>,
    plan: &Plan,
    steps: &[StepRule],
    now: Moment,
) -> Done {
    if plan.parts.len() > MOST_PARTS || plan.feeding.foods.len() > MOST_PARTS {
        return refuse(format!(
            "a plan of more than {MOST_PARTS} parts is not accepted"
        ));
    }
    for part in &plan.parts {
        check::name(&part.name, "the name of a part")?;
    }
    if plan.volume.get() <= 0.0 {
        return refuse("a plan needs a volume above nothing");
    }
    if let (Some(pitch), Some(feast)) = (plan.pitch_on, plan.feast_on)
        && feast < pitch
    {
        let (feast, pitch) = (check::day_words(feast, now), check::day_words(pitch, now));
        return refuse(format!(
            "the feast on {feast} lies before the pitching on {pitch}"
        ));
    }
    match batch {
        None => {
            let mut kept = batches::start(w, &new_batch(plan, steps), now)?;
            let id = kept
                .batch
                .ok_or_else(|| WorkError::Refused("the plan made no batch".into()))?;
            write_rows(w, id, plan)?;
            kept.name = format!("'{}' planned", plan.name.trim());
            Ok(kept)
        }
        Some(id) => change(w, id, plan, steps, now),
    }
}

/// The facts of a plan that its batch keeps.
fn new_batch(plan: &Plan, steps: &[StepRule]) -> NewBatch {
    let some = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    let (end, original) = (plan.ends().gravity, plan.original());
    let end = if end > original { original } else { end };
    NewBatch {
        name: plan.name.clone(),
        style: plan.style,
        variety: plan.variety.clone(),
        vessel: None,
        routine: some(&plan.routine),
        steps: steps.to_vec(),
        yeast: some(&plan.yeast.key),
        tolerance: Some(plan.yeast.tolerance),
        band: Some(plan.yeast.band),
        planned_og: Some(plan.original()),
        expected_fg: Some(end),
        volume: Some(plan.volume),
        fizz: plan.fizz,
        pitched: None,
        planned_day: plan.pitch_on,
        note: plan.note.clone(),
    }
}

/// Another plan for a batch that is not pitched yet.
fn change(w: &mut Writer<'_>, id: BatchId, plan: &Plan, steps: &[StepRule], now: Moment) -> Done {
    let batch = check::batch(w.read(), id)?;
    if batch.stage != Stage::Planned {
        return refuse(format!(
            "'{}' is pitched: its plan stands as it was. Copy it to plan it anew",
            batch.name
        ));
    }
    let new = new_batch(plan, steps);
    if let Some(day) = new.planned_day {
        check::day(day, "the planned day")?;
    }
    w.put(&Batch {
        name: check::name(&new.name, "the name of a batch")?,
        style: new.style,
        variety: new.variety.trim().to_owned(),
        routine: new.routine,
        yeast: new.yeast,
        tolerance: new.tolerance,
        band: new.band,
        planned_og: new.planned_og,
        expected_fg: new.expected_fg,
        volume: new.volume,
        fizz: new.fizz,
        planned_day: new.planned_day,
        note: check::note(&new.note)?,
        ..batch
    })?;
    renew_steps(w, id, steps, now)?;
    write_rows(w, id, plan)?;
    Ok(done(
        format!("plan of '{}' changed", plan.name.trim()),
        Some(id),
        vec![],
    ))
}

/// Steps of the same key take the new rule, new ones are added, those that the
/// plan no longer has are left out with that reason.
fn renew_steps(
    w: &mut Writer<'_>,
    id: BatchId,
    rules: &[StepRule],
    now: Moment,
) -> Result<(), WorkError> {
    const GONE: &str = "the plan was changed";
    let there = w.read().steps(id)?;
    for step in &there {
        let rule = rules.iter().find(|r| r.key == step.rule.key);
        let status = match (&step.status, rule) {
            (StepStatus::Open, None) => StepStatus::Skipped {
                at: now,
                reason: GONE.to_owned(),
            },
            (StepStatus::Skipped { reason, .. }, Some(_)) if reason == GONE => StepStatus::Open,
            (status, _) => status.clone(),
        };
        w.put(&Step {
            status,
            rule: rule.unwrap_or(&step.rule).clone(),
            ..step.clone()
        })?;
    }
    for rule in rules {
        if there.iter().all(|s| s.rule.key != rule.key) {
            w.add(&Step {
                id: StepId(0),
                batch: id,
                rule: rule.clone(),
                status: StepStatus::Open,
                moved_to: None,
            })?;
        }
    }
    Ok(())
}

/// The plan's own rows; what it no longer has is marked dropped.
fn write_rows(w: &mut Writer<'_>, id: BatchId, plan: &Plan) -> Result<(), WorkError> {
    let row = w.read().plan_row(id)?.map_or(0, |r| r.id);
    w.put_or_add(&PlanRow::of(plan, id, row))?;
    let there = w.read().plan_parts(id)?;
    for (seq, part) in (0i64..).zip(&plan.parts) {
        let row = there.iter().find(|r| r.seq == seq).map_or(0, |r| r.id);
        w.put_or_add(&PartRow {
            id: row,
            batch: id,
            seq,
            part: part.clone(),
            dropped: false,
        })?;
    }
    for old in there.into_iter().skip(plan.parts.len()) {
        w.put(&PartRow {
            dropped: true,
            ..old
        })?;
    }
    let there = w.read().plan_foods(id)?;
    for (seq, food) in (0i64..).zip(&plan.feeding.foods) {
        let row = there.iter().find(|r| r.seq == seq).map_or(0, |r| r.id);
        w.put_or_add(&FoodRow {
            id: row,
            batch: id,
            seq,
            food: food.clone(),
            dropped: false,
        })?;
    }
    for old in there.into_iter().skip(plan.feeding.foods.len()) {
        w.put(&FoodRow {
            dropped: true,
            ..old
        })?;
    }
    Ok(())
}

pub(super) fn tick(w: &mut Writer<'_>, deed: &Deed, now: Moment) -> Done {
    let Deed::Tick {
        batch: id,
        line,
        at,
        added,
        what,
    } = deed
    else {
        unreachable!("routed by the deed")
    };
    let batch = check::batch(w.read(), *id)?;
    batches::refuse_closed(&batch)?;
    let line = check::name(line, "the key of a line")?;
    let there = w.read().tick(*id, &line)?;
    let ticked = there.as_ref().and_then(|t| t.at);
    let what = check::note(what)?;
    match (at, ticked) {
        (Some(_), Some(before)) => refuse(format!(
            "that line was done at {} already: undo takes it back",
            check::when(before)
        )),
        (None, None) => refuse("that line is not ticked"),
        (None, Some(_)) => {
            let there = there.unwrap_or_else(|| unreachable!("it was ticked"));
            if there.mass.is_some() || there.volume.is_some() {
                return refuse(
                    "that line put something into the must: undo takes it back, the ledger and the pantry with it",
                );
            }
            reopen_step(w, *id, &line, there.at)?;
            w.put(&Tick { at: None, ..there })?;
            Ok(done(
                format!("'{}': tick taken off ({what})", batch.name),
                Some(*id),
                vec![],
            ))
        }
        (Some(at), None) => {
            check::past(*at, now, "a line that is done")?;
            let step = settle_step(w, *id, &line, *at)?;
            let mut cautions = put_in(w, *id, step, *at, added.as_ref(), &what)?;
            if line == PITCH
                && let Some(plan) = w.read().plan_row(*id)?
            {
                let yeast = &plan.yeast_title;
                let whose = (*id, None);
                cautions.extend(pantry::draw_named(
                    w, yeast, 1.0, "pieces", whose, *at, &what,
                )?);
            }
            let given = added.as_ref().map(|(_, g)| g);
            w.put_or_add(&Tick {
                id: there.map_or(TickId(0), |t| t.id),
                batch: *id,
                line,
                at: Some(*at),
                mass: given.and_then(|g| g.mass),
                volume: given.and_then(|g| g.volume),
                note: String::new(),
            })?;
            let mut kept = done(format!("'{}': {what}", batch.name), Some(*id), vec![]);
            kept.gives.cautions = cautions;
            Ok(kept)
        }
    }
}

/// The step that a line of the day is: done by it, so that the same thing is
/// not asked for once more.
fn settle_step(
    w: &mut Writer<'_>,
    batch: BatchId,
    line: &str,
    at: Moment,
) -> Result<Option<StepId>, WorkError> {
    let steps = w.read().steps(batch)?;
    let Some(step) = steps.into_iter().find(|s| feeding::is_step_of(line, s)) else {
        return Ok(None);
    };
    let id = step.id;
    if step.is_open() {
        w.put(&Step {
            status: StepStatus::Done { at },
            ..step
        })?;
    }
    Ok(Some(id))
}

/// The tick was taken off a line: what it alone had marked is to do again.
fn reopen_step(
    w: &mut Writer<'_>,
    batch: BatchId,
    line: &str,
    ticked: Option<Moment>,
) -> Result<(), WorkError> {
    let by_tick = |s: &Step| {
        feeding::is_step_of(line, s)
            && matches!(s.status, StepStatus::Done { at } if Some(at) == ticked)
    };
    let steps = w.read().steps(batch)?;
    if let Some(step) = steps.into_iter().find(by_tick) {
        w.put(&Step {
            status: StepStatus::Open,
            ..step
        })?;
    }
    Ok(())
}

/// What a line put into the must: into the ledger, out of the pantry.
fn put_in(
    w: &mut Writer<'_>,
    batch: BatchId,
    step: Option<StepId>,
    at: Moment,
    added: Option<&(EventKind, Given)>,
    what: &str,
) -> Result<Vec<String>, WorkError> {
    let Some((kind, given)) = added else {
        return Ok(Vec::new());
    };
    let mut cautions: Vec<String> = goes_in(w, batch, at)?.into_iter().collect();
    let whole = check::batch(w.read(), batch)?;
    check::addition(w.read(), &whole, given.mass, given.volume)?;
    let vessel = check::only_vessel(&w.read().open_stays(batch)?);
    w.add(&Event {
        id: EventId(0),
        batch,
        vessel,
        step,
        at,
        kind: *kind,
        substance: check::name(&given.substance, "the name of what was added")?,
        mass: given.mass,
        volume: given.volume,
        gravity: None,
        alcohol: None,
        note: String::new(),
    })?;
    cautions.extend(pantry::draw_given(w, given, batch, step, at, what)?);
    Ok(cautions)
}

/// With the first thing that goes in, the must lies in its vessel: readings
/// from then on are its own. A vessel that holds something else is told.
fn goes_in(w: &mut Writer<'_>, id: BatchId, at: Moment) -> Result<Option<String>, WorkError> {
    if !w.read().open_stays(id)?.is_empty() {
        return Ok(None);
    }
    let wanted = w.read().plan_row(id)?.and_then(|p| p.vessel);
    let all: Vec<Vessel> = w.read().all()?;
    let Some(vessel) = wanted.and_then(|v| {
        all.into_iter()
            .find(|a| !a.retired && a.tag.eq_ignore_ascii_case(&v.tag))
    }) else {
        return Ok(None);
    };
    if let Some(stay) = w.read().open_stay_in(vessel.id)? {
        let holds = check::batch(w.read(), stay.batch)?.name;
        return Ok(Some(format!(
            "{} still holds '{holds}': the must is written down without a vessel",
            vessel.tag
        )));
    }
    let volume = check::batch(w.read(), id)?.volume;
    batches::arrive(w, id, vessel.id, at, volume)?;
    Ok(None)
}

pub(super) fn add_away(w: &mut Writer<'_>, from: NaiveDate, to: NaiveDate, note: &str) -> Done {
    check::day(from, "the first day away")?;
    check::day(to, "the last day away")?;
    if to < from {
        return refuse(format!(
            "the last day away {to} lies before the first {from}"
        ));
    }
    if (to - from).num_days() > 366 {
        return refuse(format!(
            "{} days away are too many: accepted is up to a year",
            (to - from).num_days() + 1
        ));
    }
    let away = AwayId(w.add(&Away {
        id: AwayId(0),
        from,
        to,
        note: check::note(note)?,
        dropped: false,
    })?);
    Ok(done(
        format!("away {} to {}", from.format("%-d %b"), to.format("%-d %b")),
        None,
        vec![Made::Away(away)],
    ))
}

pub(super) fn drop_away(w: &mut Writer<'_>, id: AwayId) -> Done {
    let Some(away) = w.read().get::<Away>(id.0)?.filter(|a| !a.dropped) else {
        return refuse("those days away are not on the list (they may have been undone meanwhile)");
    };
    let said = format!(
        "not away {} to {}",
        away.from.format("%-d %b"),
        away.to.format("%-d %b")
    );
    w.put(&Away {
        dropped: true,
        ..away
    })?;
    Ok(done(said, None, vec![]))
}

pub(super) fn set_room(w: &mut Writer<'_>, place: PlaceId, size: CubicMetres) -> Done {
    let name = check::place(w.read(), place)?.name;
    let there = w.read().room_of(place)?;
    w.put_or_add(&Room {
        id: there.map_or(RoomId(0), |r| r.id),
        place,
        size,
    })?;
    Ok(done(format!("{name}: {:.1} m³", size.get()), None, vec![]))
}
