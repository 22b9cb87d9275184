//! What is in the bottles of one lot, where parts of a batch were bottled apart.

use super::treatment::{last_given, sulfited};
use crate::domain::records::{Dossier, Event, EventKind, Fizz, Household, Lot, Stay, VesselId};
use crate::domain::units::{Abv, Moment};
use crate::engine::facts;

/// What the label of a lot says of the drink, as of its bottling.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Filled {
    /// Still or with gas; none where the ledger does not tell.
    pub fizz: Option<Fizz>,
    /// Alcohol by volume.
    pub alcohol: Option<Abv>,
    /// Sulfite went in, or may have come with a drink that was poured in.
    pub sulfite: bool,
}

/// Tells what is in a lot: only what was read, done or poured in before its
/// bottling, to the part that was bottled.
pub fn filled(household: &Household, dossier: &Dossier, lot: &Lot) -> Filled {
    let then = before(dossier, lot.bottled);
    let out_of = emptied(dossier, lot.bottled);
    let part = match out_of.as_slice() {
        [only] => Some(*only),
        _ => None,
    };
    let told = facts::told(household, &then, part, lot.bottled);
    Filled {
        fizz: fizz(dossier, &then, lot, part),
        alcohol: told.strength(lot.bottled),
        sulfite: may_hold_sulfite(&then, part, lot.bottled),
    }
}

/// The dossier as it stood when bottles were filled: what ended then or later
/// still lay in its vessel, and what began later was not there.
fn before(dossier: &Dossier, at: Moment) -> Dossier {
    let stays = dossier.stays.iter().filter(|s| s.from <= at);
    Dossier {
        stays: stays
            .map(|s| Stay {
                to: s.to.filter(|to| *to < at),
                ..s.clone()
            })
            .collect(),
        ..dossier.clone()
    }
}

/// Vessels that were emptied at an instant.
fn emptied(dossier: &Dossier, at: Moment) -> Vec<VesselId> {
    let ended = dossier.stays.iter().filter(|s| s.to == Some(at));
    let mut vessels: Vec<VesselId> = ended.map(|s| s.vessel).collect();
    vessels.sort();
    vessels.dedup();
    vessels
}

/// The gas that the bottling itself tells; an older entry tells it by the
/// sugar for gas, or by what the batch was last bottled as.
fn fizz(dossier: &Dossier, then: &Dossier, lot: &Lot, part: Option<VesselId>) -> Option<Fizz> {
    let entries: Vec<&Event> = dossier
        .events
        .iter()
        .filter(|e| e.kind == EventKind::Bottle && e.at == lot.bottled)
        .filter(|e| part.is_none() || e.vessel.is_none() || e.vessel == part)
        .collect();
    let of_batch = dossier.batch.fizz;
    let words: Option<Vec<Fizz>> = entries
        .iter()
        .map(|e| Fizz::from_word(&e.substance))
        .collect();
    match words.as_deref() {
        Some([first, rest @ ..]) => return rest.iter().all(|f| f == first).then_some(*first),
        _ if entries.iter().all(|e| e.vessel.is_none()) => return Some(of_batch),
        _ => {}
    }
    let primed = last_given(then, part, EventKind::Prime, lot.bottled).is_some();
    match (primed, of_batch) {
        (true, Fizz::Still) => Some(Fizz::Sparkling),
        (true, gas) => Some(gas),
        (false, Fizz::Still) => Some(Fizz::Still),
        (false, _) => None,
    }
}

/// Whether sulfite may be in what lies in a vessel, or in any part of a batch
/// where none is named.
///
/// It counts whatever its mass: what a juice or a nutrient brought along is not
/// known. So does a drink that was poured in, of which nobody wrote down
/// whether it held any.
pub fn may_hold_sulfite(dossier: &Dossier, vessel: Option<VesselId>, at: Moment) -> bool {
    let given = sulfited(dossier, vessel, at);
    let poured = |e: &Event| {
        matches!(e.kind, EventKind::TopUp | EventKind::Blend)
            && !e.substance.to_lowercase().contains("water")
            && e.at <= at
            && e.vessel
                .is_none_or(|v| facts::belongs_to(dossier, v, e.at, vessel))
    };
    given || dossier.events.iter().any(poured)
}
