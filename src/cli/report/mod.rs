//! What a verb has to say: as text for people, as JSON for programs.

pub(super) mod json;
pub(super) mod text;

use super::exits::Exit;
use crate::engine::Flag;
use crate::engine::{Account, Morning, State};
use crate::engine::{Due, Timing};

/// The exit code of a morning: the worst thing in it.
pub(super) fn exit_of_morning(morning: &Morning) -> Exit {
    exit_of(&morning.accounts, &morning.due)
}

/// The exit code of some rows and steps.
pub(super) fn exit_of<'a>(
    rows: impl IntoIterator<Item = &'a Account>,
    due: impl IntoIterator<Item = &'a Due>,
) -> Exit {
    let rows = rows.into_iter().map(exit_of_row);
    let due = due.into_iter().map(exit_of_due);
    rows.chain(due).max().unwrap_or(Exit::Fine)
}

/// The name of a file, safe to show.
pub(super) fn shown(path: &std::path::Path) -> String {
    crate::domain::text::safe(&path.display().to_string())
}

/// A message made safe line by line.
pub(super) fn safe_lines(text: &str) -> String {
    let lines: Vec<String> = text.lines().map(crate::domain::text::safe).collect();
    lines.join("\n")
}

fn exit_of_row(row: &Account) -> Exit {
    if row.state == State::Stuck || row.flags.iter().any(|f| matches!(f, Flag::Stuck { .. })) {
        return Exit::Stuck;
    }
    let is_step = |f: &Flag| matches!(f, Flag::StepLate { .. } | Flag::StepTooLate { .. });
    if row.flags.iter().any(|f| !is_step(f) && f.weight() >= 2) {
        return Exit::Wrong;
    }
    Exit::Fine
}

fn exit_of_due(due: &Due) -> Exit {
    match due.timing {
        _ if !due.wants_hands() => Exit::Fine,
        Timing::Late | Timing::Overdue => Exit::Late,
        _ => Exit::Due,
    }
}
