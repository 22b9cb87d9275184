//! The trade sums: every number that a maker is shown comes from here.
//!
//! Lives here: pure functions on the types of `units`, one file a topic, each
//! with its equation, range, error and source. Must not live here: clocks,
//! storage, screens, or a guess without a name. Outside its published range a
//! sum returns a [`SumError`]; it does not extrapolate in silence.
//!
//! Sources are named once, in [`source`]; the equations stand beside the sums.
//!
//! # Errors
//!
//! Of every sum, the same three kinds: a quantity or an input beyond what the
//! published equation covers, inputs that contradict one another, and a question
//! without an answer. Each says what was given and what is accepted.

pub mod acidity;
pub mod alcohol;
pub mod blend;
pub mod carbonation;
pub mod contents;
pub mod density;
mod error;
pub mod figures;
pub mod finish;
pub mod gravity;
pub mod hydrometer;
pub mod ingredients;
pub mod mass;
pub mod must;
pub mod nitrogen;
pub mod refractometer;
pub mod serving;
pub mod source;
pub mod sulfite;
pub mod uncertain;
mod why;

pub use error::SumError;
pub use uncertain::Uncertain;
pub use why::Why;
