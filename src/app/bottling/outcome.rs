//! What comes of what stands in the form of bottling day.

use super::form::kegs;
use super::keg::Keg;
use super::{BOTTLE_KEYS, GASES, account};
use crate::app::form::Form;
use crate::app::measure;
use crate::app::panel::{Wrong, wrong};
use crate::app::state::State;
use crate::domain::bottles::BottleKind;
use crate::domain::records::{Fizz, PlaceId, UnitSystem};
use crate::domain::sums::carbonation::Primer;
use crate::domain::units::{Abv, Celsius, Litres, Volumes};
use crate::engine::Account;
use crate::engine::bottling::{self, BottleStock, BottlingDay, BottlingWish, PRIMERS, Shares};
use crate::engine::facts::Told;

/// What comes of what was typed.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// Gate, sugar, pressures.
    pub day: BottlingDay,
    /// Kinds of bottles, as in the form.
    pub kinds: Vec<BottleKind>,
    /// The same as stock.
    pub stock: Vec<BottleStock>,
    /// Where the volume goes.
    pub shares: Shares,
    /// Still or with gas.
    pub fizz: Fizz,
    /// Its primer's name.
    pub primer: &'static str,
    /// Pressure for the regulator; none for bottles.
    pub keg: Option<Keg>,
    /// Where the bottles lie.
    pub place: PlaceId,
    /// Days until they are ready.
    pub ready: i64,
    /// Days until they are past their best.
    pub keep: i64,
    /// Why it is done all the same; empty when nothing was typed.
    pub reason: String,
    /// Alcohol.
    pub alcohol: Option<Abv>,
}

/// Volumes and temperatures as typed.
struct Typed {
    bottles: bool,
    fizz: Fizz,
    target: Volumes,
    volume: Litres,
    lost: Litres,
    warmest: Celsius,
    cellar: Celsius,
    summer: Celsius,
}

fn typed(form: &Form, units: UnitSystem) -> Result<Typed, Wrong> {
    let bottles = form.chosen("package") == 0;
    let fizz = GASES.get(form.chosen("gas")).copied().filter(|_| bottles);
    let volume =
        |key: &'static str| measure::volume(form.value(key), units).map_err(|e| wrong(key, e));
    let temperature =
        |key: &'static str| measure::temperature(form.value(key), units).map_err(|e| wrong(key, e));
    let (had, lost) = (volume("volume")?, volume("lost")?);
    if lost > had {
        return Err(wrong("lost", "More can't stay behind than lies in it."));
    }
    let target = measure::amount(form.value("target"), "volumes of gas, such as 2.5")
        .and_then(|v| match v {
            v if v <= 6.0 => Ok(Volumes::clamped(v)),
            _ => Err("No bottle bears more than 6 volumes.".into()),
        })
        .map_err(|e| wrong("target", e))?;
    let cellar = temperature(if bottles { "cellar" } else { "keg-at" })?;
    let (warmest, summer) = if bottles {
        (temperature("warmest")?, temperature("summer")?)
    } else {
        (cellar, cellar)
    };
    Ok(Typed {
        bottles,
        fizz: fizz.unwrap_or(Fizz::Still),
        target,
        volume: had,
        lost,
        warmest,
        cellar,
        summer,
    })
}

/// What comes of what stands in the form.
pub fn outcome(state: &State) -> Result<Outcome, Wrong> {
    let form = &state.bottling.form;
    let missing = || wrong("package", "This batch is no longer on the shelf.");
    let (row, dossier) = account(state).ok_or_else(missing)?;
    let told = row.told.as_ref();
    let typed = typed(form, state.settings().units)?;
    let kinds = if typed.bottles {
        bottling::kinds(&state.supplies.pantry)
    } else {
        Vec::new()
    };
    let stock = stock(form, &kinds, typed.fizz != Fizz::Still)?;
    let (primer, sugar) = PRIMERS
        .get(form.chosen("primer"))
        .copied()
        .unwrap_or(("table sugar", Primer::Sucrose));
    let rest = Litres::clamped(typed.volume.get() - typed.lost.get());
    let wish = BottlingWish {
        fizz: typed.fizz,
        target: typed.target,
        primer: sugar,
        volume: rest,
        warmest: typed.warmest,
        cellar: typed.cellar,
        summer: typed.summer,
        bottles: stock.clone(),
    };
    let (style, now) = (dossier.batch.style, state.now);
    let day = bottling::plan(style, told, &row.assessment, &row.treatment, &wish, now)
        .map_err(|e| wrong("target", sentence(&e.to_string())))?;
    let (keg, shares) = if typed.bottles {
        let all = bottling::swollen(typed.volume, &day);
        (None, bottling::shares(all, typed.lost, &stock))
    } else {
        let shares = Shares {
            bottled: rest,
            over: Litres::clamped(0.0),
            lost: typed.lost,
        };
        (Some(keg(state, told, row, &typed, rest)?), shares)
    };
    Ok(Outcome {
        day,
        kinds,
        stock,
        shares,
        fizz: typed.fizz,
        primer,
        keg,
        place: place(state, form)?,
        ready: days(form, "ready", typed.bottles)?,
        keep: days(form, "keep", typed.bottles)?,
        reason: form.value("reason").to_owned(),
        alcohol: row.figures.alcohol,
    })
}

fn days(form: &Form, key: &'static str, bottles: bool) -> Result<i64, Wrong> {
    if !bottles {
        return Ok(0);
    }
    match form.value(key).parse::<i64>() {
        Ok(n) if (0..=36_500).contains(&n) => Ok(n),
        _ => Err(wrong(key, "A number of days, such as 30.")),
    }
}

fn place(state: &State, form: &Form) -> Result<PlaceId, Wrong> {
    state
        .household
        .as_ref()
        .and_then(|h| h.places.get(form.chosen("place")))
        .map(|p| p.id)
        .ok_or_else(|| wrong("place", "There is no place for them yet: add one first."))
}

fn stock(form: &Form, kinds: &[BottleKind], gassy: bool) -> Result<Vec<BottleStock>, Wrong> {
    let mut counts = Vec::new();
    for (kind, key) in kinds.iter().zip(BOTTLE_KEYS) {
        let text = form.value(key);
        let count = match text.parse::<u32>() {
            _ if text.is_empty() => None,
            Ok(n) if n <= kind.have => Some(n),
            Ok(_) => {
                return Err(wrong(
                    key,
                    format!("There are {} only; the pantry keeps count.", kind.have),
                ));
            }
            Err(_) => return Err(wrong(key, "A whole number; empty for as many as fit.")),
        };
        counts.push(count);
    }
    let shown = kinds.get(..counts.len()).unwrap_or(kinds);
    Ok(bottling::stock(shown, &counts, gassy))
}

fn keg(
    state: &State,
    told: &Told,
    row: &Account,
    typed: &Typed,
    volume: Litres,
) -> Result<Keg, Wrong> {
    let vessel = kegs(state)
        .get(state.bottling.form.chosen("keg"))
        .cloned()
        .ok_or_else(|| {
            wrong(
                "keg",
                "No empty keg: add one with skep vessels add K1 keg 5gal.",
            )
        })?;
    let drink = bottling::drink_in(told, &row.assessment);
    Keg::of(vessel, drink, typed.target, typed.cellar, volume).map_err(|e| wrong("volume", e))
}

fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let head = chars.next().map(|c| c.to_uppercase().to_string());
    format!(
        "{}{}.",
        head.unwrap_or_default(),
        chars.as_str().trim_end_matches('.')
    )
}
