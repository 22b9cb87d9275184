//! The screens of planning, and what hands do on them.

use crate::kit::Table;
use skep::app::Screen;
use skep::app::overlay::Overlay;
use skep::domain::deeds::{Deed, NewBatch};
use skep::domain::records::{EventKind, Fizz, Stage};
use skep::tui::theme::Theme;
use skep::work;
use std::sync::Arc;

const SMALL: (u16, u16) = (80, 24);
const LARGE: (u16, u16) = (140, 42);

fn frames(name: &str, table: &Table) {
    for (size, (width, height)) in [("small", SMALL), ("large", LARGE)] {
        let frame = table.draw(Theme::default(), width, height);
        insta::assert_debug_snapshot!(format!("{name}_{size}"), frame);
    }
}

fn after(keys: &str) -> Table {
    let mut table = Table::new();
    table.press(keys);
    table
}

#[test]
fn planner() {
    frames("planner", &after("p"));
    frames("planner_typing", &after("p<Down><Down><Down><Down>110"));
    frames(
        "planner_refused",
        &after("p<Down><Down><Down><Down><Down>18"),
    );
    frames("planner_part", &after("pa"));
}

#[test]
fn day_season_pantry_routines() {
    frames("day", &after("pg<Enter><Enter>"));
    frames("season", &after("s"));
    frames("season_leaving", &after("sa12-24 12-30<Enter>"));
    frames("pantry_empty", &after("y"));
    frames("pantry", &after("yahoney<Down><Down>900<Enter>"));
    frames("routines", &after("o"));
    frames("routine", &after("o<End><Enter><Down><Down>"));
}

#[test]
fn a_number_typed_moves_the_others_and_a_lock_holds_one() {
    let mut table = Table::new();
    table.press("p");
    let honey = table.state.planner.plan.as_ref().unwrap().parts[0].mass;
    // Original gravity is the fifth row.
    table.press("<Down><Down><Down><Down>110<Enter>");
    let plan = table.state.planner.plan.clone().unwrap();
    assert!(plan.parts[0].mass > honey);
    assert!((plan.original().get() - 1.110).abs() < 1e-6);
    // Lock the honey, then aim lower: the volume follows.
    table.press("<Down><Down><Down>l<Up><Up><Up>95<Enter>");
    let locked = table.state.planner.plan.clone().unwrap();
    assert_eq!(locked.parts[0].mass, plan.parts[0].mass);
    assert!(locked.volume > plan.volume);
    // What can't be is refused with a sentence, and stays typed.
    table.press("<Down>18<Enter>");
    assert!(table.text().contains("is more than"), "{}", table.text());
    assert!(table.text().contains("18"));
    table.press("<Esc><Esc>");
    assert_eq!(table.state.planner.plan.clone().unwrap(), locked);
}

#[test]
fn a_day_is_left_and_resumed_with_what_was_really_used() {
    let mut table = Table::new();
    table.press("p<Enter>Quince Lane<Enter>g");
    assert_eq!(table.state.screen, Screen::Checklist);
    // Clean, sanitise, half the water; then less honey than planned.
    table.press("<Enter><Enter><Enter>0.7lb<Enter>");
    table.press("<Esc><Esc><Esc><Esc>");
    assert_ne!(table.state.screen, Screen::Checklist);
    table.press("g");
    assert_eq!(table.state.screen, Screen::Checklist);
    let text = table.text();
    assert!(text.contains("4 of"), "{text}");
    let household = table.store.household(table.now).unwrap();
    let dossier = household
        .dossiers
        .iter()
        .find(|d| d.batch.name == "Quince Lane")
        .unwrap();
    let honey = dossier
        .events
        .iter()
        .find(|e| e.kind == EventKind::Sugar)
        .unwrap();
    assert!((honey.mass.unwrap().pounds() - 0.7).abs() < 1e-9);
    // Undo takes the line back.
    table.press("u");
    assert!(table.text().contains("3 of"), "{}", table.text());
}

#[test]
fn a_day_that_is_done_says_what_comes_next_and_when() {
    let mut table = Table::new();
    table.press("p<Enter>Quince Lane<Enter>g");
    for _ in 0..40 {
        let typed = matches!(table.state.overlays.last(), Some(Overlay::Cell(_)));
        table.press(if typed { "95<Enter>" } else { "<Enter>" });
    }
    let text = table.text();
    assert!(text.contains("all done"), "{text}");
    // The routine's second day: swirl and feed.
    let next = "day 2, tomorrow: swirl the gas out for 2 minutes";
    assert!(text.contains(next), "{text}");
}

#[test]
fn the_yeast_waits_for_the_gravity() {
    let mut table = Table::new();
    table.press("pg<End><Up><Up><Up>");
    let said = table.text();
    assert!(said.contains("Pitch the"), "{said}");
    table.press("<Enter>");
    let said = table.text();
    assert!(said.contains("Take the original gravity first"), "{said}");
    let household = table.store.household(table.now).unwrap();
    assert!(
        household
            .dossiers
            .iter()
            .any(|d| d.batch.stage == Stage::Planned)
    );
}

#[test]
fn cautions_stand_where_they_are_needed() {
    let mut table = Table::new();
    table.press("pg");
    assert!(
        table.text().contains("Never mix cleaners"),
        "{}",
        table.text()
    );
    table.press("<Down><Down><Down>");
    assert!(table.text().contains("under 12 months"), "{}", table.text());
    table.press("<End><Up><Up>");
    assert!(
        table.text().contains("Never a closed vessel"),
        "{}",
        table.text()
    );
}

#[test]
fn a_batch_is_planned_again_with_its_notes() {
    let mut table = Table::new();
    table.press("<Enter>p");
    assert_eq!(table.state.screen, Screen::Planner);
    let plan = table.state.planner.plan.clone().unwrap();
    assert!(plan.name.ends_with(" again"), "{}", plan.name);
    assert!(table.state.planner.batch.is_none());
}

#[test]
fn a_step_of_a_routine_moves_and_is_checked() {
    let mut table = Table::new();
    table.press("o<End><Enter>");
    let before = table.state.editor.draft.clone().unwrap();
    table.press("<Right>");
    assert!(table.state.editor.touched);
    assert_ne!(table.state.editor.draft.clone().unwrap(), before);
    // A step that others hang on is not taken out.
    let hung = before
        .steps
        .iter()
        .position(|s| {
            before.steps.iter().any(|o| {
                matches!(&o.opens, skep::domain::records::Opens::After { step, .. } if *step == s.key)
            })
        })
        .unwrap();
    for _ in 0..hung {
        table.press("<Down>");
    }
    table.press("-");
    assert_eq!(
        table.state.editor.draft.clone().unwrap().steps.len(),
        before.steps.len()
    );
    assert!(table.text().contains("hangs on it"), "{}", table.text());
}

#[test]
fn what_was_written_last_time_stands_beside_a_plan_like_it() {
    let mut table = Table::new();
    table.press("p");
    assert!(!table.text().contains("Last time"), "{}", table.text());
    // The plan is kept, pitched a month ago and written about.
    let plan = table.state.planner.plan.clone().unwrap();
    let now = table.now;
    let household = table.state.household.as_ref().unwrap();
    let vessel = household.vessel_by_tag("F2").map(|v| v.id);
    let start = Deed::StartBatch(Box::new(NewBatch {
        name: "heather".into(),
        style: plan.style,
        variety: "traditional".into(),
        vessel,
        routine: None,
        steps: Vec::new(),
        yeast: Some(plan.yeast.key.clone()),
        tolerance: None,
        band: None,
        planned_og: None,
        expected_fg: None,
        volume: None,
        fizz: Fizz::Still,
        pitched: Some(now.plus_days(-40.0)),
        planned_day: None,
        note: "feed it a day earlier".into(),
    }));
    let made = work::carry_out(&mut table.store, &start, now).unwrap();
    let taste = Deed::Taste {
        batch: made.batch.unwrap(),
        lot: None,
        at: now.plus_days(-1.0),
        marks: [4, 4, 3, 4, 4],
        words: "pears, a little thin".into(),
    };
    work::carry_out(&mut table.store, &taste, now).unwrap();
    table.tell();
    table.press("<Esc>p");
    frames("planner_last_time", &table);
    let text = table.text();
    for said in [
        "Last time you wrote",
        "(heather",
        "feed it a day earlier",
        "a little thin",
    ] {
        assert!(text.replace('\n', " ").contains(said), "{said}: {text}");
    }
    // A family of another kind does not call it to mind.
    table.press("<Up><Up><Up><Up><Up><Up><Home><Down><Right>");
    assert!(!table.text().contains("Last time"), "{}", table.text());
}

#[test]
fn a_plan_begun_before_the_vessels_were_read_has_one_once_they_are() {
    let mut table = Table::new();
    if let Some(household) = &mut table.state.household {
        Arc::make_mut(household).vessels.clear();
    }
    table.press("p");
    let vessel = |table: &Table| table.state.planner.plan.clone().unwrap().vessel;
    assert!(vessel(&table).is_none());
    table.tell();
    assert!(vessel(&table).is_some());
    // One that was changed keeps what was changed.
    let mut changed = Table::new();
    if let Some(household) = &mut changed.state.household {
        Arc::make_mut(household).vessels.clear();
    }
    changed.press("p<Enter>Fern<Enter>");
    changed.tell();
    assert!(vessel(&changed).is_some());
    assert_eq!(changed.state.planner.plan.clone().unwrap().name, "Fern");
}
