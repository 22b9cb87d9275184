use crate::domain::units::{
    Abv, Brix, Celsius, Grams, Gravity, GravityDelta, Litres, MilligramsPerLitre, Moment, Ph, Share,
};
use serde::{Deserialize, Serialize};

/// What is being fermented, as far as the engine tells kinds apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Style {
    /// Honey wine, with or without fruit, spice or malt.
    Mead,
    /// Apple or pear juice.
    Cider,
    /// Wort of malted grain.
    Beer,
}

/// Original gravity: what is known of it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum OriginalGravity {
    /// Worked out from the recipe; may be off by several points.
    Planned(Gravity),
    /// Measured before the yeast went in.
    Measured(Gravity),
}

impl OriginalGravity {
    /// The figure, planned or measured.
    pub fn gravity(self) -> Gravity {
        match self {
            Self::Planned(g) | Self::Measured(g) => g,
        }
    }
}

/// A range of temperature in which a yeast works well.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TemperatureBand {
    /// Lower end.
    pub low: Celsius,
    /// Upper end.
    pub high: Celsius,
}

/// The yeast, as far as it is known.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Yeast {
    /// Name or class by which the maker's batches are told apart.
    pub name: Option<String>,
    /// Alcohol at which the packet says it gives up.
    pub tolerance: Option<Abv>,
    /// Temperatures at which it works well.
    pub band: Option<TemperatureBand>,
}

/// Something that happened to a batch and that the engine must know.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// When.
    pub at: Moment,
    /// What.
    pub kind: EventKind,
}

/// Kinds of event.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum EventKind {
    /// Nutrient went in; nitrogen added where it is known.
    Nutrient {
        /// Yeast-assimilable nitrogen that it gave.
        yan: Option<MilligramsPerLitre>,
    },
    /// Sugar, honey or fruit went in. Gravity jumps by about this much, upwards.
    SugarAdded {
        /// Rise of gravity, where it could be worked out.
        rise: Option<GravityDelta>,
    },
    /// Fruit went in: sugar of uncertain amount, given off over days.
    FruitAdded {
        /// Rise of gravity, where it could be worked out.
        rise: Option<GravityDelta>,
    },
    /// Water went in; the new volume over the old one.
    Diluted {
        /// Volume after over volume before, above 1.
        factor: f64,
    },
    /// Another drink went in.
    Blended {
        /// Its share of the new volume.
        share: Share,
        /// Its gravity then.
        gravity: Gravity,
        /// Its own original gravity.
        original: Gravity,
    },
    /// Moved off the lees.
    Racked,
    /// Lees roused, or gas swirled out.
    Roused,
    /// Fresh yeast went in.
    Repitched,
    /// Made safe against re-fermentation (clear, sulfite and sorbate).
    Stabilised,
    /// Sulfite went in.
    Sulfited,
}

/// One observation of the drink.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Observation {
    /// When it was taken.
    pub at: Moment,
    /// Temperature of the vessel then, if it was taken.
    pub temperature: Option<Celsius>,
    /// What was seen.
    pub seen: Seen,
}

/// What an observation saw. Known corrections (sample temperature, offset of
/// the instrument in water) have been applied.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Seen {
    /// A hydrometer's gravity.
    Hydrometer {
        /// Corrected gravity.
        gravity: Gravity,
        /// Step to which the scale is read, such as 0.001 or 0.002.
        resolution: GravityDelta,
    },
    /// A refractometer's Brix; the engine allows for the alcohol.
    Refractometer {
        /// Shown value, divided by nothing.
        brix: Brix,
        /// The instrument's correction factor for wort or must (often 1.00 to 1.04).
        factor: f64,
    },
    /// Mass of the full vessel; only what it lost matters, so the tare may be anything.
    Mass {
        /// Mass on the scale.
        grams: Grams,
        /// Smallest step of the scale.
        resolution: Grams,
    },
    /// A floating or immersed sensor's gravity; may drift and jump.
    Sensor {
        /// Gravity as sent.
        gravity: Gravity,
    },
    /// Acidity: no evidence of progress, but of a cause.
    Acidity {
        /// The reading.
        ph: Ph,
    },
}

/// A temperature known at a time, of the vessel or of its place.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TemperaturePoint {
    /// When.
    pub at: Moment,
    /// How warm.
    pub celsius: Celsius,
}

/// Everything told about one batch except its readings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Facts {
    /// Mead, cider or beer.
    pub style: Style,
    /// How much there is.
    pub volume: Option<Litres>,
    /// Original gravity.
    pub og: Option<OriginalGravity>,
    /// Where the plan says it should end. Knowledge, not truth.
    pub expected_fg: Option<Gravity>,
    /// The yeast.
    pub yeast: Yeast,
    /// Where it stands, by which the maker's batches are told apart.
    pub place: Option<String>,
    /// Usual temperature of that place.
    pub usual_temperature: Option<Celsius>,
    /// When the yeast went in; `None` while it is only planned.
    pub pitched: Option<Moment>,
    /// What happened, in any order.
    pub events: Vec<Event>,
    /// Share of ferments that stick, before anything is known of this one.
    /// In life about one in twenty (common practice, no source).
    pub stall_prior: Share,
}

impl Facts {
    /// One ferment in twenty sticks (common practice, no source).
    pub const USUAL_STALL_PRIOR: Share = Share::known(0.05);

    /// Facts of a batch of which only the style is known.
    pub fn of(style: Style) -> Self {
        Self {
            style,
            volume: None,
            og: None,
            expected_fg: None,
            yeast: Yeast::default(),
            place: None,
            usual_temperature: None,
            pitched: None,
            events: Vec::new(),
            stall_prior: Self::USUAL_STALL_PRIOR,
        }
    }
}

/// One of the maker's own ferments that came to an end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PastBatch {
    /// Mead, cider or beer.
    pub style: Style,
    /// Yeast by the name used in [`Yeast::name`].
    pub yeast: Option<String>,
    /// Place by the name used in [`Facts::place`].
    pub place: Option<String>,
    /// Original gravity.
    pub og: Gravity,
    /// What had been planned as the end.
    pub expected_fg: Option<Gravity>,
    /// Where it ended.
    pub fg: Gravity,
    /// Days from pitch until it was within 0.001 of its end.
    pub days_to_finish: f64,
    /// Its mean temperature.
    pub temperature: Option<Celsius>,
    /// Whether it stuck.
    pub stuck: bool,
}

/// The maker's own ended ferments, from none to many.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct History {
    /// In any order.
    pub batches: Vec<PastBatch>,
}
