//! What is told where: advice, steps that are due, steps that nobody marked.

use crate::hands::open_steps;
use crate::kit::Table;
use skep::app::Msg;
use skep::app::advice::sentence;
use skep::app::round::Ask;
use skep::domain::deeds::Deed;
use skep::domain::records::{Opens, StepKind, StepRule};
use skep::engine::{Action, Advice, Flag, Timing, Urgency, Voice, WhyRead};
use skep::tui::theme::Theme;
use skep::work;
use std::sync::Arc;

/// What of the screen stands at 80 columns and 24 rows.
fn small(table: &Table) -> String {
    let buffer = table.draw(Theme::default(), 80, 24);
    let row = |y: u16| (0..80).map(|x| buffer[(x, y)].symbol()).collect::<String>();
    (0..24).map(row).collect::<Vec<_>>().join("\n")
}

#[test]
fn where_something_is_wrong_the_first_advice_and_its_key_stand_beside_it() {
    let mut table = Table::new();
    for keys in ["", "<Enter>"] {
        table.press(keys);
        let said = small(&table);
        assert!(said.contains("+ Measure again: degas"), "{said}");
        assert!(said.contains("+ advice"), "{said}");
    }
    table.press("<Esc>+");
    let said = small(&table);
    assert!(said.contains("on the list for today: Measure"), "{said}");
    table.press("<Esc>");
    assert!(!small(&table).contains("+ advice"), "{}", small(&table));
    // J1 has nothing wrong with it.
    let mut calm = Table::new();
    calm.press("<Down>");
    assert!(!small(&calm).contains("+ advice"), "{}", small(&calm));
}

#[test]
fn a_second_advice_waits_until_the_first_was_seen_to_help() {
    let mut table = Table::new();
    table.press("+");
    let listed = open_steps(&table, "J2");
    table.now = table.now.plus_days(1.0);
    table.take(Msg::Tick);
    table.press("+");
    assert_eq!(open_steps(&table, "J2"), listed);
    assert!(
        table.text().contains("One thing at a time"),
        "{}",
        table.text()
    );
}

#[test]
fn what_is_due_is_not_to_be_left_alone() {
    let table = Table::new();
    let alone = Advice {
        action: Action::LeaveAlone,
        answers: None,
        avoid: Vec::new(),
        follow_up: None,
    };
    let rows = table.state.shelf_rows();
    let said = |tag: &str| {
        let row = rows.iter().find(|r| r.tag == tag).unwrap();
        sentence(row, &alone, Voice::PLAIN, table.now)
    };
    assert_eq!(said("J1"), "Today: swirl and feed. Then leave it alone.");
    assert_eq!(
        said("J3"),
        "Today, 3 days late: last swirl. Then leave it alone."
    );
    let mut calm = rows.iter().find(|r| r.tag == "J4").unwrap().clone();
    calm.next = None;
    let said = sentence(&calm, &alone, Voice::PLAIN, table.now);
    assert_eq!(said, "Leave it alone.");
}

fn add_step(table: &mut Table, tag: &str, change: impl Fn(&mut StepRule)) {
    let household = table.store.household(table.now).unwrap();
    let vessel = household.vessel_by_tag(tag).unwrap().id;
    let dossier = household.in_vessel(vessel).unwrap();
    let mut rule = dossier.steps[0].rule.clone();
    change(&mut rule);
    let batch = dossier.batch.id;
    let deed = Deed::AddStep { batch, rule };
    work::carry_out(&mut table.store, &deed, table.now).unwrap();
    table.tell();
}

#[test]
fn a_round_ends_with_what_can_be_done_and_can_wait() {
    let mut table = Table::new();
    add_step(&mut table, "J1", |rule| {
        rule.key = "look".into();
        rule.title = "look through the glass".into();
        rule.kind = StepKind::Other;
        rule.opens = Opens::Day { day: 4 };
        rule.window = 4;
    });
    table.press("r");
    let stops = &table.state.round.as_ref().unwrap().stops;
    assert!(!format!("{stops:?}").contains("look through"));
    table.press("nnnnnnnnnnnn");
    let said = table.text();
    assert!(said.contains("when you have time"), "{said}");
    assert!(said.contains("look through the glass"), "{said}");
    assert!(said.contains("by Sat"), "{said}");
}

#[test]
fn a_step_that_nobody_marked_says_what_became_of_it() {
    let mut table = Table::new();
    for day in [2, 4] {
        add_step(&mut table, "J1", |rule| {
            rule.key = format!("swirl-{day}");
            rule.title = format!("swirl of day {day}");
            rule.kind = StepKind::Swirl;
            rule.opens = Opens::Day { day };
        });
    }
    table.press("<Down><Enter>");
    let said = table.text();
    let line = |of: &str| said.lines().find(|l| l.contains(of)).unwrap().to_owned();
    assert!(line("swirl of day 2").contains("passed over"), "{said}");
    assert!(line("swirl of day 4").contains("late"), "{said}");
    // The keys are on what is to do.
    let chosen = table.state.batch.step(&table.state).unwrap();
    assert_eq!(chosen.title, "swirl and feed");
}

#[test]
fn a_round_asks_for_the_reading_before_what_hangs_on_it() {
    let mut table = Table::new();
    add_step(&mut table, "J1", |rule| {
        rule.key = "read-5".into();
        rule.title = "take a gravity".into();
        rule.kind = StepKind::Read;
        rule.opens = Opens::Day { day: 5 };
        rule.weight = 1;
    });
    // The feeding is the graver of the two.
    let due = table.state.morning.as_ref().unwrap().due.clone();
    let of = |kind| due.iter().position(|d| d.kind == kind && d.tag == "J1");
    assert!(of(StepKind::SwirlFeed) < of(StepKind::Read));
    table.press("r");
    let asks = |table: &Table| {
        let stops = &table.state.round.as_ref().unwrap().stops;
        let of_j1 = stops.iter().filter(|s| s.title == "J1");
        of_j1.map(|s| s.ask.clone()).collect::<Vec<_>>()
    };
    let [Ask::Step(first), Ask::Step(second)] = &asks(&table)[..] else {
        panic!("{:?}", asks(&table))
    };
    assert_eq!(
        (first.kind, second.kind),
        (StepKind::Read, StepKind::SwirlFeed)
    );
    // What it is too late for after the reading is not offered any more.
    let mut morning = table.state.morning.as_deref().unwrap().clone();
    for due in &mut morning.due {
        if due.step == second.step {
            due.timing = Timing::TooLate;
        }
    }
    let revision = table.store.revision().unwrap();
    table.take(Msg::Morning(revision, Arc::new(morning)));
    assert!(matches!(asks(&table)[1], Ask::TooLate(_)));
}

/// The round asks for readings that no step asks for: the first screen says so too.
#[test]
fn a_reading_that_is_wanted_without_a_step_is_said_on_the_shelf() {
    let mut table = Table::new();
    let mut morning = table.state.morning.as_deref().unwrap().clone();
    for row in morning.accounts.iter_mut().filter(|r| r.tag == "J1") {
        row.next = None;
        let flag = Flag::NoReading {
            days: 7.0,
            wanted: 4,
            never: false,
        };
        row.flags = vec![flag.clone()];
        row.reading = Some(WhyRead::Flagged(Box::new(flag)));
        row.urgency = Urgency::Watch;
    }
    morning.due.retain(|d| d.tag != "J1");
    let revision = table.store.revision().unwrap();
    table.take(Msg::Morning(revision, Arc::new(morning)));
    let said = small(&table);
    let words: Vec<&str> = said.split_whitespace().collect();
    assert!(
        words.join(" ").contains("Check the gravity of J1."),
        "{said}"
    );
    let row = said.lines().find(|l| l.contains("Clover")).unwrap();
    assert!(row.contains("▹ read") && row.contains("today"), "{said}");
    // It stands in the list of what is due and in the round as well.
    let read = table.state.shelf_rows().iter().find(|r| r.tag == "J1");
    assert!(read.unwrap().only_reading(table.now.day()));
    let due = said.lines().find(|l| l.contains("▹ J1"));
    assert!(due.is_some_and(|l| l.contains("today")), "{said}");
    table.press("r");
    let stops = &table.state.round.as_ref().unwrap().stops;
    assert!(
        stops
            .iter()
            .any(|s| s.title == "J1" && matches!(s.ask, Ask::Reading(_)))
    );
}
