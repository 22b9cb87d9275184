//! Lines that stand beside a form: what comes of what was typed.

/// How a line is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineTone {
    /// A heading.
    Title,
    /// Ordinary.
    Plain,
    /// Stands back.
    Muted,
    /// All is well.
    Good,
    /// Wants a look.
    Watch,
    /// Speaks against it.
    Alarm,
}

/// One line, wrapped where it is shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// How it is meant.
    pub tone: LineTone,
    /// What it says.
    pub text: String,
}

/// A line.
pub fn line(tone: LineTone, text: impl Into<String>) -> Line {
    Line {
        tone,
        text: text.into(),
    }
}

/// A field by its key and what is wrong with it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wrong {
    /// The field.
    pub key: &'static str,
    /// What is wrong, and what is accepted.
    pub why: String,
}

/// Something is wrong with a field.
pub fn wrong(key: &'static str, why: impl Into<String>) -> Wrong {
    Wrong {
        key,
        why: why.into(),
    }
}

/// Shortest reason that overrules a hold, in characters: a word is none.
pub const REASON: usize = 8;
