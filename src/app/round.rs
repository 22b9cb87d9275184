//! The round: from stop to stop, only where something is wanted.

use super::advice;
use super::keys::Action;
use super::msg::Spot;
use super::overlay::Overlay;
use super::say;
use super::screen::Screen;
use super::slip;
use super::state::{Effects, State, spot};
use super::steps;
use crate::domain::records::{Household, PlaceId, StepKind};
use crate::domain::units::Moment;
use crate::engine::{Account, Due, Errand, Morning, Timing};

/// What a stop wants.
#[derive(Debug, Clone, PartialEq)]
pub enum Ask {
    /// A step to be done.
    Step(Box<Due>),
    /// A step that it is too late for: to be left out.
    TooLate(Box<Due>),
    /// A reading, and why.
    Reading(String),
    /// The temperature of a place.
    Temperature(PlaceId),
}

impl Ask {
    fn of(due: &Due) -> Self {
        if due.timing == Timing::TooLate {
            Self::TooLate(Box::new(due.clone()))
        } else {
            Self::Step(Box::new(due.clone()))
        }
    }
}

/// What became of a stop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// Done, in the store's words.
    Done(String),
    /// Left as it is.
    Left,
    /// Something else took care of it meanwhile.
    Gone,
}

/// One stop.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// The vessel; none for a place.
    pub spot: Option<Spot>,
    /// Tag of the vessel or name of the place.
    pub title: String,
    /// Name of the batch.
    pub name: String,
    /// What it wants.
    pub ask: Ask,
    /// What became of it.
    pub outcome: Option<Outcome>,
}

/// A walk.
#[derive(Debug, Clone, PartialEq)]
pub struct Round {
    /// Its stops, worst first.
    pub stops: Vec<Stop>,
    /// Where it stands; past the last when it is over.
    pub at: usize,
}

impl Round {
    /// The stop it stands at.
    pub fn stop(&self) -> Option<&Stop> {
        self.stops.get(self.at)
    }

    /// The step of the present stop.
    pub fn step(&self) -> Option<&Due> {
        match &self.stop()?.ask {
            Ask::Step(due) | Ask::TooLate(due) => Some(due),
            Ask::Reading(_) | Ask::Temperature(_) => None,
        }
    }

    /// Whether a slip can be typed here.
    pub fn subject(&self) -> Option<&Stop> {
        self.stop().filter(|s| {
            matches!(s.ask, Ask::Temperature(_)) || s.spot.is_some_and(|s| s.vessel.is_some())
        })
    }

    /// How many stops are done, and how many were left.
    pub fn tally(&self) -> (usize, usize) {
        let of = |f: fn(&Outcome) -> bool| {
            self.stops
                .iter()
                .filter(|s| s.outcome.as_ref().is_some_and(f))
                .count()
        };
        (
            of(|o| matches!(o, Outcome::Done(_))),
            of(|o| matches!(o, Outcome::Left)),
        )
    }

    /// The line at the end.
    pub fn last_line(&self) -> String {
        if self.stops.is_empty() {
            return "Nothing needs you today.".into();
        }
        let (done, left) = self.tally();
        let what = say::count_of(done, "thing done", "things done");
        if left == 0 {
            return format!("Round done: {what}, nothing left that must be done today.");
        }
        let names: Vec<&str> = self
            .stops
            .iter()
            .filter(|s| s.outcome == Some(Outcome::Left))
            .map(|s| s.title.as_str())
            .collect();
        let mut once: Vec<&str> = Vec::new();
        for name in names {
            if !once.contains(&name) {
                once.push(name);
            }
        }
        format!("Round done: {what}, {left} left in {}.", say::list(&once))
    }

    fn advance(&mut self) {
        while self.at < self.stops.len() {
            self.at += 1;
            if self.stops.get(self.at).is_some_and(|s| s.outcome.is_none()) {
                break;
            }
        }
    }
}

/// Begins a round.
pub fn begin(state: &mut State) {
    let (Some(household), Some(morning)) = (&state.household, &state.morning) else {
        return;
    };
    let stops = stops(household, morning, state.now);
    state.round = Some(Round { stops, at: 0 });
    state.go(Screen::Round);
    follow(state);
}

/// What is to do this morning, in the order of the walk.
pub fn stops(household: &Household, morning: &Morning, now: Moment) -> Vec<Stop> {
    let errands = morning.errands().into_iter();
    let mut stops: Vec<Stop> = errands
        .map(|(account, errand)| {
            let ask = match errand {
                Errand::Step(due) => Ask::Step(Box::new(due.clone())),
                Errand::TooLate(due) => Ask::TooLate(Box::new(due.clone())),
                Errand::Read(why) => Ask::Reading(advice::why_read(why, &household.settings, now)),
            };
            stop(account, ask)
        })
        .collect();
    stops.extend(places_to_read(household, now));
    stops
}

fn stop(row: &Account, ask: Ask) -> Stop {
    Stop {
        spot: Some(spot(row)),
        title: if row.tag.is_empty() {
            row.name.clone()
        } else {
            row.tag.clone()
        },
        name: row.name.clone(),
        ask,
        outcome: None,
    }
}

/// Places whose temperature the maker takes, and has not taken today: taken
/// at least once in the last fortnight (common practice, no source).
fn places_to_read(household: &Household, now: Moment) -> Vec<Stop> {
    let last = |place: PlaceId| {
        household
            .dossiers
            .iter()
            .flat_map(|d| &d.place_readings)
            .filter(|r| r.subject == crate::domain::records::Subject::Place(place))
            .map(|r| r.at)
            .max()
    };
    household
        .places
        .iter()
        .filter(|p| last(p.id).is_some_and(|at| at.day() < now.day() && now.days_since(at) < 14.0))
        .map(|p| Stop {
            spot: None,
            title: p.name.clone(),
            name: "the thermometer".into(),
            ask: Ask::Temperature(p.id),
            outcome: None,
        })
        .collect()
}

/// The chosen vessel follows the round.
fn follow(state: &mut State) {
    if let Some(spot) = state.round.as_ref().and_then(|r| r.stop()?.spot) {
        state.chosen = Some(spot);
    }
}

/// Carries an action out that belongs to this screen.
pub fn act(state: &mut State, action: Action, typed: Option<char>) -> Effects {
    match action {
        Action::Accept => return accept(state),
        Action::Slip => slip_here(state, typed),
        Action::Note => slip_here(state, Some('\'')),
        Action::Later => leave(state),
        Action::Left => back_one(state),
        _ => {}
    }
    Vec::new()
}

fn accept(state: &mut State) -> Effects {
    let Some(stop) = state.round.as_ref().and_then(Round::stop).cloned() else {
        state.round = None;
        if !state.go_back() {
            state.screen = Screen::Shelf;
        }
        return Vec::new();
    };
    match (&stop.ask, stop.spot) {
        (Ask::Step(due), Some(_)) if due.kind == StepKind::Read => slip_here(state, None),
        (Ask::Step(due), Some(spot)) => steps::open_done(state, spot, Some(due.step)),
        (Ask::TooLate(due), _) => steps::open_skip(state, due.as_ref().clone()),
        _ => slip_here(state, None),
    }
    Vec::new()
}

fn slip_here(state: &mut State, typed: Option<char>) {
    let Some(stop) = state.round.as_ref().and_then(Round::stop).cloned() else {
        return;
    };
    match (stop.ask, stop.spot) {
        (Ask::Temperature(place), _) => slip::open_place(state, place, typed),
        (_, Some(spot)) => slip::open(state, spot, typed),
        _ => {}
    }
}

fn leave(state: &mut State) {
    if let Some(round) = &mut state.round {
        if let Some(stop) = round.stops.get_mut(round.at) {
            stop.outcome = Some(Outcome::Left);
        }
        round.advance();
    }
    follow(state);
}

fn back_one(state: &mut State) {
    if let Some(round) = &mut state.round {
        round.at = round.at.saturating_sub(1);
        if let Some(stop) = round.stops.get_mut(round.at)
            && stop.outcome == Some(Outcome::Left)
        {
            stop.outcome = None;
        }
    }
    follow(state);
}

/// Something was kept while the round stood at a stop: it is done. A note or a
/// reading at a stop that wants a step leaves the stop as it is.
pub fn kept(state: &mut State, said: &str, answers: bool) {
    if state.screen != Screen::Round || !answers {
        return;
    }
    if let Some(round) = &mut state.round {
        if let Some(stop) = round.stops.get_mut(round.at) {
            stop.outcome = Some(Outcome::Done(said.to_owned()));
        }
        round.advance();
    }
    follow(state);
}

/// Whether what a pad kept is what the present stop asked for.
pub fn answers(state: &State, pad: &Overlay) -> bool {
    let Some(stop) = state.round.as_ref().and_then(Round::stop) else {
        return false;
    };
    match (&stop.ask, pad) {
        (Ask::Step(due), Overlay::Done(pad)) => pad.step().is_some_and(|s| s.step == due.step),
        (Ask::Step(due) | Ask::TooLate(due), Overlay::Skip(pad)) => pad.step.step == due.step,
        (Ask::Step(due) | Ask::TooLate(due), Overlay::Move(pad)) => pad.step.step == due.step,
        (Ask::Step(due), Overlay::Slip(pad)) => pad.step == Some(due.step),
        (Ask::Reading(_), Overlay::Slip(pad)) => pad.spot == stop.spot,
        (Ask::Temperature(place), Overlay::Slip(pad)) => {
            pad.subject == crate::domain::records::Subject::Place(*place)
        }
        _ => false,
    }
}

/// The morning was worked out anew: stops ahead whose step is no longer to do
/// are gone, and the others get their step as it stands now.
pub fn renew(state: &mut State) {
    let (Some(round), Some(morning)) = (&mut state.round, &state.morning) else {
        return;
    };
    for stop in round.stops.iter_mut().filter(|s| s.outcome.is_none()) {
        let (Ask::Step(due) | Ask::TooLate(due)) = &stop.ask else {
            continue;
        };
        match morning.due.iter().find(|d| d.step == due.step) {
            Some(now) => stop.ask = Ask::of(now),
            None => stop.outcome = Some(Outcome::Gone),
        }
    }
    if round
        .stop()
        .is_some_and(|s| s.outcome == Some(Outcome::Gone))
    {
        round.advance();
    }
    follow(state);
}
