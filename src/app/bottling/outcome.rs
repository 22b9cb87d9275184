//! What comes of what stands in the form of bottling day.

use super::form::kegs;
use super::keg::{Keg, KegWish};
use super::{BOTTLE_KEYS, GASES, account, too_much};
use crate::app::form::Form;
use crate::app::measure;
use crate::app::panel::{Wrong, wrong};
use crate::app::state::State;
use crate::domain::bottles::{self, BottleKind, MOST_GAS};
use crate::domain::records::{Fizz, PlaceId, UnitSystem};
use crate::domain::sums::carbonation::{Primer, Rating};
use crate::domain::units::{Abv, Celsius, GaugeBar, Litres, Volumes};
use crate::engine::Account;
use crate::engine::bottling::{
    self, BottleStock, BottlingDay, BottlingWish, Dextrins, Hold, PRIMERS, Shares,
};
use crate::engine::facts::Told;

/// What comes of what was typed.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// Sugar, pressures, counts.
    pub day: BottlingDay,
    /// Why not yet: holds of the batch, of the bottles, of the keg.
    pub holds: Vec<Hold>,
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
    /// The override reason; empty when nothing was typed.
    pub reason: String,
    /// Warmest day of the bottles' place, where it is to be saved with it.
    pub summer: Option<Celsius>,
    /// Alcohol.
    pub alcohol: Option<Abv>,
}

/// Temperature for the sums of a still drink, which no figure on the screen
/// depends on.
const STILL_AT: Celsius = Celsius::known(20.0);

/// Volumes and temperatures as typed.
struct Typed {
    bottles: bool,
    fizz: Fizz,
    target: Volumes,
    volume: Litres,
    lost: Litres,
    warmest: Celsius,
    cellar: Celsius,
    summer: Option<Celsius>,
    rating: Option<GaugeBar>,
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
        return Err(wrong("lost", "More can't be left behind than is in it."));
    }
    // A still drink shows no fields of gas: its target counts for nothing.
    let gassy = form.field("target").is_some();
    let target = if gassy {
        measure::amount(form.value("target"), "volumes of gas, such as 2.5")
            .and_then(|v| match v {
                v if v <= MOST_GAS.get() => Ok(Volumes::clamped(v)),
                _ => Err("No bottle or keg is filled with more than 6 volumes.".into()),
            })
            .map_err(|e| wrong("target", e))?
    } else {
        Volumes::known(0.9)
    };
    let summer = match form.value("summer") {
        "" => None,
        _ => Some(temperature("summer")?),
    };
    let (cellar, warmest) = match (bottles, gassy) {
        (true, true) => (temperature("cellar")?, temperature("warmest")?),
        (true, false) => (STILL_AT, STILL_AT),
        (false, _) => {
            let at = temperature("keg-at")?;
            (at, at)
        }
    };
    let rating = match form.value("keg-rated") {
        "" => None,
        text => match bottles::rating(text) {
            Ok(Rating::Gauge(p)) => Some(p),
            _ => {
                return Err(wrong(
                    "keg-rated",
                    "A working pressure, such as 60 psi or 4 bar.",
                ));
            }
        },
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
        rating,
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
    let units = state.settings().units;
    let overfull = state
        .chosen_vessel()
        .and_then(|v| too_much(v, typed.volume, units));
    if let Some(why) = overfull {
        return Err(wrong("volume", why));
    }
    let lies_in = place(state, form)?;
    let home = state.household.as_ref().and_then(|h| h.place(lies_in));
    let dextrins = if typed.bottles && form.chosen("dextrins") == 0 {
        Dextrins::Possible
    } else {
        Dextrins::RuledOut
    };
    let wish = BottlingWish {
        fizz: typed.fizz,
        target: typed.target,
        primer: sugar,
        volume: rest,
        warmest: typed.warmest,
        cellar: typed.cellar,
        summer: typed.summer.unwrap_or_else(|| bottling::summer(home)),
        bottles: stock.clone(),
        dextrins,
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
    let mut holds = day.holds.clone();
    holds.extend(keg.iter().flat_map(|k: &Keg| k.holds.iter().cloned()));
    let asked = typed.summer.filter(|_| typed.bottles);
    Ok(Outcome {
        holds,
        summer: asked.filter(|t| home.is_none_or(|p| p.summer != Some(*t))),
        day,
        kinds,
        stock,
        shares,
        fizz: typed.fizz,
        primer,
        keg,
        place: lies_in,
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
    let household = state.household.as_ref();
    let stands = household.and_then(|h| h.place(vessel.place));
    let wish = KegWish {
        target: typed.target,
        at: typed.cellar,
        volume,
        rating: typed.rating,
        summer: typed.summer,
    };
    Keg::of(vessel, stands, drink, &wish).map_err(|e| wrong("volume", e))
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
