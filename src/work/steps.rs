//! Steps marked, skipped, moved; entries in the ledger.

use super::batches::{self, event, refuse_closed};
use super::check::{self, refuse};
use super::{Done, Made, WorkError, done, pantry, pour};
use crate::domain::deeds::{Deed, Given, NewEvent};
use crate::domain::records::{
    Batch, Event, EventId, EventKind, Stage, Step, StepId, StepKind, StepStatus,
};
use crate::domain::sums::contents::{Contents, contents};
use crate::domain::sums::ingredients::Kind;
use crate::domain::units::{Litres, Moment};
use crate::store::Writer;
use chrono::NaiveDate;

pub(super) fn write(w: &mut Writer<'_>, deed: &Deed, now: Moment) -> Done {
    match deed {
        Deed::StepDone {
            step,
            at,
            given,
            note,
        } => mark_done(w, *step, *at, given.as_ref(), note, now),
        Deed::StepSkip { step, at, reason } => skip(w, *step, *at, reason, now),
        Deed::StepMove { step, to } => move_to(w, *step, *to, now),
        Deed::AddStep { batch, rule } => batches::add_one_step(w, *batch, rule),
        _ => unreachable!("routed by the deed"),
    }
}

/// A step with its batch, refused where it was done before or is past help.
fn open_step(w: &Writer<'_>, id: StepId) -> Result<(Step, Batch), WorkError> {
    let step = check::step(w.read(), id)?;
    let batch = check::batch(w.read(), step.batch)?;
    refuse_closed(&batch)?;
    if let StepStatus::Done { at } = step.status {
        return refuse(format!(
            "'{}' was done on {}: undo that first, or add another step",
            step.rule.title,
            check::when(at)
        ));
    }
    Ok((step, batch))
}

fn mark_done(
    w: &mut Writer<'_>,
    id: StepId,
    at: Moment,
    given: Option<&Given>,
    note: &str,
    now: Moment,
) -> Done {
    check::past(at, now, "a step that is done")?;
    let (step, batch) = open_step(w, id)?;
    if step.rule.kind == StepKind::Pitch && batch.pitched.is_none() {
        return batches::pitch(w, batch.id, None, at, now);
    }
    if step.rule.kind == StepKind::Bottle {
        return refuse(format!(
            "'{}' is done by saying what was filled: record the bottling",
            step.rule.title
        ));
    }
    if batch.pitched.is_none() && !before_pitching(step.rule.kind) {
        return refuse(format!(
            "'{}' is not pitched yet: pitch it first",
            batch.name
        ));
    }
    if let Some(given) = given {
        if given.mass.is_some_and(|m| m.get() <= 0.0)
            || given.volume.is_some_and(|v| v.get() <= 0.0)
        {
            return refuse("an amount of 0 adds nothing: give more, or leave the amount out");
        }
        check::addition(w.read(), &batch, given.mass, given.volume)?;
    }
    let made = ledger_entries(w, &batch, &step, at, given, note)?;
    let cautions = match given {
        Some(given) => pantry::draw_given(w, given, batch.id, Some(id), at, &step.rule.title)?,
        None => Vec::new(),
    };
    if step.rule.kind == StepKind::Rest && batch.stage == Stage::Fermenting {
        w.put(&Batch {
            stage: Stage::Resting,
            ..batch.clone()
        })?;
        let resting = Stage::Resting.word().to_owned();
        w.add(&Event {
            substance: resting,
            step: Some(id),
            ..event(batch.id, at, EventKind::Stage)
        })?;
    }
    let said = format!(
        "{}: '{}' done{}",
        check::label(w.read(), &batch)?,
        step.rule.title,
        with(given)
    );
    w.put(&Step {
        status: StepStatus::Done { at },
        ..step
    })?;
    let mut kept = done(said, Some(batch.id), made);
    kept.gives.cautions = cautions;
    Ok(kept)
}

/// What makes sense for a must without yeast.
fn before_pitching(kind: StepKind) -> bool {
    !matches!(
        kind,
        StepKind::Swirl
            | StepKind::SwirlFeed
            | StepKind::Cap
            | StepKind::Unfruit
            | StepKind::Rack
            | StepKind::Rest
            | StepKind::Condition
    )
}

/// The ledger says what was done and given; a step that is only looked at needs no entry.
fn ledger_entries(
    w: &mut Writer<'_>,
    batch: &Batch,
    step: &Step,
    at: Moment,
    given: Option<&Given>,
    note: &str,
) -> Result<Vec<Made>, WorkError> {
    let note = check::note(note)?;
    let substance = match given {
        Some(g) if g.substance.trim().is_empty() => String::new(),
        Some(g) => check::name(&g.substance, "the name of what was added")?,
        None => String::new(),
    };
    let vessel = check::only_vessel(&w.read().open_stays(step.batch)?);
    let mut made = Vec::new();
    let mut add = |w: &mut Writer<'_>, event: Event| -> Result<(), WorkError> {
        made.push(Made::Event(EventId(w.add(&event)?)));
        Ok(())
    };
    let bare = Event {
        vessel,
        step: Some(step.id),
        ..event(step.batch, at, EventKind::Note)
    };
    if step.rule.kind == StepKind::SwirlFeed {
        add(
            w,
            Event {
                kind: EventKind::Degas,
                ..bare.clone()
            },
        )?;
    }
    let does = entry_kind(step.rule.kind, &substance);
    let puts = given.and_then(|g| addition_kind(&substance, g));
    // What is done to the whole drink has an entry of its own beside what went in.
    let apart = does.filter(|does| {
        puts.is_some()
            && matches!(
                does,
                EventKind::Degas | EventKind::Aerate | EventKind::Rack | EventKind::Warm
            )
    });
    if let Some(kind) = apart {
        let bare = bare.clone();
        add(w, Event { kind, ..bare })?;
    }
    let kind = match (does, puts) {
        (Some(does), Some(puts)) if !adds(does, puts) => Some(puts),
        (does, puts) => does.or(puts),
    };
    if kind.is_some() || given.is_some() || !note.is_empty() {
        let mut event = Event {
            kind: kind.unwrap_or(EventKind::Note),
            volume: given.and_then(|g| g.volume.or_else(|| juice_volume(&substance, g))),
            substance,
            mass: given.and_then(|g| g.mass),
            note,
            ..bare
        };
        event.volume = pour::swell(w, batch, &event)?;
        add(w, event)?;
    }
    Ok(made)
}

/// The ledger's word for what a step does to a batch, where it does something.
fn entry_kind(kind: StepKind, substance: &str) -> Option<EventKind> {
    match kind {
        StepKind::Swirl => Some(EventKind::Degas),
        StepKind::Feed | StepKind::SwirlFeed => Some(EventKind::Feed),
        StepKind::Aerate => Some(EventKind::Aerate),
        StepKind::Fruit => Some(EventKind::Fruit),
        StepKind::Flavour => Some(EventKind::Flavour),
        StepKind::Rack => Some(EventKind::Rack),
        StepKind::Temperature => Some(EventKind::Warm),
        StepKind::Stabilise if substance.to_lowercase().contains("sorb") => {
            Some(EventKind::Sorbate)
        }
        StepKind::Stabilise if substance.is_empty() || is_sulfite(substance) => {
            Some(EventKind::Sulfite)
        }
        StepKind::Sweeten => Some(EventKind::Sweeten),
        StepKind::Pitch => Some(EventKind::Pitch),
        StepKind::Stabilise
        | StepKind::Clean
        | StepKind::Mix
        | StepKind::Read
        | StepKind::Cap
        | StepKind::Unfruit
        | StepKind::Rest
        | StepKind::Bottle
        | StepKind::Condition
        | StepKind::Taste
        | StepKind::Other => None,
    }
}

fn is_sulfite(substance: &str) -> bool {
    let name = substance.to_lowercase();
    name.contains("sulf") || name.contains("sulph")
}

/// The ledger's word for what went in, by what it is called; `None` for what neither
/// ferments nor thins.
fn addition_kind(substance: &str, given: &Given) -> Option<EventKind> {
    Some(match contents(substance) {
        Contents::Known(i) | Contents::Likely(i) => match i.kind {
            Kind::Water => EventKind::Water,
            Kind::Fruit => EventKind::Fruit,
            Kind::Juice => EventKind::TopUp,
            Kind::Honey | Kind::Sugar | Kind::Syrup | Kind::Malt => EventKind::Sugar,
        },
        Contents::Water => EventKind::Water,
        Contents::Unfermentable => EventKind::Sweeten,
        Contents::Drink if given.volume.is_some() => EventKind::TopUp,
        Contents::Drink | Contents::Nothing | Contents::Unclear => return None,
    })
}

/// Whether the entry of a step already says that such a thing went in.
fn adds(does: EventKind, puts: EventKind) -> bool {
    does == puts
        || does == EventKind::Sweeten && puts == EventKind::Sugar
        || does == EventKind::Fruit && puts == EventKind::TopUp
}

/// Volume of a juice that was weighed.
fn juice_volume(substance: &str, given: &Given) -> Option<Litres> {
    let (Contents::Known(i) | Contents::Likely(i)) = contents(substance) else {
        return None;
    };
    let density = i.density().filter(|_| i.kind == Kind::Juice)?;
    Some(Litres::clamped(given.mass?.get() / density.get()))
}

fn with(given: Option<&Given>) -> String {
    let Some(given) = given else {
        return String::new();
    };
    let mut parts = Vec::new();
    if let Some(mass) = given.mass {
        parts.push(format!("{} g", mass.get()));
    }
    if let Some(volume) = given.volume {
        parts.push(format!("{} L", volume.get()));
    }
    if !given.substance.trim().is_empty() {
        parts.push(given.substance.trim().to_owned());
    }
    if parts.is_empty() {
        return String::new();
    }
    format!(" with {}", parts.join(" "))
}

fn skip(w: &mut Writer<'_>, id: StepId, at: Moment, reason: &str, now: Moment) -> Done {
    check::past(at, now, "leaving a step out")?;
    let (step, batch) = open_step(w, id)?;
    if !step.is_open() {
        return refuse(format!("'{}' is left out already", step.rule.title));
    }
    let reason = check::note(reason)?;
    let said = format!(
        "{}: '{}' skipped",
        check::label(w.read(), &batch)?,
        step.rule.title
    );
    w.put(&Step {
        status: StepStatus::Skipped { at, reason },
        ..step
    })?;
    Ok(done(said, Some(batch.id), vec![]))
}

fn move_to(w: &mut Writer<'_>, id: StepId, to: NaiveDate, now: Moment) -> Done {
    check::day(to, "the day")?;
    let (step, batch) = open_step(w, id)?;
    if !step.is_open() {
        return refuse(format!(
            "'{}' was left out: undo that before moving it",
            step.rule.title
        ));
    }
    let day = check::day_words(to, now);
    let said = format!(
        "{}: '{}' moved to {day}",
        check::label(w.read(), &batch)?,
        step.rule.title
    );
    if step.moved_to == Some(to) {
        return refuse(format!("'{}' is on {day} already", step.rule.title));
    }
    w.put(&Step {
        moved_to: Some(to),
        ..step
    })?;
    Ok(done(said, Some(batch.id), vec![]))
}

pub(super) fn add_event(w: &mut Writer<'_>, new: &NewEvent, now: Moment) -> Done {
    check::past(new.at, now, "a ledger entry")?;
    let batch = check::batch(w.read(), new.batch)?;
    if new.kind != EventKind::Note {
        refuse_closed(&batch)?;
    }
    refuse_special(&batch, new.kind)?;
    check::addition(w.read(), &batch, new.mass, new.volume)?;
    let vessel = event_vessel(w, new)?;
    let step = match new.step {
        Some(id) => Some(event_step(w, id, &batch)?),
        None => None,
    };
    let mut event = Event {
        id: EventId(0),
        batch: batch.id,
        vessel,
        step: new.step,
        at: new.at,
        kind: new.kind,
        substance: new.substance.trim().to_owned(),
        mass: new.mass,
        volume: new.volume,
        gravity: None,
        alcohol: None,
        note: check::note(&new.note)?,
    };
    event.volume = pour::swell(w, &batch, &event)?;
    let id = EventId(w.add(&event)?);
    if let Some(step) = step.filter(Step::is_open) {
        w.put(&Step {
            status: StepStatus::Done { at: new.at },
            ..step
        })?;
    }
    let given = Given {
        substance: new.substance.clone(),
        mass: new.mass,
        volume: new.volume,
    };
    let label = check::label(w.read(), &batch)?;
    let said = format!("{label}: {}{}", new.kind, with(Some(&given)));
    Ok(done(said, Some(batch.id), vec![Made::Event(id)]))
}

/// Some happenings change more than the ledger and have a deed of their own.
fn refuse_special(batch: &Batch, kind: EventKind) -> Result<(), WorkError> {
    let name = &batch.name;
    match kind {
        EventKind::Pitch if batch.pitched.is_none() => {
            refuse(format!("'{name}' is a plan: pitch it, which starts day 1"))
        }
        EventKind::Bottle => refuse(format!(
            "'{name}' is bottled by saying what was filled: record the bottling"
        )),
        EventKind::Split => {
            refuse("a split is a racking that leaves something behind: record the racking")
        }
        EventKind::Close | EventKind::Stage => refuse(format!(
            "'{name}' goes to another stage by setting its stage"
        )),
        _ => Ok(()),
    }
}

/// The vessel named, if the batch lay in it; or the only one it lay in then.
fn event_vessel(
    w: &Writer<'_>,
    new: &NewEvent,
) -> Result<Option<crate::domain::records::VesselId>, WorkError> {
    check::name(&format!(" {}", new.substance), "the name of what was added").or_else(|e| {
        if new.substance.trim().is_empty() {
            Ok(String::new())
        } else {
            Err(e)
        }
    })?;
    let stays = w.read().stays(new.batch)?;
    let Some(id) = new.vessel else {
        let then: Vec<_> = stays.into_iter().filter(|s| s.covers(new.at)).collect();
        return Ok(check::only_vessel(&then));
    };
    let vessel = check::vessel(w.read(), id)?;
    if stays.iter().any(|s| s.vessel == id) {
        Ok(Some(id))
    } else {
        refuse(format!(
            "this batch was never in {}: name the vessel it lay in",
            vessel.tag
        ))
    }
}

fn event_step(w: &Writer<'_>, id: StepId, batch: &Batch) -> Result<Step, WorkError> {
    let step = check::step(w.read(), id)?;
    if step.batch == batch.id {
        Ok(step)
    } else {
        refuse(format!("'{}' is a step of another batch", step.rule.title))
    }
}
