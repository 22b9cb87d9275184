//! Dossiers of batches in bottles, each kept in one piece so that it is put
//! together once.

use super::error::Result;
use super::household::SETTLED;
use super::lessons::MADE_BY;
use super::{Reader, Store};
use crate::domain::proof::number_of;
use crate::domain::records::{Batch, BatchId, Dossier, Household, Stage, Stay};
use crate::domain::units::Moment;
use rusqlite::{Transaction, params};

/// Bytes in front that prove the rest.
const PROOF: usize = 16;

fn proof(batch: BatchId, said: &[u8]) -> [u8; PROOF] {
    number_of(&[MADE_BY.as_bytes(), &batch.0.to_be_bytes(), said]).to_be_bytes()
}

/// A dossier as bytes; none where it would not read back as it is.
fn bytes(dossier: &Dossier) -> Option<Vec<u8>> {
    let said = postcard::to_allocvec(dossier).ok()?;
    let mut bytes = proof(dossier.batch.id, &said).to_vec();
    bytes.extend(said);
    let back = read_back(&dossier.batch, &bytes)?;
    (back == *dossier).then_some(bytes)
}

/// What the bytes say, if they are those that were kept.
fn said(batch: BatchId, bytes: &[u8]) -> Option<&[u8]> {
    let (proved, said) = bytes.split_first_chunk()?;
    (*proved == proof(batch, said)).then_some(said)
}

/// The last instant of which all days are summed up as they will always be.
fn settled(now: Moment) -> i64 {
    now.utc_ms().saturating_sub(SETTLED)
}

/// The dossier of a batch from its bytes; none where they cannot be believed.
pub(super) fn read_back(batch: &Batch, bytes: &[u8]) -> Option<Dossier> {
    let dossier: Dossier = postcard::from_bytes(said(batch.id, bytes)?).ok()?;
    (dossier.batch == *batch).then_some(dossier)
}

impl Reader<'_> {
    /// The bytes of the dossier of a batch in bottles, as they were kept; none where there
    /// are none of it as it stands.
    pub(super) fn kept(self, batch: &Batch, now: Moment) -> Result<Option<Vec<u8>>> {
        if batch.stage != Stage::Bottled {
            return Ok(None);
        }
        let mut ask = self.conn().prepare_cached(
            "SELECT d.whole FROM dossier d JOIN lesson l ON l.batch = d.batch
             WHERE d.batch = ?1 AND d.made_by = ?2 AND l.made_by = ?2 AND l.until_ms <= ?3",
        )?;
        let mut rows = ask.query(params![batch.id.0, MADE_BY, settled(now)])?;
        let Some(row) = rows.next()? else {
            return Ok(None);
        };
        // What is no bytes is not believed either.
        Ok(row.get_ref(0)?.as_blob().ok().map(<[u8]>::to_vec))
    }

    /// When a batch ended, by its lesson of these sums.
    fn learned_until(self, batch: BatchId) -> Result<Option<i64>> {
        self.one(
            "SELECT until_ms FROM lesson WHERE batch = ?1 AND made_by = ?2",
            params![batch.0, MADE_BY],
        )
    }
}

impl Store {
    /// Keeps the dossiers of the batches in bottles of a household for the next
    /// time, where that can be done, and forgets all others where there is one to keep.
    pub fn keep_dossiers(&self, household: &Household, now: Moment) {
        // What cannot be looked at now is kept another time.
        let new = self.worth_keeping(household, now).unwrap_or_default();
        if !new.is_empty() {
            self.keep_worked_out(household.revision, |tx| put(tx, household, new));
        }
    }

    /// Those that are not kept yet, as bytes.
    fn worth_keeping(&self, household: &Household, now: Moment) -> Result<Vec<(BatchId, Vec<u8>)>> {
        let tx = self.conn.unchecked_transaction()?;
        let reader = Reader::new(&tx);
        let mut new = Vec::new();
        for dossier in &household.dossiers {
            let batch = &dossier.batch;
            if batch.stage == Stage::Bottled
                && !is_kept(reader, batch, now)?
                && let Some(until) = reader.learned_until(batch.id)?
                && until <= settled(now)
                && ended_by(until, &dossier.stays)
                && let Some(bytes) = bytes(dossier)
            {
                new.push((batch.id, bytes));
            }
        }
        Ok(new)
    }
}

fn is_kept(reader: Reader<'_>, batch: &Batch, now: Moment) -> Result<bool> {
    let kept = reader.kept(batch, now)?;
    Ok(kept.is_some_and(|bytes| said(batch.id, &bytes).is_some()))
}

fn put(tx: &Transaction<'_>, household: &Household, new: Vec<(BatchId, Vec<u8>)>) -> Result<()> {
    let mut ask = tx.prepare("SELECT batch FROM dossier")?;
    let held = ask.query_map([], |row| row.get(0).map(BatchId))?;
    let held: Vec<BatchId> = held.collect::<rusqlite::Result<_>>()?;
    let shown = |id: BatchId| household.dossiers.iter().any(|d| d.batch.id == id);
    for other in held.into_iter().filter(|id| !shown(*id)) {
        tx.execute("DELETE FROM dossier WHERE batch = ?1", [other.0])?;
    }
    for (batch, bytes) in new {
        tx.execute(
            "INSERT OR REPLACE INTO dossier (batch, made_by, whole) VALUES (?1, ?2, ?3)",
            params![batch.0, MADE_BY, bytes],
        )?;
    }
    Ok(())
}

/// What is later than its lesson looks is not guarded by it.
fn ended_by(until: i64, stays: &[Stay]) -> bool {
    stays
        .iter()
        .all(|s| s.to.is_some_and(|to| to.utc_ms() <= until))
}
