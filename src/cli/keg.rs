//! `skep bottle --keg`: holds, the regulator, the glasses.

use super::args_cellar::Bottle as Args;
use super::bottle::{HoldJson, holds_json, how_much, overrides, tell_holds};
use super::exits::Exit;
use super::shell::Shell;
use super::trouble::Trouble;
use super::values;
use crate::app::bottling::keg::{Keg, KegWish, deed, lines};
use crate::app::cautions;
use crate::domain::bottles;
use crate::domain::records::{Dossier, Fizz, Household, UnitSystem, Vessel, VesselKind};
use crate::domain::sums::carbonation::Rating;
use crate::domain::text::safe;
use crate::domain::units::{Celsius, GaugeBar, Litres, Volumes};
use crate::engine::Account;
use crate::engine::bottling::{self, BottlingWish, Dextrins, Hold, KEG_DAYS, PRIMERS};
use crate::store::Store;
use serde::Serialize;

/// Usual temperature of a keg that is drunk from (common practice, no source).
const COLD: Celsius = Celsius::known(4.0);

pub(super) fn fill(
    sh: &mut Shell<'_>,
    args: &Args,
    tag: &str,
    mut store: Store,
    (household, vessel, dossier): (&Household, &Vessel, &Dossier),
    account: &Account,
) -> Result<Exit, Trouble> {
    let into = empty_keg(household, tag)?;
    let units = household.settings.units;
    let asked = asked(sh, args, (dossier, vessel), units)?;
    let (at, target) = (asked.at, asked.target);
    let style = dossier.batch.style;
    let (told, assessment) = (&account.told, &account.assessment);
    let wish = BottlingWish {
        fizz: Fizz::Still,
        target,
        primer: PRIMERS[0].1,
        volume: asked.volume,
        warmest: at,
        cellar: at,
        summer: at,
        bottles: Vec::new(),
        // A keg has a valve to let gas off; its pressure is held below.
        dextrins: Dextrins::RuledOut,
    };
    let day = bottling::plan(style, told, assessment, &account.treatment, &wish, sh.now)
        .map_err(|e| Trouble::usage(e.to_string()))?;
    let drink = bottling::drink_in(told, assessment);
    let wish = KegWish {
        target,
        at,
        volume: asked.volume,
        rating: asked.rating,
        summer: asked.summer,
    };
    let keg = Keg::of(into.clone(), household.place(into.place), drink, &wish)
        .map_err(|e| Trouble::usage(e.trim_end_matches('.').to_owned()))?;
    let mut holds = day.holds;
    holds.extend(keg.holds.iter().cloned());
    let held = !holds.is_empty();
    let lifts = overrides(args, &holds)?;
    if sh.json && (args.dry_run || !lifts.all) {
        sh.print("kegging", KegJson::new(household, &holds, &keg, asked.lost))?;
    } else if !sh.json {
        tell(sh, household, &holds, &keg)?;
    }
    if args.dry_run {
        return Ok(if held { Exit::Held } else { Exit::Fine });
    }
    lifts.or_held("kegged")?;
    let reason = values::reason(args.overrule.as_deref())?.unwrap_or_default();
    let deed = deed(dossier, vessel, &keg, sh.now, units, (&lifts.kinds, reason));
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}

/// What was asked for, with usual values for what was not said.
struct Asked {
    volume: Litres,
    lost: Litres,
    at: Celsius,
    target: Volumes,
    rating: Option<GaugeBar>,
    summer: Option<Celsius>,
}

fn asked(
    sh: &Shell<'_>,
    args: &Args,
    (dossier, vessel): (&Dossier, &Vessel),
    units: UnitSystem,
) -> Result<Asked, Trouble> {
    let (had, lost) = how_much(sh, args, (dossier, vessel), units)?;
    if lost >= had {
        return Err(Trouble::usage(
            "more can't stay behind than lies in it, and something must go into the keg",
        ));
    }
    let at = match &args.storage {
        Some(text) => values::temperature(text, sh.now)?,
        None => COLD,
    };
    let target = match args.target {
        Some(v) => Volumes::new(v).map_err(|e| Trouble::usage(e.to_string()))?,
        None => bottling::usual_target(dossier.batch.style, Fizz::Sparkling),
    };
    Ok(Asked {
        volume: Litres::clamped(had.get() - lost.get()),
        lost,
        at,
        target,
        rating: args.rated.as_deref().map(working_pressure).transpose()?,
        summer: args
            .summer
            .as_deref()
            .map(|t| values::temperature(t, sh.now))
            .transpose()?,
    })
}

/// The working pressure printed on a keg.
fn working_pressure(text: &str) -> Result<GaugeBar, Trouble> {
    match bottles::rating(text) {
        Ok(Rating::Gauge(p)) => Ok(p),
        _ => Err(Trouble::usage(format!(
            "'{text}' is no working pressure; accepted: '60 psi', '4 bar'"
        ))),
    }
}

fn empty_keg<'h>(household: &'h Household, tag: &str) -> Result<&'h Vessel, Trouble> {
    let vessel = household
        .vessels
        .iter()
        .find(|v| v.tag.eq_ignore_ascii_case(tag.trim()) && !v.retired)
        .ok_or_else(|| {
            Trouble::not_found(format!(
                "there is no keg '{tag}': skep vessels add {} keg 5gal",
                safe(tag)
            ))
        })?;
    if vessel.kind != VesselKind::Keg {
        return Err(Trouble::usage(format!(
            "{} is a {}, no keg: only a keg takes the pressure",
            vessel.tag, vessel.kind
        )));
    }
    if household.in_vessel(vessel.id).is_some() {
        return Err(Trouble::usage(format!("{} is not empty", vessel.tag)));
    }
    Ok(vessel)
}

fn tell(
    sh: &mut Shell<'_>,
    household: &Household,
    holds: &[Hold],
    keg: &Keg,
) -> Result<(), Trouble> {
    tell_holds(sh, household, holds)?;
    for line in lines(keg, household.settings.units) {
        writeln!(sh.out, "{}", safe(&line.text))?;
    }
    if holds.iter().any(Hold::guards_against_bursting) {
        writeln!(sh.out, "Caution: {}", cautions::BOTTLES)?;
    }
    Ok(())
}

#[derive(Debug, Serialize)]
struct KegJson {
    holds: Vec<HoldJson>,
    keg: String,
    regulator_bar: Option<f64>,
    volumes: f64,
    at_c: f64,
    days: i64,
    glasses: u32,
    kegged_l: f64,
    lost_l: f64,
}

impl KegJson {
    fn new(household: &Household, holds: &[Hold], keg: &Keg, lost: Litres) -> Self {
        Self {
            holds: holds_json(household, holds),
            keg: keg.vessel.tag.clone(),
            regulator_bar: keg.pressure.map(GaugeBar::get),
            volumes: keg.target.get(),
            at_c: keg.at.get(),
            days: if keg.pressure.is_some() { KEG_DAYS } else { 0 },
            glasses: keg.glasses,
            kegged_l: keg.volume.get(),
            lost_l: lost.get(),
        }
    }
}
