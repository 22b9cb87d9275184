//! The terminal: loop, views, theme.

pub use crate::domain::text;
pub mod theme;
pub mod widgets;
