//! Contradictions that were found once, each kept away.

use crate::kit::{House, zone};
use chrono::{DateTime, NaiveDate};
use skep::domain::deeds::Deed;
use skep::domain::plan::Supplies;
use skep::domain::records::*;
use skep::domain::slip::{Known, SlipContext, parse};
use skep::domain::units::*;
use skep::engine::bottling::Hold;
use skep::engine::{
    Account, BottlingHold, Errand, History, Memory, Morning, Standing, State, Voice,
    follow_up_steps, morning_by, morning_of, slip_meaning,
};
use skep::files::routines;

fn at(text: &str) -> Moment {
    Moment::new(DateTime::parse_from_rfc3339(text).unwrap())
}

fn seen(house: &House) -> Morning {
    let household = house.store.household(house.now).unwrap();
    let when = (house.now, house.zone.1);
    morning_by(&household, &History::default(), when, &Memory::default())
}

fn only(house: &House) -> Account {
    seen(house).accounts.remove(0)
}

fn routine() -> Vec<StepRule> {
    let routine = routines::built_in("one-gallon-traditional-mead").unwrap();
    routine.steps
}

/// A course down to a dry end, in days ago of a mead pitched `age` days ago.
fn course(age: f64) -> Vec<(f64, f64)> {
    let fall = [
        (0.0, 1.090),
        (3.0, 1.072),
        (6.0, 1.045),
        (9.0, 1.022),
        (12.0, 1.008),
        (16.0, 1.001),
        (20.0, 0.998),
    ];
    fall.iter().map(|(day, sg)| (age - day, *sg)).collect()
}

/// The first reading was in the evening of 31 March, the last in the morning of 7 April:
/// seven days by the calendar, by which a maker counts.
#[test]
fn a_hold_lifts_when_its_own_numbers_are_met() {
    let evening = at("2026-03-31T18:00:00-07:00");
    let held = |now: &str| {
        let now = at(now);
        let (mut house, place) = House::empty(now, zone(0), Settings::default());
        let ago = now.days_since(evening);
        let mut readings = course(ago + 20.0);
        readings.pop();
        let steady = [0.0, 3.0, 6.6].map(|d| (ago - d, 0.998));
        readings.extend(steady.iter().filter(|(days, _)| *days > -0.01));
        for reading in &mut readings {
            reading.0 = reading.0.max(0.0);
        }
        house.mead(place, ago + 20.0, Vec::new(), &readings);
        let holds = only(&house).holds;
        let repeated = |h: &Hold| matches!(h, Hold::NotFinished(BottlingHold::NotRepeated { .. }));
        let held = holds.iter().find(|h| repeated(h)).cloned();
        held.map(|h| (h.sentence(Voice::PLAIN), h.not_before(now)))
    };
    let (said, not_before) = held("2026-04-06T08:00:00-07:00").unwrap();
    assert_eq!(
        said,
        "Steady readings: 2 over 3 days; 3 over 7 days needed."
    );
    assert_eq!(not_before, NaiveDate::from_ymd_opt(2026, 4, 7));
    assert_eq!(held("2026-04-07T08:30:00-07:00"), None);
}

#[test]
fn a_sweet_stabilised_steady_mead_is_clear_to_bottle() {
    let now = at("2026-06-20T10:00:00+02:00");
    let (mut house, place) = House::empty(now, zone(1), Settings::default());
    let (batch, vessel) = house.mead(place, 70.0, Vec::new(), &course(70.0));
    for days in [49.0, 47.0, 45.0] {
        house.read(vessel, days, 0.998, false);
    }
    let ph = Seen::new(MeasureKind::Ph, 3.4, Unit::Ph).unwrap();
    let reading = skep::domain::deeds::NewReading {
        subject: Subject::Vessel(vessel),
        at: house.ago(45.0),
        seen: ph,
        sample_temp: None,
        instrument: None,
        source: "hand".into(),
        doubted: false,
        note: String::new(),
    };
    let when = reading.at;
    house.done(&Deed::Record(vec![reading]), when);
    // 0.6 g and 1.0 g in a gallon: 90 mg/L of SO2 and 200 mg/L of sorbic acid.
    let sulfite = "potassium metabisulfite";
    house.event(batch, vessel, 44.0, EventKind::Sulfite, sulfite, Some(0.6));
    house.event(
        batch,
        vessel,
        44.0,
        EventKind::Sorbate,
        "potassium sorbate",
        Some(1.0),
    );
    house.event(
        batch,
        vessel,
        42.0,
        EventKind::Sweeten,
        "honey",
        Some(240.0),
    );
    for days in [40.0, 30.0, 20.0, 10.0, 1.0] {
        house.read(vessel, days, 1.020, false);
    }
    let account = only(&house);
    let stuck = |h: &Hold| {
        matches!(
            h,
            Hold::NotFinished(BottlingHold::Stuck { .. } | BottlingHold::LikelyToFall { .. })
                | Hold::AboveEnd { .. }
        )
    };
    let held: Vec<_> = account.holds.iter().filter(|h| stuck(h)).collect();
    assert!(held.is_empty(), "{held:?}");
}

#[test]
fn what_is_stuck_is_promised_for_no_day() {
    let now = at("2026-06-20T10:00:00-07:00");
    let (mut house, place) = House::empty(now, zone(0), Settings::default());
    let readings = [
        (22.0, 1.092),
        (20.0, 1.086),
        (18.0, 1.079),
        (16.0, 1.071),
        (14.0, 1.064),
        (12.0, 1.062),
        (10.0, 1.062),
        (6.0, 1.062),
        (1.0, 1.062),
    ];
    house.mead(place, 22.0, routine(), &readings);
    let morning = seen(&house);
    let account = &morning.accounts[0];
    assert_eq!(account.state, State::Stuck);
    // From the reading of 8 June to that of 19 June: one rule for the days of it.
    let flat = account.flat.unwrap();
    assert_eq!(flat.until, NaiveDate::from_ymd_opt(2026, 6, 19).unwrap());
    let days = format!("({} days", flat.days());
    let household = house.store.household(now).unwrap();
    let said = account.flags[0].sentence(&household.settings);
    assert!(said.contains(&days), "{said}");
    let why: Vec<String> = account
        .assessment
        .evidence
        .iter()
        .map(|e| e.sentence(Voice::PLAIN))
        .collect();
    assert!(why.iter().any(|s| s.contains(&days)), "{why:?}");
    let season = skep::engine::season::season(&household, &Supplies::default(), &morning, 8);
    let lane = season.lanes.iter().find(|l| l.tag == "J1").unwrap();
    assert_eq!((lane.spans[0].state, lane.free), (State::Stuck, None));
    assert_eq!(season.weeks.iter().map(|w| w.bottlings).sum::<u32>(), 0);
}

#[test]
fn a_rest_that_was_kept_is_not_left_out() {
    let now = at("2026-06-20T10:00:00-07:00");
    let (mut house, place) = House::empty(now, zone(0), Settings::default());
    let (batch, vessel) = house.mead(place, 45.0, routine(), &course(45.0));
    for days in [24.0, 12.0, 3.0] {
        house.read(vessel, days, 0.998, false);
    }
    // The last swirl was 21 days before it was bottled.
    let household = house.store.household(house.now).unwrap();
    let steps = &household.dossier(batch).unwrap().steps;
    let swirl = steps.iter().find(|s| s.rule.key == "swirl-20").unwrap().id;
    let rest = steps
        .iter()
        .find(|s| s.rule.kind == StepKind::Rest)
        .unwrap()
        .id;
    let when = house.ago(22.0);
    let deed = Deed::StepDone {
        step: swirl,
        at: when,
        given: None,
        note: String::new(),
    };
    house.done(&deed, when);
    house.bottle(batch, vessel, 1.0, place);
    let household = house.store.household(house.now).unwrap();
    let dossier = household.dossier(batch).unwrap();
    let morning = morning_of(
        &household,
        dossier,
        &History::default(),
        (house.now, house.zone.1),
    );
    assert_eq!(morning.passed(rest), Some(Standing::Settled));
}

#[test]
fn advice_put_on_the_list_is_not_settled_by_a_reading_from_before_it() {
    let now = at("2026-06-20T10:00:00-07:00");
    let (mut house, place) = House::empty(now, zone(0), Settings::default());
    let readings = [(9.0, 1.092), (6.0, 1.070), (3.0, 1.069), (0.1, 1.069)];
    let (batch, vessel) = house.mead(place, 9.0, Vec::new(), &readings);
    let advice = skep::engine::Advice {
        action: skep::engine::Action::MeasureAgain,
        answers: None,
        avoid: Vec::new(),
        follow_up: Some(skep::engine::FollowUp {
            action: skep::engine::Action::MeasureAgain,
            read_again_in_days: 1,
        }),
    };
    let rules = follow_up_steps(&advice, Some(house.ago(9.0)), house.now, Voice::PLAIN);
    for rule in rules {
        let when = house.now;
        house.done(&Deed::AddStep { batch, rule }, when);
    }
    let open = |house: &House| seen(house).due.iter().filter(|d| d.wants_hands()).count();
    assert_eq!(open(&house), 1);
    house.now = house.now.plus_days(0.1);
    house.read(vessel, 0.0, 1.069, false);
    assert_eq!(open(&house), 0);
}

#[test]
fn the_round_takes_what_is_in_time_until_tomorrow() {
    let now = at("2026-06-20T10:00:00-07:00");
    for (window, asked) in [(0, true), (1, true), (2, false)] {
        let (mut house, place) = House::empty(now, zone(0), Settings::default());
        let mut rule = routine().remove(0);
        rule.key = "look".into();
        rule.kind = StepKind::Other;
        rule.opens = Opens::Day { day: 4 };
        rule.window = window;
        house.mead(place, 3.0, vec![rule], &[(3.0, 1.090), (0.2, 1.075)]);
        let morning = seen(&house);
        let step = |(_, e): &(&Account, Errand<'_>)| matches!(e, Errand::Step(_));
        assert_eq!(
            morning.errands().iter().any(step),
            asked,
            "until {window} days on"
        );
        assert_eq!(morning.optional().count(), usize::from(!asked));
    }
}

#[test]
fn a_reading_is_due_everywhere_or_nowhere_and_never_twice_a_day() {
    let now = at("2026-06-20T10:00:00-07:00");
    let (mut house, place) = House::empty(now, zone(0), Settings::default());
    let (_, vessel) = house.mead(place, 9.0, Vec::new(), &[(9.0, 1.092), (6.5, 1.070)]);
    let read = |house: &House| {
        let morning = seen(house);
        let errands = morning.errands();
        let read = errands.iter().any(|(_, e)| matches!(e, Errand::Read(_)));
        assert_eq!(read, morning.accounts[0].reading.is_some());
        read
    };
    assert!(read(&house));
    house.read(vessel, 0.0, 1.050, false);
    assert!(!read(&house));
}

#[test]
fn a_rest_of_ten_days_asks_for_no_reading() {
    let start = at("2026-06-01T10:00:00-07:00");
    let (mut house, place) = House::empty(start, zone(0), Settings::default());
    let (batch, _) = house.mead(place, 21.0, routine(), &course(21.0));
    let household = house.store.household(house.now).unwrap();
    let steps = household.dossier(batch).unwrap().steps.clone();
    for step in steps
        .iter()
        .filter(|s| s.is_open() && matches!(s.rule.opens, Opens::Day { day } if day <= 20))
    {
        let deed = Deed::StepDone {
            step: step.id,
            at: house.now,
            given: None,
            note: String::new(),
        };
        let when = house.now;
        house.done(&deed, when);
    }
    for day in 1..10 {
        house.now = start.plus_days(f64::from(day));
        let account = only(&house);
        assert!(account.rest_until.is_some(), "day {day}");
        assert_eq!(account.reading, None, "day {day}");
    }
}

/// The clocks go back in California on 1 November 2026.
#[test]
fn a_finish_has_the_offset_of_its_own_day() {
    let now = at("2026-10-28T10:00:00-07:00");
    let (mut house, place) = House::empty(now, zone(0), Settings::default());
    house.mead(
        place,
        6.0,
        Vec::new(),
        &[(6.0, 1.100), (3.0, 1.083), (0.5, 1.066)],
    );
    let finish = only(&house).finish.unwrap().p50;
    assert!(finish.day() > NaiveDate::from_ymd_opt(2026, 11, 1).unwrap());
    assert_eq!(finish.offset_minutes(), -480);
}

/// A fifth of water makes six parts of five: alcohol by volume falls by that, within
/// what mixing contracts.
#[test]
fn the_line_after_a_reading_knows_of_the_water() {
    let now = at("2026-06-20T10:00:00-07:00");
    let (mut house, place) = House::empty(now, zone(0), Settings::default());
    let (batch, vessel) = house.mead(place, 40.0, Vec::new(), &course(40.0));
    let before = only(&house).figures.alcohol.unwrap().get();
    let when = house.ago(1.0);
    let deed = Deed::Pour {
        batch,
        vessel,
        from: None,
        what: "water".into(),
        volume: Litres::known(3.785 / 5.0),
        gravity: Some(Gravity::known(1.0)),
        alcohol: Some(Abv::known(0.0)),
        at: when,
        note: String::new(),
    };
    house.done(&deed, when);
    let household = house.store.household(house.now).unwrap();
    let known = Known {
        now: house.now,
        dossier: household.in_vessel(vessel),
        vessel: household.vessel(vessel),
        instruments: &household.instruments,
    };
    let slip = parse("0.998", house.now, &SlipContext::vessel(house.now)).unwrap();
    let line = slip_meaning(&slip, &known, &household).line(&household.settings);
    house.read(vessel, 0.0, 0.998, false);
    let after = only(&house).figures.alcohol.unwrap();
    assert!(
        (after.get() - before / 1.2).abs() < 0.2,
        "{before} to {after:?}"
    );
    let said = format!("{} alcohol", skep::app::say::abv(after));
    assert!(line.contains(&said), "{line}, not {said}");
}

/// 1.092 to 1.048 holds 5.9 % by the published balance of extract, tested in `sums`.
#[test]
fn the_live_line_tells_alcohol_and_share() {
    let now = at("2026-06-20T10:00:00-07:00");
    let (mut house, place) = House::empty(now, zone(0), Settings::default());
    let (_, vessel) = house.mead(place, 7.0, Vec::new(), &[(7.0, 1.092), (2.0, 1.060)]);
    let household = house.store.household(house.now).unwrap();
    let known = Known {
        now: house.now,
        dossier: household.in_vessel(vessel),
        vessel: household.vessel(vessel),
        instruments: &household.instruments,
    };
    let slip = parse("48 68f", house.now, &SlipContext::vessel(house.now)).unwrap();
    let line = slip_meaning(&slip, &known, &household).line(&household.settings);
    assert_eq!(
        line,
        "1.048 · 0.012 down in 2 days · 5.9 % alcohol · 47 % fermented"
    );
}
