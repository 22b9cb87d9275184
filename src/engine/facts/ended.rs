//! The maker's own ended ferments, for the engine to learn from.

use super::{OG_HOURS_AFTER, healthy_end, told};
use crate::domain::records::{Dossier, EventKind, Household, Stage};
use crate::domain::units::{Celsius, Gravity, Moment};
use crate::engine::{Facts, History, OriginalGravity, PastBatch};

/// The maker's own ended ferments among these, for the engine to learn from.
///
/// Counted are those that are in bottles or closed, were measured before the
/// yeast, and have at least two readings after it. One that was closed without
/// bottles, high above its end, counts as stuck.
pub fn history<'a>(
    household: &Household,
    dossiers: impl IntoIterator<Item = &'a Dossier>,
    now: Moment,
) -> History {
    let batches = dossiers
        .into_iter()
        .filter_map(|d| past(household, d, now))
        .collect();
    History { batches }
}

fn past(household: &Household, dossier: &Dossier, now: Moment) -> Option<PastBatch> {
    let batch = &dossier.batch;
    let pitched = batch.pitched?;
    let ended = batch.bottled.or(batch.closed)?;
    if !matches!(batch.stage, Stage::Bottled | Stage::Closed) || ended > now {
        return None;
    }
    let vessel = dossier.stays.first().map(|s| s.vessel);
    let told = told(household, dossier, None, ended);
    let Some(OriginalGravity::Measured(og)) = told.facts.og else {
        return None;
    };
    // What came after sugar or another drink says nothing of the yeast.
    let changed = changed(dossier);
    let after: Vec<&(Moment, Gravity)> = told
        .gravities
        .iter()
        .filter(|(at, _)| at.days_since(pitched) > OG_HOURS_AFTER / 24.0)
        .filter(|(at, _)| changed.is_none_or(|c| *at <= c))
        .collect();
    let fg = after.last()?.1;
    if after.len() < 2 {
        return None;
    }
    let done = after
        .iter()
        .find(|(_, g)| g.get() <= fg.get() + 0.001 + 1e-9)?;
    let facts = Facts {
        expected_fg: batch.expected_fg,
        ..told.facts.clone()
    };
    let high = healthy_end(&facts).is_some_and(|end| fg.get() > end.get() + STUCK_ABOVE);
    if high && changed.is_some() {
        return None;
    }
    let temperatures: Vec<f64> = told.temperatures.iter().map(|t| t.celsius.get()).collect();
    let mean = temperatures.iter().sum::<f64>() / temperatures.len() as f64;
    Some(PastBatch {
        style: told.facts.style,
        yeast: batch.yeast.clone(),
        place: vessel
            .and_then(|v| household.vessel(v))
            .and_then(|v| household.place(v.place))
            .map(|p| p.name.clone()),
        og,
        expected_fg: batch.expected_fg,
        fg,
        days_to_finish: done.0.days_since(pitched),
        temperature: (!temperatures.is_empty()).then(|| Celsius::clamped(mean)),
        stuck: high && batch.bottled.is_none(),
    })
}

/// When a ferment was sweetened, stabilised or blended first.
fn changed(dossier: &Dossier) -> Option<Moment> {
    let first = dossier.events.iter().filter(|e| {
        matches!(
            e.kind,
            EventKind::Sweeten | EventKind::Blend | EventKind::Sorbate
        )
    });
    first.map(|e| e.at).min()
}

/// So far above its end a batch that was given up counts as stuck: common practice, no source.
const STUCK_ABOVE: f64 = 0.010;
