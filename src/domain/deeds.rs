//! What a maker can do, as values.
//!
//! A screen, a shell verb and a test all say what is to be done with one of
//! these; `work` carries it out. Each becomes one undoable change with a name.

use super::plan::Plan;
use super::records::{
    AwayId, BatchId, BottleClass, DrawKind, EventKind, Fizz, HoldKind, InstrumentId,
    InstrumentKind, LotId, PantryId, PantryItem, PlaceId, ReadingId, Seen, Settings, Stage, StepId,
    StepRule, Style, Subject, TempBand, VesselId, VesselKind,
};
use super::units::{Abv, Celsius, CubicMetres, GaugeBar, Grams, Gravity, Litres, Moment};
use chrono::NaiveDate;

/// A reading to be kept.
#[derive(Debug, Clone, PartialEq)]
pub struct NewReading {
    /// Of what.
    pub subject: Subject,
    /// When it was taken.
    pub at: Moment,
    /// What was seen.
    pub seen: Seen,
    /// Temperature of the sample.
    pub sample_temp: Option<Seen>,
    /// With which instrument; none means the preferred one of its kind.
    pub instrument: Option<InstrumentId>,
    /// Where it came from.
    pub source: String,
    /// Kept in spite of a doubt.
    pub doubted: bool,
    /// Free words.
    pub note: String,
}

/// A ledger entry to be kept.
#[derive(Debug, Clone, PartialEq)]
pub struct NewEvent {
    /// Of which batch.
    pub batch: BatchId,
    /// In which vessel.
    pub vessel: Option<VesselId>,
    /// The step it was the doing of.
    pub step: Option<StepId>,
    /// When.
    pub at: Moment,
    /// What.
    pub kind: EventKind,
    /// What was added.
    pub substance: String,
    /// How much by mass.
    pub mass: Option<Grams>,
    /// How much by volume.
    pub volume: Option<Litres>,
    /// Free words.
    pub note: String,
}

/// A batch to be started or planned.
#[derive(Debug, Clone, PartialEq)]
pub struct NewBatch {
    /// What the maker calls it.
    pub name: String,
    /// Family.
    pub style: Style,
    /// The trade's word within the family.
    pub variety: String,
    /// The vessel it goes into; a plan may leave it open.
    pub vessel: Option<VesselId>,
    /// Key of the routine.
    pub routine: Option<String>,
    /// Steps, already taken from the routine (and fitted to the batch).
    pub steps: Vec<StepRule>,
    /// Key of the yeast class.
    pub yeast: Option<String>,
    /// Alcohol at which the yeast stops.
    pub tolerance: Option<Abv>,
    /// Its temperatures.
    pub band: Option<TempBand>,
    /// Original gravity as planned.
    pub planned_og: Option<Gravity>,
    /// Final gravity as planned.
    pub expected_fg: Option<Gravity>,
    /// Volume.
    pub volume: Option<Litres>,
    /// Gas it is meant for.
    pub fizz: Fizz,
    /// When yeast went in; none for a plan.
    pub pitched: Option<Moment>,
    /// Planned day of pitching.
    pub planned_day: Option<NaiveDate>,
    /// Free words.
    pub note: String,
}

/// One thing a maker does.
#[derive(Debug, Clone, PartialEq)]
pub enum Deed {
    /// A new place.
    AddPlace {
        /// Its name, unique.
        name: String,
        /// Light kept out.
        dark: bool,
        /// Usual temperature.
        usual_temp: Option<Celsius>,
    },
    /// A new vessel.
    AddVessel {
        /// Tag, unique.
        tag: String,
        /// Kind.
        kind: VesselKind,
        /// Brimful volume.
        capacity: Litres,
        /// Where it stands.
        place: PlaceId,
        /// Mass when empty.
        tare: Option<Grams>,
    },
    /// How warm a place gets on its warmest day.
    PlaceSummer {
        /// Which.
        place: PlaceId,
        /// The temperature.
        warmest: Celsius,
    },
    /// The working pressure printed on a keg.
    KegRating {
        /// Which.
        vessel: VesselId,
        /// The pressure.
        rating: GaugeBar,
    },
    /// A vessel's standing facts change.
    EditVessel {
        /// Which.
        vessel: VesselId,
        /// New tag.
        tag: Option<String>,
        /// New place.
        place: Option<PlaceId>,
        /// New tare.
        tare: Option<Grams>,
        /// Clean or not.
        clean: Option<bool>,
        /// No longer used.
        retired: Option<bool>,
    },
    /// A new instrument.
    AddInstrument {
        /// Name.
        name: String,
        /// Kind.
        kind: InstrumentKind,
        /// Temperature at which it reads true.
        calibrated_at: Option<Celsius>,
        /// What it reads too high.
        offset: f64,
        /// Smallest step.
        resolution: f64,
        /// Correction factor of a refractometer.
        factor: f64,
        /// Used unless another is named.
        preferred: bool,
    },
    /// A batch begins or is planned.
    StartBatch(Box<NewBatch>),
    /// Yeast goes into a planned batch.
    Pitch {
        /// Which.
        batch: BatchId,
        /// Into which vessel; none where it has one already.
        vessel: Option<VesselId>,
        /// When.
        at: Moment,
    },
    /// The maker takes a batch to another stage.
    SetStage {
        /// Which.
        batch: BatchId,
        /// To where.
        stage: Stage,
        /// When.
        at: Moment,
        /// Why, where a hold was overruled.
        note: String,
    },
    /// A batch's name or note changes.
    EditBatch {
        /// Which.
        batch: BatchId,
        /// New name.
        name: Option<String>,
        /// New note.
        note: Option<String>,
        /// New planned final gravity.
        expected_fg: Option<Gravity>,
    },
    /// Readings taken together.
    Record(Vec<NewReading>),
    /// A reading is mended; the old one stays in history.
    EditReading {
        /// Which.
        reading: ReadingId,
        /// As it should be.
        to: NewReading,
    },
    /// A reading is removed; it stays in history.
    RemoveReading {
        /// Which.
        reading: ReadingId,
    },
    /// A step was done.
    StepDone {
        /// Which.
        step: StepId,
        /// When.
        at: Moment,
        /// What was really added, for the ledger.
        given: Option<Given>,
        /// Free words.
        note: String,
    },
    /// A step is left out.
    StepSkip {
        /// Which.
        step: StepId,
        /// When that was said.
        at: Moment,
        /// Why.
        reason: String,
    },
    /// A step moves to another day.
    StepMove {
        /// Which.
        step: StepId,
        /// To which day.
        to: NaiveDate,
    },
    /// A step is put on a batch's list.
    AddStep {
        /// Whose.
        batch: BatchId,
        /// What and when.
        rule: StepRule,
    },
    /// Something happened to a batch.
    AddEvent(NewEvent),
    /// A batch, or part of it, goes from one vessel to another.
    Rack {
        /// Which.
        batch: BatchId,
        /// Out of.
        from: VesselId,
        /// Into.
        to: VesselId,
        /// When.
        at: Moment,
        /// Volume that arrived.
        volume: Option<Litres>,
        /// Whether something stays behind on purpose (a split).
        keep_rest: bool,
        /// Free words.
        note: String,
    },
    /// Something is poured to a batch: another drink, or a part of another batch.
    Pour {
        /// What is poured to.
        batch: BatchId,
        /// In which vessel.
        vessel: VesselId,
        /// The vessel of the other batch; none for a drink from outside.
        from: Option<VesselId>,
        /// What it is, where it comes from outside.
        what: String,
        /// How much.
        volume: Litres,
        /// Gravity of what is poured in, where it is known.
        gravity: Option<Gravity>,
        /// Its alcohol.
        alcohol: Option<Abv>,
        /// When.
        at: Moment,
        /// Free words.
        note: String,
    },
    /// Several deeds as one change with one name: all of them or none.
    Together {
        /// What they are together; the name that undo shows.
        name: String,
        /// In order.
        deeds: Vec<Deed>,
    },
    /// Bottles were filled.
    Bottle {
        /// From which batch.
        batch: BatchId,
        /// Out of which of its vessels; none for all of it.
        vessel: Option<VesselId>,
        /// When.
        at: Moment,
        /// Still or with gas; as the batch was meant where none is said.
        fizz: Option<Fizz>,
        /// What was filled.
        fills: Vec<Fill>,
        /// Where they lie.
        place: PlaceId,
        /// Good from.
        ready_from: Option<NaiveDate>,
        /// Good until.
        drink_by: Option<NaiveDate>,
        /// Free words; the reason where a hold was overridden.
        note: String,
        /// The kinds of hold that the reason lifts.
        overrides: Vec<HoldKind>,
    },
    /// Bottles leave a lot.
    Draw {
        /// Which.
        lot: LotId,
        /// How many.
        count: i32,
        /// How.
        kind: DrawKind,
        /// When.
        at: Moment,
        /// To whom.
        whom: String,
        /// Free words.
        note: String,
    },
    /// A tasting note.
    Taste {
        /// Of which batch.
        batch: BatchId,
        /// Of which lot.
        lot: Option<LotId>,
        /// When.
        at: Moment,
        /// Marks 1 to 5: smell, taste, balance, body, finish.
        marks: [u8; 5],
        /// Free words.
        words: String,
    },
    /// A thing in the pantry is added or changed (its id is 0 when new).
    StockPantry(PantryItem),
    /// Something is taken out of the pantry, or found missing.
    DrawPantry {
        /// Which lot.
        item: PantryId,
        /// How much, in its unit.
        amount: f64,
        /// When.
        at: Moment,
        /// What for.
        why: String,
    },
    /// A plan is kept: a new planned batch, or another plan for one.
    KeepPlan {
        /// The batch planned before, if any.
        batch: Option<BatchId>,
        /// The plan; its name, style and note become the batch's.
        plan: Box<Plan>,
        /// Steps, already taken from the routine and fitted to the plan.
        steps: Vec<StepRule>,
    },
    /// A line of a batch's checklist was done, or its tick is taken off.
    Tick {
        /// Whose.
        batch: BatchId,
        /// Key of the line.
        line: String,
        /// When it was done; none takes the tick off.
        at: Option<Moment>,
        /// What went into the must, for the ledger and the pantry.
        added: Option<(EventKind, Given)>,
        /// What it says, for the name of the change.
        what: String,
    },
    /// The maker will be away.
    AddAway {
        /// First day away.
        from: NaiveDate,
        /// Last day away.
        to: NaiveDate,
        /// Free words.
        note: String,
    },
    /// The maker will not be away after all.
    DropAway {
        /// Which.
        away: AwayId,
    },
    /// How large a place is.
    SetRoom {
        /// Which.
        place: PlaceId,
        /// Its size.
        size: CubicMetres,
    },
    /// Choices change.
    SaveSettings(Settings),
}

/// What was really added when a step was done.
#[derive(Debug, Clone, PartialEq)]
pub struct Given {
    /// What.
    pub substance: String,
    /// How much by mass.
    pub mass: Option<Grams>,
    /// How much by volume.
    pub volume: Option<Litres>,
}

/// Bottles of one size.
#[derive(Debug, Clone, PartialEq)]
pub struct Fill {
    /// Class.
    pub class: BottleClass,
    /// Volume of one.
    pub size: Litres,
    /// How many.
    pub count: u32,
    /// Clear glass.
    pub clear_glass: bool,
}
