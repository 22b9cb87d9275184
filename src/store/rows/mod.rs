//! Records as rows, one file per group of tables.

mod batches;
mod cellar;
mod history;
pub(crate) mod lessons;
mod pantry;
pub(super) mod planning;
mod readings;
mod shelf;
mod steps;

pub(crate) use shelf::Standing;
