//! `skep today` and `skep show`.

use super::again::Again;
use super::args::{Show, Today};
use super::exits::Exit;
use super::find;
use super::report::json::{ShowJson, TodayJson};
use super::report::{exit_of, exit_of_morning, text};
use super::shell::Shell;
use super::trouble::Trouble;
use crate::app::trend::what_ifs_at;
use crate::app::{Spot, overridden};
use crate::domain::records::Household;
use crate::domain::slip::parse_day;
use crate::domain::units::Moment;
use crate::engine::{Due, History, Morning, Timing};
use crate::store::Store;
use crate::work::{Answers, learned};

/// The morning of a household, with what the maker's own batches teach and what
/// was said before of what is in bottles.
pub(super) fn morning_of(
    sh: &Shell<'_>,
    store: &Store,
    household: &Household,
    now: Moment,
) -> Result<Morning, Trouble> {
    let history = learned(store, household, now)?;
    Ok(morning_by(sh, household, &history, now))
}

/// The same by what was learned.
pub(super) fn morning_by(
    sh: &Shell<'_>,
    household: &Household,
    history: &History,
    now: Moment,
) -> Morning {
    let mut answers = Answers::of(Some(sh.paths.answers()));
    let morning = answers.morning(household, history, (now, sh.zone));
    // A day ahead may ask for other bottles than today does.
    if now == sh.now {
        answers.keep();
    }
    morning
}

pub(super) fn today(sh: &mut Shell<'_>, args: &Today) -> Result<Exit, Trouble> {
    let again = (sh.json && args.on.is_none())
        .then(|| Again::of(sh, args.all))
        .flatten();
    if let Some((exit, text)) = again.as_ref().and_then(Again::answer) {
        sh.out.write_all(text.as_bytes())?;
        return Ok(exit);
    }
    let (store, household) = sh.load()?;
    let now = match &args.on {
        Some(text) => ahead(sh, text)?,
        None => sh.now,
    };
    let morning = morning_of(sh, &store, &household, now)?;
    let exit = exit_of_morning(&morning);
    let due: Vec<&Due> = morning
        .due
        .iter()
        .filter(|d| args.all || d.wants_hands() || is_coming(d))
        .collect();
    let lots = store.overridden().map_err(Trouble::store)?;
    let overridden = overridden::all(lots.iter(), &household);
    if sh.json {
        let body = TodayJson::new(&household, &morning, &due, overridden, exit);
        let text = Shell::report("today", body)?;
        sh.out.write_all(text.as_bytes())?;
        if let Some(again) = again {
            again.keep(exit, &text);
        }
    } else {
        text::today(sh.out, &household, &morning, &due)?;
        text::overridden(sh.out, &overridden)?;
    }
    store.keep_dossiers(&household, sh.now);
    Ok(exit)
}

/// Within a week, on a day that can be named.
fn is_coming(due: &Due) -> bool {
    due.timing == Timing::Soon && due.waits.is_none()
}

/// That day, at this time of day.
fn ahead(sh: &Shell<'_>, text: &str) -> Result<Moment, Trouble> {
    let here = sh.zone.localise(sh.now);
    let day = parse_day(text, here.day())?;
    let local = day.and_time(here.datetime().time());
    Ok(sh.zone.resolve(local).first())
}

pub(super) fn show(sh: &mut Shell<'_>, args: &Show) -> Result<Exit, Trouble> {
    let (store, household) = sh.load()?;
    let (vessel, dossier) = find::dossier(&household, &args.tag)?;
    let morning = morning_of(sh, &store, &household, sh.now)?;
    let row = morning
        .account(dossier.batch.id, Some(vessel.id))
        .ok_or_else(|| Trouble::not_found(format!("nothing is known of {}", args.tag)))?;
    let exit = exit_of([row], morning.due_of(row.batch));
    let ledger = if args.ledger {
        Some(store.ledger(row.batch).map_err(Trouble::store)?)
    } else {
        None
    };
    if sh.json {
        sh.print(
            "vessel",
            ShowJson::new(&household, &morning, row, exit, ledger),
        )?;
    } else {
        let spot = Spot {
            batch: row.batch,
            vessel: row.vessel,
        };
        let history = learned(&store, &household, sh.now)?;
        let what_ifs = what_ifs_at(&household, spot, &history, sh.now);
        text::show(sh.out, &household, &morning, row, &what_ifs)?;
        if let Some(lines) = ledger {
            text::ledger(sh.out, &lines, &household, sh.now)?;
        }
    }
    Ok(exit)
}
