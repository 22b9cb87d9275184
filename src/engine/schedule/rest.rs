//! The rest before bottling, and what waits for it.

use super::ground::plus;
use super::place::{Opening, Placer};
use super::{Rest, Waits};
use crate::domain::records::{Opens, Stage, StepKind, StepStatus};
use chrono::NaiveDate;

impl Placer<'_> {
    /// Bottling, and what else is done at the end, waits for the rests before it.
    pub(super) fn waits_for_rests(&self, index: usize) -> bool {
        let rule = &self.step(index).rule;
        rule.kind == StepKind::Bottle
            || (rule.kind != StepKind::Rest
                && matches!(rule.opens, Opens::Finished { .. } | Opens::Stable { .. }))
    }

    /// Whether a step is bottling, or belongs to bottling day: its rule is the same.
    pub(super) fn bottling_day(&self, index: usize) -> bool {
        let rule = &self.step(index).rule;
        rule.kind == StepKind::Bottle
            || self
                .ground
                .dossier
                .steps
                .iter()
                .any(|s| s.rule.kind == StepKind::Bottle && s.rule.opens == rule.opens)
    }

    /// Bottling has no sure day while its gate is shut.
    pub(super) fn held(&self, opening: Opening) -> Opening {
        if self.ground.pitched().is_none() || self.ground.holds.is_empty() {
            return opening;
        }
        Opening {
            day: opening.day.max(self.ground.today()),
            forecast: true,
            waits: opening.waits.or(Some(Waits::Stable)),
        }
    }

    pub(super) fn after_rests(&mut self, bottle: usize, opening: Opening) -> Opening {
        let rests: Vec<usize> = (0..bottle)
            .filter(|&i| {
                let step = self.step(i);
                step.rule.kind == StepKind::Rest
                    && !matches!(step.status, StepStatus::Skipped { .. })
            })
            .collect();
        let mut latest = opening;
        for index in rests {
            let rest = self.opening(index);
            let (_, end) = self.rest_days(index, rest);
            if end > latest.day {
                latest = Opening {
                    day: end,
                    forecast: latest.forecast || rest.forecast,
                    waits: latest.waits.or(self.resting(end, rest)),
                };
            } else if rest.waits.is_some() {
                latest.forecast = true;
                latest.waits = latest.waits.or(Some(Waits::Rest));
            }
        }
        latest
    }

    /// A rest that is over holds nothing up.
    pub(super) fn resting(&self, end: NaiveDate, rest: Opening) -> Option<Waits> {
        (end > self.ground.today() || rest.waits.is_some()).then_some(Waits::Rest)
    }

    /// First and last day of a rest; whatever disturbs it begins it anew.
    pub(super) fn rest_days(&self, index: usize, opening: Opening) -> (NaiveDate, NaiveDate) {
        let start = if opening.waits.is_none() {
            self.ground
                .disturbed_since(opening.day)
                .map_or(opening.day, |d| d.max(opening.day))
        } else {
            opening.day
        };
        let length = i64::from(self.step(index).rule.window.max(0));
        (start, plus(start, length))
    }

    /// The rest that is under way, or the next one to come.
    pub(super) fn rest(&mut self) -> Option<Rest> {
        let candidates: Vec<usize> = (0..self.openings.len())
            .filter(|&i| {
                let step = self.step(i);
                step.rule.kind == StepKind::Rest
                    && !matches!(step.status, StepStatus::Skipped { .. })
            })
            .collect();
        candidates.into_iter().find_map(|index| {
            let opening = self.opening(index);
            let (start, end) = self.rest_days(index, opening);
            let today = self.ground.today();
            (today < end && self.ground.dossier.batch.stage < Stage::Bottled).then_some(Rest {
                step: self.step(index).id,
                from: start,
                until: end,
                under_way: opening.waits.is_none() && start <= today,
                days: i64::from(self.step(index).rule.window.max(0)),
            })
        })
    }
}
