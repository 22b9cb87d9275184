//! A damaged store: what was found, and what to do.

use crate::app::damage::Damage;
use crate::tui::ink::Ink;
use crate::tui::theme::Role;

pub(super) fn draw(damage: &Damage, ink: &mut Ink) {
    let last = ink.area.height.saturating_sub(1);
    let mut y = 0;
    for (i, text) in damage.paragraphs().enumerate() {
        if y + 1 >= last {
            break;
        }
        let role = if damage.from == 0 && i == 0 {
            Role::Alarm
        } else {
            Role::Ink
        };
        let style = ink.theme.style(role);
        y += ink.lines(1, y, &text, style, last - y).max(1);
    }
    let keys = "q quit   Esc look around   ↑↓ scroll";
    ink.paragraph(1, last, keys, Role::Muted);
}
