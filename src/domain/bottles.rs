//! The maker's register of empty bottles, kept in the pantry, and what each
//! class of bottle is rated for.
//!
//! What is not said of a bottle counts against it: a bottle of unknown class
//! takes no gas. A class is selected by its own words and never guessed from
//! others: `12 fl oz crown-cap bottles, brown` names one, `decorative
//! swing-top` and `plastic jerrycan` do not.

use super::records::{Bottle, BottleClass, PantryId, PantryItem, PantryKind};
use super::sums::carbonation::{AIR, Pressure, Rating};
use super::units::{GaugeBar, LITRES_PER_US_GALLON, Litres, ML_PER_US_FL_OZ, Volumes};

/// One pound-force a square inch, 6.894757 kPa (NIST Special Publication 811).
const BAR_PER_PSI: f64 = 0.068_947_57;

/// Largest bottle that takes gas without a printed working pressure: the wall
/// stress of a vessel grows with its size (common practice, no source).
pub const LARGEST: Litres = Litres::known(2.0);

/// Most gas that any bottle or keg is filled with: that of a new
/// sparkling-wine bottle (common practice, no source).
pub const MOST_GAS: Volumes = Volumes::known(6.0);

/// Most gas and pressure that a bottle takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// Gas, whatever the temperature.
    pub volumes: Volumes,
    /// Gauge pressure at the warmest storage.
    pub pressure: GaugeBar,
    /// Whether the pressure is a printed working pressure. Then the air shut
    /// in and the margin of the sum count too; the trade's ceilings were made
    /// with the figures of its tables, which leave both out.
    pub printed: bool,
}

impl Limit {
    /// The pressure that is compared with this limit.
    pub fn load(self, pressure: Pressure) -> GaugeBar {
        if self.printed {
            pressure.safe
        } else {
            pressure.gauge
        }
    }
}

/// Returns what the trade puts into a sound bottle of a class; none where it
/// puts no gas at all.
///
/// Volumes: common practice, no source. Pressures: burst strength over a
/// factor of three, which a general testing page asks of carbonated glass.
/// Glass for beer bursts above 12 bar in the ordinary and 14 in the first
/// grade of the Chinese standard (GB 4544, as two suppliers quote it), plastic
/// near 12, sparkling-wine bottles near 16 (Campden BRI). So crown-cap bottles
/// take 4.0 bar, which is 3.0 volumes of beer at 30 °C; heavy ones 4.7, 3.5
/// volumes at 30 °C; plastic 4.0. Sparkling-wine bottles carry more than a
/// third of their burst strength in the trade itself: 7.5 bar were measured in
/// sealed ones at 20 °C (Liger-Belair 2017); used ones get five sixths of it
/// (common practice, no source).
pub fn ceiling(class: BottleClass) -> Option<Limit> {
    let (volumes, bar) = match class {
        BottleClass::Crown => (3.0, 4.0),
        BottleClass::Heavy => (3.5, 4.7),
        BottleClass::Plastic => (4.0, 4.0),
        BottleClass::SparklingUsed => (5.0, 6.2),
        BottleClass::SparklingNew => (6.0, 7.5),
        BottleClass::NoPressure => return None,
    };
    Some(Limit {
        volumes: Volumes::known(volumes),
        pressure: GaugeBar::known(bar),
        printed: false,
    })
}

/// The highest printed rating that is believed of any bottle: that of one for
/// sparkling wine, half of its burst strength (common practice, no source).
pub const HIGHEST: Limit = Limit {
    volumes: MOST_GAS,
    pressure: GaugeBar::known(8.0),
    printed: true,
};

/// Returns the classes of bottle that take so much gas at that pressure, in words.
pub fn classes_that_take(gas: Volumes, pressure: Pressure) -> String {
    let takes = |class: &BottleClass| {
        ceiling(*class).is_some_and(|l| gas <= l.volumes && l.load(pressure) <= l.pressure)
    };
    let all = BottleClass::ALL.iter().copied().filter(takes);
    let words: Vec<&str> = all.map(BottleClass::word).collect();
    if words.is_empty() {
        "none: aim at less gas, or store it cooler".to_owned()
    } else {
        words.join(", ")
    }
}

/// Returns the highest printed rating that is believed of a class.
///
/// Glass for beer: 4.5 volumes, the most that a British bottle standard for
/// soft drinks was made for (BS 6119-1, withdrawn 2023), and a third of the 16
/// bar of the best grade (GB 4544, as quoted). Plastic: 4.5 volumes (a trade
/// page), half of its burst strength (common practice, no source).
pub fn most_rated(class: BottleClass) -> Option<Limit> {
    let (volumes, bar) = match class {
        BottleClass::Crown | BottleClass::Heavy => (4.5, 5.3),
        BottleClass::Plastic => (4.5, 6.0),
        BottleClass::SparklingUsed | BottleClass::SparklingNew => return Some(HIGHEST),
        BottleClass::NoPressure => return None,
    };
    Some(Limit {
        volumes: Volumes::known(volumes),
        pressure: GaugeBar::known(bar),
        printed: true,
    })
}

/// Whether a printed rating is one that bottles of a class can have.
pub fn believed(class: BottleClass, rating: Rating) -> bool {
    match (most_rated(class), rating) {
        (Some(most), Rating::Volumes(v)) => v <= most.volumes,
        (Some(most), Rating::Gauge(p)) => p <= most.pressure,
        (_, Rating::None) => true,
        (None, _) => false,
    }
}

/// Returns the limit of a class with a printed rating; a rating that is not
/// believed counts for nothing.
///
/// A rating in volumes says nothing of the temperature: it is taken for the
/// temperature of the class's own ceiling, and pressure there goes with the
/// volumes.
pub fn limit(class: BottleClass, rating: Option<Rating>) -> Option<Limit> {
    let usual = ceiling(class)?;
    let most = most_rated(class)?;
    Some(match rating.filter(|r| believed(class, *r)) {
        Some(Rating::Volumes(v)) => {
            let share = v.get() / usual.volumes.get();
            let bar = (usual.pressure.get() + AIR) * share - AIR;
            Limit {
                volumes: v,
                pressure: GaugeBar::clamped(bar.min(most.pressure.get())),
                printed: false,
            }
        }
        Some(Rating::Gauge(pressure)) => Limit {
            volumes: most.volumes,
            pressure,
            printed: true,
        },
        Some(Rating::None) => return None,
        None => usual,
    })
}

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
        class: class(name),
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

/// What a bottle's maker states, as typed: `4 volumes`, `4 bar`, `60 psi`; a
/// number alone is volumes. The error says what is accepted.
pub fn rating(text: &str) -> Result<Rating, String> {
    let text = text.trim().to_lowercase();
    let not = || format!("'{text}' is no rating: 4 volumes, 4 bar or 60 psi.");
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

/// Words that name a class, and the class.
const CLASSES: [(&str, BottleClass); 17] = [
    ("crown-cap", BottleClass::Crown),
    ("crown-cap beer", BottleClass::Crown),
    ("beer", BottleClass::Crown),
    ("swing-top", BottleClass::Heavy),
    ("pressure swing-top", BottleClass::Heavy),
    ("heavy", BottleClass::Heavy),
    ("heavy beer", BottleClass::Heavy),
    ("heavy or swing-top", BottleClass::Heavy),
    ("plastic", BottleClass::Plastic),
    ("plastic drink", BottleClass::Plastic),
    ("new sparkling-wine", BottleClass::SparklingNew),
    ("sparkling-wine", BottleClass::SparklingUsed),
    ("used sparkling-wine", BottleClass::SparklingUsed),
    ("still-wine", BottleClass::NoPressure),
    ("jar", BottleClass::NoPressure),
    ("jug", BottleClass::NoPressure),
    ("growler", BottleClass::NoPressure),
];

/// What may follow a class after a comma without making another bottle of it.
const LOOKS: [&str; 7] = ["brown", "green", "amber", "blue", "clear", "reused", "new"];

/// Returns the class that words name: `crown-cap`, `12 fl oz swing-top
/// bottles`, `0.75 L sparkling-wine bottle, new`. Any word beside a size, a
/// class, 'bottle' and a look leaves the class unknown.
pub fn class(words: &str) -> Option<BottleClass> {
    let words = words.to_lowercase();
    if let Some(class) = BottleClass::from_word(words.trim()) {
        return Some(class);
    }
    let mut parts = words.split(',');
    let named = named(parts.next()?);
    let looks: Vec<&str> = parts.map(str::trim).collect();
    if looks.iter().any(|l| !LOOKS.contains(l)) {
        return None;
    }
    let (_, class) = CLASSES.iter().find(|(word, _)| *word == named)?;
    Some(match class {
        BottleClass::SparklingUsed if looks.contains(&"new") => BottleClass::SparklingNew,
        class => *class,
    })
}

/// The words of a name without its size and 'bottle'.
fn named(name: &str) -> String {
    let units = ["fl", "oz", "floz", "ml", "cl", "l", "gal", "gallon"];
    let is_size = |w: &&str| {
        let rest = w.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
        rest.len() < w.len() && (rest.is_empty() || units.contains(&rest))
    };
    name.replace("crown cap", "crown-cap")
        .replace("swing top", "swing-top")
        .replace("still wine", "still-wine")
        .replace("sparkling wine", "sparkling-wine")
        .split_whitespace()
        .filter(|w| !is_size(w) && !units.contains(w) && !["bottle", "bottles"].contains(w))
        .map(|w| w.strip_suffix('s').unwrap_or(w))
        .collect::<Vec<_>>()
        .join(" ")
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

/// Returns the limit for the worst case, in which all that is left ferments:
/// what is printed, else the most that bottles of the class are made for. The
/// trade's ceilings are for what is aimed at.
pub fn worst_limit(class: BottleClass, rating: Option<Rating>) -> Option<Limit> {
    match rating.filter(|r| believed(class, *r)) {
        Some(printed) => limit(class, Some(printed)),
        None => most_rated(class).map(|most| Limit {
            printed: false,
            ..most
        }),
    }
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
    fn a_class_is_named_by_its_own_words_alone() {
        let of = |name: &str| class(name);
        assert_eq!(
            of("12 fl oz crown-cap bottles, brown"),
            Some(BottleClass::Crown)
        );
        assert_eq!(of("0.5 L swing-tops"), Some(BottleClass::Heavy));
        assert_eq!(of("16 l plastic"), Some(BottleClass::Plastic));
        assert_eq!(
            of("750mL sparkling wine bottles"),
            Some(BottleClass::SparklingUsed)
        );
        assert_eq!(
            of("sparkling-wine bottle, new"),
            Some(BottleClass::SparklingNew)
        );
        for unknown in [
            "500mL decorative swing-top",
            "5 l plastic jerrycan",
            "12 fl oz twist-off beer bottles",
            "crown-cap bottles, twist-off",
            "plastic water bottle",
            "12 fl oz bottles, crown-cap perhaps",
            "square swing-top",
            "750ml wine bottles",
            "new",
        ] {
            assert_eq!(of(unknown), None, "{unknown}");
        }
    }

    #[test]
    fn a_rating_beyond_its_class_is_not_believed() {
        let crown = |text| believed(BottleClass::Crown, rating(text).unwrap());
        assert!(crown("4 volumes") && crown("60 psi"));
        assert!(!crown("10 volumes") && !crown("300 psi") && !crown("16 bar"));
        let wine = |text| believed(BottleClass::SparklingNew, rating(text).unwrap());
        assert!(wine("6 volumes") && !wine("8 volumes"));
        assert!(!believed(BottleClass::NoPressure, rating("1 bar").unwrap()));
        // Not believed, it changes nothing.
        let false_label = Some(rating("300 psi").unwrap());
        assert_eq!(
            limit(BottleClass::Crown, false_label),
            ceiling(BottleClass::Crown)
        );
    }

    #[test]
    fn a_rating_in_volumes_moves_the_pressure_with_it() {
        let lower = limit(BottleClass::Crown, Some(rating("2 volumes").unwrap())).unwrap();
        let higher = limit(BottleClass::Crown, Some(rating("3.6 volumes").unwrap())).unwrap();
        // (4.0 + 1.01325) x 2 / 3 - 1.01325.
        assert!((lower.pressure.get() - 2.3289).abs() < 1e-4, "{lower:?}");
        assert!((higher.pressure.get() - 5.0027).abs() < 1e-4, "{higher:?}");
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
            "'strong' is no rating: 4 volumes, 4 bar or 60 psi."
        );
    }
}
