//! How the maker's batches went, side by side.

use super::WorkError;
use crate::domain::records::{Event, EventKind, Household};
use crate::domain::units::{Grams, Moment};
use crate::engine::stories::{Story, story};
use crate::store::Store;

/// Every batch that was ever pitched, the youngest first.
pub fn stories(store: &Store, household: &Household, now: Moment) -> Result<Vec<Story>, WorkError> {
    let mut all = Vec::new();
    for batch in store.all_batches()? {
        if batch.pitched.is_none() {
            continue;
        }
        let Some(dossier) = store.dossier(batch.id, now)? else {
            continue;
        };
        let tastings = store.tastings(batch.id)?;
        let sugar = store.plan(batch.id)?.and_then(|plan| {
            plan.parts
                .iter()
                .max_by(|a, b| a.mass.get().total_cmp(&b.mass.get()))
                .map(|p| p.name.clone())
        });
        let sugar = sugar.or_else(|| poured_in(&dossier.events));
        all.extend(story(household, &dossier, &tastings, sugar, now));
    }
    Ok(all)
}

/// The sugar or fruit of which most went in, where no plan tells.
fn poured_in(events: &[Event]) -> Option<String> {
    events
        .iter()
        .filter(|e| matches!(e.kind, EventKind::Sugar | EventKind::Fruit))
        .filter(|e| !e.substance.trim().is_empty())
        .max_by(|a, b| {
            let grams = |e: &Event| e.mass.map_or(0.0, Grams::get);
            grams(a).total_cmp(&grams(b))
        })
        .map(|e| e.substance.trim().to_owned())
}
