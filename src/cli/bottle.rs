//! `skep bottle`: holds, sugar, bottles.

use super::args_cellar::Bottle as Args;
use super::exits::Exit;
use super::shell::Shell;
use super::today::morning_of;
use super::trouble::Trouble;
use super::{find, keg, values};
use crate::app::bottling::too_much;
use crate::app::{cautions, say};
use crate::domain::bottles::BottleKind;
use crate::domain::deeds::Deed;
use crate::domain::plan::{Supplies, same_thing};
use crate::domain::records::{
    Dossier, Fizz, HoldKind, Household, PantryId, PantryItem, PantryKind, PlaceId, UnitSystem,
    Vessel,
};
use crate::domain::text::safe;
use crate::domain::units::{Celsius, Litres, Volumes};
use crate::engine::bottling::{
    self, BottleStock, BottlingDay, BottlingWish, Dextrins, Hold, Order, PRIMERS, Shares, swollen,
};
use crate::engine::{Account, Voice};
use crate::files::yeasts;
use chrono::Days;
use serde::Serialize;
use std::borrow::Cow;

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
    /// Warmest day of the place, where it is news.
    summer: Option<Celsius>,
    /// Nobody has said how warm the place gets.
    unsaid: bool,
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
    let reason = values::reason(args.overrule.as_deref())?.unwrap_or_default();
    let lifts = overrides(args, &answer.day.holds)?;
    if sh.json && (args.dry_run || !lifts.all) {
        sh.print("bottling", BottlingJson::new(&desk, &answer))?;
    } else if !sh.json {
        tell(sh, &desk, &answer)?;
    }
    if args.dry_run {
        return Ok(if held { Exit::Held } else { Exit::Fine });
    }
    lifts.or_held("bottled")?;
    if bottling::run_out(&answer.shares, &answer.stock, &answer.day.fitted.counts) {
        return Err(Trouble::usage(format!(
            "bottles run out: {} would be left over in the emptied vessel, and nothing was bottled; \
             name more with --bottles, or count what is not bottled as --lost",
            say::volume(answer.shares.over, household.settings.units)
        )));
    }
    let deed = deed(sh, args, &desk, &answer, (lifts.kinds, reason))?;
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}

/// What `--overrule` and `--lift` do to the holds that stand.
pub(super) struct Lifts {
    /// The kinds that stand and are lifted.
    pub(super) kinds: Vec<HoldKind>,
    /// The kinds that stand and are not.
    still: Vec<HoldKind>,
    /// Whether nothing is held any more.
    pub(super) all: bool,
    /// Whether a reason was given.
    reason: bool,
}

impl Lifts {
    /// The refusal while anything is held.
    pub(super) fn or_held(&self, done: &str) -> Result<(), Trouble> {
        if self.all {
            return Ok(());
        }
        let words: Vec<&str> = self.still.iter().map(|k| k.word()).collect();
        let how = match (self.reason, words.as_slice()) {
            (true, kinds) => format!(
                "a reason lifts only the holds it names; still on hold: add --lift {}",
                kinds.join(",")
            ),
            (false, [_]) => "wait, or override with --overrule REASON".to_owned(),
            (false, kinds) => format!(
                "wait, or override with --overrule REASON --lift {}",
                kinds.join(",")
            ),
        };
        Err(Trouble::new(
            Exit::Held,
            format!("on hold, nothing was {done}; {how}"),
        ))
    }
}

/// A reason lifts the one kind of hold that stands, or those that `--lift` names.
pub(super) fn overrides(args: &Args, holds: &[Hold]) -> Result<Lifts, Trouble> {
    let standing = bottling::kinds_of(holds);
    let mut named = Vec::new();
    for word in &args.lift {
        named.push(HoldKind::from_word(word.trim()).ok_or_else(|| {
            let all: Vec<&str> = HoldKind::ALL.iter().map(|k| k.word()).collect();
            Trouble::usage(format!("'{word}' is no kind of hold: {}", all.join(", ")))
        })?);
    }
    let reason = values::reason(args.overrule.as_deref())?.is_some();
    let lifted = |kind: &HoldKind| {
        reason && (named.contains(kind) || named.is_empty() && standing.len() == 1)
    };
    let (kinds, still): (Vec<HoldKind>, Vec<HoldKind>) = standing.iter().partition(|k| lifted(k));
    Ok(Lifts {
        all: still.is_empty(),
        kinds,
        still,
        reason,
    })
}

/// How much lies in the vessel, and what stays behind: as said, or as known.
pub(super) fn how_much(
    sh: &Shell<'_>,
    args: &Args,
    (dossier, vessel): (&Dossier, &Vessel),
    units: UnitSystem,
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
    if let Some(why) = too_much(vessel, volume, units) {
        return Err(Trouble::usage(why.trim_end_matches('.')));
    }
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
    let (volume, lost) = how_much(sh, args, (dossier, vessel), household.settings.units)?;
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
    let bottles_in = desk.household.place(lies_in(args, desk)?);
    let summer = given(args.summer.as_deref())?;
    let dextrins = if args.no_dextrins {
        Dextrins::RuledOut
    } else {
        let (classes, _) = yeasts::load(Some(&sh.paths.yeasts()));
        let batch = &desk.dossier.batch;
        bottling::dextrins(batch.style, batch.yeast.as_deref(), &classes)
    };
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
        summer: summer.unwrap_or_else(|| bottling::summer(bottles_in)),
        bottles: stock.clone(),
        dextrins,
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
        unsaid: summer.is_none() && bottles_in.is_none_or(|p| p.summer.is_none()),
        summer: summer.filter(|t| bottles_in.is_none_or(|p| p.summer != Some(*t))),
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
        writeln!(
            sh.out,
            "HOLD: {} [{}]",
            hold.sentence(unit(household)),
            hold.kind()
        )?;
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
            "{} of {} for {:.1} volumes ({:.1} already dissolved); it adds {} of drink",
            say::weighed(priming.amount, units),
            desk.sugar,
            day.held.get(),
            day.residual.get(),
            say::volume(day.swelling, units)
        )?;
        if answer.unsaid {
            writeln!(
                sh.out,
                "Warmest day of the place unknown: {} counts (common practice, no source); \
                 --summer says it, and it is saved with the place.",
                say::temperature(day.stored.last().map_or(bottling::SUMMER, |s| s.at), units)
            )?;
        }
        for stored in &day.stored {
            writeln!(
                sh.out,
                "at {}: {}, with safety margin {}; worst case {}",
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
        writeln!(sh.out, "Bottles run out: more are needed than there are.")?;
    }
    writeln!(
        sh.out,
        "{} in bottles, {} over, {} left behind on the lees",
        say::volume(answer.shares.bottled, units),
        say::volume(answer.shares.over, units),
        say::volume(answer.shares.lost, units)
    )?;
    if desk.fizz != Fizz::Still || day.holds.iter().any(Hold::guards_against_bursting) {
        writeln!(sh.out, "Caution: {}", cautions::BOTTLES)?;
    }
    Ok(())
}

fn deed(
    sh: &Shell<'_>,
    args: &Args,
    desk: &Desk<'_>,
    answer: &Answer,
    (overrides, reason): (Vec<HoldKind>, &str),
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
        place: lies_in(args, desk)?,
        ready_from: on(ready),
        drink_by: on(best.max(ready)),
        reason: if overrides.is_empty() {
            String::new()
        } else {
            reason.to_owned()
        },
        overrides,
        summer: answer.summer,
        alcohol,
    };
    Ok(bottling::deed(desk.dossier, &desk.supplies.pantry, &order))
}

fn lies_in(args: &Args, desk: &Desk<'_>) -> Result<PlaceId, Trouble> {
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
            kind: h.kind().word(),
            why: h.sentence(unit(household)),
            way_out: h.way_out(),
            bursting: h.guards_against_bursting(),
        })
        .collect()
}

#[derive(Debug, Serialize)]
pub(super) struct HoldJson {
    kind: &'static str,
    why: String,
    way_out: Cow<'static, str>,
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
