//! What a substance holds, by what a maker calls it.

use super::ingredients::{self, Ingredient, Kind};

/// What something that goes into a drink brings along.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Contents {
    /// Nothing that ferments or thins: nutrient, acid, spice, finings.
    Nothing,
    /// Sweetness that yeast does not ferment.
    Unfermentable,
    /// Water.
    Water,
    /// Something in the table of ingredients, named well enough to be told.
    Known(&'static Ingredient),
    /// Sugar for certain, of a sort that the name does not tell: taken as the
    /// richest that it can be.
    Likely(&'static Ingredient),
    /// A fermented drink.
    Drink,
    /// The name says nothing.
    Unclear,
}

/// Sweeteners that yeast does not ferment (common practice, no source).
const UNFERMENTABLE: &[&str] = &[
    "xylitol",
    "erythritol",
    "stevia",
    "sucralose",
    "saccharin",
    "aspartame",
    "lactose",
];

/// Words for juices; such a name is a juice whatever fruit stands beside it.
const JUICES: &[&str] = &["juice", "must", "cider", "perry", "wort", "nectar", "puree"];

/// Words for what has been dried or boiled down: taken to be as rich as honey.
/// Raisins hold 79 % carbohydrate (USDA, from memory), apple concentrate 70 °Bx
/// (common practice, no source).
const RICH: &[&str] = &[
    "concentrate",
    "raisin",
    "sultana",
    "currant",
    "date",
    "fig",
    "prune",
    "dried",
    "jam",
    "agave",
];

/// Words for sugars and syrups, and their row in the table.
const SUGARS: &[(&str, &str)] = &[
    ("honey", "honey"),
    ("dextrose", "dextrose"),
    ("glucose", "dextrose"),
    ("maple", "maple-syrup"),
    ("molasses", "molasses"),
    ("treacle", "molasses"),
    ("dme", "malt-dry"),
    ("malt", "malt-dry"),
    ("sucrose", "table-sugar"),
    ("fructose", "table-sugar"),
    ("sugar", "table-sugar"),
    ("syrup", "table-sugar"),
    ("candi", "table-sugar"),
    ("panela", "table-sugar"),
];

/// Words for what brings neither sugar nor volume worth counting.
const NOTHING: &[&str] = &[
    "nutrient",
    "dap",
    "phosphate",
    "hull",
    "acid",
    "tannin",
    "oak",
    "hop",
    "spice",
    "herb",
    "cinnamon",
    "vanilla",
    "clove",
    "nutmeg",
    "pepper",
    "zest",
    "peel",
    "tea",
    "coffee",
    "enzyme",
    "bentonite",
    "gelatin",
    "gelatine",
    "isinglass",
    "chitosan",
    "fining",
    "silica",
    "sulfite",
    "sulphite",
    "metabisulfite",
    "metabisulphite",
    "sorbate",
    "bicarbonate",
    "carbonate",
    "chalk",
    "gypsum",
    "salt",
    "yeast",
];

/// Words for fermented drinks.
const DRINKS: &[&str] = &[
    "mead",
    "wine",
    "beer",
    "ale",
    "lager",
    "stout",
    "porter",
    "braggot",
    "melomel",
    "cyser",
    "pyment",
    "metheglin",
    "brandy",
    "vodka",
    "rum",
    "spirit",
];

/// Returns what a substance of this name holds.
///
/// The table is `assets/ingredients.toml`. What could hold sugar and is not in
/// it counts as the richest of its sort; a name that fits both a sugar and
/// something else (`vanilla sugar`) is a sugar.
pub fn contents(substance: &str) -> Contents {
    let words: Vec<String> = substance
        .to_lowercase()
        .split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .map(singular)
        .collect();
    let has = |word: &str| words.iter().any(|w| w == word);
    let any = |list: &[&str]| list.iter().any(|w| has(w));
    let row = |key: &str| ingredients::find(key);
    if any(UNFERMENTABLE) {
        return Contents::Unfermentable;
    }
    let dry = |i: &'static Ingredient| match i.key.as_str() {
        "dextrose" if has("dry") || has("anhydrous") => row("table-sugar").unwrap_or(i),
        "malt-dry" if has("liquid") || has("syrup") => row("malt-liquid").unwrap_or(i),
        _ => i,
    };
    if has("corn")
        && has("sugar")
        && let Some(i) = row("dextrose")
    {
        return Contents::Known(i);
    }
    let sugar = SUGARS.iter().find(|(word, _)| has(word));
    if let Some(i) = sugar.and_then(|(_, key)| row(key)) {
        return Contents::Known(dry(i));
    }
    if any(RICH)
        && let Some(i) = row("honey")
    {
        return Contents::Likely(i);
    }
    if any(JUICES) {
        let named =
            |i: &&Ingredient| i.kind == Kind::Juice && i.key.split('-').next().is_some_and(has);
        let known = ingredients::built_in().iter().find(named);
        let cider = || {
            (has("cider") || has("perry"))
                .then(|| row("apple-juice"))
                .flatten()
        };
        return match known.or_else(cider) {
            Some(i) => Contents::Known(i),
            None => richest(Kind::Juice),
        };
    }
    let fruit = |i: &&Ingredient| {
        i.kind == Kind::Fruit
            && i.key.split('-').next().is_some_and(has)
            && (!i.key.ends_with("-sour") || has("sour"))
            && (!i.key.ends_with("-sweet") || !has("sour"))
    };
    if let Some(i) = ingredients::built_in().iter().find(fruit) {
        return Contents::Known(i);
    }
    if any(&["fruit", "berry", "grape", "banana", "mango", "pineapple"]) {
        return richest(Kind::Juice);
    }
    if any(NOTHING) {
        Contents::Nothing
    } else if any(&["water", "ice"]) {
        Contents::Water
    } else if any(DRINKS) {
        Contents::Drink
    } else {
        Contents::Unclear
    }
}

/// The sweetest of a kind in the table.
pub fn richest(kind: Kind) -> Contents {
    ingredients::built_in()
        .iter()
        .filter(|i| i.kind == kind)
        .max_by(|a, b| a.sugar.get().total_cmp(&b.sugar.get()))
        .map_or(Contents::Unclear, Contents::Likely)
}

fn singular(word: &str) -> String {
    match word.strip_suffix("ies") {
        Some(stem) if stem.len() > 1 => format!("{stem}y"),
        _ if word.ends_with("ches") => word.trim_end_matches("es").to_owned(),
        _ if word.len() > 3
            && word.ends_with('s')
            && !word.ends_with("ss")
            && word != "molasses" =>
        {
            word.trim_end_matches('s').to_owned()
        }
        _ => word.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(substance: &str) -> &'static str {
        match contents(substance) {
            Contents::Known(i) | Contents::Likely(i) => &i.key,
            Contents::Nothing => "nothing",
            Contents::Unfermentable => "unfermentable",
            Contents::Water => "water",
            Contents::Drink => "drink",
            Contents::Unclear => "unclear",
        }
    }

    #[test]
    fn names_as_makers_write_them() {
        for (name, wanted) in [
            ("Wildflower honey", "honey"),
            ("apple juice", "apple-juice"),
            ("apples", "apple"),
            ("sweet cider", "apple-juice"),
            ("sour cherries", "cherry-sour"),
            ("black cherries", "cherry-sweet"),
            ("strawberries, frozen", "strawberry"),
            ("peaches", "peach"),
            ("brown sugar", "table-sugar"),
            ("corn sugar", "dextrose"),
            ("dextrose, dry", "table-sugar"),
            ("molasses", "molasses"),
            ("spring water", "water"),
            ("honey water", "honey"),
            ("vanilla sugar", "table-sugar"),
            ("vanilla beans", "nothing"),
            ("yeast-derived nutrient", "nothing"),
            ("malic acid", "nothing"),
            ("a similar mead", "drink"),
            ("xylitol", "unfermentable"),
            ("pear juice", "grape-juice"),
            ("raisins", "honey"),
            ("apple juice concentrate", "honey"),
            ("half a packet", "unclear"),
        ] {
            assert_eq!(key(name), wanted, "{name}");
        }
        assert!(matches!(contents("elderberry juice"), Contents::Likely(_)));
    }
}
