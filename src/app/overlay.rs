//! What can lie on top of a screen; the last one has the keys.

use super::cell::CellPad;
use super::find::FindSheet;
use super::help::HelpSheet;
use super::keys::Scope;
use super::msg::Ticket;
use super::settings::SettingsSheet;
use super::sheet::FormSheet;
use super::slip::SlipPad;
use super::steps::{DonePad, MovePad, SkipPad};
use super::why::WhySheet;

/// Something on top of a screen.
#[derive(Debug, Clone)]
pub enum Overlay {
    /// A reading being typed.
    Slip(SlipPad),
    /// A step being marked done.
    Done(DonePad),
    /// A step being left out.
    Skip(SkipPad),
    /// A step being moved.
    Move(MovePad),
    /// The countdown; it runs on when this is closed.
    Clock,
    /// Where numbers come from.
    Why(WhySheet),
    /// Keys and words.
    Help(HelpSheet),
    /// Choices.
    Settings(SettingsSheet),
    /// One value being typed.
    Cell(CellPad),
    /// A form.
    Sheet(FormSheet),
    /// Something being looked for.
    Find(FindSheet),
}

impl Overlay {
    /// Where its keys are looked up.
    pub fn scope(&self) -> Scope {
        match self {
            Self::Slip(_) => Scope::Slip,
            Self::Done(_) => Scope::Done,
            Self::Skip(_) => Scope::Skip,
            Self::Move(_) => Scope::Move,
            Self::Clock => Scope::Clock,
            Self::Why(_) => Scope::Why,
            Self::Help(_) => Scope::Help,
            Self::Settings(_) => Scope::Settings,
            Self::Cell(_) => Scope::Cell,
            Self::Sheet(_) => Scope::Sheet,
            Self::Find(_) => Scope::Find,
        }
    }

    /// Its errand to the store, where it has one.
    pub fn errand_mut(&mut self) -> Option<&mut Errand> {
        match self {
            Self::Slip(pad) => Some(&mut pad.errand),
            Self::Done(pad) => Some(&mut pad.errand),
            Self::Skip(pad) => Some(&mut pad.errand),
            Self::Move(pad) => Some(&mut pad.errand),
            Self::Settings(sheet) => Some(&mut sheet.errand),
            Self::Cell(pad) => Some(&mut pad.errand),
            Self::Sheet(sheet) => Some(&mut sheet.errand),
            Self::Clock | Self::Why(_) | Self::Help(_) | Self::Find(_) => None,
        }
    }

    /// Whether something typed would be lost by closing it.
    pub fn holds_typing(&self) -> bool {
        match self {
            Self::Slip(pad) => !pad.field.is_blank(),
            Self::Done(pad) => pad.touched,
            Self::Skip(pad) => pad.touched && !pad.field.is_blank(),
            Self::Move(pad) => !pad.field.is_blank(),
            Self::Settings(sheet) => sheet.form.touched,
            Self::Cell(pad) => !pad.field.is_blank(),
            Self::Sheet(sheet) => sheet.form.touched,
            Self::Clock | Self::Why(_) | Self::Help(_) | Self::Find(_) => false,
        }
    }
}

/// How far a pad has come with what it sent to the store.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Errand {
    /// Sent, and not answered yet.
    pub sent: Option<Ticket>,
    /// The store's refusal; what was typed stays.
    pub refused: Option<String>,
    /// Enter was pressed once on something doubtful; once more insists.
    pub insisting: bool,
    /// Escape was pressed once with something typed; once more throws it away.
    pub leaving: bool,
    /// What is missing, said when Enter was pressed too early.
    pub missing: Option<String>,
}

impl Errand {
    /// After any other key: questions asked before no longer stand.
    pub fn touched(&mut self) {
        self.insisting = false;
        self.leaving = false;
        self.refused = None;
        self.missing = None;
    }
}
