//! Whether the trend's band holds what was and what came.

use crate::course::Known;
use crate::diaries::Diaries;
use skep::domain::units::{Moment, Share};
use skep::engine::CurvePoint;

/// How often the true gravity lay in the band, and how wide that was.
#[derive(Default)]
struct Tally {
    inside: f64,
    all: f64,
    width: f64,
}

impl Tally {
    fn add(&mut self, (low, high): (f64, f64), truth: f64) {
        self.inside += f64::from(u8::from((low..=high).contains(&truth)));
        self.all += 1.0;
        self.width += high - low;
    }

    fn row(&self, name: &str) -> [String; 3] {
        [
            name.to_owned(),
            format!("{:.2} of {}", self.inside / self.all, self.all),
            format!("{:.4}", self.width / self.all),
        ]
    }
}

/// At each reading from the third: true gravities until then, at the next
/// reading, the one after, and later ones, beside the 80 % band.
pub(crate) fn held(cases: &str, known: &[Known], prior: f64) -> anyhow::Result<Vec<[String; 3]>> {
    let diaries: Diaries = serde_json::from_str(cases)?;
    let prior = Share::new(prior).map_err(|_| anyhow::anyhow!("{prior} is no share"))?;
    let mut tallies: [Tally; 4] = Default::default();
    for (case, known) in diaries.cases.iter().zip(known) {
        let started = case.started()?;
        for (i, said) in case.said(prior)?.iter().enumerate().skip(2) {
            for (j, was) in known.was.iter().enumerate() {
                if let Some(band) = band_at(&said.curve, started.plus_days(known.days(j))) {
                    tallies[j.saturating_sub(i).min(3)].add(band, *was);
                }
            }
        }
    }
    let names = ["until now", "next reading", "the one after", "later"];
    Ok(names.iter().zip(&tallies).map(|(n, t)| t.row(n)).collect())
}

fn band_at(curve: &[CurvePoint], at: Moment) -> Option<(f64, f64)> {
    let i = curve.partition_point(|p| p.at < at);
    let (a, b) = (curve.get(i.checked_sub(1)?)?, curve.get(i)?);
    let part = at.days_since(a.at) / b.at.days_since(a.at).max(1e-9);
    let between = |x: f64, y: f64| x + (y - x) * part;
    Some((
        between(a.gravity.p10.get(), b.gravity.p10.get()),
        between(a.gravity.p90.get(), b.gravity.p90.get()),
    ))
}
