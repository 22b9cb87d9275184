//! The pads above the foot, in which something is typed.

use super::shelf::{timing_mark, when};
use crate::app::cell::CellPad;
use crate::app::overlay::{Errand, Overlay};
use crate::app::slip::{SlipPad, Understood};
use crate::app::steps::{DonePad, MovePad, SkipPad};
use crate::app::{State, cautions, field::Field};
use crate::engine::{Due, Timing};
use crate::tui::ink::{Ink, window};
use crate::tui::theme::Role;
use ratatui::layout::Position;

/// Draws the pad that is open; gives where the cursor stands.
pub(super) fn draw(state: &State, ink: &mut Ink) -> Option<Position> {
    if ink.area.height < 3 {
        return None;
    }
    let overlay = state.overlays.last()?;
    match overlay {
        Overlay::Slip(pad) => Some(slip(state, pad, ink)),
        Overlay::Done(pad) => Some(done(state, pad, ink)),
        Overlay::Skip(pad) => Some(skip(state, pad, ink)),
        Overlay::Move(pad) => Some(shift(state, pad, ink)),
        Overlay::Cell(pad) => Some(cell(pad, ink)),
        Overlay::Clock
        | Overlay::Why(_)
        | Overlay::Help(_)
        | Overlay::Settings(_)
        | Overlay::Sheet(_)
        | Overlay::Find(_) => None,
    }
}

/// What is being done, written into a thin line.
fn title(words: &str, name: &str, ink: &mut Ink) {
    let dash = ink.theme.symbol("─", "-").to_owned();
    let x = ink.say(0, 0, &dash.repeat(2), Role::Faint) + 1;
    let mut x = ink.say(x, 0, words, Role::Title) + 1;
    if !name.is_empty() {
        x = ink.say(x, 0, name, Role::Muted) + 1;
    }
    let rest = usize::from(ink.area.width.saturating_sub(x));
    ink.say(x, 0, &dash.repeat(rest), Role::Faint);
}

/// The line that is typed into; gives where the cursor stands.
fn line(prompt: &str, field: &Field, y: u16, ink: &mut Ink) -> Position {
    let x = ink.say(0, y, prompt, Role::Accent) + 1;
    let room = ink.area.width.saturating_sub(x + 1).max(1);
    let skip = field.scroll(usize::from(room));
    let shown = window(field.text(), skip, usize::from(room));
    let style = ink.theme.style(Role::Field);
    ink.words(x, y, room, &shown, style);
    Position {
        x: ink.area.x + x + (field.column().saturating_sub(skip) as u16).min(room),
        y: ink.area.y + y,
    }
}

/// What became of what was sent, or what is asked; gives whether it said anything.
pub(super) fn message(errand: &Errand, y: u16, ink: &mut Ink) -> bool {
    let (text, role) = if errand.sent.is_some() {
        ("Keeping it.", Role::Muted)
    } else if let Some(why) = &errand.refused {
        (why.as_str(), Role::Alarm)
    } else if errand.leaving {
        (
            "Not kept. Esc again throws away what you typed; any other key goes on.",
            Role::Watch,
        )
    } else if let Some(missing) = &errand.missing {
        (missing.as_str(), Role::Watch)
    } else {
        return false;
    };
    ink.paragraph(0, y, text, role) > 0
}

/// The same in the last row; a refusal takes as many as it needs of what stands
/// below the line that is typed into: what to do stands at its end.
fn verdict(errand: &Errand, ink: &mut Ink) -> bool {
    let why = errand.refused.as_deref().filter(|_| errand.sent.is_none());
    let most = ink.area.height.saturating_sub(2).max(1);
    let rows = why.map_or(1, |why| ink.rows(0, why)).clamp(1, most);
    let first = ink.area.height.saturating_sub(rows);
    if why.is_some() {
        let blank = " ".repeat(usize::from(ink.area.width));
        for y in first..ink.area.height {
            ink.say(0, y, &blank, Role::Ink);
        }
    }
    message(errand, first, ink)
}

/// One value: what is typed, and at once what it would mean.
fn cell(pad: &CellPad, ink: &mut Ink) -> Position {
    title(&pad.label, "", ink);
    let cursor = line(ink.theme.symbol("›", ">"), &pad.field, 1, ink);
    let (text, role) = match &pad.meaning {
        None => (pad.hint.as_str(), Role::Muted),
        Some(Ok(means)) => (means.as_str(), Role::Good),
        Some(Err(why)) => (why.as_str(), Role::Watch),
    };
    let style = ink.theme.style(role);
    let most = ink.area.height.saturating_sub(3).max(1);
    ink.lines(2, 2, text, style, most);
    verdict(&pad.errand, ink);
    cursor
}

fn slip(state: &State, pad: &SlipPad, ink: &mut Ink) -> Position {
    let name = pad
        .spot
        .and_then(|s| state.household.as_ref()?.dossier(s.batch))
        .map_or("", |d| d.batch.name.as_str());
    let what = if pad.mending.is_some() {
        format!("mend a reading of {}", pad.title)
    } else {
        format!("reading of {}", pad.title)
    };
    title(&what, name, ink);
    let cursor = line(ink.theme.symbol("›", ">"), &pad.field, 1, ink);
    let mut y = 2;
    match &pad.understood {
        Understood::Nothing => {
            let hint = if pad.spot.is_some() {
                "42 is 1.042; add 68f for the sample, ph3.4, 4312g, -2d, 'a note"
            } else {
                "the thermometer, such as 68 or 20c; it counts for every vessel here"
            };
            ink.say(2, y, hint, Role::Muted);
        }
        Understood::Unclear(why) => {
            let style = ink.theme.style(Role::Watch);
            let most = ink.area.height.saturating_sub(y + 1).max(1);
            ink.lines(2, y, why, style, most);
        }
        Understood::Clear { line, doubts } => {
            y += ink.paragraph(2, y, line, Role::Good);
            let style = ink.theme.style(Role::Watch);
            if let Some(doubt) = doubts.first() {
                let ask = if pad.errand.insisting {
                    " Press Enter again to keep it as typed."
                } else {
                    ""
                };
                let most = ink.area.height.saturating_sub(y + 1).max(1);
                let stop = if doubt.ends_with('.') { "" } else { "." };
                ink.lines(2, y, &format!("{doubt}{stop}{ask}"), style, most);
            }
        }
    }
    verdict(&pad.errand, ink);
    cursor
}

fn done(state: &State, pad: &DonePad, ink: &mut Ink) -> Position {
    let Some(step) = pad.step() else {
        return Position::new(ink.area.x, ink.area.y);
    };
    title(&format!("{} done", step.tag), &step.title, ink);
    if pad.steps.len() > 1 {
        let more = format!(" {} of {} ", pad.at + 1, pad.steps.len());
        ink.right(0, &more, Role::Muted);
    }
    let prompt = format!("added {}", ink.theme.symbol("›", ">"));
    let cursor = line(&prompt, &pad.field, 1, ink);
    let mut y = 2;
    y += about(state, step, y, ink);
    if let Some(warning) = warning(step) {
        let ask = if pad.errand.insisting {
            " Press Enter again if it was done all the same."
        } else {
            ""
        };
        y += ink.paragraph(2, y, &format!("{warning}{ask}"), Role::Watch);
    }
    let vessel = step
        .vessel
        .and_then(|v| state.household.as_ref()?.vessel(v));
    if let Some(caution) = cautions::of_step(step.kind, vessel.map(|v| v.kind)) {
        let style = ink.theme.style(Role::Alarm);
        let most = ink.area.height.saturating_sub(y + 1);
        ink.lines(2, y, caution, style, most);
    }
    verdict(&pad.errand, ink);
    cursor
}

/// When a step is due and why it is done, in one or two rows.
fn about(state: &State, step: &Due, y: u16, ink: &mut Ink) -> u16 {
    let x = ink.mark(2, y, timing_mark(step.timing)) + 1;
    let (said, role) = when(state, step);
    let x = ink.say(x, y, &said, role);
    let style = ink.theme.style(Role::Muted);
    let text = match step.timing {
        Timing::Late | Timing::Overdue if !step.harm.is_empty() => &step.harm,
        _ => &step.why,
    };
    ink.lines(x + 2, y, text, style, 2).max(1)
}

/// What speaks against doing it today.
fn warning(step: &Due) -> Option<String> {
    match &step.warning {
        Some(warning) => Some(warning.sentence()),
        None if step.timing == Timing::TooLate => {
            Some("It is too late for this: doing it now is worse than leaving it.".into())
        }
        None => None,
    }
}

fn skip(state: &State, pad: &SkipPad, ink: &mut Ink) -> Position {
    title(&format!("{} skip", pad.step.tag), &pad.step.title, ink);
    let prompt = format!("because {}", ink.theme.symbol("›", ">"));
    let cursor = line(&prompt, &pad.field, 1, ink);
    let mut y = 2;
    if pad.step.harm.is_empty() {
        y += about(state, &pad.step, y, ink);
    } else {
        y += ink.paragraph(2, y, &pad.step.harm, Role::Watch);
    }
    let reasons = format!("usual reasons, by the arrows: {}", pad.reasons.join(", "));
    ink.say(2, y, &reasons, Role::Muted);
    verdict(&pad.errand, ink);
    cursor
}

fn shift(state: &State, pad: &MovePad, ink: &mut Ink) -> Position {
    title(&format!("{} move", pad.step.tag), &pad.step.title, ink);
    let prompt = format!("to {}", ink.theme.symbol("›", ">"));
    let cursor = line(&prompt, &pad.field, 1, ink);
    let today = state.now.day();
    let y = 2;
    match pad.meaning(today) {
        Ok(text) => {
            let ask = if pad.errand.insisting {
                " Press Enter again to move it all the same."
            } else {
                ""
            };
            let late = pad.day.as_ref().is_ok_and(|d| *d > pad.step.overdue_after);
            let role = if late { Role::Watch } else { Role::Good };
            ink.paragraph(2, y, &format!("{text}{ask}"), role);
        }
        Err(why) => {
            let role = if pad.field.is_blank() {
                Role::Muted
            } else {
                Role::Watch
            };
            ink.paragraph(2, y, &why, role);
        }
    }
    if pad.errand.missing.is_none() {
        verdict(&pad.errand, ink);
    }
    cursor
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::theme::Theme;
    use ratatui::buffer::Buffer;
    use ratatui::layout::Rect;

    #[test]
    fn a_long_refusal_is_read_to_its_end() {
        let errand = Errand {
            refused: Some(format!(
                "in {}: nothing was changed, try again",
                "a/".repeat(60)
            )),
            ..Errand::default()
        };
        let area = Rect::new(0, 0, 60, 6);
        let (mut buffer, theme) = (Buffer::empty(area), Theme::default());
        let mut ink = Ink::new(area, &theme, &mut buffer);
        for y in 0..6 {
            ink.say(0, y, &"x".repeat(60), Role::Ink);
        }
        assert!(verdict(&errand, &mut ink));
        let rows: Vec<String> = (0..6)
            .map(|y| (0..60).map(|x| buffer[(x, y)].symbol()).collect())
            .collect();
        assert!(
            rows[5].contains("again") && !rows[5].contains('x'),
            "{rows:?}"
        );
        assert!(
            rows[0].starts_with("xxx") && rows[1].starts_with("xxx"),
            "{rows:?}"
        );
    }
}
