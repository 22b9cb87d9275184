//! Sugar still present in a batch, and the gas that it could make.

use super::super::facts::Told;
use super::super::{Assessment, OriginalGravity};
use crate::domain::records::Style;
use crate::domain::sums::carbonation::{self, Drink};
use crate::domain::sums::{SumError, finish};
use crate::domain::units::{Abv, GramsPerLitre, Gravity, Moment, Share, Volumes};

/// The drink's alcohol and sugar, for sums of gas.
pub fn drink_in(told: &Told, assessment: &Assessment) -> Drink {
    drink(assessment, present(told, assessment))
}

/// Gravity now: the last reading, with all that went in since.
pub(super) fn present(told: &Told, assessment: &Assessment) -> Option<Gravity> {
    told.last
        .and_then(|_| Some(told.balance(assessment.now)?.gravity))
        .or(assessment.gravity_now.map(|g| g.p50))
}

/// Gas that the sugar left could still make. Dextrins of malt don't ferment,
/// so beer ends where it was planned; honey and fruit could go dry. What went in
/// since the last reading counts by its mass.
pub(super) fn left_over(
    style: Style,
    told: &Told,
    present: Option<Gravity>,
) -> Result<Volumes, SumError> {
    let since = |at: Moment| told.last.is_none_or(|read| read.at <= at);
    let last = told.additions.last().filter(|last| since(last.at));
    let added = last.and_then(|last| told.balance(last.at));
    if let Some(balance) = added.filter(|b| !b.added.is_empty()) {
        return Ok(balance.gas);
    }
    let (Some(og), Some(present)) = (told.facts.og.map(OriginalGravity::gravity), present) else {
        return Ok(Volumes::known(0.0));
    };
    let lowest = lowest_of(style, told, og)?;
    if present <= lowest {
        return Ok(Volumes::known(0.0));
    }
    // A sweetened drink may stand above its own original gravity's share: the
    // sum then takes the present as the start, which gives the same sugar.
    let start = if og > present { og } else { present };
    carbonation::still_to_come(start, present, lowest)
}

/// The lowest gravity that a drink could still ferment to.
pub(crate) fn lowest(told: &Told, original: Option<Gravity>) -> Option<Gravity> {
    let style = match told.facts.style {
        crate::engine::Style::Mead => Style::Mead,
        crate::engine::Style::Cider => Style::Cider,
        crate::engine::Style::Beer => Style::Beer,
    };
    lowest_of(style, told, original?).ok()
}

fn lowest_of(style: Style, told: &Told, original: Gravity) -> Result<Gravity, SumError> {
    let share = match style {
        Style::Beer => finish::WORT_SHARE,
        Style::Mead | Style::Cider => finish::DRY_SHARE,
    };
    let dry = finish::finish(original, Share::clamped(share), None)?.gravity;
    Ok(match (style, told.facts.expected_fg) {
        (Style::Beer, Some(planned)) if planned < dry => planned,
        _ => dry,
    })
}

pub(super) fn drink(assessment: &Assessment, present: Option<Gravity>) -> Drink {
    let alcohol = assessment
        .alcohol
        .as_ref()
        .map_or(Abv::known(12.0), |a| a.now.p50);
    // Each 0.001 above a dry 0.995 is about 2.6 g/L of sugar (derived from the
    // density of sucrose solutions).
    let sugar = present.map_or(0.0, |g| (g.get() - 0.995).max(0.0) * 2600.0);
    Drink {
        alcohol: Abv::clamped(alcohol.get().min(20.0)),
        sugar: GramsPerLitre::clamped(sugar.min(200.0)),
    }
}
