//! Facts that speak for what is said.

use super::assess::{HOT, Teller};
use super::outlook::{band_low, sugar_left};
use super::prior::STOPS;
use super::{Assessment, Evidence, FermentState, Headline, SuspicionWhy};
use crate::domain::units::{Abv, Celsius, CelsiusDelta, Gravity, GravityDelta, Moment};

/// What was found in the readings and temperatures, for evidence, causes and advice.
#[derive(Debug, Clone)]
pub(crate) struct Reasons {
    /// In the order in which they weigh for the headline.
    evidence: Vec<Evidence>,
    /// Mean temperature of the last three days.
    pub(crate) lately: f64,
    /// Lower end of the yeast's band.
    pub(crate) low: f64,
    /// Highest temperature since the pitch, and when (days).
    pub(crate) peak: (f64, f64),
    /// Largest fall of temperature within two days before the stop, and when.
    pub(crate) chill: (f64, f64),
    /// Days since the pitch when it seems to have stopped; now when it has not.
    pub(crate) stopped: f64,
    /// Alcohol now.
    pub(crate) abv: Abv,
    /// Share of the sugar gone, on the middle.
    pub(crate) gone: f64,
    /// Readings that are level at the end.
    pub(crate) level: usize,
}

/// Practice: a drop of 3 °C within a day before the stop is a chill.
const CHILL: f64 = 3.0;
/// Within this of the tolerance a yeast is at its limit (practice: 1 %).
pub(crate) const NEAR_LIMIT: f64 = 1.0;
/// Days after which the last reading is old: more than twice the usual gap.
const OLD: f64 = 7.0;
/// A step this small in three days is no fall (practice: at most 0.001 in 72 h).
const NO_FALL: f64 = 0.0012;

/// Probability from which it is said that it moves again: with a doubt, where
/// that rests on one reading, and without.
const PERHAPS: f64 = 0.3;
/// See [`PERHAPS`].
const SURELY: f64 = 0.9;

impl Reasons {
    pub(crate) fn of(t: &Teller<'_>, said: &Assessment) -> Self {
        let now = t.gathered.now;
        let clock = &t.gathered.clock;
        let lately = (0..=6)
            .map(|i| clock.temperature((now - 0.5 * f64::from(i)).max(0.0)))
            .sum::<f64>()
            / 7.0;
        let stopped = said
            .stuck
            .since
            .map_or(now, |s| s.p50.days_since(t.gathered.pitched));
        let mut reasons = Self {
            evidence: Vec::new(),
            lately,
            low: band_low(t),
            peak: extreme(t, now),
            chill: chill(t, stopped),
            stopped,
            abv: said.alcohol.map_or(Abv::known(0.0), |a| a.now.p50),
            gone: said.sugar_gone.map_or(0.0, |s| s.p50.get()),
            level: 0,
        };
        reasons.collect(t, said);
        reasons
    }

    /// The facts, weightiest first.
    pub(crate) fn evidence(&self) -> Vec<Evidence> {
        self.evidence.clone()
    }

    fn collect(&mut self, t: &Teller<'_>, said: &Assessment) {
        if t.gathered.counted <= 2 {
            self.evidence.push(Evidence::FewReadings {
                count: t.gathered.counted,
            });
        }
        self.moving_again(t, said);
        self.progress(t, said);
        self.place(t, said);
        self.temperature(t, said);
        if let Some(tolerance) = t.facts.yeast.tolerance
            && self.abv.get() > tolerance.get() - NEAR_LIMIT
        {
            self.evidence.push(Evidence::NearTolerance {
                abv: self.abv,
                tolerance,
            });
        }
        for s in &said.suspicious {
            let off = match s.why {
                SuspicionWhy::TooHigh(d) => d,
                SuspicionWhy::TooLow(d) => GravityDelta::clamped(-d.get()),
                SuspicionWhy::Unusable | SuspicionWhy::SaysLittle => continue,
            };
            if let Some(r) = t.readings.get(s.index) {
                self.evidence.push(Evidence::OddReading { at: r.at, off });
            }
        }
        let told = |e: &Evidence| matches!(e, Evidence::ByForecast { .. });
        if let Some(days) = old(t).filter(|_| !self.evidence.iter().any(told)) {
            self.evidence.push(Evidence::OldReading { days });
        }
        if let Some(l) = t.learned {
            self.evidence.push(Evidence::Learned {
                batches: l.batches,
                style: l.style,
            });
        }
    }

    /// That it goes on after it stood still, while it does.
    fn moving_again(&mut self, t: &Teller<'_>, said: &Assessment) {
        let Some(woke) = t.belief.woke.filter(|w| w.from > 0) else {
            return;
        };
        let after = t.series.len() - woke.until - 1;
        let on_one = after == 1 && woke.probability > PERHAPS;
        let over = matches!(
            said.headline,
            Headline::Clear(FermentState::Finished | FermentState::Stuck)
        );
        let sure = after > 1 && woke.probability > SURELY && !over;
        let Some(since) = t.picture.woke_at(&woke).filter(|_| sure || on_one) else {
            return;
        };
        self.evidence.push(Evidence::MovingAgain {
            since: moment(t, since),
            stood: t.series.days[woke.until] - t.series.days[woke.from],
            sure,
        });
    }

    /// How gravity moved lately, and how it should.
    fn progress(&mut self, t: &Teller<'_>, said: &Assessment) {
        let points = &t.gathered.points;
        let n = points.len();
        let Some(last) = points.last() else { return };
        let start = level_from(t);
        self.level = n - start;
        let span = last.days - points[start].days;
        let lag = said.states.of(FermentState::Lag).get();
        let unborn = start == 0 && n >= 2 && self.gone < 0.1;
        if unborn && (lag > 0.3 || self.stopped < 1.0) {
            self.evidence.push(Evidence::NotStarted {
                days: t.gathered.now,
            });
        } else if self.level >= 2 && span >= 1.0 {
            self.evidence.push(Evidence::NoFallSince {
                since: moment(t, points[start].days),
                days: span,
                readings: self.level,
            });
        } else if n >= 2 {
            let from = points[..n - 1]
                .iter()
                .rfind(|p| last.days - p.days >= 2.5)
                .unwrap_or(&points[0]);
            let by = from.gravity - last.gravity;
            if by > NO_FALL && last.days > from.days && old(t).is_none() {
                self.evidence.push(Evidence::Falling {
                    by: GravityDelta::clamped(by),
                    days: last.days - from.days,
                });
            }
        }
        let settled =
            t.picture.unseen || matches!(said.headline, Headline::Clear(FermentState::Finished));
        if let Some(rate) = said.rate
            && !settled
            && n >= 2
            && (lag < 0.5 || self.stopped < t.gathered.now)
        {
            self.evidence.push(Evidence::RateBeside {
                today: rate.today.p50,
                expected: rate.expected,
                at: rate.temperature,
            });
        }
    }

    /// Where gravity stands beside where it should end.
    fn place(&mut self, t: &Teller<'_>, said: &Assessment) {
        let (Some(now), true) = (said.gravity_now, t.gathered.counted > 0) else {
            return;
        };
        let end = t.gravity(t.picture.healthy_end());
        let above = now.p50.get() - end.get();
        let at = self.evidence.len().min(1);
        if sugar_left(t) {
            if self.gone > 0.05 {
                self.evidence.insert(
                    at,
                    Evidence::AboveEnd {
                        by: GravityDelta::clamped(above),
                        end,
                    },
                );
            }
        } else if !t.picture.unseen {
            self.evidence
                .insert(at, Evidence::AtEnd { now: now.p50, end });
        }
        if let (Some(days), Some(last)) = (old(t), t.gathered.points.last())
            && last.gravity - now.p50.get() > NO_FALL
        {
            let by_forecast = Evidence::ByForecast {
                now: now.p50,
                finished: t.picture.unseen && !sugar_left(t),
                last: Gravity::clamped(last.gravity),
                days,
            };
            self.evidence.insert(0, by_forecast);
        }
        if let Some(plan) = t.facts.expected_fg
            && self.level >= 3
            && (0.003..0.012).contains(&(now.p50.get() - plan.get()).abs())
        {
            self.evidence.push(Evidence::PlanMayBeWrong {
                plan,
                settled: now.p50,
            });
        }
    }

    fn temperature(&mut self, t: &Teller<'_>, said: &Assessment) {
        let settled = matches!(said.headline, Headline::Clear(FermentState::Finished));
        if self.lately < self.low && !settled {
            self.evidence.push(Evidence::Cold {
                now: Celsius::clamped(self.lately),
                low: Celsius::clamped(self.low),
            });
        }
        if self.peak.0 >= HOT {
            self.evidence.push(Evidence::Hot {
                peak: Celsius::clamped(self.peak.0),
                at: moment(t, self.peak.1),
            });
        }
        let doubt = said.stuck.probability.get() > t.prior.sticks.min(STOPS);
        if self.chill.0 >= CHILL && doubt {
            self.evidence.push(Evidence::Chilled {
                by: CelsiusDelta::clamped(self.chill.0),
                at: moment(t, self.chill.1),
            });
        }
    }
}

/// Days since the last reading, where that is long ago.
fn old(t: &Teller<'_>) -> Option<f64> {
    let days = t.gathered.now - t.gathered.points.last()?.days;
    (days > OLD).then_some(days)
}

fn moment(t: &Teller<'_>, days: f64) -> Moment {
    t.gathered.pitched.plus_days(days)
}

/// Index of the point from which on nothing fell.
fn level_from(t: &Teller<'_>) -> usize {
    let points = &t.gathered.points;
    let n = points.len();
    let mut start = n - 1;
    let (mut sum, mut count) = (points[n - 1].gravity, 1.0);
    while start > 0 {
        let p = &points[start - 1];
        let slack = (2.0 * p.sd).max(NO_FALL);
        if (p.gravity - sum / count).abs() > slack {
            break;
        }
        sum += p.gravity;
        count += 1.0;
        start -= 1;
    }
    start
}

/// Highest temperature and when.
fn extreme(t: &Teller<'_>, now: f64) -> (f64, f64) {
    let mut peak = (f64::NEG_INFINITY, 0.0);
    for (days, celsius) in t.gathered.clock.seen() {
        if days <= now && celsius > peak.0 {
            peak = (celsius, days);
        }
    }
    peak
}

/// Largest fall of temperature over two days in the week before `stopped` and the two days after.
fn chill(t: &Teller<'_>, stopped: f64) -> (f64, f64) {
    let clock = &t.gathered.clock;
    let mut worst = (0.0, stopped);
    let mut at = (stopped - 7.0).max(2.0);
    while at <= (stopped + 2.0).min(t.gathered.now) {
        let by = clock.temperature(at - 2.0) - clock.temperature(at);
        if by > worst.0 {
            worst = (by, at);
        }
        at += 0.5;
    }
    worst
}
