//! Where a ferment may have stopped: readings after which all are level.

use super::linear::{Level, Readings, level};
use super::series::Series;

/// A reading after which it may have stopped, with the level since.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stop {
    /// Index of the last reading before the stop.
    pub(crate) after: usize,
    /// The level of those after it.
    pub(crate) level: Level,
}

/// How many candidates are weighed.
const MOST_STOPS: usize = 5;

/// Readings after which all are level.
pub(crate) fn stop_candidates(series: &Series) -> Vec<Stop> {
    let n = series.len();
    let mut found = Vec::new();
    for after in (0..n.saturating_sub(1)).rev() {
        let rest = Readings::new(&series.gravity[after + 1..], &series.per_sd[after + 1..]);
        let Some(level) = level(&rest) else { break };
        let chi: f64 = rest
            .gravity
            .iter()
            .zip(rest.per_sd)
            .map(|(g, p)| ((g - level.mean) * p).powi(2).min(16.0))
            .sum();
        let count = rest.gravity.len() as f64;
        if chi > count + 3.0 * (2.0 * count).sqrt() + 8.0 {
            break;
        }
        found.push(Stop { after, level });
    }
    // The earliest are where the level begins; the last is the newest news.
    found.reverse();
    if found.len() > MOST_STOPS {
        let last = found[found.len() - 1];
        found.truncate(MOST_STOPS - 1);
        found.push(last);
    }
    found
}
