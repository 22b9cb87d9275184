//! What is still to do, and what is settled without being marked.

use super::place::{Opening, Placed, Placer, Standing};
use crate::domain::records::{Opens, Stage, StepKind, StepStatus};
use crate::domain::units::Moment;

impl Placer<'_> {
    pub(super) fn standing(&self, index: usize, opening: Opening) -> Standing {
        let step = self.step(index);
        match step.status {
            StepStatus::Done { .. } => return Standing::Done,
            StepStatus::Skipped { .. } => return Standing::Skipped,
            StepStatus::Open => {}
        }
        if self.settled(index, opening) {
            Standing::Settled
        } else if self.moot(step.rule.kind, index) {
            Standing::Moot
        } else {
            Standing::Open
        }
    }

    pub(super) fn settled(&self, index: usize, opening: Opening) -> bool {
        let rule = &self.step(index).rule;
        let before_pitch = self.before_pitch(index);
        let pitched = self.ground.pitched().is_some();
        match rule.kind {
            StepKind::Read if before_pitch => self.ground.og_measured(),
            StepKind::Read => {
                pitched
                    && opening.day <= self.ground.today()
                    && self
                        .ground
                        .gravity_read_for(self.step(index), opening.day)
                        .is_some()
            }
            StepKind::Rest => {
                let bottled = self.ground.dossier.batch.bottled.map(Moment::day);
                let until = bottled.map_or(self.ground.today(), |b| b.min(self.ground.today()));
                opening.waits.is_none() && until >= self.rest_days(index, opening).1
            }
            StepKind::Bottle => self.ground.dossier.batch.stage >= Stage::Bottled,
            StepKind::Feed | StepKind::SwirlFeed => false,
            _ => pitched && before_pitch,
        }
    }

    /// Whether a step belongs before the yeast.
    pub(super) fn before_pitch(&self, index: usize) -> bool {
        let rule = &self.step(index).rule;
        matches!(rule.opens, Opens::Day { day } if day < 1)
            || (matches!(rule.opens, Opens::Day { day: 1 })
                && self.ground.pitch_order().is_some_and(|o| rule.order <= o))
    }

    /// What is past with the ferment is past.
    pub(super) fn moot(&self, kind: StepKind, index: usize) -> bool {
        use StepKind as K;
        let wakes_yeast = matches!(
            kind,
            K::Swirl | K::Feed | K::SwirlFeed | K::Aerate | K::Cap | K::Pitch
        );
        let before_bottles = self
            .ground
            .dossier
            .steps
            .iter()
            .position(|s| s.rule.kind == K::Bottle)
            .is_none_or(|b| index < b);
        match self.ground.dossier.batch.stage {
            Stage::Planned | Stage::Fermenting => false,
            Stage::Resting | Stage::Ageing => wakes_yeast,
            Stage::Bottled => before_bottles,
            Stage::Closed => true,
        }
    }

    /// Of several readings, swirls or cap-wettings whose day has come, only the
    /// newest is still wanted; one that was done or left out has taken the place
    /// of those before it too.
    pub(super) fn replace_older(&self, placed: &mut [Placed]) {
        let today = self.ground.today();
        for kind in [StepKind::Read, StepKind::Swirl, StepKind::Cap] {
            let newest = placed
                .iter()
                .filter(|p| self.step(p.index).rule.kind == kind)
                .filter(|p| p.opens <= today || p.standing == Standing::Done)
                .filter(|p| takes_place(p.standing))
                .map(|p| (p.opens, p.index))
                .max();
            let Some(newest) = newest else { continue };
            let older = placed
                .iter_mut()
                .filter(|p| matches!(p.standing, Standing::Open | Standing::Lapsed))
                .filter(|p| p.opens <= today && (p.opens, p.index) < newest)
                .filter(|p| self.step(p.index).rule.kind == kind);
            for step in older {
                step.standing = Standing::Replaced;
            }
        }
    }
}

/// Whether a step stands for those of its kind before it.
fn takes_place(standing: Standing) -> bool {
    matches!(
        standing,
        Standing::Open | Standing::Done | Standing::Skipped | Standing::Settled
    )
}
