//! Clocks: a maker who travels, daylight saving both ways, a leap day, a clock
//! set a year back and a year forward. Nothing is due twice or never, and the
//! ledger's order stays true.

use crate::clock;
use crate::kit::*;
use chrono::{DateTime, FixedOffset, NaiveDate, TimeDelta};
use serde_json::Value;
use skep::domain::deeds::{Deed, NewBatch, NewReading};
use skep::domain::records::{
    BatchId, Fizz, LedgerEntry, MeasureKind, Opens, Seen, StepId, StepKind, StepRule, Style,
    Subject, TooLate, Unit, VesselId, VesselKind,
};
use skep::domain::units::{Litres, Moment};
use skep::engine::facts::told;
use skep::engine::{Assessment, Figures, Ground, History, Timing, dues, morning, plan};
use skep::store::Store;
use skep::work;
use std::cell::Cell;
use std::collections::BTreeMap;
use std::fs;
use std::process::Output;

fn at(text: &str) -> Moment {
    Moment::new(DateTime::parse_from_rfc3339(text).unwrap())
}

/// Days of the steps; the last follows the one before it by ten days.
const DAYS: [i32; 9] = [1, 2, 5, 8, 11, 14, 17, 20, 30];

fn rule(day: i32) -> StepRule {
    StepRule {
        key: format!("day-{day}"),
        title: format!("what day {day} wants"),
        kind: StepKind::Swirl,
        opens: match day {
            30 => Opens::After {
                step: "day-20".into(),
                days: 10,
            },
            day => Opens::Day { day },
        },
        window: 0,
        slack: 3,
        too_late: TooLate::Never,
        why: String::new(),
        harm: String::new(),
        weight: 1,
        amount: String::new(),
        countdown: None,
        order: day,
    }
}

/// A jug with a mead whose steps are those.
fn jug(pitched: Moment) -> (Store, VesselId, BatchId) {
    let mut store = Store::in_memory().unwrap();
    let mut good = |deed: &Deed| work::carry_out(&mut store, deed, pitched).unwrap();
    let (name, dark, usual_temp) = ("closet".to_owned(), true, None);
    let place = good(&Deed::AddPlace {
        name,
        dark,
        usual_temp,
    })
    .place()
    .unwrap();
    let vessel = good(&Deed::AddVessel {
        tag: "J1".into(),
        kind: VesselKind::Jug,
        capacity: Litres::known(4.0),
        place,
        tare: None,
    });
    let vessel = vessel.vessel().unwrap();
    let batch = good(&Deed::StartBatch(Box::new(NewBatch {
        name: "heather".into(),
        style: Style::Mead,
        variety: "traditional".into(),
        vessel: Some(vessel),
        routine: None,
        steps: DAYS.map(rule).to_vec(),
        yeast: None,
        tolerance: None,
        band: None,
        planned_og: None,
        expected_fg: None,
        volume: Some(Litres::known(3.7)),
        fizz: Fizz::Still,
        pitched: Some(pitched),
        planned_day: None,
        note: String::new(),
    })));
    (store, vessel, batch.batch.unwrap())
}

/// How a maker lives: pitched then, looks every so many hours, and what the
/// clock on the wall is off UTC at each look, in minutes.
struct Life {
    name: &'static str,
    pitched: &'static str,
    hours: i64,
    /// The offset at an instant and a number of the look.
    offset: fn(DateTime<FixedOffset>, i64) -> i32,
    /// Days by which a step may come late: one where a date is flown over.
    late: i64,
}

/// The US Pacific zone, after 15 U.S.C. 260a: second Sunday of March, first of November, at two.
fn pacific(utc: DateTime<FixedOffset>, _: i64) -> i32 {
    let instant = |text: &str| DateTime::parse_from_rfc3339(text).unwrap();
    let summers = [
        ("2026-03-08T10:00:00Z", "2026-11-01T09:00:00Z"),
        ("2027-03-14T10:00:00Z", "2027-11-07T09:00:00Z"),
        ("2028-03-12T10:00:00Z", "2028-11-05T09:00:00Z"),
    ];
    let summer = |(from, to): &(&str, &str)| utc >= instant(from) && utc < instant(to);
    if summers.iter().any(summer) {
        -420
    } else {
        -480
    }
}

/// Five cities, one after the other, over the date line both ways.
fn travelling(_: DateTime<FixedOffset>, look: i64) -> i32 {
    [-480, 60, 345, 540, 780, -600, -480, -210, 0, 840][(look.rem_euclid(10)) as usize]
}

const LIVES: [Life; 8] = [
    Life {
        name: "at home",
        pitched: "2026-06-01T20:00:00-07:00",
        hours: 24,
        offset: pacific,
        late: 0,
    },
    Life {
        name: "clocks put forward",
        pitched: "2027-03-01T23:50:00-08:00",
        hours: 12,
        offset: pacific,
        late: 0,
    },
    Life {
        name: "clocks put back",
        pitched: "2026-10-20T00:10:00-07:00",
        hours: 24,
        offset: pacific,
        late: 0,
    },
    Life {
        name: "pitched in the hour that came twice",
        pitched: "2026-11-01T01:30:00-07:00",
        hours: 24,
        offset: pacific,
        late: 0,
    },
    Life {
        name: "over a leap day",
        pitched: "2028-02-15T12:00:00-08:00",
        hours: 24,
        offset: pacific,
        late: 0,
    },
    Life {
        name: "pitched on a leap day",
        pitched: "2028-02-29T23:59:00-08:00",
        hours: 24,
        offset: pacific,
        late: 0,
    },
    Life {
        name: "looking every hour",
        pitched: "2027-03-10T07:00:00-08:00",
        hours: 1,
        offset: pacific,
        late: 0,
    },
    Life {
        name: "travelling",
        pitched: "2026-10-20T20:00:00-07:00",
        hours: 24,
        offset: travelling,
        late: 1,
    },
];

/// What is open at a look: each step, with its key. What the engine makes of a
/// ferment without readings is worked out once: it takes long, and no step of
/// these asks for it.
fn open_at(store: &Store, batch: BatchId, says: &Assessment, now: Moment) -> Vec<(StepId, String)> {
    let household = store.household(now).unwrap();
    let dossier = household.dossier(batch).unwrap();
    let told = told(&household, dossier, None, now);
    let plan = plan(Ground {
        dossier,
        told: &told,
        assessment: says,
        figures: &Figures::default(),
        holds: &[],
        now,
    });
    let key = |id: StepId| {
        let step = dossier.steps.iter().find(|s| s.id == id).unwrap();
        step.rule.key.clone()
    };
    dues(dossier, &plan, None, "J1")
        .iter()
        .filter(|d| !matches!(d.timing, Timing::Soon | Timing::Later))
        .map(|d| (d.step, key(d.step)))
        .collect()
}

#[test]
fn nothing_is_due_twice_or_never_whatever_the_clock_on_the_wall_does() {
    let mut looks = 0;
    for life in &LIVES {
        let pitched = at(life.pitched);
        let (mut store, _, batch) = jug(pitched);
        let household = store.household(pitched).unwrap();
        let first = morning(&household, &History::default(), pitched);
        let says = &first.accounts[0].assessment;
        let mut done: BTreeMap<String, NaiveDate> = BTreeMap::new();
        let mut time = pitched.datetime();
        for look in 0..(40 * 24 / life.hours) {
            let minutes = (life.offset)(time, look);
            let now =
                Moment::new(time.with_timezone(&FixedOffset::east_opt(minutes * 60).unwrap()));
            for (step, key) in open_at(&store, batch, says, now) {
                let deed = Deed::StepDone {
                    step,
                    at: now,
                    given: None,
                    note: String::new(),
                };
                work::carry_out(&mut store, &deed, now).unwrap();
                let twice = done.insert(key.clone(), now.day());
                assert_eq!(twice, None, "{}: {key} was due twice", life.name);
            }
            assert_eq!(open_at(&store, batch, says, now), vec![], "{}", life.name);
            time += TimeDelta::hours(life.hours);
            looks += 1;
        }
        for day in DAYS {
            let wanted = pitched.day() + TimeDelta::days(i64::from(day) - 1);
            let got = done.get(&format!("day-{day}"));
            let got = *got.unwrap_or_else(|| panic!("{}: day {day} never came", life.name));
            let late = (got - wanted).num_days();
            // The last follows the day on which the one before it was done.
            let most = if day == 30 { 2 * life.late } else { life.late };
            assert!(
                (0..=most).contains(&late),
                "{}: day {day} on {got}",
                life.name
            );
        }
    }
    println!(
        "{} lives, {looks} looks: each of {} steps due once",
        LIVES.len(),
        DAYS.len()
    );
}

/// Readings around both clock changes and on a journey, told in any order, stand
/// in the ledger as they happened.
#[test]
fn the_ledger_is_in_the_order_in_which_it_happened() {
    let told = [
        // 01:30 came twice on 1 November; the second is an hour later.
        ("2026-11-01T01:30:00-08:00", 1.060),
        ("2026-11-01T01:30:00-07:00", 1.061),
        // Half past eight in the evening in Tokyo comes before noon at home.
        ("2026-11-03T12:00:00-08:00", 1.050),
        ("2026-11-03T20:30:00+09:00", 1.051),
        // East of the date line it is the next day already.
        ("2026-11-05T00:30:00+13:00", 1.041),
        ("2026-11-04T08:00:00-08:00", 1.040),
    ];
    let (mut store, vessel, batch) = jug(at("2026-10-20T20:00:00-07:00"));
    for (when, value) in told {
        let reading = NewReading {
            subject: Subject::Vessel(vessel),
            at: at(when),
            seen: Seen::new(MeasureKind::Hydrometer, value, Unit::Sg).unwrap(),
            sample_temp: None,
            instrument: None,
            source: "hand".into(),
            doubted: false,
            note: String::new(),
        };
        work::carry_out(
            &mut store,
            &Deed::Record(vec![reading]),
            at("2026-11-06T07:00:00-08:00"),
        )
        .unwrap();
    }
    let ledger = store.ledger(batch).unwrap();
    let gravities: Vec<f64> = ledger
        .iter()
        .filter_map(|line| match &line.entry {
            LedgerEntry::Reading(reading) => Some(reading.seen.value()),
            _ => None,
        })
        .collect();
    assert_eq!(gravities, [1.061, 1.060, 1.051, 1.050, 1.041, 1.040]);
    assert!(ledger.is_sorted_by_key(|line| line.at.utc_ms()));
}

/// The real program with a clock that is set wrong on order.
struct Wrong {
    home: Home,
    /// Seconds by which its clock is ahead.
    ahead: Cell<i64>,
}

const YEAR: i64 = 365 * 86_400;

impl Wrong {
    fn new() -> Self {
        Self {
            home: Home::new(),
            ahead: Cell::new(0),
        }
    }

    fn set(&self, seconds: i64) {
        self.ahead.set(seconds);
    }

    fn run(&self, line: &str) -> Output {
        let mut command = self.home.command(line.split_whitespace());
        command.envs(clock::environment_ahead(self.ahead.get()));
        let done = command.output().unwrap();
        let said = said(&done);
        assert!(
            !said.contains("panicked") && done.status.code().is_some(),
            "{line}: {said}"
        );
        done
    }

    fn good(&self, line: &str) -> String {
        let done = self.run(line);
        assert!(done.status.success(), "{line}: {}", said(&done));
        said(&done)
    }

    fn json(&self, line: &str) -> Value {
        serde_json::from_slice(&self.run(&format!("{line} --json")).stdout).unwrap()
    }

    /// Names of the changes, newest first.
    fn history(&self) -> Vec<String> {
        let all = self.json("history");
        let changes = all["changes"].as_array().unwrap();
        changes
            .iter()
            .map(|c| c["said"].as_str().unwrap().to_owned())
            .collect()
    }

    /// Titles of what is open, with the day.
    fn due(&self) -> Vec<String> {
        let all = self.json("today");
        let due = all["due"].as_array().unwrap();
        due.iter()
            .map(|d| format!("{} {}", d["due"], d["title"]))
            .collect()
    }
}

#[test]
fn a_clock_set_back_a_year_keeps_the_order_of_the_changes() {
    let wrong = Wrong::new();
    let (before, due) = (wrong.history(), wrong.due());
    assert!(!due.is_empty());
    wrong.set(-YEAR);
    for line in ["today", "show J1 --ledger", "check", "season", "cellar"] {
        wrong.run(line);
    }
    // There was no mead in J1 a year ago: said, not kept as if it were.
    let done = wrong.run("read J1 42 --anyway --note wrong");
    println!("read with a clock of a year ago: {}", said(&done).trim());
    let kept = usize::from(done.status.success());
    assert_eq!(wrong.home.notes().get("wrong").copied().unwrap_or(0), kept);
    wrong.good("places add attic");
    assert_eq!(wrong.history().len(), before.len() + 1 + kept);
    assert!(
        wrong.history()[0].contains("attic"),
        "{:?}",
        wrong.history()
    );
    wrong.set(0);
    // Undo takes back what was done last, whatever time it bears.
    assert!(wrong.history()[0].contains("attic"));
    assert!(wrong.good("undo").contains("attic"));
    if kept == 1 {
        wrong.good("undo");
    }
    assert_eq!(wrong.due(), due);
    wrong.good("check");
    wrong.good("read J1 42 --anyway");
    wrong.home.sound();
}

#[test]
fn a_clock_set_forward_a_year_leaves_nothing_due_twice_or_never() {
    let wrong = Wrong::new();
    wrong.good("read J1 68f --note first");
    wrong.good("backup");
    let due = wrong.due();
    wrong.set(YEAR);
    for line in ["today", "show J1 --ledger", "season", "cellar"] {
        wrong.run(line);
    }
    wrong.good("read J1 42 --anyway --note ahead");
    wrong.set(0);
    for line in ["today", "show J1 --ledger"] {
        wrong.run(line);
    }
    // A look tells of it, and it is taken back or dated anew like any other.
    let found = said(&wrong.run("check"));
    assert!(found.contains("lies in the future"), "{found}");
    assert_eq!(wrong.home.notes().get("ahead"), Some(&1));
    assert!(wrong.good("undo").contains("1.042"));
    assert_eq!(wrong.due(), due);
    wrong.good("check");
    wrong.home.sound();
}

/// A copy dated ahead must not stand in the way of the next days' copies.
#[test]
fn a_copy_made_while_the_clock_was_ahead_does_not_stop_the_daily_ones() {
    let wrong = Wrong::new();
    let copies = || {
        fs::read_dir(wrong.home.path("home-backups"))
            .unwrap()
            .count()
    };
    wrong.set(YEAR);
    wrong.good("note J1 ahead");
    wrong.set(0);
    let before = copies();
    wrong.good("note J1 today");
    wrong.set(2 * 86_400);
    wrong.good("note J1 tomorrow");
    assert_eq!(copies(), before + 1);
}

/// The dashboard says it too, and shows a year before 1970 without a panic.
#[test]
fn a_clock_behind_the_last_entry_is_said_on_the_dashboard() {
    for (seconds, behind) in [(-3 * 86_400, true), (-60 * YEAR, true), (0, false)] {
        let home = Home::new();
        assert!(home.run("read J1 68f").status.success());
        let [_, (name, ahead)] = clock::environment_ahead(seconds);
        let mut terminal = home.screen(&[(name, &ahead)]);
        terminal.resize(140, 42);
        terminal.until("a shelf", |s| s.contents().contains("J1"));
        terminal.quiet();
        let seen = terminal.look(vt100::Screen::contents);
        assert_eq!(
            seen.contains("check the clock"),
            behind,
            "{seconds}: {seen}"
        );
        for key in [
            "\r", "\u{1b}", "z", "\u{1b}", "v", "\u{1b}", "/a", "\u{1b}", "\u{1b}",
        ] {
            terminal.quiet();
            terminal.types(key);
        }
        terminal.quiet();
        terminal.types("q");
        assert!(terminal.ended(), "{seconds}");
    }
}
