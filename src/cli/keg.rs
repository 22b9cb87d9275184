//! `skep bottle --keg`: the gate, the regulator, the glasses.

use super::args_cellar::Bottle as Args;
use super::bottle::{HoldJson, holds_json, how_much, tell_holds};
use super::exits::Exit;
use super::shell::Shell;
use super::trouble::Trouble;
use super::values;
use crate::app::bottling::keg::{Keg, deed, lines};
use crate::app::cautions;
use crate::domain::records::{Dossier, Fizz, Household, Vessel, VesselKind};
use crate::domain::text::safe;
use crate::domain::units::{Celsius, GaugeBar, Litres, Volumes};
use crate::engine::Account;
use crate::engine::bottling::{self, BottlingWish, Hold, KEG_DAYS, PRIMERS};
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
    let asked = asked(sh, args, vessel, dossier)?;
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
    };
    let day = bottling::plan(style, told, assessment, &account.treatment, &wish, sh.now)
        .map_err(|e| Trouble::usage(e.to_string()))?;
    let drink = bottling::drink_in(told, assessment);
    let keg = Keg::of(into.clone(), drink, target, at, asked.volume)
        .map_err(|e| Trouble::usage(e.trim_end_matches('.').to_owned()))?;
    let reason = values::reason(args.overrule.as_deref())?;
    let held = !day.holds.is_empty();
    if sh.json && (args.dry_run || held && reason.is_none()) {
        sh.print(
            "kegging",
            KegJson::new(household, &day.holds, &keg, asked.lost),
        )?;
    } else if !sh.json {
        tell(sh, household, &day.holds, &keg)?;
    }
    if args.dry_run {
        return Ok(if held { Exit::Held } else { Exit::Fine });
    }
    if held && reason.is_none() {
        return Err(Trouble::new(
            Exit::Held,
            "it is held, and nothing was kegged; wait, or give --overrule with the reason",
        ));
    }
    let reason = reason.filter(|_| held).map(str::to_owned);
    let units = household.settings.units;
    let deed = deed(dossier, vessel, &keg, sh.now, units, reason);
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}

/// What was asked for, with usual values for what was not said.
struct Asked {
    volume: Litres,
    lost: Litres,
    at: Celsius,
    target: Volumes,
}

fn asked(
    sh: &Shell<'_>,
    args: &Args,
    vessel: &Vessel,
    dossier: &Dossier,
) -> Result<Asked, Trouble> {
    let (had, lost) = how_much(sh, args, dossier, vessel)?;
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
    })
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
            "{} is a {}, no keg: only a keg bears the pressure",
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
        writeln!(sh.out, "Mind: {}", cautions::BOTTLES)?;
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
