//! Parts that several screens share: each a function from values to cells.

pub mod form;
pub mod lines;
pub mod scatter;
pub mod trend;
