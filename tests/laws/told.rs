//! How the bench tells amounts, and what it was told.

use super::bench::{ask, near};
use skep::domain::sums::figures::{self, Line};

#[test]
fn a_why_tells_what_was_typed_and_what_was_taken_for_the_rest() {
    for spec in figures::FIGURES {
        let given = spec
            .inputs
            .iter()
            .filter(|i| i.name == "og" || i.name == "sg");
        let given: Vec<_> = given.map(|i| (i.name, "1.050")).collect();
        let Ok(answer) = spec.answer(&given) else {
            continue;
        };
        for (name, _) in &given {
            let input = spec.input(name).unwrap();
            let told = answer
                .why
                .inputs
                .iter()
                .any(|(label, value)| label.contains(input.label) && value.contains("1.050"));
            assert!(told, "{} {:?}", spec.id, answer.why.inputs);
        }
    }
}

#[test]
fn an_amount_is_told_in_all_units_by_their_definitions() {
    let told = |amount: &str| ask("convert", &[("amount", amount)]).unwrap().lines;
    let of = |amount: &str, unit: &str| {
        let lines = told(amount);
        let text = lines
            .iter()
            .map(|l| format!("{} {}", l.label, l.text(figures::System::Metric)));
        let found = text
            .clone()
            .find(|t| t.split_whitespace().any(|word| word == unit));
        let found = found.unwrap_or_else(|| panic!("{unit}: {lines:?}"));
        let number = found
            .split_whitespace()
            .find_map(|word| word.parse::<f64>().ok());
        number.unwrap_or_else(|| panic!("{found}"))
    };
    near(of("1gal", "L"), 3.785, 0.001);
    near(of("1lb", "g"), 453.59, 0.01);
    near(of("1lb", "oz"), 16.0, 1e-6);
    // Its own unit is not told again.
    assert!(
        told("1lb")
            .iter()
            .all(|l| !l.text(figures::System::Metric).ends_with(" lb"))
    );
}

#[test]
fn both_systems_are_told_in_digits_that_suit_the_amount() {
    use figures::{Shown, System};
    let volume = |litres| Line::new("", Shown::Volume(litres)).text(System::Us);
    // 3.785411784 L to the US gallon, 29.5735 mL to the fluid ounce: NIST SP 811.
    for (litres, told) in [
        (18.927_058_92, "5.00 gal (18.9 L)"),
        (3.785_411_784, "1.00 gal (3.79 L)"),
        (0.354_882, "12.00 fl oz (355 mL)"),
        (0.005, "0.17 fl oz (5.00 mL)"),
    ] {
        assert_eq!(volume(litres), told);
    }
    // 1 bar is 14.50 psi; 1 °C is 33.8 °F.
    assert_eq!(
        Line::new("", Shown::Pressure(2.0)).text(System::Us),
        "29 psi (2.00 bar)"
    );
    assert_eq!(
        Line::new("", Shown::Temperature(1.0)).text(System::Us),
        "33.8 °F (1.0 °C)"
    );
}

#[test]
fn what_was_typed_as_a_pressure_is_told_as_one() {
    let given = [
        ("gas", "2.5"),
        ("storage", "20c"),
        ("rated", "pressure"),
        ("pressure", "8bar"),
    ];
    let told = ask("bottle", &given).unwrap().why.inputs;
    let pressure = told
        .iter()
        .find(|(label, _)| label.contains("rated pressure"))
        .unwrap();
    assert!(pressure.1.contains("8.00 bar"), "{pressure:?}");
}

#[test]
fn amounts_are_told_in_three_digits_and_are_what_they_were() {
    use figures::{Shown, System};
    let told = |shown| {
        let text = Line::new("", shown).text(System::Metric);
        let (number, unit) = text.split_once(' ').unwrap();
        let digits = number.chars().filter(char::is_ascii_digit);
        let significant = digits.skip_while(|c| *c == '0').count();
        let size = match unit.split_whitespace().next().unwrap() {
            "kg" => 1000.0,
            "mL" => 0.001,
            "g" | "L" => 1.0,
            other => panic!("{other}"),
        };
        (number.parse::<f64>().unwrap() * size, significant)
    };
    for n in 0..200 {
        let amount = 1.05 * 1.035_f64.powi(n);
        if amount < 990.0 {
            let (mass, digits) = told(Shown::Mass(amount));
            near(mass, amount, 0.006 * amount);
            assert_eq!(digits, 3, "{amount} g");
        }
        let litres = amount / 9.0;
        if litres < 99.0 {
            let (volume, digits) = told(Shown::Volume(litres));
            near(volume, litres, 0.006 * litres);
            assert_eq!(digits, 3, "{litres} L");
        }
    }
}

#[test]
fn what_was_typed_is_told_with_its_unit() {
    let given = [("sg", "1.000"), ("abv", "12%"), ("size", "5floz")];
    let told = ask("serving", &given).unwrap().why.inputs;
    let of = |label: &str| &told.iter().find(|(l, _)| l.contains(label)).unwrap().1;
    assert!(of("alcohol").contains("12.00 % vol"), "{told:?}");
    assert!(of("serving").contains("148 mL"), "{told:?}");
}
