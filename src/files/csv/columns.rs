//! What the columns of a foreign table hold, told by their headings.

use crate::domain::records::{MeasureKind, Unit};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// Tag of the vessel.
    Vessel,
    /// Name of the place.
    Place,
    /// Day, with or without the time of day.
    Day,
    /// Time of day.
    Clock,
    /// A value: its kind, and its unit where the heading tells it.
    Value(MeasureKind, Option<Unit>),
    /// What the value beside it measures, as in skep's own tables.
    Kind,
    /// The value of a table that says the kind in another column.
    Amount,
    /// The unit of that value.
    UnitOf,
    /// Temperature of the sample.
    Sample(Option<Unit>),
    /// Unit of the sample's temperature.
    SampleUnit,
    /// Free words.
    Note,
    /// Not wanted.
    Nothing,
}

/// A role with the headings by which it is known.
#[derive(Debug, Clone, Copy)]
pub struct RoleWords {
    /// The name used in `--column HEADING=NAME`.
    pub name: &'static str,
    /// What it means.
    pub role: Role,
    /// Headings, in small letters.
    pub headings: &'static [&'static str],
}

const fn role(name: &'static str, role: Role, headings: &'static [&'static str]) -> RoleWords {
    RoleWords {
        name,
        role,
        headings,
    }
}

/// Every role; matching and help read this one table.
pub const ROLES: &[RoleWords] = {
    use {MeasureKind as K, Role as R, Unit as U};
    &[
        role(
            "vessel",
            R::Vessel,
            &["vessel", "tag", "fermenter", "carboy", "jug", "jar", "tank"],
        ),
        role("place", R::Place, &["place", "room", "location"]),
        role(
            "date",
            R::Day,
            &[
                "date",
                "day",
                "at",
                "when",
                "datetime",
                "date time",
                "date/time",
                "timestamp",
                "datum",
            ],
        ),
        role("time", R::Clock, &["time", "clock", "hour"]),
        role(
            "gravity",
            R::Value(K::Hydrometer, None),
            &[
                "gravity",
                "sg",
                "specific gravity",
                "hydrometer",
                "reading",
                "density",
            ],
        ),
        role(
            "plato",
            R::Value(K::Hydrometer, Some(U::Plato)),
            &["plato", "p", "extract"],
        ),
        role(
            "brix",
            R::Value(K::Refractometer, Some(U::Brix)),
            &["brix", "bx", "refractometer"],
        ),
        role(
            "temperature",
            R::Value(K::Temperature, None),
            &["temperature", "temp", "t", "celsius", "fahrenheit"],
        ),
        role("ph", R::Value(K::Ph, Some(U::Ph)), &["ph", "acidity (ph)"]),
        role("mass", R::Value(K::Mass, None), &["mass", "weight"]),
        role("volume", R::Value(K::Volume, None), &["volume", "vol"]),
        role(
            "acid",
            R::Value(K::Acidity, Some(U::GramPerLitre)),
            &["ta", "acid", "acidity"],
        ),
        role("kind", R::Kind, &["kind"]),
        role("value", R::Amount, &["value"]),
        role("unit", R::UnitOf, &["unit"]),
        role(
            "sample",
            R::Sample(None),
            &["sample", "sample temperature", "sample temp"],
        ),
        role("sample-unit", R::SampleUnit, &["sample unit"]),
        role(
            "note",
            R::Note,
            &["note", "notes", "comment", "comments", "remark", "remarks"],
        ),
        role("nothing", R::Nothing, &[]),
    ]
};

/// The role of that name.
pub(super) fn named(name: &str) -> Option<Role> {
    ROLES
        .iter()
        .find(|r| r.name.eq_ignore_ascii_case(name.trim()))
        .map(|r| r.role)
}

/// The role that a heading tells, such as `Temp (°F)`.
pub(super) fn by_heading(heading: &str) -> Option<Role> {
    let lower = heading.trim().to_lowercase();
    let (words, unit) = split_unit(&lower);
    let known = |text: &str| ROLES.iter().find(|r| r.headings.contains(&text));
    let found = known(&lower).or_else(|| known(words))?;
    Some(match found.role {
        Role::Value(kind, given) => Role::Value(kind, given.or(unit).or(by_name(words))),
        Role::Sample(given) => Role::Sample(given.or(unit)),
        role => role,
    })
}

fn by_name(words: &str) -> Option<Unit> {
    match words {
        "celsius" => Some(Unit::Celsius),
        "fahrenheit" => Some(Unit::Fahrenheit),
        "sg" | "specific gravity" => Some(Unit::Sg),
        _ => None,
    }
}

/// `temp (°f)`, `temp [c]`, `mass kg`, `temperature_c`: words and unit.
fn split_unit(lower: &str) -> (&str, Option<Unit>) {
    let trimmed = lower.trim_end_matches([')', ']', ' ']);
    let Some((words, unit)) = trimmed.rsplit_once(['(', '[', ' ', '_', ',']) else {
        return (lower, None);
    };
    match unit_named(unit) {
        Some(unit) => (
            words.trim_end_matches([' ', '(', '[', '_', ',']),
            Some(unit),
        ),
        None => (lower, None),
    }
}

/// A unit by its word, as skep prints it or as people write it.
pub(super) fn unit_named(word: &str) -> Option<Unit> {
    let word = word.trim();
    if let Some(unit) = Unit::ALL
        .iter()
        .find(|u| u.word().eq_ignore_ascii_case(word))
    {
        return Some(*unit);
    }
    Some(match word.to_lowercase().trim_start_matches('°') {
        "c" | "celsius" => Unit::Celsius,
        "f" | "fahrenheit" => Unit::Fahrenheit,
        "sg" => Unit::Sg,
        "p" | "plato" => Unit::Plato,
        "bx" | "brix" => Unit::Brix,
        "g" | "gram" | "grams" => Unit::Gram,
        "kg" => Unit::Kilogram,
        "lb" | "lbs" => Unit::Pound,
        "l" | "litre" | "litres" | "liter" | "liters" => Unit::Litre,
        "gal" | "gallon" | "gallons" => Unit::Gallon,
        "g/l" => Unit::GramPerLitre,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_tell_role_and_unit() {
        use {MeasureKind as K, Unit as U};
        for (heading, expected) in [
            ("Date", Some(Role::Day)),
            ("SG", Some(Role::Value(K::Hydrometer, Some(U::Sg)))),
            (
                "Temp (°F)",
                Some(Role::Value(K::Temperature, Some(U::Fahrenheit))),
            ),
            (
                "temperature_c",
                Some(Role::Value(K::Temperature, Some(U::Celsius))),
            ),
            ("Temp", Some(Role::Value(K::Temperature, None))),
            ("Weight [kg]", Some(Role::Value(K::Mass, Some(U::Kilogram)))),
            ("Brix", Some(Role::Value(K::Refractometer, Some(U::Brix)))),
            ("pH", Some(Role::Value(K::Ph, Some(U::Ph)))),
            ("Sample temp (C)", Some(Role::Sample(Some(U::Celsius)))),
            ("Remarks", Some(Role::Note)),
            ("Bubbles per minute", None),
        ] {
            assert_eq!(by_heading(heading), expected, "{heading}");
        }
    }

    #[test]
    fn names_and_headings_are_said_once() {
        for (i, a) in ROLES.iter().enumerate() {
            for b in ROLES.iter().skip(i + 1) {
                assert_ne!(a.name, b.name);
                assert!(
                    a.headings.iter().all(|h| !b.headings.contains(h)),
                    "{} {}",
                    a.name,
                    b.name
                );
            }
        }
    }
}
