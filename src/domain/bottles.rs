//! The maker's register of empty bottles, kept in the pantry: the name says
//! size and class, the note what their maker states and how often they were
//! filled.
//!
//! `12 fl oz crown-cap bottles, brown` with the note `filled 3 times before, rated 4
//! volumes, 2 rejected`. What is not said of a bottle counts against it: a
//! class that is not named bears no gas.

use super::records::{BottleClass, PantryId, PantryItem, PantryKind};
use super::sums::carbonation::Rating;
use super::units::{GaugeBar, Litres, ML_PER_US_FL_OZ, Volumes};

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
    /// Reads it from the pantry; none for what is no bottle, or tells no size.
    pub fn of(item: &PantryItem) -> Option<Self> {
        if item.kind != PantryKind::Bottle || item.unit != "pieces" {
            return None;
        }
        let words = format!("{} {}", item.name, item.note).to_lowercase();
        let class = class(&words);
        Some(Self {
            item: Some(item.id),
            name: item.name.clone(),
            class: class.unwrap_or(BottleClass::NoPressure),
            known: class.is_some(),
            size: size(&item.name)?,
            have: item.amount.max(0.0).floor().min(1e6) as u32,
            rating: rating(&words),
            reused: after(&words, "filled").unwrap_or(0.0) as u32,
            rejected: before(&words, "rejected").unwrap_or(0.0) as u32,
            clear_glass: words.contains("clear"),
        })
    }

    /// The note that says all this again.
    pub fn note(&self) -> String {
        let mut parts = vec![self.class.word().to_owned()];
        if self.reused > 0 {
            parts.push(format!("filled {} times before", self.reused));
        }
        match self.rating {
            Some(Rating::Volumes(v)) => parts.push(format!("rated {} volumes", v.get())),
            Some(Rating::Gauge(p)) => parts.push(format!("rated {} bar", p.get())),
            Some(Rating::None) | None => {}
        }
        if self.rejected > 0 {
            parts.push(format!("{} rejected", self.rejected));
        }
        if self.clear_glass {
            parts.push("clear glass".to_owned());
        }
        parts.join(", ")
    }
}

fn class(words: &str) -> Option<BottleClass> {
    let says = |list: &[&str]| list.iter().any(|w| words.contains(w));
    if says(&["still-wine", "still wine", "jar", "growler", "demijohn"]) {
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

fn rating(words: &str) -> Option<Rating> {
    let value = after(words, "rated")?;
    let (_, tail) = words.split_once("rated")?;
    if tail.split([',', ';']).next()?.contains("bar") {
        GaugeBar::new(value).ok().map(Rating::Gauge)
    } else {
        Volumes::new(value).ok().map(Rating::Volumes)
    }
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
    use proptest::prelude::*;

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
        assert_eq!(size("bottles from the attic"), None);
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_again(class in 0usize..6, reused in 0u32..30, rejected in 0u32..9, rated in 0u8..3, clear: bool) {
            let mut kind = BottleKind::of(&item("0.5 L", "")).unwrap();
            kind.class = BottleClass::ALL[class];
            kind.known = true;
            kind.reused = reused;
            kind.rejected = rejected;
            kind.clear_glass = clear;
            kind.rating = match rated {
                0 => None,
                1 => Some(Rating::Volumes(Volumes::known(3.5))),
                _ => Some(Rating::Gauge(GaugeBar::known(6.0))),
            };
            let again = BottleKind::of(&item("0.5 L", &kind.note())).unwrap();
            prop_assert_eq!(again, kind);
        }
    }
}
