//! The foot: what was just said, and what can be done here now.

use crate::app::keys::{Action, Binding, hints};
use crate::app::{NoticeTone, State};
use crate::tui::ink::Ink;
use crate::tui::text::width;
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
    if kept {
        // Just after something was kept, the way back comes first.
        hints.sort_by_key(|b| b.action != Action::Undo);
    }
    for binding in hints {
        let Some(next) = hint(state, binding, ink, x) else {
            continue;
        };
        x = next;
    }
}

/// One hint, when there is room for all of it; gives the column after it.
fn hint(state: &State, binding: &Binding, ink: &mut Ink, x: u16) -> Option<u16> {
    let key = binding.key_name();
    let room = ink.area.width.checked_sub(x)?;
    let long = binding.label_now(state);
    let fits = |label: &str| width(&key) + 1 + width(label) <= usize::from(room);
    let label = [long.as_str(), binding.label]
        .into_iter()
        .find(|label| fits(label))?;
    let x = ink.say(x, 0, &key, Role::Key);
    Some(ink.say(x + 1, 0, label, Role::Muted) + 3)
}
