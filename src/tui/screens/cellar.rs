//! The cellar: the list of bottles, what is said of the chosen ones, and
//! batches side by side.

use crate::app::cellar::{self, Held};
use crate::app::panel::LineTone;
use crate::app::{State, say};
use crate::domain::records::{BatchId, CellarLot};
use crate::domain::text;
use crate::engine::cellar::Tapped;
use crate::engine::stories::Story;
use crate::tui::areas::{WIDE, first_shown, split};
use crate::tui::ink::Ink;
use crate::tui::theme::Role;
use crate::tui::widgets::lines::lines;
use crate::tui::widgets::scatter::{Axes, Series, scatter};
use ratatui::layout::Rect;

/// Draws the screen.
pub(super) fn draw(state: &State, ink: &mut Ink) {
    if state.cellar.compare {
        compare(state, ink);
    } else {
        bottles(state, ink);
    }
}

fn bottles(state: &State, ink: &mut Ink) {
    let all = cellar::held(state);
    let advice = cellar::advice(state);
    let foot = 3;
    let body = Rect {
        height: ink.area.height.saturating_sub(foot),
        ..ink.area
    };
    let below = Rect {
        y: body.bottom(),
        height: foot,
        ..ink.area
    };
    lines(&advice, 0, &mut ink.on(below));
    if all.is_empty() {
        let text = if state.supplies.cellar.lots.is_empty() {
            "Nothing is in bottles yet. On the shelf or a batch, f makes bottling day ready."
        } else {
            "All is drunk. e shows the emptied lots."
        };
        ink.on(body).paragraph(0, 0, text, Role::Muted);
        return;
    }
    let rows = (all.len() as u16 + 1).min(body.height / 2);
    let list = Rect {
        height: rows,
        ..body
    };
    let rest = Rect {
        y: body.y + rows + 1,
        height: body.height.saturating_sub(rows + 1),
        ..body
    };
    listed(state, &all, &mut ink.on(list));
    detail(state, rest, ink);
}

fn listed(state: &State, all: &[Held<'_>], ink: &mut Ink) {
    let room = usize::from(ink.area.height.saturating_sub(1));
    let first = first_shown(state.cellar.at, all.len(), room);
    let columns = Columns::of(ink.area.width, &Wish::of(state, all));
    ink.say(2, 0, "what", Role::Muted);
    ink.number(columns.left, 0, 8, "left", Role::Muted);
    if let Some(x) = columns.size {
        ink.say(x, 0, "each", Role::Muted);
    }
    if let Some((x, _)) = columns.place {
        ink.say(x, 0, "where", Role::Muted);
    }
    if let Some(x) = columns.age {
        ink.number(x, 0, 5, "age", Role::Muted);
    }
    ink.say(columns.stands, 0, "stands", Role::Muted);
    if let Some(more) = &columns.more {
        ink.say(more.until, 0, "best until", Role::Muted);
        ink.say(more.score, 0, "last taste", Role::Muted);
        if let Some((x, _)) = more.style {
            ink.say(x, 0, "style", Role::Muted);
        }
    }
    for (y, (i, held)) in (1u16..).zip(all.iter().enumerate().skip(first).take(room)) {
        let here = i == state.cellar.at;
        if here {
            ink.here(y);
        }
        match held {
            Held::Lot(lot) => lot_row(state, lot, here, &columns, y, ink),
            Held::Keg(keg) => keg_row(state, keg, here, &columns, y, ink),
        }
    }
}

/// Columns that a wide screen leaves between its margins.
const ROOMY: u16 = WIDE - 2;

/// Where the columns of the list begin; those there is no room for are left out.
struct Columns {
    left: u16,
    size: Option<u16>,
    place: Option<(u16, u16)>,
    age: Option<u16>,
    stands: u16,
    more: Option<More>,
}

/// Columns that only a wide screen has room for.
struct More {
    until: u16,
    score: u16,
    style: Option<(u16, u16)>,
}

/// Widths of what stands in the two columns that give way to the others.
struct Wish {
    name: u16,
    place: u16,
}

impl Wish {
    /// As wide as the longest of each, and a gap.
    fn of(state: &State, all: &[Held<'_>]) -> Self {
        let longest = |of: &dyn Fn(&Held<'_>) -> String| {
            let width = |h| text::width(&of(h));
            all.iter().map(width).max().unwrap_or(0).min(60) as u16
        };
        Self {
            name: 4 + longest(&|h| match h {
                Held::Lot(lot) => lot.batch.name.clone(),
                Held::Keg(keg) => keg.name.clone(),
            }),
            place: 2 + longest(&|h| match h {
                Held::Lot(lot) => cellar::place_name(state, lot),
                Held::Keg(keg) => format!("keg {}", keg.tag),
            }),
        }
    }
}

impl Columns {
    fn of(width: u16, wish: &Wish) -> Self {
        const STANDS: u16 = 14;
        if width >= ROOMY {
            return Self::wide(width, wish);
        }
        let (aged, sized, placed) = (width >= 48, width >= 58, width >= 68);
        // The name ends where the numbers, far from filling their column, begin.
        let name = wish.name.saturating_sub(2).clamp(10, 22);
        // Gaps between columns give way before a place is cut.
        let gaps = |by: u16| {
            let others = 7 + 4 * u16::from(aged) + 8 * u16::from(sized);
            others + by * (1 + u16::from(aged) + u16::from(sized)) + STANDS
        };
        let gap = if gaps(3) + name + wish.place <= width {
            3
        } else {
            2
        };
        let spare = width.saturating_sub(gaps(gap));
        let place = if placed {
            spare.saturating_sub(name).clamp(9, wish.place.clamp(9, 34))
        } else {
            0
        };
        let mut x = spare.saturating_sub(place).clamp(10, 22);
        let mut next = |w: u16| {
            let here = x;
            x += w;
            here
        };
        let left = next(7 + gap);
        let size = sized.then(|| next(8 + gap));
        let place = placed.then(|| (next(place), place - 1));
        let age = aged.then(|| next(4 + gap));
        Self {
            left,
            size,
            place,
            age,
            stands: next(0),
            more: None,
        }
    }

    fn wide(width: u16, wish: &Wish) -> Self {
        const LEFT: u16 = 10;
        const SIZE: u16 = 11;
        const AGE: u16 = 7;
        const STANDS: u16 = 21;
        const UNTIL: u16 = 13;
        const SCORE: u16 = 12;
        const STYLE: u16 = 16;
        let spare = width.saturating_sub(LEFT + SIZE + AGE + STANDS + UNTIL + SCORE);
        let place = wish.place.clamp(9, 34).min(spare.saturating_sub(20).max(9));
        let name = wish.name.clamp(14, 34).min(spare - place);
        let over = spare - place - name;
        let left = name;
        let size = left + LEFT;
        let at = size + SIZE;
        let age = at + place;
        let stands = age + AGE;
        let until = stands + STANDS;
        let score = until + UNTIL;
        Self {
            left,
            size: Some(size),
            place: Some((at, place - 1)),
            age: Some(age),
            stands,
            more: Some(More {
                until,
                score,
                style: (over >= STYLE).then_some((score + SCORE + 2, over - 2)),
            }),
        }
    }
}

/// What a wide screen says more of a lot.
fn more_of(state: &State, lot: &CellarLot, more: &More, y: u16, ink: &mut Ink) {
    let until = cellar::best_until(state, lot);
    ink.say(more.until, y, &until, Role::Muted);
    score_of(state, lot.batch.id, more, y, ink);
    if let Some((x, room)) = more.style {
        ink.column(x, y, room, &cellar::style_words(lot), Role::Muted);
    }
}

fn score_of(state: &State, batch: BatchId, more: &More, y: u16, ink: &mut Ink) {
    if let Some(score) = cellar::last_score(state, batch) {
        ink.say(more.score, y, &score, Role::Ink);
    }
}

fn lot_row(state: &State, lot: &CellarLot, here: bool, at: &Columns, y: u16, ink: &mut Ink) {
    let role = match (here, lot.left()) {
        (true, _) => Role::Title,
        (false, 0) => Role::Muted,
        (false, _) => Role::Ink,
    };
    let units = state.settings().units;
    ink.column(2, y, at.left - 2, &lot.batch.name, role);
    let left = format!("{}/{}", lot.left(), lot.lot.count);
    ink.number(at.left, y, 8, &left, role);
    if let Some(x) = at.size {
        ink.column(x, y, 9, &say::volume(lot.lot.size, units), Role::Muted);
    }
    if let Some((x, room)) = at.place {
        let place = cellar::place_name(state, lot);
        ink.column(x, y, room, &place, Role::Muted);
    }
    if let Some(x) = at.age {
        let age = say::age(lot.lot.bottled, state.now);
        ink.number(x, y, 5, &age, Role::Muted);
    }
    let (text, tone) = cellar::stands(state, lot);
    let role = match tone {
        LineTone::Good => Role::Good,
        LineTone::Watch | LineTone::Alarm => Role::Watch,
        _ => Role::Muted,
    };
    ink.say(at.stands, y, &text, role);
    if let Some(more) = &at.more {
        more_of(state, lot, more, y, ink);
    }
}

fn keg_row(state: &State, keg: &Tapped, here: bool, at: &Columns, y: u16, ink: &mut Ink) {
    let role = if here { Role::Title } else { Role::Ink };
    ink.column(2, y, at.left - 2, &keg.name, role);
    ink.number(at.left, y, 8, &keg.glasses().to_string(), role);
    if let Some(x) = at.size {
        ink.say(x, y, "glasses", Role::Muted);
    }
    if let Some((x, room)) = at.place {
        ink.column(x, y, room, &format!("keg {}", keg.tag), Role::Muted);
    }
    if let Some(x) = at.age {
        let age = say::age(keg.since, state.now);
        ink.number(x, y, 5, &age, Role::Muted);
    }
    if let Some(more) = &at.more {
        score_of(state, keg.batch, more, y, ink);
    }
}

fn detail(state: &State, area: Rect, ink: &mut Ink) {
    let scores = cellar::scores(state);
    let wide = area.width >= WIDE;
    let (left, right) = if wide {
        split(area, area.width / 2, 3)
    } else {
        (area, Rect::default())
    };
    let mut said = cellar::about(state);
    said.extend(cellar::tastings(state));
    if wide {
        lines(&said, 0, &mut ink.on(left));
        score_plot(&scores, &mut ink.on(right));
        return;
    }
    let plot = if scores.is_empty() {
        0
    } else {
        area.height.min(6)
    };
    let above = Rect {
        height: area.height.saturating_sub(plot),
        ..area
    };
    lines(&said, 0, &mut ink.on(above));
    let below = Rect {
        y: above.bottom(),
        height: plot,
        ..area
    };
    score_plot(&scores, &mut ink.on(below));
}

fn score_plot(scores: &[(f64, f64)], ink: &mut Ink) {
    let series = [Series {
        letter: 'o',
        points: scores.to_vec(),
    }];
    let axes = Axes {
        up: Some((1.0, 5.0)),
        decimals: 0,
        across: "days in the bottle",
    };
    scatter(&series, &axes, ink);
}

fn compare(state: &State, ink: &mut Ink) {
    let told = cellar::told(state);
    let order = state.cellar.order.word();
    if told.is_empty() {
        let text = match state.cellar.stories {
            None => "Reading how the batches went.",
            Some(_) => "No batch was pitched yet: there is nothing to compare.",
        };
        ink.say(0, 0, text, Role::Muted);
        return;
    }
    let marked: Vec<&Story> = told
        .iter()
        .filter(|s| state.cellar.marked.contains(&s.batch.0))
        .collect();
    let rows = if marked.is_empty() {
        ink.area.height.saturating_sub(2)
    } else {
        (told.len() as u16 + 2).min(ink.area.height / 2)
    };
    let list = Rect {
        height: rows,
        ..ink.area
    };
    table(state, &told, order, &mut ink.on(list));
    let rest = Rect {
        y: ink.area.y + rows,
        height: ink.area.height - rows,
        ..ink.area
    };
    if marked.is_empty() {
        note(&told, state.cellar.story_at, &mut ink.on(rest));
    } else {
        overlay(&marked, &mut ink.on(rest));
    }
}

/// A column of the table: its heading, where it ends, whether narrow screens show it.
const TABLE: [(&str, u16, u16, bool); 7] = [
    ("SG", 14, 34, true),
    ("alcohol", 8, 44, true),
    ("days", 6, 51, true),
    ("fed", 4, 56, true),
    ("temp", 8, 65, true),
    ("stuck", 6, 72, true),
    ("score", 6, 78, true),
];

fn table(state: &State, told: &[Story], order: &str, ink: &mut Ink) {
    let wide = ink.area.width >= WIDE;
    ink.say(2, 0, order, Role::Muted);
    for (name, width, end, _) in TABLE {
        ink.number(end - width, 0, width, name, Role::Muted);
    }
    if wide {
        ink.say(81, 0, "yeast", Role::Muted);
        ink.say(98, 0, "honey, sugar", Role::Muted);
    }
    let room = usize::from(ink.area.height.saturating_sub(1));
    let first = first_shown(state.cellar.story_at, told.len(), room);
    for (y, (i, story)) in (1u16..).zip(told.iter().enumerate().skip(first).take(room)) {
        let here = i == state.cellar.story_at;
        if here {
            ink.here(y);
        }
        story_row(state, told, story, here, y, ink);
    }
}

fn story_row(state: &State, told: &[Story], s: &Story, here: bool, y: u16, ink: &mut Ink) {
    let role = if here { Role::Title } else { Role::Ink };
    if let Some(letter) = letter(state, told, s) {
        ink.say(1, y, &letter.to_string(), Role::Accent);
    }
    ink.column(3, y, 17, &s.name, role);
    let settings = state.settings();
    let gravity = |g| say::gravity_number(g, settings.gravity);
    let from_to = match (s.og, s.last) {
        (Some(og), Some(last)) => format!("{} {}", gravity(og), gravity(last)),
        (Some(g), None) | (None, Some(g)) => gravity(g),
        (None, None) => String::new(),
    };
    let cells = [
        from_to,
        s.alcohol.map_or_else(String::new, say::abv),
        s.days_to_finish
            .map_or_else(String::new, |d| format!("{d:.0}")),
        s.fed.to_string(),
        s.temperature
            .map_or_else(String::new, |t| say::temperature(t, settings.units)),
        s.stuck
            .map_or("", |stuck| if stuck { "stuck" } else { "no" })
            .to_owned(),
        s.score
            .map_or_else(String::new, |(mean, _)| format!("{mean:.1}")),
    ];
    for (text, (_, width, end, _)) in cells.iter().zip(TABLE) {
        ink.number(end - width, y, width, text, role);
    }
    if ink.area.width >= WIDE {
        ink.column(81, y, 16, s.yeast.as_deref().unwrap_or(""), Role::Muted);
        let room = ink.area.width - 98;
        ink.column(98, y, room, s.sugar.as_deref().unwrap_or(""), Role::Muted);
    }
}

/// The letter that stands for a batch in the overlay.
fn letter(state: &State, told: &[Story], story: &Story) -> Option<char> {
    let at = told
        .iter()
        .filter(|s| state.cellar.marked.contains(&s.batch.0))
        .position(|s| s.batch == story.batch)?;
    Some(letter_at(at))
}

fn letter_at(at: usize) -> char {
    char::from(b'a' + (at % 26) as u8)
}

fn overlay(marked: &[&Story], ink: &mut Ink) {
    let series: Vec<Series> = marked
        .iter()
        .enumerate()
        .map(|(i, s)| Series {
            letter: letter_at(i),
            points: s.trend.clone(),
        })
        .collect();
    let axes = Axes {
        up: None,
        decimals: 3,
        across: "days",
    };
    scatter(&series, &axes, ink);
}

/// What the table has no room for, and what was written of the chosen batch.
fn note(told: &[Story], at: usize, ink: &mut Ink) {
    let Some(story) = told.get(at) else {
        return;
    };
    let mut words = Vec::new();
    if ink.area.width < WIDE {
        words.extend(story.yeast.clone());
        words.extend(story.sugar.clone());
    }
    if !story.note.is_empty() {
        words.push(format!("you wrote: {}", story.note));
    }
    if !story.tasted.is_empty() {
        words.push(format!("tasted: {}", story.tasted));
    }
    let said = if words.is_empty() {
        0
    } else {
        ink.paragraph(0, 0, &words.join("; "), Role::Ink)
    };
    if said < ink.area.height {
        let hint = "Space lays a batch's trend over the others.";
        ink.say(0, said, hint, Role::Muted);
    }
}
