//! Holds of the batch: has it finished, is it sweet and alive, what was added.

use super::super::facts::Told;
use super::super::{Assessment, BottlingHold};
use super::Hold;
use super::hold::above_end;
use super::sugar::{left_over, present};
use super::treatment::Treatment;
use crate::domain::records::Style;
use crate::domain::sums::sulfite;
use crate::domain::units::{Gravity, MilligramsPerLitre, Moment, Volumes};

/// Gas from leftover sugar that a still bottle bears without harm
/// (half a volume is 0.001 SG; common practice, no source).
const HARMLESS: f64 = 1.0;
/// Distance from the end within which a ferment counts as ended (common practice, no source).
const NEAR_END: f64 = 0.004;
/// Days a sweetened batch is watched under the airlock (common practice, no source).
const HOLD_SWEETENED: i64 = 7;

/// Holds of the batch itself: those that no choice of gas or bottles changes.
pub(crate) fn batch_holds(
    style: Style,
    told: &Told,
    assessment: &Assessment,
    treatment: &Treatment,
    now: Moment,
) -> Vec<Hold> {
    let present = present(told, assessment);
    let mut holds = Vec::new();
    finish_holds(style, told, assessment, treatment, present, &mut holds);
    // What can't be worked out is taken as far too much.
    let left = left_over(style, told, present).unwrap_or(Volumes::clamped(Volumes::MAX));
    treatment_holds(style, treatment, false, left, now, &mut holds);
    holds
}

pub(super) fn finish_holds(
    style: Style,
    told: &Told,
    assessment: &Assessment,
    treatment: &Treatment,
    present: Option<Gravity>,
    holds: &mut Vec<Hold>,
) {
    if present.is_none() {
        holds.push(Hold::NoReadings);
    }
    // What was stabilised and has stood still since is kept by that from fermenting
    // on; where it stands beside a dry end says nothing.
    let steady = !assessment
        .bottling
        .holds
        .iter()
        .any(|h| matches!(h, BottlingHold::NotRepeated { .. }));
    let kept = treatment.stabilised() && steady;
    let counts = |h: &&BottlingHold| {
        !kept
            || !matches!(
                h,
                BottlingHold::LikelyToFall { .. } | BottlingHold::Stuck { .. }
            )
    };
    let finish = assessment.bottling.holds.iter().filter(counts);
    holds.extend(finish.copied().map(Hold::NotFinished));
    let sweetened = kept || treatment.sweetened.is_some() && treatment.stabilised();
    let end = told.facts.expected_fg;
    let above = match (present, end) {
        (Some(p), Some(e)) => p.get() - e.get() > NEAR_END,
        _ => false,
    };
    if above && !sweetened && !(style == Style::Beer && assessment.bottling.open()) {
        holds.extend(above_end(&assessment.evidence));
    }
}

pub(super) fn treatment_holds(
    style: Style,
    treatment: &Treatment,
    gassy: bool,
    left: Volumes,
    now: Moment,
    holds: &mut Vec<Hold>,
) {
    let sweet = style != Style::Beer && left.get() > HARMLESS;
    if sweet && !treatment.stabilised() {
        holds.push(Hold::SweetAndAlive { potential: left });
    }
    if let Some(at) = treatment.sweetened
        && now.days_since(at) < HOLD_SWEETENED as f64
    {
        holds.push(Hold::JustSweetened {
            at,
            days_wanted: HOLD_SWEETENED,
        });
    }
    if let Some(at) = treatment.sorbated {
        if gassy {
            holds.push(Hold::SorbateAndPriming { at });
        }
        if treatment.sulfited.is_none() {
            holds.push(Hold::SorbateAlone);
        }
    }
    if let (true, Some(at)) = (gassy, treatment.primed) {
        holds.push(Hold::PrimedTwice { at });
    }
    if treatment.total_so2 > sulfite::MOST_TOTAL_SO2 {
        holds.push(Hold::TooMuchSulfite {
            total: MilligramsPerLitre::clamped(treatment.total_so2),
        });
    }
}
