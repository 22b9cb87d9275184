//! What is measured within one process: the engine, the morning, the trend, intake.

use crate::stores::Size;
use crate::table::{Table, median, short};
use crate::terminal::ms;
use anyhow::{Context, ensure};
use skep::domain::records::{MeasureKind, Subject, VesselId};
use skep::domain::units::Moment;
use skep::engine::{facts, morning};
use skep::store::Store;
use skep::work;
use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

fn times(count: usize, mut f: impl FnMut() -> anyhow::Result<()>) -> anyhow::Result<f64> {
    let mut took = Vec::new();
    f()?;
    for _ in 0..count {
        let began = Instant::now();
        f()?;
        took.push(ms(began.elapsed()));
    }
    Ok(median(&took))
}

/// One vessel, then all of them.
pub(crate) fn engine(
    folder: &Path,
    size: Size,
    now: Moment,
    table: &mut Table,
) -> anyhow::Result<()> {
    let store = Store::open(&size.path(folder), now)?;
    let household = store.household(now)?;
    let history = work::learned(&store, &household, now)?;
    let active: Vec<_> = household
        .dossiers
        .iter()
        .filter(|d| d.vessels().next().is_some())
        .collect();
    let mut each = Vec::new();
    for dossier in &active {
        let vessel = dossier.vessels().next();
        let told = facts::told(&household, dossier, vessel, now);
        // An earlier part wrote readings into one of them.
        if size.number == 4 && !(29..=31).contains(&told.gravities.len()) {
            continue;
        }
        each.push(times(5, || {
            let told = facts::told(&household, dossier, vessel, now);
            black_box(told.assess(&history, now));
            Ok(())
        })?);
    }
    let mut alone = household.clone();
    alone.dossiers.retain(|d| d.vessels().next().is_some());
    let in_vessels = times(7, || {
        black_box(morning(&alone, &history, now));
        Ok(())
    })?;
    let slowest = each.iter().copied().fold(0.0, f64::max);
    let all = times(7, || {
        black_box(morning(&household, &history, now));
        Ok(())
    })?;
    let count = active.len();
    if size.number == 4 {
        let timed = each.len();
        ensure!(
            timed + 5 > count,
            "{timed} of {count} vessels with 30 readings"
        );
        let more = format!(
            "median of {timed} vessels with 30 readings each; the slowest {} ms",
            short(slowest)
        );
        table.at_most(
            "engine: one vessel with 30 readings",
            median(&each),
            1.0,
            "ms",
            &more,
        );
        let more = format!(
            "{count} vessels, {} ended batches learned from",
            history.batches.len()
        );
        table.at_most(
            "size 4: engine, all that lies in a vessel",
            in_vessels,
            100.0,
            "ms",
            &more,
        );
    }
    table.note(
        &format!("size {}: engine, the whole morning", size.number),
        &format!(
            "{} ms; {count} vessels alone {} ms, bottles with something due {}",
            short(all),
            short(in_vessels),
            household.dossiers.len() - count
        ),
    );
    let load = times(5, || {
        black_box(store.household(now)?);
        Ok(())
    })?;
    let learn = times(5, || {
        black_box(work::learned(&store, &household, now)?);
        Ok(())
    })?;
    table.note(
        &format!(
            "size {}: reading the household; learning from ended batches",
            size.number
        ),
        &format!("{} ms; {} ms", short(load), short(learn)),
    );
    Ok(())
}

/// A vessel's million samples, drawn together for a screen.
pub(crate) fn trend(
    folder: &Path,
    size: Size,
    now: Moment,
    table: &mut Table,
) -> anyhow::Result<()> {
    let store = Store::open(&size.path(folder), now)?;
    let subject = Subject::Vessel(VesselId(1));
    let from = now.plus_days(-3700.0);
    let all = store.thinned(subject, from, now, 240)?;
    let stream = all
        .iter()
        .find(|t| t.kind == MeasureKind::Temperature)
        .context("a stream")?;
    let (mut count, mut low, mut high) = (0_u64, f64::MAX, f64::MIN);
    store.each_sample(subject, from, now, |_, s| {
        count += 1;
        low = low.min(s.seen.value());
        high = high.max(s.seen.value());
    })?;
    let seen: u64 = stream.buckets.iter().map(|b| b.count).sum();
    let (least, most) = stream
        .buckets
        .iter()
        .fold((f64::MAX, f64::MIN), |(l, h), b| {
            (l.min(b.low), h.max(b.high))
        });
    ensure!(count >= 1_000_000, "only {count} samples");
    ensure!(seen == count, "{seen} of {count} samples are in the trend");
    ensure!(same(least, low) && same(most, high), "an extreme is hidden");
    for (what, days) in [
        ("ten years", 3700.0),
        ("a year", 365.0),
        ("a month", 30.0),
        ("a day", 1.0),
    ] {
        let from = now.plus_days(-days);
        let took = times(20, || {
            black_box(store.thinned(subject, from, now, 240)?);
            Ok(())
        })?;
        let name = format!("trend of a vessel with {count} samples, {what} in 240 columns");
        table.at_most(
            &name,
            took,
            16.0,
            "ms",
            "least and greatest of each column kept",
        );
    }
    Ok(())
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-12
}
