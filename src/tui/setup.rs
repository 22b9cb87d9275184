//! The welcome's errand: a place, vessels, a first batch, each an ordinary deed.

use crate::app::setup::Setup;
use crate::domain::deeds::{Deed, NewReading};
use crate::domain::records::{Subject, VesselId};
use crate::domain::units::Moment;
use crate::store::Store;
use crate::work::{self, WorkError};

/// Carries a setup out; gives what was done, in words.
pub(super) fn set_up(store: &mut Store, setup: &Setup, now: Moment) -> Result<String, WorkError> {
    work::carry_out(store, &Deed::SaveSettings(setup.settings.clone()), now)?;
    let place = work::carry_out(
        store,
        &Deed::AddPlace {
            name: setup.place.clone(),
            dark: true,
            usual_temp: setup.usual_temp,
        },
        now,
    )?;
    let Some(place) = place.place() else {
        return Err(WorkError::Refused("the place was not made".into()));
    };
    let mut vessels: Vec<(String, VesselId)> = Vec::new();
    for (tag, kind, capacity) in &setup.vessels {
        let deed = Deed::AddVessel {
            tag: tag.clone(),
            kind: *kind,
            capacity: *capacity,
            place,
            tare: None,
        };
        let made = work::carry_out(store, &deed, now)?;
        vessels.extend(made.vessel().map(|id| (tag.clone(), id)));
    }
    let Some(first) = &setup.first else {
        return Ok(format!("{} and {} vessels", setup.place, vessels.len()));
    };
    let vessel = vessels.iter().find(|(tag, _)| *tag == first.tag);
    let vessel = vessel.map(|(_, id)| *id);
    let mut batch = first.batch.clone();
    batch.vessel = vessel;
    let pitched = batch.pitched.unwrap_or(now);
    let started = work::carry_out(store, &Deed::StartBatch(Box::new(batch)), now)?;
    if let (Some(seen), Some(vessel)) = (first.original, vessel) {
        let reading = NewReading {
            subject: Subject::Vessel(vessel),
            at: pitched,
            seen,
            sample_temp: None,
            instrument: None,
            source: "hand".into(),
            doubted: false,
            note: String::new(),
        };
        work::carry_out(store, &Deed::Record(vec![reading]), now)?;
    }
    Ok(started.said)
}
