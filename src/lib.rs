//! skep: a terminal dashboard for one person who keeps several fermentations
//! going at once.

pub mod app;
pub mod cli;
pub mod clock;
pub mod domain;
pub mod engine;
pub mod files;
pub mod store;
pub mod tui;
pub mod work;
