//! The terminal: loop, views, theme.

pub mod text;
pub mod theme;
