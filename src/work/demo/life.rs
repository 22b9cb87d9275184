//! The lives of the batches, entry by entry in order of time.

use super::script::{Ago, BatchFile, in_days};
use super::{Ids, by_hand, range, seen, unknown};
use crate::domain::deeds::{Deed, Fill, Given, NewBatch, NewEvent};
use crate::domain::records::{
    BatchId, LotId, MeasureKind, Opens, Stage, StepKind, StepRule, StepStatus, Subject, Unit,
    VesselId,
};
use crate::domain::units::{Grams, Gravity, Litres, ML_PER_US_FL_OZ, Moment};
use crate::files::{routines, yeasts};
use crate::store::Store;
use crate::work::{WorkError, carry_out};
use chrono::NaiveTime;

/// An entry that may need row numbers which only come about on the way.
enum Entry {
    Deed(Box<Deed>),
    Start(usize),
    Done(usize, String),
    Skip(usize, String, String),
    Event(usize, usize),
    Move(usize, usize),
    Stage(usize, Stage, String),
    Bottle(usize),
    Draw(usize, usize),
    Taste(usize, usize),
}

/// All entries, each with when it happened and when it was written down.
#[derive(Default)]
pub(super) struct Diary {
    entries: Vec<(Moment, Moment, Entry)>,
}

/// What came about for one batch.
#[derive(Default, Clone)]
struct Life {
    id: Option<BatchId>,
    vessel: Option<VesselId>,
    /// Lots with the bottles left in each.
    lots: Vec<(LotId, i32)>,
}

impl Diary {
    pub(super) fn deed(&mut self, at: Moment, deed: Deed) {
        self.entries.push((at, at, Entry::Deed(Box::new(deed))));
    }

    fn put(&mut self, at: Moment, entry: Entry) {
        self.entries.push((at, at, entry));
    }

    /// Writes down one batch's life.
    pub(super) fn batch(
        &mut self,
        index: usize,
        file: &BatchFile,
        ids: &Ids,
        now: Moment,
    ) -> Result<(), WorkError> {
        let pitched = file.pitched.at(now);
        self.put(pitched, Entry::Start(index));
        self.readings(file, ids, pitched, now)?;
        self.steps(index, file, pitched, now)?;
        for (i, e) in file.events.iter().enumerate() {
            self.put(e.at.at(now), Entry::Event(index, i));
        }
        for (i, m) in file.moves.iter().enumerate() {
            self.put(m.at.at(now), Entry::Move(index, i));
        }
        for s in &file.stages {
            self.put(s.at.at(now), Entry::Stage(index, s.to, String::new()));
        }
        if let Some(b) = &file.bottled {
            self.put(b.at.at(now), Entry::Bottle(index));
        }
        for (i, d) in file.draws.iter().enumerate() {
            self.put(d.at.at(now), Entry::Draw(index, i));
        }
        for (i, t) in file.tastings.iter().enumerate() {
            self.put(t.at.at(now), Entry::Taste(index, i));
        }
        if let Some(c) = &file.closed {
            let entry = Entry::Stage(index, Stage::Closed, c.note.clone());
            self.put(c.at.at(now), entry);
        }
        Ok(())
    }

    fn readings(
        &mut self,
        file: &BatchFile,
        ids: &Ids,
        pitched: Moment,
        now: Moment,
    ) -> Result<(), WorkError> {
        for (ago, sg, fahrenheit) in &file.gravities {
            let at = ago.at(now);
            let vessel = file
                .moves
                .iter()
                .rev()
                .find(|m| m.at.at(now) <= at)
                .map_or(&file.vessel, |m| &m.to);
            let subject = Subject::Vessel(ids.vessel(vessel)?);
            let mut reading = by_hand(subject, at, seen(MeasureKind::Hydrometer, *sg, Unit::Sg)?);
            let sample = seen(MeasureKind::Temperature, *fahrenheit, Unit::Fahrenheit)?;
            reading.sample_temp = Some(sample);
            let deed = Entry::Deed(Box::new(Deed::Record(vec![reading])));
            // What was read before the yeast went in was written down with the batch.
            self.entries.push((at, at.max(pitched), deed));
        }
        Ok(())
    }

    fn steps(
        &mut self,
        index: usize,
        file: &BatchFile,
        pitched: Moment,
        now: Moment,
    ) -> Result<(), WorkError> {
        let routine = routines::built_in(&file.routine).ok_or_else(|| unknown(&file.routine))?;
        for key in file.steps.keys() {
            if routine.steps.iter().all(|s| s.key != *key) {
                return Err(unknown(key));
            }
        }
        for rule in &routine.steps {
            let said = file.steps.get(&rule.key).map(String::as_str);
            self.step(index, file, rule, said, (pitched, now))?;
        }
        Ok(())
    }

    fn step(
        &mut self,
        index: usize,
        file: &BatchFile,
        rule: &StepRule,
        said: Option<&str>,
        (pitched, now): (Moment, Moment),
    ) -> Result<(), WorkError> {
        let key = rule.key.clone();
        let usual = by_itself(rule, file, pitched, now);
        match said {
            Some("open") => {}
            Some(text) => {
                if let Some(why) = text.strip_prefix("skip: ") {
                    let entry = Entry::Skip(index, key, why.to_owned());
                    self.put(usual.unwrap_or(now), entry);
                } else {
                    let at = Ago::try_from(text.to_owned()).map_err(WorkError::Refused)?;
                    self.put(at.at(now), Entry::Done(index, key));
                }
            }
            None => {
                if let Some(at) = usual {
                    self.entries
                        .push((at, at.max(pitched), Entry::Done(index, key)));
                }
            }
        }
        Ok(())
    }

    /// Does all of it, in the order in which it was written down.
    pub(super) fn carry_out(
        mut self,
        store: &mut Store,
        files: &[BatchFile],
        ids: &Ids,
        now: Moment,
    ) -> Result<(), WorkError> {
        self.entries
            .sort_by_key(|(at, written, entry)| (*written, rank(entry), *at));
        let mut lives = vec![Life::default(); files.len()];
        for (at, written, entry) in self.entries {
            write(store, files, ids, &mut lives, now, (at, written, entry))?;
        }
        Ok(())
    }
}

/// A batch begins before what belongs to it, and leaves its vessel last.
fn rank(entry: &Entry) -> u8 {
    match entry {
        Entry::Start(_) => 0,
        Entry::Bottle(_) => 2,
        Entry::Stage(_, Stage::Closed, _) => 3,
        _ => 1,
    }
}

/// When a step was done of which the file says nothing.
fn by_itself(rule: &StepRule, file: &BatchFile, pitched: Moment, now: Moment) -> Option<Moment> {
    let bottled = file.bottled.as_ref().map(|b| b.at.at(now));
    let ended = bottled.or_else(|| file.closed.as_ref().map(|c| c.at.at(now)));
    let last = file.gravities.last().map(|g| g.0.at(now));
    match (rule.kind, &rule.opens) {
        (StepKind::Pitch | StepKind::Clean | StepKind::Mix, Opens::Day { day }) if *day <= 1 => {
            None
        }
        (StepKind::Read, Opens::Day { day }) => {
            let from = morning_of(pitched, *day, 0)?;
            file.gravities
                .iter()
                .map(|g| g.0.at(now))
                .find(|at| at.day() >= from.day())
        }
        (StepKind::Read, Opens::After { .. }) => bottled.and(last),
        (StepKind::Rest, _) => Some(bottled?.plus_days(-f64::from(rule.window))),
        (StepKind::Clean, _) => Some(bottled?.plus_days(-1.0 / 24.0)),
        (StepKind::Aerate, Opens::Day { day: 1 }) => Some(pitched.plus_days(-0.02)),
        (_, Opens::Day { day: 1 }) => Some(pitched.plus_days(0.01)),
        (_, Opens::Day { day }) => {
            let at = morning_of(pitched, *day, rule.order)?;
            let past = at.day() < now.day() && ended.is_none_or(|e| at < e);
            past.then_some(at)
        }
        _ => None,
    }
}

/// Seven in the morning of a day of the batch, and some minutes.
fn morning_of(pitched: Moment, day: i32, order: i32) -> Option<Moment> {
    let minute = order.rem_euclid(7) * 6;
    let time = NaiveTime::from_hms_opt(7, u32::try_from(minute).ok()?, 0)?;
    let date = pitched.plus_days(f64::from(day - 1)).day();
    let at = date
        .and_time(time)
        .and_local_timezone(*pitched.datetime().offset());
    at.single().map(Moment::new)
}

fn write(
    store: &mut Store,
    files: &[BatchFile],
    ids: &Ids,
    lives: &mut [Life],
    now: Moment,
    (at, written, entry): (Moment, Moment, Entry),
) -> Result<(), WorkError> {
    match entry {
        Entry::Deed(deed) => {
            carry_out(store, &deed, written)?;
        }
        Entry::Start(i) => {
            let new = new_batch(&files[i], ids, now)?;
            lives[i].vessel = new.vessel;
            let receipt = carry_out(store, &Deed::StartBatch(Box::new(new)), written)?;
            lives[i].id = receipt.batch;
        }
        Entry::Done(i, key) => mark(store, &files[i], &lives[i], &key, (at, written), None)?,
        Entry::Skip(i, key, why) => {
            mark(store, &files[i], &lives[i], &key, (at, written), Some(why))?;
        }
        Entry::Stage(i, stage, note) => {
            let batch = id(&lives[i])?;
            let deed = Deed::SetStage {
                batch,
                stage,
                at,
                note,
            };
            carry_out(store, &deed, written)?;
        }
        Entry::Event(i, n) => add_event(store, &files[i], &lives[i], n, (at, written))?,
        Entry::Move(i, n) => rack(store, &files[i], &mut lives[i], ids, n, (at, written))?,
        Entry::Bottle(i) => bottle(store, &files[i], &mut lives[i], ids, now, (at, written))?,
        Entry::Draw(i, n) => draw(store, &files[i], &mut lives[i], n, (at, written))?,
        Entry::Taste(i, n) => {
            let line = &files[i].tastings[n];
            let deed = Deed::Taste {
                batch: id(&lives[i])?,
                lot: lives[i].lots.first().map(|l| l.0),
                at,
                marks: line.marks,
                words: line.words.clone(),
            };
            carry_out(store, &deed, written)?;
        }
    }
    Ok(())
}

fn id(life: &Life) -> Result<BatchId, WorkError> {
    life.id.ok_or_else(|| unknown("batch"))
}

fn new_batch(file: &BatchFile, ids: &Ids, now: Moment) -> Result<NewBatch, WorkError> {
    let routine = routines::built_in(&file.routine).ok_or_else(|| unknown(&file.routine))?;
    let key = file.yeast.clone().or(routine.yeast);
    let yeast = key.as_deref().and_then(yeasts::built_in);
    Ok(NewBatch {
        name: file.name.clone(),
        style: routine.style,
        variety: routine.variety,
        vessel: Some(ids.vessel(&file.vessel)?),
        routine: Some(routine.key),
        steps: routine.steps,
        yeast: key,
        tolerance: yeast.as_ref().map(|y| y.tolerance),
        band: yeast.as_ref().map(|y| y.band),
        planned_og: Some(Gravity::new(file.og).map_err(range)?),
        expected_fg: Some(Gravity::new(file.fg).map_err(range)?),
        volume: Some(Litres::from_us_gallons(file.gallons).map_err(range)?),
        fizz: routine.fizz,
        pitched: Some(file.pitched.at(now)),
        planned_day: None,
        note: file.note.clone(),
    })
}

fn mark(
    store: &mut Store,
    file: &BatchFile,
    life: &Life,
    key: &str,
    (at, written): (Moment, Moment),
    skip: Option<String>,
) -> Result<(), WorkError> {
    let dossier = store.dossier(id(life)?, written)?;
    let steps = dossier.map(|d| d.steps).unwrap_or_default();
    let step = steps
        .iter()
        .find(|s| s.rule.key == key)
        .ok_or_else(|| unknown(key))?;
    if step.status != StepStatus::Open {
        // Settled by another deed meanwhile, such as a racking.
        return Ok(());
    }
    let deed = match skip {
        Some(reason) => Deed::StepSkip {
            step: step.id,
            at,
            reason,
        },
        None => Deed::StepDone {
            step: step.id,
            at,
            given: step.rule.kind.feeds().then(|| given(file)).flatten(),
            note: String::new(),
        },
    };
    carry_out(store, &deed, written)?;
    Ok(())
}

fn given(file: &BatchFile) -> Option<Given> {
    let dose = file.feed.as_ref()?;
    Some(Given {
        substance: dose.substance.clone(),
        mass: Grams::new(dose.grams).ok(),
        volume: None,
    })
}

fn add_event(
    store: &mut Store,
    file: &BatchFile,
    life: &Life,
    n: usize,
    (at, written): (Moment, Moment),
) -> Result<(), WorkError> {
    let line = &file.events[n];
    let deed = Deed::AddEvent(NewEvent {
        batch: id(life)?,
        vessel: life.vessel,
        step: None,
        at,
        kind: line.kind,
        substance: line.substance.clone(),
        mass: line.grams.map(Grams::new).transpose().map_err(range)?,
        volume: None,
        note: line.note.clone(),
    });
    carry_out(store, &deed, written)?;
    Ok(())
}

fn rack(
    store: &mut Store,
    file: &BatchFile,
    life: &mut Life,
    ids: &Ids,
    n: usize,
    (at, written): (Moment, Moment),
) -> Result<(), WorkError> {
    let line = &file.moves[n];
    let to = ids.vessel(&line.to)?;
    let deed = Deed::Rack {
        batch: id(life)?,
        from: life.vessel.ok_or_else(|| unknown(&file.vessel))?,
        to,
        at,
        volume: Some(Litres::from_us_gallons(line.gallons).map_err(range)?),
        keep_rest: false,
        note: String::new(),
    };
    carry_out(store, &deed, written)?;
    life.vessel = Some(to);
    Ok(())
}

fn bottle(
    store: &mut Store,
    file: &BatchFile,
    life: &mut Life,
    ids: &Ids,
    now: Moment,
    (at, written): (Moment, Moment),
) -> Result<(), WorkError> {
    let Some(line) = &file.bottled else {
        return Ok(());
    };
    let mut fills = Vec::new();
    for f in &line.fill {
        fills.push(Fill {
            class: f.class,
            size: Litres::new(f.fl_oz * ML_PER_US_FL_OZ / 1000.0).map_err(range)?,
            count: f.count,
            clear_glass: f.clear_glass,
        });
    }
    let deed = Deed::Bottle {
        vessel: None,
        batch: id(life)?,
        at,
        fizz: None,
        fills,
        place: ids.place(&line.place)?,
        ready_from: Some(in_days(at, line.ready_in)),
        drink_by: line.drink_within.map(|d| in_days(at, d)),
        note: String::new(),
        overrides: Vec::new(),
    };
    let receipt = carry_out(store, &deed, written)?;
    life.lots = receipt
        .lots()
        .zip(&line.fill)
        .map(|(lot, f)| (lot, i32::try_from(f.count).unwrap_or(0)))
        .collect();
    debug_assert!(at <= now);
    Ok(())
}

/// Bottles leave the first lot that still has so many.
fn draw(
    store: &mut Store,
    file: &BatchFile,
    life: &mut Life,
    n: usize,
    (at, written): (Moment, Moment),
) -> Result<(), WorkError> {
    let line = &file.draws[n];
    let lot = life
        .lots
        .iter_mut()
        .find(|(_, left)| *left >= line.count)
        .ok_or_else(|| unknown("bottles left"))?;
    lot.1 -= line.count;
    let deed = Deed::Draw {
        lot: lot.0,
        count: line.count,
        kind: line.kind,
        at,
        whom: line.whom.clone(),
        note: String::new(),
    };
    carry_out(store, &deed, written)?;
    Ok(())
}
