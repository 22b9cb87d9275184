//! What is said of bottles and kegs: when they are ready, how they tasted, what to open next.

use super::GRADES;
use super::{Held, current};
use crate::app::panel::{Line, LineTone, line};
use crate::app::state::State;
use crate::app::{overridden, say};
use crate::domain::records::{BatchId, CellarLot, Lot, UnitSystem};
use crate::domain::units::Litres;
use crate::engine::bottling::KEG_DAYS;
use crate::engine::cellar::{self, OpenWhy, Readiness, Tapped};
use chrono::{Datelike, Days, NaiveDate};

/// How far a lot is, in few words, and how that is meant.
pub fn stands(state: &State, lot: &CellarLot) -> (String, LineTone) {
    let today = state.now.day();
    let places = state.household.as_ref().map_or(&[][..], |h| &h.places);
    if lot.left() > 0 && cellar::in_the_light(&lot.lot, places) {
        return ("stands in the light".into(), LineTone::Watch);
    }
    if lot.left() > 0 && !lot.overrides.is_empty() {
        return ("filled on hold".into(), LineTone::Alarm);
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
    lines.extend(overridden::against(&keg.overrides).map(|why| line(LineTone::Alarm, why)));
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
    let against = overridden::against(&lot.overrides).filter(|_| lot.left() > 0);
    lines.extend(against.map(|why| line(LineTone::Alarm, why)));
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
