//! Undo and redo after any sequence of deeds bring the store back to the very
//! same rows, and no sequence of deeds makes what cannot be.

use crate::kit::*;
use proptest::prelude::*;
use rusqlite::Connection;
use rusqlite::types::Value;
use skep::domain::deeds::{Deed, Fill, Given, NewEvent};
use skep::domain::plan::Plan;
use skep::domain::records::{
    AwayId, BatchId, BottleClass, DrawKind, EventKind, HoldKind, Household, InstrumentKind, LotId,
    MeasureKind, PantryId, PantryItem, PantryKind, PlaceId, ReadingId, Seen, Settings, Stage,
    StepId, StepKind, Style, Subject, Unit, UnitSystem, VesselId,
};
use skep::domain::units::{CubicMetres, Grams, Gravity, Litres, Moment};
use skep::store::Store;
use skep::work;
use std::path::Path;

/// All rows of all tables that a maker's data lies in, by other eyes than ours.
type Rows = Vec<(String, Vec<Vec<Value>>)>;

/// Other eyes on the file.
struct Eyes {
    conn: Connection,
    tables: Vec<String>,
}

impl Eyes {
    fn on(path: &Path) -> Self {
        let conn = Connection::open(path).unwrap();
        let tables: Vec<String> = conn
            .prepare(
                "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'
                 AND name NOT IN ('change', 'change_line', 'state', 'seal') ORDER BY name",
            )
            .unwrap()
            .query_map([], |r| r.get(0))
            .unwrap()
            .map(Result::unwrap)
            .collect();
        assert!(tables.len() >= 14, "{tables:?}");
        Self { conn, tables }
    }

    fn rows(&self) -> Rows {
        self.tables
            .iter()
            .map(|table| {
                let mut ask = self
                    .conn
                    .prepare_cached(&format!("SELECT * FROM {table} ORDER BY 1, 2"))
                    .unwrap();
                let n = ask.column_count();
                let all = ask
                    .query_map([], |r| (0..n).map(|i| r.get(i)).collect())
                    .unwrap()
                    .map(Result::unwrap)
                    .collect();
                (table.clone(), all)
            })
            .collect()
    }
}

#[derive(Debug, Clone)]
enum Act {
    Do(u8, u8, u8),
    Undo,
    Redo,
}

fn acts() -> impl Strategy<Value = Vec<Act>> {
    let act = prop_oneof![
        8 => any::<(u8, u8, u8)>().prop_map(|(a, b, c)| Act::Do(a, b, c)),
        2 => Just(Act::Undo),
        1 => Just(Act::Redo),
    ];
    prop::collection::vec(act, 1..40)
}

fn pick<T: Copy>(all: &[T], n: u8) -> Option<T> {
    if all.is_empty() {
        None
    } else {
        all.get(usize::from(n) % all.len()).copied()
    }
}

/// What there is to choose from.
struct Choice {
    places: Vec<PlaceId>,
    vessels: Vec<VesselId>,
    batches: Vec<BatchId>,
    readings: Vec<ReadingId>,
    steps: Vec<StepId>,
    lots: Vec<LotId>,
    pantry: Vec<PantryItem>,
}

fn choice(store: &Store, house: &Household) -> Choice {
    let batches: Vec<_> = store.all_batches().unwrap().iter().map(|b| b.id).collect();
    let dossiers: Vec<_> = batches
        .iter()
        .filter_map(|b| store.dossier(*b, now()).unwrap())
        .collect();
    Choice {
        places: house.places.iter().map(|p| p.id).collect(),
        vessels: house.vessels.iter().map(|v| v.id).collect(),
        readings: dossiers
            .iter()
            .flat_map(|d| d.readings.iter().map(|r| r.id))
            .collect(),
        steps: dossiers
            .iter()
            .flat_map(|d| d.steps.iter().map(|s| s.id))
            .collect(),
        lots: dossiers
            .iter()
            .flat_map(|d| d.lots.iter().map(|l| l.id))
            .collect(),
        batches,
        pantry: store.pantry().unwrap(),
    }
}

/// A deed that a maker might do next, sensible or not.
#[expect(clippy::too_many_lines, reason = "one arm for each deed")]
fn deed(c: &Choice, kind: u8, a: u8, b: u8) -> Option<Deed> {
    let at = now().plus_days(-f64::from(b % 40) / 8.0);
    let note = ["", "smells of pear", "'; DROP TABLE batch; --"][usize::from(a % 3)].to_owned();
    Some(match kind % 26 {
        0 => place(&format!("place {}", a % 6)),
        1 => jug(&format!("V{}", a % 9), pick(&c.places, b)?),
        2 => Deed::EditVessel {
            vessel: pick(&c.vessels, a)?,
            tag: (b.is_multiple_of(5)).then(|| format!("W{}", b % 7)),
            place: pick(&c.places, b),
            tare: None,
            clean: Some(b.is_multiple_of(2)),
            retired: (b.is_multiple_of(11)).then_some(true),
        },
        3 => Deed::AddInstrument {
            name: format!("glass {}", a % 9),
            kind: InstrumentKind::ALL[usize::from(b) % InstrumentKind::ALL.len()],
            calibrated_at: None,
            offset: f64::from(a) / 1000.0,
            resolution: 0.001,
            factor: 1.0,
            preferred: b.is_multiple_of(2),
        },
        4..=6 => {
            let mut new = mead(pick(&c.vessels, a));
            new.pitched = (!b.is_multiple_of(4)).then_some(at);
            new.vessel = new
                .vessel
                .filter(|_| !b.is_multiple_of(4) || a.is_multiple_of(2));
            new.note = note;
            Deed::StartBatch(Box::new(new))
        }
        7 => Deed::Pitch {
            batch: pick(&c.batches, a)?,
            vessel: pick(&c.vessels, b),
            at,
        },
        8 => Deed::SetStage {
            batch: pick(&c.batches, a)?,
            stage: Stage::ALL[usize::from(b) % Stage::ALL.len()],
            at,
            note,
        },
        9 => Deed::EditBatch {
            batch: pick(&c.batches, a)?,
            name: (b.is_multiple_of(2)).then(|| format!("name {b}")),
            note: Some(note),
            expected_fg: Some(Gravity::known(1.01)),
        },
        10..=12 => {
            let mut new = sg(
                pick(&c.vessels, a)?,
                1.0 + f64::from(b) / 3000.0,
                "2026-11-24T07:00:00-08:00",
            );
            new.at = at;
            let mut warm = new.clone();
            warm.seen = Seen::new(MeasureKind::Temperature, 68.0, Unit::Fahrenheit).unwrap();
            if let Some(place) = pick(&c.places, b).filter(|_| a.is_multiple_of(2)) {
                warm.subject = Subject::Place(place);
            }
            Deed::Record(vec![new, warm])
        }
        13 => {
            let mut to = sg(pick(&c.vessels, b)?, 1.03, "2026-11-24T08:00:00-08:00");
            to.note = note;
            Deed::EditReading {
                reading: pick(&c.readings, a)?,
                to,
            }
        }
        14 => Deed::RemoveReading {
            reading: pick(&c.readings, a)?,
        },
        15 | 16 => Deed::StepDone {
            step: pick(&c.steps, a)?,
            at,
            given: (b.is_multiple_of(2)).then(|| Given {
                substance: "dap".into(),
                mass: Some(Grams::known(1.0)),
                volume: None,
            }),
            note,
        },
        17 => Deed::StepSkip {
            step: pick(&c.steps, a)?,
            at,
            reason: note,
        },
        18 => Deed::StepMove {
            step: pick(&c.steps, a)?,
            to: now().plus_days(f64::from(b)).day(),
        },
        19 => Deed::AddStep {
            batch: pick(&c.batches, a)?,
            rule: rule("feed", StepKind::Feed, i32::from(b)),
        },
        20 => Deed::AddEvent(NewEvent {
            batch: pick(&c.batches, a)?,
            vessel: pick(&c.vessels, b).filter(|_| a.is_multiple_of(3)),
            step: pick(&c.steps, b).filter(|_| a.is_multiple_of(2)),
            at,
            kind: EventKind::ALL[usize::from(b) % EventKind::ALL.len()],
            substance: "honey".into(),
            mass: None,
            volume: None,
            note,
        }),
        21 => Deed::Rack {
            batch: pick(&c.batches, a)?,
            from: pick(&c.vessels, a.wrapping_add(b))?,
            to: pick(&c.vessels, b)?,
            at,
            volume: (b.is_multiple_of(3)).then_some(Litres::known(2.0)),
            keep_rest: b.is_multiple_of(2),
            note,
        },
        22 => Deed::Bottle {
            vessel: None,
            batch: pick(&c.batches, a)?,
            at,
            fizz: None,
            fills: vec![Fill {
                class: BottleClass::Crown,
                size: Litres::known(0.355),
                count: u32::from(b % 12),
                clear_glass: false,
            }],
            place: pick(&c.places, b)?,
            ready_from: None,
            drink_by: None,
            overrides: if b.is_multiple_of(3) {
                vec![HoldKind::Unfinished]
            } else {
                Vec::new()
            },
            note,
        },
        23 => return more(c, a, b, at, note),
        _ => return planned(c, a, b, at, note),
    })
}

/// The deeds of planning.
fn planned(c: &Choice, a: u8, b: u8, at: Moment, note: String) -> Option<Deed> {
    Some(match a % 6 {
        0 | 1 => {
            let mut plan = Plan::begin(Style::ALL[usize::from(b) % 3], None);
            plan.name = format!("plan {}", b % 4);
            plan.note = note;
            if b.is_multiple_of(3) {
                plan.parts.push(plan.parts[0].clone());
                plan.feeding.foods.pop();
            }
            Deed::KeepPlan {
                batch: pick(&c.batches, b).filter(|_| a % 6 == 1),
                plan: Box::new(plan),
                steps: vec![rule("pitch", StepKind::Pitch, i32::from(b % 3) + 1)],
            }
        }
        2 => Deed::Tick {
            batch: pick(&c.batches, b)?,
            line: ["clean", "pitch", "part-0"][usize::from(b % 3)].into(),
            at: (!a.is_multiple_of(4)).then_some(at),
            added: (b % 3 == 2).then(|| {
                let given = Given {
                    substance: "clover".into(),
                    mass: Some(Grams::known(20.0)),
                    volume: None,
                };
                (EventKind::Sugar, given)
            }),
            what: note,
        },
        3 => Deed::AddAway {
            from: now().day(),
            to: now().plus_days(f64::from(b)).day(),
            note,
        },
        4 => Deed::DropAway {
            away: AwayId(i64::from(b % 4)),
        },
        _ if b.is_multiple_of(2) => Deed::SetRoom {
            place: pick(&c.places, b)?,
            size: CubicMetres::clamped(f64::from(b)),
        },
        _ => Deed::DrawPantry {
            item: c.pantry.first()?.id,
            amount: f64::from(b),
            at,
            why: note,
        },
    })
}

fn more(c: &Choice, a: u8, b: u8, at: Moment, note: String) -> Option<Deed> {
    Some(match a % 4 {
        0 => Deed::Draw {
            lot: pick(&c.lots, a / 4)?,
            count: i32::from(b % 7) - 1,
            kind: DrawKind::ALL[usize::from(b) % DrawKind::ALL.len()],
            at: now(),
            whom: String::new(),
            note,
        },
        1 => Deed::Taste {
            batch: pick(&c.batches, a / 4)?,
            lot: pick(&c.lots, b),
            at,
            marks: [1, 2, 3, 4, 5],
            words: note,
        },
        2 => Deed::StockPantry(c.pantry.get(usize::from(b % 5)).cloned().map_or_else(
            || PantryItem {
                id: PantryId(0),
                kind: PantryKind::Honey,
                name: ["clover", "dap"][usize::from(b % 2)].into(),
                amount: f64::from(b),
                unit: "g".into(),
                lot: String::new(),
                best_before: None,
                price: None,
                keep_at_least: Some(500.0),
                bottle: None,
                note: String::new(),
            },
            |item| PantryItem {
                amount: item.amount + 1.0,
                ..item
            },
        )),
        _ => Deed::SaveSettings(Settings {
            units: UnitSystem::ALL[usize::from(b) % 2],
            reading_gap_days: u32::from(b % 9) + 1,
            ..Settings::default()
        }),
    })
}

/// The rows after each change that stands or can come again, and where we are.
struct Model {
    states: Vec<Rows>,
    here: usize,
}

fn act(store: &mut Store, eyes: &Eyes, model: &mut Model, act: &Act) {
    match act {
        Act::Undo => {
            let said = work::undo(store, now()).unwrap();
            assert_eq!(said.is_some(), model.here > 0);
            model.here = model.here.saturating_sub(1);
        }
        Act::Redo => {
            let said = work::redo(store, now()).unwrap();
            let possible = model.here + 1 < model.states.len();
            assert_eq!(said.is_some(), possible);
            model.here += usize::from(possible);
        }
        Act::Do(kind, a, b) => {
            let house = store.household(now()).unwrap();
            let Some(deed) = deed(&choice(store, &house), *kind, *a, *b) else {
                return;
            };
            match work::carry_out(store, &deed, now()) {
                Ok(receipt) => {
                    if receipt.change.is_some() {
                        model.states.truncate(model.here + 1);
                        model.states.push(eyes.rows());
                        model.here += 1;
                    }
                }
                Err(work::WorkError::Refused(said)) => assert!(said.len() > 20, "{said}"),
                Err(work::WorkError::Store(e)) => panic!("{deed:?}: {e}"),
            }
        }
    }
    assert_eq!(eyes.rows(), model.states[model.here], "after {act:?}");
}

/// `SKEP_LAW_CASES=5000 cargo test --test store laws` for the long form.
fn cases() -> u32 {
    std::env::var("SKEP_LAW_CASES").map_or(24, |n| n.parse().unwrap())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), max_shrink_iters: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn undo_and_redo_return_to_the_very_rows(acts in acts()) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("skep.skep");
        let mut store = Store::open(&path, now()).unwrap();
        let eyes = Eyes::on(&path);
        let empty = eyes.rows();
        let mut model = Model { states: vec![empty.clone()], here: 0 };
        // A household to begin with, itself made of deeds that can be undone.
        for n in 0..3 {
            act(&mut store, &eyes, &mut model, &Act::Do(0, n, 0));
            act(&mut store, &eyes, &mut model, &Act::Do(1, n, n));
        }
        act(&mut store, &eyes, &mut model, &Act::Do(4, 0, 9));
        for one in &acts {
            act(&mut store, &eyes, &mut model, one);
        }
        prop_assert_eq!(store.check(now()).unwrap(), vec![]);
        for batch in store.all_batches().unwrap() {
            store.ledger(batch.id).unwrap();
        }
        // All the way back, over a restart, and all the way forth.
        drop(store);
        let mut store = Store::open(&path, now()).unwrap();
        while model.here > 0 {
            act(&mut store, &eyes, &mut model, &Act::Undo);
        }
        prop_assert_eq!(eyes.rows(), empty);
        prop_assert!(work::undo_name(&store).unwrap().is_none());
        while model.here + 1 < model.states.len() {
            act(&mut store, &eyes, &mut model, &Act::Redo);
        }
        prop_assert!(work::redo_name(&store).unwrap().is_none());
        prop_assert_eq!(store.check(now()).unwrap(), vec![]);
    }
}
