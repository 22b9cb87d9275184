use super::{BatchId, EventId, StepId, VesselId, words};
use crate::domain::units::{Abv, Grams, Gravity, Litres, Moment};
use serde::{Deserialize, Serialize};

words! {
    /// What happened to a batch, apart from readings.
    EventKind {
        /// Yeast in.
        Pitch = "pitch",
        /// Nutrient given.
        Feed = "feed",
        /// Honey, sugar or syrup added to a must that ferments.
        Sugar = "sugar",
        /// Fruit or juice added.
        Fruit = "fruit",
        /// Spice, herb, oak, acid, tannin: things that bring no sugar.
        Flavour = "flavour",
        /// Acid or buffer added.
        Acid = "acid",
        /// Water added.
        Water = "water",
        /// Gas swirled out.
        Degas = "degas",
        /// Air or oxygen worked in.
        Aerate = "aerate",
        /// Siphoned off the lees.
        Rack = "rack",
        /// Carried to another place.
        Carry = "carry",
        /// Topped up.
        TopUp = "top up",
        /// Warmed or cooled on purpose.
        Warm = "warm",
        /// Lees stirred up to wake the yeast.
        Rouse = "rouse",
        /// Part taken out into another vessel.
        Split = "split",
        /// Another batch mixed in.
        Blend = "blend",
        /// Sulfite added.
        Sulfite = "sulfite",
        /// Sorbate added.
        Sorbate = "sorbate",
        /// Sweetened after fermentation.
        Sweeten = "sweeten",
        /// Sugar for gas in the bottle.
        Prime = "prime",
        /// Fining agent added.
        Fine = "fine",
        /// Put into bottles; still or with which gas stands in `substance`.
        Bottle = "bottle",
        /// A sample or loss taken out.
        Loss = "loss",
        /// A hold overridden: its kind stands in `substance`, the reason in the note.
        Overrule = "overrule",
        /// Taken to another stage; the stage's word stands in `substance`.
        Stage = "stage",
        /// Free words.
        Note = "note",
        /// Ended.
        Close = "close",
    }
}

words! {
    /// What a hold guards against; an override names the kinds that it lifts.
    HoldKind {
        /// The ferment has not finished, as far as is known.
        Unfinished = "unfinished",
        /// Something went in, and no reading shows what it did.
        Added = "added",
        /// Sweet, and nothing keeps yeast from the sugar.
        Sweet = "sweet",
        /// Sorbate without sulfite, or with sugar for gas.
        Sorbate = "sorbate",
        /// More sulfite than the law allows.
        Sulfite = "sulfite",
        /// Primed once already.
        Primed = "primed",
        /// Bottles not made for gas, too large or worn.
        Bottle = "bottle",
        /// More gas or pressure than the bottle or keg is rated for.
        Pressure = "pressure",
        /// The sugar that is left would pass the rating.
        SugarLeft = "sugar-left",
        /// A yeast that ferments dextrins would pass the rating.
        Dextrins = "dextrins",
    }
}

/// A hold that the maker overrode.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Override {
    /// Which kind of hold; none where it was written before kinds were.
    pub kind: Option<HoldKind>,
    /// Why.
    pub reason: String,
}

impl Override {
    /// The override that an entry of the ledger is.
    pub fn of(event: &Event) -> Option<Self> {
        (event.kind == EventKind::Overrule).then(|| Self {
            kind: HoldKind::from_word(&event.substance),
            reason: event.note.clone(),
        })
    }
}

/// One entry in a batch's ledger that is neither a reading nor a step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// Row number.
    pub id: EventId,
    /// Of which batch.
    pub batch: BatchId,
    /// In which vessel, where it matters.
    pub vessel: Option<VesselId>,
    /// The step it was the doing of.
    pub step: Option<StepId>,
    /// When.
    pub at: Moment,
    /// What.
    pub kind: EventKind,
    /// What was added, in plain words or a key: `dap`, `honey`.
    pub substance: String,
    /// How much of it by mass.
    pub mass: Option<Grams>,
    /// How much of it by volume, or the volume moved; of sugar, by how much it
    /// made the drink more.
    pub volume: Option<Litres>,
    /// Gravity of a drink that was poured in.
    pub gravity: Option<Gravity>,
    /// Its alcohol.
    pub alcohol: Option<Abv>,
    /// Free words; the reason of an overrule.
    pub note: String,
}
