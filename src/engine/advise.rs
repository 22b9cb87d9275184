//! What to do, in the order of practice: one thing at a time, then read again.

use super::assess::Teller;
use super::causes::{ACID, last_ph};
use super::evidence::Reasons;
use super::outlook::band_high;
use super::{
    Action, Advice, Assessment, Avoid, Cause, EventKind, FermentState, FollowUp, Headline,
};
use crate::domain::units::{Celsius, CelsiusDelta};

/// Probability of being stuck from which the ladder of practice is climbed.
const LADDER: f64 = 0.5;
/// Probability from which another look is advised.
const LOOK: f64 = 0.15;
/// Practice: no ammonium past a third of the sugar or 9 % vol.
const BREAK: f64 = 1.0 / 3.0;
/// Days after pitching from which feeding is late (common practice, no source).
const LATE: f64 = 7.0;
/// See [`BREAK`].
const AMMONIUM_ABV: f64 = 9.0;
/// Practice: dilute only a very strong must, and early.
const DILUTE: f64 = 1.125;
/// Practice: never above this.
const WARMEST: f64 = 27.0;
/// Practice: heat harms from here.
const TOO_HOT: f64 = 30.0;

/// The advice, first thing first.
pub(crate) fn advise(t: &Teller<'_>, said: &Assessment, reasons: &Reasons) -> Vec<Advice> {
    let mut out = Vec::new();
    let here = t.gathered.clock.temperature(t.gathered.now);
    if here >= TOO_HOT {
        let to = Celsius::clamped(band_high(t));
        out.push(one(Action::Cool { to }, Some(Cause::Heat), 1));
    }
    if t.gathered.counted == 0 {
        out.push(one(Action::TakeReading, None, 0));
        return out;
    }
    let stuck = said.stuck.probability.get().max(t.picture.soon_stuck);
    if stuck >= LADDER {
        ladder(t, said, reasons, here, &mut out);
        avoid(reasons, &mut out);
        return out;
    }
    if t.picture.unseen {
        out.push(one(Action::TakeReading, None, 0));
        return out;
    }
    if stuck >= LOOK {
        if matches!(said.headline, Headline::Clear(FermentState::Finished)) {
            out.push(one(Action::ForcedTest, None, 3));
        } else {
            out.push(one(Action::TakeReading, None, wait(said, t)));
        }
    }
    match said.headline {
        Headline::Clear(FermentState::Finished) => out.push(one(Action::ConfirmEnd, None, 3)),
        _ => out.push(one(Action::LeaveAlone, None, wait(said, t))),
    }
    out
}

fn wait(said: &Assessment, t: &Teller<'_>) -> u16 {
    said.next_reading.map_or(3, |n| {
        n.at.days_since(t.now).round().clamp(1.0, 14.0) as u16
    })
}

fn one(action: Action, answers: Option<Cause>, days: u16) -> Advice {
    Advice {
        action,
        answers,
        avoid: Vec::new(),
        follow_up: Some(FollowUp {
            action,
            read_again_in_days: days,
        }),
    }
}

/// Practice's ladder; rungs that were tried since it stopped, or that do not
/// apply, are left out.
fn ladder(t: &Teller<'_>, said: &Assessment, reasons: &Reasons, here: f64, out: &mut Vec<Advice>) {
    let unsure = said
        .suspicious
        .iter()
        .any(|s| s.index + 1 == t.readings.len());
    if reasons.level < 3 || unsure {
        out.push(one(Action::MeasureAgain, Some(Cause::WrongReading), 1));
    }
    let tolerance = t.facts.yeast.tolerance;
    if tolerance.is_none_or(|l| reasons.abv.get() > l.get() - 3.0) && reasons.abv.get() > 3.0 {
        let action = Action::CompareWithTolerance {
            abv: reasons.abv,
            tolerance,
        };
        out.push(one(action, Some(Cause::AlcoholLimit), 0));
    }
    let goal = (0.5 * (reasons.low + band_high(t)) + 1.0)
        .min(band_high(t))
        .min(WARMEST - 1.0);
    if here < goal - 0.75 {
        let action = Action::Warm {
            by: CelsiusDelta::clamped(goal - here),
            to: Celsius::clamped(goal),
        };
        out.push(one(action, Some(Cause::Cold), 3));
    }
    if !done_since(t, reasons.stopped, EventKind::Roused) {
        out.push(one(Action::Rouse, Some(Cause::SettledYeast), 2));
    }
    feed(t, reasons, out);
    acidity(t, out);
    let og = t.picture.mean_og() + t.prior.reference;
    if og > DILUTE && reasons.gone < BREAK {
        out.push(one(Action::Dilute, Some(Cause::TooMuchSugar), 3));
    }
    let finished = t.facts.expected_fg.is_none() || reasons.gone > 0.85;
    if finished && reasons.gone > 0.5 {
        out.push(one(Action::ForcedTest, None, 3));
    }
    let answers = (reasons.gone < 0.1).then_some(Cause::FewCells);
    out.push(one(Action::Repitch, answers, 4));
    out.push(one(Action::Accept, None, 7));
}

fn feed(t: &Teller<'_>, reasons: &Reasons, out: &mut Vec<Advice>) {
    let ammonium = reasons.gone < BREAK && reasons.abv.get() < AMMONIUM_ABV;
    if reasons.gone < BREAK || reasons.abv.get() < AMMONIUM_ABV {
        let action = Action::Feed {
            ammonium,
            late: !ammonium && t.gathered.now > LATE,
        };
        out.push(one(action, Some(Cause::LowNitrogen), 3));
    } else {
        out.push(one(Action::AddHulls, Some(Cause::LowNitrogen), 3));
    }
}

fn acidity(t: &Teller<'_>, out: &mut Vec<Advice>) {
    match last_ph(t) {
        None => out.push(one(Action::MeasureAcidity, Some(Cause::Acid), 0)),
        Some(ph) if ph.get() < ACID => out.push(one(Action::RaisePh { ph }, Some(Cause::Acid), 2)),
        Some(_) => {}
    }
}

fn done_since(t: &Teller<'_>, stopped: f64, kind: EventKind) -> bool {
    t.facts
        .events
        .iter()
        .any(|e| e.kind == kind && e.at.days_since(t.gathered.pitched) >= stopped && e.at <= t.now)
}

/// What not to do, said with the step where one might do it.
fn avoid(reasons: &Reasons, out: &mut [Advice]) {
    for (i, advice) in out.iter_mut().enumerate() {
        if i == 0 {
            advice
                .avoid
                .extend([Avoid::Bottling, Avoid::TwoChangesAtOnce, Avoid::AddingSugar]);
        }
        match advice.action {
            Action::MeasureAgain => advice.avoid.push(Avoid::BelievingAirlock),
            Action::Warm { .. } => advice.avoid.push(Avoid::Overheating),
            Action::Rouse => advice.avoid.push(Avoid::Splashing),
            Action::Feed { .. } | Action::AddHulls if reasons.gone >= BREAK => {
                advice.avoid.push(Avoid::LateAmmonium);
            }
            Action::Repitch => advice.avoid.push(Avoid::SprinklingYeast),
            Action::Accept => advice.avoid.push(Avoid::Sealing),
            _ => {}
        }
    }
}
