#![expect(
    clippy::float_cmp,
    reason = "two spellings must give the very same number"
)]

use super::*;
use crate::domain::records::Unit;
use proptest::prelude::*;

fn now() -> Moment {
    Moment::from_stored(1_795_592_400_000, -480).unwrap()
}

fn read(text: &str) -> Result<Slip, SlipError> {
    parse(text, now(), &SlipContext::vessel(now()))
}

fn gravity(text: &str) -> f64 {
    let slip = read(text).unwrap_or_else(|why| panic!("{text}: {why}"));
    assert_eq!(slip.readings.len(), 1, "{text}");
    assert_eq!(slip.readings[0].seen.unit(), Unit::Sg, "{text}");
    slip.readings[0].seen.value()
}

fn described(slip: &Slip) -> String {
    let mut parts: Vec<String> = slip
        .readings
        .iter()
        .map(|r| {
            let (kind, value, unit) = (r.seen.kind(), r.seen.value(), r.seen.unit());
            match unit {
                Unit::Sg => format!("gravity {value:.4}")
                    .trim_end_matches('0')
                    .to_owned(),
                Unit::Ph => format!("pH {value}"),
                _ => format!("{kind} {value} {unit}"),
            }
        })
        .map(|said| {
            if said.len() < 13 && said.starts_with("gravity") {
                format!("{said:0<13}")
            } else {
                said
            }
        })
        .collect();
    if let Some(t) = slip.sample_temp {
        parts.push(format!("sample at {} {}", t.value(), t.unit()));
    }
    if !slip.note.is_empty() {
        parts.push(format!("note: {}", slip.note));
    }
    parts.join(", ")
}

#[test]
fn every_example_means_what_it_says() {
    for (text, meaning) in EXAMPLES {
        assert_eq!(described(&read(text).unwrap()), *meaning, "{text}");
    }
}

#[test]
fn three_spellings_of_a_gravity_are_the_same() {
    assert_eq!(
        read("42").unwrap().readings[0].seen,
        read("1.042").unwrap().readings[0].seen
    );
    for (text, expected) in [
        ("0", 1.0),
        ("5", 1.005),
        ("042", 1.042),
        ("200", 1.2),
        ("950", 0.95),
        ("998.5", 0.9985),
        ("1042.5", 1.0425),
        ("10425", 1.0425),
        (".998", 0.998),
        ("1.042sg", 1.042),
        ("42sg", 1.042),
        ("sg 1.042", 1.042),
    ] {
        assert!((gravity(text) - expected).abs() < 1e-12, "{text}");
    }
}

#[test]
fn number_and_unit_may_stand_apart_and_signs_are_taken() {
    let slip = read("1042 68 °F, pH 3.4; -3h").unwrap();
    assert_eq!(slip.sample_temp.unwrap().value(), 68.0);
    assert_eq!(slip.readings.len(), 2);
    assert_eq!(slip.at, now().plus_days(-0.125));
    assert_eq!(read("-3c").unwrap().readings[0].seen.value(), -3.0);
    assert_eq!(read("\u{2212}3c").unwrap().readings[0].seen.value(), -3.0);
    assert_eq!(read("68°f").unwrap().readings[0].seen.value(), 68.0);
}

#[test]
fn a_temperature_beside_a_mass_is_the_vessels_own() {
    let slip = read("4312g 68f").unwrap();
    assert_eq!(slip.readings.len(), 2);
    assert_eq!(slip.sample_temp, None);
}

#[test]
fn a_place_takes_a_temperature_and_a_bare_number_is_one() {
    let context = SlipContext {
        place: Some(Unit::Fahrenheit),
        ..SlipContext::vessel(now())
    };
    let slip = parse("68", now(), &context).unwrap();
    assert_eq!(slip.readings[0].seen.unit(), Unit::Fahrenheit);
    assert_eq!(parse("20c", now(), &context).unwrap().readings.len(), 1);
    let why = parse("1.042sg", now(), &context).unwrap_err();
    assert_eq!(
        why.to_string(),
        "'1.042sg': a place takes a temperature only, such as 68f or 20c"
    );
}

#[test]
fn what_is_not_understood_is_named_with_what_is_accepted() {
    for (text, said) in [
        ("", "nothing typed; accepted: a gravity (1.042"),
        (
            "42 pear",
            "'pear' is not understood; accepted: a gravity (1.042",
        ),
        (
            "9.0",
            "'9.0' alone can be read in several ways; add what it is: 9.0bx",
        ),
        (
            "1.9",
            "'1.9': specific gravity 1.9 is not possible: accepted is 0.95 to 1.45",
        ),
        ("500", "'500' is no gravity; accepted: 0 to 200"),
        ("-2", "'-2' is no gravity"),
        (
            "3.4",
            "'3.4' alone can be read in several ways; add what it is: 3.4bx, 3.4p, ph3.4",
        ),
        (
            "4,312g",
            "'4,312g' can be read in two ways; leave the comma out",
        ),
        ("ph17", "'ph17': pH 17 is not possible: accepted is 0 to 14"),
        ("42 43", "'43' is a second gravity in one slip"),
        ("20c 68f", "'68f' is a second temperature in one slip"),
        ("42 8/14", "'8/14' may be a date"),
        ("1.042.3", "'1.042.3' may be a date"),
        ("42 tomorrow", "'tomorrow' lies ahead"),
        ("1e3", "'1e3' is not understood"),
        ("nan", "'nan' is not understood"),
        ("infkg", "'infkg' is not understood"),
    ] {
        let why = read(text).unwrap_err().to_string();
        assert!(why.starts_with(said), "{text}: {why}");
    }
    assert_eq!(read("42 pear").unwrap_err().start, 3);
}

#[test]
fn a_note_alone_is_a_slip_and_keeps_its_apostrophes() {
    let slip = read("'mother's pear").unwrap();
    assert!(slip.readings.is_empty());
    assert_eq!(slip.note, "mother's pear");
    assert_eq!(read("42 \"clear\"").unwrap().note, "clear");
    assert_eq!(read("42 \u{201c}clear\u{201d}").unwrap().note, "clear");
    assert!(read("42 '").unwrap().note.is_empty());
}

proptest! {
    #[test]
    fn nothing_typed_breaks_it(text in "\\PC*") {
        let _ = read(&text);
    }

    #[test]
    fn nothing_like_a_slip_breaks_it(text in "[0-9a-hlkmpgtwx.,:/°'+ -]{0,24}") {
        if let Err(why) = read(&text) {
            prop_assert!(!why.to_string().is_empty());
            let first = why.piece.split(' ').next().unwrap_or_default();
            prop_assert!(text.contains(first));
        }
    }

    #[test]
    fn points_of_gravity_have_three_spellings(points in 0_u32..=200) {
        let whole = 1000 + points;
        let expected: f64 = format!("{}.{:03}", whole / 1000, whole % 1000).parse().unwrap();
        prop_assert_eq!(gravity(&points.to_string()), expected);
        prop_assert_eq!(gravity(&whole.to_string()), expected);
        prop_assert_eq!(gravity(&format!("1.{points:03}")), expected);
        prop_assert_eq!(gravity(&format!("1,{points:03}")), expected);
    }

    #[test]
    fn dry_gravities_have_two_spellings(thousandths in 950_u32..1000) {
        let expected: f64 = format!("0.{thousandths}").parse().unwrap();
        prop_assert_eq!(gravity(&thousandths.to_string()), expected);
        prop_assert_eq!(gravity(&format!("0.{thousandths}")), expected);
    }

    #[test]
    fn the_order_of_pieces_is_free(order in Just(vec!["1.042", "68f", "ph3.4", "4312g", "yesterday", "19:30"]).prop_shuffle()) {
        let expected = read("1.042 68f ph3.4 4312g yesterday 19:30").unwrap();
        let mut slip = read(&order.join(" ")).unwrap();
        slip.readings.sort_by_key(|r| ["1.042", "ph3.4", "4312g"].iter().position(|t| *t == r.typed));
        prop_assert_eq!(slip, expected);
    }

    #[test]
    fn a_decimal_comma_is_a_decimal_point(tenths in -99_i32..999) {
        let dot = format!("{:.1}c", f64::from(tenths) / 10.0);
        let comma = dot.replace('.', ",");
        prop_assert_eq!(read(&comma).unwrap().readings[0].seen, read(&dot).unwrap().readings[0].seen);
    }

    #[test]
    fn days_back_are_calendar_days(days in 0_i64..3000) {
        let slip = read(&format!("42 -{days}d")).unwrap();
        prop_assert_eq!((now().day() - slip.at.day()).num_days(), days);
    }
}
