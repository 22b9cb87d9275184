//! Words: each thing has its own, and a sentence says what its figures say.

use skep::domain::units::*;
use skep::engine::{
    Assessment, Cause, CauseWeight, Caveat, Change, Facts, FermentState, Headline, History, Sign,
    Style, Voice, WhatIf, assess,
};
use std::collections::HashSet;

/// All there, and no two alike.
fn each_its_own<const N: usize>(words: [&str; N]) {
    assert!(words.iter().all(|w| w.trim().len() > 3), "{words:?}");
    assert_eq!(words.iter().collect::<HashSet<_>>().len(), N, "{words:?}");
}

#[test]
fn each_thing_has_a_word_of_its_own() {
    each_its_own([
        Headline::Planned.word(),
        Headline::Doubtful(FermentState::Stuck, FermentState::Finished).word(),
        Headline::Clear(FermentState::Stuck).word(),
        Headline::Clear(FermentState::Finished).word(),
    ]);
    each_its_own([
        Caveat::HelpsOnlyIfCold.words(),
        Caveat::TooWarm.words(),
        Caveat::HelpsOnlyIfHungry.words(),
        Caveat::TooFewReadings.words(),
    ]);
    each_its_own([
        Cause::WrongReading.words(),
        Cause::Cold.words(),
        Cause::Heat.words(),
        Cause::LowNitrogen.words(),
        Cause::AlcoholLimit.words(),
        Cause::TooMuchSugar.words(),
        Cause::Acid.words(),
        Cause::FewCells.words(),
        Cause::Preservative.words(),
        Cause::SettledYeast.words(),
    ]);
    assert!(Caveat::HelpsOnlyIfCold.words().contains("cold"));
    assert!(Caveat::TooWarm.words().contains("above"));
    assert!(Caveat::HelpsOnlyIfHungry.words().contains("nitrogen"));
    assert!(Caveat::TooFewReadings.words().contains("too few readings"));
}

#[test]
fn a_cause_says_what_speaks_for_and_what_against_it() {
    let sign = |peak| Sign::Peak {
        peak: Celsius::known(peak),
    };
    let said = |speaks_for: &[Sign], speaks_against: &[Sign]| {
        let cause = CauseWeight {
            cause: Cause::Heat,
            weight: Share::known(0.25),
            speaks_for: speaks_for.to_vec(),
            speaks_against: speaks_against.to_vec(),
        };
        cause.sentence(Voice::PLAIN)
    };
    let head = format!("Perhaps {} (25 %)", Cause::Heat.words());
    let (high, low) = (
        sign(31.0).phrase(Voice::PLAIN),
        sign(24.0).phrase(Voice::PLAIN),
    );
    assert_eq!(said(&[], &[]), format!("{head}."));
    assert_eq!(said(&[sign(31.0)], &[]), format!("{head}: {high}."));
    assert_eq!(
        said(&[], &[sign(24.0)]),
        format!("{head}; against it: {low}.")
    );
    assert_eq!(
        said(&[sign(31.0)], &[sign(24.0)]),
        format!("{head}: {high}; against it: {low}.")
    );
}

fn nothing() -> Assessment {
    let now = chrono::DateTime::parse_from_rfc3339("2026-03-01T08:00:00-08:00").expect("a time");
    let facts = Facts::of(Style::Mead);
    assess(&facts, &[], &[], &History::default(), Moment::new(now))
}

#[test]
fn a_what_if_says_which_way_it_goes() {
    let said = |by: f64, days: Option<f64>, risk: (f64, f64)| {
        let what = WhatIf {
            change: Change::Warmer(CelsiusDelta::known(by)),
            finish_moves_days: days,
            risk: (Share::known(risk.0), Share::known(risk.1)),
            end_moves: GravityDelta::known(0.0),
            caveat: None,
            after: nothing(),
        };
        what.sentence(Voice::PLAIN)
    };
    let warm = said(2.0, Some(-3.0), (0.5, 0.25));
    assert!(warm.contains("2 °C warmer: finish 3 days sooner"), "{warm}");
    assert!(warm.contains("a chance of 25 % instead of 50 %"), "{warm}");
    let cool = said(-2.0, Some(4.0), (0.25, 0.25));
    assert!(cool.contains("cooler: finish 4 days later"), "{cool}");
    assert!(!cool.contains("warmer"), "{cool}");
    assert!(cool.contains("stays at 25 %"), "{cool}");
    assert!(said(2.0, Some(0.4), (0.1, 0.1)).contains("finish on the same day"));
    assert!(said(2.0, Some(-0.4), (0.1, 0.1)).contains("finish on the same day"));
    assert!(said(2.0, None, (0.1, 0.1)).contains("no finish to move"));
}
