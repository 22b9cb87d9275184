//! Whole mornings with the real program in a pseudo-terminal.

mod cellar;
mod morning;
mod terminal;
