//! Terminal events become messages here, and nowhere else.

use crate::app::{Code, Hit, Key, Msg, State};
use crate::tui::areas;
use ratatui::crossterm::event::{
    Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers, MouseButton, MouseEvent, MouseEventKind,
};
use ratatui::layout::Rect;

/// What an event means; none when it means nothing.
pub fn message(event: Event, state: &State, screen: Rect) -> Option<Msg> {
    match event {
        Event::Key(event) => key(event).map(Msg::Key),
        Event::Paste(text) => Some(Msg::Paste(text)),
        Event::Mouse(event) => mouse(event, state, screen),
        Event::Resize(..) | Event::FocusGained | Event::FocusLost => None,
    }
}

/// A key press; releases mean nothing, and shift is already in a character.
pub fn key(event: KeyEvent) -> Option<Key> {
    if event.kind == KeyEventKind::Release {
        return None;
    }
    let ctrl = event.modifiers.contains(KeyModifiers::CONTROL);
    let alt = event.modifiers.contains(KeyModifiers::ALT);
    let code = match event.code {
        KeyCode::Char(c) if ctrl => Code::Char(c.to_ascii_lowercase()),
        KeyCode::Char(c) => Code::Char(c),
        KeyCode::Enter => Code::Enter,
        KeyCode::Esc => Code::Esc,
        KeyCode::Tab if event.modifiers.contains(KeyModifiers::SHIFT) => Code::BackTab,
        KeyCode::Tab => Code::Tab,
        KeyCode::BackTab => Code::BackTab,
        KeyCode::Backspace => Code::Backspace,
        KeyCode::Delete => Code::Delete,
        KeyCode::Up => Code::Up,
        KeyCode::Down => Code::Down,
        KeyCode::Left => Code::Left,
        KeyCode::Right => Code::Right,
        KeyCode::Home => Code::Home,
        KeyCode::End => Code::End,
        KeyCode::PageUp => Code::PageUp,
        KeyCode::PageDown => Code::PageDown,
        KeyCode::F(n) => Code::F(n),
        _ => return None,
    };
    Some(Key { code, ctrl, alt })
}

fn mouse(event: MouseEvent, state: &State, screen: Rect) -> Option<Msg> {
    match event.kind {
        MouseEventKind::Down(MouseButton::Left) | MouseEventKind::Drag(MouseButton::Left) => {
            let hit = areas::hit(state, screen, event.column, event.row)?;
            // Dragging only moves the cursor of the trend.
            let down = matches!(event.kind, MouseEventKind::Down(_));
            (down || matches!(hit, Hit::Trend(_))).then_some(Msg::Hit(hit))
        }
        MouseEventKind::ScrollUp => Some(Msg::Wheel(-1)),
        MouseEventKind::ScrollDown => Some(Msg::Wheel(1)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shift_is_dropped_from_characters_and_releases_are_ignored() {
        let shifted = KeyEvent::new(KeyCode::Char('U'), KeyModifiers::SHIFT);
        assert_eq!(key(shifted), Some(Key::char('U')));
        let ctrl = KeyEvent::new(KeyCode::Char('R'), KeyModifiers::CONTROL);
        assert_eq!(key(ctrl), Some(Key::ctrl('r')));
        let mut released = KeyEvent::new(KeyCode::Enter, KeyModifiers::NONE);
        released.kind = KeyEventKind::Release;
        assert_eq!(key(released), None);
        let back = KeyEvent::new(KeyCode::Tab, KeyModifiers::SHIFT);
        assert_eq!(key(back), Some(Key::of(Code::BackTab)));
    }
}
