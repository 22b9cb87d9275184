use super::input::{Kind, Value};
use super::read::read;
use super::shown::{Line, Shown, System};
use crate::domain::sums::SumError;
use crate::domain::sums::blend::Lot;
use crate::domain::sums::ingredients::{self, Ingredient};
use crate::domain::sums::must::Amount;
use crate::domain::units::{Abv, Dimension, Grams, GramsPerLitre, Gravity, Litres};
use std::fmt;

/// A lot as typed: `4L 1.010 12% 6g/L`; the acidity may be left out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LotText {
    /// Volume.
    pub volume: Litres,
    /// Specific gravity.
    pub gravity: Gravity,
    /// Alcohol.
    pub alcohol: Abv,
    /// Acidity as tartaric; nought when not given.
    pub acidity: GramsPerLitre,
}

impl LotText {
    /// As masses, for mixing.
    pub fn lot(self) -> Result<Lot, SumError> {
        Lot::new(self.volume, self.gravity, self.alcohol, self.acidity)
    }
}

impl fmt::Display for LotText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let volume = Line::new("", Shown::Volume(self.volume.get())).text(System::Metric);
        write!(
            f,
            "{volume} at {:.3}, {:.1} % vol, {:.1} g/L acid",
            self.gravity.get(),
            self.alcohol.get(),
            self.acidity.get()
        )
    }
}

/// One part of a must as typed: `3lb honey`.
#[derive(Debug, Clone, PartialEq)]
pub struct PartText {
    /// What.
    pub ingredient: &'static Ingredient,
    /// How much, or open.
    pub amount: Amount,
}

impl fmt::Display for PartText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let amount = match self.amount {
            Amount::Mass(g) => Line::new("", Shown::Mass(g.get())).text(System::Metric),
            Amount::Volume(v) => Line::new("", Shown::Volume(v.get())).text(System::Metric),
            Amount::Unknown => "?".to_owned(),
        };
        write!(f, "{amount} {}", self.ingredient.name)
    }
}

fn bare(kind: Kind, text: Option<&str>, what: &str) -> Result<f64, String> {
    let text = text.ok_or_else(|| format!("lacks its {what}"))?;
    match read(kind, text) {
        Ok(Value::Number(u)) => Ok(u.value),
        Ok(_) => Err(format!("lacks its {what}")),
        Err(wrong) => Err(format!("has '{text}' as {what}, which {wrong}")),
    }
}

pub(super) fn lot(text: &str) -> Result<LotText, String> {
    let mut words = text.split_whitespace();
    let lot = LotText {
        volume: Litres::clamped(bare(Kind::Volume, words.next(), "volume")?),
        gravity: Gravity::clamped(bare(Kind::Gravity, words.next(), "gravity")?),
        alcohol: Abv::clamped(bare(Kind::Alcohol, words.next(), "alcohol")?),
        acidity: match words.next() {
            None => GramsPerLitre::known(0.0),
            word => GramsPerLitre::clamped(bare(Kind::GramsPerLitre, word, "acidity")?),
        },
    };
    match words.next() {
        None => Ok(lot),
        Some(more) => Err(format!("has '{more}' too much")),
    }
}

pub(super) fn parts(text: &str) -> Result<Vec<PartText>, String> {
    let parts = text
        .split(',')
        .map(str::trim)
        .filter(|p| !p.is_empty())
        .map(part)
        .collect::<Result<Vec<_>, _>>()?;
    if parts.is_empty() {
        return Err("names no ingredient".to_owned());
    }
    Ok(parts)
}

fn part(text: &str) -> Result<PartText, String> {
    let (amount, name) = text
        .rsplit_once(char::is_whitespace)
        .ok_or_else(|| format!("has '{text}' without an amount and an ingredient"))?;
    let ingredient = ingredients::find(&name.to_lowercase()).ok_or_else(|| {
        let keys: Vec<_> = ingredients::table()
            .iter()
            .map(|i| i.key.as_str())
            .collect();
        format!(
            "has an unknown ingredient '{name}'; there are {}",
            keys.join(", ")
        )
    })?;
    let amount = match amount.trim() {
        "?" => Amount::Unknown,
        amount => match read(Kind::Amount, amount) {
            Ok(Value::Amount(n, m)) if m.dimension == Dimension::Mass => {
                Amount::Mass(Grams::new(m.inward(n)).map_err(|e| e.to_string())?)
            }
            Ok(Value::Amount(n, m)) if m.dimension == Dimension::Volume => {
                Amount::Volume(Litres::new(m.inward(n)).map_err(|e| e.to_string())?)
            }
            _ => return Err(format!("has '{amount}' as an amount of {name}")),
        },
    };
    Ok(PartText { ingredient, amount })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lot_is_read() {
        let l = lot("1gal 1.010 12% 6g/L").unwrap();
        assert!((l.volume.get() - 3.785411784).abs() < 1e-9);
        assert_eq!(lot("4L 1.010").unwrap_err(), "lacks its alcohol");
        assert_eq!(
            lot("4L 1.010 x").unwrap_err(),
            "has 'x' as alcohol, which does not begin with a number"
        );
    }

    #[test]
    fn parts_are_read() {
        let p = parts("3lb honey, 500 g raspberry, ? water").unwrap();
        assert_eq!(p.len(), 3);
        assert_eq!(p[2].amount, Amount::Unknown);
        assert!(
            parts("3lb gold")
                .unwrap_err()
                .contains("unknown ingredient 'gold'")
        );
    }
}
