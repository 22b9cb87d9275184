//! Racking and bottling: a batch leaves its vessels.

use super::batches::{arrive, began, event, leave, leave_all, refuse_closed, skip_open};
use super::check::{self, refuse};
use super::{Done, Made, WorkError, done, pantry};
use crate::domain::deeds::{Deed, Fill};
use crate::domain::records::{
    Batch, BatchId, Event, EventKind, HoldKind, Lot, LotId, Stage, Stay, Step, StepId, StepKind,
    StepStatus, Vessel, VesselId,
};
use crate::domain::units::{Litres, Moment};
use crate::store::Writer;

/// Most bottles of one size in one go.
const MOST_BOTTLES: u32 = 10_000;

pub(super) fn rack(w: &mut Writer<'_>, deed: &Deed, now: Moment) -> Done {
    let Deed::Rack {
        batch,
        from,
        to,
        at,
        volume,
        keep_rest,
        note,
    } = deed
    else {
        unreachable!("routed by the deed")
    };
    check::past(*at, now, "a racking")?;
    let batch = check::batch(w.read(), *batch)?;
    refuse_closed(&batch)?;
    let source = check::vessel(w.read(), *from)?;
    if from == to {
        return refuse(format!(
            "{} cannot be racked into itself: name another vessel",
            source.tag
        ));
    }
    let stays = w.read().open_stays(batch.id)?;
    let Some(stay) = stays.iter().find(|s| s.vessel == *from).cloned() else {
        return refuse(format!("'{}' does not lie in {}", batch.name, source.tag));
    };
    let back = stays.iter().find(|s| s.vessel == *to).cloned();
    for stay in [Some(&stay), back.as_ref()].into_iter().flatten() {
        began(w.read(), stay, *at)?;
    }
    let target = match back {
        Some(_) => check::vessel(w.read(), *to)?,
        None => check::free_vessel(w.read(), *to, *at)?,
    };
    check::fits(&target, *volume)?;
    if let (Some(moved), Some(had)) = (*volume, stay.volume)
        && *keep_rest
        && moved >= had
    {
        return refuse(format!(
            "{:.2} L out of {:.2} L leaves nothing in {}: give less, or rack all of it",
            moved.get(),
            had.get(),
            source.tag
        ));
    }
    let dirty = !target.clean && back.is_none();
    go(w, &stay, &target, back, *at, *volume, *keep_rest)?;
    if batch.stage != Stage::Planned {
        let step = if *keep_rest {
            None
        } else {
            next_of(w, batch.id, StepKind::Rack, *at)?
        };
        let kind = if *keep_rest {
            EventKind::Split
        } else {
            EventKind::Rack
        };
        let note = check::note(note)?;
        let (vessel, volume) = (Some(target.id), *volume);
        w.add(&Event {
            vessel,
            step,
            volume,
            note,
            ..event(batch.id, *at, kind)
        })?;
    }
    let verb = if *keep_rest {
        "part of it racked"
    } else {
        "racked"
    };
    let said = format!(
        "'{}' {verb} from {} into {}",
        batch.name, source.tag, target.tag
    );
    let mut named = done(said, Some(batch.id), vec![]);
    if dirty {
        named
            .gives
            .cautions
            .push(format!("{} was not marked clean", target.tag));
    }
    Ok(named)
}

/// Moves the stays. Where no volume is given, all of it is taken to arrive, as
/// far as it fits.
fn go(
    w: &mut Writer<'_>,
    stay: &Stay,
    target: &Vessel,
    back: Option<Stay>,
    at: Moment,
    volume: Option<Litres>,
    keep_rest: bool,
) -> Result<(), WorkError> {
    let arrived = volume.or(if keep_rest {
        None
    } else {
        stay.volume.map(|v| least(v, target.capacity))
    });
    if keep_rest {
        // What stays behind is a stay of its own with its own volume.
        if let (Some(had), Some(moved)) = (stay.volume, volume) {
            let rest = Litres::clamped(had.get() - moved.get());
            w.put(&Stay {
                to: Some(at),
                ..stay.clone()
            })?;
            arrive(w, stay.batch, stay.vessel, at, Some(rest))?;
        }
    } else {
        leave(w, stay, at)?;
    }
    match back {
        None => arrive(w, stay.batch, target.id, at, arrived),
        Some(there) => {
            // Parts of one batch come together again.
            let sum = match (there.volume, arrived) {
                (Some(a), Some(b)) => Some(Litres::clamped(a.get() + b.get())),
                _ => None,
            };
            w.put(&Stay {
                to: Some(at),
                ..there.clone()
            })?;
            arrive(w, stay.batch, target.id, at, sum)
        }
    }
}

fn least(a: Litres, b: Litres) -> Litres {
    if a < b { a } else { b }
}

/// The first open step of a kind is done by this.
fn next_of(
    w: &mut Writer<'_>,
    batch: BatchId,
    kind: StepKind,
    at: Moment,
) -> Result<Option<StepId>, WorkError> {
    let steps = w.read().steps(batch)?;
    let Some(step) = steps
        .into_iter()
        .find(|s| s.is_open() && s.rule.kind == kind)
    else {
        return Ok(None);
    };
    let id = step.id;
    w.put(&Step {
        status: StepStatus::Done { at },
        ..step
    })?;
    Ok(Some(id))
}

pub(super) fn bottle(w: &mut Writer<'_>, deed: &Deed, now: Moment) -> Done {
    let Deed::Bottle {
        batch,
        vessel,
        at,
        fizz,
        fills,
        place,
        ready_from,
        drink_by,
        note,
        overrides,
    } = deed
    else {
        unreachable!("routed by the deed")
    };
    check::past(*at, now, "a bottling")?;
    let mut batch = check::batch(w.read(), *batch)?;
    let (stays, rest) = bottling_allowed(w, &batch, *vessel, !overrides.is_empty(), note)?;
    check::place(w.read(), *place)?;
    for (day, what) in [
        (ready_from, "the day they are ready"),
        (drink_by, "the day to drink by"),
    ] {
        if let Some(day) = day {
            check::day(*day, what)?;
        }
    }
    let filled = check_fills(w, fills, &stays)?;
    let note = check::note(note)?;
    let label = check::label(w.read(), &batch)?;
    let mut made = Vec::new();
    let reason = (!overrides.is_empty()).then(|| note.clone());
    let mut words = if reason.is_some() {
        String::new()
    } else {
        note.clone()
    };
    if let (true, Some(stay)) = (rest, stays.first()) {
        let tag = check::vessel(w.read(), stay.vessel)?.tag;
        words = match words.as_str() {
            "" => format!("out of {tag}"),
            said => format!("out of {tag}; {said}"),
        };
    }
    for fill in fills {
        made.push(Made::Lot(LotId(w.add(&Lot {
            id: LotId(0),
            batch: batch.id,
            class: fill.class,
            size: fill.size,
            count: fill.count,
            clear_glass: fill.clear_glass,
            place: *place,
            bottled: *at,
            ready_from: *ready_from,
            drink_by: *drink_by,
            note: words.clone(),
        })?)));
    }
    batch.fizz = fizz.unwrap_or(batch.fizz);
    let note = if reason.is_some() { "" } else { &note };
    if rest {
        settle_part(w, &batch, &stays, *at, filled, note)?;
    } else {
        settle(w, &batch, *at, filled, note)?;
    }
    if let Some(reason) = reason {
        let part = stays.first().filter(|_| rest).map(|s| s.vessel);
        overridden(w, &batch, part, *at, overrides, &reason)?;
    }
    let cautions = pantry::draw_bottles(w, fills, batch.id, *at)?;
    let bottles: u32 = fills.iter().map(|f| f.count).sum();
    let mut kept = done(
        format!("{label}: {bottles} bottles of '{}' filled", batch.name),
        Some(batch.id),
        made,
    );
    kept.gives.cautions = cautions;
    Ok(kept)
}

/// What is bottled, and whether other vessels hold a part that is not.
fn bottling_allowed(
    w: &Writer<'_>,
    batch: &Batch,
    vessel: Option<VesselId>,
    overridden: bool,
    note: &str,
) -> Result<(Vec<Stay>, bool), WorkError> {
    refuse_closed(batch)?;
    if batch.pitched.is_none() {
        return refuse(format!(
            "'{}' is not pitched yet: there is nothing to bottle",
            batch.name
        ));
    }
    let stays = w.read().open_stays(batch.id)?;
    if stays.is_empty() {
        return refuse(format!(
            "'{}' lies in no vessel: there is nothing to bottle",
            batch.name
        ));
    }
    if overridden && note.trim().is_empty() {
        return refuse("an override needs its reason: say in a sentence why");
    }
    let Some(vessel) = vessel else {
        return Ok((stays, false));
    };
    let (here, rest): (Vec<Stay>, Vec<Stay>) = stays.into_iter().partition(|s| s.vessel == vessel);
    if here.is_empty() {
        let tag = check::vessel(w.read(), vessel)?.tag;
        return refuse(format!("{tag} holds nothing of '{}'", batch.name));
    }
    Ok((here, !rest.is_empty()))
}

/// Each kind of hold that a reason lifts, in the ledger.
fn overridden(
    w: &mut Writer<'_>,
    batch: &Batch,
    vessel: Option<VesselId>,
    at: Moment,
    kinds: &[HoldKind],
    reason: &str,
) -> Result<(), WorkError> {
    for kind in kinds {
        w.add(&Event {
            vessel,
            substance: kind.word().to_owned(),
            note: reason.to_owned(),
            ..event(batch.id, at, EventKind::Overrule)
        })?;
    }
    Ok(())
}

/// One vessel of several is bottled: the batch goes on in the others.
fn settle_part(
    w: &mut Writer<'_>,
    batch: &Batch,
    stays: &[Stay],
    at: Moment,
    filled: Litres,
    note: &str,
) -> Result<(), WorkError> {
    for stay in stays {
        w.add(&Event {
            vessel: Some(stay.vessel),
            substance: batch.fizz.word().to_owned(),
            volume: Some(filled),
            note: note.to_owned(),
            ..event(batch.id, at, EventKind::Bottle)
        })?;
        leave(w, stay, at)?;
    }
    Ok(())
}

/// Bottles must be possible, and together no more than the vessels hold.
fn check_fills(w: &Writer<'_>, fills: &[Fill], stays: &[Stay]) -> Result<Litres, WorkError> {
    let mut sum = 0.0;
    for fill in fills {
        if fill.count == 0 || fill.count > MOST_BOTTLES {
            return refuse(format!(
                "{} bottles are not possible: accepted are 1 to {MOST_BOTTLES}",
                fill.count
            ));
        }
        if fill.size.get() <= 0.0 {
            return refuse("a bottle of 0 L is not possible: give its volume");
        }
        sum += fill.size.get() * f64::from(fill.count);
    }
    if fills.is_empty() {
        return refuse("no bottle was filled: give how many of which size");
    }
    let mut room = 0.0;
    for stay in stays {
        room += check::vessel(w.read(), stay.vessel)?.capacity.get();
    }
    // A tenth more than brimful is a slip of the count or the size
    // (common practice, no source).
    if sum > room * 1.1 {
        return refuse(format!(
            "{sum:.2} L in bottles is more than the {room:.2} L that its vessels hold: check count and size"
        ));
    }
    Ok(Litres::clamped(sum))
}

fn settle(
    w: &mut Writer<'_>,
    batch: &Batch,
    at: Moment,
    filled: Litres,
    note: &str,
) -> Result<(), WorkError> {
    let step = next_of(w, batch.id, StepKind::Bottle, at)?;
    leave_all(w, batch.id, at)?;
    w.put(&Batch {
        stage: Stage::Bottled,
        bottled: Some(at),
        ..batch.clone()
    })?;
    w.add(&Event {
        step,
        substance: batch.fizz.word().to_owned(),
        volume: Some(filled),
        note: note.to_owned(),
        ..event(batch.id, at, EventKind::Bottle)
    })?;
    skip_open(w, batch.id, at, "bottled before it was done", |kind| {
        !matches!(
            kind,
            // A rest and a reading settle by themselves.
            StepKind::Rest
                | StepKind::Read
                | StepKind::Condition
                | StepKind::Taste
                | StepKind::Temperature
                | StepKind::Clean
                | StepKind::Other
        )
    })
}
