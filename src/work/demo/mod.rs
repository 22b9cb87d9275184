//! An invented household to look around in; it says so in its files.
//!
//! All of it goes in by the same deeds that a maker does, in order of time, so
//! that its history, its undo and its screens are real.

mod life;
mod script;

use super::{WorkError, carry_out};
use crate::domain::bottles;
use crate::domain::deeds::{Deed, NewReading};
use crate::domain::records::{
    Bottle, MeasureKind, PantryId, PantryItem, PlaceId, Seen, Subject, Unit, VesselId,
};
use crate::domain::units::{Celsius, Grams, Litres, Moment};
use crate::store::Store;
use script::HouseholdFile;
use std::collections::HashMap;
use std::io::ErrorKind;
use std::path::Path;

/// Fills an empty store with the invented household, as if it had been kept
/// for a year up to `now`.
pub fn build(store: &mut Store, now: Moment) -> Result<(), WorkError> {
    let home = script::household().map_err(WorkError::Refused)?;
    let batches = script::batches().map_err(WorkError::Refused)?;
    let began = now.plus_days(-400.0);
    let ids = furnish(store, &home, began, now)?;
    let mut diary = life::Diary::default();
    temperatures(&mut diary, &home, &ids, now)?;
    for (index, batch) in batches.iter().enumerate() {
        diary.batch(index, batch, &ids, now)?;
    }
    diary.carry_out(store, &batches, &ids, now)
}

/// Makes a store file that holds the invented household. It is built in memory
/// first: hundreds of deeds, each safely on the disk, would keep a maker waiting.
/// Refused where the file exists.
pub fn build_into(file: &Path, now: Moment) -> Result<Store, WorkError> {
    let trouble = |e: std::io::Error| {
        WorkError::Refused(format!(
            "the demonstration can't be put into {}: {e}",
            file.display()
        ))
    };
    if file.exists() {
        return Err(trouble(ErrorKind::AlreadyExists.into()));
    }
    let mut store = Store::in_memory()?;
    build(&mut store, now)?;
    let folder = match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let copy = store.back_up(folder, now)?;
    std::fs::rename(copy, file).map_err(trouble)?;
    Ok(Store::open(file, now)?)
}

/// Names to row numbers.
struct Ids {
    places: HashMap<String, PlaceId>,
    vessels: HashMap<String, VesselId>,
}

impl Ids {
    fn place(&self, name: &str) -> Result<PlaceId, WorkError> {
        self.places.get(name).copied().ok_or_else(|| unknown(name))
    }

    fn vessel(&self, tag: &str) -> Result<VesselId, WorkError> {
        self.vessels.get(tag).copied().ok_or_else(|| unknown(tag))
    }
}

fn unknown(what: &str) -> WorkError {
    WorkError::Refused(format!("the demonstration knows no '{what}'"))
}

fn range(error: crate::domain::units::OutOfRange) -> WorkError {
    WorkError::Refused(error.to_string())
}

fn furnish(
    store: &mut Store,
    home: &HouseholdFile,
    began: Moment,
    now: Moment,
) -> Result<Ids, WorkError> {
    carry_out(store, &Deed::SaveSettings(home.settings()), began)?;
    let mut ids = Ids {
        places: HashMap::new(),
        vessels: HashMap::new(),
    };
    for p in &home.place {
        let deed = Deed::AddPlace {
            name: p.name.clone(),
            dark: p.dark,
            usual_temp: Some(Celsius::from_fahrenheit(p.usual_f).map_err(range)?),
        };
        let made = carry_out(store, &deed, began)?.place();
        ids.places
            .insert(p.name.clone(), made.ok_or_else(|| unknown(&p.name))?);
    }
    for v in &home.vessel {
        let deed = Deed::AddVessel {
            tag: v.tag.clone(),
            kind: v.kind,
            capacity: Litres::from_us_gallons(v.gallons).map_err(range)?,
            place: ids.place(&v.place)?,
            tare: v.tare_g.map(Grams::new).transpose().map_err(range)?,
        };
        let made = carry_out(store, &deed, began)?.vessel();
        ids.vessels
            .insert(v.tag.clone(), made.ok_or_else(|| unknown(&v.tag))?);
    }
    tools_and_pantry(store, home, began, now)?;
    Ok(ids)
}

fn tools_and_pantry(
    store: &mut Store,
    home: &HouseholdFile,
    began: Moment,
    now: Moment,
) -> Result<(), WorkError> {
    for i in &home.instrument {
        let deed = Deed::AddInstrument {
            name: i.name.clone(),
            kind: i.kind,
            calibrated_at: i
                .calibrated_f
                .map(Celsius::from_fahrenheit)
                .transpose()
                .map_err(range)?,
            offset: i.offset,
            resolution: i.resolution,
            factor: i.factor,
            preferred: i.preferred,
        };
        carry_out(store, &deed, began)?;
    }
    for p in &home.pantry {
        let item = PantryItem {
            id: PantryId(0),
            kind: p.kind,
            name: p.name.clone(),
            amount: p.amount,
            unit: p.unit.clone(),
            lot: String::new(),
            best_before: p.best_before_in.map(|d| script::in_days(now, d)),
            price: None,
            keep_at_least: p.keep_at_least,
            bottle: bottles::read(&p.name, "").map(|b| Bottle {
                filled: p.filled,
                rejected: p.rejected,
                ..b
            }),
            note: String::new(),
        };
        carry_out(store, &Deed::StockPantry(item), began)?;
    }
    Ok(())
}

fn temperatures(
    diary: &mut life::Diary,
    home: &HouseholdFile,
    ids: &Ids,
    now: Moment,
) -> Result<(), WorkError> {
    let place = ids.place(&home.temperatures.place)?;
    for (ago, fahrenheit) in &home.temperatures.fahrenheit {
        let at = ago.at(now);
        let seen = seen(MeasureKind::Temperature, *fahrenheit, Unit::Fahrenheit)?;
        diary.deed(
            at,
            Deed::Record(vec![by_hand(Subject::Place(place), at, seen)]),
        );
    }
    Ok(())
}

fn seen(kind: MeasureKind, value: f64, unit: Unit) -> Result<Seen, WorkError> {
    Seen::new(kind, value, unit).map_err(|e| WorkError::Refused(e.to_string()))
}

fn by_hand(subject: Subject, at: Moment, seen: Seen) -> NewReading {
    NewReading {
        subject,
        at,
        seen,
        sample_temp: None,
        instrument: None,
        source: "hand".into(),
        doubted: false,
        note: String::new(),
    }
}
