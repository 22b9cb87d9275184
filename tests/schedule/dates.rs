//! The dates of the one-gallon traditional mead.
//!
//! Expected dates: trade practice as told by makers (common practice, no source):
//! day 1 pitch and nutrient; day 2 and day 5 swirl two minutes and half a packet
//! of nutrient each; then a swirl every few days until day 20 at the latest; ten
//! full days undisturbed; bottle on day 30 if finished.

use crate::jug::{Jug, date, moment, says};
use skep::domain::records::{StepKind, StepStatus};
use skep::domain::units::batch_day;
use skep::engine::{FermentState, Standing, Timing, Waits};
use skep::files::routines;

const MEAD: &str = "one-gallon-traditional-mead";

/// (day, kind) of all steps, were each done on its day.
fn days(jug: &mut Jug) -> Vec<(i64, StepKind, String, Option<u32>, String)> {
    let pitched = jug.dossier().batch.pitched.unwrap();
    // On day 1 the ferment has not begun; on day 30 it is finished.
    let end = says(FermentState::Finished, 1.0, pitched.plus_days(29.0));
    for step in &mut jug.dossier().steps {
        if step.rule.kind != StepKind::Bottle && step.rule.kind != StepKind::Rest {
            step.status = StepStatus::Done { at: pitched };
        }
    }
    // Done on the day it was due, so that what hangs on it stands as planned.
    jug.done("swirl-20", "2026-03-19T07:00:00-07:00");
    let plan = jug.plan(&end);
    let steps = &jug.household.dossiers[0].steps;
    plan.placed
        .iter()
        .map(|p| {
            let rule = &steps[p.index].rule;
            (
                batch_day(pitched, p.opens),
                rule.kind,
                rule.amount.clone(),
                rule.countdown,
                rule.key.clone(),
            )
        })
        .collect()
}

#[test]
fn the_traditional_mead_has_exactly_these_days() {
    let mut jug = Jug::with(MEAD, "2026-02-28T20:30:00-08:00");
    let days = days(&mut jug);
    let of =
        |kind: StepKind| -> Vec<i64> { days.iter().filter(|d| d.1 == kind).map(|d| d.0).collect() };
    assert_eq!(of(StepKind::Pitch), [1]);
    assert_eq!(of(StepKind::Feed), [1]);
    assert_eq!(of(StepKind::SwirlFeed), [2, 5]);
    for d in days.iter().filter(|d| d.1 == StepKind::SwirlFeed) {
        assert_eq!(d.2, "half a packet of nutrient");
        assert_eq!(d.3, Some(120), "two minutes");
    }
    let swirls = of(StepKind::Swirl);
    assert_eq!(swirls.last(), Some(&20));
    assert!(
        swirls.windows(2).all(|w| (2..=4).contains(&(w[1] - w[0]))),
        "every few days: {swirls:?}"
    );
    assert!((2..=4).contains(&(swirls[0] - 5)));
    assert_eq!(of(StepKind::Rest), [20]);
    assert_eq!(of(StepKind::Bottle), [30]);
    // Nothing that disturbs it, nor a reading, in the ten days between.
    assert!(
        days.iter()
            .all(|d| !(21..30).contains(&d.0) || d.1 == StepKind::Rest)
    );
    // Shaken for a full minute before pitching; sanitiser works for a minute.
    let countdown = |key: &str| days.iter().find(|d| d.4 == key).unwrap().3;
    assert_eq!(countdown("shake"), Some(60));
    assert_eq!(countdown("clean"), Some(60));
    let keys: Vec<&str> = days.iter().map(|d| d.4.as_str()).collect();
    let at = |key: &str| keys.iter().position(|k| *k == key).unwrap();
    assert!(at("clean") < at("mix") && at("mix") < at("shake") && at("shake") < at("pitch"));
}

#[test]
fn the_amounts_are_those_of_the_trade() {
    let mead = routines::built_in(MEAD).unwrap();
    let amount = |key: &str| &mead.steps.iter().find(|s| s.key == key).unwrap().amount;
    assert_eq!(
        amount("mix"),
        "2.5 lb of honey, up to 3 lb, made up to one US gallon"
    );
    assert_eq!(amount("bottle"), "ten 12 fl oz bottles");
    assert_eq!(
        amount("clean"),
        "half a fluid ounce of acid no-rinse sanitiser in two and a half gallons of water"
    );
    assert!((mead.volume.us_gallons() - 1.0).abs() < 1e-12);
}

#[test]
fn the_days_are_local_days_over_a_clock_change() {
    // US clocks go forward on 8 March 2026, which is day 9.
    let jug = Jug::with(MEAD, "2026-02-28T23:50:00-08:00");
    let now = moment("2026-03-01T07:00:00-08:00");
    let says = says(FermentState::Lag, 0.0, now);
    for (key, day) in [
        ("swirl-feed-2", "2026-03-01"),
        ("swirl-feed-5", "2026-03-04"),
        ("swirl-8", "2026-03-07"),
        ("swirl-11", "2026-03-10"),
        ("swirl-20", "2026-03-19"),
        ("rest", "2026-03-19"),
        ("bottle", "2026-03-29"),
    ] {
        assert_eq!(jug.placed(key, &says).opens, date(day), "{key}");
    }
    let bottle = jug.placed("bottle", &says);
    assert!(bottle.forecast);
    assert_eq!(bottle.waits, Some(Waits::Finish));
}

#[test]
fn what_the_pitch_and_a_reading_settle_is_not_asked_for() {
    let mut jug = Jug::with(MEAD, "2026-02-28T20:30:00-08:00");
    let says = says(FermentState::Lag, 0.0, moment("2026-02-28T21:00:00-08:00"));
    for key in ["clean", "mix", "shake", "pitch"] {
        assert_eq!(jug.placed(key, &says).standing, Standing::Settled, "{key}");
    }
    assert_eq!(jug.placed("read-og", &says).standing, Standing::Open);
    assert_eq!(jug.placed("feed-1", &says).timing, Timing::InWindow);
    jug.gravity(1.095, "2026-02-28T20:00:00-08:00");
    assert_eq!(jug.placed("read-og", &says).standing, Standing::Settled);
}

#[test]
fn a_planned_batch_counts_from_its_planned_day() {
    use skep::domain::records::Stage;
    let mut jug = Jug::with(MEAD, "2026-02-28T20:30:00-08:00");
    let batch = &mut jug.dossier().batch;
    batch.stage = Stage::Planned;
    batch.pitched = None;
    batch.planned_day = Some(date("2026-03-05"));
    let says = says(FermentState::Lag, 0.0, moment("2026-03-01T09:00:00-08:00"));
    let mix = jug.placed("mix", &says);
    assert_eq!((mix.opens, mix.timing), (date("2026-03-05"), Timing::Soon));
    let feed = jug.placed("swirl-feed-2", &says);
    assert_eq!(
        (feed.opens, feed.waits),
        (date("2026-03-06"), Some(Waits::Pitch))
    );
}
