use crate::domain::units::OutOfRange;

/// Why a sum gives no number. Its `Display` is the sentence for the maker.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SumError {
    /// A quantity outside what its type accepts.
    #[error(transparent)]
    Quantity(#[from] OutOfRange),
    /// An input outside the range for which the equation was published.
    #[error("{what} {got}{unit} is outside what {sum} covers: {min} to {max}{unit}")]
    Beyond {
        /// The sum, as a phrase such as `the density of sugar solutions`.
        sum: &'static str,
        /// The input.
        what: &'static str,
        /// Unit as printed, with its leading space; may be empty.
        unit: &'static str,
        /// Smallest covered value.
        min: f64,
        /// Largest covered value.
        max: f64,
        /// What was given.
        got: f64,
    },
    /// Inputs that contradict one another.
    #[error("{0}")]
    Contradiction(String),
    /// A question with no answer, such as a target that cannot be reached.
    #[error("{0}")]
    NoAnswer(String),
}

/// Checks one input against the published range of a sum.
pub(crate) fn within(
    sum: &'static str,
    what: &'static str,
    unit: &'static str,
    range: std::ops::RangeInclusive<f64>,
    got: f64,
) -> Result<f64, SumError> {
    if range.contains(&got) {
        Ok(got)
    } else {
        Err(SumError::Beyond {
            sum,
            what,
            unit,
            min: *range.start(),
            max: *range.end(),
            got,
        })
    }
}
