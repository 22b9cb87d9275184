//! A routine laid on the calendar before there is anything to read.

use crate::domain::records::{Opens, StepKind, StepRule, Style};
use crate::domain::units::{Celsius, Gravity};
use chrono::{NaiveDate, TimeDelta};
use std::collections::HashMap;

/// A step on its days.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Laid {
    /// Its place in the routine.
    pub index: usize,
    /// Day on which it may be done.
    pub opens: NaiveDate,
    /// Day until which it is in time.
    pub due: NaiveDate,
    /// Last day on which lateness does no real harm.
    pub overdue_after: NaiveDate,
    /// Whether the day rests on how long such a ferment usually takes.
    pub forecast: bool,
}

/// Days a ferment of this kind usually takes to its end: mead 28, cider 21,
/// beer 10, strong musts two weeks more; nearly twice as long below 16 °C
/// (common practice, no source; an extension leaflet says three weeks for a
/// dry mead to four months for a sweet one).
pub fn usual_days(style: Style, original: Option<Gravity>, room: Option<Celsius>) -> i64 {
    let plain: f64 = match style {
        Style::Mead => 28.0,
        Style::Cider => 21.0,
        Style::Beer => 10.0,
    };
    let strong = original.is_some_and(|g| g.get() > 1.110);
    let cold = style != Style::Beer && room.is_some_and(|t| t.get() < 16.0);
    let days = plain + if strong { 14.0 } else { 0.0 };
    (days * if cold { 1.75 } else { 1.0 }).ceil() as i64
}

/// Lays all steps of a routine on days, given day 1 and how long the ferment
/// is expected to take.
pub fn lay(rules: &[StepRule], day_one: NaiveDate, ferment_days: i64) -> Vec<Laid> {
    let by_key = rules
        .iter()
        .enumerate()
        .map(|(i, r)| (r.key.as_str(), i))
        .collect();
    let mut placer = Placer {
        rules,
        by_key,
        day_one,
        ferment_days,
        known: vec![None; rules.len()],
        working: vec![false; rules.len()],
    };
    (0..rules.len())
        .map(|index| {
            let (opens, forecast) = placer.opens(index);
            let due = plus(opens, i64::from(rules[index].window.max(0)));
            Laid {
                index,
                opens,
                due,
                overdue_after: plus(due, i64::from(rules[index].slack.max(0))),
                forecast,
            }
        })
        .collect()
}

/// The day on which a laid routine has something to drink: bottling, or what
/// conditions and is tasted after it, whichever is last to open among them.
pub fn ready(rules: &[StepRule], laid: &[Laid]) -> Option<NaiveDate> {
    let bottled = on(rules, laid, StepKind::Bottle)?;
    let conditioned = laid
        .iter()
        .filter(|l| rules[l.index].kind == StepKind::Condition)
        .map(|l| l.due)
        .max();
    Some(conditioned.map_or(bottled, |c| c.max(bottled)))
}

/// The first day on which a step of that kind opens.
pub fn on(rules: &[StepRule], laid: &[Laid], kind: StepKind) -> Option<NaiveDate> {
    laid.iter()
        .filter(|l| rules[l.index].kind == kind)
        .map(|l| l.opens)
        .min()
}

struct Placer<'a> {
    rules: &'a [StepRule],
    by_key: HashMap<&'a str, usize>,
    day_one: NaiveDate,
    ferment_days: i64,
    known: Vec<Option<(NaiveDate, bool)>>,
    working: Vec<bool>,
}

impl Placer<'_> {
    fn opens(&mut self, index: usize) -> (NaiveDate, bool) {
        if let Some(known) = self.known[index] {
            return known;
        }
        // Steps that wait for each other: day 1 for want of better.
        if std::mem::replace(&mut self.working[index], true) {
            return (self.day_one, true);
        }
        let (mut day, mut forecast) = self.by_rule(index);
        if self.waits_for_rests(index) {
            for earlier in 0..index {
                if self.rules[earlier].kind == StepKind::Rest {
                    let (end, guess) = self.end(earlier);
                    if end > day {
                        (day, forecast) = (end, guess);
                    }
                }
            }
        }
        self.working[index] = false;
        self.known[index] = Some((day, forecast));
        (day, forecast)
    }

    fn by_rule(&mut self, index: usize) -> (NaiveDate, bool) {
        let date = |day: i32| plus(self.day_one, i64::from(day) - 1);
        match &self.rules[index].opens {
            Opens::Day { day } => (date(*day), false),
            Opens::SugarGone { share, or_day } => {
                // Sugar goes fast at first: a third in about a fifth of the time.
                let days = (self.ferment_days as f64 * share.get() * 0.6).ceil() as i64;
                let guess = plus(self.day_one, days);
                match or_day.map(date) {
                    Some(latest) if latest <= guess => (latest, false),
                    _ => (guess, true),
                }
            }
            Opens::Finished { days, not_before } => {
                let end = plus(self.day_one, self.ferment_days + i64::from(*days));
                (not_before.map_or(end, |d| date(d).max(end)), true)
            }
            Opens::Stable { days } => (
                plus(self.day_one, self.ferment_days + i64::from(*days)),
                true,
            ),
            Opens::After { step, days } => {
                let days = i64::from(*days);
                match self.by_key.get(step.as_str()).copied() {
                    Some(at) => {
                        let (end, guess) = self.end(at);
                        (plus(end, days), guess)
                    }
                    None => (plus(self.day_one, days), true),
                }
            }
        }
    }

    /// The day that a step which hangs on this one counts from.
    fn end(&mut self, index: usize) -> (NaiveDate, bool) {
        let (opens, guess) = self.opens(index);
        let rule = &self.rules[index];
        match rule.kind {
            StepKind::Rest => (plus(opens, i64::from(rule.window.max(0))), guess),
            _ => (opens, guess),
        }
    }

    fn waits_for_rests(&self, index: usize) -> bool {
        let rule = &self.rules[index];
        rule.kind == StepKind::Bottle
            || (rule.kind != StepKind::Rest
                && matches!(rule.opens, Opens::Finished { .. } | Opens::Stable { .. }))
    }
}

/// A day so many days on; stays where the calendar ends.
pub(super) fn plus(day: NaiveDate, days: i64) -> NaiveDate {
    TimeDelta::try_days(days)
        .and_then(|d| day.checked_add_signed(d))
        .unwrap_or(day)
}
