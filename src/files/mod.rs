//! Text formats in and out: TOML routines, CSV, JSON, iCalendar, HTML.

pub mod cache;
pub mod csv;
pub mod ical;
pub mod keymap;
pub mod lines;
pub mod output;
pub mod sheet;
pub mod whole;

pub mod ingredients;
pub mod plan;
mod problem;
pub mod routine_text;
pub mod routines;
pub mod yeasts;

pub use problem::Problem;
