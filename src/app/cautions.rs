//! Which caution belongs to which step.

pub use crate::domain::cautions::*;
use crate::domain::records::{StepKind, VesselKind};

/// The caution for a step, in the vessel it is done at; none for most.
pub fn of_step(kind: StepKind, vessel: Option<VesselKind>) -> Option<&'static str> {
    match kind {
        StepKind::Bottle | StepKind::Condition => Some(BOTTLES),
        StepKind::Rack if vessel == Some(VesselKind::Carboy) => Some(GLASS),
        StepKind::Swirl => Some(SWIRL),
        StepKind::SwirlFeed | StepKind::Feed => Some(FOAM),
        StepKind::Stabilise => Some(SULFITE),
        StepKind::Clean => Some(CLEANING),
        StepKind::Mix => Some(HONEY),
        StepKind::Taste => Some(TASTE),
        _ => None,
    }
}
