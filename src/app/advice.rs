//! What is advised for a vessel, in words that agree with what is due there.

use super::say;
use super::state::State;
use super::why::unit;
use crate::domain::records::Dossier;
use crate::domain::units::Moment;
use crate::engine::{
    Action, Advice, Due, Flag, FollowUp, Morning, NextReading, Row, TemperatureUnit, Urgency,
};
use chrono::NaiveDate;

/// The first advice where something goes wrong, as it stands to the list.
#[derive(Debug, Clone, PartialEq)]
pub enum Pressing {
    /// One key puts it on the list.
    Offered(String),
    /// It is on the list, with the step that comes next of it.
    Listed(String),
}

/// Why a gravity is wanted today, whatever the steps say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WhyRead<'r> {
    /// Something is not as it should be, and a reading would tell.
    Flagged(&'r Flag),
    /// It would tell most now.
    Telling(NextReading),
}

/// Whether a gravity is wanted today; not where it was taken today already.
pub fn wants_reading(row: &Row, now: Moment) -> Option<WhyRead<'_>> {
    row.vessel?;
    if row.last.is_some_and(|l| l.at.day() == now.day()) {
        return None;
    }
    let telling = |f: &&Flag| {
        matches!(
            f,
            Flag::NoReading { .. } | Flag::NoFall { .. } | Flag::Stuck { .. }
        )
    };
    if let Some(flag) = row.flags.iter().find(telling) {
        return Some(WhyRead::Flagged(flag));
    }
    let next = row.assessment.next_reading?;
    (next.at.day() <= now.day()).then_some(WhyRead::Telling(next))
}

/// The step of a row that hands can do now.
fn at_hand(row: &Row) -> Option<&Due> {
    row.next.as_ref().filter(|d| d.wants_hands())
}

/// Whether a gravity is what is wanted of a row today: no step has to be done.
pub fn only_reading(row: &Row, now: Moment) -> bool {
    let waits = at_hand(row).is_none_or(|d| d.due > now.day());
    waits && wants_reading(row, now).is_some()
}

/// The advice as a sentence. Where something is due, it is never only to be left alone.
pub fn sentence(row: &Row, advice: &Advice, unit: TemperatureUnit, now: Moment) -> String {
    let alone = advice.action.sentence(unit);
    if advice.action != Action::LeaveAlone {
        return alone;
    }
    let what = match at_hand(row) {
        _ if only_reading(row, now) => "Today: take a gravity".into(),
        Some(due) => due_words(due, now.day()),
        None => return alone,
    };
    format!("{what}. Then leave it alone.")
}

/// A step behind its day: `Today: swirl gently`, `By Thu: take a gravity`.
fn due_words(due: &Due, today: NaiveDate) -> String {
    let when = match (due.due - today).num_days() {
        0 => "Today".to_owned(),
        1.. => format!("By {}", say::day_short(due.due, today)),
        _ => format!("Today, {}", say::lateness(due.due, today)),
    };
    format!("{when}: {}", due.title)
}

/// Steps on the list of a batch that came of advice, and are still to do.
pub fn listed<'m>(dossier: &Dossier, morning: &'m Morning) -> Option<&'m Due> {
    let advised = |due: &&Due| {
        let step = dossier.steps.iter().find(|s| s.id == due.step);
        step.is_some_and(|s| s.rule.key.starts_with(ADVISED))
    };
    let open = morning.due.iter().filter(|d| d.batch == dossier.batch.id);
    open.filter(advised).min_by_key(|d| (d.opens, d.step))
}

/// How the key of a step begins that came of advice.
const ADVISED: &str = "advised-";

/// What is advised for the chosen vessel, while something goes wrong in it.
pub fn pressing(state: &State) -> Option<Pressing> {
    let row = state.chosen_row()?;
    let advice = row.assessment.advice.first()?;
    let (dossier, morning) = (state.chosen_dossier()?, state.morning.as_ref()?);
    if row.urgency > Urgency::Trouble || idle(advice) {
        return None;
    }
    if let Some(due) = listed(dossier, morning) {
        let today = state.now.day();
        let day = say::day_short(due.opens.max(today), today);
        return Some(Pressing::Listed(format!("{day}: {}", due.title)));
    }
    row.day?;
    Some(Pressing::Offered(
        advice.action.sentence(unit(&state.settings())),
    ))
}

/// Whether an advice changes nothing that one could see as help.
fn idle(advice: &Advice) -> bool {
    let changes = |f: &FollowUp| !matches!(f.action, Action::LeaveAlone | Action::ConfirmEnd);
    !advice.follow_up.as_ref().is_some_and(changes)
}
