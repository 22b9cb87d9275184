//! Records as rows, one file per group of tables.

mod batches;
mod cellar;
mod history;
mod pantry;
pub(super) mod planning;
mod readings;
mod shelf;
mod steps;

pub(crate) use shelf::Standing;
