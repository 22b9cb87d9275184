//! `skep rack`, `skep pour`, `skep stabilise` and `skep sweeten`.

use super::args_cellar::{Pour, Rack, Stabilise, Sweeten};
use super::exits::Exit;
use super::shell::Shell;
use super::today::morning_of;
use super::trouble::Trouble;
use super::{find, values};
use crate::app::handling::brimful;
use crate::app::{cautions, say};
use crate::domain::deeds::Deed;
use crate::domain::records::{Household, Vessel};
use crate::domain::sums::SumError;
use crate::domain::sums::blend::Seen;
use crate::domain::sums::sulfite::{MOST_TOTAL_SO2, MUCH_TOTAL_SO2};
use crate::domain::text::safe;
use crate::domain::units::{Abv, Litres, MilligramsPerLitre, Ph, Share};
use crate::engine::handling::{
    self, Drink, METABISULFITE_SPOON, Outside, SORBATE_SPOON, SWEETENERS,
};
use crate::engine::{Account, Morning, bottling};

fn account<'m>(morning: &'m Morning, vessel: &Vessel) -> Result<&'m Account, Trouble> {
    morning
        .accounts
        .iter()
        .find(|r| r.vessel == Some(vessel.id))
        .ok_or_else(|| Trouble::not_found(format!("{} is not on the shelf", vessel.tag)))
}

fn no(why: &SumError) -> Trouble {
    Trouble::usage(why.to_string())
}

pub(super) fn rack(sh: &mut Shell<'_>, args: &Rack) -> Result<Exit, Trouble> {
    let (mut store, household) = sh.load()?;
    let (from, dossier) = find::dossier(&household, &args.from)?;
    let to = find::vessel(&household, &args.to)?;
    let volume = match &args.volume {
        Some(text) => Some(values::volume(text, sh.now)?),
        None => None,
    };
    let had = dossier
        .stays
        .iter()
        .find(|s| s.to.is_none() && s.vessel == from.id)
        .and_then(|s| s.volume);
    if let (Some(had), Some(volume)) = (had, volume)
        && volume.get() > had.get() * 1.001
    {
        let units = household.settings.units;
        return Err(Trouble::usage(format!(
            "only {} lie in {}",
            say::volume(had, units),
            from.tag
        )));
    }
    let at = values::when(args.at.at.as_deref(), sh.now, &sh.context())?;
    let deed = handling::rack_deed(dossier, from, to, at, volume, args.split, &args.note);
    sh.carry_out(&mut store, &deed)?;
    if let (Some(arrived), false) = (volume.or(had), sh.json) {
        let none = Litres::clamped(0.0);
        let racked = handling::rack(had, arrived, none, to);
        let share = say::share(Share::clamped(racked.share));
        let airy = if racked.airy {
            ": a lot for a finished batch"
        } else {
            ""
        };
        writeln!(sh.out, "headspace in {}: {share}{airy}", safe(&to.tag))?;
    }
    Ok(Exit::Fine)
}

fn tell_mixture(sh: &mut Shell<'_>, household: &Household, seen: &Seen) -> Result<(), Trouble> {
    if sh.json {
        return Ok(());
    }
    let settings = &household.settings;
    writeln!(
        sh.out,
        "then {} at {}, {} alcohol",
        say::volume(seen.volume, settings.units),
        say::gravity(seen.gravity, settings.gravity),
        say::abv(seen.alcohol)
    )?;
    Ok(())
}

pub(super) fn pour(sh: &mut Shell<'_>, args: &Pour) -> Result<Exit, Trouble> {
    let (mut store, household) = sh.load()?;
    let morning = morning_of(sh, &store, &household, sh.now)?;
    let (into, dossier) = find::dossier(&household, &args.into)?;
    let volume = values::volume(&args.volume, sh.now)?;
    let first = Drink::of(dossier, account(&morning, into)?);
    let mut assumed = false;
    let (from, second) = if let Some(tag) = &args.from {
        let (vessel, other) = find::dossier(&household, tag)?;
        let second = Drink::of(other, account(&morning, vessel)?);
        (Some(vessel.id), second)
    } else {
        let outside = outside(sh, args)?;
        assumed = outside.assumed;
        if assumed {
            tell_assumed(sh, args, &outside.drink, &household)?;
        }
        (None, outside.drink)
    };
    let mixture = handling::pour(&first, &second, volume).map_err(|e| no(&e))?;
    tell_mixture(sh, &household, &mixture)?;
    if args.dry_run {
        return Ok(Exit::Fine);
    }
    let deed = Deed::Pour {
        batch: dossier.batch.id,
        vessel: into.id,
        from,
        what: args.with.clone().unwrap_or_default(),
        volume,
        // What nobody measured is not written down as measured.
        gravity: second.gravity.filter(|_| !assumed),
        alcohol: second.alcohol.filter(|_| !assumed),
        at: values::when(args.at.at.as_deref(), sh.now, &sh.context())?,
        note: args.note.clone(),
    };
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}

/// A drink from outside, as told or as usual.
fn outside(sh: &Shell<'_>, args: &Pour) -> Result<Outside, Trouble> {
    let gravity = match &args.gravity {
        Some(text) => Some(values::gravity(text, sh.now)?),
        None => None,
    };
    let alcohol = match args.alcohol {
        Some(percent) => Some(Abv::new(percent).map_err(|e| Trouble::usage(e.to_string()))?),
        None => None,
    };
    let name = args.with.as_deref().unwrap_or_default();
    handling::outside(name, gravity, alcohol)
        .map_err(|e| Trouble::usage(format!("{e}; give --gravity (1.000 for water)")))
}

fn tell_assumed(
    sh: &mut Shell<'_>,
    args: &Pour,
    drink: &Drink,
    household: &Household,
) -> Result<(), Trouble> {
    if sh.json {
        return Ok(());
    }
    let gravity = drink
        .gravity
        .map_or_else(String::new, |g| say::gravity(g, household.settings.gravity));
    writeln!(
        sh.out,
        "{gravity} is assumed, usual for {}: measure it and give --gravity",
        safe(args.with.as_deref().unwrap_or_default())
    )?;
    Ok(())
}

pub(super) fn stabilise(sh: &mut Shell<'_>, args: &Stabilise) -> Result<Exit, Trouble> {
    let (mut store, household) = sh.load()?;
    let supplies = store.supplies().map_err(Trouble::store)?;
    let morning = morning_of(sh, &store, &household, sh.now)?;
    let (vessel, dossier) = find::dossier(&household, &args.tag)?;
    let account = account(&morning, vessel)?;
    let mut drink = Drink::of(dossier, account);
    if let Some(ph) = args.ph {
        if !(2.5..=4.5).contains(&ph) {
            return Err(Trouble::usage(format!(
                "{ph} is no pH of a drink: 2.5 to 4.5"
            )));
        }
        drink.ph = Ph::new(ph).ok();
    }
    let mut treatment = account.treatment;
    if let Some(free) = args.free {
        let free = MilligramsPerLitre::new(free).map_err(|e| Trouble::usage(e.to_string()))?;
        treatment.free_so2 = free.get();
    }
    let acid = match args.acid {
        Some(acid) => MilligramsPerLitre::new(acid).map_err(|e| Trouble::usage(e.to_string()))?,
        None => handling::sorbic_acid(&drink, &treatment),
    };
    let acid = (acid.get() > 0.0).then_some(acid);
    let molecular = MilligramsPerLitre::clamped(args.molecular);
    let doses = handling::stabilise(&drink, &treatment, molecular, acid).map_err(|e| no(&e))?;
    if !sh.json {
        tell_doses(sh, &doses, treatment.unweighed)?;
        if !bottling::ended(dossier, Some(vessel.id), &account.told, sh.now) {
            writeln!(sh.out, "Caution: {}", handling::NOT_FINISHED)?;
        }
    }
    if args.dry_run {
        return Ok(Exit::Fine);
    }
    let at = values::when(args.at.at.as_deref(), sh.now, &sh.context())?;
    let deed = handling::stabilise_deed(
        dossier,
        vessel.id,
        &supplies.pantry,
        at,
        &doses,
        args.sweeten,
    );
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}

fn tell_doses(
    sh: &mut Shell<'_>,
    doses: &handling::Stabilising,
    unweighed: bool,
) -> Result<(), Trouble> {
    let sulfite = &doses.sulfite;
    writeln!(
        sh.out,
        "{:.2} g of potassium metabisulfite (about {:.1} level teaspoon, rough) for {:.0} mg/L of SO2",
        sulfite.amount.get(),
        sulfite.amount.get() / METABISULFITE_SPOON,
        sulfite.added.get()
    )?;
    if doses.ph.is_none() {
        writeln!(
            sh.out,
            "The pH is unknown: {:.0} mg/L of free SO2 is the safe aim.",
            doses.free.get()
        )?;
    }
    if doses.there.get() >= 0.5 {
        writeln!(
            sh.out,
            "about {:.0} mg/L of free SO2 is there from earlier doses",
            doses.there.get()
        )?;
    }
    writeln!(
        sh.out,
        "total SO2 then {:.0} of at most {MOST_TOTAL_SO2:.0} mg/L (US wine, 27 CFR 4.22)",
        sulfite.total_after.get()
    )?;
    if unweighed {
        writeln!(
            sh.out,
            "An earlier dose has no weight in the ledger: the total is higher than that."
        )?;
    }
    if sulfite.much {
        writeln!(
            sh.out,
            "Caution: more than {MUCH_TOTAL_SO2:.0} mg/L in all can be tasted."
        )?;
    }
    if let Some(sorbate) = doses.sorbate {
        writeln!(
            sh.out,
            "{:.2} g of potassium sorbate (about {:.1} level teaspoon, rough)",
            sorbate.amount.get(),
            sorbate.amount.get() / SORBATE_SPOON
        )?;
        if sorbate.unreliable {
            writeln!(
                sh.out,
                "Below 10 % alcohol or above pH 3.7 sorbate can't be relied on."
            )?;
        }
    }
    writeln!(sh.out, "Then wait 24 to 48 hours before adding sugar.")?;
    if doses.sorbate.is_some() {
        writeln!(
            sh.out,
            "Sorbate stops priming from working: bottle it still."
        )?;
    }
    writeln!(sh.out, "Caution: {}", cautions::SULFITE)?;
    Ok(())
}

pub(super) fn sweeten(sh: &mut Shell<'_>, args: &Sweeten) -> Result<Exit, Trouble> {
    let (mut store, household) = sh.load()?;
    let supplies = store.supplies().map_err(Trouble::store)?;
    let morning = morning_of(sh, &store, &household, sh.now)?;
    let (vessel, dossier) = find::dossier(&household, &args.tag)?;
    let account = account(&morning, vessel)?;
    let drink = Drink::of(dossier, account);
    let name = SWEETENERS
        .into_iter()
        .find(|s| *s == args.with)
        .ok_or_else(|| {
            Trouble::usage(format!(
                "'{}' is none of: honey, table sugar, dextrose",
                args.with
            ))
        })?;
    let to = values::gravity(&args.gravity, sh.now)?;
    let (mass, mixture) = handling::sweeten(&drink, name, to).map_err(|e| no(&e))?;
    if !sh.json {
        let mass = say::weighed(mass, household.settings.units);
        writeln!(sh.out, "{mass} of {name}")?;
    }
    tell_mixture(sh, &household, &mixture)?;
    let treatment = account.treatment;
    let hold = handling::sweetening_hold(&treatment, &mixture);
    let held = hold.is_some();
    if !sh.json {
        let units = household.settings.units;
        if let Some(text) = brimful(vessel, mixture.volume, units) {
            writeln!(sh.out, "Caution: {text}")?;
        }
        if treatment
            .sorbated
            .is_some_and(|at| sh.now.days_since(at) < 1.0)
        {
            writeln!(
                sh.out,
                "Caution: stabilised less than a day ago: wait 24 to 48 hours."
            )?;
        }
    }
    let reason = values::reason(args.overrule.as_deref())?;
    if let (Some(hold), None) = (hold, reason) {
        return Err(Trouble::new(
            Exit::Held,
            format!("{hold} Stabilise first (skep stabilise), or override with --overrule REASON"),
        ));
    }
    if args.dry_run {
        return Ok(Exit::Fine);
    }
    let at = values::when(args.at.at.as_deref(), sh.now, &sh.context())?;
    let reason = reason.filter(|_| held);
    let deed = handling::sweeten_deed(
        dossier,
        vessel.id,
        &supplies.pantry,
        at,
        (name, mass),
        reason,
    );
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}
