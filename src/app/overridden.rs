//! What is said of bottles and kegs that were filled against a hold, for as
//! long as any of it is left.

use super::say;
use crate::domain::plan::Supplies;
use crate::domain::records::{CellarLot, HoldKind, Household, Override};
use crate::engine::cellar::{self, Tapped};

/// `Filled against a hold (pressure, bottle): warm closet, drunk by May`; none
/// where no hold was overridden.
pub fn against(overrides: &[Override]) -> Option<String> {
    let reason = overrides.first()?.reason.as_str();
    let kinds: Vec<&str> = overrides
        .iter()
        .filter_map(|o| o.kind)
        .map(HoldKind::word)
        .collect();
    let kinds = if kinds.is_empty() {
        String::new()
    } else {
        format!(" ({})", kinds.join(", "))
    };
    Some(format!("Filled against a hold{kinds}: {reason}"))
}

/// A lot by its number and name, and what was overridden.
pub fn of_lot(lot: &CellarLot) -> Option<String> {
    let left = say::count(i64::from(lot.left()), "bottle", "bottles");
    let name = &lot.batch.name;
    against(&lot.overrides).map(|why| format!("{left} of {name}. {why}"))
}

/// A keg, and what was overridden.
pub fn of_keg(keg: &Tapped) -> Option<String> {
    against(&keg.overrides).map(|why| format!("{} in keg {}. {why}", keg.name, keg.tag))
}

/// All that is left of what was filled against a hold, one sentence each.
pub fn all<'a>(lots: impl Iterator<Item = &'a CellarLot>, household: &Household) -> Vec<String> {
    let kegs = cellar::kegs(household);
    let kegs = kegs.iter().filter(|k| k.glasses() > 0).filter_map(of_keg);
    lots.filter_map(of_lot).chain(kegs).collect()
}

/// The morning's short word of them: `Filled against a hold: Heather, K1.`
pub fn brief(supplies: &Supplies, household: &Household) -> Option<String> {
    let kegs = cellar::kegs(household);
    let mut names: Vec<&str> = Vec::new();
    let lots = supplies.cellar.overridden().map(|l| l.batch.name.as_str());
    let tapped = kegs
        .iter()
        .filter(|k| k.glasses() > 0 && !k.overrides.is_empty())
        .map(|k| k.tag.as_str());
    for name in lots.chain(tapped) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    (!names.is_empty()).then(|| format!("Filled against a hold: {}.", say::list(&names)))
}
