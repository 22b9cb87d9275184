//! Lateness speaks of harm.

use crate::jug::{Jug, date, moment, says};
use skep::domain::records::StepKind;
use skep::domain::units::Share;
use skep::engine::{FermentState, PastUse, Standing, Timing, Waits};

const MEAD: &str = "one-gallon-traditional-mead";
const PITCHED: &str = "2026-04-01T19:00:00-07:00";

fn at(now: &str, gone: f64) -> skep::engine::Assessment {
    says(FermentState::Active, gone, moment(now))
}

#[test]
fn a_feeding_goes_from_due_to_late_to_overdue() {
    let jug = Jug::with(MEAD, PITCHED);
    let timing = |now: &str| jug.placed("swirl-feed-2", &at(now, 0.1)).timing;
    assert_eq!(timing("2026-04-01T20:00:00-07:00"), Timing::Soon);
    assert_eq!(timing("2026-04-02T07:00:00-07:00"), Timing::InWindow);
    assert_eq!(timing("2026-04-02T23:00:00-07:00"), Timing::InWindow);
    assert_eq!(timing("2026-04-03T07:00:00-07:00"), Timing::Late);
    assert_eq!(timing("2026-04-04T07:00:00-07:00"), Timing::Overdue);
}

#[test]
fn feeding_after_a_third_of_the_sugar_or_at_nine_per_cent_is_too_late() {
    let mut jug = Jug::with(MEAD, PITCHED);
    // Without a reading nothing is claimed, whatever the engine guesses.
    let guess = jug.placed("swirl-feed-5", &at("2026-04-05T07:00:00-07:00", 0.5));
    assert_eq!(guess.timing, Timing::InWindow);
    jug.gravity(1.070, "2026-04-04T07:00:00-07:00");
    let before = jug.placed("swirl-feed-5", &at("2026-04-05T07:00:00-07:00", 0.32));
    assert_eq!(before.timing, Timing::InWindow);
    let after = jug.placed("swirl-feed-5", &at("2026-04-05T07:00:00-07:00", 0.34));
    assert_eq!(after.timing, Timing::TooLate);
    let Some(PastUse::SugarGone { gone, limit }) = after.past_use else {
        panic!("{:?}", after.past_use)
    };
    assert_eq!((gone, limit), (Share::known(0.34), Share::known(0.3333)));
    assert_eq!(
        PastUse::SugarGone { gone, limit }.sentence(),
        "34 % of the sugar is gone; it was of use up to 33 %."
    );
    // A strong must passes 9 % vol before a third of its sugar is gone.
    let mut strong = at("2026-04-05T07:00:00-07:00", 0.30);
    let nine = skep::domain::units::Abv::known(9.0);
    strong.alcohol = Some(skep::engine::AlcoholReport {
        now: crate::jug::same(nine),
        end: crate::jug::same(nine),
    });
    assert!(matches!(
        jug.placed("swirl-feed-5", &strong).past_use,
        Some(PastUse::Strong { .. })
    ));
}

#[test]
fn ten_trifles_do_not_hide_the_one_that_matters() {
    let jug = Jug::with(MEAD, PITCHED);
    // Day 17: nothing was ever marked; little sugar is gone.
    let dues = jug.dues(&at("2026-04-17T07:00:00-07:00", 0.2));
    assert_eq!(dues[0].kind, StepKind::SwirlFeed);
    assert_eq!(dues[0].timing, Timing::Overdue);
    assert_eq!(dues[0].weight, 2);
    let hands: Vec<_> = dues.iter().filter(|d| d.wants_hands()).collect();
    let swirls = hands.iter().filter(|d| d.kind == StepKind::Swirl).count();
    assert_eq!(swirls, 1, "older swirls are replaced by the newest");
}

#[test]
fn a_reading_settles_all_readings_asked_for_up_to_then() {
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.gravity(1.040, "2026-04-15T07:00:00-07:00"); // day 15
    let says = at("2026-04-15T08:00:00-07:00", 0.6);
    assert_eq!(jug.placed("read-8", &says).standing, Standing::Settled);
    assert_eq!(jug.placed("read-14", &says).standing, Standing::Settled);
    assert_eq!(jug.placed("read-17", &says).standing, Standing::Open);
}

#[test]
fn a_share_of_sugar_or_a_day_opens_a_feeding_whichever_comes_first() {
    let mut jug = Jug::with("five-gallon-mead", PITCHED);
    jug.gravity(1.100, "2026-04-01T18:00:00-07:00");
    // Not there yet: the latest day stands.
    let early = jug.placed("feed-4", &at("2026-04-03T07:00:00-07:00", 0.1));
    assert_eq!(early.opens, date("2026-04-07"));
    jug.gravity(1.085, "2026-04-03T08:00:00-07:00");
    // There already.
    let there = jug.placed("feed-4", &at("2026-04-04T07:00:00-07:00", 0.30));
    assert_eq!(
        (there.opens, there.timing),
        (date("2026-04-04"), Timing::InWindow)
    );
    // And past it.
    let past = jug.placed("feed-4", &at("2026-04-05T07:00:00-07:00", 0.40));
    assert_eq!(past.timing, Timing::TooLate);
}

/// One swirl is as good as two: what a later one has made up for is not asked for again.
#[test]
fn a_swirl_that_was_done_takes_the_place_of_those_before_it() {
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.gravity(1.060, "2026-04-11T07:00:00-07:00");
    // Day 11: the swirl of day 8 was never marked, that of day 11 is done.
    jug.done("swirl-11", "2026-04-11T08:00:00-07:00");
    let today = at("2026-04-11T09:00:00-07:00", 0.4);
    assert_eq!(jug.placed("swirl-8", &today).standing, Standing::Replaced);
    let swirls = |says: &skep::engine::Assessment| {
        let dues = jug.dues(says);
        let wanted = dues.iter().filter(|d| d.kind == StepKind::Swirl);
        wanted.filter(|d| d.wants_hands()).count()
    };
    assert_eq!(swirls(&today), 0);
    // Day 10, before its own day: done early it counts for both.
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.done("swirl-11", "2026-04-10T08:00:00-07:00");
    let early = at("2026-04-10T09:00:00-07:00", 0.4);
    assert_eq!(jug.placed("swirl-8", &early).standing, Standing::Replaced);
    // Left out on purpose, the newest is not followed by the one before it.
    let mut jug = Jug::with(MEAD, PITCHED);
    jug.skip("swirl-11", "2026-04-11T08:00:00-07:00");
    assert_eq!(jug.placed("swirl-8", &today).standing, Standing::Replaced);
}

#[test]
fn until_the_next_one_opens_the_oldest_swirl_is_the_one_to_do() {
    let jug = Jug::with(MEAD, PITCHED);
    let day_10 = at("2026-04-10T08:00:00-07:00", 0.4);
    let swirl = jug.placed("swirl-8", &day_10);
    assert_eq!(
        (swirl.standing, swirl.timing),
        (Standing::Open, Timing::Late)
    );
}

/// Three days are a habit of ours (common practice, no source): told, not for ever.
#[test]
fn a_step_past_its_use_is_told_for_three_days_and_falls_away() {
    let mut jug = Jug::with(MEAD, PITCHED);
    // The last swirl is due on day 20 and of use until day 24.
    jug.done("swirl-17", "2026-04-17T08:00:00-07:00");
    let standing = |now: &str| {
        let placed = jug.placed("swirl-20", &at(now, 0.95));
        (placed.standing, placed.timing)
    };
    let (open, late) = (Standing::Open, Timing::TooLate);
    assert_eq!(standing("2026-04-24T08:00:00-07:00"), (open, Timing::Late));
    assert_eq!(standing("2026-04-25T08:00:00-07:00"), (open, late));
    assert_eq!(standing("2026-04-27T08:00:00-07:00"), (open, late));
    assert_eq!(standing("2026-04-28T08:00:00-07:00").0, Standing::Lapsed);
    let gone = jug.dues(&at("2026-04-28T08:00:00-07:00", 0.95));
    assert!(gone.iter().all(|d| d.kind != StepKind::Swirl), "{gone:?}");
    // The rest goes by the day that it was due on, told or not.
    let rest = jug.plan(&at("2026-04-28T08:00:00-07:00", 0.95)).rest;
    assert_eq!(rest.unwrap().from, date("2026-04-20"));
}

#[test]
fn the_original_gravity_is_not_asked_for_once_sugar_is_gone() {
    let jug = Jug::with(MEAD, PITCHED);
    let timing = |now: &str| jug.placed("read-og", &at(now, 0.1)).timing;
    assert_eq!(timing("2026-04-02T08:00:00-07:00"), Timing::Overdue);
    assert_eq!(timing("2026-04-03T08:00:00-07:00"), Timing::TooLate);
}

/// More harm comes before less, later before earlier, and a trifle that is long overdue
/// still asks for hands, though less than a grave step of today.
#[test]
fn harm_goes_by_weight_and_by_lateness() {
    let jug = Jug::with(MEAD, PITCHED);
    let says = says(
        FermentState::Active,
        0.9,
        moment("2026-04-03T08:00:00-07:00"),
    );
    let due = jug
        .dues(&says)
        .into_iter()
        .find(|d| d.kind != StepKind::Rest)
        .unwrap();
    let score = |timing, weight| {
        let mut due = due.clone();
        (due.timing, due.weight) = (timing, weight);
        due.score()
    };
    let order = [
        Timing::Soon,
        Timing::TooLate,
        Timing::InWindow,
        Timing::Late,
        Timing::Overdue,
    ];
    for weight in 0..=3 {
        let scores = order.map(|timing| score(timing, weight));
        assert!(scores.is_sorted_by(|a, b| a < b), "{weight}: {scores:?}");
    }
    for timing in [Timing::InWindow, Timing::Late, Timing::Overdue] {
        assert!((0..3).all(|w| score(timing, w) < score(timing, w + 1)));
    }
    assert!(score(Timing::Overdue, 0) < score(Timing::InWindow, 3));
    assert_eq!(score(Timing::Overdue, 9), score(Timing::Overdue, 3));
    let mut rest = due.clone();
    (rest.kind, rest.timing) = (StepKind::Rest, Timing::Overdue);
    assert_eq!(rest.score(), 0);
}

#[test]
fn what_a_step_waits_for_is_said_in_words_of_its_own() {
    let all = [
        Waits::Pitch,
        Waits::Finish,
        Waits::Sugar,
        Waits::Stable,
        Waits::Step,
        Waits::Rest,
    ];
    let mut words: Vec<&str> = all.iter().map(|w| w.word()).collect();
    assert!(
        words
            .iter()
            .all(|w| w.starts_with("waits for ") && w.len() > 12)
    );
    words.extend(all.iter().map(|w| w.when()));
    words.sort_unstable();
    words.dedup();
    assert_eq!(words.len(), 2 * all.len());
}
