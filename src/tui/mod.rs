//! The terminal: loop, views, theme.
