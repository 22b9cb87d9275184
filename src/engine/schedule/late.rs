//! How a step stands to its day, and what speaks against doing it.

use super::ground::plus;
use super::place::{Opening, Placed, Placer, Standing};
use super::{Rest, Timing, Warning};
use crate::domain::records::{Opens, StepKind, TooLate};
use crate::engine::flags::PastUse;
use chrono::NaiveDate;

/// Days for which a step past its use is still told (common practice, no source).
const TOLD_FOR: i64 = 3;

/// Last day of a batch on which a first gravity may pass for the original one:
/// later on sugar is gone (common practice, no source).
const ORIGINAL_UNTIL: i32 = 2;

impl Placer<'_> {
    pub(super) fn past_use(
        &self,
        index: usize,
        opens: NaiveDate,
        due: NaiveDate,
    ) -> Option<PastUse> {
        let step = self.step(index);
        let today = self.ground.today();
        self.ground.pitched()?;
        match step.rule.too_late {
            TooLate::Never if step.rule.kind == StepKind::Read && self.before_pitch(index) => {
                let last = self.ground.date_of(ORIGINAL_UNTIL);
                (today > last).then_some(PastUse::DayPast { last })
            }
            TooLate::Never => None,
            TooLate::SugarGone { share, abv } => {
                if let Some(gone) = self.ground.sugar_gone().filter(|g| *g >= share) {
                    return Some(PastUse::SugarGone { gone, limit: share });
                }
                let (now, limit) = self.ground.abv().zip(abv)?;
                (now >= limit).then_some(PastUse::Strong { abv: now, limit })
            }
            TooLate::Day { day } => {
                // A step that was moved takes its last day along.
                let moved = match (step.moved_to, &step.rule.opens) {
                    (Some(_), Opens::Day { day }) => {
                        (opens - self.ground.date_of(*day)).num_days().max(0)
                    }
                    _ => 0,
                };
                let last = plus(self.ground.date_of(day), moved - 1);
                (today > last).then_some(PastUse::DayPast { last })
            }
            TooLate::DaysAfterDue { days } => {
                let last = plus(due, i64::from(days));
                (today > last).then_some(PastUse::DayPast { last })
            }
        }
    }

    /// Whether a step has been past its use for so long that saying it once more
    /// would only hide what can still be done.
    pub(super) fn lapsed(&self, past_use: PastUse, overdue_after: NaiveDate) -> bool {
        let since = match past_use {
            PastUse::DayPast { last } => last.max(overdue_after),
            PastUse::SugarGone { .. } | PastUse::Strong { .. } => overdue_after,
        };
        self.ground.today() > plus(since, TOLD_FOR)
    }

    pub(super) fn timing(
        &self,
        index: usize,
        opening: Opening,
        due: NaiveDate,
        overdue_after: NaiveDate,
        past_use: Option<PastUse>,
    ) -> Timing {
        let today = self.ground.today();
        let rule = &self.step(index).rule;
        if past_use.is_some() {
            return Timing::TooLate;
        }
        let hands_off = opening.waits.is_some();
        if today < opening.day || hands_off {
            let ahead = (opening.day - today).num_days();
            return if ahead <= 7 {
                Timing::Soon
            } else {
                Timing::Later
            };
        }
        let held = rule.kind == StepKind::Bottle && !self.ground.holds.is_empty();
        if rule.kind == StepKind::Rest || held || today <= due {
            Timing::InWindow
        } else if today <= overdue_after {
            Timing::Late
        } else {
            Timing::Overdue
        }
    }

    pub(super) fn warning(&self, placed: &Placed, rest: Option<Rest>) -> Option<Warning> {
        if placed.standing != Standing::Open {
            return None;
        }
        if let Some(why) = placed.past_use {
            return Some(Warning::PastUse(why));
        }
        let kind = self.step(placed.index).rule.kind;
        let gate = &self.ground.assessment.bottling;
        if kind == StepKind::Bottle && !self.ground.holds.is_empty() {
            return Some(Warning::NotFinished {
                chance: (gate.refermentation.get() * 100.0).round() as u8,
                holds: self.ground.holds.len(),
            });
        }
        let rest = rest?;
        let instead = plus(self.ground.today(), rest.days);
        if kind.disturbs() && rest.under_way {
            return Some(Warning::BreaksRest {
                until: rest.until,
                instead,
            });
        }
        let late = matches!(placed.timing, Timing::Late | Timing::Overdue);
        (kind.disturbs() && late && self.hangs(rest, placed.index))
            .then_some(Warning::MovesRest { until: instead })
    }

    /// Whether the rest hangs on this step.
    pub(super) fn hangs(&self, rest: Rest, index: usize) -> bool {
        self.ground
            .dossier
            .steps
            .iter()
            .find(|s| s.id == rest.step)
            .is_some_and(|s| {
                matches!(&s.rule.opens, Opens::After { step, .. } if *step == self.step(index).rule.key)
            })
    }
}
