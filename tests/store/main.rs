//! The store and what a maker does with it, seen from outside.
#![expect(clippy::unwrap_used, reason = "a test that cannot go on shall stop")]

mod about;
mod altered;
mod answers;
mod deeds;
mod dossiers;
mod kept;
mod kill;
mod kit;
mod laws;
mod lessons;
mod part;
mod planning;
mod poured;
mod register;
mod safety;
mod samples;
mod versions;
#[path = "../hours/wait.rs"]
#[expect(dead_code, reason = "other tests send signals")]
mod wait;
