//! A batch before there is one: what goes into the must and what will come of it.
//!
//! Lives here: the plan as a plain value that is always consistent, the
//! changes a maker makes to it (every other number follows, what is locked
//! stays), what it leads to with ranges, and warnings as values with their
//! sentences. Must not live here: the clock, files, storage, screens.

mod change;
mod cost;
mod design;
mod feed;
mod fit;
mod forecast;
mod level;
mod outcome;
mod part;
mod samples;
mod scale;
mod supplies;
mod warn;

pub use change::{Change, PlanError, Quantity};
pub use cost::Cost;
pub use design::{Aim, Bottling, Filler, Locks, Plan, PlanVessel};
pub use feed::{Feeding, FeedingPlan, Food, FoodClass, Portion};
pub use fit::fitted;
pub use forecast::Final;
pub use level::{Headspace, Level};
pub use outcome::{Outcome, PartOutcome, Range, outcome};
pub use part::{Part, PartKind};
pub use samples::wine_yeast;
pub use scale::{as_made, scaled};
pub use supplies::{KeptPlan, MadeBefore, Supplies, same_thing};
pub use warn::{Surroundings, Warning, warnings};

#[cfg(test)]
mod tests;
