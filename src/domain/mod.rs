//! What the trade knows: quantities, sums, plain records, the slip grammar.
//!
//! Lives here: pure types and functions. Must not live here: SQL, files, the
//! clock, the terminal. Order of dependence: `units` <- `sums` <- `records` <- `plan` <- `checklist`,
//! and `plan` <- `deeds` <- `slip`.

pub mod allergens;
pub mod bottles;
pub mod cautions;
pub mod checklist;
pub mod deeds;
pub mod plan;
pub(crate) mod proof;
pub mod records;
pub mod slip;
pub mod sums;
pub mod taking;
pub mod text;
pub mod units;
pub mod wording;
