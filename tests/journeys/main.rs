//! Whole mornings with the real program in a pseudo-terminal.

mod morning;
mod terminal;
