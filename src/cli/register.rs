//! `skep pantry bottles` and `skep pantry bottle`: the register of empty bottles.

use super::args::{ChangeBottle, Glass};
use super::exits::Exit;
use super::shell::Shell;
use super::trouble::Trouble;
use crate::app::{register, say};
use crate::domain::bottles::{self, registered};
use crate::domain::deeds::Deed;
use crate::domain::plan::same_thing;
use crate::domain::records::{Bottle, BottleClass, PantryItem, PantryKind};
use crate::domain::sums::carbonation::Rating;
use crate::domain::text::safe;
use serde::Serialize;

/// What is known of bottles with what the words of the shell add; none for
/// what is no bottle.
pub(super) fn told(item: &PantryItem, glass: &Glass) -> Result<Option<Bottle>, Trouble> {
    if item.kind != PantryKind::Bottle || item.unit != "pieces" {
        return if *glass == Glass::default() {
            Ok(None)
        } else {
            Err(Trouble::usage(
                "size, class, rating, fillings and glass are for bottles: --kind bottle, in pieces",
            ))
        };
    }
    let size = match &glass.size {
        Some(text) => Some(bottles::size(text).ok_or_else(|| {
            Trouble::usage(format!(
                "'{text}' is no size; accepted: '12 fl oz', 500ml, 0.75l"
            ))
        })?),
        None => None,
    };
    let known = registered(item).or_else(|| {
        Some(Bottle {
            size: size?,
            class: bottles::class(&item.name),
            rating: None,
            filled: 0,
            rejected: 0,
            clear_glass: false,
        })
    });
    let Some(known) = known else {
        return Err(Trouble::usage(format!(
            "what one of '{}' holds is not known: give --size '12 fl oz'",
            safe(&item.name)
        )));
    };
    let class = match &glass.class {
        Some(text) => Some(class(text)?),
        None => known.class,
    };
    let rating = match &glass.rated {
        Some(text) => {
            Some(bottles::rating(text).map_err(|e| Trouble::usage(e.trim_end_matches('.')))?)
        }
        None => known.rating,
    };
    Ok(Some(Bottle {
        size: size.unwrap_or(known.size),
        class,
        rating,
        filled: glass.filled.unwrap_or(known.filled),
        rejected: known.rejected,
        clear_glass: glass
            .clear
            .as_deref()
            .map_or(known.clear_glass, |c| c == "yes"),
    }))
}

fn class(text: &str) -> Result<BottleClass, Trouble> {
    BottleClass::from_word(text)
        .or_else(|| bottles::class(text))
        .ok_or_else(|| {
            Trouble::usage(format!(
                "'{text}' is no class; accepted: crown-cap, swing-top, plastic, new sparkling-wine, \
                 sparkling-wine, still-wine"
            ))
        })
}

pub(super) fn change(sh: &mut Shell<'_>, args: &ChangeBottle) -> Result<Exit, Trouble> {
    let mut store = sh.open()?;
    let all = store.pantry().map_err(Trouble::store)?;
    let item = all
        .into_iter()
        .find(|i| i.kind == PantryKind::Bottle && same_thing(&i.name, &args.name))
        .ok_or_else(|| {
            Trouble::not_found(format!(
                "there are no bottles '{}' in the pantry",
                args.name
            ))
        })?;
    let mut bottle = told(&item, &args.glass)?;
    let mut amount = args.there.map_or(item.amount, f64::from);
    if let Some(n) = args.reject {
        if f64::from(n) > amount {
            return Err(Trouble::usage(format!("there are {amount} only")));
        }
        amount -= f64::from(n);
        if let Some(b) = &mut bottle {
            b.rejected = b.rejected.saturating_add(n);
        }
    }
    let item = PantryItem {
        amount,
        bottle,
        ..item
    };
    sh.carry_out(&mut store, &Deed::StockPantry(item))?;
    Ok(Exit::Fine)
}

pub(super) fn list(sh: &mut Shell<'_>) -> Result<Exit, Trouble> {
    let (store, household) = sh.load()?;
    let all = store.pantry().map_err(Trouble::store)?;
    let found: Vec<(&PantryItem, Bottle)> = all
        .iter()
        .filter_map(|i| registered(i).map(|b| (i, b)))
        .collect();
    if sh.json {
        let bottles = found.iter().map(|(i, b)| BottleJson::new(i, *b)).collect();
        sh.print("bottles", RegisterJson { bottles })?;
        return Ok(Exit::Fine);
    }
    if found.is_empty() {
        writeln!(
            sh.out,
            "No bottles in the register: skep pantry add '12 fl oz crown-cap bottles' 24 pieces --kind bottle"
        )?;
    }
    for (item, bottle) in found {
        let units = household.settings.units;
        let class = bottle.class.map_or_else(String::new, |c| format!("{c}: "));
        writeln!(
            sh.out,
            "{:>4} x {:<34} {:>9}  {class}{}{}",
            item.amount,
            safe(&item.name),
            say::volume(bottle.size, units),
            register::rated_for(bottle, units),
            match register::wear(bottle) {
                wear if wear.is_empty() => String::new(),
                wear => format!("; {wear}"),
            }
        )?;
    }
    Ok(Exit::Fine)
}

#[derive(Debug, Serialize)]
struct RegisterJson {
    bottles: Vec<BottleJson>,
}

#[derive(Debug, Serialize)]
struct BottleJson {
    name: String,
    there: f64,
    size_l: f64,
    class: Option<&'static str>,
    rated_volumes: Option<f64>,
    rated_bar: Option<f64>,
    ceiling_volumes: Option<f64>,
    filled: u32,
    rejected: u32,
    clear_glass: bool,
}

impl BottleJson {
    fn new(item: &PantryItem, bottle: Bottle) -> Self {
        let volumes = |r: Rating| match r {
            Rating::Volumes(v) => Some(v.get()),
            Rating::Gauge(_) | Rating::None => None,
        };
        Self {
            name: item.name.clone(),
            there: item.amount,
            size_l: bottle.size.get(),
            class: bottle.class.map(BottleClass::word),
            rated_volumes: bottle.rating.and_then(volumes),
            rated_bar: match bottle.rating {
                Some(Rating::Gauge(p)) => Some(p.get()),
                _ => None,
            },
            ceiling_volumes: bottle
                .class
                .and_then(bottles::ceiling)
                .map(|l| l.volumes.get()),
            filled: bottle.filled,
            rejected: bottle.rejected,
            clear_glass: bottle.clear_glass,
        }
    }
}
