//! What stands behind a number: inputs, formula, source, range, error.

use std::fmt;

/// The answer to 'why?' for one figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Why {
    /// Each input with the value taken, as printed.
    pub inputs: Vec<(String, String)>,
    /// The formula in one or two lines.
    pub formula: &'static str,
    /// Where it is from.
    pub source: Vec<&'static str>,
    /// Within what it holds.
    pub range: &'static str,
    /// What came out, as printed.
    pub result: String,
    /// The half-width, as printed, where one is known.
    pub plus_minus: Option<String>,
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (name, value) in &self.inputs {
            writeln!(f, "{name}: {value}")?;
        }
        writeln!(f, "formula: {}", self.formula)?;
        writeln!(f, "holds for: {}", self.range)?;
        for source in &self.source {
            writeln!(f, "source: {source}")?;
        }
        write!(f, "result: {}", self.result)?;
        if let Some(width) = &self.plus_minus {
            write!(f, " ± {width}")?;
        }
        Ok(())
    }
}
