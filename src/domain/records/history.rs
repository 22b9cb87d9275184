use super::{BatchId, ChangeId, Draw, Event, Lot, Reading, Stay, StepId, StepKind, Tasting, words};
use crate::domain::units::Moment;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

words! {
    /// What became of a change.
    ChangeState {
        /// It stands.
        Done = "done",
        /// Taken back; `redo` brings it again.
        Undone = "undone",
        /// Taken back, and something else was done since: history only.
        Dropped = "dropped",
    }
}

/// One undoable change, as the list of changes shows it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Change {
    /// Row number; later changes have larger ones.
    pub id: ChangeId,
    /// What was done, in words: `reading 1.042 of J2`.
    pub name: String,
    /// When it was written down.
    pub at: Moment,
    /// The batch it belongs to, if to one.
    pub batch: Option<BatchId>,
    /// What became of it.
    pub state: ChangeState,
    /// When it was last taken back.
    pub undone: Option<Moment>,
}

/// A value of one column before or after a change, as it is stored.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Datum {
    /// Nothing.
    Nothing,
    /// A whole number.
    Whole(i64),
    /// A number.
    Real(f64),
    /// Words.
    Text(String),
}

/// One column of one row that a change set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ChangeLine {
    /// Table.
    pub table: String,
    /// Row number in it.
    pub row: i64,
    /// Column.
    pub column: String,
    /// Before; nothing where the row is new.
    pub old: Datum,
    /// After.
    pub new: Datum,
}

/// What became of an entry in the ledger.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "is", rename_all = "kebab-case")]
pub enum Fate {
    /// It stands.
    Stands,
    /// It was mended; another line has the later version.
    Mended {
        /// When that was written down.
        at: Moment,
        /// By which change.
        by: ChangeId,
    },
    /// It was removed.
    Removed {
        /// When that was written down.
        at: Moment,
    },
    /// Its change was taken back by `undo`.
    Undone {
        /// When.
        at: Moment,
    },
}

/// What a line of the ledger is about.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "entry", rename_all = "kebab-case")]
pub enum LedgerEntry {
    /// A reading of its vessel.
    Reading(Reading),
    /// Something that happened.
    Event(Event),
    /// A step was done.
    StepDone {
        /// Which.
        step: StepId,
        /// Its kind.
        kind: StepKind,
        /// Its one line.
        title: String,
    },
    /// A step was left out.
    StepSkipped {
        /// Which.
        step: StepId,
        /// Its one line.
        title: String,
        /// Why.
        reason: String,
    },
    /// A step was moved.
    StepMoved {
        /// Which.
        step: StepId,
        /// Its one line.
        title: String,
        /// To which day.
        to: NaiveDate,
    },
    /// It went into a vessel.
    Arrived(Stay),
    /// It left a vessel.
    Left(Stay),
    /// Bottles were filled.
    Filled(Lot),
    /// Bottles left.
    Drawn(Draw),
    /// It was tasted.
    Tasted(Tasting),
    /// The batch's own facts changed (name, note, plan).
    Changed {
        /// What was done, in words.
        name: String,
    },
}

/// One line of a batch's whole history.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LedgerLine {
    /// When it happened; lines are ordered by this.
    pub at: Moment,
    /// When it was written down, where that is known.
    pub entered: Option<Moment>,
    /// The change that wrote it.
    pub change: Option<ChangeId>,
    /// What.
    pub entry: LedgerEntry,
    /// Whether it still stands.
    pub fate: Fate,
}
