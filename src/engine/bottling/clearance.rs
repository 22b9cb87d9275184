//! Holds of the batch: has it finished, is it sweet and alive, what was added.

use super::super::Assessment;
use super::super::facts::Told;
use super::Hold;
use super::hold::above_end;
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
    holds.extend(
        assessment
            .bottling
            .holds
            .iter()
            .copied()
            .map(Hold::NotFinished),
    );
    // Once sweetened on purpose and made safe, the old end says nothing.
    let sweetened = treatment.sweetened.is_some() && treatment.stabilised();
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
