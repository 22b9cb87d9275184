//! The dashboard, `skep demo`, `skep vessels` and `skep places`.

use super::args::{AddPlace, AddVessel, Demo, Places, PlacesVerb, Vessels, VesselsVerb};
use super::exits::Exit;
use super::report::json::{PlaceJson, PlacesJson, VesselJson, VesselsJson};
use super::report::shown;
use super::shell::Shell;
use super::trouble::Trouble;
use super::{find, values};
use crate::app::say;
use crate::domain::deeds::Deed;
use crate::domain::records::{Household, PlaceId, Vessel, VesselKind};
use crate::domain::text::safe;
use crate::domain::units::Moment;
use crate::files::cache;
use crate::store::{Scratch, StoreError};
use crate::tui;
use crate::work;
use std::io::IsTerminal;
use std::path::Path;

pub(super) fn vessels(sh: &mut Shell<'_>, args: &Vessels) -> Result<Exit, Trouble> {
    if let Some(VesselsVerb::Add(add)) = &args.add {
        return add_vessel(sh, add);
    }
    let (_, household) = sh.load()?;
    let mut shown: Vec<&Vessel> = household
        .vessels
        .iter()
        .filter(|v| args.all || !v.retired)
        .collect();
    shown.sort_by(|a, b| a.tag.cmp(&b.tag));
    if sh.json {
        let vessels = shown
            .iter()
            .map(|v| VesselJson::new(v, &household))
            .collect();
        sh.print("vessels", VesselsJson { vessels })?;
        return Ok(Exit::Fine);
    }
    for vessel in shown {
        vessel_line(sh, vessel, &household)?;
    }
    Ok(Exit::Fine)
}

fn vessel_line(sh: &mut Shell<'_>, v: &Vessel, household: &Household) -> Result<(), Trouble> {
    let units = household.settings.units;
    let place = household.place(v.place).map_or("", |p| p.name.as_str());
    let holds = match household.in_vessel(v.id) {
        _ if v.retired => "no longer used".to_owned(),
        Some(dossier) => safe(&dossier.batch.name),
        None if v.clean => "free".to_owned(),
        None => "free, not clean".to_owned(),
    };
    writeln!(
        sh.out,
        "{:<6} {:<7} {:>9}  {:<16} {holds}",
        safe(&v.tag),
        v.kind.word(),
        say::volume(v.capacity, units),
        safe(place)
    )?;
    Ok(())
}

fn add_vessel(sh: &mut Shell<'_>, add: &AddVessel) -> Result<Exit, Trouble> {
    let mut store = sh.open_or_make()?;
    let household = store.household(sh.now).map_err(Trouble::store)?;
    let kind = VesselKind::from_word(&add.kind.to_lowercase()).ok_or_else(|| {
        let kinds: Vec<&str> = VesselKind::ALL.iter().map(|k| k.word()).collect();
        Trouble::usage(format!(
            "'{}' is no kind of vessel; accepted: {}",
            add.kind,
            kinds.join(", ")
        ))
    })?;
    let deed = Deed::AddVessel {
        tag: add.tag.clone(),
        kind,
        capacity: values::volume(&add.capacity, sh.now)?,
        place: place_for(&household, add.place.as_deref())?,
        tare: match &add.tare {
            Some(text) => Some(values::mass(text, sh.now)?),
            None => None,
        },
    };
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}

fn place_for(household: &Household, name: Option<&str>) -> Result<PlaceId, Trouble> {
    let names: Vec<String> = household.places.iter().map(|p| safe(&p.name)).collect();
    match (name, household.places.as_slice()) {
        (_, []) => Err(Trouble::not_found(
            "there is no place yet to stand it in; add one: skep places add closet",
        )),
        (Some(name), _) => find::place(household, name).map(|p| p.id).ok_or_else(|| {
            Trouble::not_found(format!(
                "there is no place '{name}'; there is {}",
                say::list(&names)
            ))
        }),
        (None, [only]) => Ok(only.id),
        (None, _) => Err(Trouble::usage(format!(
            "where does it stand? name one with --place: {}",
            say::list(&names)
        ))),
    }
}

pub(super) fn places(sh: &mut Shell<'_>, args: &Places) -> Result<Exit, Trouble> {
    if let Some(PlacesVerb::Add(add)) = &args.add {
        return add_place(sh, add);
    }
    let (_, household) = sh.load()?;
    let units = household.settings.units;
    let places: Vec<PlaceJson> = household
        .places
        .iter()
        .map(|p| PlaceJson::new(p, &household))
        .collect();
    if sh.json {
        sh.print("places", PlacesJson { places })?;
        return Ok(Exit::Fine);
    }
    for (place, listed) in household.places.iter().zip(&places) {
        let usual = place
            .usual_temp
            .map_or(String::new(), |t| say::temperature(t, units));
        let light = if place.dark { "dark" } else { "light" };
        let summer = place.summer.map_or(String::new(), |t| {
            format!("to {} on its warmest day", say::temperature(t, units))
        });
        let rest = [summer, safe(&listed.tags())];
        let rest: Vec<String> = rest.into_iter().filter(|r| !r.is_empty()).collect();
        writeln!(
            sh.out,
            "{:<16} {light:<5} {usual:>8}  {}",
            safe(&place.name),
            rest.join("; ")
        )?;
    }
    Ok(Exit::Fine)
}

fn add_place(sh: &mut Shell<'_>, add: &AddPlace) -> Result<Exit, Trouble> {
    let mut store = sh.open_or_make()?;
    let usual = add.usual.as_deref().map(|t| values::temperature(t, sh.now));
    let deed = Deed::AddPlace {
        name: add.name.clone(),
        dark: !add.light,
        usual_temp: usual.transpose()?,
    };
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}

/// The dashboard on this store.
pub(super) fn dashboard(sh: &mut Shell<'_>) -> Result<Exit, Trouble> {
    let options = tui::Options {
        answers: Some(sh.paths.answers()),
        backups: Some(sh.paths.backups()),
        new_store: sh.new_store,
        ..tui::Options::default()
    };
    screen(sh, options).map(|_| Exit::Fine)
}

/// Gives whether the offer of a first round still stood when the maker left.
fn screen(sh: &Shell<'_>, options: tui::Options) -> Result<bool, Trouble> {
    if sh.json {
        return Err(Trouble::usage(
            "--json goes with a verb; skep today --json is the morning for programs",
        ));
    }
    if !(std::io::stdout().is_terminal() && std::io::stdin().is_terminal()) {
        return Err(Trouble::usage(
            "the dashboard needs a terminal; skep today prints the morning as text",
        ));
    }
    let options = tui::Options {
        routines: Some(sh.paths.routines()),
        yeasts: Some(sh.paths.yeasts()),
        ..options
    };
    tui::run(&sh.paths.store, options).map_err(|why| match why.downcast::<StoreError>() {
        Ok(error) => Trouble::store(error),
        Err(other) => Trouble::broken(format!("{other:#}")),
    })
}

pub(super) fn demo(sh: &mut Shell<'_>, args: &Demo) -> Result<Exit, Trouble> {
    if let Some(file) = &args.into {
        build_demo(file, sh.now)?;
        writeln!(
            sh.out,
            "An invented household lies in {}; skep --store {} opens it.",
            shown(file),
            shown(file)
        )?;
        return Ok(Exit::Fine);
    }
    let folder = Scratch::new().map_err(Trouble::store)?;
    let file = folder.path().join("demo.store");
    build_demo(&file, sh.now)?;
    sh.paths.store = file;
    let offered = sh.paths.round_offered();
    let options = tui::Options {
        demo: true,
        offer_round: !offered.exists(),
        ..tui::Options::default()
    };
    let stands = screen(sh, options)?;
    if !stands && !offered.exists() {
        // Not kept, it is offered once more.
        let _ = cache::put(&offered, b"");
    }
    Ok(Exit::Fine)
}

fn build_demo(file: &Path, now: Moment) -> Result<(), Trouble> {
    if file.exists() {
        return Err(Trouble::usage(format!(
            "{} is there already; name a file that is not",
            file.display()
        )));
    }
    work::demo::build_into(file, now)?;
    Ok(())
}
