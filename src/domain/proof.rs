//! A number of bytes, by which it is seen whether they are what they were.

use siphasher::sip128::{Hasher128, SipHasher13};
use std::hash::Hasher;

/// The number of some bytes, one after the other: `SipHash` 1-3 with 128 bits, without a
/// key. It guards against damage, not against forgery.
pub(crate) fn number_of(parts: &[&[u8]]) -> u128 {
    let mut hasher = SipHasher13::new();
    for part in parts {
        hasher.write(part);
    }
    hasher.finish128().as_u128()
}
