//! Racking, pouring together, stabilising and sweetening: what comes of it
//! before it is done, and the deed that it becomes. Pure.

use super::Account;
use super::bottling::{Treatment, Weakness, clipped, draw, rule, unstable};
use super::facts;
use crate::domain::deeds::{Deed, NewEvent, NewReading};
use crate::domain::records::{
    BatchId, Dossier, EventKind, MeasureKind, PantryItem, Seen as Value, StepKind, Subject, Unit,
    Vessel, VesselId,
};
use crate::domain::sums::SumError;
use crate::domain::sums::blend::{self, Lot, Seen};
use crate::domain::sums::contents::{Contents, contents};
use crate::domain::sums::sulfite::{self, Dose, Present, Salt, Sorbate};
use crate::domain::units::{
    Abv, Grams, GramsPerLitre, Gravity, Litres, MilligramsPerLitre, Moment, Ph, Share, batch_day,
};
use chrono::Days;

/// Potassium metabisulfite in a level teaspoon, grams, and sorbate (common
/// practice, no source; spoons and powders differ by a third).
pub const METABISULFITE_SPOON: f64 = 6.0;
/// Potassium sorbate in a level teaspoon, grams (common practice, no source).
pub const SORBATE_SPOON: f64 = 3.0;
/// Said where a dose would not count.
pub const NOT_FINISHED: &str = "No steady readings show that it has finished: sulfite and sorbate won't stop an active fermentation.";
/// Days between stabilising and sweetening (common practice: 24 to 48 hours).
const BEFORE_SWEETENING: u64 = 2;
/// Days under the airlock after sweetening (common practice: 7 to 14).
const AFTER_SWEETENING: u64 = 7;

/// What lies in a vessel, as far as it is known.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Drink {
    /// How much.
    pub volume: Option<Litres>,
    /// Its gravity.
    pub gravity: Option<Gravity>,
    /// Its alcohol.
    pub alcohol: Option<Abv>,
    /// Its pH as last read.
    pub ph: Option<Ph>,
}

impl Drink {
    /// By the account of what lies in a vessel.
    pub fn of(dossier: &Dossier, account: &Account) -> Self {
        Self {
            volume: account.volume,
            gravity: account.figures.gravity,
            alcohol: account.figures.alcohol,
            ph: facts::last_ph(dossier, account.vessel, account.at),
        }
    }

    fn lot(&self, volume: Litres) -> Result<Lot, SumError> {
        let missing = |what: &str| {
            SumError::NoAnswer(format!("its {what} is not known: take a reading first"))
        };
        Lot::new(
            volume,
            self.gravity.ok_or_else(|| missing("gravity"))?,
            self.alcohol.ok_or_else(|| missing("alcohol"))?,
            GramsPerLitre::known(0.0),
        )
    }
}

/// What a racking comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Racked {
    /// What stays behind or is spilled.
    pub lost: Litres,
    /// Room left in the new vessel; negative when it would run over.
    pub headspace: f64,
    /// The same as a share of the vessel.
    pub share: f64,
    /// Too much air over a finished drink.
    pub airy: bool,
}

/// Share of a vessel from which the air over a finished drink matters
/// (common practice: 2 to 5 cm below the bung).
const AIRY: f64 = 0.08;

/// What a racking comes to. `had` is what lay in the old vessel.
pub fn rack(had: Option<Litres>, arrived: Litres, there: Litres, to: &Vessel) -> Racked {
    let headspace = to.capacity.get() - arrived.get() - there.get();
    let share = headspace / to.capacity.get().max(1e-9);
    Racked {
        lost: Litres::clamped(had.map_or(0.0, |h| h.get() - arrived.get())),
        headspace,
        share,
        airy: share > AIRY,
    }
}

/// The deed of a racking: what is lost is written down beside it.
pub fn rack_deed(
    dossier: &Dossier,
    from: &Vessel,
    to: &Vessel,
    at: Moment,
    arrived: Option<Litres>,
    keep_rest: bool,
    note: &str,
) -> Deed {
    let batch = dossier.batch.id;
    let rack = Deed::Rack {
        batch,
        from: from.id,
        to: to.id,
        at,
        volume: arrived,
        keep_rest,
        note: note.to_owned(),
    };
    let had = dossier
        .stays
        .iter()
        .find(|s| s.to.is_none() && s.vessel == from.id)
        .and_then(|s| s.volume);
    let lost = match (had, arrived, keep_rest) {
        (Some(had), Some(arrived), false) => had.get() - arrived.get(),
        _ => 0.0,
    };
    if lost < 0.0005 {
        return rack;
    }
    let loss = Deed::AddEvent(NewEvent {
        vessel: Some(from.id),
        volume: Some(Litres::clamped(lost)),
        note: "left with the lees".into(),
        ..event(batch, at, EventKind::Loss)
    });
    Deed::Together {
        name: clipped(&format!(
            "'{}' racked from {} into {}",
            dossier.batch.name, from.tag, to.tag
        )),
        deeds: vec![loss, rack],
    }
}

/// What pouring one drink to another gives.
pub fn pour(into: &Drink, other: &Drink, volume: Litres) -> Result<Seen, SumError> {
    let had = into
        .volume
        .ok_or_else(|| SumError::NoAnswer("its volume is not known".to_owned()))?;
    blend::mix(&[into.lot(had)?, other.lot(volume)?])
}

/// A drink from outside, as far as its figures are told; what is not told is taken as
/// usual for such a thing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outside {
    /// The drink.
    pub drink: Drink,
    /// Its gravity was not told.
    pub assumed: bool,
}

/// What a drink of this name from outside is: as told, else as usual.
///
/// Water is water, juice is what the table of ingredients has for it, or the sweetest
/// juice there where its sort is not told. Of a fermented drink gravity and alcohol are
/// needed. An error says what is missing.
pub fn outside(
    name: &str,
    gravity: Option<Gravity>,
    alcohol: Option<Abv>,
) -> Result<Outside, SumError> {
    let none = Abv::known(0.0);
    let strong = alcohol.is_some_and(|a| a.get() > 0.0);
    let assumed = gravity.is_none() && contents(name) != Contents::Water;
    let usual = match contents(name) {
        _ if gravity.is_some() => gravity,
        Contents::Water => Some(Gravity::known(1.0)),
        Contents::Known(i) | Contents::Likely(i) if !strong => {
            let unit = Lot::sweetener(Grams::known(1000.0), i.solids);
            Some(unit.seen()?.gravity)
        }
        _ => None,
    };
    let gravity = usual.ok_or_else(|| {
        SumError::NoAnswer(format!(
            "the gravity of '{name}' is needed: without it nobody knows how much sugar goes in"
        ))
    })?;
    let drink = Drink {
        gravity: Some(gravity),
        alcohol: Some(alcohol.unwrap_or(none)),
        ..Drink::default()
    };
    Ok(Outside { drink, assumed })
}

/// Doses that keep a finished drink as it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stabilising {
    /// Free SO2 aimed at.
    pub free: MilligramsPerLitre,
    /// Free SO2 that is there of earlier doses.
    pub there: MilligramsPerLitre,
    /// Metabisulfite; nothing where enough is there.
    pub sulfite: Dose,
    /// Sorbate; none where it is not wanted.
    pub sorbate: Option<Sorbate>,
    /// The pH that was reckoned with; none: the safe dose for an unknown one.
    pub ph: Option<Ph>,
}

/// Sorbic acid that a drink still needs: by its alcohol and pH, less what is in.
pub fn sorbic_acid(drink: &Drink, treatment: &Treatment) -> MilligramsPerLitre {
    let alcohol = drink.alcohol.unwrap_or(Abv::known(0.0));
    let needed = sulfite::sorbic_acid_needed(alcohol, drink.ph).get();
    let usual = needed.max(sulfite::USUAL_SORBIC_ACID);
    MilligramsPerLitre::clamped(usual - treatment.sorbic_acid)
}

/// Doses for a drink: sulfite for so much molecular SO2, and sorbate as so
/// much sorbic acid. An error says what is missing or what the law forbids.
pub fn stabilise(
    drink: &Drink,
    treatment: &Treatment,
    molecular: MilligramsPerLitre,
    acid: Option<MilligramsPerLitre>,
) -> Result<Stabilising, SumError> {
    let volume = drink
        .volume
        .ok_or_else(|| SumError::NoAnswer("its volume is not known".to_owned()))?;
    let aim = sulfite::aim(molecular, drink.ph)?;
    // All that was ever given counts against the legal limit, what is free still
    // towards the aim.
    let there = MilligramsPerLitre::clamped(treatment.free_so2);
    // Less than a milligram is not worth weighing.
    let free = if aim.get() - there.get() < 1.0 {
        there
    } else {
        aim
    };
    let present = Present {
        free: there,
        total: treatment.so2(),
        stays_free: Share::known(sulfite::STAYS_FREE),
    };
    let sulfite = sulfite::dose(free, present, volume, Salt::Potassium)?;
    if sulfite.added.get() <= 0.0 && acid.is_none() {
        return Err(SumError::NoAnswer(format!(
            "it holds about {:.0} mg/L of free SO2 of earlier doses, and {:.0} is enough: add no more",
            there.get(),
            aim.get()
        )));
    }
    let sorbate = match acid.filter(|a| a.get() > 0.0) {
        Some(acid) => {
            let sum = acid.get() + treatment.sorbic_acid;
            let alcohol = drink.alcohol.unwrap_or(Abv::known(0.0));
            // The limit counts all doses; the mass is for this one.
            sulfite::sorbate(MilligramsPerLitre::clamped(sum), volume, alcohol, drink.ph)?;
            Some(sulfite::sorbate(acid, volume, alcohol, drink.ph)?)
        }
        None => None,
    };
    Ok(Stabilising {
        free: aim,
        there,
        sulfite,
        sorbate,
        ph: drink.ph,
    })
}

/// Why a drink should not be sweetened, in a sentence; `None` where nothing speaks
/// against it. `after` is what it would be then.
pub fn sweetening_hold(treatment: &Treatment, after: &Seen) -> Option<String> {
    let why = match treatment.weak {
        None if treatment.stabilised() && after.alcohol.get() < sulfite::LEAST_ALCOHOL => {
            Some(Weakness::Alcohol {
                has: Some(after.alcohol),
            })
        }
        None if treatment.stabilised() => return None,
        why => why,
    };
    Some(format!(
        "It {}. Yeast would ferment this sugar, and sealed bottles could explode.",
        unstable(why)
    ))
}

/// The deed of stabilising; `sweeten` puts the sweetening on the list, after
/// the wait.
pub fn stabilise_deed(
    dossier: &Dossier,
    vessel: VesselId,
    pantry: &[PantryItem],
    at: Moment,
    doses: &Stabilising,
    sweeten: bool,
) -> Deed {
    const SULFITE: &str = "potassium metabisulfite";
    const SORBATE: &str = "potassium sorbate";
    let batch = dossier.batch.id;
    let step = dossier
        .steps
        .iter()
        .find(|s| s.is_open() && s.rule.kind == StepKind::Stabilise)
        .map(|s| s.id);
    let grams = doses.sulfite.amount;
    let mut deeds: Vec<Deed> = ph_reading(dossier, vessel, at, doses.ph)
        .into_iter()
        .collect();
    if grams.get() > 0.0 {
        deeds.push(Deed::AddEvent(NewEvent {
            step,
            vessel: Some(vessel),
            substance: SULFITE.into(),
            mass: Some(grams),
            ..event(batch, at, EventKind::Sulfite)
        }));
    }
    deeds.extend(draw(pantry, SULFITE, grams.get(), at, "stabilising"));
    if let Some(sorbate) = doses.sorbate {
        deeds.push(Deed::AddEvent(NewEvent {
            vessel: Some(vessel),
            substance: SORBATE.into(),
            mass: Some(sorbate.amount),
            ..event(batch, at, EventKind::Sorbate)
        }));
        deeds.extend(draw(
            pantry,
            SORBATE,
            sorbate.amount.get(),
            at,
            "stabilising",
        ));
    }
    let listed = dossier
        .steps
        .iter()
        .any(|s| s.is_open() && s.rule.kind == StepKind::Sweeten);
    if sweeten && !listed {
        let mut to_come = rule(
            &fresh_key(dossier, "sweeten"),
            StepKind::Sweeten,
            day(dossier, at, BEFORE_SWEETENING),
            5,
        );
        to_come.title = "sweeten, now that it is stabilised".into();
        to_come.why = "Sulfite and sorbate need a day or two before the sugar.".into();
        to_come.harm = "Sweetened too early, yeast that is left begins again.".into();
        to_come.weight = 2;
        deeds.push(Deed::AddStep {
            batch,
            rule: to_come,
        });
    }
    Deed::Together {
        name: clipped(&format!("'{}' stabilised", dossier.batch.name)),
        deeds,
    }
}

/// The pH that a dose was worked out for, as a reading, where it is not the last one.
fn ph_reading(dossier: &Dossier, vessel: VesselId, at: Moment, ph: Option<Ph>) -> Option<Deed> {
    let ph = ph.filter(|ph| facts::last_ph(dossier, Some(vessel), at) != Some(*ph))?;
    let seen = Value::new(MeasureKind::Ph, ph.get(), Unit::Ph).ok()?;
    Some(Deed::Record(vec![NewReading {
        subject: Subject::Vessel(vessel),
        at,
        seen,
        sample_temp: None,
        instrument: None,
        source: "hand".into(),
        doubted: false,
        note: "read for stabilising".into(),
    }]))
}

/// What sweetens, as a maker names it; the soluble share is that of
/// [`blend::solids`].
pub const SWEETENERS: [&str; 3] = ["honey", "table sugar", "dextrose"];

/// How much sweetener lifts a drink to a gravity, and what it is then.
pub fn sweeten(drink: &Drink, name: &str, to: Gravity) -> Result<(Grams, Seen), SumError> {
    let had = drink
        .volume
        .ok_or_else(|| SumError::NoAnswer("its volume is not known".to_owned()))?;
    blend::sweeten(drink.lot(had)?, blend::solids(name), to)
}

/// The deed of sweetening; the watch under the airlock becomes a step. An
/// overruled hold stands in the ledger with its reason.
pub fn sweeten_deed(
    dossier: &Dossier,
    vessel: VesselId,
    pantry: &[PantryItem],
    at: Moment,
    (name, mass): (&str, Grams),
    reason: Option<&str>,
) -> Deed {
    let batch = dossier.batch.id;
    let step = dossier
        .steps
        .iter()
        .find(|s| s.is_open() && s.rule.kind == StepKind::Sweeten)
        .map(|s| s.id);
    let mut deeds = vec![Deed::AddEvent(NewEvent {
        step,
        vessel: Some(vessel),
        substance: name.to_owned(),
        mass: Some(mass),
        ..event(batch, at, EventKind::Sweeten)
    })];
    if let Some(reason) = reason {
        deeds.push(Deed::AddEvent(NewEvent {
            note: reason.to_owned(),
            ..event(batch, at, EventKind::Overrule)
        }));
    }
    deeds.extend(draw(pantry, name, mass.get(), at, "sweetening"));
    let mut to_come = rule(
        &fresh_key(dossier, "hold-after-sweetening"),
        StepKind::Read,
        day(dossier, at, AFTER_SWEETENING),
        7,
    );
    to_come.title = "read again: has the gravity held since the sweetening?".into();
    to_come.why = "Only an unmoved gravity shows that nothing ferments on.".into();
    to_come.harm = "Bottled while it ferments on, bottles burst.".into();
    to_come.weight = 3;
    deeds.push(Deed::AddStep {
        batch,
        rule: to_come,
    });
    Deed::Together {
        name: clipped(&format!("'{}' sweetened", dossier.batch.name)),
        deeds,
    }
}

fn event(batch: BatchId, at: Moment, kind: EventKind) -> NewEvent {
    NewEvent {
        batch,
        vessel: None,
        step: None,
        at,
        kind,
        substance: String::new(),
        mass: None,
        volume: None,
        note: String::new(),
    }
}

/// The day of the batch that lies so many days after an instant.
fn day(dossier: &Dossier, at: Moment, after: u64) -> i32 {
    let Some(pitched) = dossier.batch.pitched else {
        return 1;
    };
    i32::try_from(batch_day(pitched, at.day() + Days::new(after))).unwrap_or(i32::MAX)
}

/// A key that no step of the batch has yet.
fn fresh_key(dossier: &Dossier, key: &str) -> String {
    let taken = |k: &str| dossier.steps.iter().any(|s| s.rule.key == k);
    if !taken(key) {
        return key.to_owned();
    }
    // One more number than there are steps is never taken.
    (2..dossier.steps.len() + 3)
        .map(|n| format!("{key}-{n}"))
        .find(|k| !taken(k))
        .unwrap_or_else(|| key.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::records::{PlaceId, VesselKind};

    #[test]
    fn what_is_there_already_takes_room_too() {
        let jug = Vessel {
            id: VesselId(1),
            tag: "J1".to_owned(),
            kind: VesselKind::Jug,
            capacity: Litres::known(4.0),
            tare: None,
            place: PlaceId(1),
            clean: true,
            retired: false,
            rated: None,
            note: String::new(),
        };
        let litres = Litres::known;
        let racked = rack(Some(litres(3.5)), litres(2.8), litres(1.0), &jug);
        assert!((racked.headspace - 0.2).abs() < 1e-9 && (racked.share - 0.05).abs() < 1e-9);
        assert!((racked.lost.get() - 0.7).abs() < 1e-9 && !racked.airy);
        let alone = rack(Some(litres(3.5)), litres(2.8), litres(0.0), &jug);
        assert!((alone.headspace - 1.2).abs() < 1e-9 && alone.airy);
        assert!(rack(None, litres(3.5), litres(1.0), &jug).headspace < 0.0);
    }
}
