//! Bottling day: holds, sugar, bottles, and then the filling.

mod form;
pub mod keg;
mod lines;
mod outcome;

pub(super) use form::typed_volume;
pub use keg::Keg;
pub use lines::{VerdictLines, lines, verdict};
pub use outcome::{Outcome, outcome};

use super::form::{Acted, Form};
use super::keys::Action;
use super::msg::{Effect, Spot, Ticket};
use super::panel::REASON;
use super::say;
use super::screen::Screen;
use super::state::{Effects, NoticeTone, State};
use crate::domain::deeds::Deed;
use crate::domain::records::{Dossier, Fizz, HoldKind, UnitSystem, Vessel};
use crate::domain::units::Litres;
use crate::engine::Account;
use crate::engine::bottling::{self, Order};
use chrono::Days;
use form::build;

/// The bottling being made ready.
#[derive(Debug, Clone, Default)]
pub struct BottlingView {
    /// For which batch.
    pub spot: Option<Spot>,
    /// What is selected and typed.
    pub form: Form,
    /// Sent, and not answered yet.
    pub sent: Option<Ticket>,
    /// The store's refusal.
    pub refused: Option<String>,
    /// Lines left out above in the panel.
    pub scroll: usize,
    /// Kinds of hold that stood when the reason was last typed: it lifts these.
    pub covered: Vec<HoldKind>,
}

/// Fields for bottles; a household with more kinds counts the rest by the shell.
const BOTTLE_KEYS: [&str; 8] = [
    "bottle-0", "bottle-1", "bottle-2", "bottle-3", "bottle-4", "bottle-5", "bottle-6", "bottle-7",
];

const GASES: [Fizz; 3] = [Fizz::Still, Fizz::Light, Fizz::Sparkling];

/// Something lies in a vessel and can be bottled.
pub fn can_open(state: &State) -> bool {
    state
        .chosen_dossier()
        .is_some_and(|d| d.batch.pitched.is_some() && d.vessels().next().is_some())
        && state.chosen_row().is_some()
}

/// Opens the screen for the chosen batch; what was typed for it before stays.
pub fn open(state: &mut State) {
    if !can_open(state) {
        return;
    }
    if state.bottling.spot != state.chosen {
        state.bottling = BottlingView {
            spot: state.chosen,
            ..BottlingView::default()
        };
        build(state);
    }
    state.go(Screen::Bottling);
}

fn account(state: &State) -> Option<(&Account, &Dossier)> {
    state.chosen_row().zip(state.chosen_dossier())
}

/// Carries an action out that belongs to this screen.
pub fn act(state: &mut State, action: Action) -> Effects {
    match state.bottling.form.act(action) {
        Acted::Chosen => changed(state),
        Acted::Keep => return fill(state),
        Acted::Scrolled(by) => {
            let last = lines(state).len();
            state.bottling.scroll = state.bottling.scroll.saturating_add_signed(by).min(last);
        }
        Acted::Nothing => {}
    }
    Vec::new()
}

/// More than the vessel can hold, as a sentence.
pub fn too_much(vessel: &Vessel, volume: Litres, units: UnitSystem) -> Option<String> {
    vessel.overfull(volume).then(|| {
        format!(
            "{} can't be in {}: it holds {}.",
            say::volume(volume, units),
            vessel.tag,
            say::volume(vessel.capacity, units)
        )
    })
}

/// After a choice: fields that depend on it follow.
pub fn changed(state: &mut State) {
    let key = state.bottling.form.current().map_or("", |f| f.key);
    if key == "reason" {
        // A reason is given for the holds that are seen while it is typed.
        let seen = outcome(state).map(|o| bottling::kinds_of(&o.holds));
        state.bottling.covered = seen.unwrap_or_default();
    }
    if key == "package" {
        build(state);
    } else if key == "place" {
        form::follow_place(state);
    } else if key == "gas"
        && let Some((account, dossier)) = account(state)
    {
        let fizz = GASES
            .get(state.bottling.form.chosen("gas"))
            .copied()
            .unwrap_or(Fizz::Still);
        let ready = bottling::usual_ready(fizz, account.figures.alcohol).to_string();
        let target = bottling::usual_target(dossier.batch.style, fizz).get();
        state.bottling.form.set("ready", &ready);
        if fizz != Fizz::Still {
            state.bottling.form.set("target", &format!("{target:.1}"));
        }
        build(state);
    }
    state.bottling.refused = None;
    state.bottling.scroll = 0;
}

fn fill(state: &mut State) -> Effects {
    if state.bottling.sent.is_some() {
        return Vec::new();
    }
    let outcome = match outcome(state) {
        Ok(outcome) => outcome,
        Err(w) => {
            state.bottling.form.object(w.key, w.why);
            return Vec::new();
        }
    };
    let kinds = bottling::kinds_of(&outcome.holds);
    if !kinds.is_empty() && outcome.reason.chars().count() < REASON {
        let why = "On hold. Wait, or type a sentence: why fill it all the same?";
        state.bottling.form.object("reason", why);
        return Vec::new();
    }
    let news = kinds.iter().filter(|k| !state.bottling.covered.contains(k));
    let news: Vec<&str> = news.map(|k| k.word()).collect();
    if !news.is_empty() {
        let why = format!(
            "This reason was given before these holds stood: {}. Read them, then change the reason.",
            news.join(", ")
        );
        state.bottling.form.object("reason", why);
        return Vec::new();
    }
    if outcome.keg.is_none() && outcome.day.fitted.counts.iter().all(|c| *c == 0) {
        let key = BOTTLE_KEYS.first().copied().unwrap_or("gas");
        state
            .bottling
            .form
            .object(key, "No bottle takes any of it: select bottles that do.");
        return Vec::new();
    }
    let counts = &outcome.day.fitted.counts;
    if outcome.keg.is_none() && bottling::run_out(&outcome.shares, &outcome.stock, counts) {
        let left = say::volume(outcome.shares.over, state.settings().units);
        state.bottling.form.object(
            "lost",
            format!("Bottles run out and {left} would be lost: use more, or count it in here."),
        );
        return Vec::new();
    }
    let Some(deed) = deed(state, &outcome, kinds) else {
        return Vec::new();
    };
    let ticket = state.ticket();
    state.bottling.sent = Some(ticket);
    state.bottling.refused = None;
    vec![Effect::CarryOut(ticket, vec![deed])]
}

fn deed(state: &State, outcome: &Outcome, overrides: Vec<HoldKind>) -> Option<Deed> {
    let dossier = state.chosen_dossier()?;
    let today = state.now.day();
    let reason = if overrides.is_empty() {
        String::new()
    } else {
        outcome.reason.clone()
    };
    if let Some(keg) = &outcome.keg {
        let household = state.household.as_ref()?;
        let from = household.vessel(state.chosen?.vessel?)?;
        let units = state.settings().units;
        let lifts = (overrides.as_slice(), reason.as_str());
        return Some(keg::deed(dossier, from, keg, state.now, units, lifts));
    }
    let on = |days: i64| today + Days::new(days.max(0).unsigned_abs());
    let order = Order {
        batch: dossier.batch.id,
        vessel: state.chosen?.vessel?,
        at: state.now,
        fizz: outcome.fizz,
        fills: bottling::fills(&outcome.kinds, &outcome.day.fitted.counts),
        shares: outcome.shares,
        primed: outcome
            .day
            .priming
            .map(|p| (outcome.primer.to_owned(), p.amount)),
        place: outcome.place,
        ready_from: on(outcome.ready),
        drink_by: on(outcome.keep.max(outcome.ready)),
        overrides,
        reason,
        summer: outcome.summer,
        alcohol: outcome.alcohol,
    };
    Some(bottling::deed(dossier, &state.supplies.pantry, &order))
}

/// The store has filled them.
pub fn kept(state: &mut State, said: &str) {
    state.bottling = BottlingView::default();
    state
        .trail
        .retain(|s| *s != Screen::Bottling && *s != Screen::Batch);
    state.screen = Screen::Cellar;
    state.cellar.at = 0;
    state.say(NoticeTone::Kept, said);
}
