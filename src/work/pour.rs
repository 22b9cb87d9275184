//! Pouring together: topping up, and one batch into another.

use super::batches::{arrive, began, end, event, leave, refuse_closed, skip_open};
use super::check::{self, refuse};
use super::{Done, WorkError, done};
use crate::domain::deeds::Deed;
use crate::domain::records::{Batch, Event, EventKind, Stage, Stay, VesselId};
use crate::domain::sums::blend;
use crate::domain::units::{Litres, Moment};
use crate::store::Writer;

/// What is left in a vessel counts as nothing below this, in litres: a siphon
/// leaves more (common practice, no source).
const NOTHING: f64 = 0.02;

pub(super) fn pour(w: &mut Writer<'_>, deed: &Deed, now: Moment) -> Done {
    let Deed::Pour {
        batch,
        vessel,
        from,
        what,
        volume,
        gravity,
        alcohol,
        at,
        note,
    } = deed
    else {
        unreachable!("routed by the deed")
    };
    check::past(*at, now, "pouring together")?;
    let batch = check::batch(w.read(), *batch)?;
    refuse_closed(&batch)?;
    if volume.get() <= 0.0 {
        return refuse("0 L changes nothing: give how much");
    }
    let Some(stay) = w
        .read()
        .open_stays(batch.id)?
        .into_iter()
        .find(|s| s.vessel == *vessel)
    else {
        return refuse(format!("'{}' does not lie in that vessel", batch.name));
    };
    let target = check::vessel(w.read(), *vessel)?;
    let sum = stay.volume.map(|v| Litres::clamped(v.get() + volume.get()));
    check::fits(&target, sum.or(Some(*volume)))?;
    let note = check::note(note)?;
    let (kind, substance) = match from {
        Some(source) => (
            EventKind::Blend,
            give(w, &batch, *source, &target.tag, *volume, *at)?,
        ),
        None => (
            EventKind::TopUp,
            check::name(what, "the name of what is poured in")?,
        ),
    };
    let said = format!(
        "{}: {:.2} L of {substance} poured in",
        target.tag,
        volume.get()
    );
    began(w.read(), &stay, *at)?;
    w.put(&Stay {
        volume: sum,
        ..stay
    })?;
    w.add(&Event {
        vessel: Some(target.id),
        substance,
        volume: Some(*volume),
        gravity: *gravity,
        alcohol: *alcohol,
        note,
        ..event(batch.id, *at, kind)
    })?;
    Ok(done(said, Some(batch.id), vec![]))
}

/// The other batch gives; gives its name.
fn give(
    w: &mut Writer<'_>,
    to: &Batch,
    from: VesselId,
    tag: &str,
    volume: Litres,
    at: Moment,
) -> Result<String, WorkError> {
    let source = check::vessel(w.read(), from)?;
    let Some(stay) = w.read().open_stay_in(from)? else {
        return refuse(format!("nothing lies in {}", source.tag));
    };
    if stay.batch == to.id {
        return refuse(format!(
            "{} holds the same batch: rack it together instead",
            source.tag
        ));
    }
    let other = check::batch(w.read(), stay.batch)?;
    refuse_closed(&other)?;
    if other.pitched.is_none() {
        return refuse(format!(
            "'{}' is a plan: nothing lies in {}",
            other.name, source.tag
        ));
    }
    let had = stay.volume.map(Litres::get);
    if let Some(had) = had
        && volume.get() > had * 1.02
    {
        return refuse(format!(
            "{} holds {had:.2} L only: accepted are up to {had:.2} L",
            source.tag
        ));
    }
    w.add(&Event {
        vessel: Some(from),
        volume: Some(volume),
        substance: to.name.clone(),
        note: format!("given to '{}' in {tag}", to.name),
        ..event(other.id, at, EventKind::Loss)
    })?;
    let rest = had.map_or(NOTHING, |had| had - volume.get());
    if rest > NOTHING {
        end(w, &stay, at)?;
        arrive(w, other.id, from, at, Some(Litres::clamped(rest)))?;
    } else {
        empty(w, &other, &stay, to, at)?;
    }
    Ok(other.name)
}

/// All of it went: the vessel is free, and without another vessel the batch ends.
fn empty(
    w: &mut Writer<'_>,
    other: &Batch,
    stay: &Stay,
    to: &Batch,
    at: Moment,
) -> Result<(), WorkError> {
    leave(w, stay, at)?;
    if !w.read().open_stays(other.id)?.is_empty() {
        return Ok(());
    }
    skip_open(w, other.id, at, "blended before it was done", |_| true)?;
    w.put(&Batch {
        stage: Stage::Closed,
        closed: Some(at),
        ..other.clone()
    })?;
    w.add(&Event {
        substance: Stage::Closed.word().to_owned(),
        note: format!("all of it went into '{}'", to.name),
        ..event(other.id, at, EventKind::Close)
    })?;
    Ok(())
}

/// What goes into a ferment makes its vessel fuller, at most to the brim.
/// Gives the volume for the ledger: that of sugar is what it adds once dissolved.
pub(super) fn swell(
    w: &mut Writer<'_>,
    batch: &Batch,
    event: &Event,
) -> Result<Option<Litres>, WorkError> {
    let sweet = matches!(
        event.kind,
        EventKind::Sugar | EventKind::Sweeten | EventKind::Prime
    );
    let wet = matches!(
        event.kind,
        EventKind::Water | EventKind::TopUp | EventKind::Fruit
    );
    let in_it = batch.pitched.is_some_and(|p| p <= event.at);
    if !in_it || !(sweet || wet) {
        return Ok(event.volume);
    }
    let Some(stay) = w
        .read()
        .open_stays(batch.id)?
        .into_iter()
        .find(|s| Some(s.vessel) == event.vessel && s.from <= event.at)
    else {
        return Ok(event.volume);
    };
    let Some(had) = stay.volume else {
        return Ok(event.volume);
    };
    let more = event.volume.or_else(|| {
        event
            .mass
            .filter(|_| sweet)
            .map(|m| blend::swelling(had, m, blend::solids(&event.substance)))
    });
    if let Some(more) = more {
        let brim = check::vessel(w.read(), stay.vessel)?.capacity.get();
        let sum = (had.get() + more.get()).min(brim).max(had.get());
        w.put(&Stay {
            volume: Some(Litres::clamped(sum)),
            ..stay
        })?;
    }
    Ok(more)
}
