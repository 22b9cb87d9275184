use crate::domain::units::{
    Abv, Celsius, CelsiusDelta, Gravity, GravityDelta, MilligramsPerLitre, Ph, Share,
};
use serde::{Deserialize, Serialize};

/// A cause of trouble, as practice tells them apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Cause {
    /// A wrong reading: gas, a warm sample, a refractometer, fruit added later.
    WrongReading,
    /// Too cold, or a sudden chill.
    Cold,
    /// Too hot for a time.
    Heat,
    /// Too little nitrogen.
    LowNitrogen,
    /// The yeast's alcohol limit.
    AlcoholLimit,
    /// Too much sugar at the start.
    TooMuchSugar,
    /// Too acid.
    Acid,
    /// Too little oxygen, or too few or too old yeast cells: it never got going.
    FewCells,
    /// Sulfite or a preservative.
    Preservative,
    /// Yeast that settled, or was racked away too soon.
    SettledYeast,
}

/// One thing that speaks for or against a cause, with its numbers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Sign {
    /// Temperature lately.
    TemperatureLately {
        /// Mean of the last days.
        mean: Celsius,
        /// Lower end of the yeast's band.
        low: Celsius,
    },
    /// A fall of temperature within two days, shortly before the stop.
    Chill {
        /// By so much.
        by: CelsiusDelta,
    },
    /// Highest temperature since the pitch.
    Peak {
        /// How hot.
        peak: Celsius,
    },
    /// Nitrogen given so far.
    NitrogenGiven {
        /// Sum of what was logged with a figure.
        given: MilligramsPerLitre,
        /// What such a must wants.
        wanted: MilligramsPerLitre,
    },
    /// Nutrient was logged so many times, without a figure.
    NutrientLogged {
        /// Times.
        times: usize,
    },
    /// No nutrient is in the ledger.
    NoNutrientLogged,
    /// The run-down was gradual, not sudden.
    GradualStop,
    /// The stop was sudden.
    SuddenStop,
    /// Slow from the start.
    SlowThroughout,
    /// Alcohol beside the yeast's tolerance.
    AlcoholBesideTolerance {
        /// Alcohol now.
        abv: Abv,
        /// Tolerance.
        tolerance: Abv,
    },
    /// Original gravity.
    StartedAt {
        /// Gravity at the pitch.
        og: Gravity,
    },
    /// Acidity measured.
    AcidityIs {
        /// The last pH.
        ph: Ph,
    },
    /// Acidity was never measured.
    AcidityUnknown,
    /// A reading that does not fit the others.
    OddReading {
        /// By this much.
        off: GravityDelta,
    },
    /// Several readings agree.
    ReadingsAgree {
        /// So many.
        readings: usize,
    },
    /// A single instrument or kind of reading that late in a ferment says little.
    RefractometerOnly,
    /// It never fell since the pitch, so many days ago.
    NeverFell {
        /// Days.
        days: f64,
    },
    /// It did ferment by so much.
    DidFerment {
        /// Fall so far.
        fell: GravityDelta,
    },
    /// Sulfite was logged.
    SulfiteLogged,
    /// No sulfite was logged.
    NoSulfiteLogged,
    /// Racked shortly before the stop.
    RackedBefore {
        /// Days before the stop.
        days: f64,
    },
    /// Not racked shortly before the stop.
    NotRacked,
    /// Sugar went in in one lump.
    SugarInOneLump,
    /// All-malt wort has nitrogen enough.
    MaltFeeds,
}

/// A cause with its weight and its reasons.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CauseWeight {
    /// Which.
    pub cause: Cause,
    /// Its share among the causes weighed, given that there is trouble.
    pub weight: Share,
    /// What speaks for it.
    pub speaks_for: Vec<Sign>,
    /// What speaks against it.
    pub speaks_against: Vec<Sign>,
}

/// One thing to do. They come in the order of practice; do one, wait, read again.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Action {
    /// Nothing: leave it alone and read again.
    LeaveAlone,
    /// Take a first or another reading.
    TakeReading,
    /// Degas the sample, correct for temperature, check the hydrometer in 20 °C water.
    MeasureAgain,
    /// Compare the alcohol with the yeast's tolerance before doing anything else.
    CompareWithTolerance {
        /// Alcohol now.
        abv: Abv,
        /// Tolerance, where known.
        tolerance: Option<Abv>,
    },
    /// Warm slowly, 1 to 2 °C a day.
    Warm {
        /// By so much in all.
        by: CelsiusDelta,
        /// To this.
        to: Celsius,
    },
    /// Cool it: heat harms.
    Cool {
        /// To this or below.
        to: Celsius,
    },
    /// Rouse the lees with a gentle swirl, without splashing.
    Rouse,
    /// Feed.
    Feed {
        /// Ammonium nitrogen may be part of it (before a third of the sugar is gone and below 9 % vol).
        ammonium: bool,
        /// Late feeding helped only partly in a trial: say so.
        late: bool,
    },
    /// Yeast hulls, which bind what harms the yeast.
    AddHulls,
    /// Measure pH.
    MeasureAcidity,
    /// Raise pH in small steps with potassium bicarbonate.
    RaisePh {
        /// Measured.
        ph: Ph,
    },
    /// Dilute: too much sugar.
    Dilute,
    /// Pitch fresh yeast from a starter used to the batch.
    Repitch,
    /// Ferment a warm sample to its end: is there sugar left for the yeast?
    ForcedTest,
    /// Accept it as sweet, stabilise, keep it still.
    Accept,
    /// Wait for the end to be confirmed by equal readings.
    ConfirmEnd,
}

/// What must not be done now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Avoid {
    /// Do not bottle it.
    Bottling,
    /// No ammonium phosphate late.
    LateAmmonium,
    /// No dry yeast sprinkled into strong must.
    SprinklingYeast,
    /// Not above 27 °C.
    Overheating,
    /// No daily opening, no splashing.
    Splashing,
    /// No more sugar.
    AddingSugar,
    /// Do not seal it airtight.
    Sealing,
    /// Do not believe the airlock.
    BelievingAirlock,
    /// No second change before the next reading.
    TwoChangesAtOnce,
}

/// A step that may be put on the list with one key.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FollowUp {
    /// What is then to be done: the action itself today, then a reading.
    pub action: Action,
    /// Read again after so many days.
    pub read_again_in_days: u16,
}

/// One piece of advice.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Advice {
    /// What to do.
    pub action: Action,
    /// The cause that it answers, if any.
    pub answers: Option<Cause>,
    /// What not to do meanwhile.
    pub avoid: Vec<Avoid>,
    /// The step to put on the list; `None` when there is nothing to follow.
    pub follow_up: Option<FollowUp>,
}
