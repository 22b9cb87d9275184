//! What is advised for a vessel, in words that agree with what is due there.

use super::say;
use super::state::State;
use super::why::unit;
use crate::domain::records::{Dossier, StepKind};
use crate::engine::{Action, Advice, Due, FollowUp, Morning, Row, TemperatureUnit, Urgency};
use chrono::NaiveDate;

/// The first advice where something goes wrong, as it stands to the list.
#[derive(Debug, Clone, PartialEq)]
pub enum Pressing {
    /// One key puts it on the list.
    Offered(String),
    /// It is on the list, with the step that comes next of it.
    Listed(String),
}

/// The advice as a sentence. Where a step is due, it is never only to be left alone.
pub fn sentence(row: &Row, advice: &Advice, unit: TemperatureUnit, today: NaiveDate) -> String {
    let alone = advice.action.sentence(unit);
    if advice.action != Action::LeaveAlone {
        return alone;
    }
    let due = row.next.as_ref().filter(|d| d.wants_hands());
    let reads = due.is_some_and(|d| d.kind == StepKind::Read);
    let wants = row.assessment.next_reading.as_ref();
    let reading = wants.is_some_and(|n| n.at.day() <= today) && !reads;
    let what = match (due, reading) {
        (Some(due), _) => due_words(due, today),
        (None, true) => "Today: take a gravity".into(),
        (None, false) => return alone,
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
