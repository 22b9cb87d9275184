//! A published ferment, replayed day by day through store, facts and morning.
//!
//! Source, licence and how the gravities came about stand in the head of
//! `cabernet_17l.csv`. It is a wine must and runs faster than a mead; it
//! fermented dry: 249 g/L of sugar at the start, 4.4 g/L after five days, none
//! after six.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use chrono::DateTime;
use skep::domain::deeds::{Deed, NewBatch, NewReading};
use skep::domain::records::{Fizz, MeasureKind, Seen, Style, Subject, Unit, VesselId, VesselKind};
use skep::domain::units::{Celsius, Gravity, Litres, Moment};
use skep::engine::{Flag, History, Morning, State, morning};
use skep::store::Store;
use skep::work::carry_out;

struct Account {
    hours: f64,
    celsius: f64,
    sugar: f64,
    sg: f64,
}

fn published() -> Vec<Account> {
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(include_str!("cabernet_17l.csv").as_bytes());
    reader
        .records()
        .map(|r| {
            let r = r.unwrap();
            let number = |i: usize| r[i].parse().unwrap();
            Account {
                hours: number(0),
                celsius: number(1),
                sugar: number(2),
                sg: number(4),
            }
        })
        .collect()
}

fn start(store: &mut Store, pitched: Moment) -> VesselId {
    let mut tell = |deed: Deed| carry_out(store, &deed, pitched).unwrap();
    let place = tell(Deed::AddPlace {
        name: "laboratory".into(),
        dark: false,
        usual_temp: Some(Celsius::known(23.0)),
    })
    .place()
    .unwrap();
    let vessel = tell(Deed::AddVessel {
        tag: "B1".into(),
        kind: VesselKind::Bucket,
        capacity: Litres::known(25.0),
        place,
        tare: None,
    })
    .vessel()
    .unwrap();
    tell(Deed::StartBatch(Box::new(NewBatch {
        name: "Cabernet 17 L".into(),
        style: Style::Mead,
        variety: "red must".into(),
        vessel: Some(vessel),
        routine: None,
        steps: Vec::new(),
        yeast: None,
        tolerance: None,
        band: None,
        planned_og: None,
        // The dry figure of such a must.
        expected_fg: Some(Gravity::known(0.991)),
        volume: Some(Litres::known(17.0)),
        fizz: Fizz::Still,
        pitched: Some(pitched),
        planned_day: None,
        note: String::new(),
    })));
    vessel
}

fn read(store: &mut Store, vessel: VesselId, at: Moment, row: &Account) {
    let new = |kind, value, unit| NewReading {
        subject: Subject::Vessel(vessel),
        at,
        seen: Seen::new(kind, value, unit).unwrap(),
        sample_temp: None,
        instrument: None,
        source: "import".into(),
        doubted: false,
        note: String::new(),
    };
    let both = vec![
        new(MeasureKind::Hydrometer, row.sg, Unit::Sg),
        new(MeasureKind::Temperature, row.celsius, Unit::Celsius),
    ];
    carry_out(store, &Deed::Record(both), at).unwrap();
}

#[test]
fn a_published_ferment_is_followed_and_never_called_stuck() {
    let pitched = Moment::new(DateTime::parse_from_rfc3339("2026-03-02T08:00:00+02:00").unwrap());
    let mut store = Store::in_memory().unwrap();
    let vessel = start(&mut store, pitched);
    let rows = published();
    assert_eq!(rows.len(), 12);
    for row in &rows {
        let at = pitched.plus_days(row.hours / 24.0);
        read(&mut store, vessel, at, row);
        let m: Morning = morning(
            &store.household(at).unwrap(),
            &History::default(),
            at.plus_days(0.02),
        );
        let seen = &m.accounts[0];
        assert_eq!(seen.day, Some((row.hours / 24.0) as i64 + 1));
        let last = seen.last.unwrap();
        assert!(
            (last.corrected.get() - row.sg).abs() < 0.0002,
            "read at 20 °C"
        );
        assert_eq!(
            seen.temperature.map(|t| t.0),
            Some(Celsius::known(row.celsius))
        );
        let trouble: Vec<&Flag> = seen.flags.iter().filter(|f| f.weight() >= 2).collect();
        assert!(trouble.is_empty(), "{} h: {trouble:?}", row.hours);
        match row.sugar {
            // Much sugar left and falling.
            25.0..200.0 => assert!(
                matches!(seen.state, State::Active | State::Slowing),
                "{} h: {:?}",
                row.hours,
                seen.state
            ),
            _ => assert_ne!(seen.state, State::Stuck),
        }
        if row.hours >= 192.0 {
            assert_eq!(seen.state, State::Finished, "{} h", row.hours);
        }
    }
}
