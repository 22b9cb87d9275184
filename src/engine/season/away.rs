//! Days away: what to do before, what falls meanwhile, what is safe to leave.

use super::layout::plus;
use crate::domain::records::{Away, StepId, StepKind};
use crate::engine::Due;
use chrono::NaiveDate;

/// What to do about one step that meets days away.
#[derive(Debug, Clone, PartialEq)]
pub enum Advice {
    /// Do it before leaving.
    Before {
        /// On that day at the latest.
        by: NaiveDate,
    },
    /// It can wait until after the return without harm.
    Wait {
        /// First day back.
        until: NaiveDate,
    },
    /// It falls meanwhile and can be done neither before nor after in time.
    Missed {
        /// What that does.
        harm: String,
        /// How harmful, 0 to 3.
        weight: u8,
    },
    /// It asks for nothing: the batch lies still.
    Still,
}

/// One step that meets days away.
#[derive(Debug, Clone, PartialEq)]
pub struct Meeting {
    /// Which step.
    pub step: StepId,
    /// Tag of its vessel.
    pub tag: String,
    /// Its one line.
    pub title: String,
    /// Its day.
    pub opens: NaiveDate,
    /// What to do.
    pub advice: Advice,
}

impl Meeting {
    /// As a sentence.
    pub fn sentence(&self) -> String {
        let day = |d: NaiveDate| d.format("%-d %b").to_string();
        let what = if self.tag.is_empty() {
            self.title.clone()
        } else {
            format!("{}: {}", self.tag, self.title)
        };
        match &self.advice {
            Advice::Before { by } => format!("{what}: do it before you leave, by {}.", day(*by)),
            Advice::Wait { until } => {
                format!("{what}: can wait until you are back on {}.", day(*until))
            }
            Advice::Missed { harm, weight } if *weight >= 2 => format!(
                "{what}: falls on {} while you are away. {harm} Ask someone, or leave later.",
                day(self.opens)
            ),
            Advice::Missed { harm, .. } => format!(
                "{what}: falls on {} while you are away; leave it out. {harm}",
                day(self.opens)
            ),
            Advice::Still => format!("{what}: nothing to do, it lies still."),
        }
    }

    /// The day to move the step to, where moving it helps.
    pub fn move_to(&self) -> Option<NaiveDate> {
        match self.advice {
            Advice::Before { by } if by != self.opens => Some(by),
            Advice::Wait { until } => Some(until),
            _ => None,
        }
    }
}

/// All that meets days away, what must be done first before what can wait.
pub fn meetings(away: &Away, dues: &[Due], today: NaiveDate) -> Vec<Meeting> {
    let mut found: Vec<Meeting> = dues
        .iter()
        .filter(|d| d.opens <= away.to && d.overdue_after.max(d.due) >= away.from)
        .filter(|d| d.timing != crate::engine::Timing::TooLate)
        .filter_map(|d| meeting(away, d, today))
        .collect();
    let order = |m: &Meeting| match m.advice {
        Advice::Missed { weight, .. } if weight >= 2 => 0,
        Advice::Before { .. } => 1,
        Advice::Missed { .. } => 2,
        Advice::Wait { .. } => 3,
        Advice::Still => 4,
    };
    found.sort_by_key(|m| (order(m), m.opens));
    found
}

fn meeting(away: &Away, due: &Due, today: NaiveDate) -> Option<Meeting> {
    let back = plus(away.to, 1);
    let leaving = plus(away.from, -1);
    let advice = if due.kind == StepKind::Rest {
        Advice::Still
    } else if due.overdue_after >= back {
        // In time after the return: only worth a word where its day falls meanwhile.
        if due.opens < away.from && due.due < away.from {
            return None;
        }
        Advice::Wait { until: back }
    } else if due.opens <= leaving && leaving >= today {
        Advice::Before {
            by: leaving.min(due.overdue_after),
        }
    } else {
        Advice::Missed {
            harm: due.harm.clone(),
            weight: due.weight,
        }
    };
    Some(Meeting {
        step: due.step,
        tag: due.tag.clone(),
        title: due.title.clone(),
        opens: due.opens,
        advice,
    })
}

/// What to look after at each vessel before leaving, whatever its steps say.
pub const BEFORE_LEAVING: &[&str] = &[
    "Fill every airlock halfway; it dries out while you are away.",
    "No vessel that still ferments is closed tight, and none is full to the bung.",
    "Keep the closet at its usual temperature; leave its door ajar.",
];
