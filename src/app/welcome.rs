//! The first minute: units, a place, vessels, a first batch. Every question has
//! a sensible answer standing in it.

use super::form::{Acted, Form, FormField};
use super::guide::Guide;
use super::keys::Action;
use super::msg::{Effect, Ticket};
use super::settings::{UNITS, whole};
use super::setup::{FirstBatch, Setup};
use super::state::{Effects, NoticeTone, State};
use crate::domain::deeds::NewBatch;
use crate::domain::records::{
    MeasureKind, Routine, Seen, Settings, Style, Unit, UnitSystem, VesselKind,
};
use crate::domain::slip::{self, SlipContext};
use crate::domain::units::{Celsius, Litres, Moment};

/// The welcome's form, and what became of it.
#[derive(Debug, Clone, Default)]
pub struct Welcome {
    /// The questions.
    pub form: Form,
    /// Sent, and not answered yet.
    pub sent: Option<Ticket>,
    /// The store's refusal.
    pub refused: Option<String>,
    /// It is the demo that was asked for.
    pub demo: bool,
}

const NOTHING_YET: &str = "nothing yet";

/// Writes the questions down, with the routines there are.
pub fn fill(state: &mut State) {
    if state.welcome.form.touched {
        return;
    }
    let mut batches: Vec<String> = state
        .library
        .routines
        .iter()
        .map(|r| r.title.clone())
        .collect();
    batches.push(NOTHING_YET.into());
    let usual = state.library.routines.iter().position(|r| {
        r.style == Style::Mead && r.variety == "traditional" && r.volume.us_gallons() < 1.5
    });
    let form = Form::new(vec![
        FormField::choice(
            "units",
            "units",
            "Left and right choose. They can be changed any time.",
            UNITS.iter().map(|u| u.0.to_owned()).collect(),
            0,
        ),
        FormField::text(
            "place",
            "where they stand",
            "One thermometer reading for a place counts for every vessel in it.",
            "closet",
        ),
        FormField::text(
            "temp",
            "usually as warm as",
            "68f or 20c; until readings tell better.",
            "68f",
        ),
        FormField::text(
            "jugs",
            "one-gallon jugs",
            "How many, 0 to 30. They are called J1, J2 and so on.",
            "3",
        ),
        FormField::text(
            "large",
            "five-gallon fermenters",
            "How many, 0 to 20. They are called F1, F2 and so on.",
            "1",
        ),
        FormField::choice(
            "batch",
            "what ferments first",
            "Left and right choose. Its steps come from the routine of that name.",
            batches,
            usual.unwrap_or(0),
        ),
        FormField::text("vessel", "in which vessel", "Its tag, such as J1.", "J1"),
        FormField::text(
            "pitched",
            "yeast went in",
            "now, -3h, yesterday 19:30, -2d, 08-14: that day is day 1.",
            "now",
        ),
        FormField::text(
            "og",
            "gravity before the yeast",
            "1.100 or 100; leave it empty if you did not read it.",
            "",
        ),
    ]);
    state.welcome.form = form;
}

/// Carries an action out that belongs to this screen.
pub fn act(state: &mut State, action: Action) -> Effects {
    if action == Action::Demo {
        let ticket = state.ticket();
        state.welcome.sent = Some(ticket);
        state.welcome.demo = true;
        return vec![Effect::OpenDemo(ticket)];
    }
    match state.welcome.form.act(action) {
        Acted::Chosen => chosen(state),
        Acted::Keep => return accept(state),
        Acted::Scrolled(_) | Acted::Nothing => {}
    }
    Vec::new()
}

/// Answers that hang on another: the usual temperature on the units, the vessel
/// on the size of the batch.
fn chosen(state: &mut State) {
    let key = state.welcome.form.current().map_or("", |f| f.key);
    match key {
        "units" => {
            let metric = state.welcome.form.chosen("units") == 1;
            let now = state.welcome.form.value("temp").to_owned();
            if now == "68f" || now == "20c" {
                let usual = if metric { "20c" } else { "68f" };
                state.welcome.form.set("temp", usual);
            }
        }
        "batch" => {
            let large = chosen_routine(state).is_some_and(|r| r.volume.us_gallons() > 1.5);
            let now = state.welcome.form.value("vessel").to_owned();
            if now == "J1" || now == "F1" {
                let tag = if large { "F1" } else { "J1" };
                state.welcome.form.set("vessel", tag);
            }
        }
        _ => {}
    }
}

fn chosen_routine(state: &State) -> Option<&Routine> {
    state
        .library
        .routines
        .get(state.welcome.form.chosen("batch"))
}

fn accept(state: &mut State) -> Effects {
    if state.welcome.sent.is_some() {
        return Vec::new();
    }
    let Some(setup) = read(state) else {
        return Vec::new();
    };
    let ticket = state.ticket();
    state.welcome.sent = Some(ticket);
    state.welcome.refused = None;
    vec![Effect::SetUp(ticket, Box::new(setup))]
}

fn read(state: &mut State) -> Option<Setup> {
    let units = UNITS.get(state.welcome.form.chosen("units"))?.1;
    let place = state.welcome.form.value("place").to_owned();
    if place.is_empty() {
        let form = &mut state.welcome.form;
        form.object("place", "Give it a name, such as closet.");
        return None;
    }
    let usual_temp = temperature(state, units).ok()?;
    let jugs = whole(&mut state.welcome.form, "jugs", 0, 30)?;
    let large = whole(&mut state.welcome.form, "large", 0, 20)?;
    if jugs + large == 0 {
        let form = &mut state.welcome.form;
        form.object("jugs", "At least one vessel is needed, small or large.");
        return None;
    }
    let vessels = vessels(jugs, large);
    let routine = chosen_routine(state).cloned();
    let first = match routine {
        Some(routine) => Some(first_batch(state, &routine, &vessels)?),
        None => None,
    };
    Some(Setup {
        settings: Settings {
            units,
            ..Settings::default()
        },
        place,
        usual_temp,
        vessels,
        first,
    })
}

fn vessels(jugs: u32, large: u32) -> Vec<(String, VesselKind, Litres)> {
    // A one-gallon jug holds a little over a gallon to the brim, a five-gallon
    // carboy about five: common practice, no source.
    let jug = Litres::from_us_gallons(1.05).unwrap_or(Litres::known(3.97));
    let carboy = Litres::from_us_gallons(5.2).unwrap_or(Litres::known(19.7));
    let jugs = (1..=jugs).map(|n| (format!("J{n}"), VesselKind::Jug, jug));
    let large = (1..=large).map(|n| (format!("F{n}"), VesselKind::Carboy, carboy));
    jugs.chain(large).collect()
}

/// What stands in a field that may be empty; an error when it was objected to.
type Answer<T> = Result<Option<T>, Objected>;

/// The form says what is wrong.
struct Objected;

fn temperature(state: &mut State, units: UnitSystem) -> Answer<Celsius> {
    let text = state.welcome.form.value("temp").to_owned();
    if text.is_empty() {
        return Ok(None);
    }
    let context = SlipContext {
        zone: state.options.zone,
        place: Some(match units {
            UnitSystem::Us => Unit::Fahrenheit,
            UnitSystem::Metric => Unit::Celsius,
        }),
    };
    let read = slip::parse(&text, state.now, &context).map_err(|e| e.to_string());
    let seen = read.and_then(|s| {
        let first = s.readings.first().map(|r| r.seen);
        first.ok_or_else(|| format!("'{text}' is no temperature: type 68f or 20c."))
    });
    match seen.map(Seen::measure) {
        Ok(crate::domain::records::Measure::Temperature(t)) => Ok(Some(t)),
        Ok(_) => {
            let form = &mut state.welcome.form;
            form.object("temp", "That is no temperature: type 68f or 20c.");
            Err(Objected)
        }
        Err(why) => {
            state.welcome.form.object("temp", why);
            Err(Objected)
        }
    }
}

fn first_batch(
    state: &mut State,
    routine: &Routine,
    vessels: &[(String, VesselKind, Litres)],
) -> Option<FirstBatch> {
    let tag = state.welcome.form.value("vessel").to_owned();
    let found = vessels.iter().find(|v| v.0.eq_ignore_ascii_case(&tag));
    let Some((tag, _, _)) = found.cloned() else {
        let tags: Vec<&str> = vessels.iter().map(|v| v.0.as_str()).collect();
        let problem = format!("'{tag}' is none of your vessels: {}.", tags.join(", "));
        state.welcome.form.object("vessel", problem);
        return None;
    };
    let pitched = pitched(state)?;
    let original = original(state).ok()?;
    let class = routine.yeast.as_ref();
    let class = class.and_then(|k| state.library.yeasts.iter().find(|y| y.key == *k));
    Some(FirstBatch {
        batch: NewBatch {
            name: routine.title.clone(),
            style: routine.style,
            variety: routine.variety.clone(),
            vessel: None,
            routine: Some(routine.key.clone()),
            steps: routine.steps.clone(),
            yeast: routine.yeast.clone(),
            tolerance: class.map(|y| y.tolerance),
            band: class.map(|y| y.band),
            planned_og: None,
            expected_fg: None,
            volume: Some(routine.volume),
            fizz: routine.fizz,
            pitched: Some(pitched),
            planned_day: None,
            note: String::new(),
        },
        tag,
        original,
    })
}

fn pitched(state: &mut State) -> Option<Moment> {
    let text = state.welcome.form.value("pitched").to_owned();
    if text.is_empty() || text.eq_ignore_ascii_case("now") {
        return Some(state.now);
    }
    let context = SlipContext {
        zone: state.options.zone,
        place: None,
    };
    match slip::parse_when(&text, state.now, &context) {
        Ok(at) => Some(at),
        Err(why) => {
            state.welcome.form.object("pitched", why.to_string());
            None
        }
    }
}

fn original(state: &mut State) -> Answer<Seen> {
    let text = state.welcome.form.value("og").to_owned();
    if text.is_empty() {
        return Ok(None);
    }
    let context = SlipContext {
        zone: state.options.zone,
        place: None,
    };
    let problem = match slip::parse(&text, state.now, &context) {
        Ok(slip) => match slip.readings.as_slice() {
            [one] if gravity(one.seen) => return Ok(Some(one.seen)),
            _ => "Type one gravity, such as 1.100 or 100.".to_owned(),
        },
        Err(why) => why.to_string(),
    };
    state.welcome.form.object("og", problem);
    Err(Objected)
}

fn gravity(seen: Seen) -> bool {
    matches!(
        seen.kind(),
        MeasureKind::Hydrometer | MeasureKind::Refractometer
    )
}

/// The store has answered the welcome's errand.
pub fn kept(state: &mut State, said: &str) {
    if std::mem::take(&mut state.welcome).demo {
        state.options.demo = true;
        state.guide = Guide::Offered;
    }
    state.trail.clear();
    state.screen = super::screen::Screen::Shelf;
    state.say(NoticeTone::Kept, said);
}
