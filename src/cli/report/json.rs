//! Reports for programs. The shape is promised: `assets/schema/report.schema.json`
//! describes it, and `format` grows when a field changes its meaning or goes.
//! Gravity is SG 20/20, temperature °C, mass g, volume L, alcohol % vol, times
//! RFC 3339, whatever units the maker likes to see.

use crate::app::advice;
use crate::cli::exits::Exit;
use crate::cli::paths::Paths;
use crate::domain::records::{
    Change, ChangeState, Household, LedgerLine, Place, Reading, Routine, Settings, StepRule,
    Subject, Unit, Vessel,
};
use crate::domain::slip::{Meaning, Slip};
use crate::domain::sums::figures::{Figure, FigureSpec, System};
use crate::domain::units::{Gravity, Moment};
use crate::engine::Flag;
use crate::engine::{CauseWeight, Sign, Spread, TemperatureUnit};
use crate::engine::{Due, Warning};
use crate::engine::{Morning, Row};
use crate::files::csv::{Decimal, Found};
use crate::store::BackupFile;
use crate::work::Receipt;
use chrono::{DateTime, FixedOffset, NaiveDate, SubsecRound};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// Number of the format of reports.
pub(crate) const FORMAT: u32 = 1;

/// Every report: its format, its kind, and what it says.
#[derive(Debug, Serialize)]
pub(crate) struct Report<T> {
    pub(crate) format: u32,
    #[serde(rename = "report")]
    pub(crate) kind: &'static str,
    #[serde(flatten)]
    pub(crate) body: T,
}

impl<T> Report<T> {
    pub(crate) fn new(kind: &'static str, body: T) -> Self {
        Self {
            format: FORMAT,
            kind,
            body,
        }
    }
}

/// The exit code, so that a reader of the JSON needs no table.
#[derive(Debug, Serialize)]
pub(crate) struct ExitJson {
    code: u8,
    meaning: &'static str,
}

impl From<Exit> for ExitJson {
    fn from(exit: Exit) -> Self {
        Self {
            code: exit.code(),
            meaning: exit.meaning(),
        }
    }
}

fn time(at: Moment) -> DateTime<FixedOffset> {
    // Stored instants have milliseconds; more would not compare equal.
    at.datetime().trunc_subsecs(3)
}

/// Rounded to a digit below what can be known, so that files stay readable.
fn round(value: f64, digits: i32) -> f64 {
    let scale = 10_f64.powi(digits);
    (value * scale).round() / scale
}

#[derive(Debug, Serialize)]
pub(crate) struct TodayJson {
    at: DateTime<FixedOffset>,
    revision: i64,
    exit: ExitJson,
    rows: Vec<RowJson>,
    due: Vec<DueJson>,
    free: Vec<String>,
}

impl TodayJson {
    pub(crate) fn new(household: &Household, morning: &Morning, due: &[&Due], exit: Exit) -> Self {
        let tag = |id: &crate::domain::records::VesselId| household.vessel(*id);
        Self {
            at: time(morning.now),
            revision: household.revision,
            exit: exit.into(),
            rows: morning
                .rows
                .iter()
                .map(|r| RowJson::new(r, &household.settings))
                .collect(),
            due: due.iter().map(|d| DueJson::new(d)).collect(),
            free: morning
                .free_vessels
                .iter()
                .filter_map(tag)
                .map(|v| v.tag.clone())
                .collect(),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct RowJson {
    batch: i64,
    tag: String,
    name: String,
    style: &'static str,
    stage: &'static str,
    day: Option<i64>,
    gravity: Option<GravityJson>,
    state: &'static str,
    sure: f64,
    fermented: Option<f64>,
    alcohol: Option<f64>,
    urgency: &'static str,
    temperature: Option<TemperatureJson>,
    rest_until: Option<NaiveDate>,
    flags: Vec<FlagJson>,
    next: Option<DueJson>,
}

impl RowJson {
    pub(crate) fn new(row: &Row, settings: &Settings) -> Self {
        Self {
            batch: row.batch.0,
            tag: row.tag.clone(),
            name: row.name.clone(),
            style: row.style.word(),
            stage: row.stage.word(),
            day: row.day,
            gravity: row.last.map(|last| GravityJson {
                sg: round(last.corrected.get(), 5),
                seen: last.raw.value(),
                unit: last.raw.unit().word(),
                at: time(last.at),
            }),
            state: row.state.word(),
            sure: round(row.sure, 3),
            fermented: row.fermented.map(|s| round(s.get(), 3)),
            alcohol: row.assessment.alcohol.map(|a| round(a.now.p50.get(), 2)),
            urgency: row.urgency.word(),
            temperature: row.temperature.map(|(t, at)| TemperatureJson {
                celsius: round(t.get(), 2),
                at: time(at),
            }),
            rest_until: row.rest_until,
            flags: row
                .flags
                .iter()
                .map(|f| FlagJson::new(f, settings))
                .collect(),
            next: row.next.as_ref().map(DueJson::new),
        }
    }
}

#[derive(Debug, Serialize)]
struct GravityJson {
    sg: f64,
    seen: f64,
    unit: &'static str,
    at: DateTime<FixedOffset>,
}

#[derive(Debug, Serialize)]
struct TemperatureJson {
    celsius: f64,
    at: DateTime<FixedOffset>,
}

#[derive(Debug, Serialize)]
struct FlagJson {
    what: &'static str,
    weight: u8,
    said: String,
}

impl FlagJson {
    fn new(flag: &Flag, settings: &Settings) -> Self {
        Self {
            what: flag.short(),
            weight: flag.weight(),
            said: flag.sentence(settings),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct DueJson {
    step: i64,
    batch: i64,
    tag: String,
    title: String,
    kind: &'static str,
    opens: NaiveDate,
    due: NaiveDate,
    overdue_after: NaiveDate,
    timing: &'static str,
    wanted: bool,
    forecast: bool,
    waits: Option<&'static str>,
    weight: u8,
    why: String,
    harm: String,
    amount: String,
    countdown_s: Option<u32>,
    warning: Option<String>,
}

impl DueJson {
    pub(crate) fn new(due: &Due) -> Self {
        Self {
            step: due.step.0,
            batch: due.batch.0,
            tag: due.tag.clone(),
            title: due.title.clone(),
            kind: due.kind.word(),
            opens: due.opens,
            due: due.due,
            overdue_after: due.overdue_after,
            timing: due.timing.word(),
            wanted: due.wants_hands(),
            forecast: due.forecast,
            waits: due.waits.map(crate::engine::Waits::word),
            weight: due.weight,
            why: due.why.clone(),
            harm: due.harm.clone(),
            amount: due.amount.clone(),
            countdown_s: due.countdown,
            warning: due.warning.as_ref().map(Warning::sentence),
        }
    }
}

/// Lower tenth, middle and upper tenth of what can be said.
#[derive(Debug, Serialize)]
struct SpreadJson<T> {
    p10: T,
    p50: T,
    p90: T,
}

impl<T> From<Spread<T>> for SpreadJson<T> {
    fn from(s: Spread<T>) -> Self {
        Self {
            p10: s.p10,
            p50: s.p50,
            p90: s.p90,
        }
    }
}

/// A cause of trouble, with its share among those weighed.
#[derive(Debug, Serialize)]
struct CauseJson {
    cause: &'static str,
    weight: f64,
    #[serde(rename = "for")]
    speaks_for: Vec<String>,
    against: Vec<String>,
}

impl CauseJson {
    fn new(c: &CauseWeight) -> Self {
        let phrases = |signs: &[Sign]| {
            let phrase = |s: &Sign| s.phrase(TemperatureUnit::Celsius);
            signs.iter().map(phrase).collect()
        };
        Self {
            cause: c.cause.words(),
            weight: round(c.weight.get(), 3),
            speaks_for: phrases(&c.speaks_for),
            against: phrases(&c.speaks_against),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct ShowJson {
    at: DateTime<FixedOffset>,
    revision: i64,
    exit: ExitJson,
    row: RowJson,
    stuck: f64,
    final_gravity: Option<SpreadJson<f64>>,
    finish: Option<SpreadJson<DateTime<FixedOffset>>>,
    evidence: Vec<String>,
    advice: Vec<String>,
    avoid: Vec<String>,
    causes: Vec<CauseJson>,
    next_reading: Option<String>,
    bottling_holds: Vec<String>,
    due: Vec<DueJson>,
    readings: Vec<ReadingJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    ledger: Option<Vec<LedgerLine>>,
}

impl ShowJson {
    pub(crate) fn new(
        household: &Household,
        morning: &Morning,
        row: &Row,
        exit: Exit,
        ledger: Option<Vec<LedgerLine>>,
    ) -> Self {
        let assessment = &row.assessment;
        let unit = TemperatureUnit::Celsius;
        let sg = |g: Gravity| round(g.get(), 4);
        Self {
            at: time(morning.now),
            revision: household.revision,
            exit: exit.into(),
            row: RowJson::new(row, &household.settings),
            stuck: round(assessment.stuck.probability.get(), 3),
            final_gravity: assessment.final_gravity.map(|s| s.map(sg).into()),
            finish: assessment.finish.map(|s| s.map(time).into()),
            evidence: assessment
                .evidence
                .iter()
                .map(|e| e.sentence(unit))
                .collect(),
            advice: assessment
                .advice
                .iter()
                .map(|a| advice::sentence(row, a, unit, morning.now))
                .collect(),
            avoid: assessment
                .advice
                .first()
                .into_iter()
                .flat_map(|a| &a.avoid)
                .map(|a| a.sentence(unit))
                .collect(),
            causes: assessment.causes.iter().map(CauseJson::new).collect(),
            next_reading: assessment.next_reading.map(|n| n.sentence(morning.now)),
            bottling_holds: assessment
                .bottling
                .holds
                .iter()
                .map(|h| h.sentence(unit))
                .collect(),
            due: morning
                .due
                .iter()
                .filter(|d| d.batch == row.batch)
                .map(DueJson::new)
                .collect(),
            readings: household.dossier(row.batch).map_or_else(Vec::new, |d| {
                d.readings.iter().map(ReadingJson::new).collect()
            }),
            ledger,
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct ReadingJson {
    id: i64,
    at: DateTime<FixedOffset>,
    kind: &'static str,
    value: f64,
    unit: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    sample: Option<SeenJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    place: Option<i64>,
    source: String,
    doubted: bool,
    note: String,
}

impl ReadingJson {
    fn new(r: &Reading) -> Self {
        Self {
            id: r.id.0,
            at: time(r.at),
            kind: r.seen.kind().word(),
            value: r.seen.value(),
            unit: r.seen.unit().word(),
            sample: r.sample_temp.map(|t| SeenJson {
                value: t.value(),
                unit: t.unit().word(),
            }),
            place: match r.subject {
                Subject::Place(id) => Some(id.0),
                Subject::Vessel(_) => None,
            },
            source: r.source.clone(),
            doubted: r.doubted,
            note: r.note.clone(),
        }
    }
}

#[derive(Debug, Serialize)]
struct SeenJson {
    value: f64,
    unit: &'static str,
}

/// What a reading did, or would do.
#[derive(Debug, Serialize)]
pub(crate) struct ReadJson {
    kept: bool,
    said: String,
    at: DateTime<FixedOffset>,
    readings: Vec<KindJson>,
    meaning: Vec<String>,
    doubts: Vec<String>,
    note: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    revision: Option<i64>,
}

#[derive(Debug, Serialize)]
struct KindJson {
    kind: &'static str,
    value: f64,
    unit: &'static str,
}

impl ReadJson {
    pub(crate) fn new(
        slip: &Slip,
        meaning: &Meaning,
        settings: &Settings,
        said: &str,
        revision: Option<i64>,
    ) -> Self {
        Self {
            kept: revision.is_some(),
            said: said.to_owned(),
            at: time(slip.at),
            readings: slip
                .readings
                .iter()
                .map(|r| KindJson {
                    kind: r.seen.kind().word(),
                    value: r.seen.value(),
                    unit: r.seen.unit().word(),
                })
                .collect(),
            meaning: meaning.facts.iter().map(|f| f.sentence(settings)).collect(),
            doubts: meaning
                .doubts
                .iter()
                .map(|d| d.sentence(settings))
                .collect(),
            note: slip.note.clone(),
            revision,
        }
    }
}

/// What a deed did.
#[derive(Debug, Serialize)]
pub(crate) struct DeedJson {
    said: String,
    cautions: Vec<String>,
    revision: i64,
}

impl DeedJson {
    pub(crate) fn new(receipt: &Receipt) -> Self {
        Self {
            said: receipt.said.clone(),
            cautions: receipt.cautions.clone(),
            revision: receipt.revision,
        }
    }

    pub(crate) fn said(said: &str, revision: i64) -> Self {
        Self {
            said: said.to_owned(),
            cautions: Vec::new(),
            revision,
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct VesselsJson {
    pub(crate) vessels: Vec<VesselJson>,
}

#[derive(Debug, Serialize)]
pub(crate) struct VesselJson {
    tag: String,
    kind: &'static str,
    capacity_l: f64,
    tare_g: Option<f64>,
    place: Option<String>,
    clean: bool,
    retired: bool,
    holds: Option<String>,
}

impl VesselJson {
    pub(crate) fn new(v: &Vessel, household: &Household) -> Self {
        Self {
            tag: v.tag.clone(),
            kind: v.kind.word(),
            capacity_l: round(v.capacity.get(), 4),
            tare_g: v.tare.map(|t| round(t.get(), 1)),
            place: household.place(v.place).map(|p| p.name.clone()),
            clean: v.clean,
            retired: v.retired,
            holds: household.in_vessel(v.id).map(|d| d.batch.name.clone()),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct PlacesJson {
    pub(crate) places: Vec<PlaceJson>,
}

#[derive(Debug, Serialize)]
pub(crate) struct PlaceJson {
    name: String,
    dark: bool,
    usual_c: Option<f64>,
    vessels: Vec<String>,
}

impl PlaceJson {
    /// Tags of its vessels in a row.
    pub(crate) fn tags(&self) -> String {
        self.vessels.join(", ")
    }

    pub(crate) fn new(p: &Place, household: &Household) -> Self {
        Self {
            name: p.name.clone(),
            dark: p.dark,
            usual_c: p.usual_temp.map(|t| round(t.get(), 2)),
            vessels: household
                .vessels
                .iter()
                .filter(|v| v.place == p.id && !v.retired)
                .map(|v| v.tag.clone())
                .collect(),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct ChangesJson {
    pub(crate) changes: Vec<ChangeJson>,
}

#[derive(Debug, Serialize)]
pub(crate) struct ChangeJson {
    id: i64,
    said: String,
    at: DateTime<FixedOffset>,
    state: ChangeState,
}

impl ChangeJson {
    pub(crate) fn new(c: &Change) -> Self {
        Self {
            id: c.id.0,
            said: c.name.clone(),
            at: time(c.at),
            state: c.state,
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct KeysJson {
    pub(crate) keys: Vec<KeyJson>,
    pub(crate) problems: Vec<String>,
}

#[derive(Debug, Serialize)]
pub(crate) struct KeyJson {
    pub(crate) place: &'static str,
    pub(crate) word: &'static str,
    pub(crate) keys: String,
    pub(crate) help: &'static str,
}

#[derive(Debug, Serialize)]
pub(crate) struct RoutinesJson<'a> {
    pub(crate) routines: Vec<RoutineJson<'a>>,
    pub(crate) problems: Vec<String>,
}

#[derive(Debug, Serialize)]
pub(crate) struct RoutineJson<'a> {
    key: &'a str,
    title: &'a str,
    style: &'static str,
    variety: &'a str,
    volume_l: f64,
    source: &'a str,
    about: &'a str,
    steps: &'a [StepRule],
}

impl<'a> RoutineJson<'a> {
    pub(crate) fn new(r: &'a Routine) -> Self {
        Self {
            key: &r.key,
            title: &r.title,
            style: r.style.word(),
            variety: &r.variety,
            volume_l: round(r.volume.get(), 4),
            source: &r.source,
            about: &r.about,
            steps: &r.steps,
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct FiguresJson {
    pub(crate) figures: Vec<FigureListJson>,
}

#[derive(Debug, Serialize)]
pub(crate) struct FigureListJson {
    id: &'static str,
    title: &'static str,
    group: &'static str,
    about: &'static str,
    inputs: Vec<InputJson>,
}

#[derive(Debug, Serialize)]
struct InputJson {
    name: &'static str,
    accepted: String,
    default: Option<&'static str>,
    optional: bool,
    help: &'static str,
}

impl FigureListJson {
    pub(crate) fn new(spec: &FigureSpec) -> Self {
        Self {
            id: spec.id,
            title: spec.title,
            group: spec.group.title(),
            about: spec.about,
            inputs: spec
                .inputs
                .iter()
                .map(|i| InputJson {
                    name: i.name,
                    accepted: i.kind.accepted(),
                    default: i.default,
                    optional: i.optional,
                    help: i.help,
                })
                .collect(),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct FigureJson {
    id: &'static str,
    title: &'static str,
    lines: Vec<FigureLineJson>,
    notes: Vec<String>,
    why: WhyJson,
}

#[derive(Debug, Serialize)]
struct FigureLineJson {
    label: String,
    value: Option<f64>,
    plus_minus: Option<f64>,
    said: String,
}

#[derive(Debug, Serialize)]
struct WhyJson {
    inputs: Vec<(String, String)>,
    formula: &'static str,
    range: &'static str,
    source: Vec<&'static str>,
}

impl FigureJson {
    pub(crate) fn new(spec: &FigureSpec, answer: &Figure, system: System) -> Self {
        Self {
            id: spec.id,
            title: spec.title,
            lines: answer
                .lines
                .iter()
                .map(|line| FigureLineJson {
                    label: line.label.clone(),
                    value: line.value(),
                    plus_minus: line.plus_minus,
                    said: line.text(system),
                })
                .collect(),
            notes: answer.notes.clone(),
            why: WhyJson {
                inputs: answer.why.inputs.clone(),
                formula: answer.why.formula,
                range: answer.why.range,
                source: answer.why.source.clone(),
            },
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct BackupsJson {
    pub(crate) folder: String,
    pub(crate) backups: Vec<BackupJson>,
}

#[derive(Debug, Serialize)]
pub(crate) struct BackupJson {
    /// Local time of its making, without an offset.
    at: String,
    path: String,
}

impl BackupJson {
    pub(crate) fn new(file: &BackupFile) -> Self {
        Self {
            at: file.at.format("%Y-%m-%dT%H:%M:%S").to_string(),
            path: file.path.display().to_string(),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct RestoreJson {
    from: String,
    differs: Vec<String>,
    done: bool,
    replaced: Option<String>,
}

impl RestoreJson {
    pub(crate) fn new(from: &Path, differs: &[String], done: Option<&Option<PathBuf>>) -> Self {
        Self {
            from: from.display().to_string(),
            differs: differs.to_vec(),
            done: done.is_some(),
            replaced: done
                .and_then(Option::as_ref)
                .map(|p| p.display().to_string()),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct CheckJson {
    version: &'static str,
    schema: i64,
    store: String,
    config: String,
    backups: Vec<BackupJson>,
    findings: Vec<String>,
}

impl CheckJson {
    pub(crate) fn new(
        paths: &Paths,
        schema: i64,
        backups: &[BackupFile],
        findings: Vec<String>,
    ) -> Self {
        Self {
            version: env!("CARGO_PKG_VERSION"),
            schema,
            store: paths.store.display().to_string(),
            config: paths.config.display().to_string(),
            backups: backups.iter().map(BackupJson::new).collect(),
            findings,
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct ImportJson {
    pub(crate) found: FoundJson,
    pub(crate) new_lines: usize,
    pub(crate) readings: usize,
    pub(crate) known_lines: usize,
    pub(crate) bad: Vec<BadLineJson>,
    pub(crate) kept: bool,
    pub(crate) said: String,
}

#[derive(Debug, Serialize)]
pub(crate) struct FoundJson {
    separator: char,
    columns: Vec<ColumnJson>,
    pub(crate) dates: &'static str,
    pub(crate) decimal: &'static str,
    pub(crate) temperature: Option<&'static str>,
}

#[derive(Debug, Serialize)]
struct ColumnJson {
    heading: String,
    holds: Option<&'static str>,
}

impl FoundJson {
    pub(crate) fn new(found: &Found) -> Self {
        Self {
            separator: found.separator,
            columns: found
                .columns
                .iter()
                .map(|(heading, holds)| ColumnJson {
                    heading: heading.clone(),
                    holds: *holds,
                })
                .collect(),
            dates: found.order.word(),
            decimal: match found.decimal {
                Decimal::Point => "point",
                Decimal::Comma => "comma",
            },
            temperature: found.temperature.map(Unit::word),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct BadLineJson {
    line: u64,
    why: String,
}

impl BadLineJson {
    pub(crate) fn new(line: u64, why: &str) -> Self {
        Self {
            line,
            why: why.to_owned(),
        }
    }
}

#[derive(Debug, Serialize)]
pub(crate) struct ListenJson {
    pub(crate) lines: u64,
    pub(crate) kept: u64,
    pub(crate) known: u64,
    pub(crate) left_out: u64,
    pub(crate) bad: Vec<BadLineJson>,
}
