//! Reading with two hands: each takes the next batch that nobody has taken, from
//! the same moment of the same file.

use super::error::Result;
use super::household::dossier;
use super::open::{FileId, connect, file_id};
use super::{Reader, Store};
use crate::domain::records::{Batch, Dossier};
use crate::domain::units::Moment;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// Fewer batches are read sooner than a second way to the file is opened.
const WORTH_IT: usize = 16;

impl Store {
    /// The dossiers of batches, in their order; `reader` has its moment already.
    /// Where a second hand cannot read that very moment, the first reads all.
    pub(super) fn dossiers(
        &self,
        reader: Reader<'_>,
        batches: &[Batch],
        now: Moment,
    ) -> Result<Vec<Dossier>> {
        let pile = Pile {
            batches,
            taken: AtomicUsize::new(0),
        };
        let mut read: Vec<Option<Dossier>> = batches.iter().map(|_| None).collect();
        if self.path.is_none() || batches.len() < WORTH_IT {
            lay(&mut read, pile.read(reader, now)?);
        } else {
            let (revision, path, file) = (reader.revision()?, self.path.as_deref(), self.file);
            let here = thread::scope(|scope| {
                let other = || second_hand(path?, file?, revision, &pile, now);
                let other = thread::Builder::new().spawn_scoped(scope, other);
                let here = pile.read(reader, now);
                let there = other.ok().and_then(|hand| hand.join().ok()).flatten();
                lay(&mut read, there.unwrap_or_default());
                here
            });
            lay(&mut read, here?);
        }
        // What the second hand took and could not read is told by the first.
        let all = batches.iter().zip(read);
        all.map(|(batch, read)| read.map_or_else(|| dossier(reader, batch.clone(), now), Ok))
            .collect()
    }
}

fn second_hand(
    path: &Path,
    file: FileId,
    revision: i64,
    pile: &Pile<'_>,
    now: Moment,
) -> Option<Read> {
    // What was put in its place meanwhile is another store.
    let same = || file_id(path).is_ok_and(|there| there == file);
    let conn = same().then(|| connect(path).ok()).flatten()?;
    if !same() {
        return None;
    }
    let tx = conn.unchecked_transaction().ok()?;
    let reader = Reader::new(&tx);
    if reader.revision().ok()? != revision {
        return None;
    }
    pile.read(reader, now).ok()
}

/// Dossiers with their places among the batches.
type Read = Vec<(usize, Dossier)>;

/// Batches of which each hand takes the next.
struct Pile<'b> {
    batches: &'b [Batch],
    taken: AtomicUsize,
}

impl Pile<'_> {
    fn read(&self, reader: Reader<'_>, now: Moment) -> Result<Read> {
        let mut read = Vec::new();
        loop {
            let at = self.taken.fetch_add(1, Ordering::Relaxed);
            let Some(batch) = self.batches.get(at) else {
                return Ok(read);
            };
            read.push((at, dossier(reader, batch.clone(), now)?));
        }
    }
}

fn lay(places: &mut [Option<Dossier>], read: Read) {
    for (at, dossier) in read {
        if let Some(place) = places.get_mut(at) {
            *place = Some(dossier);
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
        let many = all.iter().cycle().take(2 * WORTH_IT + all.len());
        many.cloned().collect()
    }

    #[test]
    fn two_hands_read_what_one_reads() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("store");
        let mut store = Store::open(&path, now()).unwrap();
        work::demo::build(&mut store, now()).unwrap();
        let batches = many(&store);
        assert!(batches.iter().any(|b| b.stage == Stage::Bottled));
        let tx = store.conn.unchecked_transaction().unwrap();
        let reader = Reader::new(&tx);
        let one = |batch: &Batch| dossier(reader, batch.clone(), now()).unwrap();
        let alone: Vec<Dossier> = batches.iter().map(one).collect();
        let both = || store.dossiers(reader, &batches, now());
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
