//! Marking steps: done with what was added, left out with a reason, moved.

use super::advice;
use super::field::Field;
use super::key::Key;
use super::msg::{Effect, Spot};
use super::overlay::{Errand, Overlay};
use super::say;
use super::state::{Effects, NoticeTone, State};
use super::when::{parse_day, split_note};
use super::why::unit;
use crate::domain::deeds::{Deed, Given};
use crate::domain::records::{StepId, StepKind};
use crate::domain::units::{GRAMS_PER_POUND, Grams, LITRES_PER_US_GALLON, Litres, ML_PER_US_FL_OZ};
use crate::engine::{Due, Timing, Warning, follow_up_steps};
use chrono::NaiveDate;

/// A step being marked done.
#[derive(Debug, Clone)]
pub struct DonePad {
    /// The vessel it is done at.
    pub spot: Spot,
    /// Steps of this batch that can be marked; the first is offered.
    pub steps: Vec<Due>,
    /// Which of them.
    pub at: usize,
    /// What was really added, and a note after a quote.
    pub field: Field,
    /// The maker has typed.
    pub touched: bool,
    /// What became of it.
    pub errand: Errand,
}

impl DonePad {
    /// The step in hand.
    pub fn step(&self) -> Option<&Due> {
        self.steps.get(self.at)
    }

    /// Seconds of its countdown.
    pub fn countdown(&self) -> Option<u32> {
        self.step()?.countdown
    }

    /// Another step of the list.
    pub fn choose(&mut self, by: isize) {
        let last = self.steps.len().saturating_sub(1);
        self.at = self.at.saturating_add_signed(by).min(last);
        if !self.touched {
            self.field = Field::with(self.step().map_or("", usual_amount));
        }
        self.errand.touched();
    }
}

fn usual_amount(due: &Due) -> &str {
    &due.amount
}

/// A step being left out.
#[derive(Debug, Clone)]
pub struct SkipPad {
    /// Which.
    pub step: Due,
    /// Why.
    pub field: Field,
    /// The usual reasons, by the arrows.
    pub reasons: Vec<&'static str>,
    /// The maker has typed.
    pub touched: bool,
    /// What became of it.
    pub errand: Errand,
}

/// Reasons offered, so that a skip costs two keys.
const REASONS: &[&str] = &["not needed", "no time", "away", "already settled"];
const TOO_LATE: &str = "too late";

impl SkipPad {
    /// Puts the reason before or after into the field.
    pub fn turn(&mut self, by: isize) {
        let n = self.reasons.len().cast_signed().max(1);
        let here = self.reasons.iter().position(|r| *r == self.field.text());
        let next = here.map_or(0, |i| (i.cast_signed() + by).rem_euclid(n).cast_unsigned());
        self.field = Field::with(self.reasons.get(next).copied().unwrap_or(""));
        self.touched = false;
        self.errand.touched();
    }
}

/// A step being moved.
#[derive(Debug, Clone)]
pub struct MovePad {
    /// Which.
    pub step: Due,
    /// To when, as typed.
    pub field: Field,
    /// The day that is meant, or why it is not understood.
    pub day: Result<NaiveDate, String>,
    /// What became of it.
    pub errand: Errand,
}

impl MovePad {
    /// After typing.
    pub fn understand(&mut self, today: NaiveDate) {
        self.day = parse_day(self.field.text(), today);
        self.errand.touched();
    }

    /// A day earlier or later than what stands there.
    pub fn shift(&mut self, by: i64, today: NaiveDate) {
        let from = self.day.clone().unwrap_or(today.max(self.step.due));
        let to = from + chrono::TimeDelta::days(by);
        self.field = Field::with(&to.format("%Y-%m-%d").to_string());
        self.understand(today);
    }

    /// What the move would do, in a sentence.
    pub fn meaning(&self, today: NaiveDate) -> Result<String, String> {
        let day = self.day.clone()?;
        let said = say::day(day, today);
        if day > self.step.overdue_after {
            let days = (day - self.step.overdue_after).num_days();
            let late = say::count(days, "day", "days");
            return Ok(format!(
                "{said}: {late} past the day it does harm. {}",
                self.step.harm
            ));
        }
        Ok(said)
    }
}

/// Opens the pad for marking a step done.
pub fn open_done(state: &mut State, spot: Spot, first: Option<StepId>) {
    let mut steps: Vec<Due> = state.due_of(spot).into_iter().cloned().collect();
    steps.sort_by_key(|d| {
        (
            Some(d.step) != first,
            !d.wants_hands(),
            d.timing == Timing::Later,
            d.due,
        )
    });
    if steps.is_empty() {
        return;
    }
    let field = Field::with(steps.first().map_or("", usual_amount));
    state.overlays.push(Overlay::Done(DonePad {
        spot,
        steps,
        at: 0,
        field,
        touched: false,
        errand: Errand::default(),
    }));
}

/// Opens the pad for leaving a step out.
pub fn open_skip(state: &mut State, step: Due) {
    let late = step.timing == Timing::TooLate;
    let reasons: Vec<&'static str> = late
        .then_some(TOO_LATE)
        .into_iter()
        .chain(REASONS.iter().copied())
        .collect();
    let field = Field::with(if late { TOO_LATE } else { "" });
    state.overlays.push(Overlay::Skip(SkipPad {
        step,
        field,
        reasons,
        touched: false,
        errand: Errand::default(),
    }));
}

/// Opens the pad for moving a step.
pub fn open_move(state: &mut State, step: Due) {
    let today = state.now.day();
    let mut pad = MovePad {
        step,
        field: Field::default(),
        day: Err(String::new()),
        errand: Errand::default(),
    };
    pad.understand(today);
    state.overlays.push(Overlay::Move(pad));
}

/// Enter on the pad for done.
pub fn accept_done(state: &mut State, mut pad: DonePad) -> Effects {
    let Some(step) = pad.step().cloned() else {
        return Vec::new();
    };
    if pad.errand.sent.is_some() {
        return reopen(state, Overlay::Done(pad), Vec::new());
    }
    if worth_asking(&step) && !pad.errand.insisting {
        pad.errand.insisting = true;
        return reopen(state, Overlay::Done(pad), Vec::new());
    }
    let (amount, note) = split_note(pad.field.text());
    let given = match given(amount, step.kind) {
        Ok(given) => given,
        Err(why) => {
            pad.errand.missing = Some(why);
            return reopen(state, Overlay::Done(pad), Vec::new());
        }
    };
    let deed = Deed::StepDone {
        step: step.step,
        at: state.now,
        given,
        note: note.to_owned(),
    };
    let ticket = state.ticket();
    pad.errand.sent = Some(ticket);
    reopen(
        state,
        Overlay::Done(pad),
        vec![Effect::CarryOut(ticket, vec![deed])],
    )
}

/// Whether doing the step now deserves a second thought.
fn worth_asking(step: &Due) -> bool {
    matches!(
        step.warning,
        Some(Warning::BreaksRest { .. } | Warning::NotFinished { .. } | Warning::PastUse(_))
    ) || step.timing == Timing::TooLate
}

/// Enter on the pad for skipping.
pub fn accept_skip(state: &mut State, mut pad: SkipPad) -> Effects {
    if pad.errand.sent.is_some() {
        return reopen(state, Overlay::Skip(pad), Vec::new());
    }
    if pad.field.is_blank() {
        pad.errand.missing =
            Some("Say why in a word or two, or take a usual reason with the arrows.".into());
        return reopen(state, Overlay::Skip(pad), Vec::new());
    }
    let deed = Deed::StepSkip {
        step: pad.step.step,
        at: state.now,
        reason: pad.field.text().trim().to_owned(),
    };
    let ticket = state.ticket();
    pad.errand.sent = Some(ticket);
    reopen(
        state,
        Overlay::Skip(pad),
        vec![Effect::CarryOut(ticket, vec![deed])],
    )
}

/// Enter on the pad for moving.
pub fn accept_move(state: &mut State, mut pad: MovePad) -> Effects {
    if pad.errand.sent.is_some() {
        return reopen(state, Overlay::Move(pad), Vec::new());
    }
    let to = match &pad.day {
        Ok(day) => *day,
        Err(why) => {
            pad.errand.missing = Some(why.clone());
            return reopen(state, Overlay::Move(pad), Vec::new());
        }
    };
    let late = to > pad.step.overdue_after && pad.step.weight > 0;
    if late && !pad.errand.insisting {
        pad.errand.insisting = true;
        return reopen(state, Overlay::Move(pad), Vec::new());
    }
    let deed = Deed::StepMove {
        step: pad.step.step,
        to,
    };
    let ticket = state.ticket();
    pad.errand.sent = Some(ticket);
    reopen(
        state,
        Overlay::Move(pad),
        vec![Effect::CarryOut(ticket, vec![deed])],
    )
}

/// Puts a pad that was taken off for its update back on top.
pub fn reopen(state: &mut State, overlay: Overlay, effects: Effects) -> Effects {
    state.overlays.push(overlay);
    effects
}

/// A key for the text of the pad for done.
pub fn type_done(pad: &mut DonePad, key: Key) {
    if pad.errand.sent.is_none() && pad.field.press(key) {
        pad.touched = true;
        pad.errand.touched();
    }
}

/// A key for the text of the pad for skipping.
pub fn type_skip(pad: &mut SkipPad, key: Key) {
    if pad.errand.sent.is_none() && pad.field.press(key) {
        pad.touched = true;
        pad.errand.touched();
    }
}

/// A key for the text of the pad for moving.
pub fn type_move(pad: &mut MovePad, key: Key, today: NaiveDate) {
    if pad.errand.sent.is_none() && pad.field.press(key) {
        pad.understand(today);
    }
}

/// What was really added, from words such as `2.1 g DAP`, `half a packet of
/// nutrient`, `4 fl oz water`; none when nothing was.
pub fn given(text: &str, kind: StepKind) -> Result<Option<Given>, String> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let Some((value, rest)) = leading_number(text) else {
        return Ok(Some(Given {
            substance: text.to_owned(),
            mass: None,
            volume: None,
        }));
    };
    let (unit, rest) = leading_unit(rest);
    let substance = match (rest.trim_start_matches("of ").trim(), unit) {
        ("", Some(_)) if kind.feeds() => "nutrient".to_owned(),
        (_, None) => text.to_owned(),
        (words, Some(_)) => words.to_owned(),
    };
    let mut given = Given {
        substance,
        mass: None,
        volume: None,
    };
    match unit {
        Some(Amount::Mass(g)) => {
            given.mass = Some(Grams::new(value * g).map_err(|e| format!("'{text}': {e}"))?);
        }
        Some(Amount::Volume(l)) => {
            given.volume = Some(Litres::new(value * l).map_err(|e| format!("'{text}': {e}"))?);
        }
        None => {}
    }
    Ok(Some(given))
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Amount {
    /// Grams in one.
    Mass(f64),
    /// Litres in one.
    Volume(f64),
}

/// Spellings, the longer before the shorter that begins it.
const AMOUNTS: &[(&str, Amount)] = &[
    ("fl oz", Amount::Volume(ML_PER_US_FL_OZ / 1000.0)),
    ("floz", Amount::Volume(ML_PER_US_FL_OZ / 1000.0)),
    ("gal", Amount::Volume(LITRES_PER_US_GALLON)),
    ("mL", Amount::Volume(0.001)),
    ("lb", Amount::Mass(GRAMS_PER_POUND)),
    ("oz", Amount::Mass(GRAMS_PER_POUND / 16.0)),
    ("kg", Amount::Mass(1000.0)),
    ("mg", Amount::Mass(0.001)),
    ("g", Amount::Mass(1.0)),
    ("l", Amount::Volume(1.0)),
];

fn leading_number(text: &str) -> Option<(f64, &str)> {
    let end = text
        .find(|c: char| !c.is_ascii_digit() && c != '.')
        .unwrap_or(text.len());
    let (number, rest) = text.split_at_checked(end)?;
    Some((number.parse().ok()?, rest.trim_start()))
}

fn leading_unit(text: &str) -> (Option<Amount>, &str) {
    for (word, amount) in AMOUNTS {
        let Some((head, tail)) = text.split_at_checked(word.len()) else {
            continue;
        };
        if head.eq_ignore_ascii_case(word) && !tail.starts_with(char::is_alphabetic) {
            return (Some(*amount), tail.trim_start());
        }
    }
    (None, text)
}

/// Puts the first advice for the chosen batch on its list.
pub fn follow_up(state: &mut State) -> Effects {
    let unit = unit(&state.settings());
    let now = state.now;
    let rules = state.chosen_row().and_then(|row| {
        let advice = row.assessment.advice.first()?;
        let dossier = state.chosen_dossier()?;
        let rules = follow_up_steps(advice, dossier.batch.pitched, now, unit);
        let known = dossier
            .steps
            .iter()
            .any(|s| rules.iter().any(|r| r.key == s.rule.key));
        Some((row.batch, rules, known))
    });
    let Some((batch, rules, known)) = rules else {
        return Vec::new();
    };
    let waits = state
        .chosen_dossier()
        .zip(state.morning.as_ref())
        .and_then(|(dossier, morning)| advice::listed(dossier, morning))
        .map(|due| due.title.clone());
    if let (Some(waits), false) = (waits, known) {
        let said = format!("One thing at a time: '{waits}' is on the list, and comes first.");
        state.say(NoticeTone::Plain, said);
        return Vec::new();
    }
    if known || rules.is_empty() {
        state.say(
            NoticeTone::Plain,
            "What is advised today stands on the list already.",
        );
        return Vec::new();
    }
    let deeds = rules
        .into_iter()
        .map(|rule| Deed::AddStep { batch, rule })
        .collect();
    let ticket = state.ticket();
    vec![Effect::CarryOut(ticket, deeds)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_added_is_read_from_words() {
        let of = |text| given(text, StepKind::Feed).unwrap();
        let weighed = of("2.1 g DAP").unwrap();
        assert_eq!(weighed.substance, "DAP");
        assert_eq!(weighed.mass, Some(Grams::known(2.1)));
        let packet = of("half a packet of nutrient").unwrap();
        assert_eq!(packet.substance, "half a packet of nutrient");
        assert_eq!((packet.mass, packet.volume), (None, None));
        let bare = of("1.5g").unwrap();
        assert_eq!(bare.substance, "nutrient");
        let ounces = of("4 fl oz of water").unwrap();
        assert_eq!(ounces.substance, "water");
        // 1 US fluid ounce is 29.5735295625 mL (NIST Handbook 44, Appendix C).
        assert!((ounces.volume.unwrap().get() - 0.11829411825).abs() < 1e-12);
        assert_eq!(
            of("2 packets of nutrient").unwrap().substance,
            "2 packets of nutrient"
        );
        assert_eq!(of(" "), None);
    }

    #[test]
    fn an_impossible_amount_is_refused_with_what_is_accepted() {
        let said = given("9000 kg honey", StepKind::Feed).unwrap_err();
        assert!(said.contains("accepted is 0 to 2000000 g"), "{said}");
    }
}
