//! skep: a terminal dashboard for one person who keeps several fermentations
//! going at once.

pub mod domain;
pub mod engine;
