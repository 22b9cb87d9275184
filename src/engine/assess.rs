use super::evidence::Reasons;
use super::learn::learn;
use super::outlook::{gate, next_reading};
use super::picture::{Picture, spread};
use super::posterior::{Belief, Hypothesis};
use super::prior::Prior;
use super::series::{AT_PITCH, Gathered, Series, gather};
use super::suspect::suspicions;
use super::trend::trend;
use super::waking::{posterior, wakes};
use super::{
    AlcoholReport, Assessment, BottlingGate, BottlingHold, Facts, FermentState, Headline, History,
    Learned, Observation, RateReport, Spread, StateProbabilities, StuckReport, TemperaturePoint,
    advise, causes,
};
use crate::domain::sums::alcohol;
use crate::domain::units::{Abv, Celsius, Gravity, GravityDelta, Moment, Share};

/// Says what one ferment is doing, from its facts and readings, as of `now`.
///
/// Readings and temperatures may come in any order; those after `now` are left
/// out. Pure, deterministic, and takes any input without a panic.
pub fn assess(
    facts: &Facts,
    readings: &[Observation],
    temperatures: &[TemperaturePoint],
    history: &History,
    now: Moment,
) -> Assessment {
    with_future(facts, readings, temperatures, history, now, None)
}

/// The same, with the future at another temperature than it seems to be.
pub(crate) fn with_future(
    facts: &Facts,
    readings: &[Observation],
    temperatures: &[TemperaturePoint],
    history: &History,
    now: Moment,
    ahead: Option<f64>,
) -> Assessment {
    let Some(mut gathered) = gather(facts, readings, temperatures, now) else {
        return planned(now);
    };
    if let Some(celsius) = ahead {
        gathered.clock = gathered.clock.with_ahead(celsius);
    }
    let first = gathered.points.first().filter(|p| p.days < AT_PITCH);
    let mut known = facts.clone();
    known.og = gathered.og;
    let mut prior = Prior::new(&known, first.map(|p| p.gravity), gathered.must);
    let learned = learn(&mut prior, facts, history);
    prior.seal();
    let series = gathered.series(prior.reference);
    let hazard = hazard(&series, &gathered);
    let wakes = wakes(&series, facts, &gathered);
    let belief = posterior(&series, &prior, &hazard, &wakes);
    let picture = Picture::new(&belief, &gathered.clock, &prior, &series.days, gathered.now);
    Teller {
        facts,
        readings,
        gathered: &gathered,
        prior: &prior,
        series: &series,
        picture: &picture,
        belief: &belief,
        now,
        learned,
    }
    .tell()
}

/// Probability from which stuck is said.
const SAY_STUCK: f64 = 0.4;
/// The same where it rests on the last reading alone, which may be wrong.
const SAY_ON_ONE: f64 = 0.8;
/// Probability from which any other state is said outright.
pub(crate) const SAY_OTHER: f64 = 0.5;
/// Finished said too soon tempts to bottle, slowing said too long costs a
/// reading: finished must be so many times likelier.
const LINGER: f64 = 1.3;

/// Days after the pitch beyond which no calendar is meant: a hundred years.
const LATEST: f64 = 36_525.0;

/// Days from now within which a finish is foreseen: what creeps on for longer
/// has no finish that anybody waits for.
const FORESEEN: f64 = 365.0;

/// All that an assessment is told from.
pub(crate) struct Teller<'a> {
    pub(crate) facts: &'a Facts,
    pub(crate) readings: &'a [Observation],
    pub(crate) gathered: &'a Gathered,
    pub(crate) prior: &'a Prior,
    pub(crate) series: &'a Series,
    pub(crate) picture: &'a Picture<'a>,
    pub(crate) belief: &'a Belief,
    pub(crate) now: Moment,
    pub(crate) learned: Option<Learned>,
}

impl Teller<'_> {
    fn tell(&self) -> Assessment {
        let states = StateProbabilities {
            by_state: self.picture.states(),
        };
        let stuck = states.of(FermentState::Stuck).get();
        let soon = self.picture.soon_stuck;
        let now = self.picture.gravity_spread();
        let end = self.picture.end_spread();
        let mut said = Assessment {
            states,
            headline: headline(&states, soon, self.needed(), self.picture.unseen),
            stuck: self.stuck(stuck),
            gravity_now: now.map(|s| s.map(|g| self.gravity(g))),
            final_gravity: end.map(|s| s.map(|g| self.gravity(g))),
            finish: self.finish(stuck),
            rate: self.rate(),
            alcohol: now.zip(end).map(|(now, end)| self.alcohol(now, end)),
            sugar_gone: self.sugar_gone(),
            suspicious: suspicions(self),
            curve: trend(self),
            learned: self.learned,
            ..planned(self.now)
        };
        said.bottling = gate(self, stuck);
        said.next_reading = next_reading(self, &said);
        let reasons = Reasons::of(self, &said);
        said.evidence = reasons.evidence();
        said.causes = causes::weigh(self, &said, &reasons);
        said.advice = advise::advise(self, &said, &reasons);
        said
    }

    /// Probability needed to say stuck.
    fn needed(&self) -> f64 {
        let n = self.series.len();
        let (mut one, mut all) = (0.0, 0.0);
        for (p, here) in self.picture.now() {
            if here.state == FermentState::Stuck {
                all += p.weight;
                if matches!(p.hypothesis, Hypothesis::Stopped { after } if after + 2 == n) {
                    one += p.weight;
                }
            }
        }
        if one > 0.5 * all {
            SAY_ON_ONE
        } else {
            SAY_STUCK
        }
    }

    /// From the working scale.
    pub(crate) fn gravity(&self, g: f64) -> Gravity {
        Gravity::clamped(g + self.prior.reference)
    }

    fn moment(&self, days: f64) -> Moment {
        self.gathered.pitched.plus_days(days.min(LATEST))
    }

    fn stuck(&self, probability: f64) -> StuckReport {
        let since = (probability > 0.05)
            .then(|| self.picture.stuck_since(self.gathered.now))
            .flatten()
            .map(|s| s.map(|d| self.moment(d)));
        StuckReport {
            probability: Share::clamped(probability),
            since,
            ever: Share::clamped(self.picture.ever_stuck(self.gathered.now).max(probability)),
        }
    }

    fn finish(&self, stuck: f64) -> Option<Spread<Moment>> {
        let spread = self.picture.finish_spread()?;
        let latest = self.gathered.now + FORESEEN;
        (stuck < 0.95 && spread.p50 < latest).then(|| spread.map(|d| self.moment(d.min(latest))))
    }

    fn rate(&self) -> Option<RateReport> {
        let today = self.picture.rate_spread()?;
        Some(RateReport {
            today: today.map(GravityDelta::clamped),
            expected: GravityDelta::clamped(self.picture.healthy_rate(self.gathered.now)),
            temperature: Some(Celsius::clamped(
                self.gathered.clock.temperature(self.gathered.now),
            )),
        })
    }

    fn alcohol(&self, now: Spread<f64>, end: Spread<f64>) -> AlcoholReport {
        let og = self.gravity(self.picture.mean_og());
        let by = |s: Spread<f64>| Spread {
            p10: abv(og, self.gravity(s.p90)),
            p50: abv(og, self.gravity(s.p50)),
            p90: abv(og, self.gravity(s.p10)),
        };
        AlcoholReport {
            now: by(now),
            end: by(end),
        }
    }

    fn sugar_gone(&self) -> Option<Spread<Share>> {
        let gone = self.picture.now().map(|(p, here)| {
            let og = self.picture.must(p);
            let share = (og - here.gravity) / (og - p.healthy_end).max(0.002);
            (share, p.weight)
        });
        spread(gone.collect()).map(|s| s.map(Share::clamped))
    }
}

/// Alcohol by the balance of extract; by the rule of thumb outside its range.
pub(crate) fn abv(og: Gravity, now: Gravity) -> Abv {
    if now >= og {
        return Abv::known(0.0);
    }
    alcohol::by_volume(og, now).unwrap_or_else(|_| alcohol::rule_of_thumb(og, now))
}

fn headline(states: &StateProbabilities, stuck: f64, needed: f64, unseen: bool) -> Headline {
    if stuck >= needed {
        return Headline::Clear(FermentState::Stuck);
    }
    let mut rest = *states;
    rest.by_state[FermentState::Stuck as usize] = 0.0;
    rest.by_state[FermentState::Slowing as usize] *= LINGER;
    let first = rest.likeliest();
    // An end that nobody saw is not outright said.
    let guessed = unseen && first == FermentState::Finished;
    if states.of(first).get() >= SAY_OTHER && !guessed {
        return Headline::Clear(first);
    }
    let mut others = *states;
    others.by_state[first as usize] = 0.0;
    Headline::Doubtful(first, others.likeliest())
}

/// A stop is so many times likelier in a gap with cold or heat (no source;
/// practice names both among the first causes).
const TROUBLE: f64 = 6.0;
/// Colder than this, or this far below the usual, is trouble.
const COLD: (f64, f64) = (8.0, 7.0);
/// Practice: alarm from 30 °C.
pub(crate) const HOT: f64 = 30.0;

/// Dry wine yeast dies when held above this for a few hours (practice, from a
/// published extension guide); how many times likelier a stop is then (no source).
const DEADLY: (f64, f64) = (34.0, 20.0);

/// How many times likelier a stop is in the gap after each reading.
fn hazard(series: &Series, gathered: &Gathered) -> Vec<f64> {
    let usual = gathered.clock.usual();
    (0..series.len())
        .map(|j| {
            let a = series.days[j];
            let b = series.days.get(j + 1).copied().unwrap_or(a);
            let at = |i: i32| gathered.clock.temperature(a + (b - a) * f64::from(i) / 4.0);
            let low = (0..=4).map(at).fold(f64::INFINITY, f64::min);
            let high = (0..=4).map(at).fold(f64::NEG_INFINITY, f64::max);
            if high >= DEADLY.0 {
                DEADLY.1
            } else if high >= HOT || low < COLD.0 || low < usual - COLD.1 {
                TROUBLE
            } else {
                1.0
            }
        })
        .collect()
}

fn planned(now: Moment) -> Assessment {
    let nothing = Share::known(0.0);
    Assessment {
        now,
        states: StateProbabilities {
            by_state: [1.0, 0.0, 0.0, 0.0, 0.0],
        },
        headline: Headline::Planned,
        stuck: StuckReport {
            probability: nothing,
            since: None,
            ever: nothing,
        },
        gravity_now: None,
        final_gravity: None,
        finish: None,
        rate: None,
        alcohol: None,
        sugar_gone: None,
        suspicious: Vec::new(),
        evidence: Vec::new(),
        causes: Vec::new(),
        advice: Vec::new(),
        curve: Vec::new(),
        next_reading: None,
        bottling: BottlingGate {
            refermentation: Share::known(1.0),
            holds: vec![BottlingHold::NotRepeated {
                readings: 0,
                first: None,
                days: 0,
                days_wanted: 7,
                readings_wanted: 3,
            }],
        },
        learned: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::series::tests::{read, start};
    use crate::engine::{OriginalGravity, Style};

    /// Heat and cold count in the gap in which they were, and in no other.
    #[test]
    fn a_stop_is_likelier_after_heat_or_cold_in_that_gap() {
        let mut facts = Facts::of(Style::Mead);
        facts.og = Some(OriginalGravity::Measured(Gravity::known(1.100)));
        facts.pitched = Some(start());
        let readings = [(0.0, 1.100), (4.0, 1.080), (6.0, 1.070), (8.0, 1.060)];
        let readings = readings.map(|(day, gravity)| read(day, gravity));
        let mut with = |usual: f64, there: f64| {
            facts.usual_temperature = Some(Celsius::known(usual));
            let warmth = [
                (0.0, usual),
                (4.8, usual),
                (5.0, there),
                (5.2, usual),
                (9.0, usual),
            ];
            let warmth = warmth.map(|(day, celsius)| TemperaturePoint {
                at: start().plus_days(day),
                celsius: Celsius::known(celsius),
            });
            let gathered = gather(&facts, &readings, &warmth, start().plus_days(9.0)).unwrap();
            hazard(&gathered.series(1.0), &gathered)
        };
        let trouble = [1.0, TROUBLE, 1.0, 1.0];
        assert_eq!(with(20.0, 20.0), [1.0; 4]);
        assert_eq!(with(20.0, 36.0), [1.0, DEADLY.1, 1.0, 1.0]);
        assert_eq!(with(20.0, 31.0), trouble);
        // Far below the usual, though not cold; cold, though not far below the usual.
        assert_eq!(with(20.0, 12.0), trouble);
        assert_eq!(with(12.0, 7.5), trouble);
        assert_eq!(with(20.0, 14.0), [1.0; 4]);
        assert_eq!(with(12.0, 8.5), [1.0; 4]);
    }
}
