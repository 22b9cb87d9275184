//! Quantities as types: each holds one finite number within stated bounds.
//!
//! Lives here: newtypes, exact conversions by definition, parsing and printing
//! of single quantities. Must not live here: equations (see `sums`), clocks,
//! storage, screens.

mod named;
mod quantity;
mod time;
mod zone;

pub use named::*;
pub use quantity::*;
pub use time::*;
pub use zone::*;
