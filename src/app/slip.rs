//! Typing a reading: the slip on the chosen vessel, or on a place.

use super::field::Field;
use super::key::Key;
use super::msg::{Effect, Spot};
use super::overlay::{Errand, Overlay};
use super::state::{Effects, State};
use super::steps::reopen;
use crate::domain::deeds::Deed;
use crate::domain::records::{
    MeasureKind, PlaceId, Reading, StepId, StepKind, Subject, Unit, UnitSystem,
};
use crate::domain::slip::{self, Known, Slip, SlipContext};
use crate::domain::units::Moment;
use crate::engine::slip_meaning;

/// What is understood of what has been typed so far.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Understood {
    /// Nothing typed yet.
    #[default]
    Nothing,
    /// It can be kept; what it will mean, and what does not fit.
    Clear {
        /// What it means, in one line.
        line: String,
        /// Doubts, worst first.
        doubts: Vec<String>,
    },
    /// It can't be kept, and why.
    Unclear(String),
}

/// A reading being typed.
#[derive(Debug, Clone)]
pub struct SlipPad {
    /// Of what.
    pub subject: Subject,
    /// The vessel with its batch; none for a place.
    pub spot: Option<Spot>,
    /// Tag of the vessel or name of the place.
    pub title: String,
    /// What was typed.
    pub field: Field,
    /// What is understood of it.
    pub understood: Understood,
    /// The reading that is being mended.
    pub mending: Option<Box<Reading>>,
    /// A step whose doing this reading is.
    pub step: Option<StepId>,
    /// What became of it.
    pub errand: Errand,
}

/// Opens a slip for a vessel.
pub fn open(state: &mut State, spot: Spot, typed: Option<char>) {
    let Some(mut pad) = for_spot(state, spot) else {
        return;
    };
    if let Some(c) = typed {
        pad.field.insert(c);
    }
    pad.step = reading_step(state, spot);
    understand(state, &mut pad);
    state.overlays.push(Overlay::Slip(pad));
}

/// Opens a slip for a place.
pub fn open_place(state: &mut State, place: PlaceId, typed: Option<char>) {
    let Some(name) = place_name(state, place) else {
        return;
    };
    let mut pad = SlipPad {
        subject: Subject::Place(place),
        spot: None,
        title: name,
        field: Field::default(),
        understood: Understood::Nothing,
        mending: None,
        step: None,
        errand: Errand::default(),
    };
    if let Some(c) = typed {
        pad.field.insert(c);
    }
    understand(state, &mut pad);
    state.overlays.push(Overlay::Slip(pad));
}

/// Opens a slip that mends a reading, with what was kept in it.
pub fn open_mend(state: &mut State, reading: &Reading) {
    let spot = state.chosen.filter(|s| match reading.subject {
        Subject::Vessel(v) => s.vessel == Some(v),
        Subject::Place(_) => false,
    });
    let title = match reading.subject {
        Subject::Vessel(v) => state
            .household
            .as_ref()
            .and_then(|h| h.vessel(v))
            .map_or(String::new(), |v| v.tag.clone()),
        Subject::Place(p) => place_name(state, p).unwrap_or_default(),
    };
    let mut pad = SlipPad {
        subject: reading.subject,
        spot: spot.or(state.chosen),
        title,
        field: Field::with(&as_typed(reading)),
        understood: Understood::Nothing,
        mending: Some(Box::new(reading.clone())),
        step: None,
        errand: Errand::default(),
    };
    understand(state, &mut pad);
    state.overlays.push(Overlay::Slip(pad));
}

fn for_spot(state: &State, spot: Spot) -> Option<SlipPad> {
    let vessel = state.household.as_ref()?.vessel(spot.vessel?)?;
    Some(SlipPad {
        subject: Subject::Vessel(vessel.id),
        spot: Some(spot),
        title: vessel.tag.clone(),
        field: Field::default(),
        understood: Understood::Nothing,
        mending: None,
        step: None,
        errand: Errand::default(),
    })
}

fn place_name(state: &State, place: PlaceId) -> Option<String> {
    Some(state.household.as_ref()?.place(place)?.name.clone())
}

/// The open step of a batch that this reading would do: one whose whole work
/// is to take a reading, and whose day has come.
fn reading_step(state: &State, spot: Spot) -> Option<StepId> {
    state
        .due_of(spot)
        .into_iter()
        .find(|d| d.kind == StepKind::Read && d.wants_hands())
        .map(|d| d.step)
}

/// A kept reading in the grammar of the slip.
pub fn as_typed(reading: &Reading) -> String {
    let seen = reading.seen;
    let value = match seen.kind() {
        MeasureKind::Hydrometer if seen.unit() == Unit::Sg => {
            let three = format!("{:.3}", seen.value());
            let same = (three.parse::<f64>().unwrap_or(0.0) - seen.value()).abs() < 1e-9;
            if same {
                three
            } else {
                seen.value().to_string()
            }
        }
        _ => with_unit(seen.value(), seen.kind(), seen.unit()),
    };
    let sample = reading
        .sample_temp
        .map(|t| format!(" {}", with_unit(t.value(), t.kind(), t.unit())));
    let at = reading.at.datetime().format("%Y-%m-%dT%H:%M");
    let note = if reading.note.is_empty() {
        String::new()
    } else {
        format!(" '{}", reading.note)
    };
    format!("{value}{} {at}{note}", sample.unwrap_or_default())
}

fn with_unit(value: f64, kind: MeasureKind, unit: Unit) -> String {
    let word = match unit {
        Unit::Sg => "",
        Unit::Plato => "p",
        // A hydrometer in Brix and one in Plato read the same.
        Unit::Brix if kind == MeasureKind::Hydrometer => "p",
        Unit::Brix => "bx",
        Unit::Celsius => "c",
        Unit::Fahrenheit => "f",
        Unit::Ph => return format!("ph{value}"),
        Unit::Gram => "g",
        Unit::Kilogram => "kg",
        Unit::Pound => "lb",
        Unit::Litre => "l",
        Unit::Gallon => "gal",
        Unit::GramPerLitre => return format!("ta{value}"),
    };
    format!("{value}{word}")
}

fn parse(state: &State, pad: &SlipPad) -> Result<Slip, slip::SlipError> {
    let place = match pad.subject {
        Subject::Vessel(_) => None,
        Subject::Place(_) => Some(match state.settings().units {
            UnitSystem::Us => Unit::Fahrenheit,
            UnitSystem::Metric => Unit::Celsius,
        }),
    };
    let context = SlipContext {
        zone: state.options.zone,
        place,
    };
    slip::parse(pad.field.text(), state.now, &context)
}

/// Works out anew what the typed text means.
pub fn understand(state: &State, pad: &mut SlipPad) {
    pad.errand.touched();
    if pad.field.is_blank() {
        pad.understood = Understood::Nothing;
        return;
    }
    pad.understood = match parse(state, pad) {
        Err(why) => Understood::Unclear(why.to_string()),
        Ok(slip) => {
            let household = state.household.as_ref();
            let known = Known {
                now: state.now,
                dossier: pad
                    .spot
                    .and_then(|s| household.and_then(|h| h.dossier(s.batch))),
                vessel: pad
                    .spot
                    .and_then(|s| s.vessel)
                    .and_then(|v| household.and_then(|h| h.vessel(v))),
                instruments: household.map_or(&[], |h| &h.instruments),
            };
            let meaning = match household {
                Some(household) => slip_meaning(&slip, &known, household),
                None => slip::meaning(&slip, &known),
            };
            let settings = state.settings();
            let mut line = meaning.line(&settings);
            if line.is_empty() && !slip.note.is_empty() {
                line = "a note for the ledger".into();
            }
            Understood::Clear {
                line,
                doubts: meaning
                    .doubts
                    .iter()
                    .map(|d| d.sentence(&settings))
                    .collect(),
            }
        }
    };
}

/// A key for the text.
pub fn press(state: &State, pad: &mut SlipPad, key: Key) {
    if pad.errand.sent.is_none() && pad.field.press(key) {
        understand(state, pad);
    }
}

/// The vessel above or below, with what was typed.
pub fn other_vessel(state: &mut State, mut pad: SlipPad, by: isize) -> Effects {
    let rows = state.shelf_rows();
    let here = pad
        .spot
        .and_then(|s| rows.iter().position(|r| super::state::spot(r) == s));
    let next = here
        .map(|i| i.saturating_add_signed(by))
        .and_then(|i| rows.get(i))
        .map(super::state::spot);
    let free = pad.mending.is_none() && pad.errand.sent.is_none();
    if let (true, Some(spot)) = (free, next)
        && let Some(other) = for_spot(state, spot)
    {
        pad = SlipPad {
            field: pad.field,
            step: reading_step(state, spot),
            ..other
        };
        state.chosen = Some(spot);
        understand(state, &mut pad);
    }
    reopen(state, Overlay::Slip(pad), Vec::new())
}

/// Enter: keeps what was typed, unless it is unclear, or doubtful and not
/// insisted on. The pad closes only when the store has answered.
pub fn accept(state: &mut State, mut pad: SlipPad) -> Effects {
    if pad.errand.sent.is_some() {
        return reopen(state, Overlay::Slip(pad), Vec::new());
    }
    let doubted = match &pad.understood {
        Understood::Clear { doubts, .. } => !doubts.is_empty(),
        Understood::Nothing | Understood::Unclear(_) => {
            pad.errand.missing = Some("Nothing is kept yet.".into());
            return reopen(state, Overlay::Slip(pad), Vec::new());
        }
    };
    if doubted && !pad.errand.insisting {
        pad.errand.insisting = true;
        return reopen(state, Overlay::Slip(pad), Vec::new());
    }
    match deeds(state, &pad, doubted) {
        Ok(deeds) => {
            let ticket = state.ticket();
            pad.errand.sent = Some(ticket);
            reopen(
                state,
                Overlay::Slip(pad),
                vec![Effect::CarryOut(ticket, deeds)],
            )
        }
        Err(why) => {
            pad.errand.missing = Some(why);
            reopen(state, Overlay::Slip(pad), Vec::new())
        }
    }
}

fn deeds(state: &State, pad: &SlipPad, doubted: bool) -> Result<Vec<Deed>, String> {
    let slip = parse(state, pad).map_err(|e| e.to_string())?;
    if let Some(old) = &pad.mending {
        let mut readings = slip.into_readings(pad.subject, &old.source, doubted);
        let (Some(mut to), true) = (readings.pop(), readings.is_empty()) else {
            return Err("Mending takes one value: type the reading as it should be.".into());
        };
        let minute = |m: Moment| m.utc_ms().div_euclid(60_000);
        if minute(to.at) == minute(old.at) {
            to.at = old.at;
        }
        if to.seen.kind() == old.seen.kind() {
            to.instrument = old.instrument;
        }
        let reading = old.id;
        return Ok(vec![Deed::EditReading { reading, to }]);
    }
    let gravity = slip.readings.iter().any(|r| {
        matches!(
            r.seen.kind(),
            MeasureKind::Hydrometer | MeasureKind::Refractometer
        )
    });
    let at: Moment = slip.at;
    let batch = pad.spot.map(|s| s.batch);
    let deed = slip
        .into_deed(pad.subject, batch, "hand", doubted)
        .ok_or("A note needs a batch to belong to: a place keeps temperatures only.")?;
    let mut deeds = vec![deed];
    if let (Some(step), true) = (pad.step, gravity) {
        deeds.push(Deed::StepDone {
            step,
            at,
            given: None,
            note: String::new(),
        });
    }
    Ok(deeds)
}
