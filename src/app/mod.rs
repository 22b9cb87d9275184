//! State, messages, update, keys. Pure: no terminal, no SQL, no clock.

pub mod say;
pub mod trend;
