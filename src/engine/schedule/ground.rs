//! What the placing of steps stands on: the batch, its readings, today.

use crate::domain::records::{Dossier, Event, EventKind, Stage, Step, StepKind, StepStatus};
use crate::domain::sums::alcohol;
use crate::domain::units::{Abv, Gravity, Moment, Share};
use crate::engine::bottling::Hold;
use crate::engine::facts::Told;
use crate::engine::followup::advised_at;
use crate::engine::{Assessment, FermentState, Figures, Headline, OriginalGravity};
use chrono::{NaiveDate, TimeDelta};

/// A day so many days on; stays where the calendar ends.
pub(super) fn plus(day: NaiveDate, days: i64) -> NaiveDate {
    TimeDelta::try_days(days)
        .and_then(|d| day.checked_add_signed(d))
        .unwrap_or(day)
}

/// One batch as the schedule sees it.
#[derive(Debug, Clone, Copy)]
pub struct Ground<'a> {
    /// What was written down of it.
    pub dossier: &'a Dossier,
    /// What the engine was told of it.
    pub told: &'a Told,
    /// What the engine says of it.
    pub assessment: &'a Assessment,
    /// Its gravities and alcohol.
    pub figures: &'a Figures,
    /// Why it may not be bottled.
    pub holds: &'a [Hold],
    /// The moment that it is meant for.
    pub now: Moment,
}

impl Ground<'_> {
    pub(super) fn today(&self) -> NaiveDate {
        self.now.day()
    }

    /// Whether yeast is in.
    pub(super) fn pitched(&self) -> Option<Moment> {
        let batch = &self.dossier.batch;
        (batch.stage != Stage::Planned)
            .then_some(batch.pitched)
            .flatten()
    }

    /// Day 1: of the pitch, else as planned but not before today.
    pub(super) fn day_one(&self) -> NaiveDate {
        match self.pitched() {
            Some(at) => at.day(),
            None => self
                .dossier
                .batch
                .planned_day
                .map_or(self.today(), |d| d.max(self.today())),
        }
    }

    /// The calendar day of a batch day.
    pub(super) fn date_of(&self, day: i32) -> NaiveDate {
        plus(self.day_one(), i64::from(day) - 1)
    }

    pub(super) fn finished(&self) -> bool {
        matches!(
            self.assessment.headline,
            Headline::Clear(FermentState::Finished)
        ) || matches!(self.dossier.batch.stage, Stage::Ageing | Stage::Bottled)
    }

    pub(super) fn stuck(&self) -> bool {
        matches!(
            self.assessment.headline,
            Headline::Clear(FermentState::Stuck)
        )
    }

    /// Share of the sugar gone, in the middle. Nothing is claimed without a
    /// reading since the pitch.
    pub(super) fn sugar_gone(&self) -> Option<Share> {
        self.told.read_since_pitch().then_some(())?;
        self.figures.fermented
    }

    /// Alcohol now in % vol, in the middle; nothing without a reading either.
    pub(super) fn abv(&self) -> Option<f64> {
        self.told.read_since_pitch().then_some(())?;
        self.figures.alcohol.map(Abv::get)
    }

    /// The day on which this share of the sugar was or will be gone, and
    /// whether that lies ahead.
    pub(super) fn share_reached(&self, share: Share) -> Option<(NaiveDate, bool)> {
        let gone = self.sugar_gone()?;
        let (og, end) = self.figures.original.zip(self.figures.expected_end)?;
        let target = alcohol::gravity_at_share(og, end, share).ok()?;
        if gone >= share {
            return Some((self.first_at_or_below(target), false));
        }
        self.assessment
            .curve
            .iter()
            .find(|p| p.at > self.now && p.gravity.p50 <= target)
            .map(|p| (p.at.day().max(self.today()), true))
    }

    fn first_at_or_below(&self, target: Gravity) -> NaiveDate {
        self.assessment
            .curve
            .iter()
            .find(|p| p.at <= self.now && p.gravity.p50 <= target)
            .map_or(self.today(), |p| p.at.day())
    }

    /// Since when gravity has stood still (within 0.001), and until which
    /// reading that is known; needs two readings.
    pub(super) fn steady(&self) -> Option<(Moment, Moment)> {
        let (last_at, last) = *self.told.gravities.last()?;
        let since = self
            .told
            .gravities
            .iter()
            .rev()
            .take_while(|(_, g)| (g.get() - last.get()).abs() <= 0.001 + 1e-9)
            .last()?
            .0;
        (since < last_at).then_some((since, last_at))
    }

    /// The first local day with a gravity reading, from a day on. Of a step that came of
    /// advice only what was read after it counts.
    pub(super) fn gravity_read_for(&self, step: &Step, from: NaiveDate) -> Option<NaiveDate> {
        let after = advised_at(&step.rule.key);
        let counts = |at: &Moment| {
            let time = at.datetime().time();
            at.day() > from || at.day() == from && after.is_none_or(|after| time > after)
        };
        let mut read = self.told.gravities.iter().map(|(at, _)| *at);
        read.find(counts).map(Moment::day)
    }

    /// Whether the original gravity was measured.
    pub(super) fn og_measured(&self) -> bool {
        matches!(self.told.facts.og, Some(OriginalGravity::Measured(_)))
    }

    /// Order of the pitch within its day.
    pub(super) fn pitch_order(&self) -> Option<i32> {
        self.dossier
            .steps
            .iter()
            .filter(|s| s.rule.kind == StepKind::Pitch)
            .map(|s| s.rule.order)
            .min()
    }

    /// Since when the maker has left it alone: as said, else the last disturbance.
    pub(super) fn left_alone_since(&self) -> Option<NaiveDate> {
        let said = self
            .dossier
            .events
            .iter()
            .filter(|e| e.at <= self.now && e.kind == EventKind::Stage)
            .map(|e| e.at.day())
            .max();
        said.or_else(|| self.disturbed_since(NaiveDate::MIN))
    }

    /// The last day on or after `from` on which the batch was disturbed.
    pub(super) fn disturbed_since(&self, from: NaiveDate) -> Option<NaiveDate> {
        let steps = self.dossier.steps.iter().filter_map(disturbing_step);
        let events = self
            .dossier
            .events
            .iter()
            .filter(|e| e.at <= self.now)
            .filter_map(disturbing_event);
        steps.chain(events).filter(|day| *day >= from).max()
    }
}

fn disturbing_step(step: &Step) -> Option<NaiveDate> {
    match step.status {
        StepStatus::Done { at } if step.rule.kind.disturbs() => Some(at.day()),
        _ => None,
    }
}

fn disturbing_event(event: &Event) -> Option<NaiveDate> {
    matches!(
        event.kind,
        EventKind::Degas
            | EventKind::Rouse
            | EventKind::Aerate
            | EventKind::Feed
            | EventKind::Sugar
            | EventKind::Fruit
            | EventKind::Flavour
            | EventKind::Water
            | EventKind::TopUp
            | EventKind::Rack
            | EventKind::Split
            | EventKind::Blend
            | EventKind::Carry
    )
    .then(|| event.at.day())
}
