//! What is advised for a vessel, in words that agree with what is due there.

use super::say;
use super::state::State;
use super::why::unit;
use crate::domain::records::{Dossier, Settings};
use crate::domain::units::Moment;
use crate::engine::{
    ADVISED, Account, Action, Advice, Due, FollowUp, Morning, Urgency, Voice, WhyRead,
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

/// The advice as a sentence. Where something is due, it is never only to be left alone.
pub fn sentence(row: &Account, advice: &Advice, unit: Voice, now: Moment) -> String {
    let alone = advice.action.sentence(unit);
    if advice.action != Action::LeaveAlone {
        return alone;
    }
    let what = match row.at_hand() {
        _ if row.only_reading(now.day()) => "Today: take a gravity reading".into(),
        Some(due) => due_words(due, now.day()),
        None => return alone,
    };
    format!("{what}. Then leave it alone.")
}

/// Why a gravity reading is due, in a sentence.
pub fn why_read(why: &WhyRead, settings: &Settings, now: Moment) -> String {
    match why {
        WhyRead::Flagged(flag) => flag.sentence(settings),
        WhyRead::Telling(next) => next.sentence(now),
    }
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
    morning
        .due_of(dossier.batch.id)
        .filter(advised)
        .min_by_key(|d| (d.opens, d.step))
}

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
