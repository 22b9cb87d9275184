//! What goes into a must: composition of honey, sugars, fruit and juice.
//!
//! The table is `assets/ingredients.toml`, compiled in; a maker's own table
//! of the same form is parsed and laid over it.

use super::density::SUCROSE_20;
use super::finish::{DRY_SHARE, WORT_SHARE};
use crate::domain::units::{Density, Share};
use serde::Deserialize;
use std::sync::OnceLock;

/// The compiled-in table, as text.
pub const BUILT_IN: &str = include_str!("../../../assets/ingredients.toml");

/// What sort of thing it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Water.
    Water,
    /// Honey.
    Honey,
    /// A dry sugar.
    Sugar,
    /// A syrup.
    Syrup,
    /// Malt extract.
    Malt,
    /// Whole fruit.
    Fruit,
    /// Juice.
    Juice,
}

/// How far its extract ferments.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ferments {
    /// Like honey and juice: to dryness.
    Dry,
    /// Like a wort of malt.
    Wort,
}

/// How well its figures are known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum How {
    /// Read in an opened copy of the source.
    Read,
    /// From molar masses or by proportion.
    Computed,
    /// Recalled.
    Memory,
    /// Common practice, no source.
    Practice,
}

/// One ingredient; shares are of its mass as bought and cleaned.
#[derive(Debug, Clone, PartialEq)]
pub struct Ingredient {
    /// Its key in the table.
    pub key: String,
    /// As printed.
    pub name: String,
    /// What sort it is.
    pub kind: Kind,
    /// Soluble matter: what a hydrometer sees.
    pub solids: Share,
    /// Sugars.
    pub sugar: Share,
    /// Pulp that does not dissolve.
    pub insoluble: Share,
    /// Nitrogen that yeast can use, mg per kg.
    pub nitrogen: f64,
    /// How far it ferments.
    pub ferments: Ferments,
    /// How well the figures are known.
    pub how: How,
    /// Where they are from.
    pub source: String,
    /// What else to know.
    pub note: String,
}

impl Ingredient {
    /// Water by mass.
    pub fn water(&self) -> Share {
        Share::clamped(1.0 - self.solids.get() - self.insoluble.get())
    }

    /// Share of its solids that can disappear in a ferment.
    pub fn fermentable(&self) -> Share {
        let whole = match self.ferments {
            Ferments::Dry => DRY_SHARE,
            Ferments::Wort => WORT_SHARE,
        };
        let sugar = self.sugar.get() / self.solids.get().max(1e-9);
        Share::clamped(whole * sugar.min(1.0))
    }

    /// Density at 20 °C for amounts given by volume; none for what is not
    /// poured. Honey by its water after White 1975 (from memory, 13 to 21 %):
    /// about 0.7 % lighter than a sucrose syrup; the rest as sucrose.
    pub fn density(&self) -> Option<Density> {
        let w = self.solids.get();
        match self.kind {
            Kind::Honey => Some(Density::clamped(
                SUCROSE_20.water() * honey_sg(100.0 * self.water().get()),
            )),
            Kind::Sugar | Kind::Fruit => None,
            Kind::Malt if w > 0.9 => None,
            _ => Some(Density::clamped(SUCROSE_20.density(w))),
        }
    }

    /// The same with another water content, solids and sugar in proportion:
    /// for a honey whose moisture was measured.
    #[must_use]
    pub fn with_water(&self, water: Share) -> Self {
        let solids = (1.0 - water.get() - self.insoluble.get()).max(0.0);
        let scale = solids / self.solids.get().max(1e-9);
        Self {
            solids: Share::clamped(solids),
            sugar: Share::clamped(self.sugar.get() * scale),
            nitrogen: self.nitrogen * scale,
            ..self.clone()
        }
    }
}

/// SG 20/20 of honey by its water, straight between White's values (1975,
/// from memory) at 13 to 21 %, their end slopes beyond.
fn honey_sg(water: f64) -> f64 {
    const AT: [f64; 9] = [
        1.4457, 1.4404, 1.4350, 1.4295, 1.4237, 1.4171, 1.4101, 1.4027, 1.3950,
    ];
    let x = water - 13.0;
    let i = (x.max(0.0) as usize).min(AT.len() - 2);
    AT[i] + (AT[i + 1] - AT[i]) * (x - i as f64)
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    ingredient: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    name: String,
    kind: Kind,
    solids: f64,
    sugar: f64,
    #[serde(default)]
    insoluble: f64,
    #[serde(default)]
    nitrogen: f64,
    ferments: Ferments,
    how: How,
    source: String,
    #[serde(default)]
    note: String,
}

/// Parses a table; the error says which ingredient is wrong and how.
pub fn parse(text: &str) -> Result<Vec<Ingredient>, String> {
    let file: File = toml::from_str(text).map_err(|e| e.message().to_owned())?;
    file.ingredient.into_iter().map(check).collect()
}

fn check(row: Row) -> Result<Ingredient, String> {
    let share = |what: &str, percent: f64| {
        Share::new(percent / 100.0)
            .map_err(|_| format!("{}: {what} {percent} is not within 0 to 100", row.key))
    };
    let solids = share("solids", row.solids)?;
    let sugar = share("sugar", row.sugar)?;
    let insoluble = share("insoluble", row.insoluble)?;
    if solids.get() + insoluble.get() > 1.0 + 1e-9 {
        return Err(format!(
            "{}: solids and insoluble make more than 100",
            row.key
        ));
    }
    if sugar.get() > solids.get() + 1e-9 {
        return Err(format!("{}: sugar is more than solids", row.key));
    }
    if !(0.0..=50_000.0).contains(&row.nitrogen) {
        return Err(format!(
            "{}: nitrogen {} is not within 0 to 50000 mg/kg",
            row.key, row.nitrogen
        ));
    }
    Ok(Ingredient {
        key: row.key,
        name: row.name,
        kind: row.kind,
        solids,
        sugar,
        insoluble,
        nitrogen: row.nitrogen,
        ferments: row.ferments,
        how: row.how,
        source: row.source,
        note: row.note,
    })
}

/// The compiled-in ingredients.
pub fn built_in() -> &'static [Ingredient] {
    static TABLE: OnceLock<Vec<Ingredient>> = OnceLock::new();
    TABLE.get_or_init(|| parse(BUILT_IN).unwrap_or_default())
}

static OWN: OnceLock<Vec<Ingredient>> = OnceLock::new();

/// Lays the maker's own rows over the compiled-in table, for as long as the program runs.
/// Only the first call counts.
pub fn use_own(own: Vec<Ingredient>) {
    let _ = OWN.set(lay_over(built_in(), own));
}

/// Returns the table in use: the compiled-in one, with the maker's own rows where there are any.
pub fn table() -> &'static [Ingredient] {
    OWN.get().map_or_else(|| built_in(), Vec::as_slice)
}

/// Returns the ingredient of this key in the table in use.
pub fn find(key: &str) -> Option<&'static Ingredient> {
    table().iter().find(|i| i.key == key)
}

/// `own` laid over `base`: the same key replaces, a new one is added.
pub fn lay_over(base: &[Ingredient], own: Vec<Ingredient>) -> Vec<Ingredient> {
    let mut table = base.to_vec();
    for ingredient in own {
        match table.iter_mut().find(|i| i.key == ingredient.key) {
            Some(there) => *there = ingredient,
            None => table.push(ingredient),
        }
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_compiled_in_table_parses_and_keys_are_unique() {
        let table = parse(BUILT_IN).unwrap();
        assert!(table.len() >= 25);
        for (i, a) in table.iter().enumerate() {
            assert!(!a.source.is_empty(), "{}", a.key);
            assert!(table[i + 1..].iter().all(|b| b.key != a.key), "{}", a.key);
        }
    }

    #[test]
    fn a_wrong_row_is_named() {
        let text = BUILT_IN.replace("sugar = 82.12", "sugar = 182.12");
        assert_eq!(
            parse(&text).unwrap_err(),
            "honey: sugar 182.12 is not within 0 to 100"
        );
    }

    #[test]
    fn own_rows_replace_and_add() {
        let own = BUILT_IN
            .replace("key = \"honey\"", "key = \"own\"")
            .replace("solids = 5.68", "solids = 7.0");
        let table = lay_over(built_in(), parse(&own).unwrap());
        assert_eq!(table.len(), built_in().len() + 1);
        let berry = table.iter().find(|i| i.key == "strawberry").unwrap();
        assert!((berry.solids.get() - 0.07).abs() < 1e-12);
    }

    #[test]
    fn a_wetter_honey_has_sugar_and_nitrogen_in_proportion() {
        let honey = find("honey").unwrap();
        let wet = honey.with_water(Share::known(0.25));
        let share = |of: f64, all: &Ingredient| of / all.solids.get();
        assert!((wet.solids.get() + wet.insoluble.get() - 0.75).abs() < 1e-12);
        let sugar = share(wet.sugar.get(), &wet) - share(honey.sugar.get(), honey);
        let nitrogen = share(wet.nitrogen, &wet) - share(honey.nitrogen, honey);
        assert!(sugar.abs() < 1e-12 && nitrogen.abs() < 1e-9);
    }

    #[test]
    fn a_gallon_of_honey_weighs_what_beekeepers_say() {
        // 11.63 to 12.06 lb per US gallon (beekeeping trade journal).
        let rho = find("honey").unwrap().density().unwrap().get();
        let lb = rho * 3.785411784 / 453.59237;
        assert!((11.6..12.1).contains(&lb), "{lb}");
    }
}
