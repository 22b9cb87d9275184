//! Records as rows, one file per group of tables.

mod batches;
mod cellar;
mod history;
mod pantry;
mod readings;
mod shelf;
mod steps;

pub(crate) use shelf::Standing;
