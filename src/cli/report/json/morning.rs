//! The morning, and all about one vessel.

use super::readings::ReadingJson;
use super::{ExitJson, round, time};
use crate::app::advice;
use crate::cli::exits::Exit;
use crate::domain::records::{Household, LedgerLine, Settings};
use crate::domain::units::{Gravity, Moment};
use crate::engine::{Account, CauseWeight, Due, Flag, Morning, Sign, Spread, Voice, Warning};
use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::Serialize;

#[derive(Debug, Serialize)]
pub(crate) struct TodayJson {
    at: DateTime<FixedOffset>,
    revision: i64,
    exit: ExitJson,
    rows: Vec<RowJson>,
    due: Vec<DueJson>,
    free: Vec<String>,
    overridden: Vec<String>,
}

impl TodayJson {
    pub(crate) fn new(
        household: &Household,
        morning: &Morning,
        due: &[&Due],
        overridden: Vec<String>,
        exit: Exit,
    ) -> Self {
        let tag = |id: &crate::domain::records::VesselId| household.vessel(*id);
        Self {
            at: time(morning.now),
            revision: household.revision,
            exit: exit.into(),
            rows: morning
                .accounts
                .iter()
                .map(|r| RowJson::new(r, &household.settings, morning.now))
                .collect(),
            due: due.iter().map(|d| DueJson::new(d)).collect(),
            free: morning
                .free_vessels
                .iter()
                .filter_map(tag)
                .map(|v| v.tag.clone())
                .collect(),
            overridden,
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
    reading_due: Option<String>,
}

impl RowJson {
    pub(crate) fn new(row: &Account, settings: &Settings, now: Moment) -> Self {
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
            fermented: row.fermented().map(|s| round(s.get(), 3)),
            alcohol: row.figures.alcohol.map(|a| round(a.get(), 2)),
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
            reading_due: row
                .reading
                .as_ref()
                .map(|why| advice::why_read(why, settings, now)),
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
            let phrase = |s: &Sign| s.phrase(Voice::PLAIN);
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
    gravity_now: Option<SpreadJson<f64>>,
    expected_final_gravity: Option<f64>,
    final_gravity: Option<SpreadJson<f64>>,
    final_alcohol: Option<f64>,
    sugar_g_l: Option<SpreadJson<f64>>,
    volume_l: Option<f64>,
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
        row: &Account,
        exit: Exit,
        ledger: Option<Vec<LedgerLine>>,
    ) -> Self {
        let assessment = &row.assessment;
        let unit = Voice::PLAIN;
        let sg = |g: Gravity| round(g.get(), 4);
        Self {
            at: time(morning.now),
            revision: household.revision,
            exit: exit.into(),
            row: RowJson::new(row, &household.settings, morning.now),
            stuck: round(assessment.stuck.probability.get(), 3),
            gravity_now: row.figures.likely.map(|s| s.map(sg).into()),
            expected_final_gravity: row.figures.expected_end.map(sg),
            final_gravity: row.figures.final_gravity.map(|s| s.map(sg).into()),
            final_alcohol: row.figures.alcohol_end.map(|a| round(a.get(), 2)),
            sugar_g_l: row
                .figures
                .sugar
                .map(|s| s.map(|g| round(g.get(), 1)).into()),
            volume_l: row.volume.map(|v| round(v.get(), 3)),
            finish: row.finish.map(|s| s.map(time).into()),
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
            bottling_holds: row.holds.iter().map(|h| h.sentence(unit)).collect(),
            due: morning.due_of(row.batch).map(DueJson::new).collect(),
            readings: household.dossier(row.batch).map_or_else(Vec::new, |d| {
                d.readings.iter().map(ReadingJson::new).collect()
            }),
            ledger,
        }
    }
}
