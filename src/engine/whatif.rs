use super::Assessment;
use crate::domain::units::{CelsiusDelta, GravityDelta, Share};

/// One thing that could be changed today.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// Nothing.
    LeftAlone,
    /// Warmer (or, negative, cooler) by so much from now on.
    Warmer(CelsiusDelta),
    /// Fed now, with yeast-derived nutrient.
    Fed,
}

/// How finish and risk would move. `after` equals `before` where the model
/// honestly knows of no effect.
#[derive(Debug, Clone, PartialEq)]
pub struct WhatIf {
    /// What is changed.
    pub change: Change,
    /// Days by which the middle finish moves: negative is sooner. `None` when
    /// there is no finish to move.
    pub finish_moves_days: Option<f64>,
    /// Probability of being stuck in the end, before and after.
    pub risk: (Share, Share),
    /// Movement of the middle final gravity.
    pub end_moves: GravityDelta,
    /// What is not known of this change.
    pub caveat: Option<Caveat>,
    /// The assessment after the change.
    pub after: Assessment,
}

/// What the model does not know of a change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Caveat {
    /// Warming helps a stuck ferment only where cold was the cause.
    HelpsOnlyIfCold,
    /// It would stand above the yeast's band.
    TooWarm,
    /// Feeding helps only where nitrogen was short; late it helped in part in one trial.
    HelpsOnlyIfHungry,
    /// There are too few readings to say.
    TooFewReadings,
}
