//! Steps that hang on another follow it.

use crate::jug::{Jug, date, moment, same, says};
use skep::domain::records::{Opens, StepKind};
use skep::domain::units::Gravity;
use skep::engine::{CurvePoint, FermentState, Standing, Timing, Waits, Warning};

const MEAD: &str = "one-gallon-traditional-mead";
const PITCHED: &str = "2026-04-01T19:00:00-07:00";

fn finished(now: &str) -> skep::engine::Assessment {
    says(FermentState::Finished, 1.0, moment(now))
}

#[test]
fn a_late_last_swirl_moves_the_rest_and_bottling() {
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.done("swirl-20", "2026-04-23T08:00:00-07:00"); // day 23
    let says = finished("2026-04-24T08:00:00-07:00");
    let rest = jug.plan(&says).rest.unwrap();
    assert_eq!(
        (rest.from, rest.until),
        (date("2026-04-23"), date("2026-05-03"))
    );
    assert!(rest.under_way);
    let bottle = jug.placed("bottle", &says);
    assert_eq!(bottle.opens, date("2026-05-03"));
    assert_eq!(bottle.waits, Some(Waits::Rest));
    let read = jug.placed("read-30", &says);
    assert_eq!(read.opens, date("2026-05-03"));
}

#[test]
fn an_early_last_swirl_does_not_bring_bottling_before_day_30() {
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.done("swirl-20", "2026-04-18T08:00:00-07:00"); // day 18
    let says = finished("2026-04-29T08:00:00-07:00");
    assert_eq!(jug.placed("rest", &says).standing, Standing::Settled);
    assert_eq!(jug.placed("bottle", &says).opens, date("2026-04-30"));
}

#[test]
fn moving_the_last_swirl_moves_what_hangs_on_it() {
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.step("swirl-20").moved_to = Some(date("2026-04-22"));
    let says = says(
        FermentState::Slowing,
        0.9,
        moment("2026-04-15T08:00:00-07:00"),
    );
    assert_eq!(jug.placed("swirl-20", &says).opens, date("2026-04-22"));
    let rest = jug.placed("rest", &says);
    assert_eq!(rest.opens, date("2026-04-22"));
    assert!(rest.forecast, "the swirl is not done yet");
    assert_eq!(jug.placed("bottle", &says).opens, date("2026-05-02"));
}

#[test]
fn a_skipped_last_swirl_lets_the_rest_begin_on_its_day() {
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.skip("swirl-20", "2026-04-21T08:00:00-07:00");
    let says = finished("2026-04-22T08:00:00-07:00");
    let rest = jug.plan(&says).rest.unwrap();
    assert_eq!(
        (rest.from, rest.until),
        (date("2026-04-20"), date("2026-04-30"))
    );
}

#[test]
fn a_forgotten_last_swirl_is_given_up_and_does_not_hold_bottling_for_ever() {
    let jug = Jug::with(MEAD, PITCHED);
    let says = finished("2026-04-26T08:00:00-07:00"); // day 26
    assert_eq!(jug.placed("swirl-20", &says).timing, Timing::TooLate);
    let rest = jug.plan(&says).rest.unwrap();
    assert_eq!(
        (rest.from, rest.until),
        (date("2026-04-20"), date("2026-04-30"))
    );
    assert_eq!(jug.placed("bottle", &says).opens, date("2026-04-30"));
}

#[test]
fn what_disturbs_the_rest_is_warned_of_and_begins_it_anew() {
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.done("swirl-20", "2026-04-20T08:00:00-07:00");
    let says = finished("2026-04-24T08:00:00-07:00");
    let plan = jug.plan(&says);
    let breaks = Warning::BreaksRest {
        until: date("2026-04-30"),
        instead: date("2026-05-04"),
    };
    assert_eq!(plan.breaks(StepKind::Swirl, says.now), Some(breaks.clone()));
    assert_eq!(plan.breaks(StepKind::Read, says.now), None);
    assert_eq!(
        breaks.sentence(),
        "Leave it alone until 30 April: doing this today makes it rest until 4 May."
    );
    // An older swirl still open is warned of the same way.
    assert_eq!(jug.placed("swirl-17", &says).timing, Timing::TooLate);
    jug.step("swirl-17").moved_to = Some(date("2026-04-24"));
    assert_eq!(jug.placed("swirl-17", &says).warning, Some(breaks));
    // Done all the same: ten full days from there.
    jug.done("swirl-17", "2026-04-24T09:00:00-07:00");
    let rest = jug.plan(&says).rest.unwrap();
    assert_eq!(rest.until, date("2026-05-04"));
    assert_eq!(jug.placed("bottle", &says).opens, date("2026-05-04"));
}

#[test]
fn bottling_has_no_sure_day_before_the_proof() {
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.done("swirl-20", "2026-04-20T08:00:00-07:00");
    let mut says = says(
        FermentState::Slowing,
        0.95,
        moment("2026-05-02T08:00:00-07:00"),
    );
    let bottle = jug.placed("bottle", &says);
    assert_eq!(bottle.waits, Some(Waits::Finish));
    assert_eq!(bottle.timing, Timing::Soon);
    assert!(matches!(
        bottle.warning,
        Some(Warning::NotFinished { chance: 90, .. })
    ));
    // Finished in the engine's eyes, but the gate is still shut.
    says.headline = skep::engine::Headline::Clear(FermentState::Finished);
    let bottle = jug.placed("bottle", &says);
    assert_eq!(bottle.waits, Some(Waits::Stable));
    assert!(
        jug.dues(&says)
            .iter()
            .all(|d| d.kind != StepKind::Bottle || !d.wants_hands())
    );
    // Open: due, and never late, for long is safe.
    let open = finished("2026-05-02T08:00:00-07:00");
    let bottle = jug.placed("bottle", &open);
    assert_eq!((bottle.timing, bottle.waits), (Timing::InWindow, None));
    assert_eq!(bottle.opens, date("2026-04-30"));
}

#[test]
fn steps_that_wait_for_each_other_get_no_day_and_no_endless_loop() {
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.step("swirl-8").rule.opens = Opens::After {
        step: "swirl-11".into(),
        days: 1,
    };
    jug.step("swirl-11").rule.opens = Opens::After {
        step: "swirl-8".into(),
        days: 1,
    };
    jug.step("swirl-14").rule.opens = Opens::After {
        step: "nowhere".into(),
        days: 1,
    };
    let says = says(
        FermentState::Active,
        0.4,
        moment("2026-04-08T08:00:00-07:00"),
    );
    for key in ["swirl-8", "swirl-11", "swirl-14"] {
        assert_eq!(jug.placed(key, &says).waits, Some(Waits::Step), "{key}");
    }
}

#[test]
fn a_rest_that_was_marked_counts_from_that_day_and_ends_by_itself() {
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.done("swirl-20", "2026-04-20T08:00:00-07:00");
    jug.done("rest", "2026-04-21T08:00:00-07:00");
    let says = finished("2026-04-24T08:00:00-07:00");
    let rest = jug.plan(&says).rest.unwrap();
    assert!(rest.under_way);
    assert_eq!(rest.until, date("2026-05-01"));
    assert_eq!(jug.placed("bottle", &says).opens, date("2026-05-01"));
    let later = finished("2026-05-01T08:00:00-07:00");
    assert_eq!(jug.plan(&later).rest, None);
    assert_eq!(jug.placed("bottle", &later).timing, Timing::InWindow);
}

/// A feeding waits for a fifth of the sugar: the forecast says when that is gone, unless
/// its latest day comes before.
#[test]
fn a_feeding_opens_on_the_day_on_which_its_sugar_will_be_gone() {
    let mut jug = Jug::with("five-gallon-mead", PITCHED);
    jug.gravity(1.095, PITCHED);
    jug.gravity(1.085, "2026-04-02T08:00:00-07:00");
    let now = moment("2026-04-02T08:00:00-07:00");
    let mut says = says(FermentState::Active, 0.1, now);
    assert_eq!(
        jug.placed("feed-3", &says).opens,
        date("2026-04-04"),
        "at the latest"
    );
    let at = |day: f64, sg: f64| CurvePoint {
        at: now.plus_days(day),
        gravity: same(Gravity::known(sg)),
    };
    // A fifth of the way from 1.095 to 0.998 is gone below 1.077.
    says.curve = vec![
        at(-1.0, 1.095),
        at(0.0, 1.085),
        at(0.5, 1.080),
        at(1.0, 1.074),
    ];
    let feed = jug.placed("feed-3", &says);
    assert_eq!(feed.opens, date("2026-04-03"));
    assert!(feed.forecast);
}

/// One reading says nothing of steadiness, however long ago it was taken.
#[test]
fn steadiness_takes_two_readings() {
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.step("read-30").rule.opens = Opens::Stable { days: 3 };
    jug.gravity(0.998, "2026-05-01T08:00:00-07:00");
    let says = says(
        FermentState::Slowing,
        0.95,
        moment("2026-05-03T08:00:00-07:00"),
    );
    let alone = jug.placed("read-30", &says);
    assert_eq!(
        (alone.opens, alone.waits),
        (date("2026-05-06"), Some(Waits::Stable))
    );
    jug.gravity(0.998, "2026-05-03T08:00:00-07:00");
    let two = jug.placed("read-30", &says);
    assert_eq!(
        (two.opens, two.waits),
        (date("2026-05-04"), Some(Waits::Stable))
    );
}
