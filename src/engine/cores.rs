//! Work shared among the machine's cores; the answers come in the order of the
//! questions, whoever worked them out.

use std::num::NonZero;
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering::Relaxed};
use std::thread;

/// A machine with more gives no more: the rest of the morning is one after the other.
const MOST: usize = 8;

/// The answer for each item, as one after the other would give it.
pub(crate) fn each<T: Sync, R: Send>(items: &[T], answer: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let cores = thread::available_parallelism().map_or(1, NonZero::get);
    let hands = cores.min(MOST).min(items.len() / 2).max(1);
    shared(items, hands, answer)
}

fn shared<T: Sync, R: Send>(items: &[T], hands: usize, answer: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let left = AtomicUsize::new(items.len());
    let work = || {
        let mut done = Vec::new();
        // From the last on: what lies in vessels is youngest and takes longest, and nobody
        // shall be left waiting for the other's long one.
        while let Ok(n) = left.fetch_update(Relaxed, Relaxed, |n| n.checked_sub(1))
            && let Some(item) = items.get(n - 1)
        {
            done.push((n - 1, answer(item)));
        }
        done
    };
    let mut done = thread::scope(|scope| {
        // Where no thread can be had, this one does it alone.
        let others: Vec<_> = (1..hands)
            .filter_map(|_| thread::Builder::new().spawn_scoped(scope, work).ok())
            .collect();
        let mut done = work();
        for other in others {
            match other.join() {
                Ok(more) => done.extend(more),
                Err(panic) => resume_unwind(panic),
            }
        }
        done
    });
    done.sort_unstable_by_key(|(i, _)| *i);
    done.into_iter().map(|(_, answer)| answer).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_answers_come_in_order_whoever_works_them_out() {
        let items: Vec<u64> = (0..1000).collect();
        let slow_at_first = |n: &u64| {
            for _ in 0..(1000 - n) * 50 {
                std::hint::black_box(n);
            }
            n * n
        };
        let wanted: Vec<u64> = items.iter().map(|n| n * n).collect();
        for hands in [1, 2, 5, 64] {
            assert_eq!(shared(&items, hands, slow_at_first), wanted, "{hands}");
        }
        assert_eq!(each(&items[..1], slow_at_first), [0]);
        assert!(each::<u64, u64>(&[], slow_at_first).is_empty());
    }

    #[test]
    #[should_panic(expected = "seven")]
    fn a_panic_in_one_is_a_panic_of_all() {
        let items: Vec<u64> = (0..100).collect();
        shared(&items, 4, |n| assert!(*n != 7, "seven"));
    }
}
