//! The invented household builds by ordinary deeds, and the morning says of it
//! what it was made to show.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use chrono::DateTime;
use skep::domain::units::Moment;
use skep::engine::{History, Morning, Row, facts, morning};
use skep::store::Store;
use skep::work::demo;

fn moment(text: &str) -> Moment {
    Moment::new(DateTime::parse_from_rfc3339(text).unwrap())
}

fn built(now: Moment) -> Store {
    let mut store = Store::in_memory().unwrap();
    demo::build(&mut store, now).unwrap();
    store
}

fn history(store: &Store, now: Moment) -> History {
    let household = store.household(now).unwrap();
    let dossiers: Vec<_> = store
        .all_batches()
        .unwrap()
        .iter()
        .map(|b| store.dossier(b.id, now).unwrap().unwrap())
        .collect();
    facts::history(&household, &dossiers, now)
}

fn see(store: &Store, now: Moment) -> Morning {
    morning(&store.household(now).unwrap(), &history(store, now), now)
}

fn row<'a>(m: &'a Morning, tag: &str) -> &'a Row {
    m.rows.iter().find(|r| r.tag == tag).unwrap()
}

#[test]
fn print_the_morning() {
    let now = moment("2026-11-25T07:00:00-05:00");
    let store = built(now);
    let m = see(&store, now);
    let settings = store.household(now).unwrap().settings;
    for r in &m.rows {
        println!(
            "{:3} {:22} {:9?} day {:?} {:8} {:.2} last {:?} gone {:?} rest {:?} gate {} stuck {:.2}",
            r.tag,
            r.name,
            r.urgency,
            r.day,
            r.state.word(),
            r.sure,
            r.last.map(|l| (l.corrected.get() * 1000.0).round()),
            r.fermented.map(|s| (s.get() * 100.0).round()),
            r.rest_until,
            r.assessment.bottling.open(),
            r.assessment.stuck.probability.get(),
        );
        if let Some(n) = &r.next {
            println!(
                "      next {} {:?} {} {:?}",
                n.opens, n.timing, n.title, n.waits
            );
        }
        for f in &r.flags {
            println!("      ! {} {}", f.weight(), f.sentence(&settings));
        }
    }
    for d in &m.due {
        println!(
            "{:4} {:?} {} {} w{} {:?} {:?}",
            d.tag, d.timing, d.opens, d.title, d.weight, d.waits, d.warning
        );
    }
    let _ = row(&m, "J1");
}
