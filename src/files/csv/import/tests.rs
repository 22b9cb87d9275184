use super::*;
use crate::domain::records::{
    Batch, BatchId, Dossier, Fizz, Household, Place, PlaceId, Reading, ReadingId, Stage, Style,
    Subject, Vessel, VesselId, VesselKind,
};
use crate::domain::units::Litres;
use crate::files::csv::{Table, write};
use chrono::FixedOffset;
use proptest::prelude::*;

fn zone() -> Zone {
    Zone::Fixed(FixedOffset::west_opt(8 * 3600).unwrap())
}

fn open() -> Choices {
    Choices {
        columns: vec![],
        order: None,
        decimal: None,
        temperature: None,
        zone: zone(),
    }
}

fn good(text: &str) -> Vec<Line> {
    let preview = preview(text.as_bytes(), &open()).unwrap_or_else(|why| panic!("{why}"));
    let lines = preview.lines.into_iter();
    lines
        .map(|(n, line)| line.unwrap_or_else(|why| panic!("{n}: {why}")))
        .collect()
}

fn said(line: &Line) -> String {
    let seen: Vec<String> = line
        .seen
        .iter()
        .map(|s| format!("{} {} {}", s.kind(), s.value(), s.unit()))
        .collect();
    format!(
        "{} {}",
        line.at.datetime().format("%Y-%m-%d %H:%M"),
        seen.join(", ")
    )
}

#[test]
fn a_spreadsheet_of_the_us_is_understood() {
    let lines = good(
        "Date,Time,Vessel,SG,Temp,Notes\n\
         8/14/2026,7:30 AM,J2,1.092,68,\"pitched, foamy\"\n\
         8/16/2026,,J2,1.070,70,\n",
    );
    assert_eq!(
        said(&lines[0]),
        "2026-08-14 07:30 hydrometer 1.092 SG, temperature 68 °F"
    );
    assert_eq!(lines[0].note, "pitched, foamy");
    assert_eq!(lines[0].vessel.as_deref(), Some("J2"));
    assert!(said(&lines[1]).starts_with("2026-08-16 12:00"));
}

#[test]
fn a_spreadsheet_of_europe_is_understood() {
    let lines = good(
        "Datum;SG;Temp (°C);Weight [kg]\n\
         14.08.2026 07:30;1,092;20,5;5,612\n\
         16.08.2026 07:30;1,070;21;5,540\n",
    );
    assert_eq!(
        said(&lines[0]),
        "2026-08-14 07:30 hydrometer 1.092 SG, temperature 20.5 °C, mass 5.612 kg"
    );
}

#[test]
fn what_can_be_read_in_two_ways_is_asked() {
    let fail = |text: &str| preview(text.as_bytes(), &open()).unwrap_err().to_string();
    assert_eq!(
        fail("date,sg\n8/1/2026,1.05\n8/2/2026,1.04\n"),
        "'8/1/2026' can be two days; say --dates mdy (month first) or --dates dmy (day first)"
    );
    assert_eq!(
        fail("date;mass (g)\n2026-01-01;4,312\n"),
        "a comma in these numbers can be decimal or for thousands; \
         say --decimal comma or --decimal point"
    );
    assert_eq!(
        fail("date,temp\n2026-01-01,36\n"),
        "the temperatures can be °F or °C; say --temperature f or --temperature c"
    );
    assert_eq!(
        fail("when?,sg\n2026-01-01,1.05\n"),
        "no column tells when (when?, sg); name it: --column HEADING=date"
    );
    assert!(
        fail("date,foam\n2026-01-01,high\n").starts_with("no column holds a reading (date, foam)")
    );
    assert_eq!(fail("\n\n"), "the file holds no lines");
}

#[test]
fn columns_can_be_named_by_hand() {
    let choices = Choices {
        columns: vec![
            ("When?".into(), "date".into()),
            ("float".into(), "gravity".into()),
        ],
        ..open()
    };
    let found = preview(b"when?,float\n2026-01-01,42\n", &choices).unwrap();
    let line = found.lines[0].1.as_ref().unwrap();
    assert_eq!(said(line), "2026-01-01 12:00 hydrometer 1.042 SG");
    let wrong = Choices {
        columns: vec![("float".into(), "bubbles".into())],
        ..open()
    };
    let why = preview(b"when?,float\n2026-01-01,42\n", &wrong).unwrap_err();
    assert!(
        why.to_string()
            .starts_with("'bubbles' is nothing that a column holds; accepted: vessel")
    );
}

#[test]
fn bad_lines_have_their_number_and_reason_and_the_good_stay() {
    let found = preview(
        b"date,sg,temp (F)\n2026-01-01,1.05,68\nsoon,1.04,68\n2026-01-03,9.9,\n2026-01-04,,\n2026-01-05,1.03,warm\n",
        &open(),
    )
    .unwrap();
    let bad: Vec<String> = found
        .lines
        .iter()
        .filter_map(|(n, l)| l.as_ref().err().map(|why| format!("{n}: {why}")))
        .collect();
    assert_eq!(
        bad,
        [
            "3: 'soon' is no day in the order ymd",
            "4: specific gravity 9.9 is not possible: accepted is 0.95 to 1.45",
            "5: no reading in it",
            "6: 'warm' is no number",
        ]
    );
    assert_eq!(found.lines.iter().filter(|(_, l)| l.is_ok()).count(), 1);
}

fn household(readings: Vec<Reading>) -> Household {
    let created = Moment::from_stored(1_700_000_000_000, -480).unwrap();
    Household {
        places: vec![Place {
            id: PlaceId(1),
            name: "=closet".into(),
            dark: true,
            usual_temp: None,
            summer: None,
        }],
        vessels: vec![Vessel {
            id: VesselId(1),
            tag: "+J2".into(),
            kind: VesselKind::Jug,
            capacity: Litres::known(4.0),
            tare: None,
            place: PlaceId(1),
            clean: true,
            retired: false,
            rated: None,
            note: String::new(),
        }],
        dossiers: vec![Dossier {
            batch: Batch {
                id: BatchId(1),
                name: "@heather".into(),
                style: Style::Mead,
                variety: String::new(),
                stage: Stage::Fermenting,
                routine: None,
                yeast: None,
                tolerance: None,
                band: None,
                planned_og: None,
                expected_fg: None,
                volume: None,
                fizz: Fizz::Still,
                pitched: Some(created),
                bottled: None,
                closed: None,
                created,
                planned_day: None,
                note: String::new(),
            },
            stays: vec![],
            readings,
            place_readings: vec![],
            events: vec![],
            steps: vec![],
            lots: vec![],
        }],
        ..Household::default()
    }
}

fn any_seen() -> impl Strategy<Value = Seen> {
    prop_oneof![
        (950_u32..1200).prop_map(|v| (MeasureKind::Hydrometer, f64::from(v) / 1000.0, Unit::Sg)),
        (0_u32..400).prop_map(|v| (MeasureKind::Refractometer, f64::from(v) / 10.0, Unit::Brix)),
        (-50_i32..1000).prop_map(|v| (
            MeasureKind::Temperature,
            f64::from(v) / 10.0,
            Unit::Fahrenheit
        )),
        (20_u32..60).prop_map(|v| (MeasureKind::Ph, f64::from(v) / 10.0, Unit::Ph)),
        (1000_u32..9000).prop_map(|v| (MeasureKind::Mass, f64::from(v), Unit::Gram)),
        (1_u32..900).prop_map(|v| (MeasureKind::Volume, f64::from(v) / 100.0, Unit::Gallon)),
    ]
    .prop_map(|(kind, value, unit)| Seen::new(kind, value, unit).unwrap())
}

proptest! {
    #[test]
    fn what_is_written_out_is_read_in_again(
        rows in proptest::collection::vec((any_seen(), 0_i64..40_000_000, "[='+@\\-,;\"\n\t|%a-z0-9. \u{e9}\u{202e}]{0,16}", proptest::option::of(-5_i32..40)), 1..12)
    ) {
        let readings: Vec<Reading> = rows
            .iter()
            .enumerate()
            .map(|(i, (seen, second, note, sample))| Reading {
                id: ReadingId(i64::try_from(i + 1).unwrap()),
                subject: Subject::Vessel(VesselId(1)),
                at: Moment::from_stored(1_700_000_000_000 + second * 1000, -480).unwrap(),
                seen: *seen,
                sample_temp: sample.map(|t| Seen::new(MeasureKind::Temperature, f64::from(t), Unit::Celsius).unwrap()),
                instrument: None,
                source: "hand".into(),
                doubted: false,
                note: note.clone(),
                entered: Moment::from_stored(1_700_000_000_000, 0).unwrap(),
            })
            .collect();
        let mut file = Vec::new();
        let none = std::collections::BTreeMap::new();
        write(Table::Readings, &household(readings.clone()), &none, &mut file).unwrap();
        let found = preview(&file, &open()).unwrap();
        prop_assert_eq!(found.lines.len(), readings.len());
        for ((_, line), reading) in found.lines.iter().zip(&readings) {
            let line = line.as_ref().unwrap();
            prop_assert_eq!(&line.seen, &vec![reading.seen]);
            prop_assert_eq!(line.sample, reading.sample_temp);
            prop_assert_eq!(line.at, reading.at);
            // An old note may hold what a new one may not; a table shows that it is there.
            prop_assert_eq!(&line.note, &reading.note.replace('\u{202e}', "\u{fffd}"));
            prop_assert_eq!(line.vessel.as_deref(), Some("+J2"));
        }
        // No cell that a spreadsheet would run.
        for record in csv::ReaderBuilder::new().from_reader(file.as_slice()).records() {
            for (i, cell) in record.unwrap().iter().enumerate() {
                let number = cell.parse::<f64>().is_ok();
                prop_assert!(number || !cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']), "{} {:?}", i, cell);
            }
        }
    }

    #[test]
    fn no_file_breaks_it(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        let _ = preview(&bytes, &open());
    }

    #[test]
    fn nothing_like_a_table_breaks_it(text in "(date|sg|temp|vessel|note|kind|value)?[,;\t](sg|at|mass)\n([0-9./:,;\t\" -]{0,20}\n){0,4}") {
        let _ = preview(text.as_bytes(), &open());
    }
}
