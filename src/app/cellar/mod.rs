//! The cellar: what is there, what left, how it tasted; and batches side by side.

mod glasses;
mod says;

pub use glasses::{glasses, glasses_deed, glasses_mean, glasses_of};
pub use says::{
    about, advice, best_until, last_score, place_name, scores, stands, style_words, tastings, year,
};

use super::cell::{self, CellFor};
use super::form::{Form, FormField};
use super::keys::Action;
use super::msg::{Effect, Ticket};
use super::say;
use super::screen::Screen;
use super::sheet::{self, SheetFor};
use super::state::{Effects, State};
use crate::domain::deeds::Deed;
use crate::domain::records::{BatchId, CellarLot, DrawKind, LotId};
use crate::domain::taking;
use crate::domain::units::Moment;
use crate::engine::cellar::{self, Tapped};
use crate::engine::stories::{self, Order, Story};
use chrono::NaiveDate;
use std::collections::BTreeSet;
use std::sync::Arc;

/// How the cellar is looked at.
#[derive(Debug, Clone, Default)]
pub struct CellarView {
    /// The lot or keg that has the keys.
    pub at: usize,
    /// Emptied lots too.
    pub empties: bool,
    /// Batches side by side instead.
    pub compare: bool,
    /// The batch of the table that has the keys.
    pub story_at: usize,
    /// In which order the table stands.
    pub order: Order,
    /// Batches laid over each other.
    pub marked: BTreeSet<i64>,
    /// How the batches went, as read last.
    pub stories: Option<Arc<Vec<Story>>>,
}

/// A line of the list.
#[derive(Debug, Clone)]
pub enum Held<'a> {
    /// Bottles.
    Lot(&'a CellarLot),
    /// A keg.
    Keg(Tapped),
}

/// Kegs first, then lots, what is ready soonest first.
pub fn held(state: &State) -> Vec<Held<'_>> {
    let kegs = state
        .household
        .as_ref()
        .map_or_else(Vec::new, |h| cellar::kegs(h));
    let mut lots: Vec<&CellarLot> = state
        .supplies
        .cellar
        .lots
        .iter()
        .filter(|l| state.cellar.empties || l.left() > 0)
        .collect();
    lots.sort_by_key(|l| std::cmp::Reverse((l.lot.bottled, l.lot.id)));
    kegs.into_iter()
        .map(Held::Keg)
        .chain(lots.into_iter().map(Held::Lot))
        .collect()
}

/// Opens the screen.
pub fn open(state: &mut State) -> Effects {
    state.go(Screen::Cellar);
    vec![Effect::ReadStories]
}

/// The chosen lot or keg.
pub fn current(state: &State) -> Option<Held<'_>> {
    held(state).into_iter().nth(state.cellar.at)
}

/// Something can be taken out of what is chosen.
pub fn can_take(state: &State) -> bool {
    !state.cellar.compare
        && match current(state) {
            Some(Held::Lot(_)) => true,
            Some(Held::Keg(keg)) => keg.glasses() > 0,
            None => false,
        }
}

/// What is chosen can be tasted.
pub fn can_taste(state: &State) -> bool {
    !state.cellar.compare && current(state).is_some()
}

/// The table of batches is shown.
pub fn comparing(state: &State) -> bool {
    state.cellar.compare
}

/// The list of bottles is shown.
pub fn listing(state: &State) -> bool {
    !state.cellar.compare
}

/// The stories in the order chosen.
pub fn told(state: &State) -> Vec<Story> {
    let known = state.cellar.stories.iter();
    let mut all: Vec<Story> = known
        .flat_map(|s| s.iter())
        .map(|s| s.clone().by(state.shelf_rows()))
        .collect();
    stories::sort(&mut all, state.cellar.order);
    all
}

/// Carries an action out that belongs to this screen.
pub fn act(state: &mut State, action: Action, typed: Option<char>) -> Effects {
    let length = if state.cellar.compare {
        state.cellar.stories.as_ref().map_or(0, |s| s.len())
    } else {
        held(state).len()
    };
    let last = length.saturating_sub(1);
    let page = state.rows.max(2) - 1;
    let at = if state.cellar.compare {
        &mut state.cellar.story_at
    } else {
        &mut state.cellar.at
    };
    match action {
        Action::Up => *at = at.saturating_sub(1),
        Action::Down => *at = (*at + 1).min(last),
        Action::PageUp => *at = at.saturating_sub(page),
        Action::PageDown => *at = (*at + page).min(last),
        Action::First => *at = 0,
        Action::Last => *at = last,
        Action::Next => {
            state.cellar.compare = !state.cellar.compare;
            if state.cellar.compare {
                return vec![Effect::ReadStories];
            }
        }
        Action::Sort => {
            let here = Order::ALL.iter().position(|o| *o == state.cellar.order);
            let next = (here.unwrap_or(0) + 1) % Order::ALL.len();
            state.cellar.order = Order::ALL.get(next).copied().unwrap_or_default();
        }
        Action::MarkIt => mark(state),
        Action::Empties => {
            state.cellar.empties = !state.cellar.empties;
            state.cellar.at = 0;
        }
        Action::Type | Action::Remove => open_take(state, typed),
        Action::Taste => open_taste(state),
        _ => {}
    }
    Vec::new()
}

fn mark(state: &mut State) {
    let story = told(state).into_iter().nth(state.cellar.story_at);
    if let Some(story) = story {
        let id = story.batch.0;
        if !state.cellar.marked.remove(&id) {
            state.cellar.marked.insert(id);
        }
    }
}

fn open_take(state: &mut State, typed: Option<char>) {
    let text = typed
        .filter(char::is_ascii_digit)
        .map_or_else(String::new, String::from);
    match current(state) {
        Some(Held::Lot(lot)) => {
            let (id, left) = (lot.lot.id, lot.left());
            let label = format!("out of {}", lot.batch.name);
            let hint = format!("{} there: {}", left, taking::ACCEPTED);
            cell::open(state, CellFor::TakeBottles(id), label, hint, &text);
        }
        Some(Held::Keg(keg)) => {
            let label = format!("glasses out of {}", keg.tag);
            let hint = format!("{} of 12 fl oz are in it", keg.glasses());
            cell::open(state, CellFor::Glasses(keg.vessel), label, hint, &text);
        }
        None => {}
    }
}

/// What taking that out would mean.
pub fn take_means(state: &State, id: LotId, text: &str) -> Result<String, String> {
    let lot = state
        .supplies
        .cellar
        .lot(id)
        .ok_or("Those bottles are not in the cellar any more.")?;
    let taken = taking::parse(text, lot.left(), state.now.day())?;
    let then = i64::from(lot.left()) - i64::from(taken.count);
    if then > i64::from(lot.lot.count) {
        return Err(format!("Only {} were ever filled.", lot.lot.count));
    }
    if taken.count == 0 {
        return Err("That is what is there: nothing to change.".into());
    }
    let what = match taken.kind {
        DrawKind::Counted => "counted".to_owned(),
        kind => format!(
            "{} {kind}",
            say::count(taken.count.into(), "bottle", "bottles")
        ),
    };
    let whom = match taken.whom.as_str() {
        "" => String::new(),
        whom => format!(", {whom}"),
    };
    let on = taken
        .on
        .map(|d| format!(", on {}", say::date_of(d, state.now.day())))
        .unwrap_or_default();
    Ok(format!("{what}{whom}{on}: {then} left then"))
}

/// The instant on a day: now, or noon of an earlier day in today's offset.
pub fn moment_of(on: Option<NaiveDate>, now: Moment) -> Moment {
    match on {
        Some(day) if day != now.day() => now.plus_days((day - now.day()).num_days() as f64),
        _ => now,
    }
}

/// On the very day of the filling, bottles leave after it.
pub fn not_before(at: Moment, bottled: Moment) -> Moment {
    if at < bottled && at.day() == bottled.day() {
        bottled
    } else {
        at
    }
}

/// Enter on the pad.
pub fn take(state: &mut State, id: LotId, text: &str) -> Option<(Ticket, Effect)> {
    let lot = state.supplies.cellar.lot(id)?;
    let taken = taking::parse(text, lot.left(), state.now.day()).ok()?;
    let deed = Deed::Draw {
        lot: id,
        count: taken.count,
        kind: taken.kind,
        at: not_before(moment_of(taken.on, state.now), lot.lot.bottled),
        whom: taken.whom,
        note: taken.note,
    };
    let ticket = state.ticket();
    Some((ticket, Effect::CarryOut(ticket, vec![deed])))
}

/// What the five marks are for.
pub const MARKS: [(&str, &str); 5] = [
    ("smell", "smell"),
    ("taste", "taste"),
    ("balance", "balance"),
    ("body", "body"),
    ("finish", "finish"),
];

const GRADES: [&str; 5] = ["1 poor", "2 weak", "3 fair", "4 good", "5 lovely"];

fn open_taste(state: &mut State) {
    let Some(held) = current(state) else {
        return;
    };
    let (title, what, opens) = match &held {
        Held::Lot(lot) => (
            format!("how does {} taste?", lot.batch.name),
            SheetFor::Taste(lot.batch.id, Some(lot.lot.id)),
            lot.left() > 0,
        ),
        Held::Keg(keg) => (
            format!("how does {} taste?", keg.name),
            SheetFor::Taste(keg.batch, None),
            false,
        ),
    };
    let mut fields: Vec<FormField> = MARKS
        .iter()
        .map(|(key, label)| {
            FormField::choice(
                key,
                label,
                "Type 1 (poor) to 5 (lovely), or choose by left and right.",
                GRADES.iter().map(|g| (*g).to_owned()).collect(),
                2,
            )
        })
        .collect();
    fields.push(FormField::text(
        "words",
        "in words",
        "Free words: they are read when such a batch is planned again.",
        "",
    ));
    if opens {
        fields.push(FormField::choice(
            "opened",
            "a bottle was opened",
            "Whether one leaves the cellar with this.",
            vec!["yes, one drunk".into(), "no".into()],
            0,
        ));
    }
    sheet::open(state, title, what, Form::new(fields));
}

/// Enter on the form for a tasting.
pub fn taste(
    state: &mut State,
    batch: BatchId,
    lot: Option<LotId>,
    form: &Form,
) -> (Ticket, Effect) {
    let mark = |key: &str| form.chosen(key) as u8 + 1;
    let taste = Deed::Taste {
        batch,
        lot,
        at: state.now,
        marks: MARKS.map(|(key, _)| mark(key)),
        words: form.value("words").to_owned(),
    };
    let opened = lot.filter(|_| form.field("opened").is_some() && form.chosen("opened") == 0);
    let deed = match opened {
        Some(lot) => Deed::Together {
            name: "a bottle opened and tasted".into(),
            deeds: vec![
                Deed::Draw {
                    lot,
                    count: 1,
                    kind: DrawKind::Drunk,
                    at: state.now,
                    whom: String::new(),
                    note: "tasted".into(),
                },
                taste,
            ],
        },
        None => taste,
    };
    let ticket = state.ticket();
    (ticket, Effect::CarryOut(ticket, vec![deed]))
}
