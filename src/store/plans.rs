//! How SQLite goes about what is asked on a hot path: nothing reads a table
//! that grows with use from end to end.

#[cfg(test)]
mod tests {
    use crate::domain::deeds::{Deed, NewReading};
    use crate::domain::records::{MeasureKind, Seen, Subject, Unit, VesselId};
    use crate::domain::units::Moment;
    use crate::store::{Sample, Store};
    use crate::work;
    use rusqlite::Connection;
    use rusqlite::trace::{TraceEvent, TraceEventCodes};
    use std::cell::RefCell;
    use std::collections::BTreeSet;

    /// Tables that stay small in a household, and those of which the cellar shows
    /// every row: some 300 batches, lots and tastings in ten years.
    const SMALL: [&str; 16] = [
        "state",
        "place",
        "vessel",
        "instrument",
        "settings",
        "batch",
        "pantry",
        "pantry_draw",
        "away",
        "room",
        "plan",
        "plan_part",
        "tick",
        "lot",
        "tasting",
        "CONSTANT",
    ];

    thread_local! {
        static HEARD: RefCell<BTreeSet<String>> = const { RefCell::new(BTreeSet::new()) };
    }

    fn hear(event: TraceEvent<'_>) {
        if let TraceEvent::Stmt(statement, _) = event {
            HEARD.with_borrow_mut(|heard| heard.insert(statement.sql().into_owned()));
        }
    }

    /// Lines of a statement's plan that read a growing table from end to end.
    fn scans(conn: &Connection, sql: &str) -> Vec<String> {
        let mut ask = conn.prepare(&format!("EXPLAIN QUERY PLAN {sql}")).unwrap();
        let count = ask.parameter_count();
        for n in 1..=count {
            ask.raw_bind_parameter(n, 1_i64).unwrap();
        }
        let mut rows = ask.raw_query();
        let mut found = Vec::new();
        while let Some(row) = rows.next().unwrap() {
            let detail: String = row.get("detail").unwrap();
            let Some(of) = detail.strip_prefix("SCAN ") else {
                continue;
            };
            let table = of.split_whitespace().next().unwrap_or_default();
            // In the order of its key up to a limit, only the rows wanted are read.
            let ends = sql.contains(" LIMIT ") && sql.contains("ORDER BY id") && table == "change";
            let made_here = table.starts_with('(');
            if !SMALL.contains(&table) && !ends && !made_here {
                found.push(format!("{detail}: {sql}"));
            }
        }
        found
    }

    fn now() -> Moment {
        Moment::new(chrono::DateTime::parse_from_rfc3339("2026-11-25T07:00:00Z").unwrap())
    }

    fn vessel(store: &Store) -> VesselId {
        let household = store.household(now()).unwrap();
        let lying = household.dossiers.iter().find_map(|d| d.vessels().next());
        lying.unwrap()
    }

    fn reading(vessel: VesselId) -> Deed {
        Deed::Record(vec![NewReading {
            subject: Subject::Vessel(vessel),
            at: now(),
            seen: Seen::new(MeasureKind::Hydrometer, 1.010, Unit::Sg).unwrap(),
            sample_temp: None,
            instrument: None,
            source: "hand".into(),
            doubted: false,
            note: String::new(),
        }])
    }

    fn log(store: &mut Store, vessel: VesselId) {
        let sample = |n: i64| Sample {
            subject: Subject::Vessel(vessel),
            at: Moment::from_stored(now().utc_ms() - n * 300_000, 0).unwrap(),
            seen: Seen::new(MeasureKind::Temperature, 19.0, Unit::Celsius).unwrap(),
        };
        store.take_samples("probe", (1..5000).map(sample)).unwrap();
    }

    /// What the dashboard, a reading, today's list, a logger and the trend ask.
    fn all_hot_paths(store: &mut Store) {
        let vessel = vessel(store);
        log(store, vessel);
        let household = store.household(now()).unwrap();
        work::learned(store, &household, now()).unwrap();
        work::stories(store, &household, now()).unwrap();
        store.supplies().unwrap();
        store.changes(1).unwrap();
        store.revision().unwrap();
        store.ledger(household.dossiers[0].batch.id).unwrap();
        for days in [1.0, 10.0, 400.0] {
            let from = now().plus_days(-days);
            let all = store.thinned(Subject::Vessel(vessel), from, now(), 200);
            assert!(!all.unwrap().is_empty());
        }
        let tag = household.vessel(vessel).unwrap().tag.clone();
        assert_eq!(
            store.household_about(&tag, now()).unwrap().dossiers.len(),
            1
        );
        work::carry_out(store, &reading(vessel), now()).unwrap();
        work::undo_name(store).unwrap();
        work::undo(store, now()).unwrap();
        work::redo_name(store).unwrap();
        work::redo(store, now()).unwrap();
    }

    #[test]
    fn no_statement_on_a_hot_path_reads_a_growing_table_from_end_to_end() {
        let mut store = Store::in_memory().unwrap();
        work::demo::build(&mut store, now()).unwrap();
        store
            .conn
            .trace_v2(TraceEventCodes::SQLITE_TRACE_STMT, Some(hear));
        all_hot_paths(&mut store);
        store.conn.trace_v2(TraceEventCodes::empty(), None);
        let heard = HEARD.take();
        for table in ["reading", "sample", "digest", "stay", "step"] {
            let asked = |sql: &String| {
                let words: Vec<&str> = sql.split_whitespace().collect();
                words.windows(2).any(|w| *w == ["FROM", table])
            };
            assert!(heard.iter().any(asked), "nothing was asked of {table}");
        }
        let asks = |sql: &&String| {
            ["SELECT", "INSERT", "UPDATE", "DELETE"]
                .iter()
                .any(|w| sql.starts_with(w))
        };
        let wrong: Vec<String> = heard
            .iter()
            .filter(asks)
            .flat_map(|sql| scans(&store.conn, sql))
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
        assert!(
            heard.len() > 40,
            "only {} statements were heard",
            heard.len()
        );
    }

    #[test]
    fn a_scan_is_found_where_there_is_one() {
        let store = Store::in_memory().unwrap();
        let by_note = "SELECT * FROM reading WHERE note = ?1";
        assert_eq!(scans(&store.conn, by_note).len(), 1);
        let by_value = "SELECT s.value FROM sample s WHERE s.value > ?1 LIMIT 1";
        assert_eq!(scans(&store.conn, by_value).len(), 1);
        let by_key = "SELECT value FROM sample WHERE stream = ?1 AND at_ms > ?2";
        assert!(scans(&store.conn, by_key).is_empty());
    }
}
