//! The foot: what was just said, and what can be done here now.

use crate::app::keys::{Action, Binding, hints};
use crate::app::{NoticeTone, State};
use crate::tui::ink::Ink;
use crate::tui::text::{cut, width};
use crate::tui::theme::{Mark, Role};

/// Draws the foot.
pub(super) fn draw(state: &State, ink: &mut Ink) {
    let mut x = 0;
    if let Some(notice) = &state.notice {
        let role = match notice.tone {
            NoticeTone::Kept => {
                x = ink.mark(x, 0, Mark::Done) + 1;
                Role::Good
            }
            NoticeTone::Plain => Role::Muted,
            NoticeTone::Trouble => Role::Alarm,
        };
        let room = ink.area.width.saturating_sub(x + 20);
        x = ink.column(x, 0, room, &notice.text, role) + 3;
    }
    let kept = state
        .notice
        .as_ref()
        .is_some_and(|n| n.tone == NoticeTone::Kept);
    let mut hints = hints(state);
    // Just after something was kept, the way back comes first; later on it
    // stands among the first.
    hints.sort_by_key(|b| match (b.action, kept, state.has_kept) {
        (Action::Undo, true, _) => 0,
        (Action::Undo, false, true) => 3,
        _ => b.rank,
    });
    // The way out has its room before all others, then the help.
    let helps = !kept && ink.area.width >= 60;
    let help = hints.iter().copied().find(|b| b.action == Action::Help);
    let last: Vec<&Binding> = help
        .filter(|_| helps)
        .into_iter()
        .chain(way_out(&hints))
        .collect();
    let kept_free: u16 = last.iter().map(|b| short(state, b) + 3).sum();
    let end = ink.area.width.saturating_sub(kept_free);
    for binding in hints {
        if last.iter().any(|l| std::ptr::eq(*l, binding)) {
            continue;
        }
        if let Some(next) = hint(state, binding, ink, x, end) {
            x = next;
        }
    }
    for binding in last {
        x = hint(state, binding, ink, x, ink.area.width).unwrap_or(x);
    }
}

/// How to leave what is shown.
fn way_out(hints: &[&'static Binding]) -> Option<&'static Binding> {
    let of = |action| hints.iter().copied().find(|b| b.action == action);
    of(Action::Back).or_else(|| of(Action::Quit))
}

fn key(state: &State, binding: &Binding) -> String {
    state.library.keys.first(&state.scopes(), binding)
}

/// Columns of a hint with its shorter label.
fn short(state: &State, binding: &Binding) -> u16 {
    (width(&key(state, binding)) + 1 + width(binding.label)) as u16
}

/// Longest label of a hint, in columns: an undo with its name.
const LONGEST: usize = 34;

/// One hint, when there is room for all of it before `end`; gives the column
/// after it.
fn hint(state: &State, binding: &Binding, ink: &mut Ink, x: u16, end: u16) -> Option<u16> {
    let key = key(state, binding);
    let room = end.checked_sub(x)?;
    let long = cut(&binding.label_now(state), LONGEST);
    let fits = |label: &str| width(&key) + 1 + width(label) <= usize::from(room);
    let label = [long.as_str(), binding.label]
        .into_iter()
        .find(|label| fits(label))?;
    let x = ink.say(x, 0, &key, Role::Key);
    Some(ink.say(x + 1, 0, label, Role::Muted) + 3)
}
