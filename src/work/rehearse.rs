//! Deeds tried out and taken back, to say beforehand what would happen.

use super::{WorkError, write};
use crate::domain::deeds::Deed;
use crate::domain::units::Moment;
use crate::store::Store;

/// What a deed would come to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Rehearsed {
    /// It would be kept.
    Kept,
    /// All of it is there already.
    Known,
    /// It would be refused, with the sentence.
    Refused(String),
}

/// Tries each deed after the other, and then takes all of it back: nothing is
/// kept, and no change is written.
pub fn rehearse(
    store: &mut Store,
    deeds: &[Deed],
    now: Moment,
) -> Result<Vec<Rehearsed>, WorkError> {
    let mut tried = Vec::with_capacity(deeds.len());
    let mut broken = None;
    // An error at the end makes the store take back the whole.
    let ended: Result<_, WorkError> = store.change(now, |w| {
        for deed in deeds {
            match write(w, deed, now) {
                Ok(done) if done.gives.made.is_empty() => tried.push(Rehearsed::Known),
                Ok(_) => tried.push(Rehearsed::Kept),
                Err(WorkError::Refused(why)) => tried.push(Rehearsed::Refused(why)),
                Err(error) => {
                    broken = Some(error);
                    break;
                }
            }
        }
        Err::<crate::store::Named<()>, _>(WorkError::Refused(String::new()))
    });
    match (broken, ended) {
        (Some(error), _) | (None, Err(error @ WorkError::Store(_))) => Err(error),
        (None, _) => Ok(tried),
    }
}
