//! What the welcome sets up, as one value.

use crate::domain::deeds::NewBatch;
use crate::domain::records::{Seen, Settings, VesselKind};
use crate::domain::units::{Celsius, Litres};

/// A place, its vessels and perhaps a first batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// Units and the like.
    pub settings: Settings,
    /// Name of the place.
    pub place: String,
    /// Its usual temperature.
    pub usual_temp: Option<Celsius>,
    /// Vessels: tag, kind, capacity.
    pub vessels: Vec<(String, VesselKind, Litres)>,
    /// The first batch with the tag of its vessel and its original gravity.
    pub first: Option<FirstBatch>,
}

/// The first batch.
#[derive(Debug, Clone, PartialEq)]
pub struct FirstBatch {
    /// What it is; its vessel is filled in when that exists.
    pub batch: NewBatch,
    /// Tag of its vessel.
    pub tag: String,
    /// Gravity before the yeast.
    pub original: Option<Seen>,
}
