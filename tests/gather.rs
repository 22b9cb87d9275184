//! From what was written down to what the trend shows, on the invented household.

#![expect(clippy::unwrap_used, reason = "a panic here is a failed test")]

use chrono::DateTime;
use skep::app::trend::{StepFate, TrendData, healthy as healthy_way};
use skep::domain::records::Household;
use skep::domain::units::{Gravity, Moment};
use skep::engine::{History, morning};
use skep::store::Store;
use skep::work::demo;

fn now() -> Moment {
    Moment::new(DateTime::parse_from_rfc3339("2026-11-25T07:15:00-08:00").expect("a date"))
}

fn household() -> Household {
    let mut store = Store::in_memory().unwrap();
    demo::build(&mut store, now()).unwrap();
    store.household(now()).unwrap()
}

#[test]
fn every_batch_of_the_demonstration_gathers_into_a_trend() {
    let household = household();
    let morning = morning(&household, &History::default(), now());
    let mut with_curve = 0;
    for row in &morning.accounts {
        let dossier = household.dossier(row.batch).unwrap();
        let told = row.told.as_ref();
        let dues = morning.due.iter().filter(|d| d.batch == row.batch);
        let mut data = TrendData::gather(dossier, row, now()).with_dues(dues);
        data.healthy = healthy_way(told, &History::default());
        let name = &row.name;
        // Each gravity read is a point, in order of time and none in the future.
        assert!(data.points.len() >= told.gravities.len(), "{name}");
        assert!(data.points.windows(2).all(|p| p[0].at <= p[1].at), "{name}");
        assert!(data.points.iter().all(|p| p.at <= data.now), "{name}");
        let done = data.steps.iter().filter(|s| s.fate == StepFate::Done);
        assert!(done.clone().all(|s| s.at <= data.now), "{name}");
        with_curve += usize::from(!data.curve.is_empty());
        healthy(
            &data,
            name,
            told.facts.og.map(skep::engine::OriginalGravity::gravity),
        );
    }
    assert!(
        with_curve >= 8,
        "{with_curve} of {}",
        morning.accounts.len()
    );
}

/// A healthy ferment begins at the original gravity and only falls.
fn healthy(data: &TrendData, name: &str, og: Option<Gravity>) {
    let (Some(first), Some(last), Some(og)) = (data.healthy.first(), data.healthy.last(), og)
    else {
        return;
    };
    assert!(
        (first.1.get() - og.get()).abs() < 0.006,
        "{name} begins at {:?}",
        first.1
    );
    assert!(last.1.get() < 1.020, "{name} ends at {:?}", last.1);
    assert!(last.0 > 3.0, "{name} takes {} days", last.0);
    let falls = data
        .healthy
        .windows(2)
        .all(|p| p[1].1.get() <= p[0].1.get() + 1e-4);
    assert!(falls, "{name} rises: {:?}", data.healthy);
}

#[test]
fn a_stuck_batch_leaves_the_way_of_a_healthy_one() {
    let household = household();
    let morning = morning(&household, &History::default(), now());
    let stuck = morning
        .accounts
        .iter()
        .find(|r| r.state.word() == "stuck")
        .unwrap();
    let dossier = household.dossier(stuck.batch).unwrap();
    let told = stuck.told.as_ref();
    let mut data = TrendData::gather(dossier, stuck, now());
    data.healthy = healthy_way(told, &History::default());
    let healthy_now = data.healthy.iter().rfind(|p| p.0 <= data.now).unwrap().1;
    let last = data.points.last().unwrap().gravity;
    assert!(
        last.get() > healthy_now.get() + 0.01,
        "{last:?} beside {healthy_now:?}"
    );
}
