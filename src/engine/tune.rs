//! Values under study.

/// The usual value.
pub(crate) fn tune(_: usize, usual: f64) -> f64 {
    usual
}
