//! Scores the engine on diaries with known truth, beside observers who know
//! more than anybody can: what no reading could have told the engine either.
//!
//!     cargo run --release --example study -- CASES.json TRUTHS.json [--stall-prior 0.33]
//!
//! Diaries with an even number are those that the engine was tuned on.
//! tests/engine/STUDY.md says what was found.

mod course;
#[path = "../engine/diaries.rs"]
mod diaries;
mod observers;
#[path = "../engine/score.rs"]
mod score;

use anyhow::{Context, bail};
use course::Known;
use score::{Score, Told, score, told_by_engine};

fn main() -> anyhow::Result<()> {
    let mut files = Vec::new();
    let mut prior = 0.33;
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        if word == "--stall-prior" {
            prior = words
                .next()
                .context("--stall-prior wants a share")?
                .parse()?;
        } else {
            files.push(word);
        }
    }
    let [cases, truths] = files.as_slice() else {
        bail!("usage: study CASES.json TRUTHS.json [--stall-prior 0.33]");
    };
    let cases = std::fs::read_to_string(cases).with_context(|| format!("reading {cases}"))?;
    let truths = std::fs::read_to_string(truths).with_context(|| format!("reading {truths}"))?;
    let halves = Halves::of(told_by_engine(&cases, &truths, prior));
    println!("The engine\n");
    halves.table(&ALL);
    halves.believed();
    halves.inside();
    let known = course::read(&cases, &truths)?;
    healthy(&halves, &known);
    stops(&halves, &known, prior);
    Ok(())
}

type Row = (&'static str, fn(&Score) -> String);

const FOUND: Row = ("stuck found in the end", |s| format!("{:.2}", s.found));
const SOON: Row = ("found within 3 / 7 days", |s| {
    format!("{:.2} / {:.2}", s.found_in_3_days, s.found_in_7_days)
});
const DELAY: Row = ("median delay, days", |s| {
    format!("{:.1} (first reading {:.1})", s.delay, s.first_reading)
});
const ALARMS: Row = ("healthy ever called stuck", |s| {
    format!("{:.3} of {}", s.false_alarms, s.healthy)
});
const ALARM_DAYS: Row = ("false alarms per 100 healthy days", |s| {
    format!("{:.2}", s.false_alarms_per_100_days)
});
const BRIER: Row = ("Brier score / area", |s| {
    format!("{:.3} / {:.3}", s.brier, s.area)
});
const RECALL: Row = ("mean recall of five states", |s| format!("{:.3}", s.recall));
const FINISH: Row = ("finish, relative error at 1/3 / 2/3", |s| {
    format!("{:.2} / {:.2}", s.finish_at_third, s.finish_at_two_thirds)
});
const BAND: Row = ("finish band: coverage, width", |s| {
    format!("{:.2}, {:.2}", s.finish_covered, s.finish_width)
});
const END: Row = ("end: coverage, pinball loss", |s| {
    format!("{:.2}, {:.5}", s.end_covered, s.end_pinball)
});
const ALL: [Row; 10] = [
    FOUND, SOON, DELAY, ALARMS, ALARM_DAYS, BRIER, RECALL, FINISH, BAND, END,
];

/// What was said of the diaries tuned on, and of the others.
struct Halves {
    even: Vec<Told>,
    odd: Vec<Told>,
}

impl Halves {
    fn of(told: Vec<Told>) -> Self {
        let (even, odd) = told.into_iter().partition(|t| {
            let digits: String = t
                .truth
                .case_id
                .chars()
                .filter(char::is_ascii_digit)
                .collect();
            digits.parse().is_ok_and(|n: u32| n % 2 == 0)
        });
        Self { even, odd }
    }

    fn table(&self, rows: &[Row]) {
        println!("| | tuned-on half | other half |\n| --- | --- | --- |");
        let (even, odd) = (score(&self.even), score(&self.odd));
        for (name, value) in rows {
            println!("| {name} | {} | {} |", value(&even), value(&odd));
        }
        println!();
    }

    /// Readings by the probability of stuck that was said.
    fn believed(&self) {
        println!("| said | tuned-on half: readings, stuck | other half: readings, stuck |");
        println!("| --- | --- | --- |");
        for (low, high) in [
            (0.0, 0.05),
            (0.05, 0.2),
            (0.2, 0.5),
            (0.5, 0.8),
            (0.8, 0.95),
            (0.95, 1.1),
        ] {
            let cell = |half: &[Told]| {
                let stuck: Vec<bool> = half
                    .iter()
                    .flat_map(|t| t.truth.readings.iter().zip(&t.said).skip(2))
                    .filter(|(_, said)| (low..high).contains(&said.stuck))
                    .map(|(then, _)| then.state == "stalled")
                    .collect();
                let share = stuck.iter().filter(|s| **s).count() as f64 / stuck.len().max(1) as f64;
                format!("{}, {:.1} %", stuck.len(), 100.0 * share)
            };
            let to = f64::min(high, 1.0) * 100.0;
            println!(
                "| {:.0} to {to:.0} % | {} | {} |",
                low * 100.0,
                cell(&self.even),
                cell(&self.odd)
            );
        }
        println!();
    }

    /// Shares of truths below the tenth, up to the half, the nine tenths, beyond.
    fn inside(&self) {
        println!("| truth lies (ideal 0.10, 0.40, 0.40, 0.10) | tuned-on half | other half |");
        println!("| --- | --- | --- |");
        let finish = |t: &Told| t.truth.finish_days;
        let end = |t: &Told| Some(t.truth.final_sg + t.truth.offset);
        let parts = |half: &[Told],
                     of: fn(&score::Said) -> Option<[f64; 3]>,
                     truth: &dyn Fn(&Told) -> Option<f64>| {
            let mut counts = [0.0; 4];
            for t in half.iter().filter(|t| t.truth.stall_days.is_none()) {
                let fin = t.truth.finish_days.unwrap_or(0.0);
                let Some(y) = truth(t) else { continue };
                for (then, said) in t.truth.readings.iter().zip(&t.said).skip(2) {
                    if then.t_days < fin
                        && let Some(q) = of(said)
                    {
                        counts[q.iter().filter(|v| **v < y).count()] += 1.0;
                    }
                }
            }
            let all: f64 = counts.iter().sum();
            counts.map(|c| format!("{:.2}", c / all)).join(", ")
        };
        println!(
            "| finish: before p10, p10 to p50, p50 to p90, after | {} | {} |",
            parts(&self.even, |s| s.finish, &finish),
            parts(&self.odd, |s| s.finish, &finish)
        );
        println!(
            "| end: the same | {} | {} |\n",
            parts(&self.even, |s| s.end, &end),
            parts(&self.odd, |s| s.end, &end)
        );
    }
}

/// The finish and the end of healthy ferments.
fn healthy(halves: &Halves, known: &[Known]) {
    for (name, observer) in observers::OF_HEALTHY {
        println!("{name}\n");
        let told = known
            .iter()
            .filter(|k| k.truth.stall_days.is_none())
            .map(|k| Told {
                truth: k.truth.clone(),
                said: observer(k, known),
            });
        Halves::of(told.collect()).table(&[FINISH, BAND, END]);
    }
    let _ = halves;
}

/// Sudden stops against healthy ferments.
fn stops(halves: &Halves, known: &[Known], prior: f64) {
    let judged = |t: &Told| {
        known
            .iter()
            .any(|k| k.truth.case_id == t.truth.case_id && k.sudden_or_healthy())
    };
    let rows = [FOUND, SOON, DELAY, ALARMS, ALARM_DAYS, BRIER];
    println!("The engine on sudden stops and healthy ferments alone\n");
    let pick = |half: &[Told]| -> Vec<Told> {
        half.iter()
            .filter(|t| judged(t))
            .map(|t| Told {
                truth: t.truth.clone(),
                said: t.said.clone(),
            })
            .collect()
    };
    Halves {
        even: pick(&halves.even),
        odd: pick(&halves.odd),
    }
    .table(&rows);
    println!("One who knows the healthy course, and only asks whether it stopped\n");
    let told = known
        .iter()
        .filter(|k| k.sudden_or_healthy())
        .map(|k| Told {
            truth: k.truth.clone(),
            said: observers::of_stops(k, prior),
        });
    Halves::of(told.collect()).table(&rows);
}
