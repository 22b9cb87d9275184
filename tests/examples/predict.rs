//! Reads diaries, writes what the engine says of each at each of its readings.
//!
//!     cargo run --release --example predict -- CASES.json PREDICTIONS.json [--stall-prior 0.33]
//!
//! Each prediction sees only what was known at that reading: the notes made at
//! the pitch, the events until then, the readings up to and with it.

use anyhow::{Context, bail};
use chrono::DateTime;
use serde::{Deserialize, Serialize};
use skep::domain::units::{
    Abv, Celsius, Gravity, GravityDelta, Litres, MilligramsPerLitre, Moment, Share,
};
use skep::engine::{
    Assessment, Event, EventKind, Facts, FermentState, Headline, History, Observation,
    OriginalGravity, Seen, Style, assess,
};

#[derive(Deserialize)]
struct Diaries {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    case_id: String,
    meta: Meta,
    #[serde(default)]
    events: Vec<Logged>,
    readings: Vec<Reading>,
}

#[derive(Deserialize)]
struct Meta {
    style: String,
    og: Option<f64>,
    volume_l: Option<f64>,
    yeast_tolerance_pct: Option<f64>,
    temp_c_nominal: Option<f64>,
    expected_fg: Option<f64>,
    hydrometer_resolution: Option<f64>,
    pitch_time: Option<String>,
}

#[derive(Deserialize)]
struct Logged {
    time: String,
    kind: String,
    #[serde(default)]
    note: Option<String>,
}

#[derive(Deserialize)]
struct Reading {
    time: String,
    sg: f64,
    temp_c: Option<f64>,
}

#[derive(Serialize)]
struct Predictions {
    predictions: Vec<Prediction>,
}

#[derive(Serialize)]
struct Prediction {
    case_id: String,
    index: usize,
    state: &'static str,
    stall_probability: f64,
    finish_time: Option<Three>,
    fg: Option<Three>,
}

#[derive(Serialize)]
struct Three {
    p10: f64,
    p50: f64,
    p90: f64,
}

fn main() -> anyhow::Result<()> {
    let mut files = Vec::new();
    let mut prior = Facts::USUAL_STALL_PRIOR;
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        if word == "--stall-prior" {
            let value = words
                .next()
                .context("--stall-prior wants a number from 0 to 1")?;
            prior = Share::new(
                value
                    .parse()
                    .context("--stall-prior wants a number from 0 to 1")?,
            )?;
        } else {
            files.push(word);
        }
    }
    let [input, output] = files.as_slice() else {
        bail!("usage: predict CASES.json PREDICTIONS.json [--stall-prior 0.05]");
    };
    let text = std::fs::read_to_string(input).with_context(|| format!("reading {input}"))?;
    let diaries: Diaries =
        serde_json::from_str(&text).with_context(|| format!("understanding {input}"))?;
    let mut predictions = Vec::new();
    for case in &diaries.cases {
        predict(case, prior, &mut predictions)
            .with_context(|| format!("diary {}", case.case_id))?;
    }
    std::fs::write(output, serde_json::to_string(&Predictions { predictions })?)
        .with_context(|| format!("writing {output}"))
}

fn predict(case: &Case, prior: Share, out: &mut Vec<Prediction>) -> anyhow::Result<()> {
    let Some(first) = case.readings.first() else {
        return Ok(());
    };
    let pitched = moment(case.meta.pitch_time.as_deref().unwrap_or(&first.time))?;
    let started = moment(&first.time)?;
    let observations = case
        .readings
        .iter()
        .map(|r| observation(r, case.meta.hydrometer_resolution))
        .collect::<anyhow::Result<Vec<_>>>()?;
    for index in 0..observations.len() {
        let now = observations[index].at;
        let facts = facts(case, pitched, prior, now)?;
        let said = assess(
            &facts,
            &observations[..=index],
            &[],
            &History::default(),
            now,
        );
        out.push(prediction(&case.case_id, index, &said, started));
    }
    Ok(())
}

fn facts(case: &Case, pitched: Moment, prior: Share, now: Moment) -> anyhow::Result<Facts> {
    let meta = &case.meta;
    let style = match meta.style.as_str() {
        "mead" => Style::Mead,
        "cider" => Style::Cider,
        "beer" => Style::Beer,
        other => bail!("style {other}: known are mead, cider, beer"),
    };
    let mut facts = Facts::of(style);
    facts.og = meta
        .og
        .map(Gravity::new)
        .transpose()?
        .map(OriginalGravity::Measured);
    facts.volume = meta.volume_l.map(Litres::new).transpose()?;
    facts.yeast.tolerance = meta.yeast_tolerance_pct.map(Abv::new).transpose()?;
    facts.usual_temperature = meta.temp_c_nominal.map(Celsius::new).transpose()?;
    facts.expected_fg = meta.expected_fg.map(Gravity::new).transpose()?;
    facts.pitched = Some(pitched);
    facts.stall_prior = prior;
    for logged in &case.events {
        let at = moment(&logged.time)?;
        if at <= now && logged.kind == "nutrient" {
            let yan = nitrogen(logged.note.as_deref());
            facts.events.push(Event {
                at,
                kind: EventKind::Nutrient { yan },
            });
        }
    }
    Ok(facts)
}

/// The number before `mg/L` in a note.
fn nitrogen(note: Option<&str>) -> Option<MilligramsPerLitre> {
    let (number, _) = note?.split_once("mg/L")?;
    MilligramsPerLitre::new(number.trim().parse().ok()?).ok()
}

fn observation(r: &Reading, resolution: Option<f64>) -> anyhow::Result<Observation> {
    Ok(Observation {
        at: moment(&r.time)?,
        temperature: r.temp_c.map(Celsius::new).transpose()?,
        seen: Seen::Hydrometer {
            gravity: Gravity::new(r.sg)?,
            resolution: GravityDelta::new(resolution.unwrap_or(0.001))?,
        },
    })
}

fn moment(text: &str) -> anyhow::Result<Moment> {
    let at = DateTime::parse_from_rfc3339(text).with_context(|| format!("the time {text}"))?;
    Ok(Moment::new(at))
}

fn prediction(case_id: &str, index: usize, said: &Assessment, started: Moment) -> Prediction {
    let state = match said.headline {
        Headline::Planned => FermentState::Lag,
        Headline::Clear(state) | Headline::Doubtful(state, _) => state,
    };
    Prediction {
        case_id: case_id.to_owned(),
        index,
        state: match state {
            FermentState::Lag => "lag",
            FermentState::Active => "active",
            FermentState::Slowing => "slowing",
            FermentState::Finished => "finished",
            FermentState::Stuck => "stalled",
        },
        stall_probability: said.stuck.probability.get(),
        finish_time: said.finish.map(|f| Three {
            p10: f.p10.days_since(started),
            p50: f.p50.days_since(started),
            p90: f.p90.days_since(started),
        }),
        fg: said.final_gravity.map(|g| Three {
            p10: g.p10.get(),
            p50: g.p50.get(),
            p90: g.p90.get(),
        }),
    }
}
