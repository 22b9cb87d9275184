//! The bench: the list of figures, a form, and the answer below it.

use crate::app::State;
use crate::app::bench::{Bench, BenchLine, Outcome, system};
use crate::app::say;
use crate::domain::sums::figures::{FIGURES, Figure, FigureSpec, System};
use crate::tui::areas::{first_shown, split};
use crate::tui::ink::Ink;
use crate::tui::text::{width, wrap};
use crate::tui::theme::{Mark, Role};
use crate::tui::widgets::form::form;
use ratatui::layout::{Position, Rect};

/// Columns of the list.
const LIST: u16 = 33;
/// Width from which list and sheet stand side by side while the list has the keys.
const BOTH: u16 = 72;
/// Rows that a form gets before the answer gets any: a field with its hint.
const LEAST_FORM: u16 = 5;
/// Width from which they do so while the sheet has them.
const BOTH_OPEN: u16 = 116;

/// The list and the sheet beside it; the one without the keys is empty where
/// there is no room for both.
pub fn parts(bench: &Bench, body: Rect) -> (Rect, Rect) {
    let on_sheet = bench.is_open() || bench.why;
    if body.width >= if on_sheet { BOTH_OPEN } else { BOTH } {
        split(body, LIST, 3)
    } else if on_sheet {
        (Rect::default(), body)
    } else {
        (body, Rect::default())
    }
}

/// Draws the screen; gives where the cursor stands.
pub(super) fn draw(state: &State, ink: &mut Ink) -> Option<Position> {
    let bench = &state.bench;
    let (left, right) = parts(bench, ink.area);
    let in_list = list(bench, &mut ink.on(left));
    let units = system(state.settings().units);
    let in_form = match bench.chosen() {
        Some(spec) if right.width > 0 => sheet(bench, spec, units, &mut ink.on(right)),
        _ => None,
    };
    in_form.or(in_list)
}

/// First line of the list that is shown in so many rows.
pub fn first_line(lines: &[BenchLine], rows: usize) -> usize {
    let chosen = lines
        .iter()
        .position(|l| matches!(l, BenchLine::Figure(_, true)));
    first_shown(chosen.unwrap_or(0), lines.len(), rows)
}

/// The search, and below it the figures under their headings.
fn list(bench: &Bench, ink: &mut Ink) -> Option<Position> {
    if ink.area.height == 0 || ink.area.width == 0 {
        return None;
    }
    let has_keys = !bench.is_open() && !bench.why;
    let x = ink.say(0, 0, "find ", Role::Muted);
    let room = ink.area.width.saturating_sub(x);
    let skip = bench.search.scroll(usize::from(room.saturating_sub(1)));
    let shown = crate::tui::ink::window(bench.search.text(), skip, usize::from(room));
    ink.column(
        x,
        0,
        room,
        &shown,
        if has_keys { Role::Field } else { Role::Ink },
    );
    let lines = bench.lines();
    if lines.is_empty() {
        ink.paragraph(0, 2, "Nothing is called that here.", Role::Muted);
    }
    let rows = usize::from(ink.area.height.saturating_sub(2));
    let first = first_line(&lines, rows);
    for (line, y) in lines.iter().skip(first).take(rows).zip(2..) {
        match line {
            BenchLine::Heading(group) => {
                ink.say(0, y, group.title(), Role::Muted);
            }
            BenchLine::Figure(index, chosen) => {
                let title = FIGURES.get(*index).map_or("", |f| f.title);
                let role = if *chosen { Role::Title } else { Role::Ink };
                if *chosen {
                    let here = ink.theme.mark(Mark::Here);
                    ink.say(
                        0,
                        y,
                        here,
                        if has_keys { Role::Accent } else { Role::Muted },
                    );
                }
                ink.say(2, y, title, role);
            }
        }
    }
    let column = (bench.search.column().saturating_sub(skip) as u16).min(room.max(1) - 1);
    has_keys.then_some(Position {
        x: ink.area.x + x + column,
        y: ink.area.y,
    })
}

/// Title, sentence, then the form with its answer, or the why.
fn sheet(bench: &Bench, spec: &FigureSpec, units: System, ink: &mut Ink) -> Option<Position> {
    let x = ink.say(0, 0, spec.title, Role::Title);
    ink.say(x + 3, 0, spec.group.title(), Role::Muted);
    let mut y = 1;
    if ink.area.height > 12 {
        y += ink.paragraph(0, 1, spec.about, Role::Muted);
    }
    y += u16::from(ink.area.height > 16);
    if bench.why {
        let below = rest(ink.area, y);
        let why = why_lines(bench, spec, units);
        scrolled(&why, bench.scroll, &mut ink.on(below));
        return None;
    }
    let filled = bench.form()?;
    let answer = answer_lines(bench, units);
    let area = rest(ink.area, y);
    let wanted = form_rows(&filled, area.width);
    // The answer keeps at least four rows; a longer form scrolls.
    let most = area
        .height
        .saturating_sub(7.min(rows_of(&answer, area.width) + 1));
    let for_form = Rect {
        height: wanted.min(most.max(LEAST_FORM)).min(area.height),
        ..area
    };
    let cursor = form(&filled, &mut ink.on(for_form));
    let below = rest(area, for_form.height + 1);
    scrolled(&answer, bench.scroll, &mut ink.on(below));
    cursor.filter(|_| bench.is_open())
}

fn rest(area: Rect, from: u16) -> Rect {
    let from = from.min(area.height);
    Rect {
        y: area.y + from,
        height: area.height - from,
        ..area
    }
}

/// Rows that a form takes with the hint of its current field.
fn form_rows(form: &crate::app::form::Form, columns: u16) -> u16 {
    let widest = form
        .fields
        .iter()
        .map(|f| width(&f.label))
        .max()
        .unwrap_or(0) as u16;
    let label = usize::from(widest.min(columns / 2)).max(1);
    let room = usize::from(columns).saturating_sub(label + 4).max(1);
    let lines = |text: &str| wrap(text, room).len() as u16;
    let rows = form.fields.iter().enumerate().map(|(i, field)| {
        let high = wrap(&field.label, label).len().max(1) as u16;
        high + match &field.problem {
            Some(problem) => lines(problem),
            None if i == form.at => lines(&field.hint),
            None => 0,
        }
    });
    rows.sum()
}

/// A line of an answer.
enum Said {
    /// A label and its value.
    Value(String, String, Role),
    /// A sentence.
    Words(String, Role),
    /// Nothing.
    Gap,
}

fn answer_lines(bench: &Bench, units: System) -> Vec<Said> {
    match bench.outcome() {
        None | Some(Outcome::Unread) => Vec::new(),
        Some(Outcome::Wants(labels)) => {
            let said = format!("still wanted: {}", say::list(&labels));
            vec![Said::Words(said, Role::Muted)]
        }
        Some(Outcome::Refused(why)) => vec![Said::Words(why, Role::Watch)],
        Some(Outcome::Answer(figure)) => figure_lines(&figure, units),
    }
}

fn figure_lines(figure: &Figure, units: System) -> Vec<Said> {
    let mut values: Vec<Said> = figure
        .lines
        .iter()
        .enumerate()
        .map(|(i, line)| {
            let error = line.plus_minus_text().map(|e| format!("  ± {e}"));
            let value = format!("{}{}", line.text(units), error.unwrap_or_default());
            let role = if i == 0 { Role::Accent } else { Role::Ink };
            Said::Value(line.label.clone(), value, role)
        })
        .collect();
    if figure.notes.is_empty() {
        return values;
    }
    // Cautions come right after the main result, where they are seen.
    let rest = values.split_off(values.len().min(1));
    let mut said = values;
    for note in &figure.notes {
        said.push(Said::Words(note.clone(), Role::Watch));
    }
    if !rest.is_empty() {
        said.push(Said::Gap);
        said.extend(rest);
    }
    said
}

/// Inputs, result, formula, source, range.
fn why_lines(bench: &Bench, spec: &FigureSpec, units: System) -> Vec<Said> {
    let mut said = Vec::new();
    if let Some(Outcome::Answer(figure)) = bench.outcome() {
        for (label, value) in &figure.why.inputs {
            said.push(Said::Value(label.clone(), value.clone(), Role::Ink));
        }
        said.push(Said::Gap);
        said.extend(figure_lines(&figure, units).into_iter().take(1));
        said.push(Said::Gap);
    }
    let mut part = |name: &str, text: &str| {
        said.push(Said::Value(name.into(), text.into(), Role::Ink));
    };
    part("formula", spec.formula);
    part("holds for", spec.range);
    for source in spec.source {
        part("source", source);
    }
    said
}

/// Columns of the labels of an answer.
fn label_columns(lines: &[Said], columns: u16) -> u16 {
    let widest = lines.iter().filter_map(|l| match l {
        Said::Value(label, ..) => Some(width(label) as u16),
        _ => None,
    });
    widest.max().unwrap_or(0).min(columns * 2 / 5)
}

/// A line broken to the columns: label (first row only), text, role.
fn broken(lines: &[Said], columns: u16) -> Vec<(String, String, Role)> {
    let label = label_columns(lines, columns);
    let mut rows = Vec::new();
    for line in lines {
        match line {
            Said::Gap => rows.push((String::new(), String::new(), Role::Ink)),
            Said::Words(text, role) => {
                let parts = wrap(text, usize::from(columns));
                rows.extend(parts.into_iter().map(|t| (String::new(), t, *role)));
            }
            Said::Value(name, value, role) => {
                let names = wrap(name, usize::from(label.max(1)));
                let room = columns.saturating_sub(label + 2).max(1);
                let values = wrap(value, usize::from(room));
                for i in 0..names.len().max(values.len()) {
                    let name = names.get(i).cloned().unwrap_or_default();
                    let value = values.get(i).cloned().unwrap_or_default();
                    let gap = usize::from(label + 2).saturating_sub(width(&name));
                    let lead = format!("{name}{}", " ".repeat(gap));
                    rows.push((lead, value, *role));
                }
            }
        }
    }
    rows
}

fn rows_of(lines: &[Said], columns: u16) -> u16 {
    broken(lines, columns).len() as u16
}

/// Draws lines from a row on; says when there are more.
fn scrolled(lines: &[Said], scroll: usize, ink: &mut Ink) {
    let rows = broken(lines, ink.area.width);
    let height = usize::from(ink.area.height);
    if height == 0 {
        return;
    }
    let over = rows.len() > height;
    let shown = if over { height - 1 } else { height };
    let first = scroll.min(rows.len().saturating_sub(shown));
    for ((lead, text, role), y) in rows.iter().skip(first).take(shown).zip(0..) {
        let x = ink.say(0, y, lead, Role::Muted);
        ink.say(x, y, text, *role);
    }
    if over {
        let left = rows.len() - shown - first;
        let said = if left > 0 {
            format!(
                "{} more, PgDn",
                say::count(left.cast_signed() as i64, "row", "rows")
            )
        } else {
            "PgUp goes back".into()
        };
        ink.say(0, height as u16 - 1, &said, Role::Muted);
    }
}
