//! From what was handed in to what the inference works on: readings in order
//! of time, in one scale, each with its error; the useless ones set aside.

/// Readings as the inference sees them, in order of time.
#[derive(Debug, Clone, Default)]
pub(crate) struct Series {
    /// Days since the pitch.
    pub(crate) days: Vec<f64>,
    /// Thermal time.
    pub(crate) thermal: Vec<f64>,
    /// Gravity less the reference.
    pub(crate) gravity: Vec<f64>,
    /// One over the standard error.
    pub(crate) per_sd: Vec<f64>,
    /// Index in the readings handed in; of a mean of several, the last.
    pub(crate) index: Vec<usize>,
}

impl Series {
    /// How many there are.
    pub(crate) fn len(&self) -> usize {
        self.days.len()
    }
}
