//! Which backups to keep, as a pure rule over their dates.

use chrono::{Datelike, NaiveDate, NaiveDateTime};
use std::collections::HashSet;

/// How many backups of each sort to keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rule {
    /// Days of which the last backup is kept.
    pub daily: usize,
    /// Weeks of which the last backup is kept.
    pub weekly: usize,
    /// Months of which the last backup is kept.
    pub monthly: usize,
}

impl Default for Rule {
    /// A week of days, five weeks, two years of months (common practice, no
    /// source): a must ages for a year, and a mistake may be seen only then.
    fn default() -> Self {
        Self {
            daily: 7,
            weekly: 5,
            monthly: 24,
        }
    }
}

/// Which of the backups to keep, in their order. Of each of the last so many
/// days, weeks and months that have a backup, the last one is kept. The newest
/// is always kept, and so is one from the future: then a clock is wrong, and
/// nothing is thrown away on the word of a wrong clock.
pub fn wanted(times: &[NaiveDateTime], today: NaiveDate, rule: Rule) -> Vec<bool> {
    let mut newest_first: Vec<usize> = (0..times.len()).collect();
    newest_first.sort_by_key(|i| std::cmp::Reverse(times.get(*i).copied()));
    let mut keep = vec![false; times.len()];
    let mut days = Shelf::new(rule.daily);
    let mut weeks = Shelf::new(rule.weekly);
    let mut months = Shelf::new(rule.monthly);
    for (rank, i) in newest_first.into_iter().enumerate() {
        let (Some(at), Some(slot)) = (times.get(i), keep.get_mut(i)) else {
            continue;
        };
        let day = at.date();
        if day > today {
            *slot = true;
            continue;
        }
        let week = day.iso_week();
        // Each shelf is asked, so that each counts what it holds.
        let in_days = days.takes((day.year(), day.ordinal()));
        let in_weeks = weeks.takes((week.year(), week.week()));
        let in_months = months.takes((day.year(), day.month()));
        *slot = rank == 0 || in_days || in_weeks || in_months;
    }
    keep
}

/// Takes the first of each period, until it has enough periods.
struct Shelf {
    room: usize,
    held: HashSet<(i32, u32)>,
}

impl Shelf {
    fn new(room: usize) -> Self {
        Self {
            room,
            held: HashSet::new(),
        }
    }

    fn takes(&mut self, period: (i32, u32)) -> bool {
        self.held.len() < self.room && self.held.insert(period)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::{Days, NaiveTime};
    use proptest::prelude::*;

    fn day(n: u64) -> NaiveDate {
        NaiveDate::from_ymd_opt(2024, 1, 1).unwrap() + Days::new(n)
    }

    fn kept(days: &[u64], today: u64) -> Vec<u64> {
        let times: Vec<_> = days
            .iter()
            .map(|n| day(*n).and_time(NaiveTime::MIN))
            .collect();
        let wanted = wanted(&times, day(today), Rule::default());
        days.iter()
            .zip(wanted)
            .filter(|(_, keep)| *keep)
            .map(|(n, _)| *n)
            .collect()
    }

    #[test]
    fn a_backup_a_day_for_three_years_leaves_a_week_five_weeks_two_years() {
        let all: Vec<u64> = (0..1096).collect();
        let kept = kept(&all, 1095);
        // Counted on a calendar: the 25th to the 31st of December 2026; the Sundays
        // 6th, 13th, 20th (the week of the 27th and the running one are there
        // already); the last days of the 23 months from November 2026 back to
        // January 2025.
        assert_eq!(kept.len(), 7 + 3 + 23);
        assert!(kept.ends_with(&[1089, 1090, 1091, 1092, 1093, 1094, 1095]));
        // The 20th of December is day 1084, the 31st of January 2025 day 396.
        assert!(kept.contains(&1084) && !kept.contains(&1083));
        // 2024-12-31, day 365, is one month too old.
        assert!(kept.starts_with(&[396]));
    }

    #[test]
    fn what_seems_to_come_from_the_future_is_kept() {
        assert_eq!(kept(&[400, 401, 402], 10), [400, 401, 402]);
    }

    #[test]
    fn thinning_day_by_day_comes_to_the_same_as_thinning_once() {
        let mut held = Vec::new();
        for today in 0..800 {
            held.push(today);
            held = kept(&held, today);
        }
        let once = kept(&(0..800).collect::<Vec<_>>(), 799);
        assert_eq!(held, once);
    }

    proptest! {
        #[test]
        fn the_newest_is_always_kept_and_never_too_many(
            days in prop::collection::btree_set(0u64..2000, 1..200), today in 0u64..2000,
        ) {
            let days: Vec<_> = days.into_iter().collect();
            let kept = kept(&days, today);
            prop_assert_eq!(kept.last(), days.last());
            let past = kept.iter().filter(|n| **n <= today).count();
            prop_assert!(past <= 7 + 5 + 24 + 1);
        }
    }
}
