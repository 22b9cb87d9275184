//! Short names for the keys and places of the tables.

use super::Scope;
use crate::app::key::{Code, Key};
use crate::app::screen::Screen;

pub(super) const fn k(c: char) -> Key {
    Key::char(c)
}
pub(super) const BACKTAB: Key = Key::of(Code::BackTab);
pub(super) const DEL: Key = Key::of(Code::Delete);
pub(super) const DOWN: Key = Key::of(Code::Down);
pub(super) const END: Key = Key::of(Code::End);
pub(super) const ENTER: Key = Key::of(Code::Enter);
pub(super) const ESC: Key = Key::of(Code::Esc);
pub(super) const HOME: Key = Key::of(Code::Home);
pub(super) const LEFT: Key = Key::of(Code::Left);
pub(super) const PGDN: Key = Key::of(Code::PageDown);
pub(super) const PGUP: Key = Key::of(Code::PageUp);
pub(super) const RIGHT: Key = Key::of(Code::Right);
pub(super) const TAB: Key = Key::of(Code::Tab);
pub(super) const UP: Key = Key::of(Code::Up);

pub(super) const BATCH: Scope = Scope::On(Screen::Batch);
pub(super) const BENCH: Scope = Scope::On(Screen::Bench);
pub(super) const BOTTLING: Scope = Scope::On(Screen::Bottling);
pub(super) const CELLAR: Scope = Scope::On(Screen::Cellar);
pub(super) const DAY: Scope = Scope::On(Screen::Checklist);
pub(super) const EDITOR: Scope = Scope::On(Screen::Editor);
pub(super) const PANTRY: Scope = Scope::On(Screen::Pantry);
pub(super) const PLANNER: Scope = Scope::On(Screen::Planner);
pub(super) const ROUND: Scope = Scope::On(Screen::Round);
pub(super) const SEASON: Scope = Scope::On(Screen::Season);
pub(super) const SHELF: Scope = Scope::On(Screen::Shelf);
pub(super) const TREND: Scope = Scope::On(Screen::Trend);
pub(super) const WELCOME: Scope = Scope::On(Screen::Welcome);
