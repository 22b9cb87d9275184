use std::fmt;

/// What is wrong with a file of the maker's; it never stops skep.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Which file.
    pub file: String,
    /// Line, counted from 1, where it is known.
    pub line: Option<usize>,
    /// What is wrong and what is accepted.
    pub reason: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(f, "{}, line {line}: {}", self.file, self.reason),
            None => write!(f, "{}: {}", self.file, self.reason),
        }
    }
}

impl std::error::Error for Problem {}

impl Problem {
    /// One at a place in the text.
    pub(super) fn at(file: &str, text: &str, offset: Option<usize>, reason: String) -> Self {
        let line = offset.map(|o| {
            let end = o.min(text.len());
            text.as_bytes()
                .iter()
                .take(end)
                .filter(|b| **b == b'\n')
                .count()
                + 1
        });
        Self {
            file: file.to_owned(),
            line,
            reason,
        }
    }

    /// From what the TOML reader says.
    pub(super) fn toml(file: &str, text: &str, error: &toml::de::Error) -> Self {
        let reason = error.message().replace('\n', "; ");
        Self::at(file, text, error.span().map(|s| s.start), reason)
    }
}
