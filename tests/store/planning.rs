//! Plans, the day's checklist, the pantry and days away in the store.

use crate::kit::*;
use skep::domain::checklist::{Checklist, Doing, feeding, lines};
use skep::domain::deeds::{Deed, Given};
use skep::domain::plan::{Aim, Change, Plan, PlanVessel, outcome};
use skep::domain::records::{
    BatchId, EventKind, HoldKind, PantryId, PantryItem, PantryKind, Stage, StepKind, Style,
    UnitSystem, VesselKind,
};
use skep::domain::units::{CubicMetres, Grams, Gravity, Litres};
use skep::store::Store;
use skep::work;

pub(crate) fn plan() -> Plan {
    let mut plan = Plan::begin(
        Style::Mead,
        Some(PlanVessel {
            tag: "J1".into(),
            kind: VesselKind::Jug,
            capacity: Litres::known(4.0),
        }),
    );
    plan.name = "Heather".into();
    plan.note = "less honey next time".into();
    plan.pitch_on = Some("2026-12-01".parse().unwrap());
    plan.feast_on = Some("2027-02-01".parse().unwrap());
    plan.yeast.styles = vec![Style::Mead];
    plan
}

pub(crate) fn keep(store: &mut Store, plan: &Plan) -> BatchId {
    let steps = vec![
        rule("pitch", StepKind::Pitch, 1),
        rule("feed", StepKind::SwirlFeed, 2),
    ];
    let deed = Deed::KeepPlan {
        batch: None,
        plan: Box::new(plan.clone()),
        steps,
    };
    good(store, &deed).made_batch().unwrap()
}

pub(crate) fn stock(name: &str, unit: &str, amount: f64, best: Option<&str>) -> Deed {
    Deed::StockPantry(PantryItem {
        id: PantryId(0),
        kind: PantryKind::Other,
        name: name.into(),
        amount,
        unit: unit.into(),
        lot: String::new(),
        best_before: best.map(|d| d.parse().unwrap()),
        price: None,
        keep_at_least: None,
        bottle: None,
        note: String::new(),
    })
}

fn left(store: &Store, name: &str) -> Vec<f64> {
    let all = store.pantry().unwrap();
    all.iter()
        .filter(|i| i.name.eq_ignore_ascii_case(name))
        .map(|i| i.amount)
        .collect()
}

#[test]
fn a_plan_that_was_kept_is_read_back_the_same() {
    let mut home = home();
    let plan = plan();
    let id = keep(&mut home.store, &plan);
    assert_eq!(home.store.plan(id).unwrap().unwrap(), plan);
    let house = home.store.household(now()).unwrap();
    let batch = &house.dossier(id).unwrap().batch;
    assert_eq!(batch.stage, Stage::Planned);
    assert_eq!(batch.planned_og, Some(plan.original()));
    assert_eq!(batch.planned_day, plan.pitch_on);
}

#[test]
fn another_plan_takes_its_place_and_undo_brings_the_first_back() {
    let mut home = home();
    let first = plan();
    let id = keep(&mut home.store, &first);
    let mut second = first
        .change(Change::Aim(Aim::Original(Gravity::known(1.110))))
        .unwrap();
    second.feeding.foods.pop();
    second.name = "Heather two".into();
    let deed = Deed::KeepPlan {
        batch: Some(id),
        plan: Box::new(second.clone()),
        steps: vec![rule("pitch", StepKind::Pitch, 1)],
    };
    good(&mut home.store, &deed);
    assert_eq!(home.store.plan(id).unwrap().unwrap(), second);
    let steps = |store: &Store| {
        let house = store.household(now()).unwrap();
        let d = house.dossier(id).unwrap();
        d.steps.iter().filter(|s| s.is_open()).count()
    };
    assert_eq!(steps(&home.store), 1);
    work::undo(&mut home.store, now()).unwrap();
    assert_eq!(home.store.plan(id).unwrap().unwrap(), first);
    assert_eq!(steps(&home.store), 2);
}

#[test]
fn a_pitched_batch_keeps_the_plan_it_was_made_by() {
    let mut home = home();
    let plan = plan();
    let id = keep(&mut home.store, &plan);
    let pitch = Deed::Pitch {
        batch: id,
        vessel: Some(home.j1),
        at: now(),
    };
    good(&mut home.store, &pitch);
    let deed = Deed::KeepPlan {
        batch: Some(id),
        plan: Box::new(plan),
        steps: vec![],
    };
    assert_eq!(
        refused(&mut home.store, &deed),
        "'Heather' is pitched: its plan stands as it was. Copy it to plan it anew"
    );
}

#[test]
fn a_feast_before_the_pitching_is_refused() {
    let mut home = home();
    let mut plan = plan();
    plan.feast_on = Some("2026-11-01".parse().unwrap());
    let deed = Deed::KeepPlan {
        batch: None,
        plan: Box::new(plan),
        steps: vec![],
    };
    assert_eq!(
        refused(&mut home.store, &deed),
        "the feast on Sun 1 Nov lies before the pitching on Tue 1 Dec"
    );
}

pub(crate) fn tick(batch: BatchId, line: &skep::domain::checklist::Line) -> Deed {
    Deed::Tick {
        batch,
        line: line.key.clone(),
        at: Some(now()),
        added: match &line.doing {
            Doing::Add {
                kind,
                substance,
                mass,
                volume,
            } => Some((
                *kind,
                Given {
                    substance: substance.clone(),
                    mass: *mass,
                    volume: *volume,
                },
            )),
            _ => None,
        },
        what: line.what.clone(),
    }
}

#[test]
fn the_day_is_ticked_line_by_line_and_draws_from_the_pantry() {
    let mut home = home();
    let plan = plan();
    let id = keep(&mut home.store, &plan);
    // Two lots: what goes stale first is used first.
    good(&mut home.store, &stock("honey", "g", 1000.0, None));
    good(
        &mut home.store,
        &stock("Honey", "g", 500.0, Some("2027-01-01")),
    );
    good(&mut home.store, &stock("wine yeast", "pieces", 2.0, None));
    let all = lines(&plan, &outcome(&plan), UnitSystem::Metric);
    for line in &all {
        good(&mut home.store, &tick(id, line));
    }
    let supplies = home.store.supplies().unwrap();
    assert!(Checklist::new(all.clone(), &supplies.ticks).closed());
    let honey = plan.parts[0].mass.get();
    let there = left(&home.store, "honey");
    assert!((there[0] - (1500.0 - honey)).abs() < 1e-6, "{there:?}");
    assert!(there[1].abs() < 1e-9, "{there:?}");
    assert_eq!(left(&home.store, "wine yeast"), [1.0]);
    let house = home.store.household(now()).unwrap();
    let given: f64 = house
        .dossier(id)
        .unwrap()
        .events
        .iter()
        .filter(|e| e.kind == EventKind::Sugar)
        .filter_map(|e| e.mass)
        .map(Grams::get)
        .sum();
    assert!((given - honey).abs() < 1e-6);
    // Undo gives back, line by line.
    for _ in &all {
        work::undo(&mut home.store, now()).unwrap();
    }
    assert_eq!(left(&home.store, "honey"), [1000.0, 500.0]);
    assert_eq!(left(&home.store, "wine yeast"), [2.0]);
    assert!(home.store.supplies().unwrap().ticks.is_empty());
}

#[test]
fn a_line_is_ticked_once_and_what_went_in_is_not_ticked_off() {
    let mut home = home();
    let plan = plan();
    let id = keep(&mut home.store, &plan);
    let all = lines(&plan, &outcome(&plan), UnitSystem::Metric);
    good(&mut home.store, &tick(id, &all[0]));
    let said = refused(&mut home.store, &tick(id, &all[0]));
    assert!(said.starts_with("that line was done at"), "{said}");
    let off = |line: &str| Deed::Tick {
        batch: id,
        line: line.into(),
        at: None,
        added: None,
        what: "clean".into(),
    };
    good(&mut home.store, &off("clean"));
    assert_eq!(
        refused(&mut home.store, &off("clean")),
        "that line is not ticked"
    );
    good(&mut home.store, &tick(id, &all[3]));
    let said = refused(&mut home.store, &off(&all[3].key));
    assert!(said.contains("undo takes it back"), "{said}");
}

#[test]
fn a_step_draws_what_it_used_and_says_when_there_was_less() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    good(&mut home.store, &stock("organic nutrient", "g", 1.0, None));
    good(
        &mut home.store,
        &stock("diammonium phosphate", "g", 5.0, None),
    );
    let house = home.store.household(now()).unwrap();
    let step = house
        .dossier(id)
        .unwrap()
        .steps
        .iter()
        .find(|s| s.rule.key == "feed")
        .unwrap()
        .id;
    let deed = Deed::StepDone {
        step,
        at: now(),
        given: Some(Given {
            substance: "organic nutrient and 0.5 g diammonium phosphate".into(),
            mass: Some(Grams::known(1.5)),
            volume: None,
        }),
        note: String::new(),
    };
    let receipt = good(&mut home.store, &deed);
    assert_eq!(
        receipt.cautions,
        ["the pantry had only 1.0 of 1.5 g of organic nutrient: it is empty now"]
    );
    assert_eq!(left(&home.store, "diammonium phosphate"), [4.5]);
    let draws = home.store.supplies().unwrap().draws;
    assert!(draws.iter().all(|d| d.step == Some(step)));
    work::undo(&mut home.store, now()).unwrap();
    assert_eq!(left(&home.store, "organic nutrient"), [1.0]);
    assert_eq!(left(&home.store, "diammonium phosphate"), [5.0]);
}

#[test]
fn bottling_uses_bottles_of_that_size_and_their_caps() {
    let mut home = home();
    let id = start(&mut home.store, home.j1);
    let bottles = |name: &str, kind| {
        let Deed::StockPantry(item) = stock(name, "pieces", 12.0, None) else {
            unreachable!()
        };
        Deed::StockPantry(PantryItem { kind, ..item })
    };
    good(
        &mut home.store,
        &bottles("12 fl oz bottles, brown", PantryKind::Bottle),
    );
    good(
        &mut home.store,
        &bottles("0.5 L swing-top", PantryKind::Bottle),
    );
    good(&mut home.store, &bottles("crown caps", PantryKind::Closure));
    let deed = Deed::Bottle {
        vessel: None,
        batch: id,
        at: now(),
        fizz: None,
        fills: vec![skep::domain::deeds::Fill {
            class: skep::domain::records::BottleClass::Crown,
            size: Litres::known(0.355),
            count: 9,
            clear_glass: false,
        }],
        place: home.closet,
        ready_from: None,
        drink_by: None,
        note: "for the test".into(),
        overrides: vec![HoldKind::Unfinished],
    };
    good(&mut home.store, &deed);
    assert_eq!(left(&home.store, "12 fl oz bottles, brown"), [3.0]);
    assert_eq!(left(&home.store, "0.5 L swing-top"), [12.0]);
    assert_eq!(left(&home.store, "crown caps"), [3.0]);
    work::undo(&mut home.store, now()).unwrap();
    assert_eq!(left(&home.store, "12 fl oz bottles, brown"), [12.0]);
    assert_eq!(left(&home.store, "crown caps"), [12.0]);
}

#[test]
fn more_than_there_is_can_t_be_taken_out() {
    let mut home = home();
    good(&mut home.store, &stock("caps", "pieces", 10.0, None));
    let item = home.store.pantry().unwrap()[0].id;
    let draw = |amount| Deed::DrawPantry {
        item,
        amount,
        at: now(),
        why: "counted".into(),
    };
    assert_eq!(
        refused(&mut home.store, &draw(11.0)),
        "the pantry has 10 pieces of caps: accepted is up to that"
    );
    good(&mut home.store, &draw(4.0));
    assert_eq!(left(&home.store, "caps"), [6.0]);
}

#[test]
fn days_away_come_and_go() {
    let mut home = home();
    let away = |from: &str, to: &str| Deed::AddAway {
        from: from.parse().unwrap(),
        to: to.parse().unwrap(),
        note: String::new(),
    };
    assert_eq!(
        refused(&mut home.store, &away("2027-05-19", "2027-05-12")),
        "the last day away 2027-05-12 lies before the first 2027-05-19"
    );
    good(&mut home.store, &away("2027-05-12", "2027-05-19"));
    let there = home.store.supplies().unwrap().away;
    assert_eq!(there.len(), 1);
    good(&mut home.store, &Deed::DropAway { away: there[0].id });
    assert!(home.store.supplies().unwrap().away.is_empty());
    work::undo(&mut home.store, now()).unwrap();
    assert_eq!(home.store.supplies().unwrap().away, there);
}

#[test]
fn a_place_has_one_size() {
    let mut home = home();
    for size in [2.0, 3.5] {
        let deed = Deed::SetRoom {
            place: home.closet,
            size: CubicMetres::new(size).unwrap(),
        };
        good(&mut home.store, &deed);
    }
    let supplies = home.store.supplies().unwrap();
    assert_eq!(supplies.rooms.len(), 1);
    assert_eq!(supplies.room(home.closet), Some(CubicMetres::known(3.5)));
}

#[test]
fn a_store_of_the_first_schema_is_copied_and_brought_up() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("old.db");
    let conn = rusqlite::Connection::open(&path).unwrap();
    conn.execute_batch(include_str!("../../migrations/01-start/up.sql"))
        .unwrap();
    conn.execute_batch(
        "INSERT INTO place (name, dark, usual_temp_c) VALUES ('cellar', 1, 12.0);
         INSERT INTO pantry (kind, name, amount, unit, lot, note) VALUES ('honey', 'lime honey', 900.0, 'g', '', '');
         PRAGMA user_version = 1;",
    )
    .unwrap();
    drop(conn);
    let mut store = Store::open(&path, now()).unwrap();
    let migrated = store.migrated().unwrap().clone();
    assert_eq!((migrated.from, migrated.to), (1, skep::store::SCHEMA));
    assert!(migrated.copy.exists());
    assert_eq!(left(&store, "lime honey"), [900.0]);
    let id = keep(&mut store, &plan());
    assert_eq!(store.plan(id).unwrap().unwrap(), plan());
}

/// One dose was planned for the day of pitching: ticked on the day's list it is not
/// asked for again as a step.
#[test]
fn the_first_feeding_is_given_once() {
    let mut home = home();
    let plan = plan();
    let deed = Deed::KeepPlan {
        batch: None,
        plan: Box::new(plan.clone()),
        steps: vec![
            rule("pitch", StepKind::Pitch, 1),
            rule("feed", StepKind::Feed, 1),
            rule("feed again", StepKind::SwirlFeed, 2),
        ],
    };
    let id = good(&mut home.store, &deed).made_batch().unwrap();
    let open_feeds = |store: &Store| {
        let house = store.household(now()).unwrap();
        let steps = &house.dossier(id).unwrap().steps;
        let open = steps.iter().filter(|s| s.rule.kind.feeds() && s.is_open());
        open.map(|s| s.rule.title.clone()).collect::<Vec<_>>()
    };
    assert_eq!(open_feeds(&home.store).len(), 2);
    let all = lines(&plan, &outcome(&plan), UnitSystem::Us);
    let house = home.store.household(now()).unwrap();
    let all = feeding::fitting(all, &house.dossier(id).unwrap().steps);
    let feeds: Vec<_> = all.iter().filter(|l| feeding::feeds(&l.key)).collect();
    assert!(!feeds.is_empty());
    for line in &feeds {
        good(&mut home.store, &tick(id, line));
    }
    assert_eq!(open_feeds(&home.store).len(), 1);
    for _ in &feeds {
        work::undo(&mut home.store, now()).unwrap();
    }
    assert_eq!(open_feeds(&home.store).len(), 2);
}

/// What the day ticked is not left open among the steps of the batch.
#[test]
fn a_line_of_the_day_marks_the_step_that_it_is() {
    let mut home = home();
    let plan = plan();
    let deed = Deed::KeepPlan {
        batch: None,
        plan: Box::new(plan.clone()),
        steps: vec![
            rule("clean", StepKind::Clean, 1),
            rule("mix", StepKind::Mix, 1),
            rule("read-og", StepKind::Read, 1),
            rule("shake", StepKind::Aerate, 1),
            rule("pitch", StepKind::Pitch, 1),
            rule("read-8", StepKind::Read, 8),
        ],
    };
    let id = good(&mut home.store, &deed).made_batch().unwrap();
    let open = |store: &Store| {
        let house = store.household(now()).unwrap();
        let steps = &house.dossier(id).unwrap().steps;
        let open = steps.iter().filter(|s| s.is_open());
        open.map(|s| s.rule.key.clone()).collect::<Vec<_>>()
    };
    let all = lines(&plan, &outcome(&plan), UnitSystem::Us);
    let line = |key: &str| all.iter().find(|l| l.key == key).unwrap();
    good(&mut home.store, &tick(id, line("clean")));
    assert_eq!(open(&home.store).len(), 6, "clean is not sanitised yet");
    for key in ["sanitise", "mix", "original", "shake"] {
        good(&mut home.store, &tick(id, line(key)));
    }
    assert_eq!(open(&home.store), ["pitch", "read-8"]);
    // A tick taken off opens its step again.
    let off = Deed::Tick {
        batch: id,
        line: "shake".into(),
        at: None,
        added: None,
        what: "shake".into(),
    };
    good(&mut home.store, &off);
    assert_eq!(open(&home.store), ["shake", "pitch", "read-8"]);
    assert_eq!(home.store.check(now()).unwrap(), vec![]);
}

/// Where all feedings come on later days, one at pitching would be one too many.
#[test]
fn the_day_has_no_feeding_where_the_steps_feed_later() {
    let mut home = home();
    let plan = plan();
    let id = keep(&mut home.store, &plan);
    let house = home.store.household(now()).unwrap();
    let all = lines(&plan, &outcome(&plan), UnitSystem::Us);
    let any =
        |lines: &[skep::domain::checklist::Line]| lines.iter().any(|l| feeding::feeds(&l.key));
    assert!(any(&all));
    assert!(any(&feeding::fitting(all.clone(), &[])));
    let steps = &house.dossier(id).unwrap().steps;
    assert!(!any(&feeding::fitting(all, steps)));
}
