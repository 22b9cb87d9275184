//! Reading with two hands: what lies in vessels with one, what is in bottles
//! with the other, from the same moment of the same file.

use super::error::Result;
use super::household::dossier;
use super::open::{connect, file_id};
use super::{Reader, Store};
use crate::domain::records::{Batch, Dossier};
use crate::domain::units::Moment;
use std::thread;

/// Fewer batches are read sooner than a second way to the file is opened.
const WORTH_IT: usize = 8;

impl Store {
    /// The dossiers of both; `reader` has its moment already. Where the second
    /// hand cannot read that very moment, the first reads all.
    pub(super) fn both(
        &self,
        reader: Reader<'_>,
        first: Vec<Batch>,
        second: Vec<Batch>,
        now: Moment,
    ) -> Result<Vec<Dossier>> {
        if self.path.is_none() || second.len() < WORTH_IT {
            return all(reader, first.into_iter().chain(second), now);
        }
        let (revision, path, file) = (reader.revision()?, self.path.as_deref(), self.file);
        let other = || {
            let path = path?;
            // What was put in its place meanwhile is another store.
            let same = || file_id(path).is_ok_and(|there| Some(there) == file);
            let conn = same().then(|| connect(path).ok()).flatten()?;
            if !same() {
                return None;
            }
            let tx = conn.unchecked_transaction().ok()?;
            let reader = Reader::new(&tx);
            if reader.revision().ok()? != revision {
                return None;
            }
            // What cannot be read is told by the first hand.
            all(reader, second.iter().cloned(), now).ok()
        };
        let (mut dossiers, read) = thread::scope(|scope| {
            let other = thread::Builder::new().spawn_scoped(scope, other);
            let here = all(reader, first.into_iter(), now);
            let there = other.ok().and_then(|hand| hand.join().ok()).flatten();
            here.map(|here| (here, there))
        })?;
        match read {
            Some(more) => dossiers.extend(more),
            None => dossiers.extend(all(reader, second.into_iter(), now)?),
        }
        Ok(dossiers)
    }
}

fn all(
    reader: Reader<'_>,
    batches: impl Iterator<Item = Batch>,
    now: Moment,
) -> Result<Vec<Dossier>> {
    batches.map(|batch| dossier(reader, batch, now)).collect()
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
        let many = all.iter().cycle().take(WORTH_IT + all.len());
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
        let alone = all(reader, batches.iter().chain(&batches).cloned(), now()).unwrap();
        let both = || store.both(reader, batches.clone(), batches.clone(), now());
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
