//! `skep cellar`, `skep take`, `skep taste` and `skep compare`.

use super::args_cellar::{Cellar as Args, Compare, Take, Taste};
use super::exits::Exit;
use super::shell::Shell;
use super::today::morning_of;
use super::trouble::Trouble;
use crate::app::cellar::{glasses_deed, glasses_of, moment_of, not_before};
use crate::app::{overridden, say};
use crate::domain::deeds::Deed;
use crate::domain::plan::Supplies;
use crate::domain::records::{
    Cellar, CellarLot, DrawKind, HoldKind, Household, Override, UnitSystem,
};
use crate::domain::taking::{self, Taking};
use crate::domain::text::safe;
use crate::domain::units::{Abv, Celsius, Gravity};
use crate::engine::cellar::{self, OpenWhy, Readiness, Tapped};
use crate::engine::stories::{self, Order, Story};
use crate::store::Store;
use crate::work;
use chrono::{Datelike, NaiveDate};
use serde::Serialize;

fn book(sh: &Shell<'_>) -> Result<(Store, Household, Supplies), Trouble> {
    let (store, household) = sh.load()?;
    let supplies = store.supplies().map_err(Trouble::store)?;
    Ok((store, household, supplies))
}

/// The lot of that number, or the one lot with bottles of a batch of that name.
pub(super) fn lot<'c>(cellar: &'c Cellar, word: &str) -> Result<&'c CellarLot, Trouble> {
    if let Ok(number) = word.parse::<i64>() {
        let found = cellar.lots.iter().find(|l| l.lot.id.0 == number);
        return found.ok_or_else(|| Trouble::not_found(format!("there is no lot {number}")));
    }
    let name = word.trim().to_lowercase();
    let named: Vec<&CellarLot> = cellar
        .lots
        .iter()
        .filter(|l| l.batch.name.to_lowercase() == name)
        .collect();
    let stocked: Vec<&CellarLot> = named.iter().copied().filter(|l| l.left() > 0).collect();
    match (stocked.as_slice(), named.as_slice()) {
        ([only], _) | ([], [only]) => Ok(only),
        ([], []) => Err(Trouble::not_found(format!(
            "no bottles are called '{word}'; skep cellar --all lists them"
        ))),
        ([], several) | (several, _) => {
            let numbers: Vec<String> = several.iter().map(|l| l.lot.id.0.to_string()).collect();
            Err(Trouble::usage(format!(
                "'{word}' lies in several lots: {}; name one by its number",
                numbers.join(", ")
            )))
        }
    }
}

pub(super) fn cellar(sh: &mut Shell<'_>, args: &Args) -> Result<Exit, Trouble> {
    let (_, household, supplies) = book(sh)?;
    let today = sh.now.day();
    let lots: Vec<&CellarLot> = supplies
        .cellar
        .lots
        .iter()
        .filter(|l| args.all || l.left() > 0)
        .collect();
    let next = cellar::open_next(&supplies.cellar, sh.now);
    if sh.json {
        let body = CellarJson {
            lots: lots
                .iter()
                .map(|l| LotJson::new(l, &supplies, &household))
                .collect(),
            kegs: cellar::kegs(&household)
                .into_iter()
                .map(TappedJson::new)
                .collect(),
            open_next: next.first().map(|(l, _)| l.lot.id.0),
            year: today.year(),
            wine_l: supplies.made_in(today.year(), false).get(),
            beer_l: supplies.made_in(today.year(), true).get(),
            limit_us_gal: cellar::yearly_limit(household.settings.adults),
        };
        sh.print("cellar", body)?;
        return Ok(Exit::Fine);
    }
    if lots.is_empty() {
        writeln!(sh.out, "No bottles. skep bottle TAG fills the first.")?;
    }
    for lot in lots {
        lot_line(sh, lot, &household)?;
    }
    for keg in cellar::kegs(&household) {
        let glasses = say::count(keg.glasses().into(), "glass", "glasses");
        writeln!(
            sh.out,
            "     {:<28} {glasses} in {}",
            safe(&keg.name),
            safe(&keg.tag)
        )?;
        against_line(sh, &keg.overrides)?;
    }
    if let Some((lot, why)) = next.first() {
        writeln!(
            sh.out,
            "Open next: {} ({})",
            safe(&lot.batch.name),
            reason(*why, today)
        )?;
    }
    year_line(sh, &household, &supplies)?;
    Ok(Exit::Fine)
}

fn lot_line(sh: &mut Shell<'_>, l: &CellarLot, household: &Household) -> Result<(), Trouble> {
    let today = sh.now.day();
    let place = household.place(l.lot.place).map_or("", |p| p.name.as_str());
    let stands = match cellar::readiness(&l.lot, today) {
        Readiness::Unsaid => String::new(),
        Readiness::Young { ready } => format!("ready {}", say::day(ready, today)),
        Readiness::Ready => "ready".into(),
        Readiness::DrinkSoon { by } => format!("drink by {}", say::date_of(by, today)),
        Readiness::Past { by } => format!("past its best since {}", say::date_of(by, today)),
    };
    let light = if l.left() > 0 && cellar::in_the_light(&l.lot, &household.places) {
        ", clear glass in the light"
    } else {
        ""
    };
    writeln!(
        sh.out,
        "{:>4} {:<28} {:>3} of {:>3}  {:<10} {:<16} {stands}{light}",
        l.lot.id.0,
        safe(&l.batch.name),
        l.left(),
        l.lot.count,
        say::volume(l.lot.size, household.settings.units),
        safe(place),
    )?;
    if l.left() > 0 {
        against_line(sh, &l.overrides)?;
    }
    Ok(())
}

fn against_line(sh: &mut Shell<'_>, overrides: &[Override]) -> Result<(), Trouble> {
    if let Some(why) = overridden::against(overrides) {
        writeln!(sh.out, "     Caution: {}", safe(&why))?;
    }
    Ok(())
}

fn reason(why: OpenWhy, today: NaiveDate) -> String {
    match why {
        OpenWhy::Past { by } => format!("past its best since {}", say::date_of(by, today)),
        OpenWhy::Soon { by } => format!("best until {}", say::date_of(by, today)),
        OpenWhy::NeverTasted => "ready, and nobody knows how it tastes".into(),
        OpenWhy::LongAgo { days: ..=0 } => "tasted today".into(),
        OpenWhy::LongAgo { days } => format!("tasted {} ago", say::count(days, "day", "days")),
    }
}

fn year_line(
    sh: &mut Shell<'_>,
    household: &Household,
    supplies: &Supplies,
) -> Result<(), Trouble> {
    let year = sh.now.day().year();
    let made = |beer| say::volume(supplies.made_in(year, beer), household.settings.units);
    let limit = match cellar::yearly_limit(household.settings.adults) {
        Some(gallons) => {
            format!(
                "the US federal limit for your household is {gallons:.0} US gal each, not for sale"
            )
        }
        None => "making is for adults only".into(),
    };
    writeln!(
        sh.out,
        "Made in {year}: {} mead and cider, {} beer; {limit}. Check your local law.",
        made(false),
        made(true)
    )?;
    Ok(())
}

pub(super) fn take(sh: &mut Shell<'_>, args: &Take) -> Result<Exit, Trouble> {
    let (mut store, household, supplies) = book(sh)?;
    let here = sh.zone.localise(sh.now);
    let tapped = cellar::kegs(&household)
        .into_iter()
        .find(|k| k.tag.eq_ignore_ascii_case(args.lot.trim()));
    if let Some(keg) = tapped {
        let taken = glasses_of(&keg, &args.words.join(" "), here.day())
            .map_err(|why| Trouble::usage(why.trim_end_matches('.').to_owned()))?;
        let note = if args.note.is_empty() {
            taken.note
        } else {
            args.note.clone()
        };
        let deed = glasses_deed(&keg, &Taking { note, ..taken }, here);
        sh.carry_out(&mut store, &deed)?;
        return Ok(Exit::Fine);
    }
    let lot = lot(&supplies.cellar, &args.lot)?;
    let taken = taking::parse(&args.words.join(" "), lot.left(), here.day())
        .map_err(|why| Trouble::usage(why.trim_end_matches('.').to_owned()))?;
    let note = if args.note.is_empty() {
        taken.note
    } else {
        args.note.clone()
    };
    let deed = Deed::Draw {
        lot: lot.lot.id,
        count: taken.count,
        kind: taken.kind,
        at: not_before(moment_of(taken.on, here), lot.lot.bottled),
        whom: taken.whom,
        note,
    };
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}

pub(super) fn taste(sh: &mut Shell<'_>, args: &Taste) -> Result<Exit, Trouble> {
    let (mut store, _, supplies) = book(sh)?;
    let lot = lot(&supplies.cellar, &args.lot)?;
    let marks: [u8; 5] = args
        .marks
        .clone()
        .try_into()
        .map_err(|_| Trouble::usage("five marks are wanted, 1 to 5"))?;
    let taste = Deed::Taste {
        batch: lot.batch.id,
        lot: Some(lot.lot.id),
        at: sh.now,
        marks,
        words: args.words.clone(),
    };
    let deed = if args.opened {
        Deed::Together {
            name: "a bottle opened and tasted".into(),
            deeds: vec![
                Deed::Draw {
                    lot: lot.lot.id,
                    count: 1,
                    kind: DrawKind::Drunk,
                    at: sh.now,
                    whom: String::new(),
                    note: "tasted".into(),
                },
                taste,
            ],
        }
    } else {
        taste
    };
    sh.carry_out(&mut store, &deed)?;
    Ok(Exit::Fine)
}

pub(super) fn compare(sh: &mut Shell<'_>, args: &Compare) -> Result<Exit, Trouble> {
    let order = match args.by.as_str() {
        "youngest" => Order::Youngest,
        "best" | "score" => Order::Score,
        "quickest" => Order::Quickest,
        "yeast" => Order::Yeast,
        "sugar" | "honey" => Order::Sugar,
        "coolest" | "temperature" => Order::Temperature,
        "fed" | "feeding" => Order::Fed,
        "stuck" => Order::Stuck,
        other => {
            return Err(Trouble::usage(format!(
                "'{other}' is no order; accepted: youngest, best, quickest, yeast, sugar, coolest, fed, stuck"
            )));
        }
    };
    let (store, household) = sh.load()?;
    let morning = morning_of(sh, &store, &household, sh.now)?;
    let mut told: Vec<Story> = work::stories(&store, &household, sh.now)?
        .into_iter()
        .map(|s| s.by(&morning.accounts))
        .collect();
    stories::sort(&mut told, order);
    if sh.json {
        let batches = told.iter().map(StoryJson::new).collect();
        sh.print("compare", CompareJson { batches })?;
        return Ok(Exit::Fine);
    }
    writeln!(
        sh.out,
        "{:<22} {:>6} {:>6} {:>7} {:>4} {:>3} {:>6} {:>5} {:>5}  yeast, sugar",
        "batch", "from", "to", "alcohol", "days", "fed", "temp", "stuck", "score"
    )?;
    for story in &told {
        story_line(sh, story, household.settings.units)?;
    }
    Ok(Exit::Fine)
}

fn story_line(sh: &mut Shell<'_>, s: &Story, units: UnitSystem) -> Result<(), Trouble> {
    let or_empty = |t: Option<String>| t.unwrap_or_default();
    let name: String = s.name.chars().take(22).collect();
    let made_of: Vec<&str> = [s.yeast.as_deref(), s.sugar.as_deref()]
        .into_iter()
        .flatten()
        .collect();
    writeln!(
        sh.out,
        "{:<22} {:>6} {:>6} {:>7} {:>4} {:>3} {:>6} {:>5} {:>5}  {}",
        safe(&name),
        or_empty(s.og.map(|g| format!("{:.3}", g.get()))),
        or_empty(s.last.map(|g| format!("{:.3}", g.get()))),
        or_empty(s.alcohol.map(say::abv)),
        or_empty(s.days_to_finish.map(|d| format!("{d:.0}"))),
        s.fed,
        or_empty(s.temperature.map(|t| say::temperature(t, units))),
        s.stuck
            .map_or("", |stuck| if stuck { "stuck" } else { "no" }),
        or_empty(s.score.map(|(mean, _)| format!("{mean:.1}"))),
        safe(&made_of.join(", ")),
    )?;
    Ok(())
}

#[derive(Debug, Serialize)]
struct CellarJson {
    lots: Vec<LotJson>,
    kegs: Vec<TappedJson>,
    open_next: Option<i64>,
    year: i32,
    wine_l: f64,
    beer_l: f64,
    limit_us_gal: Option<f64>,
}

#[derive(Debug, Serialize)]
struct TappedJson {
    keg: String,
    batch: String,
    since: NaiveDate,
    left_l: f64,
    glasses: u32,
}

impl TappedJson {
    fn new(keg: Tapped) -> Self {
        Self {
            glasses: keg.glasses(),
            keg: keg.tag,
            batch: keg.name,
            since: keg.since.day(),
            left_l: keg.left.get(),
        }
    }
}

#[derive(Debug, Serialize)]
struct LotJson {
    lot: i64,
    batch: String,
    class: &'static str,
    size_l: f64,
    filled: u32,
    left: u32,
    place: String,
    bottled: NaiveDate,
    ready_from: Option<NaiveDate>,
    drink_by: Option<NaiveDate>,
    in_the_light: bool,
    overridden: Vec<OverrideJson>,
    score: Option<f64>,
    tastings: usize,
}

#[derive(Debug, Serialize)]
struct OverrideJson {
    hold: Option<&'static str>,
    reason: String,
}

impl OverrideJson {
    fn new(one: &Override) -> Self {
        Self {
            hold: one.kind.map(HoldKind::word),
            reason: one.reason.clone(),
        }
    }
}

impl LotJson {
    fn new(l: &CellarLot, supplies: &Supplies, household: &Household) -> Self {
        let score = cellar::mean_score(supplies.cellar.tastings_of(l.batch.id));
        Self {
            lot: l.lot.id.0,
            batch: l.batch.name.clone(),
            class: l.lot.class.word(),
            size_l: l.lot.size.get(),
            filled: l.lot.count,
            left: l.left(),
            place: household
                .place(l.lot.place)
                .map_or_else(String::new, |p| p.name.clone()),
            bottled: l.lot.bottled.day(),
            ready_from: l.lot.ready_from,
            drink_by: l.lot.drink_by,
            in_the_light: cellar::in_the_light(&l.lot, &household.places),
            overridden: l.overrides.iter().map(OverrideJson::new).collect(),
            score: score.map(|s| s.0),
            tastings: score.map_or(0, |s| s.1),
        }
    }
}

#[derive(Debug, Serialize)]
struct CompareJson {
    batches: Vec<StoryJson>,
}

#[derive(Debug, Serialize)]
struct StoryJson {
    name: String,
    style: &'static str,
    stage: &'static str,
    pitched: NaiveDate,
    yeast: Option<String>,
    sugar: Option<String>,
    mean_c: Option<f64>,
    fed: usize,
    og: Option<f64>,
    sg: Option<f64>,
    alcohol: Option<f64>,
    days_to_finish: Option<f64>,
    stuck: Option<bool>,
    score: Option<f64>,
    tastings: usize,
    note: String,
    tasted: String,
    trend: Vec<(f64, f64)>,
}

impl StoryJson {
    fn new(s: &Story) -> Self {
        Self {
            name: s.name.clone(),
            style: s.style.word(),
            stage: s.stage.word(),
            pitched: s.pitched.day(),
            yeast: s.yeast.clone(),
            sugar: s.sugar.clone(),
            mean_c: s.temperature.map(Celsius::get),
            fed: s.fed,
            og: s.og.map(Gravity::get),
            sg: s.last.map(Gravity::get),
            alcohol: s.alcohol.map(Abv::get),
            days_to_finish: s.days_to_finish,
            stuck: s.stuck,
            score: s.score.map(|x| x.0),
            tastings: s.score.map_or(0, |x| x.1),
            note: s.note.clone(),
            tasted: s.tasted.clone(),
            trend: s.trend.clone(),
        }
    }
}
