//! Stores of four sizes, all invented: the same day gives the same stores.
//!
//! | size | what |
//! | --- | --- |
//! | 1 | ten batches in ten vessels |
//! | 2 | ten years: 300 batches in ten vessels, 6,000 readings by hand |
//! | 3 | size 2 and what ten loggers report every five minutes for ten years |
//! | 4 | 3,000 batches, 100 of them in a vessel now |

use anyhow::Context;
use skep::domain::deeds::{Deed, Fill, NewBatch, NewReading};
use skep::domain::records::{
    BatchId, BottleClass, DrawKind, InstrumentKind, LotId, MeasureKind, Opens, PlaceId, Routine,
    Seen, Stage, StepKind, Subject, Unit, VesselId, VesselKind,
};
use skep::domain::units::{Celsius, Gravity, Litres, Moment};
use skep::files::{routines, yeasts};
use skep::store::{Sample, Store};
use skep::work;
use std::fs;
use std::path::{Path, PathBuf};

/// Days between two batches in one vessel: thirty in ten years.
const TURN: f64 = 3652.5 / 30.0;
/// Minutes between two samples of a logger.
const EVERY: f64 = 5.0;

/// One size.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Size {
    /// Its number.
    pub(crate) number: u8,
    vessels: usize,
    /// Batches of each vessel, the last of them still in it.
    turns: usize,
    logged: bool,
}

pub(crate) const SIZES: [Size; 4] = [
    Size {
        number: 1,
        vessels: 10,
        turns: 1,
        logged: false,
    },
    Size {
        number: 2,
        vessels: 10,
        turns: 30,
        logged: false,
    },
    Size {
        number: 3,
        vessels: 10,
        turns: 30,
        logged: true,
    },
    Size {
        number: 4,
        vessels: 100,
        turns: 30,
        logged: false,
    },
];

impl Size {
    /// Where its store lies in a folder.
    pub(crate) fn path(self, folder: &Path) -> PathBuf {
        folder.join(format!("size-{}.store", self.number))
    }
}

/// Makes the store of a size unless it is there already.
pub(crate) fn make(folder: &Path, size: Size, now: Moment) -> anyhow::Result<PathBuf> {
    let path = size.path(folder);
    if path.exists() {
        return Ok(path);
    }
    fs::create_dir_all(folder)?;
    // In memory first: tens of thousands of changes, each durable, would take an hour.
    let mut store = Store::in_memory()?;
    let lives = fill(&mut store, size, now)?;
    let copy = store.back_up(folder, now)?;
    drop(store);
    if size.logged {
        let mut store = Store::open(&copy, now)?;
        for (number, life) in lives.iter().enumerate() {
            log(&mut store, number, life, now)?;
        }
    }
    fs::rename(&copy, &path).with_context(|| format!("naming {}", path.display()))?;
    Ok(path)
}

/// One batch before it is carried out.
struct Life {
    vessel: VesselId,
    vessel_number: usize,
    routine: usize,
    pitched: Moment,
    bottled: Option<Moment>,
    seed: u64,
    og: f64,
    fg: f64,
    /// Day on which half of its sugar is gone.
    half: f64,
}

impl Life {
    /// Gravity so many days after the yeast.
    fn gravity(&self, days: f64) -> f64 {
        let left = 1.0 / (1.0 + ((days - self.half) / 1.9).exp());
        let whole = 1.0 / (1.0 + (-self.half / 1.9).exp());
        self.fg + (self.og - self.fg) * (left / whole).min(1.0)
    }
}

/// What happens, in the order in which it was written down.
enum Entry {
    Start(usize),
    Read(usize, f64),
    Step(usize, String),
    Bottle(usize),
    Draw(usize, i32),
    Taste(usize),
    Close(usize),
}

/// Days on which an ended batch was read.
const READ: [f64; 20] = [
    0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 9.0, 11.0, 14.0, 17.0, 20.0, 24.0, 30.0, 40.0, 55.0,
    70.0, 85.0, 99.0,
];

fn fill(store: &mut Store, size: Size, now: Moment) -> anyhow::Result<Vec<Vec<Life>>> {
    let began = now.plus_days(-TURN * size.turns as f64 - 10.0);
    let (place, vessels) = furnish(store, size, began)?;
    let all = ROUTINES
        .iter()
        .map(|(key, ..)| routines::built_in(key).with_context(|| format!("no routine {key}")))
        .collect::<anyhow::Result<Vec<Routine>>>()?;
    let lives = lives(size, &vessels, now);
    let flat: Vec<&Life> = lives.iter().flatten().collect();
    let mut entries = Vec::new();
    for (i, life) in flat.iter().enumerate() {
        diary(
            i,
            life,
            all.get(life.routine).context("a routine")?,
            now,
            &mut entries,
        );
    }
    entries.sort_by_key(|(at, ..)| *at);
    let mut made: Vec<(Option<BatchId>, Option<LotId>)> = vec![(None, None); flat.len()];
    for (at, entry) in entries {
        write(store, &flat, &all, place, &mut made, at, entry)?;
    }
    Ok(lives)
}

/// Routine, original and final gravity.
const ROUTINES: [(&str, f64, f64); 4] = [
    ("one-gallon-traditional-mead", 1.098, 0.998),
    ("cider", 1.052, 0.999),
    ("mead-on-fruit", 1.090, 1.000),
    ("ale", 1.054, 1.012),
];

fn lives(size: Size, vessels: &[VesselId], now: Moment) -> Vec<Vec<Life>> {
    let one = |number: usize, vessel: VesselId| {
        // The batches of today are from 4 to 103 days old.
        let age = 4.0 + ((number * 37) % 100) as f64;
        (0..size.turns)
            .map(|turn| {
                let back = (size.turns - 1 - turn) as f64;
                let seed = (number * 1000 + turn) as u64;
                let routine = (number + turn) % ROUTINES.len();
                let pitched = now.plus_days(-age - TURN * back - 0.1 * noise(seed, 1));
                let (_, og, fg) = ROUTINES[routine];
                Life {
                    vessel,
                    vessel_number: number,
                    routine,
                    pitched,
                    bottled: (back > 0.0).then(|| pitched.plus_days(100.0 + 10.0 * noise(seed, 2))),
                    seed,
                    og: og + 0.006 * (noise(seed, 3) - 0.5),
                    fg: fg + 0.003 * (noise(seed, 4) - 0.5),
                    half: 4.0 + 4.0 * noise(seed, 5),
                }
            })
            .collect()
    };
    vessels
        .iter()
        .enumerate()
        .map(|(n, v)| one(n, *v))
        .collect()
}

/// A number from 0 to 1 that looks like chance: splitmix64, by Sebastiano Vigna.
fn noise(seed: u64, salt: u64) -> f64 {
    let mut z = seed
        .wrapping_mul(0x9e37_79b9_7f4a_7c15)
        .wrapping_add(salt.wrapping_mul(0xd1b5_4a32_d192_ed03));
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    (z ^ (z >> 31)) as f64 / u64::MAX as f64
}

fn furnish(store: &mut Store, size: Size, at: Moment) -> anyhow::Result<(PlaceId, Vec<VesselId>)> {
    let closet = Deed::AddPlace {
        name: "closet".into(),
        dark: true,
        usual_temp: Some(Celsius::new(18.5)?),
    };
    let place = work::carry_out(store, &closet, at)?
        .place()
        .context("a place")?;
    for (name, kind) in [
        ("glass", InstrumentKind::Hydrometer),
        ("probe", InstrumentKind::Thermometer),
    ] {
        let tool = Deed::AddInstrument {
            name: name.into(),
            kind,
            calibrated_at: Some(Celsius::new(20.0)?),
            offset: 0.0,
            resolution: if kind == InstrumentKind::Hydrometer {
                0.001
            } else {
                0.1
            },
            factor: 1.0,
            preferred: true,
        };
        work::carry_out(store, &tool, at)?;
    }
    let mut vessels = Vec::new();
    for number in 0..size.vessels {
        let deed = Deed::AddVessel {
            tag: format!("J{}", number + 1),
            kind: VesselKind::Jug,
            capacity: Litres::new(4.0)?,
            place,
            tare: None,
        };
        vessels.push(
            work::carry_out(store, &deed, at)?
                .vessel()
                .context("a vessel")?,
        );
    }
    Ok((place, vessels))
}

fn diary(i: usize, life: &Life, routine: &Routine, now: Moment, out: &mut Vec<(Moment, Entry)>) {
    let end = life.bottled.unwrap_or(now);
    let mut put = |days: f64, entry: Entry| {
        let at = life.pitched.plus_days(days);
        if at < end {
            out.push((at, entry));
        }
    };
    put(0.0, Entry::Start(i));
    let age = end.days_since(life.pitched);
    if life.bottled.is_some() {
        for (n, day) in READ.iter().enumerate() {
            put(
                day + 0.02 + 0.1 * noise(life.seed, 100 + n as u64),
                Entry::Read(i, *day),
            );
        }
    } else {
        // Thirty readings of what is in a vessel now, at whatever age.
        for n in 0..30 {
            let day = (age - 0.1) * f64::from(n) / 29.0;
            put(day + 0.02, Entry::Read(i, day));
        }
    }
    for rule in &routine.steps {
        if let Opens::Day { day } = rule.opens
            && day > 1
            && rule.kind != StepKind::Bottle
        {
            put(f64::from(day - 1) + 0.05, Entry::Step(i, rule.key.clone()));
        }
    }
    let Some(bottled) = life.bottled else {
        return;
    };
    let mut after = |days: f64, entry: Entry| {
        let at = bottled.plus_days(days);
        if at < now {
            out.push((at, entry));
        }
    };
    after(0.0, Entry::Bottle(i));
    after(35.0, Entry::Taste(i));
    for (days, count) in [(40.0, 1), (70.0, 2), (120.0, 2), (200.0, 2), (280.0, 1)] {
        after(days + noise(life.seed, 6), Entry::Draw(i, count));
    }
    after(300.0, Entry::Close(i));
}

fn write(
    store: &mut Store,
    lives: &[&Life],
    all: &[Routine],
    place: PlaceId,
    made: &mut [(Option<BatchId>, Option<LotId>)],
    at: Moment,
    entry: Entry,
) -> anyhow::Result<()> {
    match entry {
        Entry::Start(i) => {
            let life = lives[i];
            let new = new_batch(life, &all[life.routine])?;
            let receipt = work::carry_out(store, &Deed::StartBatch(Box::new(new)), at)?;
            made[i].0 = receipt.batch;
        }
        Entry::Read(i, days) => {
            let deed = Deed::Record(vec![reading(lives[i], at, days)?]);
            work::carry_out(store, &deed, at)?;
        }
        Entry::Step(i, key) => {
            let batch = made[i].0.context("a batch")?;
            let dossier = store.dossier(batch, at)?.context("a dossier")?;
            let step = dossier
                .steps
                .iter()
                .find(|s| s.rule.key == key && s.is_open());
            if let Some(step) = step {
                let deed = Deed::StepDone {
                    step: step.id,
                    at,
                    given: None,
                    note: String::new(),
                };
                work::carry_out(store, &deed, at)?;
            }
        }
        Entry::Bottle(i) => made[i].1 = bottle(store, lives[i], made[i].0, place, at)?,
        Entry::Draw(i, count) => {
            let deed = Deed::Draw {
                lot: made[i].1.context("a lot")?,
                count,
                kind: DrawKind::Drunk,
                at,
                whom: String::new(),
                note: String::new(),
            };
            work::carry_out(store, &deed, at)?;
        }
        Entry::Taste(i) => {
            let deed = Deed::Taste {
                batch: made[i].0.context("a batch")?,
                lot: made[i].1,
                at,
                marks: [4, 4, 3, 4, 3],
                words: "clean, honey at the end".into(),
            };
            work::carry_out(store, &deed, at)?;
        }
        Entry::Close(i) => {
            let deed = Deed::SetStage {
                batch: made[i].0.context("a batch")?,
                stage: Stage::Closed,
                at,
                note: String::new(),
            };
            work::carry_out(store, &deed, at)?;
        }
    }
    Ok(())
}

fn new_batch(life: &Life, routine: &Routine) -> anyhow::Result<NewBatch> {
    let yeast = routine.yeast.as_deref().and_then(yeasts::built_in);
    let (_, og, fg) = ROUTINES[life.routine];
    Ok(NewBatch {
        name: format!("{} {}", routine.title, life.seed),
        style: routine.style,
        variety: routine.variety.clone(),
        vessel: Some(life.vessel),
        routine: Some(routine.key.clone()),
        steps: routine.steps.clone(),
        yeast: routine.yeast.clone(),
        tolerance: yeast.as_ref().map(|y| y.tolerance),
        band: yeast.as_ref().map(|y| y.band),
        planned_og: Some(Gravity::new(og)?),
        expected_fg: Some(Gravity::new(fg)?),
        volume: Some(Litres::new(3.7)?),
        fizz: routine.fizz,
        pitched: Some(life.pitched),
        planned_day: None,
        note: String::new(),
    })
}

fn reading(life: &Life, at: Moment, days: f64) -> anyhow::Result<NewReading> {
    let salt = 1000 + (days * 100.0) as u64;
    let sg = life.gravity(days) + 0.0008 * (noise(life.seed, salt) - 0.5);
    let warmth = 18.0 + 3.0 * noise(life.seed, salt + 7);
    Ok(NewReading {
        subject: Subject::Vessel(life.vessel),
        at,
        seen: Seen::new(
            MeasureKind::Hydrometer,
            (sg * 1000.0).round() / 1000.0,
            Unit::Sg,
        )?,
        sample_temp: Some(Seen::new(
            MeasureKind::Temperature,
            (warmth * 10.0).round() / 10.0,
            Unit::Celsius,
        )?),
        instrument: None,
        source: "hand".into(),
        doubted: false,
        note: String::new(),
    })
}

fn bottle(
    store: &mut Store,
    life: &Life,
    batch: Option<BatchId>,
    place: PlaceId,
    at: Moment,
) -> anyhow::Result<Option<LotId>> {
    let ready = at.day().checked_add_days(chrono::Days::new(60));
    let drink_by = at.day().checked_add_days(chrono::Days::new(1000));
    let deed = Deed::Bottle {
        vessel: None,
        batch: batch.context("a batch")?,
        at,
        fizz: None,
        fills: vec![Fill {
            class: BottleClass::Crown,
            size: Litres::new(0.355)?,
            count: 10,
            clear_glass: life.vessel_number.is_multiple_of(2),
        }],
        place,
        ready_from: ready,
        drink_by,
        note: String::new(),
        overrides: Vec::new(),
    };
    let receipt = work::carry_out(store, &deed, at)?;
    Ok(receipt.lots().next())
}

/// Ten years of one logger: a temperature, or a gravity from a float.
fn log(store: &mut Store, number: usize, lives: &[Life], now: Moment) -> anyhow::Result<()> {
    let Some(first) = lives.first() else {
        return Ok(());
    };
    let count = (3652.5 * 1440.0 / EVERY) as i64;
    let start = now.plus_days(-3652.5);
    let mut at_life = 0;
    let samples = (0..count).filter_map(|n| {
        let at = start.plus_days(n as f64 * EVERY / 1440.0);
        while lives
            .get(at_life + 1)
            .is_some_and(|next| next.pitched <= at)
        {
            at_life += 1;
        }
        let chance = noise(number as u64, n.unsigned_abs());
        let seen = if number.is_multiple_of(2) {
            let year = (n as f64 * EVERY / 1440.0 / 365.25 * std::f64::consts::TAU).sin();
            let day = (n as f64 * EVERY / 1440.0 * std::f64::consts::TAU).sin();
            let warmth = 18.5 + 3.0 * year + 0.7 * day + 0.4 * (chance - 0.5);
            Seen::new(
                MeasureKind::Temperature,
                (warmth * 100.0).round() / 100.0,
                Unit::Celsius,
            )
        } else {
            let life = lives.get(at_life).unwrap_or(first);
            let days = at.days_since(life.pitched).max(0.0);
            let sg = life.gravity(days) + 0.003 * (chance - 0.5);
            Seen::new(
                MeasureKind::Hydrometer,
                (sg * 10000.0).round() / 10000.0,
                Unit::Sg,
            )
        };
        Some(Sample {
            subject: Subject::Vessel(first.vessel),
            at,
            seen: seen.ok()?,
        })
    });
    store.take_samples(&format!("logger {}", number + 1), samples)?;
    Ok(())
}
