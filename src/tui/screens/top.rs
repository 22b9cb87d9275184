//! The top: the day, where one is, and on the shelf the sentence of the morning.

use crate::app::{Screen, State, brief, say};
use crate::tui::areas;
use crate::tui::ink::Ink;
use crate::tui::text::width;
use crate::tui::theme::{Role, Tone};

/// Draws the top.
pub(super) fn draw(state: &State, ink: &mut Ink) {
    let now = state.now.datetime();
    let roomy = ink.area.width >= 60;
    let date = if roomy { "%A %-d %B" } else { "%a %-d %b" };
    let date = now.format(date).to_string();
    let x = ink.say(0, 0, &date, Role::Title);
    let x = ink.say(x + 2, 0, &now.format("%H:%M").to_string(), Role::Muted) + 2;
    let end = right(state, ink);
    if let Some(place) = place(state)
        && usize::from(end.saturating_sub(x)) >= width(&place) + 2
    {
        ink.say(x, 0, &place, Role::Muted);
    }
    if state.screen == Screen::Shelf && !areas::covered(state) {
        let style = ink.tone(Tone::Plain);
        let most = ink.area.height.saturating_sub(1);
        ink.lines(0, 1, &brief::sentence(state), style, most);
    }
}

/// What stands at the right; gives the column where it begins.
fn right(state: &State, ink: &mut Ink) -> u16 {
    if let Some(clock) = &state.clock {
        let left = say::countdown(clock.left(state.now));
        let whole = format!("{left}  {}", clock.title);
        let tag = clock.title.split("  ").next().unwrap_or_default();
        let room = usize::from(ink.area.width / 2);
        let short = format!("{left}  {tag}");
        let said = if width(&whole) <= room { whole } else { short };
        ink.right(0, &said, Role::Accent)
    } else {
        let here = state.screen.title();
        let x = ink.right(0, here, Role::Muted);
        if !state.options.demo {
            return x;
        }
        let demo = match ink.area.width {
            72.. => "demo, all invented  ",
            _ => "demo  ",
        };
        let x = x.saturating_sub(width(demo) as u16);
        ink.say(x, 0, demo, Role::Accent);
        x
    }
}

/// The last temperature of a place that is read, with its age.
fn place(state: &State) -> Option<String> {
    let household = state.household.as_ref()?;
    let last = household
        .dossiers
        .iter()
        .flat_map(|d| &d.place_readings)
        .max_by_key(|r| r.at)?;
    let crate::domain::records::Subject::Place(id) = last.subject else {
        return None;
    };
    let crate::domain::records::Measure::Temperature(t) = last.seen.measure() else {
        return None;
    };
    let name = &household.place(id)?.name;
    let said = say::temperature(t, household.settings.units);
    Some(format!("{name} {said}, {}", say::ago(last.at, state.now)))
}
