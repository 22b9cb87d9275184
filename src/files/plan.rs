//! Plans as text that can be kept, shared and changed by hand.
//!
//! The format is skep's own, TOML, version 1 (`skep_plan = 1` on top). Amounts
//! are metric, gravities are SG 20/20, shares are 0 to 1, days are written
//! `2026-05-19`. What is left out takes its usual value: without `aim` the
//! parts decide, without the `mass_g` of the part that follows the aim it is
//! worked out. Unknown words are refused, so that a slip of the pen is seen.

use super::output::{OutputError, Target, checked, write_output};
use crate::domain::plan::{
    Aim, Bottling, Change, Feeding, Filler, Food, FoodClass, Locks, Part, PartKind, Plan,
    PlanError, PlanVessel, wine_yeast,
};
use crate::domain::records::{Demand, Fizz, Style, TempBand, VesselKind, YeastClass};
use crate::domain::units::{Abv, Celsius, Grams, Gravity, Litres, Share};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::path::Path;

/// The version written, and the newest read.
pub const VERSION: u32 = 1;

/// Characters of a line that an error shows.
const LONGEST: usize = 160;

/// Why a text is no plan. Its `Display` is the sentence for the maker.
#[derive(Debug, thiserror::Error)]
pub enum PlanFileError {
    /// The file can't be read.
    #[error("{path}: {reason}")]
    File {
        /// Which file.
        path: String,
        /// What the system says.
        reason: std::io::Error,
    },
    /// No TOML, or words or values that are not accepted; says line and reason.
    #[error("this is no plan: {0}")]
    Text(String),
    /// Made by a newer skep.
    #[error(
        "this plan has version {0}; this skep reads plans up to version {VERSION}. A newer skep reads it"
    )]
    Newer(u32),
    /// Its numbers contradict one another.
    #[error("the numbers of this plan do not go together: {0}")]
    Numbers(#[from] PlanError),
    /// A plan without any part.
    #[error("a plan needs at least one [[part]]")]
    Empty,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    skep_plan: u32,
    #[serde(default)]
    name: String,
    style: Style,
    #[serde(default)]
    variety: String,
    #[serde(default = "still")]
    fizz: Fizz,
    #[serde(default)]
    routine: String,
    volume_l: Litres,
    #[serde(default)]
    filler: Filler,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    aim: Option<Goal>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    lock: Vec<Lock>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pitch_on: Option<NaiveDate>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    feast_on: Option<NaiveDate>,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    note: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    vessel: Option<VesselRow>,
    #[serde(default, rename = "part")]
    parts: Vec<PartRow>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    yeast: Option<YeastRow>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    feeding: Option<FeedingRow>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    bottling: Option<BottlingRow>,
}

fn still() -> Fizz {
    Fizz::Still
}

#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Goal {
    Original(Gravity),
    Alcohol(Abv),
    Sweetness(Gravity),
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Lock {
    Volume,
    Aim,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct VesselRow {
    tag: String,
    kind: VesselKind,
    capacity_l: Litres,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct PartRow {
    #[serde(default, skip_serializing_if = "String::is_empty")]
    key: String,
    name: String,
    kind: PartKind,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    mass_g: Option<Grams>,
    solids: Share,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    sugar: Option<Share>,
    #[serde(default = "no_share")]
    insoluble: Share,
    #[serde(default)]
    nitrogen_mg_per_kg: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    price_per_kg: Option<f64>,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    locked: bool,
}

fn no_share() -> Share {
    Share::known(0.0)
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct YeastRow {
    key: String,
    title: String,
    #[serde(default)]
    styles: Vec<Style>,
    tolerance: Abv,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    attenuation: Option<f64>,
    demand: Demand,
    low_c: Celsius,
    high_c: Celsius,
    min_c: Celsius,
    max_c: Celsius,
    #[serde(default)]
    source: String,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct FeedingRow {
    portions: u32,
    #[serde(default, rename = "food")]
    foods: Vec<FoodRow>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct FoodRow {
    name: String,
    class: FoodClass,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    nitrogen_mg_per_g: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    most_g_per_l: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    price_per_kg: Option<f64>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct BottlingRow {
    size_l: Litres,
    loss: Share,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    price: Option<f64>,
}

/// The version alone, read before the rest so that a newer file is told apart
/// from a broken one.
#[derive(Deserialize)]
struct VersionOnly {
    skep_plan: Option<u32>,
}

/// Writes a plan as text.
pub fn write(plan: &Plan) -> String {
    let body = toml::to_string(&document(plan)).unwrap_or_default();
    format!("# A plan made with skep. Amounts are metric, gravities SG 20/20.\n{body}")
}

/// Reads a plan from text.
pub fn read(text: &str) -> Result<Plan, PlanFileError> {
    let trouble = |e: toml::de::Error| PlanFileError::Text(cut(e.to_string().trim_end()));
    let version: VersionOnly = toml::from_str(text).map_err(trouble)?;
    match version.skep_plan {
        Some(newer) if newer > VERSION => return Err(PlanFileError::Newer(newer)),
        Some(_) => {}
        None => {
            return Err(PlanFileError::Text(format!(
                "it does not begin with `skep_plan = {VERSION}`"
            )));
        }
    }
    let document: Document = toml::from_str(text).map_err(trouble)?;
    plan_of(document)
}

/// What the reader of TOML says shows the line as it is: a very long one is cut.
fn cut(said: &str) -> String {
    let lines: Vec<String> = said
        .lines()
        .map(|line| match line.char_indices().nth(LONGEST) {
            Some((end, _)) => format!("{}…", line.get(..end).unwrap_or_default()),
            None => line.to_owned(),
        })
        .collect();
    lines.join("\n")
}

/// Reads a plan from a file.
pub fn load(path: &Path) -> Result<Plan, PlanFileError> {
    let text = std::fs::read_to_string(path).map_err(|reason| PlanFileError::File {
        path: path.display().to_string(),
        reason,
    })?;
    read(&text)
}

/// Writes a plan to a file; an older one of that name is kept as `.old`, unless that is
/// the name of a store.
///
/// # Errors
/// Where the target may not be replaced, or the system refuses.
pub fn save(plan: &Plan, target: &Target<'_>) -> Result<(), OutputError> {
    let path = checked(target)?;
    if path.is_file() {
        let mut old = path.clone().into_os_string();
        old.push(".old");
        let text = std::fs::read(&path).map_err(|why| OutputError::File {
            path: path.display().to_string(),
            why,
        })?;
        let old = Target {
            path: Path::new(&old),
            replace: true,
            ..*target
        };
        write_output::<OutputError>(&old, |out| Ok(out.write_all(&text)?))?;
    }
    write_output(target, |out| Ok(out.write_all(write(plan).as_bytes())?))
}

fn document(plan: &Plan) -> Document {
    let mut lock = Vec::new();
    if plan.locks.volume {
        lock.push(Lock::Volume);
    }
    if plan.locks.aim {
        lock.push(Lock::Aim);
    }
    Document {
        skep_plan: VERSION,
        name: plan.name.clone(),
        style: plan.style,
        variety: plan.variety.clone(),
        fizz: plan.fizz,
        routine: plan.routine.clone(),
        volume_l: plan.volume,
        filler: plan.filler,
        aim: Some(match plan.aim {
            Aim::Original(g) => Goal::Original(g),
            Aim::Alcohol(a) => Goal::Alcohol(a),
            Aim::Sweetness(g) => Goal::Sweetness(g),
        }),
        lock,
        pitch_on: plan.pitch_on,
        feast_on: plan.feast_on,
        note: plan.note.clone(),
        vessel: plan.vessel.as_ref().map(|v| VesselRow {
            tag: v.tag.clone(),
            kind: v.kind,
            capacity_l: v.capacity,
        }),
        parts: plan.parts.iter().map(part_row).collect(),
        yeast: Some(yeast_row(&plan.yeast)),
        feeding: Some(FeedingRow {
            portions: plan.feeding.portions,
            foods: plan.feeding.foods.iter().map(food_row).collect(),
        }),
        bottling: Some(BottlingRow {
            size_l: plan.bottling.size,
            loss: plan.bottling.loss,
            price: plan.bottling.price,
        }),
    }
}

fn part_row(part: &Part) -> PartRow {
    PartRow {
        key: part.key.clone(),
        name: part.name.clone(),
        kind: part.kind,
        mass_g: Some(part.mass),
        solids: part.solids,
        sugar: Some(part.sugar),
        insoluble: part.insoluble,
        nitrogen_mg_per_kg: part.nitrogen,
        price_per_kg: part.price,
        locked: part.locked,
    }
}

fn food_row(food: &Food) -> FoodRow {
    FoodRow {
        name: food.name.clone(),
        class: food.class,
        nitrogen_mg_per_g: food.nitrogen,
        most_g_per_l: food.most,
        price_per_kg: food.price,
    }
}

fn yeast_row(yeast: &YeastClass) -> YeastRow {
    YeastRow {
        key: yeast.key.clone(),
        title: yeast.title.clone(),
        styles: yeast.styles.clone(),
        tolerance: yeast.tolerance,
        attenuation: yeast.attenuation,
        demand: yeast.demand,
        low_c: yeast.band.low,
        high_c: yeast.band.high,
        min_c: yeast.band.min,
        max_c: yeast.band.max,
        source: yeast.source.clone(),
    }
}

fn yeast_of(row: YeastRow) -> YeastClass {
    YeastClass {
        key: row.key,
        title: row.title,
        styles: row.styles,
        band: TempBand {
            low: row.low_c,
            high: row.high_c,
            min: row.min_c,
            max: row.max_c,
        },
        tolerance: row.tolerance,
        attenuation: row.attenuation,
        demand: row.demand,
        source: row.source,
    }
}

fn part_of(row: PartRow) -> Part {
    Part {
        key: row.key,
        name: row.name,
        kind: row.kind,
        mass: row.mass_g.unwrap_or(Grams::known(0.0)),
        solids: row.solids,
        sugar: row.sugar.unwrap_or(row.solids),
        insoluble: row.insoluble,
        nitrogen: row.nitrogen_mg_per_kg,
        price: row.price_per_kg,
        locked: row.locked,
    }
}

fn plan_of(document: Document) -> Result<Plan, PlanFileError> {
    if document.parts.is_empty() {
        return Err(PlanFileError::Empty);
    }
    let first = usize::from(document.filler == Filler::First);
    let open = document
        .parts
        .get(first)
        .is_some_and(|p| p.mass_g.is_none());
    let aim = document.aim.map(|goal| match goal {
        Goal::Original(g) => Aim::Original(g),
        Goal::Alcohol(a) => Aim::Alcohol(a),
        Goal::Sweetness(g) => Aim::Sweetness(g),
    });
    let locks = Locks {
        volume: document.lock.contains(&Lock::Volume),
        aim: document.lock.contains(&Lock::Aim),
    };
    let plan = Plan {
        name: document.name,
        style: document.style,
        variety: document.variety,
        fizz: document.fizz,
        vessel: document.vessel.map(|v| PlanVessel {
            tag: v.tag,
            kind: v.kind,
            capacity: v.capacity_l,
        }),
        volume: document.volume_l,
        aim: aim.unwrap_or(Aim::Original(Gravity::known(1.0))),
        locks,
        parts: document.parts.into_iter().map(part_of).collect(),
        filler: document.filler,
        yeast: document.yeast.map_or_else(wine_yeast, yeast_of),
        feeding: document.feeding.map_or_else(Feeding::default, |f| Feeding {
            portions: f.portions,
            foods: f
                .foods
                .into_iter()
                .map(|f| Food {
                    name: f.name,
                    class: f.class,
                    nitrogen: f.nitrogen_mg_per_g,
                    most: f.most_g_per_l,
                    price: f.price_per_kg,
                })
                .collect(),
        }),
        bottling: document
            .bottling
            .map_or_else(Bottling::default, |b| Bottling {
                size: b.size_l,
                loss: b.loss,
                price: b.price,
            }),
        routine: document.routine,
        pitch_on: document.pitch_on,
        feast_on: document.feast_on,
        note: document.note,
    };
    Ok(agreed(plan, aim, open)?)
}

/// Lets the numbers agree where the text leaves one open; a text whose
/// numbers agree already is taken as it stands.
fn agreed(plan: Plan, aim: Option<Aim>, open: bool) -> Result<Plan, PlanError> {
    match aim {
        Some(aim) if open || !plan.meets(aim) => plan.change(Change::Aim(aim)),
        Some(_) => Ok(plan),
        None => {
            let volume = plan.volume;
            let held = Locks {
                aim: false,
                ..plan.locks
            };
            let main = plan.main().map(|m| plan.parts[m].mass);
            let loose = Plan {
                locks: held,
                ..plan.clone()
            };
            let mut solved = match (plan.main(), main) {
                (Some(at), Some(mass)) => loose.change(Change::Mass(at, mass))?,
                _ => loose.change(Change::Volume(volume))?,
            };
            solved.locks = plan.locks;
            Ok(solved)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_plan_by_hand_is_solved_where_it_leaves_a_number_open() {
        let plan = read(
            "skep_plan = 1\nstyle = \"mead\"\nvolume_l = 3.785\naim = { alcohol = 12.0 }\n\
             [[part]]\nname = \"honey\"\nkind = \"honey\"\nsolids = 0.828\n",
        )
        .unwrap();
        assert!(plan.parts[0].mass.get() > 800.0);
        assert!((plan.ends().alcohol.get() - 12.0).abs() < 1e-3);
    }

    #[test]
    fn the_documented_example_is_a_plan() {
        let text: String = include_str!("../../docs/plans.md")
            .lines()
            .skip_while(|l| !l.contains("skep_plan = 1"))
            .take_while(|l| !l.starts_with("Without"))
            .filter_map(|l| l.strip_prefix("    ").or(l.is_empty().then_some("")))
            .collect::<Vec<_>>()
            .join("\n");
        let plan = read(&text).unwrap();
        assert_eq!(plan.name, "Fern");
        assert_eq!(plan.parts[0].price, Some(12.0));
        assert_eq!(plan.feeding.foods[0].most, Some(0.6));
    }

    #[test]
    fn without_an_aim_the_parts_decide() {
        let plan = read(
            "skep_plan = 1\nstyle = \"mead\"\nvolume_l = 3.785411784\n\
             [[part]]\nname = \"honey\"\nkind = \"honey\"\nmass_g = 1360.77711\nsolids = 0.829\n",
        )
        .unwrap();
        // 3 lb of honey with 82.9 % solids in a US gallon: Sugar Technologists
        // Manual density, 1.1139.
        let Aim::Original(og) = plan.aim else {
            panic!("{:?}", plan.aim)
        };
        assert!((og.get() - 1.1139).abs() < 5e-4, "{og:?}");
    }

    #[test]
    fn a_newer_plan_is_refused_by_a_sentence() {
        let said = read("skep_plan = 9\nfuture = true\n")
            .unwrap_err()
            .to_string();
        assert_eq!(
            said,
            "this plan has version 9; this skep reads plans up to version 1. A newer skep reads it"
        );
    }

    #[test]
    fn an_unknown_word_is_named_with_its_line() {
        let said = read("skep_plan = 1\nstyle = \"mead\"\nvolume_l = 4\nhunny = 3\n")
            .unwrap_err()
            .to_string();
        assert!(said.contains("line 4") && said.contains("hunny"), "{said}");
    }

    #[test]
    fn an_impossible_number_is_refused_with_the_accepted_range() {
        let said = read("skep_plan = 1\nstyle = \"mead\"\nvolume_l = -4\n")
            .unwrap_err()
            .to_string();
        assert!(said.contains("accepted is 0 to 2000 L"), "{said}");
    }

    fn any_plan() -> impl Strategy<Value = Plan> {
        (
            prop::sample::select(Style::ALL),
            1.0..60.0f64,
            1.03..1.13f64,
            ".{0,20}",
            any::<(bool, bool, bool)>(),
            prop::option::of(0i64..40_000),
        )
            .prop_map(|(style, litres, og, words, (a, b, c), day)| {
                let vessel = c.then(|| PlanVessel {
                    tag: "J\"7".to_owned(),
                    kind: VesselKind::Bucket,
                    capacity: Litres::clamped(litres * 1.2),
                });
                let plan = Plan::begin(style, vessel);
                let plan = plan
                    .change(Change::Volume(Litres::clamped(litres)))
                    .unwrap_or(plan);
                let mut plan = plan
                    .change(Change::Aim(Aim::Original(Gravity::clamped(og))))
                    .unwrap_or(plan);
                plan.note.clone_from(&words);
                plan.name = words;
                plan.locks = Locks { volume: a, aim: b };
                plan.pitch_on = day.and_then(|d| {
                    NaiveDate::from_ymd_opt(2000, 1, 1)?
                        .checked_add_signed(chrono::TimeDelta::days(d))
                });
                plan.parts[0].price = a.then_some(12.34);
                plan
            })
    }

    proptest! {
        #[test]
        fn a_plan_written_and_read_back_is_the_same(plan in any_plan()) {
            prop_assert_eq!(read(&write(&plan)).unwrap(), plan);
        }
    }
}
