//! Reading with two hands: each takes the next batch that nobody has taken, from
//! the same moment of the same file.

use super::error::Result;
use super::household::dossier;
use super::open::{FileId, connect, file_id};
use super::{Lessons, Reader, Store};
use crate::domain::records::{Batch, Dossier, Stage};
use crate::domain::units::Moment;
use rusqlite::Connection;
use std::path::Path;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, channel};
use std::thread::{self, JoinHandle};

/// Where there have been fewer batches ever, they are read sooner than a second way
/// to the file is opened.
const WORTH_IT: i64 = 16;

/// The second way to the file.
#[derive(Debug, Default)]
pub(super) enum Beside {
    #[default]
    None,
    /// It is being opened.
    Opening(JoinHandle<Option<Connection>>),
    /// It was used before.
    Open(Connection),
}

impl Beside {
    /// Opened while the caller opens the first.
    pub(super) fn opened_meanwhile(path: &Path) -> Self {
        let path = path.to_path_buf();
        let other = thread::Builder::new().spawn(move || connect(&path).ok());
        other.map_or(Self::None, Self::Opening)
    }

    /// None where there is none yet, or it could not be opened.
    fn taken(self) -> Option<Connection> {
        match self {
            Self::None => None,
            Self::Opening(other) => other.join().ok().flatten(),
            Self::Open(conn) => Some(conn),
        }
    }
}

impl Store {
    /// The dossiers of some batches, in their order, and the lessons of all others
    /// where they are wanted; `reader` has its moment already.
    /// The second hand makes itself ready while the first finds out which they are.
    /// Where it cannot read that very moment, the first reads all.
    pub(super) fn read_all(
        &self,
        reader: Reader<'_>,
        which: impl FnOnce() -> Result<Vec<Batch>>,
        lessons: bool,
        now: Moment,
    ) -> Result<(Vec<Dossier>, Lessons)> {
        let ever: Option<i64> = reader.one("SELECT max(id) FROM batch", [])?.flatten();
        let worth_it = ever.is_some_and(|ever| ever >= WORTH_IT);
        let file = self.path.as_deref().zip(self.file).filter(|_| worth_it);
        let revision = reader.revision()?;
        let pile = OnceLock::new();
        let (begin, begun) = channel();
        thread::scope(|scope| {
            // Gone with this scope, whatever goes wrong in it: the other waits for no one then.
            let begin = begin;
            let pile = &pile;
            let other = file.and_then(|file| {
                let before = self.beside.take();
                let hand = move || second_hand(before, file, revision, &begun, pile, now);
                thread::Builder::new().spawn_scoped(scope, hand).ok()
            });
            let batches = which()?;
            let pile = pile.get_or_init(|| Pile::of(batches, lessons));
            let _ = begin.send(());
            let mut read = pile.read(reader, now)?;
            if let Some((conn, there)) = other.and_then(|hand| hand.join().ok()).flatten() {
                read.add(there);
                self.beside.replace(Beside::Open(conn));
            }
            // What the second hand took and could not read is told by the first.
            let mut all: Vec<Option<Dossier>> = pile.batches.iter().map(|_| None).collect();
            for (at, dossier) in read.dossiers {
                if let Some(place) = all.get_mut(at) {
                    *place = Some(dossier);
                }
            }
            let all = pile.batches.iter().zip(all);
            let dossiers: Result<_> = all
                .map(|(batch, read)| read.map_or_else(|| one(reader, batch, now), Ok))
                .collect();
            let lessons = match read.lessons {
                None if lessons => reader.lessons(now)?,
                read => read.unwrap_or_default(),
            };
            Ok((dossiers?, lessons))
        })
    }
}

/// What it read, and its way to the file for the next time.
fn second_hand(
    before: Beside,
    (path, file): (&Path, FileId),
    revision: i64,
    begun: &Receiver<()>,
    pile: &OnceLock<Pile>,
    now: Moment,
) -> Option<(Connection, Read)> {
    // What was put in its place meanwhile is another store.
    let same = || file_id(path).is_ok_and(|there| there == file);
    let connect = || before.taken().or_else(|| connect(path).ok());
    let conn = same().then(connect).flatten()?;
    if !same() {
        return None;
    }
    let tx = conn.unchecked_transaction().ok()?;
    let reader = Reader::new(&tx);
    if reader.revision().ok()? != revision {
        return None;
    }
    begun.recv().ok()?;
    let read = pile.get()?.read(reader, now).ok()?;
    drop(tx);
    Some((conn, read))
}

/// As it was kept, or put together.
fn one(reader: Reader<'_>, batch: &Batch, now: Moment) -> Result<Dossier> {
    match reader.kept(batch, now)? {
        Some(kept) => Ok(kept),
        None => dossier(reader, batch.clone(), now),
    }
}

/// What a hand read.
#[derive(Default)]
struct Read {
    /// With their places among the batches.
    dossiers: Vec<(usize, Dossier)>,
    lessons: Option<Lessons>,
}

impl Read {
    fn add(&mut self, other: Self) {
        self.dossiers.extend(other.dossiers);
        self.lessons = self.lessons.take().or(other.lessons);
    }
}

/// Batches of which each hand takes the next.
struct Pile {
    batches: Vec<Batch>,
    /// Their places, bottles last: most of them are kept, and soon read.
    order: Vec<usize>,
    taken: AtomicUsize,
    /// Nobody has taken the lessons, and they are wanted.
    lessons: AtomicBool,
}

impl Pile {
    fn of(batches: Vec<Batch>, lessons: bool) -> Self {
        let in_bottles = |at: &usize| batches.get(*at).is_some_and(|b| b.stage == Stage::Bottled);
        let mut order: Vec<usize> = (0..batches.len()).collect();
        order.sort_by_key(in_bottles);
        Self {
            order,
            batches,
            taken: AtomicUsize::new(0),
            lessons: AtomicBool::new(lessons),
        }
    }

    fn read(&self, reader: Reader<'_>, now: Moment) -> Result<Read> {
        let mut read = Read::default();
        if self.lessons.swap(false, Ordering::Relaxed) {
            read.lessons = Some(reader.lessons(now)?);
        }
        loop {
            let next = self.taken.fetch_add(1, Ordering::Relaxed);
            let at = self.order.get(next).copied();
            let Some((at, batch)) = at.and_then(|at| Some((at, self.batches.get(at)?))) else {
                return Ok(read);
            };
            read.dossiers.push((at, one(reader, batch, now)?));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::records::Stage;
    use crate::work;

    fn now() -> Moment {
        Moment::new(chrono::DateTime::parse_from_rfc3339("2026-11-25T07:00:00Z").unwrap())
    }

    /// As many as are worth a second hand: all of the demo, several times.
    fn many(store: &Store) -> Vec<Batch> {
        let all = store.all_batches().unwrap();
        let many = all.iter().cycle().take(4 * all.len());
        many.cloned().collect()
    }

    #[test]
    fn two_hands_read_what_one_reads() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("store");
        let mut store = Store::open(&path, now()).unwrap();
        work::demo::build(&mut store, now()).unwrap();
        let batches = many(&store);
        assert!(batches.iter().any(|b| b.id.0 >= WORTH_IT));
        assert!(batches.iter().any(|b| b.stage == Stage::Bottled));
        let tx = store.conn.unchecked_transaction().unwrap();
        let reader = Reader::new(&tx);
        let one = |batch: &Batch| dossier(reader, batch.clone(), now()).unwrap();
        let learned = reader.lessons(now()).unwrap();
        assert!(!learned.new.is_empty());
        let alone: Vec<Dossier> = batches.iter().map(one).collect();
        let both = || {
            let read = store.read_all(reader, || Ok(batches.clone()), true, now());
            read.map(|(dossiers, lessons)| {
                assert_eq!(
                    (&lessons.known, &lessons.new),
                    (&learned.known, &learned.new)
                );
                dossiers
            })
        };
        assert_eq!(both().unwrap(), alone);

        // Another hand writes: the second one sees a later moment, and is not heard.
        let mut writer = Store::open(&path, now()).unwrap();
        work::undo(&mut writer, now()).unwrap();
        assert_eq!(both().unwrap(), alone);
        work::redo(&mut writer, now()).unwrap();
        drop(writer);

        // Another file under the same name, or none.
        let away = folder.path().join("away");
        std::fs::rename(&path, &away).unwrap();
        assert_eq!(both().unwrap(), alone);
        std::fs::copy(&away, &path).unwrap();
        assert_eq!(both().unwrap(), alone);
    }
}
