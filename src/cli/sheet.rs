//! `skep sheet`: the batch sheet and labels, as pages to print.

use super::args_cellar::Sheet as Args;
use super::exits::Exit;
use super::report::text::{entry, step_when};
use super::shell::Shell;
use super::trouble::Trouble;
use crate::app::{cautions, overridden, say};
use crate::domain::allergens;
use crate::domain::records::{
    Batch, BatchId, CellarLot, Dossier, Fate, Fizz, Household, Lot, Stage, StepStatus,
};
use crate::domain::units::{Gravity, Moment};
use crate::engine::{self, Account, Morning, OriginalGravity, bottling, cellar};
use crate::files::output::{Kind, Target, write_output};
use crate::files::sheet::{
    Label, Line, Sheet, SheetTrend, Tick, label_text, labels_html, sheet_html,
};
use crate::store::Store;
use crate::work::learned;

/// One batch with what is to be printed of it.
struct Page<'a> {
    household: &'a Household,
    dossier: Dossier,
    morning: Morning,
    /// Names of all that went in.
    given: Vec<String>,
    /// Its lots with bottles left that were filled against a hold.
    overridden: Vec<CellarLot>,
    now: Moment,
}

pub(super) fn sheet(sh: &mut Shell<'_>, args: &Args) -> Result<Exit, Trouble> {
    let (store, household) = sh.load()?;
    let batch = named(&store, &household, &args.batch)?;
    let page = page(sh, &store, &household, batch)?;
    let text = if args.labels || args.text {
        let labels = labels(&page)?;
        if args.labels {
            labels_html(&labels)
        } else {
            labels
                .iter()
                .map(|(l, _)| label_text(l))
                .collect::<Vec<_>>()
                .join("\n")
        }
    } else {
        sheet_html(&whole(&page, &store)?)
    };
    let Some(path) = &args.into else {
        sh.out.write_all(text.as_bytes())?;
        return Ok(Exit::Fine);
    };
    let target = Target {
        path,
        kind: if args.text { Kind::TEXT } else { Kind::PAGE },
        replace: args.replace,
        store: &sh.paths.store,
    };
    write_output::<Trouble>(&target, |out| Ok(out.write_all(text.as_bytes())?))?;
    sh.say(&store, &format!("written to {}", path.display()))
}

/// A batch by its vessel or its name, ended ones too.
fn named(store: &Store, household: &Household, word: &str) -> Result<BatchId, Trouble> {
    if let Some(dossier) = household
        .vessel_by_tag(word)
        .and_then(|v| household.in_vessel(v.id))
    {
        return Ok(dossier.batch.id);
    }
    let name = word.trim().to_lowercase();
    let all = store.all_batches().map_err(Trouble::store)?;
    let found: Vec<&Batch> = all
        .iter()
        .filter(|b| b.name.to_lowercase() == name)
        .collect();
    match found.as_slice() {
        // The youngest comes first.
        [first, ..] => Ok(first.id),
        [] => Err(Trouble::not_found(format!("there is no batch '{word}'"))),
    }
}

fn page<'a>(
    sh: &Shell<'_>,
    store: &Store,
    household: &'a Household,
    batch: BatchId,
) -> Result<Page<'a>, Trouble> {
    let dossier = store
        .dossier(batch, sh.now)
        .map_err(Trouble::store)?
        .ok_or_else(|| Trouble::not_found("that batch is gone"))?;
    let history = learned(store, household, sh.now)?;
    let morning = engine::morning_of(household, &dossier, &history, (sh.now, sh.zone));
    let plan = store.plan(batch).map_err(Trouble::store)?;
    let parts = plan
        .iter()
        .flat_map(|p| p.parts.iter().map(|p| p.name.as_str()));
    let given = dossier.events.iter().map(|e| e.substance.as_str());
    let given = given.chain(parts).map(str::to_owned).collect();
    let mut overridden = store.overridden().map_err(Trouble::store)?;
    overridden.retain(|l| l.lot.batch == batch);
    Ok(Page {
        overridden,
        household,
        morning,
        given,
        now: sh.now,
        dossier,
    })
}

impl Page<'_> {
    /// Original gravity, as measured or planned.
    fn original(&self) -> Option<Gravity> {
        let account = self.morning.accounts.first()?;
        account.told.facts.og.map(OriginalGravity::gravity)
    }

    /// What a figure is called: with the vessel where the batch lies in several.
    fn of(&self, what: &str, account: &Account) -> String {
        if self.morning.accounts.len() > 1 {
            format!("{what} in {}", account.tag)
        } else {
            what.to_owned()
        }
    }

    /// What someone may have to avoid in it.
    fn contains(&self, sulfite: bool) -> Vec<String> {
        let given = self.given.iter().map(String::as_str);
        allergens::contains(self.dossier.batch.style, given, sulfite)
    }
}

/// What it is, in words: `still traditional mead`.
fn kind(batch: &Batch, fizz: Option<Fizz>) -> String {
    [
        fizz.map_or("", |f| f.word()),
        batch.variety.trim(),
        batch.style.word(),
    ]
    .into_iter()
    .filter(|w| !w.is_empty())
    .collect::<Vec<_>>()
    .join(" ")
}

fn labels(page: &Page<'_>) -> Result<Vec<(Label, usize)>, Trouble> {
    let batch = &page.dossier.batch;
    let units = page.household.settings.units;
    let today = page.now.day();
    let date = |d: chrono::NaiveDate| d.format("%-d %b %Y").to_string();
    let labels: Vec<(Label, usize)> = page
        .dossier
        .lots
        .iter()
        .map(|lot| {
            let holds = bottling::filled(page.household, &page.dossier, lot);
            let label = Label {
                name: batch.name.clone(),
                kind: kind(batch, holds.fizz),
                strength: holds
                    .alcohol
                    .map_or_else(String::new, |a| format!("{} vol", say::abv(a))),
                size: say::volume(lot.size, units),
                contains: page.contains(holds.sulfite),
                bottled: date(lot.bottled.day()),
                ready: lot
                    .ready_from
                    .filter(|d| *d > today)
                    .map_or_else(String::new, date),
                caution: page
                    .overridden
                    .iter()
                    .find(|l| l.lot.id == lot.id)
                    .and_then(|l| overridden::against(&l.overrides))
                    .unwrap_or_default(),
                lot: format!("lot {}", lot.id.0),
            };
            (label, lot.count as usize)
        })
        .collect();
    if labels.is_empty() {
        return Err(Trouble::not_found(format!(
            "'{}' is not in bottles yet: nothing to label",
            batch.name
        )));
    }
    Ok(labels)
}

fn whole(page: &Page<'_>, store: &Store) -> Result<Sheet, Trouble> {
    let batch = &page.dossier.batch;
    let ledger = store.ledger(batch.id).map_err(Trouble::store)?;
    let tags: Vec<&str> = page
        .dossier
        .vessels()
        .filter_map(|v| page.household.vessel(v))
        .map(|v| v.tag.as_str())
        .collect();
    let mut cautions = Vec::new();
    let sulfite = bottling::may_hold_sulfite(&page.dossier, None, page.now);
    if sulfite {
        cautions.push(cautions::SULFITE.to_owned());
    }
    if matches!(batch.stage, Stage::Bottled) {
        cautions.push(cautions::TASTE.to_owned());
    } else {
        cautions.push(cautions::BOTTLES.to_owned());
    }
    cautions.extend(page.overridden.iter().filter_map(overridden::of_lot));
    let kegs = cellar::kegs(page.household);
    let kegs = kegs
        .iter()
        .filter(|k| k.batch == batch.id && k.glasses() > 0);
    cautions.extend(kegs.filter_map(overridden::of_keg));
    Ok(Sheet {
        title: batch.name.clone(),
        subtitle: format!(
            "{}, {}{}",
            kind(batch, fizz(page)),
            batch.stage,
            match tags.as_slice() {
                [] => String::new(),
                tags => format!(", in {}", tags.join(" and ")),
            }
        ),
        facts: facts_of(page),
        contains: page.contains(sulfite),
        trend: trend(page),
        plan: plan(page),
        ledger: ledger
            .iter()
            .filter(|l| l.fate == Fate::Stands)
            .map(|l| {
                Line::new(
                    l.at.datetime().format("%-d %b %Y %H:%M").to_string(),
                    entry(&l.entry, page.household, page.now),
                )
            })
            .collect(),
        cautions,
        printed: format!(
            "Printed on {} by skep. Home-made, not for sale; for adults. Check your local law.",
            page.now.datetime().format("%-d %b %Y %H:%M")
        ),
    })
}

fn facts_of(page: &Page<'_>) -> Vec<Line> {
    let batch = &page.dossier.batch;
    let settings = &page.household.settings;
    let date = |at: Moment| at.day().format("%-d %b %Y").to_string();
    let gravity = |g| say::gravity(g, settings.gravity);
    let lots = &page.dossier.lots;
    let og = page.original();
    let whole = batch.bottled.is_none() || !apart(page);
    let head = [
        ("pitched", batch.pitched.map(date)),
        ("yeast", batch.yeast.clone()),
        ("original gravity", og.map(gravity)),
    ];
    let each = page.morning.accounts.iter();
    let figures = each.flat_map(|account| {
        let volume = account.volume.map(|v| say::volume(v, settings.units));
        let alcohol = account.figures.alcohol.filter(|_| whole);
        let expected = account.figures.expected_end.map(gravity);
        [
            (page.of("volume", account), volume),
            (
                page.of("last gravity", account),
                account.last.map(|l| gravity(l.corrected)),
            ),
            (
                page.of("expected final gravity", account),
                expected.filter(|_| batch.bottled.is_none()),
            ),
            (
                page.of("alcohol", account),
                alcohol.map(|a| format!("{} vol", say::abv(a))),
            ),
        ]
    });
    let rest = [
        ("bottled", batch.bottled.map(date)),
        (
            "bottles",
            (!lots.is_empty() && !apart(page)).then(|| bottles(page)),
        ),
        (
            "ready from",
            lots.iter()
                .filter_map(|l| l.ready_from)
                .min()
                .map(|d| d.format("%-d %b %Y").to_string()),
        ),
        (
            "best until",
            lots.iter()
                .filter_map(|l| l.drink_by)
                .max()
                .map(|d| d.format("%-d %b %Y").to_string()),
        ),
        ("note", (!batch.note.is_empty()).then(|| batch.note.clone())),
    ];
    let lots_apart = lots.iter().filter(|_| apart(page)).map(|l| part(page, l));
    let named = |(what, value): (&str, Option<String>)| (what.to_owned(), value);
    head.into_iter()
        .map(named)
        .chain(figures)
        .chain(rest.into_iter().map(named))
        .filter_map(|(what, value)| value.map(|v| Line::new(what, v)))
        .chain(lots_apart)
        .collect()
}

/// Whether parts of it were bottled at different times, each a drink of its own.
fn apart(page: &Page<'_>) -> bool {
    let last = page.dossier.batch.bottled;
    page.dossier.lots.iter().any(|l| Some(l.bottled) != last)
}

/// The gas of all of it, or meant for what is not bottled; none where all parts
/// were bottled apart.
fn fizz(page: &Page<'_>) -> Option<Fizz> {
    let batch = &page.dossier.batch;
    (batch.bottled.is_none() || !apart(page)).then_some(batch.fizz)
}

/// One of several lots, and what is in it.
fn part(page: &Page<'_>, lot: &Lot) -> Line {
    let holds = bottling::filled(page.household, &page.dossier, lot);
    let units = page.household.settings.units;
    let words = [
        Some(format!("{} of {}", lot.count, say::volume(lot.size, units))),
        holds.fizz.map(|f| f.word().to_owned()),
        holds.alcohol.map(|a| format!("{} vol", say::abv(a))),
        (!holds.sulfite).then(|| "no sulfite added".to_owned()),
        Some(format!("bottled {}", lot.bottled.day().format("%-d %b %Y"))),
    ];
    Line::new(
        format!("lot {}", lot.id.0),
        words.into_iter().flatten().collect::<Vec<_>>().join(", "),
    )
}

fn bottles(page: &Page<'_>) -> String {
    let units = page.household.settings.units;
    page.dossier
        .lots
        .iter()
        .map(|l| format!("{} of {}", l.count, say::volume(l.size, units)))
        .collect::<Vec<_>>()
        .join(", ")
}

fn plan(page: &Page<'_>) -> Vec<Line> {
    page.dossier
        .steps
        .iter()
        .map(|s| {
            let what = step_when(s, &page.morning);
            let amount = if s.rule.amount.is_empty() {
                String::new()
            } else {
                format!(": {}", s.rule.amount)
            };
            Line::new(what, format!("{}{amount}", s.rule.title))
        })
        .collect()
}

fn trend(page: &Page<'_>) -> Option<SheetTrend> {
    let pitched = page.dossier.batch.pitched?;
    let account = page.morning.accounts.first()?;
    let points: Vec<(f64, f64)> = account
        .told
        .gravities
        .iter()
        .map(|(at, g)| (at.days_since(pitched), g.get()))
        .collect();
    if points.is_empty() {
        return None;
    }
    let curve = account
        .assessment
        .curve
        .iter()
        .map(|p| {
            let g = &p.gravity;
            (
                p.at.days_since(pitched),
                [g.p10.get(), g.p50.get(), g.p90.get()],
            )
        })
        .collect();
    let ticks = page
        .dossier
        .steps
        .iter()
        .filter_map(|s| match s.status {
            StepStatus::Done { at } => Some(Tick {
                day: at.days_since(pitched).max(0.0),
                name: s.rule.title.clone(),
            }),
            _ => None,
        })
        .collect();
    Some(SheetTrend {
        points,
        curve,
        ticks,
    })
}
