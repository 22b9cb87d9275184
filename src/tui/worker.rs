//! The threads behind the screen: one owns the store, one runs the engine.
//!
//! The store's thread carries errands out in order, answers each, and looks
//! twice a second whether another program has changed the store. The engine's
//! thread works the morning out from the newest household only.

use super::run::Incoming;
use super::setup::set_up;
use crate::app::setup::Setup;
use crate::app::{Kept, Loaded, Msg, Spot, Ticket, trend};
use crate::clock;
use crate::domain::deeds::Deed;
use crate::domain::records::{BatchId, Household};
use crate::domain::units::Moment;
use crate::engine::stories::Story;
use crate::engine::{self, History};
use crate::store::Store;
use crate::work::{self, WorkError};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Duration;

/// How often the store is asked for changes from outside.
const LOOK: Duration = Duration::from_millis(500);

/// What the store's thread can be asked for.
pub(super) enum Errand {
    /// Carry deeds out, in order.
    CarryOut(Ticket, Vec<Deed>),
    /// The welcome.
    SetUp(Ticket, Box<Setup>),
    /// Take the last change back.
    Undo(Ticket),
    /// Bring it back.
    Redo(Ticket),
    /// Read a ledger.
    Ledger(BatchId),
    /// Read how all batches went.
    Stories,
    /// Have the way of a healthy ferment worked out.
    Healthy(Spot),
    /// Work the morning out afresh.
    Reassess,
    /// Put the demo in place of the store.
    Demo(Ticket),
}

/// Starts both threads; dropping the sender ends them.
pub(super) fn start(store: Store, out: &Sender<Incoming>) -> Sender<Errand> {
    let (to_store, errands) = channel();
    let (to_engine, jobs) = channel();
    let engine_out = out.clone();
    let store_out = out.clone();
    spawn("engine", out.clone(), move || {
        run_engine(&jobs, &engine_out);
    });
    spawn("store", out.clone(), move || {
        Keeper {
            store,
            out: store_out,
            engine: to_engine,
            seen: None,
        }
        .run(&errands);
    });
    to_store
}

/// A thread whose panic ends the loop instead of leaving a dead screen.
fn spawn(name: &str, out: Sender<Incoming>, body: impl FnOnce() + Send + 'static) {
    struct Watch(Sender<Incoming>);
    impl Drop for Watch {
        fn drop(&mut self) {
            if thread::panicking() {
                let _ = self.0.send(Incoming::Broken);
            }
        }
    }
    let started = thread::Builder::new().name(name.into()).spawn(move || {
        let _watch = Watch(out);
        body();
    });
    if let Err(error) = started {
        // Without threads there is nothing to run; the loop ends at once
        // because nothing holds the channels.
        drop(error);
    }
}

/// What the engine works on.
enum Job {
    /// The morning of a household.
    Morning(Arc<Household>, Arc<History>),
    /// A healthy ferment in the place of this one, by the same facts.
    Healthy(Spot),
}

/// What waits for the engine: only the newest of each kind counts.
#[derive(Default)]
struct Waiting {
    morning: Option<(Arc<Household>, Arc<History>)>,
    healthy: Option<Spot>,
}

impl Waiting {
    fn take(&mut self, job: Job) {
        match job {
            Job::Morning(household, history) => self.morning = Some((household, history)),
            Job::Healthy(spot) => self.healthy = Some(spot),
        }
    }
}

fn run_engine(jobs: &Receiver<Job>, out: &Sender<Incoming>) {
    let mut known = None;
    while let Ok(job) = jobs.recv() {
        let mut waiting = Waiting::default();
        waiting.take(job);
        while let Ok(job) = jobs.try_recv() {
            waiting.take(job);
        }
        let mut answers = Vec::new();
        if let Some((household, history)) = waiting.morning {
            let morning = engine::morning(&household, &history, clock::now());
            answers.push(Msg::Morning(household.revision, Arc::new(morning)));
            known = Some((household, history));
        }
        if let (Some(spot), Some((household, history))) = (waiting.healthy, &known) {
            let line = trend::healthy_at(household, spot, history, clock::now());
            answers.push(Msg::Healthy(spot, Arc::new(line)));
        }
        for msg in answers {
            if out.send(Incoming::Msg(msg)).is_err() {
                return;
            }
        }
    }
}

struct Keeper {
    store: Store,
    out: Sender<Incoming>,
    engine: Sender<Job>,
    /// The revision last told.
    seen: Option<i64>,
}

impl Keeper {
    fn run(mut self, errands: &Receiver<Errand>) {
        self.tell();
        loop {
            match errands.recv_timeout(LOOK) {
                Ok(errand) => self.carry(errand),
                Err(RecvTimeoutError::Timeout) => self.look(),
                Err(RecvTimeoutError::Disconnected) => return,
            }
        }
    }

    fn send(&self, msg: Msg) {
        // A closed channel means that the loop has ended; this thread ends next.
        let _ = self.out.send(Incoming::Msg(msg));
    }

    fn look(&mut self) {
        match self.store.revision() {
            Ok(now) if self.seen == Some(now) => {}
            Ok(_) => self.tell(),
            Err(error) => self.send(Msg::Trouble(error.to_string())),
        }
    }

    /// Tells the household as it stands, and has the morning worked out.
    fn tell(&mut self) {
        match loaded(&self.store, clock::now()) {
            Ok((loaded, history)) => {
                self.seen = Some(loaded.household.revision);
                let job = Job::Morning(Arc::new(loaded.household.clone()), Arc::new(history));
                self.send(Msg::Household(Box::new(loaded)));
                let _ = self.engine.send(job);
            }
            Err(error) => self.send(Msg::Trouble(error.to_string())),
        }
    }

    fn stories(&self, now: Moment) -> Result<Vec<Story>, WorkError> {
        let household = self.store.household(now)?;
        work::stories(&self.store, &household, now)
    }

    fn carry(&mut self, errand: Errand) {
        let now = clock::now();
        match errand {
            Errand::CarryOut(ticket, deeds) => {
                let done = carry_all(&mut self.store, &deeds, now);
                self.answer(ticket, done);
            }
            Errand::SetUp(ticket, setup) => {
                let done = set_up(&mut self.store, &setup, now);
                self.answer(ticket, done);
            }
            Errand::Undo(ticket) => {
                let done = work::undo(&mut self.store, now);
                self.answer(ticket, done.map(|name| said("undone", name)));
            }
            Errand::Redo(ticket) => {
                let done = work::redo(&mut self.store, now);
                self.answer(ticket, done.map(|name| said("done again", name)));
            }
            Errand::Ledger(batch) => match self.store.ledger(batch) {
                Ok(lines) => self.send(Msg::Ledger(batch, Arc::new(lines))),
                Err(error) => self.send(Msg::Trouble(error.to_string())),
            },
            Errand::Stories => match self.stories(now) {
                Ok(stories) => self.send(Msg::Stories(Arc::new(stories))),
                Err(error) => self.send(Msg::Trouble(error.to_string())),
            },
            Errand::Healthy(spot) => {
                let _ = self.engine.send(Job::Healthy(spot));
            }
            Errand::Reassess => self.tell(),
            Errand::Demo(ticket) => match demo(now) {
                Ok(store) => {
                    self.store = store;
                    self.answer(ticket, Ok("the demo".into()));
                }
                Err(error) => self.send(Msg::Refused(ticket, error.to_string())),
            },
        }
    }

    /// Answers an errand, then tells what the store holds now.
    fn answer(&mut self, ticket: Ticket, done: Result<String, WorkError>) {
        match done {
            Ok(said) => {
                let revision = self.store.revision().unwrap_or(0);
                self.send(Msg::Kept(ticket, Kept { said, revision }));
                self.tell();
            }
            Err(error) => {
                self.send(Msg::Refused(ticket, error.to_string()));
                // A part may have been kept before the refusal.
                self.look();
            }
        }
    }
}

fn said(word: &str, name: Option<String>) -> String {
    name.map_or(String::new(), |name| format!("{word}: {name}"))
}

/// The household as stored, with what the maker's ended ferments teach.
pub(crate) fn loaded(store: &Store, now: Moment) -> Result<(Loaded, History), WorkError> {
    let household = store.household(now)?;
    let history = work::learned(store, &household, now)?;
    let last_change = store.changes(1)?.first().map(|c| c.name.clone());
    let loaded = Loaded {
        household,
        supplies: store.supplies()?,
        undo: work::undo_name(store)?,
        redo: work::redo_name(store)?,
        last_change,
    };
    Ok((loaded, history))
}

/// Carries deeds out in order; gives what was kept, in words.
pub(crate) fn carry_all(
    store: &mut Store,
    deeds: &[Deed],
    now: Moment,
) -> Result<String, WorkError> {
    let mut said = Vec::new();
    for deed in deeds {
        let receipt = work::carry_out(store, deed, now)?;
        said.push(receipt.said);
        said.extend(receipt.cautions);
    }
    Ok(said.join("; "))
}

fn demo(now: Moment) -> Result<Store, WorkError> {
    let mut store = Store::in_memory()?;
    work::demo::build(&mut store, now)?;
    Ok(store)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The revision of the next morning.
    fn morning(incoming: &Receiver<Incoming>) -> i64 {
        loop {
            let next = incoming.recv_timeout(Duration::from_mins(1)).unwrap();
            if let Incoming::Msg(Msg::Morning(revision, _)) = next {
                return revision;
            }
        }
    }

    #[test]
    fn nothing_is_worked_out_again_until_something_changes() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("store");
        let mut store = Store::open(&path, clock::now()).unwrap();
        work::demo::build(&mut store, clock::now()).unwrap();
        let (out, incoming) = channel();
        let errands = start(store, &out);
        let first = morning(&incoming);
        // It looks several times meanwhile.
        assert!(incoming.recv_timeout(4 * LOOK).is_err());
        let mut other = Store::open(&path, clock::now()).unwrap();
        work::undo(&mut other, clock::now()).unwrap();
        assert_eq!(morning(&incoming), first + 1);
        assert!(incoming.recv_timeout(4 * LOOK).is_err());
        drop(errands);
    }
}
