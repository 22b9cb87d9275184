//! Exit codes: one table, read by the program, the help and the man page.

use std::fmt::Write as _;
use std::process::ExitCode;

/// How a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum Exit {
    /// Done; for the morning list: nothing is wanted.
    Fine = 0,
    /// Something outside skep failed.
    Broken = 1,
    /// What was asked is not understood.
    Usage = 2,
    /// The store can't be used.
    Store = 3,
    /// A reading does not fit and was not kept.
    Doubted = 4,
    /// No such vessel, place, step, routine or figure.
    NotFound = 5,
    /// Some lines of a file were not understood.
    BadLines = 6,
    /// A hold stands, and nothing was done.
    Held = 7,
    /// It was saved, but the output could not be written.
    Unanswered = 8,
    /// A step is due today.
    Due = 10,
    /// A step is late.
    Late = 11,
    /// Something is going wrong.
    Wrong = 12,
    /// A ferment is stuck.
    Stuck = 13,
}

/// Every exit code and what it means.
pub const EXITS: &[(Exit, &str)] = &[
    (Exit::Fine, "done; with today and show: nothing is wanted"),
    (Exit::Broken, "a file, the terminal or the output failed"),
    (Exit::Usage, "what was asked is not understood"),
    (
        Exit::Store,
        "the store is missing, damaged, busy or of another kind",
    ),
    (
        Exit::Doubted,
        "a reading does not fit and was not kept; --anyway keeps it",
    ),
    (
        Exit::NotFound,
        "no such vessel, place, step, routine or figure",
    ),
    (
        Exit::BadLines,
        "some lines were not understood and left out",
    ),
    (
        Exit::Held,
        "a hold stands and nothing was done; --overrule REASON goes past it",
    ),
    (
        Exit::Unanswered,
        "it was saved, but the output can't be written",
    ),
    (Exit::Due, "today and show: a step is due"),
    (Exit::Late, "today and show: a step is late"),
    (Exit::Wrong, "today and show: something is going wrong"),
    (Exit::Stuck, "today and show: a ferment is stuck"),
];

impl Exit {
    /// The number that the shell sees.
    pub const fn code(self) -> u8 {
        self as u8
    }

    /// What it means.
    pub fn meaning(self) -> &'static str {
        EXITS
            .iter()
            .find(|(exit, _)| *exit == self)
            .map_or("", |(_, meaning)| meaning)
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit.code())
    }
}

/// The table as text for help and man page.
pub(super) fn table() -> String {
    let mut text = String::from("Exit codes (the highest that applies):\n");
    for (exit, meaning) in EXITS {
        let _ = writeln!(text, "  {:>3}  {meaning}", exit.code());
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_is_told_once_in_order() {
        let codes: Vec<u8> = EXITS.iter().map(|(e, _)| e.code()).collect();
        let mut sorted = codes.clone();
        sorted.sort_unstable();
        sorted.dedup();
        assert_eq!(codes, sorted);
        assert!(EXITS.iter().all(|(e, _)| !e.meaning().is_empty()));
    }
}
