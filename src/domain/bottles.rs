//! The maker's register of empty bottles, kept in the pantry.
//!
//! What is not said of a bottle counts against it: a class that is not named
//! bears no gas. Words are read where they are typed, and where a note was
//! kept before the register had columns: `12 fl oz crown-cap bottles, brown`
//! with the note `filled 3 times before, rated 4 volumes, 2 rejected`.

use super::records::{Bottle, BottleClass, PantryId, PantryItem, PantryKind};
use super::sums::carbonation::Rating;
use super::units::{GaugeBar, LITRES_PER_US_GALLON, Litres, ML_PER_US_FL_OZ, Volumes};

/// One pound-force a square inch, 6.894757 kPa (NIST Special Publication 811).
const BAR_PER_PSI: f64 = 0.068_947_57;

/// Bottles of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct BottleKind {
    /// Where it stands in the pantry; none for bottles that are not kept there.
    pub item: Option<PantryId>,
    /// As the pantry calls it.
    pub name: String,
    /// Class.
    pub class: BottleClass,
    /// Whether the class was named; an unknown one counts as bearing no gas.
    pub known: bool,
    /// Volume of one, filled to its usual height.
    pub size: Litres,
    /// How many are empty and sound.
    pub have: u32,
    /// What their maker states.
    pub rating: Option<Rating>,
    /// How often they were filled before.
    pub reused: u32,
    /// Chipped, scuffed or bruised ones that were put aside.
    pub rejected: u32,
    /// Clear glass lets light in.
    pub clear_glass: bool,
}

impl BottleKind {
    /// As the register has it; none for what is no bottle, or tells no size.
    pub fn of(item: &PantryItem) -> Option<Self> {
        let bottle = registered(item)?;
        Some(Self {
            item: Some(item.id),
            name: item.name.clone(),
            class: bottle.class.unwrap_or(BottleClass::NoPressure),
            known: bottle.class.is_some(),
            size: bottle.size,
            have: item.amount.max(0.0).floor().min(1e6) as u32,
            rating: bottle.rating,
            reused: bottle.filled,
            rejected: bottle.rejected,
            clear_glass: bottle.clear_glass,
        })
    }
}

/// What the register has of a thing in the pantry. One that was brought back
/// by redo from before the register had columns is read by its words.
pub fn registered(item: &PantryItem) -> Option<Bottle> {
    if item.kind != PantryKind::Bottle || item.unit != "pieces" {
        return None;
    }
    item.bottle.or_else(|| read(&item.name, &item.note))
}

/// Reads a name and a note; none where they tell no size.
pub fn read(name: &str, note: &str) -> Option<Bottle> {
    let words = format!("{name} {note}").to_lowercase();
    Some(Bottle {
        size: size(name)?,
        class: class(&words),
        rating: words
            .split_once("rated")
            .and_then(|(_, tail)| rating(tail.split([',', ';']).next()?).ok()),
        filled: count(after(&words, "filled")),
        rejected: count(before(&words, "rejected")),
        clear_glass: words.contains("clear"),
    })
}

fn count(n: Option<f64>) -> u32 {
    n.map_or(0, |n| n.clamp(0.0, 1e6) as u32)
}

/// What a bottle's maker states, as typed: `4 volumes`, `6 bar`, `60 psi`; a
/// number alone is volumes. The error says what is accepted.
pub fn rating(text: &str) -> Result<Rating, String> {
    let text = text.trim().to_lowercase();
    let not = || format!("'{text}' is no rating: 4 volumes, 6 bar or 60 psi.");
    let end = text
        .find(|c: char| !c.is_ascii_digit() && c != '.')
        .unwrap_or(text.len());
    let (number, unit) = (text.get(..end), text.get(end..));
    let value: f64 = number.and_then(|n| n.parse().ok()).ok_or_else(not)?;
    let rating = match unit.unwrap_or("").trim() {
        "" | "v" | "vol" | "volume" | "volumes" => Volumes::new(value).map(Rating::Volumes),
        "bar" => GaugeBar::new(value).map(Rating::Gauge),
        "psi" => GaugeBar::new(value * BAR_PER_PSI).map(Rating::Gauge),
        _ => return Err(not()),
    };
    rating.map_err(|e| format!("{e}."))
}

/// The class that words name: `crown-cap`, `swing-top`, `still wine`; none
/// where they name none.
pub fn class(words: &str) -> Option<BottleClass> {
    let words = words.to_lowercase();
    let says = |list: &[&str]| list.iter().any(|w| words.contains(w));
    if says(&[
        "still-wine",
        "still wine",
        "jar",
        "jug",
        "growler",
        "demijohn",
    ]) {
        return Some(BottleClass::NoPressure);
    }
    if says(&["sparkling-wine", "sparkling wine"]) {
        // Only what is said to be new counts as new.
        return Some(if says(&["wine bottle, new", "new,", "new sparkling"]) {
            BottleClass::SparklingNew
        } else {
            BottleClass::SparklingUsed
        });
    }
    if says(&["swing", "heavy"]) {
        return Some(BottleClass::Heavy);
    }
    if says(&["plastic"]) {
        return Some(BottleClass::Plastic);
    }
    says(&["crown", "beer bottle"]).then_some(BottleClass::Crown)
}

/// How often bottles were filled before, where words say it.
pub fn filled_before(words: &str) -> Option<u32> {
    after(&words.to_lowercase(), "filled").map(|n| count(Some(n)))
}

/// The number after a word.
fn after(words: &str, word: &str) -> Option<f64> {
    let (_, tail) = words.split_once(word)?;
    tail.split_whitespace().next()?.parse().ok()
}

/// The number before a word.
fn before(words: &str, word: &str) -> Option<f64> {
    let (head, _) = words.split_once(word)?;
    head.split_whitespace().next_back()?.parse().ok()
}

/// The size that a bottle's name begins with or holds: `12 fl oz`, `0.5 L`, `750 mL`.
pub fn size(name: &str) -> Option<Litres> {
    let words: Vec<String> = name
        .to_lowercase()
        .split_whitespace()
        .map(|w| w.trim_matches([',', ';', '(', ')']).to_owned())
        .collect();
    for (i, word) in words.iter().enumerate() {
        let end = word
            .find(|c: char| !c.is_ascii_digit() && c != '.')
            .unwrap_or(word.len());
        let (Some(number), Some(glued)) = (word.get(..end), word.get(end..)) else {
            continue;
        };
        let Ok(n) = number.parse::<f64>() else {
            continue;
        };
        let next = words.get(i + 1).map_or("", String::as_str);
        let litres = match if glued.is_empty() { next } else { glued } {
            "oz" | "fl" | "floz" => n * ML_PER_US_FL_OZ / 1000.0,
            "ml" => n / 1000.0,
            "cl" => n / 100.0,
            "l" => n,
            "gal" | "gallon" => n * LITRES_PER_US_GALLON,
            _ => continue,
        };
        if litres > 0.0 {
            return Litres::new(litres).ok();
        }
    }
    None
}

/// The register: bottles of the pantry, in its order.
pub fn register(pantry: &[PantryItem]) -> Vec<BottleKind> {
    pantry.iter().filter_map(BottleKind::of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn item(name: &str, note: &str) -> PantryItem {
        PantryItem {
            id: PantryId(1),
            kind: PantryKind::Bottle,
            name: name.into(),
            amount: 24.0,
            unit: "pieces".into(),
            lot: String::new(),
            best_before: None,
            price: None,
            keep_at_least: None,
            bottle: None,
            note: note.into(),
        }
    }

    #[test]
    fn name_and_note_tell_the_class_the_size_and_the_wear() {
        let kind = BottleKind::of(&item(
            "12 fl oz crown-cap bottles, brown",
            "filled 3 times before, rated 4 volumes, 2 rejected",
        ))
        .unwrap();
        assert_eq!(kind.class, BottleClass::Crown);
        assert!((kind.size.get() - 0.3548823548).abs() < 1e-9);
        assert_eq!((kind.have, kind.reused, kind.rejected), (24, 3, 2));
        assert_eq!(kind.rating, Some(Rating::Volumes(Volumes::known(4.0))));
        let clear = BottleKind::of(&item("750ml wine bottles", "clear")).unwrap();
        assert!(clear.clear_glass && !clear.known);
        assert_eq!(clear.class, BottleClass::NoPressure);
        assert_eq!(BottleKind::of(&item("empty bottles", "")), None);
    }

    #[test]
    fn the_size_stands_in_a_bottle_s_name() {
        // 12 US fluid ounces are 354.88 mL (NIST Handbook 44, Appendix C).
        let near = |name: &str, l: f64| {
            let found = size(name).unwrap().get();
            assert!((found - l).abs() < 1e-4, "{name}: {found}");
        };
        near("12 fl oz crown-cap bottles, brown", 0.35488);
        near("swing-top 500mL", 0.5);
        near("0.75 L sparkling-wine bottles", 0.75);
        near("1gal jug", 3.785412);
        assert_eq!(size("bottles from the attic"), None);
    }

    #[test]
    fn what_the_register_says_outranks_the_words() {
        let mut brown = item("12 fl oz crown-cap bottles", "filled 3 times before");
        brown.bottle = Some(Bottle {
            filled: 4,
            class: None,
            ..read(&brown.name, "").unwrap()
        });
        let kind = BottleKind::of(&brown).unwrap();
        assert_eq!((kind.reused, kind.known), (4, false));
        brown.kind = PantryKind::Honey;
        assert_eq!(BottleKind::of(&brown), None);
    }

    #[test]
    fn a_rating_is_typed_in_volumes_bar_or_psi() {
        // 1 psi is 6.894757 kPa (NIST Special Publication 811).
        let bar = |text| match rating(text) {
            Ok(Rating::Gauge(p)) => p.get(),
            other => panic!("{other:?}"),
        };
        assert!((bar("60 psi") - 4.136_854).abs() < 1e-6);
        assert!((bar("6bar") - 6.0).abs() < 1e-12);
        assert_eq!(rating("3.5"), Ok(Rating::Volumes(Volumes::known(3.5))));
        assert_eq!(
            rating("strong").unwrap_err(),
            "'strong' is no rating: 4 volumes, 6 bar or 60 psi."
        );
    }
}
