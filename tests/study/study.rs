//! Scores the engine on diaries with known truth, beside observers who know
//! more than anybody can: what no reading could have told the engine either.
//!
//!     cargo run --release --example study -- CASES.json TRUTHS.json [--stall-prior 0.33]
//!
//!     cargo run --release --example study -- --kinetics 400 [--stall-prior 0.33]
//!
//! The second scores it on ferments made by published kinetics (kinetics.rs)
//! and can leave them in files: `--kinetics 400 CASES.json TRUTHS.json`.
//! Diaries with an even number are those that the engine was tuned on.
//! tests/engine/STUDY.md says what was found.

mod course;
#[path = "../engine/diaries.rs"]
mod diaries;
mod kinetics;
mod observers;
#[path = "../engine/score.rs"]
mod score;
mod trend;

use anyhow::{Context, bail};
use course::Known;
use score::{Said, Score, Told, score, told_by_engine};
use std::io::Write;

fn main() -> anyhow::Result<()> {
    let mut files = Vec::new();
    let mut prior = 0.33;
    let mut made = None;
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        if word == "--kinetics" {
            let count = words.next().context("--kinetics wants a number")?;
            made = Some(kinetics::written(count.parse()?, SEED));
        } else if word == "--stall-prior" {
            prior = words
                .next()
                .context("--stall-prior wants a share")?
                .parse()?;
        } else {
            files.push(word);
        }
    }
    if let Some((cases, truths)) = made {
        if let [to, and] = files.as_slice() {
            std::fs::write(to, &cases)?;
            std::fs::write(and, &truths)?;
        }
        return by_kinetics(&cases, &truths, prior);
    }
    let [cases, truths] = files.as_slice() else {
        bail!("usage: study CASES.json TRUTHS.json [--stall-prior 0.33]");
    };
    let read = |file| std::fs::read_to_string(file).with_context(|| format!("reading {file}"));
    let (cases, truths) = (read(cases)?, read(truths)?);
    let halves = Halves::of(told_by_engine(&cases, &truths, prior));
    let known = course::read(&cases, &truths)?;
    let report = [
        "The engine\n".to_owned(),
        halves.table(&ALL),
        halves.believed(),
        halves.inside(),
        table(
            ["the trend's 80 % band, all diaries", "inside", "width"],
            trend::held(&cases, &known, prior)?,
        ),
        healthy(&known),
        stops(&halves, &known, prior),
    ];
    std::io::stdout().write_all(report.join("\n").as_bytes())?;
    Ok(())
}

/// From which the made-up ferments follow.
const SEED: u64 = 20_260_501;

/// The engine on ferments made by other models than its own.
fn by_kinetics(cases: &str, truths: &str, prior: f64) -> anyhow::Result<()> {
    let halves = Halves::of(told_by_engine(cases, truths, prior));
    let known = course::read(cases, truths)?;
    let of = |model: &str| {
        let mut part = halves.all();
        part.retain(|t| {
            let mut named = known.iter().filter(|k| k.scenario == model);
            named.any(|k| k.truth.case_id == t.truth.case_id)
        });
        score(&part)
    };
    let models = ["latent_active_settled", "nitrogen_alcohol", "gompertz"];
    let mut lines = vec![
        format!("| | {} |", models.join(" | ")),
        "| --- | --- | --- | --- |".to_owned(),
    ];
    let scores = models.map(of);
    for row in ALL {
        let cells = scores.each_ref().map(row.1);
        lines.push(format!("| {} | {} |", row.0, cells.join(" | ")));
    }
    let report = [
        lines.join("\n"),
        String::new(),
        halves.believed(),
        halves.inside(),
    ];
    std::io::stdout().write_all(report.join("\n").as_bytes())?;
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
            digits.parse().is_ok_and(|n: u32| n.is_multiple_of(2))
        });
        Self { even, odd }
    }

    fn all(&self) -> Vec<Told> {
        self.even.iter().chain(&self.odd).cloned().collect()
    }

    fn table(&self, rows: &[Row]) -> String {
        let (even, odd) = (score(&self.even), score(&self.odd));
        let row = |r: &Row| [r.0.to_owned(), r.1(&even), r.1(&odd)];
        table(
            ["", "tuned-on half", "other half"],
            rows.iter().map(row).collect(),
        )
    }

    fn each(&self, of: impl Fn(&[Told]) -> String) -> (String, String) {
        (of(&self.even), of(&self.odd))
    }

    /// Readings by the probability of stuck that was said.
    fn believed(&self) -> String {
        let row = |w: &[f64]| {
            let (even, odd) = self.each(|half| share_stuck(half, w[0], w[1]));
            let said = format!("{:.0} to {:.0} %", w[0] * 100.0, w[1].min(1.0) * 100.0);
            [said, even, odd]
        };
        let edges = [0.0, 0.05, 0.2, 0.5, 0.8, 0.95, 1.1];
        table(
            [
                "said",
                "tuned-on half: readings, stuck",
                "other half: readings, stuck",
            ],
            edges.windows(2).map(row).collect(),
        )
    }

    /// Shares of truths below the tenth, up to the half, the nine tenths, beyond.
    fn inside(&self) -> String {
        let finish = self.each(|half| parts(half, |t| t.truth.finish_days, |s| s.finish));
        let end =
            self.each(|half| parts(half, |t| Some(t.truth.final_sg + t.truth.offset), |s| s.end));
        table(
            [
                "before p10, to p50, to p90, after (0.10, 0.40, 0.40, 0.10)",
                "tuned-on half",
                "other half",
            ],
            vec![
                ["finish".to_owned(), finish.0, finish.1],
                ["end".to_owned(), end.0, end.1],
            ],
        )
    }
}

fn table(head: [&str; 3], rows: Vec<[String; 3]>) -> String {
    let mut lines = vec![
        format!("| {} |", head.join(" | ")),
        "| --- | --- | --- |".to_owned(),
    ];
    lines.extend(rows.into_iter().map(|r| format!("| {} |", r.join(" | "))));
    lines.join("\n") + "\n"
}

/// How many readings were said to be stuck with such a probability, and how many were.
fn share_stuck(half: &[Told], low: f64, high: f64) -> String {
    let stuck: Vec<bool> = half
        .iter()
        .flat_map(|t| t.truth.readings.iter().zip(&t.said).skip(2))
        .filter(|(_, said)| (low..high).contains(&said.stuck))
        .map(|(then, _)| then.state == "stalled")
        .collect();
    let count = stuck.iter().filter(|s| **s).count() as f64;
    let share = 100.0 * count / stuck.len().max(1) as f64;
    format!("{}, {share:.1} %", stuck.len())
}

/// Where truths of healthy ferments lie among three values, before their finish.
fn parts(
    half: &[Told],
    truth: impl Fn(&Told) -> Option<f64>,
    said: impl Fn(&Said) -> Option<[f64; 3]>,
) -> String {
    let mut counts = [0.0; 4];
    for t in half {
        let (Some(finish), Some(y)) = (t.truth.finish_days, truth(t)) else {
            continue;
        };
        for (then, s) in t.truth.readings.iter().zip(&t.said).skip(2) {
            if then.t_days < finish
                && let Some(q) = said(s)
            {
                counts[q.iter().filter(|v| **v < y).count()] += 1.0;
            }
        }
    }
    let all: f64 = counts.iter().sum();
    counts.map(|c| format!("{:.2}", c / all)).join(", ")
}

/// The finish and the end of healthy ferments.
fn healthy(known: &[Known]) -> String {
    let mut parts = Vec::new();
    for (name, observer) in observers::OF_HEALTHY {
        let of_healthy = |k: &&Known| k.truth.stall_days.is_none();
        let told = known.iter().filter(of_healthy).map(|k| Told {
            truth: k.truth.clone(),
            said: observer(k, known),
        });
        parts.push(format!("{name}\n"));
        parts.push(Halves::of(told.collect()).table(&[FINISH, BAND, END]));
    }
    parts.join("\n")
}

/// Sudden stops against healthy ferments.
fn stops(halves: &Halves, known: &[Known], prior: f64) -> String {
    let judged: Vec<&Known> = known.iter().filter(|k| k.sudden_or_healthy()).collect();
    let rows = [FOUND, SOON, DELAY, ALARMS, ALARM_DAYS, BRIER];
    let pick = |half: &[Told]| {
        let wanted = |t: &&Told| judged.iter().any(|k| k.truth.case_id == t.truth.case_id);
        half.iter().filter(wanted).cloned().collect()
    };
    let engine = Halves {
        even: pick(&halves.even),
        odd: pick(&halves.odd),
    };
    let told = judged.iter().map(|k| Told {
        truth: k.truth.clone(),
        said: observers::of_stops(k, prior),
    });
    [
        "The engine, on sudden stops and healthy ferments alone\n".to_owned(),
        engine.table(&rows),
        "One who knows the healthy course, and only asks whether it stopped\n".to_owned(),
        Halves::of(told.collect()).table(&rows),
    ]
    .join("\n")
}
