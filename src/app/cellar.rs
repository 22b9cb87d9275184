//! The cellar: what is there, what left, how it tasted; and batches side by side.

use super::cell::{self, CellFor};
use super::form::{Form, FormField};
use super::keys::Action;
use super::msg::{Effect, Ticket};
use super::panel::{Line, LineTone, line};
use super::say;
use super::screen::Screen;
use super::sheet::{self, SheetFor};
use super::state::{Effects, State};
use crate::domain::deeds::{Deed, NewEvent};
use crate::domain::records::{
    BatchId, CellarLot, DrawKind, EventKind, Lot, LotId, Stage, UnitSystem, VesselId,
};
use crate::domain::taking::{self, Taking};
use crate::domain::units::{Litres, Moment};
use crate::engine::bottling::KEG_DAYS;
use crate::engine::cellar::{self, OpenWhy, Readiness, Tapped};
use crate::engine::stories::{self, Order, Story};
use chrono::{Datelike, Days, NaiveDate};
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
    let mut all = state
        .cellar
        .stories
        .as_ref()
        .map_or_else(Vec::new, |s| s.as_ref().clone());
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

fn keg_of(state: &State, vessel: VesselId) -> Option<Tapped> {
    let household = state.household.as_ref()?;
    cellar::kegs(household)
        .into_iter()
        .find(|k| k.vessel == vessel)
}

/// What so many glasses out of a keg would leave.
pub fn glasses_mean(state: &State, vessel: VesselId, text: &str) -> Result<String, String> {
    let keg = keg_of(state, vessel).ok_or("That keg is empty.")?;
    let taken = glasses_of(&keg, text, state.now.day())?;
    let left = keg.glasses() - taken.count.unsigned_abs();
    Ok(match (left, keg.alone) {
        (0, true) => "the keg is empty then, and the batch is closed".into(),
        _ => format!("{left} left then"),
    })
}

/// Glasses as typed: `2`, `3 given Anna`, `1 on yesterday`.
pub fn glasses_of(keg: &Tapped, text: &str, today: NaiveDate) -> Result<Taking, String> {
    let taken = taking::parse(text, keg.glasses(), today)?;
    if taken.count <= 0 || taken.count.unsigned_abs() > keg.glasses() {
        return Err(format!("1 to {} glasses are in it.", keg.glasses()));
    }
    Ok(taken)
}

/// Glasses leave a keg; with the last the batch is closed.
pub fn glasses_deed(keg: &Tapped, taken: &Taking, now: Moment) -> Deed {
    let n = taken.count.unsigned_abs();
    let at = not_before(moment_of(taken.on, now), keg.since);
    let glasses = say::count(n.into(), "glass", "glasses");
    let how = match taken.kind {
        DrawKind::Given => " given",
        DrawKind::Broken => " spilled",
        DrawKind::Counted => " missing",
        DrawKind::Drunk => "",
    };
    let note = [
        format!("{glasses}{how}"),
        taken.whom.clone(),
        taken.note.clone(),
    ]
    .into_iter()
    .filter(|w| !w.is_empty())
    .collect::<Vec<_>>()
    .join(", ");
    let drawn = Deed::AddEvent(NewEvent {
        batch: keg.batch,
        vessel: Some(keg.vessel),
        step: None,
        at,
        kind: EventKind::Loss,
        substance: String::new(),
        mass: None,
        volume: Some(Litres::clamped(cellar::glass().get() * f64::from(n))),
        note,
    });
    if n < keg.glasses() || !keg.alone {
        return drawn;
    }
    let closed = Deed::SetStage {
        batch: keg.batch,
        stage: Stage::Closed,
        at,
        note: format!("{} is drunk empty", keg.tag),
    };
    Deed::Together {
        name: format!("the last of {} drawn", keg.tag),
        deeds: vec![drawn, closed],
    }
}

/// Enter on the pad for glasses.
pub fn glasses(state: &mut State, vessel: VesselId, text: &str) -> Option<(Ticket, Effect)> {
    let keg = keg_of(state, vessel)?;
    let taken = glasses_of(&keg, text, state.now.day()).ok()?;
    let deed = glasses_deed(&keg, &taken, state.now);
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

/// How far a lot is, in few words, and how that is meant.
pub fn stands(state: &State, lot: &CellarLot) -> (String, LineTone) {
    let today = state.now.day();
    let places = state.household.as_ref().map_or(&[][..], |h| &h.places);
    if lot.left() > 0 && cellar::in_the_light(&lot.lot, places) {
        return ("stands in the light".into(), LineTone::Watch);
    }
    match cellar::readiness(&lot.lot, today) {
        _ if lot.left() == 0 => ("all gone".into(), LineTone::Muted),
        Readiness::Unsaid => (String::new(), LineTone::Muted),
        Readiness::Young { ready } => (
            format!("ready {}", say::day_short(ready, today)),
            LineTone::Muted,
        ),
        Readiness::Ready => ("ready".into(), LineTone::Good),
        Readiness::DrinkSoon { by } => (
            format!("drink by {}", say::date_of(by, today)),
            LineTone::Watch,
        ),
        Readiness::Past { by } => (format!("past {}", say::date_of(by, today)), LineTone::Watch),
    }
}

/// The last tasting of a batch: its mark out of 5, and that mark's word.
pub fn last_score(state: &State, batch: BatchId) -> Option<String> {
    let tasted = state.supplies.cellar.tastings_of(batch).last()?;
    let score = cellar::score(tasted.marks);
    // Between two words the nearer one, as the marks are whole.
    let at = (score.round() as usize).clamp(1, GRADES.len()) - 1;
    let word = GRADES[at].trim_start_matches(|c: char| !c.is_alphabetic());
    Some(format!("{score:.1}/5 {word}"))
}

/// What a batch is, in words: `traditional mead`.
pub fn style_words(lot: &CellarLot) -> String {
    format!("{} {}", lot.batch.variety.trim(), lot.batch.style)
        .trim()
        .to_owned()
}

/// The last good day of a lot.
pub fn best_until(state: &State, lot: &CellarLot) -> String {
    let today = state.now.day();
    let day = lot.lot.drink_by;
    day.map_or_else(String::new, |d| say::date_of(d, today))
}

/// The name of a lot's place.
pub fn place_name(state: &State, lot: &CellarLot) -> String {
    state
        .household
        .as_ref()
        .and_then(|h| h.place(lot.lot.place))
        .map_or_else(String::new, |p| p.name.clone())
}

/// What is said of the chosen lot.
pub fn about(state: &State) -> Vec<Line> {
    match current(state) {
        Some(Held::Lot(lot)) => about_lot(state, lot),
        Some(Held::Keg(keg)) => about_keg(state, &keg),
        None => Vec::new(),
    }
}

fn about_keg(state: &State, keg: &Tapped) -> Vec<Line> {
    let today = state.now.day();
    let mut lines = vec![
        line(LineTone::Title, keg.name.clone()),
        line(
            LineTone::Plain,
            format!(
                "{} of 12 fl oz left in {}, filled {}",
                say::count(keg.glasses().into(), "glass", "glasses"),
                keg.tag,
                say::date_of(keg.since.day(), today)
            ),
        ),
    ];
    if let Some(setting) = &keg.setting {
        let holds = keg.since.day() + Days::new(KEG_DAYS.unsigned_abs());
        let when = if holds > today {
            format!("; holds its gas from about {}", say::date_of(holds, today))
        } else {
            String::new()
        };
        lines.push(line(LineTone::Plain, format!("{setting}{when}")));
    }
    lines
}

fn about_lot(state: &State, lot: &CellarLot) -> Vec<Line> {
    let units = state.settings().units;
    let today = state.now.day();
    let l = &lot.lot;
    let mut lines = vec![
        line(LineTone::Title, lot.batch.name.clone()),
        line(
            LineTone::Plain,
            format!(
                "{} of {} left, {} {}, {}",
                lot.left(),
                l.count,
                say::volume(l.size, units),
                l.class,
                place_name(state, lot)
            ),
        ),
        line(LineTone::Plain, dates(l, state)),
    ];
    let places = state.household.as_ref().map_or(&[][..], |h| &h.places);
    if lot.left() > 0 && cellar::in_the_light(l, places) {
        lines.push(line(
            LineTone::Watch,
            "Clear glass where it is not dark: light spoils colour and smell. Box it, or move it.",
        ));
    }
    for draw in lot.draws.iter().rev().take(3) {
        let whom = match draw.whom.as_str() {
            "" => String::new(),
            whom => format!(", {whom}"),
        };
        lines.push(line(
            LineTone::Muted,
            format!(
                "{} {} {}{whom}",
                say::date_of(draw.at.day(), today),
                draw.count,
                draw.kind
            ),
        ));
    }
    lines
}

fn dates(l: &Lot, state: &State) -> String {
    let today = state.now.day();
    let on = |day| say::date_of(day, today);
    let age = (l.bottled.day() < today).then(|| format!("{} old", say::age(l.bottled, state.now)));
    [
        Some(format!("bottled {}", on(l.bottled.day()))),
        age,
        l.ready_from.map(|d| format!("ready from {}", on(d))),
        l.drink_by.map(|d| format!("best until {}", on(d))),
    ]
    .into_iter()
    .flatten()
    .collect::<Vec<_>>()
    .join(", ")
}

/// Scores of the chosen batch over its age: days in the bottle, mark 1 to 5.
pub fn scores(state: &State) -> Vec<(f64, f64)> {
    let Some(Held::Lot(lot)) = current(state) else {
        return Vec::new();
    };
    state
        .supplies
        .cellar
        .tastings_of(lot.batch.id)
        .map(|t| (t.at.days_since(lot.lot.bottled), cellar::score(t.marks)))
        .collect()
}

/// Tastings of the chosen batch in words, the youngest first.
pub fn tastings(state: &State) -> Vec<Line> {
    let batch = match current(state) {
        Some(Held::Lot(lot)) => lot.batch.id,
        Some(Held::Keg(keg)) => keg.batch,
        None => return Vec::new(),
    };
    let today = state.now.day();
    let all: Vec<_> = state.supplies.cellar.tastings_of(batch).collect();
    all.iter()
        .rev()
        .map(|t| {
            let [a, b, c, d, e] = t.marks;
            line(
                LineTone::Plain,
                format!(
                    "{}  {:.1}  smell {a} taste {b} balance {c} body {d} finish {e}  {}",
                    say::date_of(t.at.day(), today),
                    cellar::score(t.marks),
                    t.words
                ),
            )
        })
        .collect()
}

/// What to open next, and what was made this year.
pub fn advice(state: &State) -> Vec<Line> {
    let today = state.now.day();
    let mut lines = Vec::new();
    let next = cellar::open_next(&state.supplies.cellar, state.now);
    if let Some((lot, why)) = next.first() {
        let why = match why {
            OpenWhy::Past { by } => format!("past its best since {}", say::date_of(*by, today)),
            OpenWhy::Soon { by } => format!("best until {}", say::date_of(*by, today)),
            OpenWhy::NeverTasted => "ready, and nobody knows how it tastes".into(),
            OpenWhy::LongAgo { days: ..=0 } => "tasted today".into(),
            OpenWhy::LongAgo { days } => {
                format!("tasted {} ago", say::count(*days, "day", "days"))
            }
        };
        lines.push(line(
            LineTone::Good,
            format!("open next: {} ({why})", lot.batch.name),
        ));
    }
    if next.is_empty()
        && let Some(first) = first_ready(state)
    {
        let day = say::date_of(first, today);
        lines.push(line(
            LineTone::Muted,
            format!("nothing is ready before {day}"),
        ));
    }
    lines.push(line(LineTone::Muted, year(state)));
    lines
}

/// The day on which the first of the bottles there are is ready.
fn first_ready(state: &State) -> Option<NaiveDate> {
    let cellar = &state.supplies.cellar;
    cellar.stocked().filter_map(|l| l.lot.ready_from).min()
}

/// What was made this calendar year beside the usual home limits.
pub fn year(state: &State) -> String {
    let settings = state.settings();
    let year = state.now.day().year();
    let made = |beer| state.supplies.made_in(year, beer);
    let shown = |v: Litres| match settings.units {
        UnitSystem::Us => format!("{:.1} gal", v.us_gallons()),
        UnitSystem::Metric => format!("{:.1} L", v.get()),
    };
    let limit = match cellar::yearly_limit(settings.adults) {
        Some(gallons) => format!(
            "US federal limit for your household {} each",
            match settings.units {
                UnitSystem::Us => format!("{gallons:.0} gal"),
                UnitSystem::Metric => format!("{gallons:.0} US gal"),
            }
        ),
        None => "making is for adults only".into(),
    };
    format!(
        "made in {year}: {} mead and cider, {} beer; {limit}, not for sale: check your local law",
        shown(made(false)),
        shown(made(true))
    )
}
