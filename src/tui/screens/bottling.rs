//! Bottling day: the verdict, the form, and what comes of it.

use super::pads;
use crate::app::bottling::VerdictLines;
use crate::app::form::Form;
use crate::app::overlay::Errand;
use crate::app::panel::Line;
use crate::app::{State, bottling};
use crate::tui::areas::{WIDE, split};
use crate::tui::ink::Ink;
use crate::tui::text::width;
use crate::tui::theme::{Mark, Role};
use crate::tui::widgets::form::form;
use crate::tui::widgets::lines::lines;
use ratatui::layout::{Position, Rect};

/// Draws the screen; gives where the cursor stands.
pub(super) fn draw(state: &State, ink: &mut Ink) -> Option<Position> {
    let Some(dossier) = state.chosen_dossier() else {
        ink.say(0, 0, "This batch is no longer on the shelf.", Role::Muted);
        return None;
    };
    let tag = state.chosen_vessel().map_or("", |v| v.tag.as_str());
    let view = &state.bottling;
    let errand = Errand {
        sent: view.sent,
        refused: view.refused.clone(),
        ..Errand::default()
    };
    heading((tag, dossier.batch.name.as_str()), ink);
    let mut body = Rect {
        y: ink.area.y + 1,
        height: ink.area.height.saturating_sub(1),
        ..ink.area
    };
    let mut scroll = view.scroll;
    if let Some(said) = bottling::verdict(state) {
        // The form keeps enough rows for a field, its hint, and what is near.
        let most = body.height.saturating_sub(FORM_ROWS).max(body.height / 3);
        let said = if verdict_rows(&said, ink) > most {
            in_few_words(said, ink)
        } else {
            said
        };
        let rows = verdict_rows(&said, ink).min(most);
        let over = usize::from(verdict_rows(&said, ink).saturating_sub(rows));
        let above = Rect {
            height: rows,
            ..body
        };
        verdict(&said, scroll.min(over), &mut ink.on(above));
        scroll = scroll.saturating_sub(over);
        let taken = (rows + 1).min(body.height);
        body.y += taken;
        body.height -= taken;
    }
    beside(
        body,
        &view.form,
        &bottling::lines(state),
        scroll,
        &errand,
        ink,
    )
}

/// The verdict with one row a hold: reasons in a column, ways out beside it.
fn in_few_words(said: VerdictLines, ink: &Ink) -> VerdictLines {
    let reasons = said.brief.iter().map(|(why, _)| width(why));
    let widest = reasons
        .max()
        .unwrap_or(0)
        .min(usize::from(ink.area.width) / 2 + 4);
    let holds = said
        .brief
        .iter()
        .map(|(why, way)| {
            let gap = " ".repeat(widest.saturating_sub(width(why)));
            (why.clone(), Some(format!("{gap}{way}")))
        })
        .collect();
    VerdictLines { holds, ..said }
}

/// Rows that the form has at least.
const FORM_ROWS: u16 = 10;

/// A hold in one row with its way out, where the width allows it.
fn fits_beside(hold: &str, way: &str, ink: &Ink) -> bool {
    2 + width(hold) + 2 + width(way) <= usize::from(ink.area.width)
}

fn hold_rows((hold, way): &(String, Option<String>), ink: &Ink) -> u16 {
    match way {
        Some(way) if !fits_beside(hold, way, ink) => ink.rows(2, hold) + ink.rows(4, way),
        _ => ink.rows(2, hold),
    }
}

fn verdict_rows(said: &VerdictLines, ink: &Ink) -> u16 {
    let holds: u16 = said.holds.iter().map(|h| hold_rows(h, ink)).sum();
    let notes: u16 = said.notes.iter().map(|n| ink.rows(2, &n.text)).sum();
    ink.rows(2, &said.head.text) + holds + notes
}

/// The verdict first, one hold a row; what does not fit is told in the last row.
fn verdict(said: &VerdictLines, skip: usize, ink: &mut Ink) {
    let last = ink.area.height.saturating_sub(1);
    let mut y = lines(std::slice::from_ref(&said.head), 0, ink);
    let all = said.holds.len() + said.notes.len();
    for (i, pair) in said.holds.iter().enumerate().skip(skip) {
        let rest = all - i;
        if y + hold_rows(pair, ink) > if rest == 1 { last + 1 } else { last } {
            ink.say(0, last, &format!("{rest} more: PgDn"), Role::Muted);
            return;
        }
        let (hold, way) = pair;
        ink.mark(0, y, Mark::Hold);
        match way {
            Some(way) if fits_beside(hold, way, ink) => {
                let x = ink.say(2, y, hold, Role::Ink);
                ink.say(x + 2, y, way, Role::Muted);
                y += 1;
            }
            Some(way) => {
                y += ink.paragraph(2, y, hold, Role::Ink);
                y += ink.paragraph(4, y, way, Role::Muted);
            }
            None => y += ink.paragraph(2, y, hold, Role::Ink),
        }
    }
    let skip = skip.saturating_sub(said.holds.len());
    let notes = said.notes.get(skip..).unwrap_or_default();
    let first = notes.first().map_or(0, |n| ink.rows(2, &n.text));
    let below = Rect {
        y: ink.area.y + y,
        height: ink.area.height.saturating_sub(y),
        ..ink.area
    };
    let room = below.height.saturating_sub(u16::from(notes.len() > 1));
    if first > room {
        ink.say(0, last, &format!("{} more: PgDn", notes.len()), Role::Muted);
    } else {
        lines(notes, 0, &mut ink.on(below));
    }
}

fn heading((tag, name): (&str, &str), ink: &mut Ink) {
    let x = ink.say(0, 0, tag, Role::Accent);
    ink.say(if x > 0 { x + 2 } else { 0 }, 0, name, Role::Title);
}

/// A form with lines beside it.
pub(super) fn desk(
    head: (&str, &str),
    fields: &Form,
    said: &[Line],
    scroll: usize,
    errand: &Errand,
    ink: &mut Ink,
) -> Option<Position> {
    heading(head, ink);
    let body = Rect {
        y: ink.area.y + 1,
        height: ink.area.height.saturating_sub(1),
        ..ink.area
    };
    beside(body, fields, said, scroll, errand, ink)
}

fn beside(
    body: Rect,
    fields: &Form,
    said: &[Line],
    scroll: usize,
    errand: &Errand,
    ink: &mut Ink,
) -> Option<Position> {
    let left = if ink.area.width >= WIDE {
        60
    } else {
        ink.area.width / 2
    };
    let (left, right) = split(body, left, 2);
    let news = u16::from(errand.sent.is_some() || errand.refused.is_some());
    let left = Rect {
        height: left.height.saturating_sub(2 * news),
        ..left
    };
    let cursor = form(fields, &mut ink.on(left));
    if news > 0 {
        let last = Rect {
            y: body.bottom().saturating_sub(2),
            height: 2,
            ..left
        };
        pads::message(errand, 0, &mut ink.on(last));
    }
    lines(said, scroll, &mut ink.on(right));
    cursor
}
