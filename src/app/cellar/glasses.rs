//! A keg: glasses that were drawn.

use super::{moment_of, not_before};
use crate::app::msg::{Effect, Ticket};
use crate::app::say;
use crate::app::state::State;
use crate::domain::deeds::{Deed, NewEvent};
use crate::domain::records::{DrawKind, EventKind, Stage, VesselId};
use crate::domain::taking::{self, Taking};
use crate::domain::units::{Litres, Moment};
use crate::engine::cellar::{self, Tapped};
use chrono::NaiveDate;

fn keg_of(state: &State, vessel: VesselId) -> Option<Tapped> {
    let household = state.household.as_ref()?;
    cellar::kegs(household)
        .into_iter()
        .find(|k| k.vessel == vessel)
}

/// What so many glasses out of a keg would leave.
pub fn glasses_mean(state: &State, vessel: VesselId, text: &str) -> Result<String, String> {
    let keg = keg_of(state, vessel).ok_or("That keg is empty.")?;
    let taken = glasses_of(&keg, text, state.now.day())?;
    let left = keg.glasses() - taken.count.unsigned_abs();
    Ok(match (left, keg.alone) {
        (0, true) => "the keg is empty then, and the batch is closed".into(),
        _ => format!("{left} left then"),
    })
}

/// Glasses as typed: `2`, `3 given Anna`, `1 on yesterday`.
pub fn glasses_of(keg: &Tapped, text: &str, today: NaiveDate) -> Result<Taking, String> {
    let taken = taking::parse(text, keg.glasses(), today)?;
    if taken.count <= 0 || taken.count.unsigned_abs() > keg.glasses() {
        return Err(format!("1 to {} glasses are in it.", keg.glasses()));
    }
    Ok(taken)
}

/// Glasses leave a keg; with the last the batch is closed.
pub fn glasses_deed(keg: &Tapped, taken: &Taking, now: Moment) -> Deed {
    let n = taken.count.unsigned_abs();
    let at = not_before(moment_of(taken.on, now), keg.since);
    let glasses = say::count(n.into(), "glass", "glasses");
    let how = match taken.kind {
        DrawKind::Given => " given",
        DrawKind::Broken => " spilled",
        DrawKind::Counted => " missing",
        DrawKind::Drunk => "",
    };
    let note = [
        format!("{glasses}{how}"),
        taken.whom.clone(),
        taken.note.clone(),
    ]
    .into_iter()
    .filter(|w| !w.is_empty())
    .collect::<Vec<_>>()
    .join(", ");
    let drawn = Deed::AddEvent(NewEvent {
        batch: keg.batch,
        vessel: Some(keg.vessel),
        step: None,
        at,
        kind: EventKind::Loss,
        substance: String::new(),
        mass: None,
        volume: Some(Litres::clamped(cellar::glass().get() * f64::from(n))),
        note,
    });
    if n < keg.glasses() || !keg.alone {
        return drawn;
    }
    let closed = Deed::SetStage {
        batch: keg.batch,
        stage: Stage::Closed,
        at,
        note: format!("{} is drunk empty", keg.tag),
    };
    Deed::Together {
        name: format!("the last of {} drawn", keg.tag),
        deeds: vec![drawn, closed],
    }
}

/// Enter on the pad for glasses.
pub fn glasses(state: &mut State, vessel: VesselId, text: &str) -> Option<(Ticket, Effect)> {
    let keg = keg_of(state, vessel)?;
    let taken = glasses_of(&keg, text, state.now.day()).ok()?;
    let deed = glasses_deed(&keg, &taken, state.now);
    let ticket = state.ticket();
    Some((ticket, Effect::CarryOut(ticket, vec![deed])))
}
