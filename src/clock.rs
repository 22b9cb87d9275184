//! The only reader of the clock.

use crate::domain::units::Moment;

/// This instant, with the local offset of today.
#[expect(
    clippy::disallowed_methods,
    reason = "the one place that reads the clock"
)]
pub fn now() -> Moment {
    Moment::new(chrono::Local::now().fixed_offset())
}
