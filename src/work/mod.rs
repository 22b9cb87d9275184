//! What a maker can do: a deed is carried out on the store, `now` given.
//!
//! Every deed is one change with a name: `undo` takes it back whole. What
//! cannot be done is refused by a sentence that says what is accepted, and
//! then nothing is changed.

mod answers;
mod batches;
mod cellar;
mod check;
pub mod demo;
mod empties;
mod learn;
mod moves;
mod pantry;
mod planning;
mod pour;
mod readings;
mod rehearse;
mod shelf;
mod steps;
mod stories;

pub use answers::Answers;
pub use check::{batch_named, vessel_by_tag};
pub use learn::{learned, taught};
pub use rehearse::{Rehearsed, rehearse};
pub use stories::stories;

use crate::domain::deeds::Deed;
use crate::domain::records::{
    AwayId, BatchId, ChangeId, DrawId, EventId, InstrumentId, LotId, PantryId, PlaceId, ReadingId,
    StepId, TastingId, VesselId,
};
use crate::domain::units::Moment;
use crate::store::{self, Named, Store, StoreError, Writer};
use std::path::Path;

/// What a deed came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Receipt {
    /// In words: `reading 1.042 of J2`. Also the name that `undo` shows.
    pub said: String,
    /// What the maker should know besides: `C1 was not marked clean`.
    pub cautions: Vec<String>,
    /// Number of the store's last write.
    pub revision: i64,
    /// The change; none where all was as wanted already.
    pub change: Option<ChangeId>,
    /// The batch it belongs to, if to one.
    pub batch: Option<BatchId>,
    /// What it made.
    pub made: Vec<Made>,
}

/// Something new in the store.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Made {
    /// A place.
    Place(PlaceId),
    /// A vessel.
    Vessel(VesselId),
    /// An instrument.
    Instrument(InstrumentId),
    /// A batch.
    Batch(BatchId),
    /// A reading.
    Reading(ReadingId),
    /// A step.
    Step(StepId),
    /// A ledger entry.
    Event(EventId),
    /// Bottles.
    Lot(LotId),
    /// Bottles that left.
    Draw(DrawId),
    /// A tasting.
    Tasting(TastingId),
    /// A thing in the pantry.
    Pantry(PantryId),
    /// Days away.
    Away(AwayId),
}

impl Receipt {
    /// The batch that was made.
    pub fn made_batch(&self) -> Option<BatchId> {
        self.made.iter().find_map(|m| match m {
            Made::Batch(id) => Some(*id),
            _ => None,
        })
    }

    /// The place that was made.
    pub fn place(&self) -> Option<PlaceId> {
        self.made.iter().find_map(|m| match m {
            Made::Place(id) => Some(*id),
            _ => None,
        })
    }

    /// The vessel that was made.
    pub fn vessel(&self) -> Option<VesselId> {
        self.made.iter().find_map(|m| match m {
            Made::Vessel(id) => Some(*id),
            _ => None,
        })
    }

    /// The readings that were made.
    pub fn readings(&self) -> impl Iterator<Item = ReadingId> + '_ {
        self.made.iter().filter_map(|m| match m {
            Made::Reading(id) => Some(*id),
            _ => None,
        })
    }

    /// The lots that were made.
    pub fn lots(&self) -> impl Iterator<Item = LotId> + '_ {
        self.made.iter().filter_map(|m| match m {
            Made::Lot(id) => Some(*id),
            _ => None,
        })
    }
}

/// Why a deed was not carried out. `Display` is the sentence for the maker.
#[derive(Debug, thiserror::Error)]
pub enum WorkError {
    /// It cannot be; says what is accepted.
    #[error("{0}")]
    Refused(String),
    /// The store could not keep it; nothing was changed.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What a deed gives back besides its name.
#[derive(Debug, Default)]
pub(crate) struct Outcome {
    cautions: Vec<String>,
    made: Vec<Made>,
}

type Done = Result<Named<Outcome>, WorkError>;

fn done(name: impl Into<String>, batch: Option<BatchId>, made: Vec<Made>) -> Named<Outcome> {
    Named {
        name: name.into(),
        batch,
        gives: Outcome {
            cautions: Vec::new(),
            made,
        },
    }
}

/// Carries out a deed: all of it, or none of it with the reason.
pub fn carry_out(store: &mut Store, deed: &Deed, now: Moment) -> Result<Receipt, WorkError> {
    let kept = store
        .change(now, |w| write(w, deed, now))
        .map_err(|error| match error {
            WorkError::Store(e) => WorkError::Store(e.doing(trying(deed))),
            refused @ WorkError::Refused(_) => refused,
        })?;
    Ok(Receipt {
        said: kept.named.name,
        cautions: kept.named.gives.cautions,
        revision: kept.revision,
        change: kept.change,
        batch: kept.named.batch,
        made: kept.named.gives.made,
    })
}

/// Takes the last change back; gives its name, or none where nothing is left.
pub fn undo(store: &mut Store, now: Moment) -> Result<Option<String>, WorkError> {
    Ok(store.undo(now)?.map(|change| change.name))
}

/// Brings the change again that was taken back last.
pub fn redo(store: &mut Store, now: Moment) -> Result<Option<String>, WorkError> {
    Ok(store.redo(now)?.map(|change| change.name))
}

/// What to do where the store is damaged, one sentence each.
pub fn way_out(store: &Path, now: Moment) -> Vec<String> {
    vec![
        copy_to_bring_back(store, now),
        "skep export salvage --into saved.json writes what can still be read.".to_owned(),
        "skep check lists what is wrong with it again.".to_owned(),
    ]
}

/// The same for a whole file in which values are not as skep wrote them.
pub fn way_out_of_altered(store: &Path, now: Moment) -> Vec<String> {
    vec![
        "Look at what is named and correct it: what you correct is whole again.".to_owned(),
        "If it is right as it is, skep export salvage --into saved.json and then skep rebuild \
         saved.json --store NEW make a whole store of it."
            .to_owned(),
        copy_to_bring_back(store, now),
    ]
}

fn copy_to_bring_back(store: &Path, now: Moment) -> String {
    let copies = store::copies(store, now).unwrap_or_default();
    match store::first_whole(&copies) {
        (Some(copy), 0) => format!(
            "skep restore brings back a copy; the newest is {}, of {}, and whole. It says first what would be lost.",
            copy.path.display(),
            copy.at.format("%Y-%m-%d %H:%M")
        ),
        (Some(copy), damaged) => format!(
            "skep restore brings back a copy; the newest whole one is {}, of {} ({damaged} newer damaged). It says first what would be lost.",
            copy.path.display(),
            copy.at.format("%Y-%m-%d %H:%M")
        ),
        (None, _) => "No whole copy of it is left beside it.".to_owned(),
    }
}

/// What `undo` would take back.
pub fn undo_name(store: &Store) -> Result<Option<String>, WorkError> {
    Ok(store.read().undoable()?.map(|change| change.name))
}

/// What `redo` would bring again.
pub fn redo_name(store: &Store) -> Result<Option<String>, WorkError> {
    Ok(store.read().redoable()?.map(|change| change.name))
}

fn write(w: &mut Writer<'_>, deed: &Deed, now: Moment) -> Done {
    match deed {
        Deed::AddPlace { .. }
        | Deed::AddVessel { .. }
        | Deed::PlaceSummer { .. }
        | Deed::KegRating { .. }
        | Deed::EditVessel { .. }
        | Deed::AddInstrument { .. } => shelf::write(w, deed, now),
        Deed::StartBatch(new) => batches::start(w, new, now),
        Deed::Pitch { batch, vessel, at } => batches::pitch(w, *batch, *vessel, *at, now),
        Deed::SetStage {
            batch,
            stage,
            at,
            note,
        } => batches::set_stage(w, *batch, *stage, *at, note, now),
        Deed::EditBatch {
            batch,
            name,
            note,
            expected_fg,
        } => batches::edit(w, *batch, name.as_deref(), note.as_deref(), *expected_fg),
        Deed::Record(readings) => readings::record(w, readings, now),
        Deed::EditReading { reading, to } => readings::edit(w, *reading, to, now),
        Deed::RemoveReading { reading } => readings::remove(w, *reading, now),
        Deed::StepDone { .. }
        | Deed::StepSkip { .. }
        | Deed::StepMove { .. }
        | Deed::AddStep { .. } => steps::write(w, deed, now),
        Deed::AddEvent(new) => steps::add_event(w, new, now),
        Deed::Rack { .. } => moves::rack(w, deed, now),
        Deed::Pour { .. } => pour::pour(w, deed, now),
        Deed::Together { name, deeds } => together(w, name, deeds, now),
        Deed::Bottle { .. } => moves::bottle(w, deed, now),
        Deed::Draw { .. } | Deed::Taste { .. } => cellar::write(w, deed, now),
        Deed::StockPantry(item) => cellar::stock(w, item),
        Deed::DrawPantry {
            item,
            amount,
            at,
            why,
        } => pantry::draw(w, *item, *amount, *at, why, now),
        Deed::KeepPlan { batch, plan, steps } => planning::keep(w, *batch, plan, steps, now),
        Deed::Tick { .. } => planning::tick(w, deed, now),
        Deed::AddAway { from, to, note } => planning::add_away(w, *from, *to, note),
        Deed::DropAway { away } => planning::drop_away(w, *away),
        Deed::SetRoom { place, size } => planning::set_room(w, *place, *size),
        Deed::SaveSettings(settings) => cellar::save_settings(w, settings),
    }
}

/// Several deeds in the one change.
fn together(w: &mut Writer<'_>, name: &str, deeds: &[Deed], now: Moment) -> Done {
    let name = check::name(name, "the name of what is done")?;
    if deeds.is_empty() {
        return check::refuse("nothing is to be done");
    }
    let mut all = done(name, None, Vec::new());
    for deed in deeds {
        let one = write(w, deed, now)?;
        all.batch = all.batch.or(one.batch);
        all.gives.cautions.extend(one.gives.cautions);
        all.gives.made.extend(one.gives.made);
    }
    Ok(all)
}

/// What was being tried, for an error of the store.
fn trying(deed: &Deed) -> &'static str {
    match deed {
        Deed::AddPlace { .. } => "adding a place",
        Deed::AddVessel { .. } => "adding a vessel",
        Deed::PlaceSummer { .. } => "saving the warmest day of a place",
        Deed::KegRating { .. } => "saving the working pressure of a keg",
        Deed::EditVessel { .. } => "changing a vessel",
        Deed::AddInstrument { .. } => "adding an instrument",
        Deed::StartBatch(_) => "starting a batch",
        Deed::Pitch { .. } => "pitching a batch",
        Deed::SetStage { .. } => "taking a batch to another stage",
        Deed::EditBatch { .. } => "changing a batch",
        Deed::Record(_) => "recording a reading",
        Deed::EditReading { .. } => "mending a reading",
        Deed::RemoveReading { .. } => "removing a reading",
        Deed::StepDone { .. } => "marking a step done",
        Deed::StepSkip { .. } => "skipping a step",
        Deed::StepMove { .. } => "moving a step",
        Deed::AddStep { .. } => "adding a step",
        Deed::AddEvent(_) => "adding to the ledger",
        Deed::Rack { .. } => "racking",
        Deed::Pour { .. } => "pouring together",
        Deed::Together { .. } => "doing several things at once",
        Deed::Bottle { .. } => "bottling",
        Deed::Draw { .. } => "taking bottles out",
        Deed::Taste { .. } => "keeping a tasting note",
        Deed::StockPantry(_) => "changing the pantry",
        Deed::DrawPantry { .. } => "taking something out of the pantry",
        Deed::KeepPlan { .. } => "keeping a plan",
        Deed::Tick { .. } => "ticking a line of the day",
        Deed::AddAway { .. } | Deed::DropAway { .. } => "changing the days away",
        Deed::SetRoom { .. } => "saying how large a place is",
        Deed::SaveSettings(_) => "saving the settings",
    }
}
