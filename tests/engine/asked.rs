//! The reading that would tell most: which question it settles, when, and with
//! what chance. The ferments are invented.

use chrono::DateTime;
use skep::domain::units::*;
use skep::engine::{
    Assessment, Facts, History, NextReading, Observation, OriginalGravity, Question, Seen, Style,
    assess,
};

fn start() -> Moment {
    Moment::new(DateTime::parse_from_rfc3339("2026-03-01T08:00:00-08:00").expect("a time"))
}

fn said(celsius: f64, sticks: f64, seen: &[(f64, f64)], now: f64) -> Assessment {
    let mut facts = Facts::of(Style::Mead);
    facts.og = Some(OriginalGravity::Measured(Gravity::known(1.100)));
    facts.expected_fg = Some(Gravity::known(0.998));
    facts.usual_temperature = Some(Celsius::known(celsius));
    facts.pitched = Some(start());
    facts.stall_prior = Share::known(sticks);
    let readings: Vec<_> = seen
        .iter()
        .map(|(day, gravity)| Observation {
            at: start().plus_days(*day),
            temperature: Some(Celsius::known(celsius)),
            seen: Seen::Hydrometer {
                gravity: Gravity::known(*gravity),
                resolution: GravityDelta::known(0.001),
            },
        })
        .collect();
    assess(
        &facts,
        &readings,
        &[],
        &History::default(),
        start().plus_days(now),
    )
}

const FELL: [(f64, f64); 5] = [
    (0.0, 1.100),
    (2.0, 1.086),
    (4.0, 1.060),
    (6.0, 1.040),
    (8.0, 1.038),
];

fn doubtful(celsius: f64) -> (Assessment, NextReading) {
    let said = said(celsius, 0.05, &FELL, 8.0);
    let next = said.next_reading.unwrap_or_else(|| panic!("{said:?}"));
    (said, next)
}

#[test]
fn a_doubt_whether_it_stopped_is_settled_by_a_reading_soon() {
    let (said, next) = doubtful(20.0);
    let stuck = said.stuck.probability.get();
    assert!((0.05..0.95).contains(&stuck), "{stuck}");
    assert_eq!(next.settles, Question::StuckOrSlow);
    let days = next.at.days_since(said.now);
    assert!(
        (1.0..=3.0).contains(&days) && next.chance.get() > 0.6,
        "{next:?}"
    );
}

#[test]
fn where_it_is_cool_the_answer_takes_longer() {
    let ahead = |celsius: f64| {
        let (said, next) = doubtful(celsius);
        next.at.days_since(said.now) / next.chance.get()
    };
    assert!(ahead(12.0) > ahead(20.0), "{} {}", ahead(12.0), ahead(20.0));
}

#[test]
fn surely_stuck_nothing_more_is_told_by_waiting() {
    let mut seen = FELL.to_vec();
    seen.extend([(10.0, 1.038), (13.0, 1.038), (17.0, 1.038)]);
    let said = said(20.0, 0.05, &seen, 17.0);
    assert!(said.stuck.probability.get() > 0.95 && said.next_reading.is_none());
}

#[test]
fn before_any_fall_the_question_is_whether_it_started() {
    let said = said(20.0, 0.05, &[(0.0, 1.100), (1.0, 1.100)], 1.0);
    let next = said.next_reading.unwrap();
    assert_eq!(next.settles, Question::Started);
}

#[test]
fn half_way_the_question_is_when_it_will_be_finished() {
    let said = said(20.0, 0.05, &FELL[..4], 6.0);
    let next = said.next_reading.unwrap();
    assert_eq!(next.settles, Question::WhenFinished);
    assert!((0.0..0.95).contains(&next.chance.get()));
}

/// Level a little above plan both may be, and a reading more tells little: the
/// chance is never said to be above one half.
#[test]
fn level_near_the_end_a_reading_alone_hardly_settles_it() {
    let mut asked = 0;
    for level in [1.006, 1.008, 1.010, 1.012] {
        let seen = [
            (0.0, 1.100),
            (2.0, 1.086),
            (4.0, 1.060),
            (6.0, 1.036),
            (8.0, 1.020),
            (10.0, level + 0.002),
            (13.0, level),
            (17.0, level),
        ];
        let said = said(20.0, 0.33, &seen, 17.0);
        if let Some(next) = said.next_reading
            && next.settles == Question::StuckOrFinished
        {
            asked += 1;
            assert!(next.chance.get() <= 0.5, "{level}: {next:?}");
        }
    }
    assert!(asked > 0);
}

/// Not looked at since half-way, it may have stopped unseen: as often as the
/// share of sugar left then and the maker's own share of stuck ferments say.
#[test]
fn unseen_it_may_have_stopped_as_often_as_such_do() {
    let seen = [(0.0, 1.100), (2.0, 1.086), (4.0, 1.062), (5.0, 1.049)];
    let stuck = |sticks: f64| said(20.0, sticks, &seen, 40.0).stuck.probability.get();
    let (rare, usual, often) = (stuck(0.01), stuck(0.10), stuck(0.40));
    assert!(rare < usual && usual < often, "{rare} {usual} {often}");
    // Half of those that stick stop short, and half the sugar was left to stop in.
    for (sticks, stuck) in [(0.10, usual), (0.40, often)] {
        let yet = sticks * 0.5 * 0.5;
        let expected = yet / (1.0 - sticks + yet);
        assert!(
            stuck > 0.9 * expected && stuck < 4.0 * expected,
            "{stuck} {expected}"
        );
    }
}
