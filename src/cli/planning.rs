//! `skep plan`: a batch planned from words or from a file.

use super::args::Plan as Args;
use super::exits::Exit;
use super::report::shown;
use super::shell::Shell;
use super::trouble::Trouble;
use super::{find, routines};
use crate::app::planner::last_time;
use crate::app::{measure, say};
use crate::domain::deeds::Deed;
use crate::domain::plan::{
    Aim, Change, Outcome, Part, Plan, PlanVessel, Supplies, Surroundings, as_made, fitted, outcome,
    scaled, warnings,
};
use crate::domain::records::{Fizz, Household, Settings, StepRule, Style};
use crate::domain::slip::parse_day;
use crate::domain::sums::ingredients::{self, Ingredient};
use crate::domain::text::safe;
use crate::domain::units::{Grams, Gravity, Litres};
use crate::engine::facts;
use crate::engine::season::{latest_pitch, lay, usual_days};
use crate::files;
use crate::files::output::{Kind, Target};
use crate::store::Store;
use crate::work;
use chrono::{Datelike, NaiveDate};
use serde::Serialize;

pub(super) fn plan(sh: &mut Shell<'_>, args: &Args) -> Result<Exit, Trouble> {
    // Without a store the plan is worked out all the same.
    let loaded = sh.load().ok();
    let empty = Household::default();
    let household = loaded.as_ref().map_or(&empty, |(_, h)| h);
    let store = loaded.as_ref().map(|(store, _)| store);
    let plan = build(sh, store, household, args)?;
    let rules = steps(sh, &plan, household)?;
    let supplies = match &loaded {
        Some((store, _)) => store.supplies().map_err(Trouble::store)?,
        None => Supplies::default(),
    };
    let around = surroundings(sh, household, &plan, &supplies);
    let out = outcome(&plan);
    let warned: Vec<String> = warnings(&plan, &out, &around)
        .iter()
        .map(crate::domain::plan::Warning::sentence)
        .collect();
    let days = days(&plan, &rules, &around, sh.now.day());
    if sh.json {
        let body = PlanJson::new(&plan, &out, &warned, &days);
        sh.print("plan", body)?;
    } else {
        text(sh, household, &plan, &out, &warned, &days)?;
        if let Some(last) = remembered(sh, store, household, &plan)? {
            writeln!(sh.out, "\n{}", safe(&last))?;
        }
    }
    if let Some(path) = &args.write {
        let target = Target {
            path,
            kind: Kind::PLAN,
            replace: args.replace,
            store: &sh.paths.store,
        };
        files::plan::save(&plan, &target)?;
        sh.saved = Some(format!("written to {}", shown(path)));
        if !sh.json {
            writeln!(sh.out, "Written to {}.", shown(path))?;
        }
    }
    if args.keep {
        keep(sh, plan, rules)?;
    }
    Ok(Exit::Fine)
}

fn keep(sh: &mut Shell<'_>, mut plan: Plan, steps: Vec<StepRule>) -> Result<(), Trouble> {
    if plan.name.trim().is_empty() {
        plan.name = format!("{} {}", plan.variety, plan.style);
    }
    let mut store = sh.open()?;
    let deed = Deed::KeepPlan {
        batch: None,
        plan: Box::new(plan),
        steps,
    };
    if sh.json {
        // One report a run: the plan was it.
        sh.save(&mut store, &deed)?;
        return Ok(());
    }
    sh.carry_out(&mut store, &deed)?;
    Ok(())
}

fn refused(why: impl std::fmt::Display) -> Trouble {
    Trouble::usage(why.to_string())
}

/// The plan that the words say.
fn build(
    sh: &Shell<'_>,
    store: Option<&Store>,
    household: &Household,
    args: &Args,
) -> Result<Plan, Trouble> {
    let units = household.settings.units;
    let mut plan = match (&args.from, &args.again) {
        (None, Some(name)) => again(sh, store, household, name)?,
        (Some(path), _) => files::plan::load(path).map_err(|e| match e {
            files::plan::PlanFileError::File { .. } => Trouble::broken(e),
            other => refused(other),
        })?,
        (None, None) => Plan::begin(style(args.style.as_deref())?, None),
    };
    if let Some(tag) = &args.vessel {
        let vessel = find::vessel(household, tag)?;
        let vessel = PlanVessel {
            tag: vessel.tag.clone(),
            kind: vessel.kind,
            capacity: vessel.capacity,
        };
        if (args.from.is_some() || args.again.is_some()) && args.volume.is_none() {
            // A plan that is there already is scaled to the vessel.
            let volume = plan.volume_for(vessel.capacity);
            plan = scaled(&plan, Some(vessel), volume);
        } else {
            plan = Plan {
                vessel: Some(vessel.clone()),
                ..plan
            };
            let gallon = Litres::known(3.785411784);
            let near = (vessel.capacity.get() / gallon.get() - 1.0).abs() < 0.15;
            let volume = if near && vessel.capacity >= gallon {
                gallon
            } else {
                plan.volume_for(vessel.capacity)
            };
            plan = plan.change(Change::Volume(volume)).map_err(refused)?;
        }
    }
    plan = chosen(sh, args, plan)?;
    if let Some(text) = &args.volume {
        let volume = measure::volume(text, units).map_err(Trouble::usage)?;
        plan = plan.change(Change::Volume(volume)).map_err(refused)?;
    }
    plan = parts(household, args, plan)?;
    if let Some(aim) = aim(args)? {
        plan = plan.change(Change::Aim(aim)).map_err(refused)?;
    }
    Ok(plan)
}

/// An earlier batch as it was made, with its notes.
fn again(
    sh: &Shell<'_>,
    store: Option<&Store>,
    household: &Household,
    name: &str,
) -> Result<Plan, Trouble> {
    let none = || Trouble::not_found(format!("there is no batch '{name}'"));
    let store = store.ok_or_else(none)?;
    let all = store.all_batches().map_err(Trouble::store)?;
    let lies = household
        .vessel_by_tag(name)
        .and_then(|v| household.in_vessel(v.id))
        .map(|d| d.batch.id);
    let id = all
        .iter()
        .find(|b| b.name.eq_ignore_ascii_case(name))
        .map(|b| b.id)
        .or(lies)
        .ok_or_else(none)?;
    let dossier = store.dossier(id, sh.now).map_err(Trouble::store)?;
    let dossier = dossier.ok_or_else(none)?;
    let base = store.plan(id).map_err(Trouble::store)?;
    let base = base.unwrap_or_else(|| Plan::begin(dossier.batch.style, None));
    let told = facts::told(household, &dossier, None, sh.now);
    let original = told.gravities.first().map(|(_, g)| *g);
    let mut plan = as_made(&dossier, original, &base);
    plan.name = format!("{} again", dossier.batch.name);
    Ok(plan)
}

fn style(word: Option<&str>) -> Result<Style, Trouble> {
    let word = word.unwrap_or("mead").to_lowercase();
    Style::from_word(&word).ok_or_else(|| {
        let all: Vec<&str> = Style::ALL.iter().map(|s| s.word()).collect();
        Trouble::usage(format!(
            "'{word}' is no style; accepted: {}",
            all.join(", ")
        ))
    })
}

/// Yeast, routine, gas, days, words.
fn chosen(sh: &Shell<'_>, args: &Args, mut plan: Plan) -> Result<Plan, Trouble> {
    if let Some(key) = &args.yeast {
        let (all, _) = files::yeasts::load(Some(&sh.paths.yeasts()));
        let class = all.iter().find(|y| y.key.eq_ignore_ascii_case(key));
        let class = class.ok_or_else(|| {
            let keys: Vec<&str> = all.iter().map(|y| y.key.as_str()).collect();
            Trouble::not_found(format!(
                "there is no yeast '{key}'; there are {}",
                keys.join(", ")
            ))
        })?;
        plan = plan.change(Change::Yeast(class.clone())).map_err(refused)?;
    }
    if let Some(key) = &args.routine {
        let (all, _) = routines::load(sh);
        plan.routine.clone_from(&routines::find(&all, key)?.key);
    }
    if let Some(word) = &args.gas {
        plan.fizz = Fizz::from_word(&word.to_lowercase()).ok_or_else(|| {
            let all: Vec<&str> = Fizz::ALL.iter().map(|f| f.word()).collect();
            Trouble::usage(format!("'{word}' is no gas; accepted: {}", all.join(", ")))
        })?;
    }
    let today = sh.zone.localise(sh.now).day();
    if let Some(day) = &args.pitch {
        plan.pitch_on = Some(parse_day(day, today)?);
    }
    if let Some(day) = &args.feast {
        plan.feast_on = Some(parse_day(day, today)?);
    }
    if let Some(name) = &args.name {
        plan.name.clone_from(name);
    }
    if let Some(note) = &args.note {
        plan.note.clone_from(note);
    }
    Ok(plan)
}

/// `honey=2.5lb`: the part of that key or name, or one more.
fn parts(household: &Household, args: &Args, mut plan: Plan) -> Result<Plan, Trouble> {
    let table = ingredients::table();
    for word in &args.part {
        let Some((name, amount)) = word.split_once('=') else {
            return Err(Trouble::usage(format!(
                "'{word}' is no part; accepted: honey=2.5lb, raspberry=900g"
            )));
        };
        let mass = measure::mass(amount, household.settings.units).map_err(Trouble::usage)?;
        let there = plan
            .parts
            .iter()
            .position(|p| p.key.eq_ignore_ascii_case(name) || p.name.eq_ignore_ascii_case(name));
        let change = match there {
            Some(at) => Change::Mass(at, mass),
            None => Change::Add(part(table, name, mass)?),
        };
        plan = plan.change(change).map_err(refused)?;
    }
    Ok(plan)
}

fn part(table: &[Ingredient], name: &str, mass: Grams) -> Result<Part, Trouble> {
    let found = table
        .iter()
        .find(|i| i.key.eq_ignore_ascii_case(name) || i.name.eq_ignore_ascii_case(name));
    found.and_then(|i| Part::of(i, mass)).ok_or_else(|| {
        let keys: Vec<&str> = table
            .iter()
            .map(|i| i.key.as_str())
            .filter(|k| *k != "water")
            .collect();
        Trouble::not_found(format!(
            "there is no ingredient '{name}'; there are {}",
            keys.join(", ")
        ))
    })
}

fn aim(args: &Args) -> Result<Option<Aim>, Trouble> {
    let gravity = |text: &String| measure::gravity(text).map_err(Trouble::usage);
    Ok(if let Some(og) = &args.og {
        Some(Aim::Original(gravity(og)?))
    } else if let Some(fg) = &args.sweet {
        Some(Aim::Sweetness(gravity(fg)?))
    } else if let Some(abv) = &args.alcohol {
        Some(Aim::Alcohol(measure::alcohol(abv).map_err(Trouble::usage)?))
    } else {
        None
    })
}

/// The routine's steps with this plan's amounts; none where it has no routine.
fn steps(sh: &Shell<'_>, plan: &Plan, household: &Household) -> Result<Vec<StepRule>, Trouble> {
    let (all, _) = routines::load(sh);
    if plan.routine.is_empty() {
        return Ok(Vec::new());
    }
    let routine = routines::find(&all, &plan.routine)?;
    Ok(fitted(
        routine,
        plan,
        &outcome(plan),
        household.settings.units,
    ))
}

fn surroundings(
    sh: &Shell<'_>,
    household: &Household,
    plan: &Plan,
    supplies: &Supplies,
) -> Surroundings {
    let vessel = plan
        .vessel
        .as_ref()
        .and_then(|v| household.vessel_by_tag(&v.tag));
    let place = vessel.and_then(|v| household.place(v.place));
    let holds = vessel.and_then(|v| household.in_vessel(v.id));
    Surroundings {
        place: place.map_or_else(String::new, |p| p.name.clone()),
        temperature: place.and_then(|p| p.usual_temp),
        taken: holds.map(|d| (d.batch.name.clone(), None)),
        pantry: supplies.pantry.clone(),
        today: sh.now.day(),
        made: supplies.made_in(sh.now.day().year(), plan.style == Style::Beer),
        adults: household.settings.adults,
    }
}

/// Steps on their days, and the latest pitch for a feast.
struct Days {
    steps: Vec<DayJson>,
    pitch_by: Option<NaiveDate>,
}

fn days(plan: &Plan, rules: &[StepRule], around: &Surroundings, today: NaiveDate) -> Days {
    let ferment = usual_days(plan.style, Some(plan.original()), around.temperature);
    let start = plan.pitch_on.unwrap_or(today);
    let mut steps: Vec<DayJson> = lay(rules, start, ferment)
        .iter()
        .filter_map(|l| {
            let rule = rules.get(l.index)?;
            Some(DayJson {
                day: l.opens,
                forecast: l.forecast,
                step: rule.key.clone(),
                title: rule.title.clone(),
                amount: rule.amount.clone(),
            })
        })
        .collect();
    steps.sort_by_key(|s| s.day);
    Days {
        steps,
        pitch_by: plan.feast_on.and_then(|f| latest_pitch(rules, ferment, f)),
    }
}

/// What was written of a batch like it.
fn remembered(
    sh: &Shell<'_>,
    store: Option<&Store>,
    household: &Household,
    plan: &Plan,
) -> Result<Option<String>, Trouble> {
    let Some(store) = store else {
        return Ok(None);
    };
    let stories = work::stories(store, household, sh.now)?;
    Ok(last_time(&stories, plan, None, sh.now.day()))
}

fn text(
    sh: &mut Shell<'_>,
    household: &Household,
    plan: &Plan,
    out: &Outcome,
    warned: &[String],
    days: &Days,
) -> Result<(), Trouble> {
    numbers(sh, &household.settings, plan, out)?;
    let out_of = |text: &str| safe(text);
    if !warned.is_empty() {
        writeln!(sh.out)?;
        for line in warned {
            writeln!(sh.out, "! {}", out_of(line))?;
        }
    }
    if let Some(by) = days.pitch_by {
        writeln!(sh.out, "Pitch by {by} for the feast.")?;
    }
    if !days.steps.is_empty() {
        writeln!(sh.out)?;
    }
    for step in &days.steps {
        let about = if step.forecast { "about " } else { "" };
        let amount = if step.amount.is_empty() {
            String::new()
        } else {
            format!(" ({})", step.amount)
        };
        let line = format!("{}{amount}", step.title);
        writeln!(sh.out, "{about:>6}{}  {}", step.day, out_of(&line))?;
    }
    Ok(())
}

fn numbers(
    sh: &mut Shell<'_>,
    settings: &Settings,
    plan: &Plan,
    out: &Outcome,
) -> Result<(), Trouble> {
    let (units, scale) = (settings.units, settings.gravity);
    let g = |g: Gravity| say::gravity_number(g, scale);
    let mut lines = vec![
        (
            "original",
            format!(
                "{} ({} to {})",
                say::gravity(out.original.likely, scale),
                g(out.original.low),
                g(out.original.high)
            ),
        ),
        (
            "ends at",
            format!(
                "{} ({} to {})",
                say::gravity(out.finally.likely, scale),
                g(out.finally.low),
                g(out.finally.high)
            ),
        ),
        (
            "alcohol",
            format!(
                "{} ({:.1} to {:.1})",
                say::abv(out.alcohol.likely),
                out.alcohol.low.get(),
                out.alcohol.high.get()
            ),
        ),
        ("made up to", say::volume(plan.volume, units)),
    ];
    let names: Vec<String> = out.parts.iter().map(|p| safe(&p.name)).collect();
    for (part, name) in out.parts.iter().zip(&names) {
        lines.push((
            name,
            format!(
                "{}, {}",
                say::mass(part.mass, units),
                say::volume(part.volume, units)
            ),
        ));
    }
    if out.water.get() > 1.0 {
        lines.push((
            "water",
            format!(
                "{}, {}",
                say::volume(out.water_volume, units),
                say::mass(out.water, units)
            ),
        ));
    }
    if let Some(aim) = out.fed.aim {
        let each = out.fed.each_in_words();
        lines.push((
            "nitrogen",
            format!(
                "{:.0} mg/L wanted, {:.0} there; {} times {each}",
                aim.get(),
                out.fed.brings.get(),
                out.fed.feedings
            ),
        ));
    }
    lines.push(("bottles", out.bottles.to_string()));
    if out.cost.total > 0.0 {
        let each = out
            .cost
            .per_bottle
            .map_or_else(String::new, |p| format!(", {p:.2} a bottle"));
        lines.push(("cost", format!("{:.2}{each}", out.cost.total)));
    }
    if let Some(room) = out.headspace {
        lines.push((
            "headspace",
            format!("{:.0} % of the vessel", 100.0 * room.share),
        ));
    }
    for (label, value) in lines {
        writeln!(sh.out, "{label:<18} {}", safe(&value))?;
    }
    Ok(())
}

#[derive(Debug, Serialize)]
struct DayJson {
    day: NaiveDate,
    forecast: bool,
    step: String,
    title: String,
    amount: String,
}

#[derive(Debug, Serialize)]
struct SpanJson {
    low: f64,
    likely: f64,
    high: f64,
}

#[derive(Debug, Serialize)]
struct LevelJson {
    what: String,
    volume_l: f64,
    of_vessel: Option<f64>,
}

#[derive(Debug, Serialize)]
struct PartJson {
    name: String,
    mass_g: f64,
    volume_l: f64,
}

#[derive(Debug, Serialize)]
struct FeedJson {
    nutrient: String,
    total_g: f64,
    each_g: f64,
}

/// A plan and what it leads to, for programs.
#[derive(Debug, Serialize)]
struct PlanJson<'a> {
    name: &'a str,
    style: &'static str,
    vessel: Option<&'a str>,
    volume_l: f64,
    original: SpanJson,
    ends_at: SpanJson,
    alcohol: SpanJson,
    water_g: f64,
    parts: Vec<PartJson>,
    levels: Vec<LevelJson>,
    headspace: Option<f64>,
    nitrogen_wanted: Option<f64>,
    nitrogen_there: f64,
    feedings: u32,
    feed: Vec<FeedJson>,
    bottles: u32,
    cost: f64,
    warnings: &'a [String],
    days: &'a [DayJson],
    pitch_by: Option<NaiveDate>,
}

fn round(x: f64, digits: i32) -> f64 {
    let step = 10f64.powi(digits);
    (x * step).round() / step
}

impl<'a> PlanJson<'a> {
    fn new(plan: &'a Plan, out: &Outcome, warned: &'a [String], days: &'a Days) -> Self {
        let gravity = |r: &crate::domain::plan::Range<Gravity>| SpanJson {
            low: round(r.low.get(), 4),
            likely: round(r.likely.get(), 4),
            high: round(r.high.get(), 4),
        };
        Self {
            name: &plan.name,
            style: plan.style.word(),
            vessel: plan.vessel.as_ref().map(|v| v.tag.as_str()),
            volume_l: round(plan.volume.get(), 4),
            original: gravity(&out.original),
            ends_at: gravity(&out.finally),
            alcohol: SpanJson {
                low: round(out.alcohol.low.get(), 2),
                likely: round(out.alcohol.likely.get(), 2),
                high: round(out.alcohol.high.get(), 2),
            },
            water_g: round(out.water.get(), 1),
            parts: out
                .parts
                .iter()
                .map(|p| PartJson {
                    name: p.name.clone(),
                    mass_g: round(p.mass.get(), 1),
                    volume_l: round(p.volume.get(), 4),
                })
                .collect(),
            levels: out
                .levels
                .iter()
                .map(|l| LevelJson {
                    what: l.what.clone(),
                    volume_l: round(l.volume.get(), 4),
                    of_vessel: l.of_vessel.map(|s| round(s, 4)),
                })
                .collect(),
            headspace: out.headspace.map(|h| round(h.share, 4)),
            nitrogen_wanted: out.fed.aim.map(|a| round(a.get(), 1)),
            nitrogen_there: round(out.fed.brings.get(), 1),
            feedings: out.fed.feedings,
            feed: out
                .fed
                .portions
                .iter()
                .map(|p| FeedJson {
                    nutrient: p.food.name.clone(),
                    total_g: round(p.total.get(), 2),
                    each_g: round(p.each.get(), 2),
                })
                .collect(),
            bottles: out.bottles,
            cost: round(out.cost.total, 2),
            warnings: warned,
            days: &days.steps,
            pitch_by: days.pitch_by,
        }
    }
}
