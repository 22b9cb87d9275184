//! `skep pantry`.

use super::args::{Pantry as Args, PantryVerb};
use super::exits::Exit;
use super::register;
use super::shell::Shell;
use super::trouble::Trouble;
use crate::domain::checklist::{Want, Wanted, shopping};
use crate::domain::deeds::Deed;
use crate::domain::plan::same_thing;
use crate::domain::records::{Batch, PantryId, PantryItem, PantryKind};
use crate::domain::slip::parse_day;
use crate::domain::text::safe;
use chrono::NaiveDate;
use serde::Serialize;

pub(super) fn pantry(sh: &mut Shell<'_>, args: &Args) -> Result<Exit, Trouble> {
    match &args.verb {
        None => list(sh),
        Some(PantryVerb::Buy) => buy(sh),
        Some(PantryVerb::Bottles) => register::list(sh),
        Some(PantryVerb::Bottle(change)) => register::change(sh, change),
        Some(PantryVerb::Add(add)) => {
            let kind = PantryKind::from_word(&add.kind.to_lowercase()).ok_or_else(|| {
                let all: Vec<&str> = PantryKind::ALL.iter().map(|k| k.word()).collect();
                Trouble::usage(format!(
                    "'{}' is no shelf; accepted: {}",
                    add.kind,
                    all.join(", ")
                ))
            })?;
            let today = sh.zone.localise(sh.now).day();
            let best_before = match &add.best_before {
                Some(text) => Some(parse_day(text, today)?),
                None => None,
            };
            let mut item = PantryItem {
                id: PantryId(0),
                kind,
                name: add.name.clone(),
                amount: add.amount,
                unit: add.unit.clone(),
                lot: add.lot.clone(),
                best_before,
                price: add.price,
                keep_at_least: add.keep,
                bottle: None,
                note: String::new(),
            };
            item.bottle = register::told(&item, &add.glass)?;
            let mut store = sh.open()?;
            sh.carry_out(&mut store, &Deed::StockPantry(item))?;
            Ok(Exit::Fine)
        }
        Some(PantryVerb::Take(take)) => {
            let mut store = sh.open()?;
            let all = store.pantry().map_err(Trouble::store)?;
            let found = all
                .iter()
                .find(|i| same_thing(&i.name, &take.name) && i.amount > 0.0)
                .or_else(|| all.iter().find(|i| same_thing(&i.name, &take.name)));
            let item = found.ok_or_else(|| {
                Trouble::not_found(format!("there is no '{}' in the pantry", take.name))
            })?;
            let deed = Deed::DrawPantry {
                item: item.id,
                amount: take.amount,
                at: sh.now,
                why: take.why.clone(),
            };
            sh.carry_out(&mut store, &deed)?;
            Ok(Exit::Fine)
        }
    }
}

fn list(sh: &mut Shell<'_>) -> Result<Exit, Trouble> {
    let store = sh.open()?;
    let items = store.pantry().map_err(Trouble::store)?;
    if sh.json {
        let items = items.iter().map(ItemJson::new).collect();
        sh.print("pantry", PantryJson { items })?;
        return Ok(Exit::Fine);
    }
    for item in &items {
        let date = item
            .best_before
            .map_or_else(String::new, |d| format!("best before {d}"));
        let amount = format!("{} {}", item.amount, item.unit);
        writeln!(
            sh.out,
            "{:<32} {:>12}  {:<10} {date}",
            safe(&item.name),
            safe(&amount),
            item.kind.word()
        )?;
    }
    Ok(Exit::Fine)
}

fn buy(sh: &mut Shell<'_>) -> Result<Exit, Trouble> {
    let (store, household) = sh.load()?;
    let supplies = store.supplies().map_err(Trouble::store)?;
    let batches: Vec<&Batch> = household.dossiers.iter().map(|d| &d.batch).collect();
    let wanted = shopping(&supplies, &batches, sh.now.day());
    if sh.json {
        let buy = wanted.iter().map(BuyJson::new).collect();
        sh.print("shopping", ShoppingJson { buy })?;
        return Ok(Exit::Fine);
    }
    if wanted.is_empty() {
        writeln!(sh.out, "Nothing to buy: the coming plans are covered.")?;
    }
    for want in &wanted {
        writeln!(sh.out, "{}", safe(&want.sentence()))?;
    }
    Ok(Exit::Fine)
}

#[derive(Debug, Serialize)]
struct PantryJson {
    items: Vec<ItemJson>,
}

#[derive(Debug, Serialize)]
struct ItemJson {
    name: String,
    kind: &'static str,
    amount: f64,
    unit: String,
    lot: String,
    best_before: Option<NaiveDate>,
    price: Option<f64>,
    keep_at_least: Option<f64>,
}

impl ItemJson {
    fn new(item: &PantryItem) -> Self {
        Self {
            name: item.name.clone(),
            kind: item.kind.word(),
            amount: item.amount,
            unit: item.unit.clone(),
            lot: item.lot.clone(),
            best_before: item.best_before,
            price: item.price,
            keep_at_least: item.keep_at_least,
        }
    }
}

#[derive(Debug, Serialize)]
struct ShoppingJson {
    buy: Vec<BuyJson>,
}

#[derive(Debug, Serialize)]
struct BuyJson {
    name: String,
    unit: String,
    there: f64,
    buy: f64,
    by: Option<NaiveDate>,
    why: String,
}

impl BuyJson {
    fn new(want: &Wanted) -> Self {
        Self {
            name: want.name.clone(),
            unit: want.unit.clone(),
            there: want.there,
            buy: want.buy,
            by: match &want.why {
                Want::Plans { by, .. } => *by,
                Want::RunsLow { .. } | Want::Stale { .. } => None,
            },
            why: want.sentence(),
        }
    }
}
