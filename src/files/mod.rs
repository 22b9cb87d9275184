//! Text formats in and out: TOML routines, CSV, JSON, iCalendar, HTML.

pub mod sheet;
