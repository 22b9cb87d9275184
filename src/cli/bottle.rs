//! `skep bottle`: the gate, the sugar, the bottles.

use super::args_cellar::Bottle as Args;
use super::exits::Exit;
use super::shell::Shell;
use super::today::morning_of;
use super::trouble::Trouble;
use super::{find, keg, values};
use crate::app::{cautions, say};
use crate::domain::bottles::BottleKind;
use crate::domain::deeds::Deed;
use crate::domain::plan::{Supplies, same_thing};
use crate::domain::records::{
    Dossier, Fizz, Household, PantryId, PantryItem, PantryKind, PlaceId, Vessel,
};
use crate::domain::text::safe;
use crate::domain::units::{Celsius, Litres, Volumes};
use crate::engine::bottling::{
    self, BottleStock, BottlingDay, BottlingWish, Hold, Order, PRIMERS, Shares, swollen,
};
use crate::engine::{Account, Voice};
use chrono::Days;
use serde::Serialize;

/// All that a bottling is worked out from.
struct Desk<'a> {
    household: &'a Household,
    vessel: &'a Vessel,
    dossier: &'a Dossier,
    supplies: Supplies,
    account: &'a Account,
    kinds: Vec<BottleKind>,
    counts: Vec<Option<u32>>,
    fizz: Fizz,
    sugar: &'static str,
    lost: Litres,
    volume: Litres,
}

/// What it comes to.
struct Answer {
    day: BottlingDay,
    shares: Shares,
    stock: Vec<BottleStock>,
}

pub(super) fn bottle(sh: &mut Shell<'_>, args: &Args) -> Result<Exit, Trouble> {
    let (mut store, household) = sh.load()?;
    let supplies = store.supplies().map_err(Trouble::store)?;
    let morning = morning_of(sh, &store, &household, sh.now)?;
    let (vessel, dossier) = find::dossier(&household, &args.tag)?;
    let row = morning
        .accounts
        .iter()
        .find(|r| r.vessel == Some(vessel.id))
        .ok_or_else(|| Trouble::not_found(format!("{} is not on the shelf", vessel.tag)))?;
    if let Some(tag) = &args.keg {
        let at = (&household, vessel, dossier);
        return keg::fill(sh, args, tag, store, at, row);
    }
    let desk = desk(sh, args, &household, vessel, dossier, supplies, row)?;
    let answer = answer(sh, args, &desk)?;
    let held = !answer.day.holds.is_empty();
    let reason = values::reason(args.overrule.as_deref())?;
    if sh.json && (args.dry_run || held && reason.is_none()) {
        sh.print("bottling", BottlingJson::new(&desk, &answer))?;
    } else if !sh.json {
        tell(sh, &desk, &answer)?;
    }
    if args.dry_run {
        return Ok(if held { Exit::Held } else { Exit::Fine });
    }
    if held && reason.is_none() {
        return Err(Trouble::new(
            Exit::Held,
            "it is held, and nothing was bottled; wait, or give --overrule with the reason",
        ));
    }
    if bottling::run_out(&answer.shares, &answer.stock, &answer.day.fitted.counts) {
        return Err(Trouble::usage(format!(
            "bottles run out: {} would be left over in the emptied vessel, and nothing was bottled; \
             name more with --bottles, or count what is not bottled as --lost",
            say::volume(answer.shares.over, household.settings.units)
        )));
    }
    let deed = deed(sh, args, &desk, &answer, reason.filter(|_| held))?;
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}

/// How much lies in the vessel, and what stays behind: as said, or as known.
pub(super) fn how_much(
    sh: &Shell<'_>,
    args: &Args,
    dossier: &Dossier,
    vessel: &Vessel,
) -> Result<(Litres, Litres), Trouble> {
    let volume = match &args.volume {
        Some(text) => values::volume(text, sh.now)?,
        None => bottling::volume_in(dossier, vessel.id).ok_or_else(|| {
            Trouble::usage(format!(
                "how much lies in {} is not known: give --volume",
                vessel.tag
            ))
        })?,
    };
    let lost = match &args.lost {
        Some(text) => values::volume(text, sh.now)?,
        None => bottling::usual_loss(volume),
    };
    Ok((volume, lost))
}

fn desk<'a>(
    sh: &Shell<'_>,
    args: &Args,
    household: &'a Household,
    vessel: &'a Vessel,
    dossier: &'a Dossier,
    supplies: Supplies,
    account: &'a Account,
) -> Result<Desk<'a>, Trouble> {
    let fizz = match args.gas.as_deref() {
        None => dossier.batch.fizz,
        Some("light") => Fizz::Light,
        Some(word) => Fizz::from_word(word).ok_or_else(|| {
            Trouble::usage(format!(
                "'{word}' is no gas; accepted: still, light, sparkling"
            ))
        })?,
    };
    let sugar = PRIMERS.iter().find(|p| p.0 == args.sugar).ok_or_else(|| {
        let all: Vec<&str> = PRIMERS.iter().map(|p| p.0).collect();
        Trouble::usage(format!("'{}' is none of: {}", args.sugar, all.join(", ")))
    })?;
    let (volume, lost) = how_much(sh, args, dossier, vessel)?;
    let (kinds, counts) = kinds(args, &supplies)?;
    Ok(Desk {
        household,
        vessel,
        dossier,
        supplies,
        account,
        kinds,
        counts,
        fizz,
        sugar: sugar.0,
        lost,
        volume,
    })
}

/// Bottles by `10 x 12 fl oz crown-cap`, or the pantry's.
fn kinds(args: &Args, supplies: &Supplies) -> Result<(Vec<BottleKind>, Vec<Option<u32>>), Trouble> {
    if args.bottles.is_empty() {
        let kinds = bottling::kinds(&supplies.pantry);
        let counts = vec![None; kinds.len()];
        return Ok((kinds, counts));
    }
    let mut kinds = Vec::new();
    let mut counts = Vec::new();
    for text in &args.bottles {
        let not = || {
            Trouble::usage(format!(
                "'{text}' is not understood; accepted: '10 x 12 fl oz crown-cap', '6 x 750ml still-wine'"
            ))
        };
        let (count, name) = text.split_once(['x', '×']).ok_or_else(not)?;
        let count: u32 = count.trim().parse().map_err(|_| not())?;
        let kept = supplies
            .pantry
            .iter()
            .filter(|i| same_thing(&i.name, name))
            .find_map(BottleKind::of);
        if let Some(kind) = kept {
            if kind.have < count {
                return Err(Trouble::usage(format!(
                    "there are {} x {} only; the pantry keeps count",
                    kind.have,
                    safe(&kind.name)
                )));
            }
            kinds.push(kind);
            counts.push(Some(count));
            continue;
        }
        let item = PantryItem {
            id: PantryId(0),
            kind: PantryKind::Bottle,
            name: name.trim().to_owned(),
            amount: f64::from(count),
            unit: "pieces".to_owned(),
            lot: String::new(),
            best_before: None,
            price: None,
            keep_at_least: None,
            bottle: None,
            note: String::new(),
        };
        kinds.push(BottleKind::of(&item).ok_or_else(not)?);
        counts.push(Some(count));
    }
    Ok((kinds, counts))
}

fn answer(sh: &Shell<'_>, args: &Args, desk: &Desk<'_>) -> Result<Answer, Trouble> {
    let place = desk
        .household
        .place(desk.vessel.place)
        .and_then(|p| p.usual_temp);
    let given = |text: Option<&str>| text.map(|t| values::temperature(t, sh.now)).transpose();
    let warmest = given(args.warmest.as_deref())?
        .or_else(|| bottling::warmest_since_end(&desk.account.told))
        .or(place)
        .ok_or_else(|| {
            Trouble::usage("no temperature is known since it ended: give --warmest 68f")
        })?;
    let target = match args.target {
        Some(v) => Volumes::new(v).map_err(|e| Trouble::usage(e.to_string()))?,
        None => bottling::usual_target(desk.dossier.batch.style, desk.fizz),
    };
    let stock = bottling::stock(&desk.kinds, &desk.counts, desk.fizz != Fizz::Still);
    let primer = PRIMERS
        .iter()
        .find(|p| p.0 == desk.sugar)
        .map_or(PRIMERS[0].1, |p| p.1);
    let wish = BottlingWish {
        fizz: desk.fizz,
        target,
        primer,
        volume: Litres::clamped(desk.volume.get() - desk.lost.get()),
        warmest,
        cellar: given(args.storage.as_deref())?.or(place).unwrap_or(warmest),
        summer: values::temperature(&args.summer, sh.now)?,
        bottles: stock.clone(),
    };
    let treatment = desk.account.treatment;
    let style = desk.dossier.batch.style;
    let day = bottling::plan(
        style,
        &desk.account.told,
        &desk.account.assessment,
        &treatment,
        &wish,
        sh.now,
    )
    .map_err(|e| Trouble::usage(e.to_string()))?;
    overfull(desk, &stock, &day)?;
    Ok(Answer {
        shares: bottling::shares(swollen(desk.volume, &day), desk.lost, &stock),
        stock,
        day,
    })
}

/// Bottles asked for by number must all be filled.
fn overfull(desk: &Desk<'_>, stock: &[BottleStock], day: &BottlingDay) -> Result<(), Trouble> {
    for ((kind, wanted), (filled, _)) in desk
        .kinds
        .iter()
        .zip(&desk.counts)
        .zip(day.fitted.counts.iter().zip(stock))
    {
        if let Some(wanted) = wanted
            && filled < wanted
        {
            return Err(Trouble::usage(format!(
                "only {filled} of {wanted} x {} can be filled from what there is",
                safe(&kind.name)
            )));
        }
    }
    if day.fitted.counts.iter().all(|n| *n == 0) {
        return Err(Trouble::usage(
            "no bottle takes any of it: give --bottles '10 x 12 fl oz crown-cap', or put bottles into the pantry",
        ));
    }
    Ok(())
}

fn unit(household: &Household) -> Voice {
    Voice::of(&household.settings)
}

/// Why not, what would lift it, and when.
pub(super) fn tell_holds(
    sh: &mut Shell<'_>,
    household: &Household,
    holds: &[Hold],
) -> Result<(), Trouble> {
    for (hold, way) in holds.iter().zip(bottling::ways_out(holds, sh.now)) {
        writeln!(sh.out, "HOLD: {}", hold.sentence(unit(household)))?;
        if let Some((way, day)) = way {
            let when = day
                .map(|d| format!(" Not before {}.", say::date_of(d, sh.now.day())))
                .unwrap_or_default();
            writeln!(sh.out, "      {way}{when}")?;
        }
    }
    Ok(())
}

fn tell(sh: &mut Shell<'_>, desk: &Desk<'_>, answer: &Answer) -> Result<(), Trouble> {
    let units = desk.household.settings.units;
    let day = &answer.day;
    tell_holds(sh, desk.household, &day.holds)?;
    if let Some(priming) = day.priming {
        writeln!(
            sh.out,
            "{} of {} for {:.1} volumes ({:.1} are in it); it makes {} more of it",
            say::weighed(priming.amount, units),
            desk.sugar,
            day.held.get(),
            day.residual.get(),
            say::volume(day.swelling, units)
        )?;
        for stored in &day.stored {
            writeln!(
                sh.out,
                "at {}: {}, on the safe side {}; worst case {}",
                say::temperature(stored.at, units),
                say::pressure(stored.gauge, units),
                say::pressure(stored.safe, units),
                say::pressure(stored.worst, units)
            )?;
        }
    }
    for (kind, count) in desk
        .kinds
        .iter()
        .zip(&day.fitted.counts)
        .filter(|(_, n)| **n > 0)
    {
        writeln!(sh.out, "{count} x {}", safe(&kind.name))?;
    }
    if bottling::run_out(&answer.shares, &answer.stock, &day.fitted.counts) {
        writeln!(sh.out, "Bottles run out: more are wanted than there are.")?;
    }
    writeln!(
        sh.out,
        "{} in bottles, {} over, {} stays behind",
        say::volume(answer.shares.bottled, units),
        say::volume(answer.shares.over, units),
        say::volume(answer.shares.lost, units)
    )?;
    if desk.fizz != Fizz::Still || day.holds.iter().any(Hold::guards_against_bursting) {
        writeln!(sh.out, "Mind: {}", cautions::BOTTLES)?;
    }
    Ok(())
}

fn deed(
    sh: &Shell<'_>,
    args: &Args,
    desk: &Desk<'_>,
    answer: &Answer,
    reason: Option<&str>,
) -> Result<Deed, Trouble> {
    let alcohol = desk.account.figures.alcohol;
    let style = desk.dossier.batch.style;
    let ready = args
        .ready
        .map_or_else(|| bottling::usual_ready(desk.fizz, alcohol), i64::from);
    let best = args
        .best
        .map_or_else(|| bottling::usual_keep(style), i64::from);
    let today = sh.zone.localise(sh.now).day();
    let on = |days: i64| today + Days::new(days.max(0).unsigned_abs());
    let order = Order {
        batch: desk.dossier.batch.id,
        vessel: desk.vessel.id,
        at: sh.now,
        fizz: desk.fizz,
        fills: bottling::fills(&desk.kinds, &answer.day.fitted.counts),
        shares: answer.shares,
        primed: answer
            .day
            .priming
            .map(|p| (desk.sugar.to_owned(), p.amount)),
        place: place(args, desk)?,
        ready_from: on(ready),
        drink_by: on(best.max(ready)),
        reason: reason.map(str::to_owned),
        alcohol,
    };
    Ok(bottling::deed(desk.dossier, &desk.supplies.pantry, &order))
}

fn place(args: &Args, desk: &Desk<'_>) -> Result<PlaceId, Trouble> {
    match &args.place {
        None => Ok(desk.vessel.place),
        Some(name) => find::place(desk.household, name)
            .map(|p| p.id)
            .ok_or_else(|| Trouble::not_found(format!("there is no place '{name}'"))),
    }
}

#[derive(Debug, Serialize)]
struct BottlingJson {
    holds: Vec<HoldJson>,
    sugar_g: Option<f64>,
    residual_volumes: f64,
    held_volumes: f64,
    worst_volumes: f64,
    pressures: Vec<PressureJson>,
    bottles: Vec<FillJson>,
    swelling_l: f64,
    bottled_l: f64,
    over_l: f64,
    lost_l: f64,
}

pub(super) fn holds_json(household: &Household, holds: &[Hold]) -> Vec<HoldJson> {
    holds
        .iter()
        .map(|h| HoldJson {
            why: h.sentence(unit(household)),
            way_out: h.way_out(),
            bursting: h.guards_against_bursting(),
        })
        .collect()
}

#[derive(Debug, Serialize)]
pub(super) struct HoldJson {
    why: String,
    way_out: &'static str,
    bursting: bool,
}

#[derive(Debug, Serialize)]
struct PressureJson {
    at_c: f64,
    bar: f64,
    safe_bar: f64,
    worst_bar: f64,
}

#[derive(Debug, Serialize)]
struct FillJson {
    name: String,
    size_l: f64,
    count: u32,
}

impl BottlingJson {
    fn new(desk: &Desk<'_>, answer: &Answer) -> Self {
        let day = &answer.day;
        Self {
            holds: holds_json(desk.household, &day.holds),
            sugar_g: day.priming.map(|p| p.amount.get()),
            residual_volumes: day.residual.get(),
            held_volumes: day.held.get(),
            worst_volumes: day.worst.get(),
            pressures: day
                .stored
                .iter()
                .map(|s| PressureJson {
                    at_c: Celsius::get(s.at),
                    bar: s.gauge.get(),
                    safe_bar: s.safe.get(),
                    worst_bar: s.worst.get(),
                })
                .collect(),
            bottles: desk
                .kinds
                .iter()
                .zip(&day.fitted.counts)
                .map(|(k, n)| FillJson {
                    name: k.name.clone(),
                    size_l: k.size.get(),
                    count: *n,
                })
                .collect(),
            swelling_l: day.swelling.get(),
            bottled_l: answer.shares.bottled.get(),
            over_l: answer.shares.over.get(),
            lost_l: answer.shares.lost.get(),
        }
    }
}
