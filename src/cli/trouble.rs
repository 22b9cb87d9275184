//! What stops a verb, as a sentence with an exit code.

use super::exits::Exit;
use crate::domain::slip::SlipError;
use crate::domain::units::OutOfRange;
use crate::files::output::OutputError;
use crate::store::StoreError;
use std::error::Error;
use std::fmt;
use std::io;

/// Why a verb ended without doing what was asked.
#[derive(Debug)]
pub struct Trouble {
    /// The exit code.
    pub exit: Exit,
    /// What happened, what is accepted, what to do.
    pub said: String,
    /// The answer could not be written to the output.
    pub output: bool,
}

impl Trouble {
    /// Of any kind.
    pub fn new(exit: Exit, said: impl Into<String>) -> Self {
        Self {
            exit,
            said: said.into(),
            output: false,
        }
    }

    /// Not understood.
    pub fn usage(said: impl Into<String>) -> Self {
        Self::new(Exit::Usage, said)
    }

    /// Nothing of that name.
    pub fn not_found(said: impl Into<String>) -> Self {
        Self::new(Exit::NotFound, said)
    }

    /// The store failed.
    pub fn store(why: impl fmt::Display) -> Self {
        Self::new(Exit::Store, why.to_string())
    }

    /// What the store wrote could not be written, or not be read.
    pub fn archive(why: &StoreError) -> Self {
        let mut inner: Option<&(dyn Error + 'static)> = Some(why);
        while let Some(error) = inner {
            let io = error.downcast_ref::<io::Error>();
            if io.is_some_and(|e| e.kind() == io::ErrorKind::BrokenPipe) {
                return Self::new(Exit::Fine, "");
            }
            inner = error.source();
        }
        Self::store(why)
    }

    /// Something outside failed.
    pub fn broken(why: impl fmt::Display) -> Self {
        Self::new(Exit::Broken, why.to_string())
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.said)
    }
}

impl From<io::Error> for Trouble {
    fn from(why: io::Error) -> Self {
        if why.kind() == io::ErrorKind::BrokenPipe {
            return Self::new(Exit::Fine, "");
        }
        Self {
            output: true,
            ..Self::broken(format!("the output can't be written: {why}"))
        }
    }
}

impl From<OutputError> for Trouble {
    fn from(why: OutputError) -> Self {
        match why {
            OutputError::Store(_) | OutputError::Foreign { .. } => Self::usage(why.to_string()),
            OutputError::NoFolder { .. }
            | OutputError::Folder { .. }
            | OutputError::File { .. } => Self::broken(why),
        }
    }
}

impl From<SlipError> for Trouble {
    fn from(why: SlipError) -> Self {
        Self::usage(why.to_string())
    }
}

impl From<OutOfRange> for Trouble {
    fn from(why: OutOfRange) -> Self {
        Self::usage(why.to_string())
    }
}

impl From<serde_json::Error> for Trouble {
    fn from(why: serde_json::Error) -> Self {
        match why.io_error_kind() {
            Some(kind) => io::Error::from(kind).into(),
            None => Self::broken(why),
        }
    }
}
