//! The store and what a maker does with it, seen from outside.

mod deeds;
mod kit;
