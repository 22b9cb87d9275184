//! What comes in, and what goes out.

use super::key::Key;
use super::keymap::KeyMap;
use super::setup::Setup;
use super::trend::{DayTime, Healthy};
use crate::domain::deeds::Deed;
use crate::domain::plan::Supplies;
use crate::domain::records::{BatchId, Household, LedgerLine, Routine, VesselId, YeastClass};
use crate::engine::Morning;
use crate::engine::stories::Story;
use std::sync::Arc;

/// Number of an errand sent to the store; its answer carries it back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Ticket(pub u64);

/// Something that happened.
#[derive(Debug, Clone)]
pub enum Msg {
    /// A key was pressed.
    Key(Key),
    /// Text was pasted, as one thing.
    Paste(String),
    /// The mouse chose a thing.
    Hit(Hit),
    /// The wheel turned over the screen: lines, positive is down.
    Wheel(i32),
    /// The screen has this many rows for lists now.
    Rows(usize),
    /// Time went on.
    Tick,
    /// The household as stored.
    Household(Box<Loaded>),
    /// The supplies of the household told before.
    Supplies(Box<Supplies>),
    /// What the engine makes of it, worked out from that revision.
    Morning(i64, Arc<Morning>),
    /// A batch's ledger, oldest first.
    Ledger(BatchId, Arc<Vec<LedgerLine>>),
    /// How all batches went.
    Stories(Arc<Vec<Story>>),
    /// The way a healthy ferment in the place of this one would go.
    Healthy(Spot, Healthy),
    /// Routines and yeast classes, and what was wrong with the user's own files.
    Library(Arc<Library>),
    /// An errand was carried out and stored.
    Kept(Ticket, Kept),
    /// An errand was refused; nothing was stored.
    Refused(Ticket, String),
    /// The store is damaged: what was found, and what to do.
    Damaged(Vec<String>, Vec<String>),
    /// Nothing could be read; the sentence says why.
    Trouble(String),
}

/// The store's answer to an errand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// What was kept, in words: `reading 1.042 of J2`; empty when there was nothing to do.
    pub said: String,
    /// The store's revision after it.
    pub revision: i64,
}

/// The household with what undo and redo would do.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// All that is not closed.
    pub household: Arc<Household>,
    /// The pantry, plans, days away; none where they come by themselves, after the
    /// first morning.
    pub supplies: Option<Supplies>,
    /// Name of the change that undo takes back.
    pub undo: Option<String>,
    /// Name of the change that redo brings back.
    pub redo: Option<String>,
    /// Name of the last change, for saying softly what came from outside.
    pub last_change: Option<String>,
}

/// Routines and yeast classes.
#[derive(Debug, Clone, Default)]
pub struct Library {
    /// Built in and the maker's own.
    pub routines: Vec<Routine>,
    /// Generic classes of yeast.
    pub yeasts: Vec<YeastClass>,
    /// The maker's own keys.
    pub keys: Arc<KeyMap>,
    /// Sentences about files that could not be used.
    pub problems: Vec<String>,
}

/// A thing that the mouse chose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Hit {
    /// A row of the shelf.
    Row(usize),
    /// A line of the due list, by its place in the morning's list.
    Due(usize),
    /// A line of the list that has the keys on the batch screen.
    Line(usize),
    /// A time on the trend's axis.
    Trend(DayTime),
}

/// Something to be carried out by the loop.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Carry out deeds, in order, as one errand.
    CarryOut(Ticket, Vec<Deed>),
    /// Make a place, vessels and a first batch.
    SetUp(Ticket, Box<Setup>),
    /// Take the last change back.
    Undo(Ticket),
    /// Bring it back.
    Redo(Ticket),
    /// Read a batch's ledger.
    ReadLedger(BatchId),
    /// Read how all batches went.
    ReadStories,
    /// Work out the way a healthy ferment in the place of this one would go.
    WorkOutHealthy(Spot),
    /// Write a routine into the folder of the maker's own.
    SaveRoutine(Ticket, Box<Routine>),
    /// Work the morning out afresh: time went on.
    Reassess,
    /// Put the demo in place of the store.
    OpenDemo(Ticket),
    /// Hand the terminal to the shell until it comes back.
    Suspend,
    /// Draw everything afresh.
    Redraw,
    /// A sound, for the end of a countdown.
    Bell,
    /// Leave.
    Quit,
}

/// What a vessel and its batch are chosen by: it stays on the same thing when
/// the list is sorted anew.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Spot {
    /// The batch.
    pub batch: BatchId,
    /// Its vessel, if it lies in one.
    pub vessel: Option<VesselId>,
}
