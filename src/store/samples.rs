//! Dense logger data: taken in fast, read thinned.
//!
//! A stream is one quantity that one source reports of one vessel or place.
//! Hours and days are summed up as samples arrive (`digest`), so that the
//! morning stays quick with ten million rows.

use super::cells::{self, Odd};
use super::changes::finish;
use super::error::{Cause, Doing, Result};
use super::{Reader, Store, seal};
use crate::domain::records::{MeasureKind, PlaceId, Seen, Subject, Unit, VesselId};
use crate::domain::units::Moment;
use rusqlite::{Transaction, params};
use std::collections::HashMap;

pub(super) const HOUR: i64 = 3_600_000;
pub(super) const DAY: i64 = 24 * HOUR;

/// What holds the values of loggers.
pub(super) const TABLES: [&str; 2] = ["sample", "digest"];

/// Samples in one transaction: as many as can be lost and sent again, few
/// enough that another writer waits for a moment only.
const CHUNK: usize = 50_000;

/// One value that a logger reports.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Of what.
    pub subject: Subject,
    /// When.
    pub at: Moment,
    /// The value as reported.
    pub seen: Seen,
}

/// What became of samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Intake {
    /// New ones, now kept.
    pub kept: u64,
    /// Known by source, kind and instant already, and left as they were.
    pub known: u64,
}

/// A stretch of one stream drawn together. Nothing between `low` and `high` is hidden.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bucket {
    /// Mean instant of its samples.
    pub at: Moment,
    /// Samples in it.
    pub count: u64,
    /// Mean value.
    pub mean: f64,
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
}

/// One stream, thinned.
#[derive(Debug, Clone, PartialEq)]
pub struct Thinned {
    /// Who reports.
    pub source: String,
    /// What.
    pub kind: MeasureKind,
    /// In which unit; buckets are in this unit too.
    pub unit: Unit,
    /// In order of time.
    pub buckets: Vec<Bucket>,
}

/// A row of `stream`.
#[derive(Debug, Clone)]
pub(super) struct Stream {
    pub(super) id: i64,
    pub(super) source: String,
    pub(super) kind: MeasureKind,
    pub(super) unit: Unit,
}

/// A running sum of samples; instants count from the start of the span.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sum {
    pub(super) from: i64,
    pub(super) offset: i32,
    count: i64,
    late: i64,
    total: f64,
    low: f64,
    high: f64,
    /// The checksums of its samples, joined by exclusive or.
    proof: i64,
    /// The least and the greatest offset of its samples.
    offsets: (i32, i32),
}

impl Sum {
    fn of(from: i64, at: i64, offset: i32, value: f64) -> Self {
        Self {
            from,
            offset,
            count: 1,
            late: at.saturating_sub(from),
            total: value,
            low: value,
            high: value,
            proof: 0,
            offsets: (offset, offset),
        }
    }

    /// The same, with the checksum of the one sample that it is of.
    fn proven(self, proof: i64) -> Self {
        Self { proof, ..self }
    }

    // A damaged file may hold any numbers: sums saturate, and what has no mean
    // or no instant is left out.
    fn join(&mut self, other: &Self) {
        let shift = other.from.saturating_sub(self.from);
        self.late = self
            .late
            .saturating_add(other.late)
            .saturating_add(other.count.saturating_mul(shift));
        self.count = self.count.saturating_add(other.count);
        self.total += other.total;
        self.low = self.low.min(other.low);
        self.high = self.high.max(other.high);
        self.offset = other.offset;
        self.proof ^= other.proof;
        self.offsets.0 = self.offsets.0.min(other.offsets.0);
        self.offsets.1 = self.offsets.1.max(other.offsets.1);
    }

    /// Whether a row of digests, from its count on, says the same.
    fn is(&self, row: &rusqlite::Row<'_>) -> Result<bool> {
        let total: f64 = row.get(5)?;
        let size = self.low.abs().max(self.high.abs()) * self.count as f64;
        Ok(self.count == row.get::<_, i64>(3)?
            && self.late == row.get::<_, i64>(4)?
            // Added up in another order, the last digits differ.
            && (self.total - total).abs() <= 1e-9 * size
            && self.low.to_bits() == row.get::<_, f64>(6)?.to_bits()
            && self.high.to_bits() == row.get::<_, f64>(7)?.to_bits()
            && self.proof == row.get::<_, i64>(8)?
            // That of the sample that came last, which need not be the latest.
            && (self.offsets.0..=self.offsets.1).contains(&row.get(9)?))
    }

    pub(super) fn mean(&self) -> f64 {
        // Rounding must not carry the mean past its samples.
        (self.total / self.count as f64)
            .max(self.low)
            .min(self.high)
    }

    /// How far its least and greatest value lie apart.
    pub(super) fn swing(&self) -> f64 {
        self.high - self.low
    }

    pub(super) fn at(&self) -> Option<Moment> {
        let late = self.late.checked_div(self.count)?;
        Moment::from_stored(self.from.checked_add(late)?, self.offset)
    }

    fn bucket(&self) -> Option<Bucket> {
        Some(Bucket {
            at: self.at()?,
            count: self.count.unsigned_abs(),
            mean: self.mean(),
            low: self.low,
            high: self.high,
        })
    }
}

impl Store {
    /// Takes in what one source reports. A sample whose source, kind and instant
    /// are known is left as it was, so that a logger may send all again. Each
    /// chunk is kept whole; after an error, what was sent before it stays kept.
    pub fn take_samples(
        &mut self,
        source: &str,
        samples: impl IntoIterator<Item = Sample>,
    ) -> Result<Intake> {
        let mut intake = Intake::default();
        let mut samples = samples.into_iter().peekable();
        while samples.peek().is_some() {
            let tx = self.begin().doing("taking in samples")?;
            let chunk = take_chunk(&tx, source, samples.by_ref().take(CHUNK));
            let (kept, known) = chunk.doing("taking in samples")?;
            if kept > 0 {
                finish(tx).doing("taking in samples")?;
            }
            intake.kept += kept;
            intake.known += known;
        }
        Ok(intake)
    }

    /// Streams of a vessel or place between two instants (the second not part of
    /// it), each in at most about `wanted` buckets with their least and greatest value.
    pub fn thinned(
        &self,
        subject: Subject,
        from: Moment,
        to: Moment,
        wanted: usize,
    ) -> Result<Vec<Thinned>> {
        let doing = "reading the trend";
        let tx = self.conn.unchecked_transaction().doing(doing)?;
        let reader = Reader::new(&tx);
        let mut all = Vec::new();
        for stream in reader.streams(subject).doing(doing)? {
            let sums = reader
                .sums(stream.id, from.utc_ms(), to.utc_ms(), wanted)
                .doing(doing)?;
            if !sums.is_empty() {
                all.push(Thinned {
                    source: stream.source,
                    kind: stream.kind,
                    unit: stream.unit,
                    buckets: sums.iter().filter_map(Sum::bucket).collect(),
                });
            }
        }
        Ok(all)
    }

    /// Every sample of a vessel or place between two instants, for export:
    /// stream after stream in order of time, with the name of its source.
    pub fn each_sample(
        &self,
        subject: Subject,
        from: Moment,
        to: Moment,
        mut take: impl FnMut(&str, Sample),
    ) -> Result<()> {
        let doing = "reading samples";
        let tx = self.conn.unchecked_transaction().doing(doing)?;
        let reader = Reader::new(&tx);
        for stream in reader.streams(subject).doing(doing)? {
            let give = |at, value| {
                if let Ok(seen) = Seen::new(stream.kind, value, stream.unit) {
                    take(&stream.source, Sample { subject, at, seen });
                }
            };
            reader
                .each(stream.id, from.utc_ms(), to.utc_ms(), give)
                .doing(doing)?;
        }
        Ok(())
    }

    /// How many samples there are. Counts the hours' sums, not the rows.
    pub fn sample_count(&self) -> Result<u64> {
        let sum: Option<i64> = self
            .read()
            .one("SELECT sum(count) FROM digest WHERE span_ms = ?1", [DAY])
            .map(Option::flatten)
            .doing("counting samples")?;
        Ok(sum.unwrap_or(0).unsigned_abs())
    }
}

/// Makes the sums of all samples anew.
pub(super) fn sum_anew(conn: &rusqlite::Connection) -> Result<()> {
    conn.execute("DELETE FROM digest", [])?;
    write_sums(conn, &sums_of_all(conn)?)
}

/// The sums of all samples by stream, span and the span's beginning.
fn sums_of_all(conn: &rusqlite::Connection) -> Result<Sums> {
    let mut sums = Sums::new();
    let mut ask =
        conn.prepare("SELECT stream, at_ms, at_off, value FROM sample ORDER BY stream, at_ms")?;
    let mut rows = ask.query([])?;
    while let Some(row) = rows.next()? {
        let (stream, at, offset, value) = (row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?);
        add_to(&mut sums, stream, at, offset, value);
    }
    Ok(sums)
}

/// Adds a sample to the sums of its hour and its day.
fn add_to(sums: &mut Sums, stream: i64, at: i64, offset: i32, value: f64) {
    let proof = seal::of_sample(stream, at, offset, value);
    for span in [HOUR, DAY] {
        let from = at.div_euclid(span).saturating_mul(span);
        let one = Sum::of(from, at, offset, value).proven(proof);
        sums.entry((stream, span, from))
            .and_modify(|sum| sum.join(&one))
            .or_insert(one);
    }
}

/// Returns the streams, with the beginning of the hour or day, of which the samples are not
/// those that were reported, or whose sums are not theirs.
pub(super) fn broken(conn: &rusqlite::Connection) -> Result<Vec<(i64, i64)>> {
    let mut sums = sums_of_all(conn)?;
    let mut found = Vec::new();
    let mut ask = conn.prepare(
        "SELECT stream, span_ms, from_ms, count, late_ms, total, low, high, proof, at_off
         FROM digest",
    )?;
    let mut rows = ask.query([])?;
    while let Some(row) = rows.next()? {
        let key: (i64, i64, i64) = (row.get(0)?, row.get(1)?, row.get(2)?);
        let same = match sums.remove(&key) {
            Some(sum) => sum.is(row)?,
            None => false,
        };
        if !same {
            found.push((key.0, key.2));
        }
    }
    found.extend(sums.into_keys().map(|(stream, _, from)| (stream, from)));
    found.sort_unstable();
    found.dedup();
    Ok(found)
}

/// Where the samples of one kind go: their stream, and the other streams of
/// that source and kind, which may know the instant already.
struct Target {
    stream: i64,
    siblings: Vec<i64>,
}

type Sums = HashMap<(i64, i64, i64), Sum>;

fn take_chunk(
    tx: &Transaction<'_>,
    source: &str,
    samples: impl Iterator<Item = Sample>,
) -> Result<(u64, u64)> {
    let mut targets: HashMap<(Subject, MeasureKind, Unit), Target> = HashMap::new();
    let mut sums = Sums::new();
    let (mut kept, mut known) = (0, 0);
    let mut put = tx.prepare_cached(
        "INSERT OR IGNORE INTO sample (stream, at_ms, at_off, value) VALUES (?1, ?2, ?3, ?4)",
    )?;
    for sample in samples {
        let key = (sample.subject, sample.seen.kind(), sample.seen.unit());
        if !targets.contains_key(&key) {
            let target = target(tx, source, sample)?;
            // The new stream is a sibling of those met before.
            for ((_, kind, _), other) in &mut targets {
                if *kind == key.1 && !other.siblings.contains(&target.stream) {
                    other.siblings.push(target.stream);
                }
            }
            targets.insert(key, target);
        }
        let Some(target) = targets.get(&key) else {
            continue;
        };
        let (at, offset) = (sample.at.utc_ms(), sample.at.offset_minutes());
        let value = sample.seen.value();
        if elsewhere(tx, target, at)?
            || put.execute(params![target.stream, at, offset, value])? == 0
        {
            known += 1;
            continue;
        }
        kept += 1;
        add_to(&mut sums, target.stream, at, offset, value);
    }
    write_sums(tx, &sums)?;
    Ok((kept, known))
}

/// Whether the source reported that instant of another vessel: a sensor is in
/// one place at a time.
fn elsewhere(tx: &Transaction<'_>, target: &Target, at: i64) -> Result<bool> {
    for other in &target.siblings {
        let mut ask = tx.prepare_cached("SELECT 1 FROM sample WHERE stream = ?1 AND at_ms = ?2")?;
        if ask.exists([*other, at])? {
            return Ok(true);
        }
    }
    Ok(false)
}

fn target(tx: &Transaction<'_>, source: &str, sample: Sample) -> Result<Target> {
    let (vessel, place, there) = match sample.subject {
        Subject::Vessel(v) => (Some(v.0), None, exists(tx, "vessel", v.0)?),
        Subject::Place(p) => (None, Some(p.0), exists(tx, "place", p.0)?),
    };
    if !there {
        return Err(
            Cause::Stuck("samples are of a vessel or place that is not there".into()).into(),
        );
    }
    if place.is_some() && sample.seen.kind() != MeasureKind::Temperature {
        return Err(Cause::Stuck("a place has only a temperature".into()).into());
    }
    if source.trim().is_empty() {
        return Err(Cause::Stuck("samples need the name of their source".into()).into());
    }
    let (kind, unit) = (sample.seen.kind().word(), sample.seen.unit().word());
    tx.prepare_cached(
        "INSERT OR IGNORE INTO stream (source, kind, unit, vessel, place)
         VALUES (?1, ?2, ?3, ?4, ?5)",
    )?
    .execute(params![source, kind, unit, vessel, place])?;
    if tx.changes() > 0 {
        seal::row(tx, "stream", tx.last_insert_rowid())?;
    }
    let mut ask = tx.prepare_cached(
        "SELECT id, unit = ?3 AND vessel IS ?4 AND place IS ?5 FROM stream
         WHERE source = ?1 AND kind = ?2",
    )?;
    let mut rows = ask.query(params![source, kind, unit, vessel, place])?;
    let (mut stream, mut siblings) = (None, Vec::new());
    while let Some(row) = rows.next()? {
        if row.get(1)? {
            stream = Some(row.get(0)?);
        } else {
            siblings.push(row.get(0)?);
        }
    }
    match stream {
        Some(stream) => Ok(Target { stream, siblings }),
        None => Err(Cause::Sql("a stream was not kept".into()).into()),
    }
}

fn exists(tx: &Transaction<'_>, table: &str, row: i64) -> Result<bool> {
    Ok(tx
        .prepare_cached(&format!("SELECT 1 FROM {table} WHERE id = ?1"))?
        .exists([row])?)
}

fn write_sums(tx: &rusqlite::Connection, sums: &Sums) -> Result<()> {
    let mut put = tx.prepare_cached(
        "INSERT INTO digest (stream, span_ms, from_ms, count, late_ms, at_off, total, low, high,
                             proof)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)
         ON CONFLICT (stream, span_ms, from_ms) DO UPDATE SET
             count = count + excluded.count, late_ms = late_ms + excluded.late_ms,
             at_off = excluded.at_off, total = total + excluded.total,
             low = min(low, excluded.low), high = max(high, excluded.high),
             -- Exclusive or, which SQLite does not have.
             proof = (proof | excluded.proof) - (proof & excluded.proof)",
    )?;
    for ((stream, span, from), s) in sums {
        put.execute(params![
            stream, span, from, s.count, s.late, s.offset, s.total, s.low, s.high, s.proof
        ])?;
    }
    Ok(())
}

impl Reader<'_> {
    /// The streams of a vessel or place.
    pub(super) fn streams(self, subject: Subject) -> Result<Vec<Stream>> {
        let (column, id) = match subject {
            Subject::Vessel(VesselId(id)) => ("vessel", id),
            Subject::Place(PlaceId(id)) => ("place", id),
        };
        let sql =
            format!("SELECT id, source, kind, unit FROM stream WHERE {column} = ?1 ORDER BY id");
        let mut ask = self.conn().prepare_cached(&sql)?;
        let mut rows = ask.query([id])?;
        let mut streams = Vec::new();
        while let Some(row) = rows.next()? {
            streams.push(stream(row).map_err(|odd| odd.at("stream", row.get(0).unwrap_or(0)))?);
        }
        Ok(streams)
    }

    /// One stream in at most about `wanted` sums, from the coarsest of samples,
    /// hours and days that is fine enough.
    fn sums(self, stream: i64, from: i64, to: i64, wanted: usize) -> Result<Vec<Sum>> {
        let wanted = i64::try_from(wanted.max(1)).unwrap_or(i64::MAX);
        let Some((first, last)) = self.reach(stream, from, to)? else {
            return Ok(Vec::new());
        };
        let width = last.saturating_sub(first) / wanted + 1;
        let span = if width >= DAY {
            Some(DAY)
        } else if width >= HOUR {
            Some(HOUR)
        } else {
            None
        };
        let mut sums: Vec<Sum> = Vec::new();
        let slot = |sum: &Sum| sum.from.saturating_sub(first).div_euclid(width);
        let add = |one: Sum, sums: &mut Vec<Sum>| match sums.last_mut() {
            Some(sum) if slot(sum) == slot(&one) => sum.join(&one),
            _ => sums.push(one),
        };
        match span {
            Some(span) => {
                // Whole hours or days: those that begin in the stretch, and the one it begins in.
                let begin = first.div_euclid(span).saturating_mul(span);
                for sum in self.digests(stream, span, begin, last.saturating_add(1))? {
                    add(sum, &mut sums);
                }
            }
            None => self.each(stream, first, last.saturating_add(1), |at, value| {
                let ms = at.utc_ms();
                add(Sum::of(ms, ms, at.offset_minutes(), value), &mut sums);
            })?,
        }
        Ok(sums)
    }

    /// The first and last instant of a stream within a stretch.
    fn reach(self, stream: i64, from: i64, to: i64) -> Result<Option<(i64, i64)>> {
        let edge = |order: &str| {
            let sql = format!(
                "SELECT at_ms FROM sample WHERE stream = ?1 AND at_ms >= ?2 AND at_ms < ?3
                 ORDER BY at_ms {order} LIMIT 1"
            );
            self.one::<i64>(&sql, [stream, from, to])
        };
        Ok(edge("ASC")?.zip(edge("DESC")?))
    }

    /// The sums of whole spans that begin within a stretch.
    pub(super) fn digests(self, stream: i64, span: i64, from: i64, to: i64) -> Result<Vec<Sum>> {
        let mut ask = self.conn().prepare_cached(
            "SELECT from_ms, count, late_ms, at_off, total, low, high FROM digest
             WHERE stream = ?1 AND span_ms = ?2 AND from_ms >= ?3 AND from_ms < ?4
             ORDER BY from_ms",
        )?;
        let rows = ask.query_map([stream, span, from, to], |row| {
            let offset = row.get(3)?;
            Ok(Sum {
                from: row.get(0)?,
                count: row.get(1)?,
                late: row.get(2)?,
                offset,
                offsets: (offset, offset),
                total: row.get(4)?,
                low: row.get(5)?,
                high: row.get(6)?,
                // For the check alone.
                proof: 0,
            })
        })?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }

    fn each(
        self,
        stream: i64,
        from: i64,
        to: i64,
        mut take: impl FnMut(Moment, f64),
    ) -> Result<()> {
        let mut ask = self.conn().prepare_cached(
            "SELECT at_ms, at_off, value FROM sample
             WHERE stream = ?1 AND at_ms >= ?2 AND at_ms < ?3 ORDER BY at_ms",
        )?;
        let mut rows = ask.query([stream, from, to])?;
        while let Some(row) = rows.next()? {
            if let Some(at) = Moment::from_stored(row.get(0)?, row.get(1)?) {
                take(at, row.get(2)?);
            }
        }
        Ok(())
    }
}

fn stream(row: &rusqlite::Row<'_>) -> std::result::Result<Stream, Odd> {
    Ok(Stream {
        id: cells::int(row, "id")?,
        source: cells::text(row, "source")?,
        kind: cells::word(row, "kind")?,
        unit: cells::word(row, "unit")?,
    })
}
