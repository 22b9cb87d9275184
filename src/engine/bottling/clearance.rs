//! Holds of the batch: has it finished, is it sweet and alive, what was added.

use super::super::facts::{Addition, Known, Told};
use super::super::{Assessment, BottlingHold};
use super::Hold;
use super::hold::above_end;
use super::sugar::{left_over, present};
use super::treatment::Treatment;
use crate::domain::records::Style;
use crate::domain::sums::sulfite;
use crate::domain::units::{Gravity, Litres, MilligramsPerLitre, Moment, Volumes};

/// Gas from leftover sugar that a still bottle bears without harm
/// (half a volume is 0.001 SG; common practice, no source).
const HARMLESS: f64 = 1.0;
/// Distance from the end within which a ferment counts as ended (common practice, no source).
const NEAR_END: f64 = 0.004;
/// Highest gravity at which a mead or cider with sugar within its yeast's tolerance ends:
/// 0.994 to 1.000 (common practice, no source).
const DRY: f64 = 1.000;
/// Days of rest under the airlock after something went in: those over which readings must
/// be steady (common practice, no source).
const REST: i64 = 7;
/// The same for beer (common practice, no source).
const REST_OF_BEER: i64 = 3;
/// The same after fruit, which gives its sugar over 5 to 10 days (common practice, no
/// source).
const REST_ON_FRUIT: i64 = 10;
/// Sugar that an addition may bring without closing bottling, g/L: a quarter of a volume
/// of gas.
const HARDLY_SWEET: f64 = 0.5;
/// Share of the volume that may be thinned without closing bottling (common practice, no
/// source).
const HARDLY_THINNED: f64 = 0.05;

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
    holds.extend(addition_hold(style, told, now));
    let sweet = sweetness(style, told, present, left);
    treatment_holds(treatment, false, sweet, &mut holds);
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

/// Gas that the sugar of a sweet drink could make; `None` where it is dry, or beer that
/// nothing was added to.
pub(super) fn sweetness(
    style: Style,
    told: &Told,
    present: Option<Gravity>,
    left: Volumes,
) -> Option<Volumes> {
    let added = told
        .last
        .is_some_and(|l| told.additions.iter().any(|a| a.at >= l.at && a.sweetens()));
    let dry = told.facts.expected_fg.map_or(DRY, Gravity::get).min(DRY) + NEAR_END;
    let ended_dry = present.is_some_and(|p| p.get() <= dry + 1e-9);
    let sweet = left.get() > HARMLESS && (added || style != Style::Beer && !ended_dry);
    sweet.then_some(left)
}

/// The addition that closes bottling longest: no reading was taken yet once it had rested.
pub(super) fn addition_hold(style: Style, told: &Told, now: Moment) -> Option<Hold> {
    let read = told.gravities.last().map(|(at, _)| at.day());
    let rest = |a: &Addition| match style {
        _ if a.slow => REST_ON_FRUIT,
        Style::Beer => REST_OF_BEER,
        Style::Mead | Style::Cider => REST,
    };
    let until = |a: &Addition| a.at.plus_days(rest(a) as f64).day();
    let open = |a: &&Addition| a.at <= now && closes(a) && read.is_none_or(|read| read < until(a));
    let last = told
        .additions
        .iter()
        .filter(open)
        .max_by_key(|a| until(a))?;
    Some(Hold::Added {
        what: last.what.clone(),
        at: last.at,
        days_wanted: rest(last),
        known: last.known,
    })
}

/// Whether an addition changes the drink enough to ferment on or to wake its yeast.
fn closes(addition: &Addition) -> bool {
    let Some(before) = addition.before.map(Litres::get).filter(|v| *v > 0.0) else {
        return true;
    };
    let more = addition.lot.seen().map_or(0.0, |seen| seen.volume.get());
    addition.known == Known::NoAmount
        || addition.most_sugar.get() / before > HARDLY_SWEET
        || more / before > HARDLY_THINNED
}

pub(super) fn treatment_holds(
    treatment: &Treatment,
    gassy: bool,
    sweet: Option<Volumes>,
    holds: &mut Vec<Hold>,
) {
    if let Some(potential) = sweet.filter(|_| !treatment.stabilised()) {
        holds.push(Hold::SweetAndAlive {
            potential,
            why: treatment.weak,
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
