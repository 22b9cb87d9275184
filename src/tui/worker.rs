//! The threads behind the screen: one owns the store, one runs the engine.
//!
//! The store's thread carries errands out in order, answers each, and looks
//! twice a second whether another program has changed the store. While nobody
//! waits it copies the store, once a day; a third thread looks the copy over.
//! The engine's thread works the morning out from the newest household only.

use super::run::Incoming;
use super::setup::set_up;
use crate::app::setup::Setup;
use crate::app::trend::Beside;
use crate::app::{Kept, Library, Loaded, Msg, Spot, Ticket, trend};
use crate::clock;
use crate::domain::deeds::Deed;
use crate::domain::records::{BatchId, Household};
use crate::domain::units::Moment;
use crate::engine::History;
use crate::engine::stories::Story;
use crate::store::{Cause, Store, StoreError};
use crate::work::{self, Answers, WorkError};
use anyhow::anyhow;
use chrono::NaiveDate;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::{self, JoinHandle};
use std::time::Duration;

/// How often the store is asked for changes from outside.
const LOOK: Duration = Duration::from_millis(500);

/// So long after the last question what was said is kept: nobody waits then.
const QUIET: Duration = Duration::from_millis(300);

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
    /// Work the morning out afresh.
    Reassess,
    /// Put the demo in place of the store.
    Demo(Ticket),
}

/// Where the threads find what they work on.
pub(super) struct Source {
    /// The store.
    pub(super) path: PathBuf,
    /// A new one is wanted, although copies of another one are left.
    pub(super) new_store: bool,
    /// Folder of its daily copies.
    pub(super) backups: Option<PathBuf>,
    /// File of what was said before.
    pub(super) answers: Option<PathBuf>,
    /// What the first screen shows nothing of comes after its morning: the supplies,
    /// and the library that this reads.
    pub(super) later: Option<ReadLibrary>,
}

/// Reads routines, yeasts and the rest of the library.
pub(super) type ReadLibrary = Box<dyn FnOnce() -> Library + Send>;

/// The way to both threads; dropping it ends them.
pub(super) struct Workers {
    store: Sender<Errand>,
    engine: Sender<Job>,
}

impl Workers {
    /// Sends an errand to the store.
    pub(super) fn send(&self, errand: Errand) -> anyhow::Result<()> {
        let sent = self.store.send(errand);
        sent.map_err(|_| anyhow!("the store's thread has ended"))
    }

    /// Has the way of a healthy ferment worked out.
    pub(super) fn healthy(&self, spot: Spot) -> anyhow::Result<()> {
        let sent = self.engine.send(Job::Healthy(spot));
        sent.map_err(|_| anyhow!("the engine's thread has ended"))
    }
}

/// An opened store.
pub(super) struct Opened {
    /// Where the copy made before a migration lies.
    pub(super) migrated: Option<PathBuf>,
    /// Why it can only be read.
    pub(super) unwritable: Option<String>,
}

/// The threads at work: how opening went comes first, and the store's ends last.
type Started = (
    Workers,
    Receiver<Result<Opened, StoreError>>,
    Option<JoinHandle<()>>,
);

/// Starts both threads. The store's opens the store, and says how that went.
pub(super) fn start(source: Source, out: &Sender<Incoming>) -> Started {
    let (to_store, errands) = channel();
    let (to_engine, jobs) = channel();
    let (say, opened) = channel();
    let (engine_out, store_out) = (out.clone(), out.clone());
    let Source {
        path,
        new_store,
        backups,
        answers,
        later,
    } = source;
    spawn("engine", out.clone(), move || {
        run_engine(Answers::of(answers), &jobs, &engine_out);
    });
    let engine = to_engine.clone();
    let thread = spawn("store", out.clone(), move || {
        let now = clock::now();
        let opened = if new_store {
            Store::open_anew(&path, now)
        } else {
            Store::open(&path, now)
        };
        let store = match opened {
            Ok(store) => store,
            Err(error) => {
                let _ = say.send(Err(error));
                return;
            }
        };
        let opened = Opened {
            migrated: store.migrated().map(|m| m.copy.clone()),
            unwritable: store.unwritable().map(|why| why.to_string()),
        };
        let _ = say.send(Ok(opened));
        Keeper {
            store,
            out: store_out,
            engine,
            later,
            seen: None,
            to_keep: None,
            copies: backups.map(|folder| DayCopies {
                folder,
                seen_to: None,
                running: None,
            }),
            damaged: None,
        }
        .run(&errands);
    });
    let workers = Workers {
        store: to_store,
        engine: to_engine,
    };
    (workers, opened, thread)
}

/// A thread whose panic ends the loop instead of leaving a dead screen.
fn spawn(
    name: &str,
    out: Sender<Incoming>,
    body: impl FnOnce() + Send + 'static,
) -> Option<JoinHandle<()>> {
    struct Watch(Sender<Incoming>);
    impl Drop for Watch {
        fn drop(&mut self) {
            if thread::panicking() {
                let _ = self.0.send(Incoming::Broken);
            }
        }
    }
    // Without threads there is nothing to run; the loop ends at once because nothing
    // holds the channels.
    let body = move || {
        let _watch = Watch(out);
        body();
    };
    thread::Builder::new().name(name.into()).spawn(body).ok()
}

/// What the engine works on.
enum Job {
    /// The morning of a household.
    Morning(Task),
    /// A healthy ferment in the place of this one, by the same facts.
    Healthy(Spot),
}

/// A household to work the morning out of, with what ended ferments teach.
struct Task {
    household: Arc<Household>,
    history: Arc<History>,
    /// Says that the screen has the household: its morning comes after it.
    told: Receiver<()>,
    /// Dropped once the screen has the morning.
    done: Option<Sender<()>>,
}

/// What waits for the engine: only the newest of each kind counts.
#[derive(Default)]
struct Waiting {
    morning: Option<Task>,
    healthy: Option<Spot>,
}

impl Waiting {
    fn take(&mut self, job: Job) {
        match job {
            Job::Morning(task) => self.morning = Some(task),
            Job::Healthy(spot) => self.healthy = Some(spot),
        }
    }
}

fn run_engine(mut answers: Answers, jobs: &Receiver<Job>, out: &Sender<Incoming>) {
    let send = |msg| out.send(Incoming::Msg(msg)).is_ok();
    let mut known = None;
    loop {
        let job = match jobs.recv_timeout(QUIET) {
            Ok(job) => job,
            Err(RecvTimeoutError::Timeout) => {
                answers.keep();
                match jobs.recv() {
                    Ok(job) => job,
                    Err(_) => return,
                }
            }
            Err(RecvTimeoutError::Disconnected) => return,
        };
        let mut waiting = Waiting::default();
        waiting.take(job);
        while let Ok(job) = jobs.try_recv() {
            waiting.take(job);
        }
        if let Some(mut task) = waiting.morning {
            let morning = answers.morning(
                &task.household,
                &task.history,
                (clock::now(), clock::zone()),
            );
            let msg = Msg::Morning(task.household.revision, Arc::new(morning));
            if task.told.recv().is_ok() && !send(msg) {
                return;
            }
            drop(task.done.take());
            known = Some(task);
        }
        if let (Some(spot), Some(task)) = (waiting.healthy, &known) {
            let (household, history) = (&task.household, &task.history);
            // The line is drawn beside the ferment; the rest is on another screen.
            let healthy = trend::healthy_way(household, spot, history, clock::now());
            let mut beside = Beside {
                healthy,
                what_ifs: None,
            };
            if !send(Msg::Healthy(spot, Arc::new(beside.clone()))) {
                return;
            }
            let what_ifs = trend::what_ifs_at(household, spot, history, clock::now());
            beside.what_ifs = Some(what_ifs);
            if !send(Msg::Healthy(spot, Arc::new(beside))) {
                return;
            }
        }
    }
}

struct Keeper {
    store: Store,
    out: Sender<Incoming>,
    engine: Sender<Job>,
    /// Of the first telling only.
    later: Option<ReadLibrary>,
    /// The revision last told.
    seen: Option<i64>,
    /// What was told, until nobody waits and its bottles are kept.
    to_keep: Option<(Arc<Household>, Moment)>,
    /// None where none are wanted.
    copies: Option<DayCopies>,
    /// What was found; from then on nothing is written.
    damaged: Option<String>,
}

/// The copies of the store by the day. Its pages are read through the store's own
/// connection; looking a copy over takes longer, and touches no store.
struct DayCopies {
    folder: PathBuf,
    /// The last day on which one was made, found or tried.
    seen_to: Option<NaiveDate>,
    running: Option<JoinHandle<Result<PathBuf, StoreError>>>,
}

impl Keeper {
    fn run(mut self, errands: &Receiver<Errand>) {
        self.tell();
        let mut came = None;
        loop {
            let next = match came.take() {
                Some(errand) => Ok(errand),
                None => errands.recv_timeout(LOOK),
            };
            match next {
                Ok(errand) => self.carry(errand),
                Err(RecvTimeoutError::Timeout) => {
                    self.look();
                    if let Some((household, now)) = self.to_keep.take() {
                        self.store.keep_dossiers(&household, now);
                    }
                    came = self.copy(Some(errands));
                }
                Err(RecvTimeoutError::Disconnected) => {
                    // Nobody waits any longer but who wants it whole.
                    self.copy(None);
                    return self.copied();
                }
            }
        }
    }

    fn send(&self, msg: Msg) {
        // A closed channel means that the loop has ended; this thread ends next.
        let _ = self.out.send(Incoming::Msg(msg));
    }

    /// Makes the copy of the day, where it is due and nothing else comes; what came
    /// meanwhile is given back. Without errands to wait for it is made in one go.
    fn copy(&mut self, errands: Option<&Receiver<Errand>>) -> Option<Errand> {
        let now = clock::now();
        let copies = self.copies.as_mut()?;
        if copies.running.as_ref().is_some_and(JoinHandle::is_finished) {
            self.copied();
            return None;
        }
        let settled = copies.running.is_some() || copies.seen_to == Some(now.day());
        if settled || self.damaged.is_some() || self.store.unwritable().is_some() {
            return None;
        }
        let mut came = None;
        let mut go_on = || {
            came = errands.and_then(|errands| errands.try_recv().ok());
            came.is_none()
        };
        let (store, folder) = (&self.store, copies.folder.as_path());
        let pages = store
            .is_copy_due(folder, now)
            .and_then(|due| match errands {
                _ if !due => Ok(None),
                Some(_) => store.copy_pages(folder, now, Some(&mut go_on)),
                None => store.copy_pages(folder, now, None),
            });
        if came.is_some() {
            return came;
        }
        copies.seen_to = Some(now.day());
        match pages {
            Ok(Some(pages)) => {
                let finish = move || pages.finish();
                // Where no thread can be had, the next write from the shell copies.
                let running = thread::Builder::new().name("copy".into()).spawn(finish);
                copies.running = running.ok();
            }
            Ok(None) => {}
            Err(error) => self.trouble(&error),
        }
        None
    }

    /// Waits for the copy that is being looked over, and says what is wrong with it.
    fn copied(&mut self) {
        let running = self.copies.as_mut().and_then(|c| c.running.take());
        if let Some(Ok(Err(error))) = running.map(JoinHandle::join) {
            self.trouble(&error);
        }
    }

    /// Says what went wrong; damage on a screen of its own, with all that can be found.
    fn trouble(&mut self, error: &StoreError) {
        if !matches!(error.cause, Cause::Damaged(_) | Cause::Odd { .. }) {
            return self.send(Msg::Trouble(error.to_string()));
        }
        let known = self.damaged.replace(error.to_string()).is_some();
        if known {
            return;
        }
        let now = clock::now();
        let found = match self.store.check(now) {
            Ok(findings) if !findings.is_empty() => {
                findings.iter().map(ToString::to_string).collect()
            }
            _ => vec![error.cause.to_string()],
        };
        let to_do = self
            .store
            .path()
            .map_or_else(Vec::new, |path| work::way_out(path, now));
        self.send(Msg::Damaged(found, to_do));
    }

    fn look(&mut self) {
        match self.store.revision() {
            Ok(now) if self.seen == Some(now) => {}
            Ok(_) => self.tell(),
            Err(error) => self.trouble(&error),
        }
    }

    /// Tells the household as it stands, and has the morning worked out.
    fn tell(&mut self) {
        match self.try_to_tell() {
            Ok(()) => {}
            Err(WorkError::Store(error)) => self.trouble(&error),
            Err(refused) => self.send(Msg::Trouble(refused.to_string())),
        }
    }

    fn try_to_tell(&mut self) -> Result<(), WorkError> {
        let now = clock::now();
        let (household, history) = taught(&self.store, now)?;
        let household = Arc::new(household);
        let (say, told) = channel();
        let (done, morning) = channel();
        let task = Task {
            household: household.clone(),
            history: Arc::new(history),
            told,
            done: Some(done),
        };
        // The engine begins with it while the rest is read. One that has ended says so itself.
        let _ = self.engine.send(Job::Morning(task));
        let revision = household.revision;
        self.to_keep = Some((household.clone(), now));
        let mut loaded = without_supplies(&self.store, household)?;
        if let Some(library) = self.later.take() {
            self.send(Msg::Household(Box::new(loaded)));
            let _ = say.send(());
            // Both cores are the engine's until the first picture stands.
            let _ = morning.recv();
            self.send(Msg::Library(Arc::new(library())));
            self.send(Msg::Supplies(Box::new(self.store.supplies()?)));
        } else {
            loaded.supplies = Some(self.store.supplies()?);
            self.send(Msg::Household(Box::new(loaded)));
            let _ = say.send(());
        }
        self.seen = Some(revision);
        Ok(())
    }

    fn stories(&self, now: Moment) -> Result<Vec<Story>, WorkError> {
        let household = self.store.household(now)?;
        work::stories(&self.store, &household, now)
    }

    fn carry(&mut self, errand: Errand) {
        let now = clock::now();
        let written = match &errand {
            Errand::CarryOut(ticket, _)
            | Errand::SetUp(ticket, _)
            | Errand::Undo(ticket)
            | Errand::Redo(ticket) => Some(*ticket),
            _ => None,
        };
        if let (Some(ticket), Some(why)) = (written, &self.damaged) {
            return self.send(Msg::Refused(ticket, why.clone()));
        }
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
                Err(error) => self.trouble(&error),
            },
            Errand::Stories => match self.stories(now) {
                Ok(stories) => self.send(Msg::Stories(Arc::new(stories))),
                Err(error) => self.send(Msg::Trouble(error.to_string())),
            },
            Errand::Reassess => self.tell(),
            Errand::Demo(ticket) => match demo(now) {
                Ok(store) => {
                    self.store = store;
                    self.to_keep = None;
                    self.copies = None;
                    self.damaged = None;
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
                if let WorkError::Store(error) = &error
                    && matches!(error.cause, Cause::Damaged(_))
                {
                    self.trouble(error);
                }
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
    let (household, history) = taught(store, now)?;
    let mut loaded = without_supplies(store, Arc::new(household))?;
    loaded.supplies = Some(store.supplies()?);
    Ok((loaded, history))
}

fn taught(store: &Store, now: Moment) -> Result<(Household, History), WorkError> {
    let (household, lessons) = store.household_and_lessons(now)?;
    let history = work::taught(store, &household, lessons, now);
    Ok((household, history))
}

fn without_supplies(store: &Store, household: Arc<Household>) -> Result<Loaded, WorkError> {
    Ok(Loaded {
        household,
        last_change: store.changes(1)?.first().map(|c| c.name.clone()),
        supplies: None,
        undo: work::undo_name(store)?,
        redo: work::redo_name(store)?,
    })
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
    use std::path::Path;

    /// The revision of the next morning.
    fn morning(incoming: &Receiver<Incoming>) -> i64 {
        loop {
            let next = incoming.recv_timeout(Duration::from_mins(1)).unwrap();
            if let Incoming::Msg(Msg::Morning(revision, _)) = next {
                return revision;
            }
        }
    }

    /// The demo in a file, and the threads at work on it.
    fn started(
        path: &Path,
        later: Option<ReadLibrary>,
    ) -> (
        Workers,
        Receiver<Result<Opened, StoreError>>,
        Receiver<Incoming>,
    ) {
        let mut store = Store::open(path, clock::now()).unwrap();
        work::demo::build(&mut store, clock::now()).unwrap();
        let (out, incoming) = channel();
        let source = Source {
            path: path.to_path_buf(),
            new_store: false,
            backups: None,
            answers: None,
            later,
        };
        let (workers, opened, _) = start(source, &out);
        (workers, opened, incoming)
    }

    #[test]
    fn nothing_is_worked_out_again_until_something_changes() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("store");
        let (workers, opened, incoming) = started(&path, None);
        assert!(opened.recv().unwrap().unwrap().migrated.is_none());
        let first = morning(&incoming);
        // It looks several times meanwhile.
        assert!(incoming.recv_timeout(4 * LOOK).is_err());
        let mut other = Store::open(&path, clock::now()).unwrap();
        work::undo(&mut other, clock::now()).unwrap();
        assert_eq!(morning(&incoming), first + 1);
        assert!(incoming.recv_timeout(4 * LOOK).is_err());
        drop(workers);
    }

    #[test]
    fn what_the_first_picture_does_not_show_comes_after_its_morning() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("store");
        let later: ReadLibrary = Box::new(Library::default);
        let (workers, opened, incoming) = started(&path, Some(later));
        let store = Store::open(&path, clock::now()).unwrap();
        opened.recv().unwrap().unwrap();
        let next = || match incoming.recv_timeout(Duration::from_mins(1)).unwrap() {
            Incoming::Msg(msg) => msg,
            _ => panic!("only messages come"),
        };
        let Msg::Household(loaded) = next() else {
            panic!("the household comes first")
        };
        assert!(loaded.supplies.is_none());
        assert!(matches!(next(), Msg::Morning(..)));
        assert!(matches!(next(), Msg::Library(_)));
        let Msg::Supplies(supplies) = next() else {
            panic!("the supplies come last")
        };
        assert_eq!(*supplies, store.supplies().unwrap());
        // From then on all comes together.
        workers.send(Errand::Reassess).unwrap();
        let Msg::Household(loaded) = next() else {
            panic!("the household comes again")
        };
        assert_eq!(loaded.supplies, Some(store.supplies().unwrap()));
    }
}
