//! What someone may have to avoid, by what went into a batch.
//!
//! The eight of US law with the fining agents they come from (TTB, Allergen
//! labeling FAQ), sesame (90 FR 5763, proposed 2025); sulfites, which have to be
//! declared from 10 mg/L on (TTB, Sulfite waivers), from the first dose on, as
//! nobody knows what the drink held before; honey for infants under a year (California
//! Department of Public Health). A list of words can't know all: ask the maker.

use super::records::Style;

const WORDS: [(&str, &[&str]); 9] = [
    ("wheat", &["wheat"]),
    ("barley (gluten)", &["barley", "malt"]),
    ("milk", &["lactose", "casein", "milk"]),
    ("egg", &["egg", "albumin"]),
    ("fish (isinglass)", &["isinglass", "fish"]),
    ("shellfish (chitosan)", &["chitosan", "shellfish"]),
    ("nuts", &["nut", "almond", "hazel", "pecan"]),
    ("soy", &["soy"]),
    ("sesame", &["sesame"]),
];

/// What to tell of a batch: `substances` are the names of all that went in,
/// `sulfite` says whether any sulfite may be in it.
pub fn contains<'a>(
    style: Style,
    substances: impl Iterator<Item = &'a str>,
    sulfite: bool,
) -> Vec<String> {
    let all: Vec<String> = substances.map(str::to_lowercase).collect();
    let named = |words: &[&str]| {
        all.iter().any(|s| {
            // Nutmeg and coconut are no nuts in this sense; nutrient is none at all.
            let s = s
                .replace("nutmeg", "")
                .replace("nutrient", "")
                .replace("coconut", "");
            words.iter().any(|w| s.contains(w))
        })
    };
    let mut found = Vec::new();
    if sulfite {
        found.push("sulfites".to_owned());
    }
    if style == Style::Mead || named(&["honey"]) {
        found.push("honey (not for infants under 12 months)".to_owned());
    }
    if style == Style::Beer && !named(&["malt", "barley"]) {
        found.push("barley (gluten)".to_owned());
    }
    for (name, words) in WORDS {
        if named(words) {
            found.push(name.to_owned());
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_went_in_is_told() {
        let of = |style, substances: &[&str], sulfite| {
            contains(style, substances.iter().copied(), sulfite).join("; ")
        };
        assert_eq!(
            of(Style::Mead, &["yeast-derived nutrient", "nutmeg"], false),
            "honey (not for infants under 12 months)"
        );
        assert_eq!(of(Style::Cider, &["Isinglass"], false), "fish (isinglass)");
        assert_eq!(of(Style::Cider, &[], true), "sulfites");
        assert_eq!(
            of(Style::Beer, &["lactose", "wheat malt"], false),
            "wheat; barley (gluten); milk"
        );
        assert_eq!(of(Style::Beer, &[], false), "barley (gluten)");
    }
}
