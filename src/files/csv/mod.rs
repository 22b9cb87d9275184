//! Tables for spreadsheets: readings, steps, batches and the cellar out,
//! readings in.
//!
//! A cell of words that a spreadsheet would run as a formula gets an
//! apostrophe before it, which [`plain`] takes away again.

mod columns;
mod dates;
mod import;
mod numbers;
mod out;
mod sniff;

pub use columns::{ROLES, Role, RoleWords};
pub use dates::DateOrder;
pub use import::{Choices, Decimal, Found, ImportError, Line, Preview, preview};
pub use out::{SAMPLES, Samples, Table, write};

use crate::domain::text::is_order;

/// What makes a spreadsheet take a cell for a formula, and the apostrophe
/// itself, so that taking it away again loses nothing.
fn runs(c: char) -> bool {
    matches!(
        c,
        '=' | '+'
            | '-'
            | '@'
            | '\t'
            | '\r'
            | '\n'
            | '|'
            | '%'
            | '\u{ff1d}'
            | '\u{ff0b}'
            | '\u{ff0d}'
            | '\u{ff20}'
            | '\''
    )
}

/// Words as a cell that no spreadsheet runs and no terminal obeys: what would turn or colour the
/// text around it stands as a replacement character.
pub fn guarded(words: &str) -> String {
    let words = words.replace(is_order, "\u{fffd}");
    if words.starts_with(runs) {
        format!("'{words}")
    } else {
        words
    }
}

/// The words of a guarded cell.
pub fn plain(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(runs) => rest,
        _ => cell,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn nothing_that_runs_stays_at_the_front() {
        for hostile in [
            "=HYPERLINK(\"http://x\")",
            "+1+1",
            "-2+3",
            "@SUM(A1)",
            "\t=1",
            "\r=1",
            "|calc",
            "\u{ff1d}1+1",
        ] {
            assert!(guarded(hostile).starts_with('\''), "{hostile}");
        }
        assert_eq!(guarded("smells of pear"), "smells of pear");
        assert_eq!(plain("'tis clear"), "'tis clear");
    }

    proptest! {
        #[test]
        fn guarding_loses_nothing(words in "[='+@|\\-\t\r\n\"a-z,; \u{ff1d}]{0,12}|\\PC*") {
            let cell = guarded(&words);
            prop_assert_eq!(plain(&cell), words.as_str());
            prop_assert!(!cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']));
        }
    }
}
