//! Reads diaries, writes what the engine says of each at each of its readings.
//!
//!     cargo run --release --example predict -- CASES.json PREDICTIONS.json [--stall-prior 0.33]
//!
//! Each prediction sees only what was known at that reading: the notes made at
//! the pitch, the events until then, the readings up to and with it.

#[path = "../engine/diaries.rs"]
mod diaries;

use anyhow::{Context, bail};
use diaries::{Case, Diaries, state, word};
use serde::Serialize;
use skep::domain::units::Share;
use skep::engine::{Assessment, Facts};

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
            prior = share(words.next())?;
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
        predict(case, prior, &mut predictions).with_context(|| format!("diary {}", case.name))?;
    }
    std::fs::write(output, serde_json::to_string(&Predictions { predictions })?)
        .with_context(|| format!("writing {output}"))
}

fn share(word: Option<String>) -> anyhow::Result<Share> {
    let wanted = "--stall-prior wants a number from 0 to 1";
    Ok(Share::new(word.context(wanted)?.parse().context(wanted)?)?)
}

fn predict(case: &Case, prior: Share, out: &mut Vec<Prediction>) -> anyhow::Result<()> {
    if case.readings.is_empty() {
        return Ok(());
    }
    for (index, said) in case.said(prior)?.iter().enumerate() {
        out.push(prediction(case, index, said)?);
    }
    Ok(())
}

fn prediction(case: &Case, index: usize, said: &Assessment) -> anyhow::Result<Prediction> {
    let started = case.started()?;
    Ok(Prediction {
        case_id: case.name.clone(),
        index,
        state: word(state(said)),
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
    })
}
