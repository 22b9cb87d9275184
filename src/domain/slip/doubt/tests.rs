use crate::domain::records::*;
use crate::domain::slip::{Doubt, Fact, Known, Meaning, SlipContext, meaning, parse};
use crate::domain::units::*;

fn pitched() -> Moment {
    Moment::from_stored(1_795_592_400_000, -480).unwrap()
}

fn reading(id: i64, day: f64, kind: MeasureKind, value: f64, unit: Unit) -> Reading {
    Reading {
        id: ReadingId(id),
        subject: Subject::Vessel(VesselId(1)),
        at: pitched().plus_days(day),
        seen: Seen::new(kind, value, unit).unwrap(),
        sample_temp: None,
        instrument: None,
        source: "hand".into(),
        doubted: false,
        note: String::new(),
        entered: pitched().plus_days(day),
    }
}

fn sg(id: i64, day: f64, value: f64) -> Reading {
    reading(id, day, MeasureKind::Hydrometer, value, Unit::Sg)
}

/// A mead in J2, pitched on day 0 at 1.092, at 1.060 on day 5.
fn mead() -> Dossier {
    Dossier {
        batch: Batch {
            id: BatchId(1),
            name: "plain".into(),
            style: Style::Mead,
            variety: "traditional".into(),
            stage: Stage::Fermenting,
            routine: None,
            yeast: None,
            tolerance: None,
            band: None,
            planned_og: Some(Gravity::known(1.095)),
            expected_fg: Some(Gravity::known(0.998)),
            volume: None,
            fizz: Fizz::Still,
            pitched: Some(pitched()),
            bottled: None,
            closed: None,
            created: pitched(),
            planned_day: None,
            note: String::new(),
        },
        stays: vec![Stay {
            id: StayId(1),
            batch: BatchId(1),
            vessel: VesselId(1),
            from: pitched().plus_days(-0.1),
            to: None,
            volume: None,
        }],
        readings: vec![
            sg(1, -0.01, 1.092),
            sg(2, 5.0, 1.060),
            reading(3, 5.0, MeasureKind::Mass, 5600.0, Unit::Gram),
            reading(4, 5.0, MeasureKind::Refractometer, 17.0, Unit::Brix),
        ],
        place_readings: vec![],
        events: vec![],
        steps: vec![],
        lots: vec![],
    }
}

fn vessel() -> Vessel {
    Vessel {
        id: VesselId(1),
        tag: "J2".into(),
        kind: VesselKind::Jug,
        capacity: Litres::known(4.0),
        tare: Some(Grams::known(1400.0)),
        place: PlaceId(1),
        clean: true,
        retired: false,
        rated: None,
        note: String::new(),
    }
}

fn on_day(text: &str, day: f64, dossier: &Dossier) -> Meaning {
    let now = pitched().plus_days(day);
    let slip = parse(text, now, &SlipContext::vessel(now)).unwrap();
    let vessel = vessel();
    let known = Known {
        now,
        dossier: Some(dossier),
        vessel: Some(&vessel),
        instruments: &[],
    };
    meaning(&slip, &known)
}

fn sentences(text: &str, day: f64) -> Vec<String> {
    let settings = Settings::default();
    let found = on_day(text, day, &mead());
    found.doubts.iter().map(|d| d.sentence(&settings)).collect()
}

#[test]
fn the_live_line_tells_gravity_and_change() {
    let found = on_day("48 68f", 7.0, &mead());
    assert!(found.doubts.is_empty(), "{:?}", found.doubts);
    assert_eq!(
        found.line(&Settings::default()),
        "1.048 · 0.012 down in 2 days"
    );
}

#[test]
fn a_warm_sample_is_corrected_upwards() {
    let found = on_day("48 86f", 7.0, &mead());
    let Some(Fact::Gravity { corrected, shown }) = found.facts.first() else {
        panic!("a gravity");
    };
    assert!((shown.get() - 1.048).abs() < 1e-9);
    // Water alone shifts by 0.0026 from 20 to 30 °C; a must with alcohol a little more.
    let shift = corrected.get() - shown.get();
    assert!((0.0024..0.0036).contains(&shift), "{shift}");
}

#[test]
fn a_refractometer_in_a_ferment_gives_a_gravity_with_the_alcohol_allowed_for() {
    let found = on_day("15bx", 7.0, &mead());
    let Some(Fact::Refraction {
        gravity: Some(g), ..
    }) = found.facts.first()
    else {
        panic!("{:?}", found.facts);
    };
    // 15 °Bx without alcohol would be 1.061; alcohol bends light, so it is less.
    assert!(g.get() < 1.055, "{g:?}");
}

#[test]
fn what_does_not_fit_is_doubted_in_a_sentence() {
    for (text, day, said) in [
        (
            "72",
            7.0,
            "0.012 above the last reading: gravity does not rise",
        ),
        (
            "5",
            5.5,
            "0.055 lower within 12 hours: no yeast is that fast",
        ),
        ("970", 30.0, "0.970 is lower than any drink ends"),
        (
            "1.18",
            7.0,
            "0.120 above the last reading: gravity does not rise",
        ),
        ("68c", 7.0, "154.4 °F: no vessel indoors is like that"),
        (
            "48 45c",
            7.0,
            "a sample at 113.0 °F can't be corrected; bring it to 32.0 °F to 104.0 °F",
        ),
        ("ph7", 7.0, "pH 7.00 is outside what musts have"),
        ("ta65", 7.0, "65.0 g/L of acid is outside what drinks have"),
        ("5650g", 7.0, "50 g heavier, and nothing was added"),
        ("2000kg", 7.0, "full it weighs 15 lb at most"),
        (
            "0l",
            7.0,
            "nothing is left: record the bottling or racking that emptied it",
        ),
        (
            "4000g",
            7.0,
            "1600 g lighter, 29 % of all: more than leaves as gas",
        ),
        ("9g", 7.0, "lighter than the empty vessel (1400 g)"),
        ("2gal", 7.0, "the vessel holds 1.06 gal"),
        (
            "19bx",
            7.0,
            "2.0 °Bx above the last reading: it does not rise",
        ),
        ("48 2099-01-01", 7.0, "26329 days ahead of now"),
        ("92 -20d", 7.0, "the batch did not lie in this vessel then"),
        (
            "50 -3d",
            7.0,
            "0.010 below the reading of 29 Nov: gravity does not rise",
        ),
        ("60 -2d", 7.0, "the same was kept 0 minutes before or after"),
        ("40 -90d", 100.0, "90 days ago"),
    ] {
        let found = sentences(text, day);
        assert!(found.iter().any(|s| s == said), "{text}: {found:?}");
    }
}

#[test]
fn what_fits_is_not_doubted() {
    for (text, day) in [
        ("60", 7.0),
        ("62", 7.0),
        ("48 68f ph3.4", 7.0),
        ("5580g", 7.0),
        ("998", 30.0),
        ("68f", 7.0),
        ("1gal", 7.0),
        ("92 -7d", 7.0),
    ] {
        assert!(
            sentences(text, day).is_empty(),
            "{text}: {:?}",
            sentences(text, day)
        );
    }
}

#[test]
fn sugar_added_lets_gravity_rise() {
    let mut dossier = mead();
    dossier.events.push(Event {
        id: EventId(1),
        batch: BatchId(1),
        vessel: None,
        step: None,
        at: pitched().plus_days(6.0),
        kind: EventKind::Fruit,
        substance: "raspberries".into(),
        mass: None,
        volume: None,
        gravity: None,
        alcohol: None,
        note: String::new(),
    });
    let found = on_day("72", 7.0, &dossier);
    assert!(
        !found
            .doubts
            .iter()
            .any(|d| matches!(d, Doubt::Rises { .. }))
    );
}

#[test]
fn an_original_gravity_is_the_last_before_the_yeast() {
    let mut dossier = mead();
    dossier.readings.insert(0, sg(9, -0.05, 1.099));
    let (og, measured) = crate::domain::slip::known::original_gravity(&dossier, &[]).unwrap();
    assert!(measured && (og.get() - 1.092).abs() < 1e-9);
    dossier.readings.clear();
    let (og, measured) = crate::domain::slip::known::original_gravity(&dossier, &[]).unwrap();
    assert!(!measured && (og.get() - 1.095).abs() < 1e-9);
}
