//! Looking for anything by a few letters: a vessel, a batch, a step, an action,
//! a sum of the bench, bottles, a word; and going there.

use super::batch;
use super::cellar::{self, Held};
use super::field::Field;
use super::help::HelpSheet;
use super::keys::{self, Action, Binding, Group, Scope};
use super::msg::Spot;
use super::overlay::Overlay;
use super::screen::Screen;
use super::state::{Effects, State, spot};
use super::steps::reopen;
use super::{glossary, say, update};
use crate::domain::records::{LotId, StepId};
use crate::domain::sums::figures::FIGURES;
use nucleo_matcher::pattern::{AtomKind, CaseMatching, Normalization, Pattern};
use nucleo_matcher::{Config, Matcher, Utf32Str};
use std::borrow::Cow;

/// What is being looked for.
#[derive(Debug, Clone, Default)]
pub struct FindSheet {
    /// The letters.
    pub field: Field,
    /// The chosen one of what was found.
    pub at: usize,
}

/// Where a thing is, or what it does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Target {
    /// A vessel with its batch.
    Vessel(Spot),
    /// A step of a batch.
    Step(Spot, StepId),
    /// Something to be done here and now, or a screen.
    Do(Action),
    /// A sum of the bench, by its place in the table.
    Sum(usize),
    /// Bottles of the cellar.
    Lot(LotId),
    /// A word of the trade.
    Word(&'static str),
}

/// Something that was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// What kind of thing it is.
    pub kind: &'static str,
    /// Its name.
    pub name: Cow<'static, str>,
    /// More about it.
    pub more: Cow<'static, str>,
    /// Keys that do the same.
    pub keys: String,
    /// Where it is.
    pub target: Target,
}

impl Found {
    fn new(
        kind: &'static str,
        name: impl Into<Cow<'static, str>>,
        more: impl Into<Cow<'static, str>>,
        target: Target,
    ) -> Self {
        Self {
            kind,
            name: name.into(),
            more: more.into(),
            keys: String::new(),
            target,
        }
    }
}

/// Opens the line.
pub fn open(state: &mut State) {
    state.overlays.push(Overlay::Find(FindSheet::default()));
}

/// What has the letters in it, the best first; everything while there are none.
pub fn found(state: &State, sheet: &FindSheet) -> Vec<Found> {
    let wanted = sheet.field.text().trim();
    let all = things(state);
    if wanted.is_empty() {
        return all;
    }
    let (case, accents) = (CaseMatching::Ignore, Normalization::Smart);
    let letters = Pattern::new(wanted, case, accents, AtomKind::Fuzzy);
    let words = Pattern::new(wanted, case, accents, AtomKind::Substring);
    let mut matcher = Matcher::new(Config::DEFAULT);
    let (mut buffer, mut text) = (Vec::new(), String::new());
    let mut scored: Vec<(Rank, Found)> = all
        .into_iter()
        .filter_map(|one| {
            let name = Utf32Str::new(&one.name, &mut buffer);
            if let Some(score) = letters.score(name, &mut matcher) {
                return Some((rank(&one, wanted, score), one));
            }
            // In longer text only whole pieces count: single letters are everywhere.
            text.clear();
            for part in [&*one.name, " ", &*one.more, " ", one.kind] {
                text.push_str(part);
            }
            let score = words.score(Utf32Str::new(&text, &mut buffer), &mut matcher)?;
            Some(((None, false, score), one))
        })
        .collect();
    // Stable: what is nearer to the hand stays before the rest.
    scored.sort_by_key(|(score, _)| std::cmp::Reverse(*score));
    scored.into_iter().map(|(_, one)| one).collect()
}

/// How well a thing fits: where in its name the letters stand, if they do;
/// whether it is a vessel or batch; how near the letters are to each other.
type Rank = (Option<Place>, bool, u32);

/// Where in a name the letters stand, the better the later.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Place {
    /// Here and there in it.
    Scattered,
    /// They begin a word of it.
    Word,
    /// They begin it, or what comes after the tag.
    Start,
}

/// The rank of a thing whose name has the letters. People type how a name
/// begins; what they keep under a name of their own comes before a step's title.
fn rank(one: &Found, wanted: &str, score: u32) -> Rank {
    let own = matches!(one.target, Target::Vessel(_));
    let (name, wanted) = (one.name.to_lowercase(), wanted.to_lowercase());
    let after_tag = name.split_once("  ").map_or(name.as_str(), |(_, n)| n);
    let begins_word = name.match_indices(&wanted).any(|(at, _)| {
        let before = name.get(..at).and_then(|n| n.chars().next_back());
        before.is_none_or(|c| !c.is_alphanumeric())
    });
    if name.starts_with(&wanted) || after_tag.starts_with(&wanted) {
        (Some(Place::Start), own, score)
    } else if begins_word {
        (Some(Place::Word), own, score)
    } else {
        (Some(Place::Scattered), false, score)
    }
}

/// All that can be found, what is nearest to the hand first.
fn things(state: &State) -> Vec<Found> {
    let mut all = vessels(state);
    all.extend(steps(state));
    all.extend(actions(state));
    all.extend(lots(state));
    all.extend(
        FIGURES
            .iter()
            .enumerate()
            .map(|(i, spec)| Found::new("sum", spec.title, spec.about, Target::Sum(i))),
    );
    let words = glossary::WORDS.iter();
    all.extend(
        words.map(|(word, meaning)| Found::new("word", *word, *meaning, Target::Word(word))),
    );
    all
}

fn tagged(tag: &str, name: &str) -> String {
    format!("{tag}  {name}").trim().to_owned()
}

fn vessels(state: &State) -> Vec<Found> {
    let rows = state.shelf_rows().iter();
    rows.map(|row| {
        let kind = if row.vessel.is_some() {
            "vessel"
        } else {
            "batch"
        };
        let day = row.day.map(say::batch_day);
        let more = match day {
            Some(day) => format!("{}, {day}", row.state.word()),
            None => row.state.word().to_owned(),
        };
        let name = tagged(&row.tag, &row.name);
        Found::new(kind, name, more, Target::Vessel(spot(row)))
    })
    .collect()
}

fn steps(state: &State) -> Vec<Found> {
    let all = state.morning.as_ref().map_or(&[][..], |m| &m.due);
    let today = state.now.day();
    all.iter()
        .filter_map(|due| {
            let rows = state.shelf_rows().iter();
            let row = rows.into_iter().find(|r| r.batch == due.batch)?;
            let name = tagged(&due.tag, &due.title);
            let more = format!("{}, {}", row.name, say::day_short(due.due, today));
            Some(Found::new(
                "step",
                name,
                more,
                Target::Step(spot(row), due.step),
            ))
        })
        .collect()
}

/// What can be done on this screen now, and the ways to the other screens.
fn actions(state: &State) -> Vec<Found> {
    let here = [Scope::On(state.screen), Scope::Everywhere];
    let fits = |b: &&Binding| {
        let near = b.scopes.iter().any(|s| here.contains(s));
        let far = matches!(b.action, Action::Go(_) | Action::Round | Action::Settings);
        (near || far) && offered(b) && (b.available)(state)
    };
    let mut all: Vec<Found> = Vec::new();
    for binding in keys::table().filter(fits) {
        let target = Target::Do(binding.action);
        let known = all.iter().any(|f| f.target == target);
        if known || binding.action == Action::Go(state.screen) {
            continue;
        }
        let name = binding.label_now(state);
        let mut one = Found::new("action", name, binding.help, target);
        if binding.scopes.iter().any(|s| here.contains(s)) {
            one.keys = state.library.keys.first(&here, binding);
        }
        all.push(one);
    }
    all
}

/// Whether an action makes sense without the place where its key is pressed.
fn offered(binding: &Binding) -> bool {
    let bound_to_place = matches!(
        binding.action,
        Action::Accept | Action::Back | Action::Find | Action::Type | Action::Keep
    );
    binding.group != Group::Moving && !bound_to_place
}

fn lots(state: &State) -> Vec<Found> {
    let all = state.supplies.cellar.lots.iter();
    all.filter(|lot| lot.left() > 0)
        .map(|lot| {
            let more = format!(
                "{} in the cellar",
                say::count_of(lot.left() as usize, "bottle", "bottles")
            );
            let name = lot.batch.name.clone();
            Found::new("bottles", name, more, Target::Lot(lot.lot.id))
        })
        .collect()
}

/// What a key means on the sheet.
pub fn act(state: &mut State, mut sheet: FindSheet, action: Action) -> Effects {
    let page = state.rows.max(3) - 2;
    let down = |by: usize| {
        let last = found(state, &sheet).len().saturating_sub(1);
        (sheet.at + by).min(last)
    };
    sheet.at = match action {
        Action::Accept => return accept(state, sheet),
        Action::Up => sheet.at.saturating_sub(1),
        Action::Down => down(1),
        Action::PageUp => sheet.at.saturating_sub(page),
        Action::PageDown => down(page),
        _ => sheet.at,
    };
    reopen(state, Overlay::Find(sheet), Vec::new())
}

/// The mouse chose one: it goes there.
pub fn hit(state: &mut State, at: usize) -> Effects {
    match state.overlays.pop() {
        Some(Overlay::Find(mut sheet)) => {
            sheet.at = at;
            accept(state, sheet)
        }
        Some(other) => reopen(state, other, Vec::new()),
        None => Vec::new(),
    }
}

/// The wheel turned.
pub fn wheel(state: &mut State, by: i32) {
    if let Some(Overlay::Find(mut sheet)) = state.overlays.pop() {
        let last = found(state, &sheet).len().saturating_sub(1);
        sheet.at = sheet.at.saturating_add_signed(by as isize).min(last);
        state.overlays.push(Overlay::Find(sheet));
    }
}

fn accept(state: &mut State, sheet: FindSheet) -> Effects {
    let all = found(state, &sheet);
    match all.get(sheet.at) {
        Some(one) => go(state, one.target),
        // Nothing was found: what was typed stays.
        None => reopen(state, Overlay::Find(sheet), Vec::new()),
    }
}

fn go(state: &mut State, target: Target) -> Effects {
    match target {
        Target::Vessel(spot) => to_vessel(state, spot),
        Target::Step(spot, step) => {
            state.go(Screen::Batch);
            let effects = batch::look_at(state, spot);
            batch::choose_step(state, step);
            effects
        }
        Target::Do(action) => update::act(state, action, None),
        Target::Sum(index) => {
            state.go(Screen::Bench);
            state.bench.why = false;
            state.bench.open(index);
            Vec::new()
        }
        Target::Lot(id) => {
            let effects = cellar::open(state);
            state.cellar.compare = false;
            let held = cellar::held(state);
            let is_it = |h: &Held| matches!(h, Held::Lot(lot) if lot.lot.id == id);
            state.cellar.at = held.iter().position(is_it).unwrap_or(0);
            effects
        }
        Target::Word(word) => {
            state.overlays.push(Overlay::Help(HelpSheet {
                words: true,
                field: Field::with(word),
                ..HelpSheet::of(state)
            }));
            Vec::new()
        }
    }
}

/// A vessel is shown on the screen where vessels are looked at one by one.
fn to_vessel(state: &mut State, spot: Spot) -> Effects {
    if state.screen != Screen::Trend {
        state.go(Screen::Batch);
    }
    batch::look_at(state, spot)
}
