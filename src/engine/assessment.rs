use super::{Advice, CauseWeight};
use crate::domain::units::{Abv, Celsius, CelsiusDelta, Gravity, GravityDelta, Moment, Share};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// A quantity known only in part: the truth lies below `p10` one time in ten,
/// below `p50` as often as above, above `p90` one time in ten.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Spread<T> {
    /// Lower tenth.
    pub p10: T,
    /// Middle.
    pub p50: T,
    /// Upper tenth.
    pub p90: T,
}

impl<T> Spread<T> {
    /// The same three values through a function that keeps their order.
    pub fn map<U>(self, mut f: impl FnMut(T) -> U) -> Spread<U> {
        Spread {
            p10: f(self.p10),
            p50: f(self.p50),
            p90: f(self.p90),
        }
    }
}

/// What a ferment can be doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum FermentState {
    /// Pitched, not yet clearly falling.
    Lag,
    /// Falling at a good pace.
    Active,
    /// Still falling, the end in sight.
    Slowing,
    /// At its end.
    Finished,
    /// Not falling, with sugar left that a healthy yeast would take.
    Stuck,
}

impl FermentState {
    /// All of them, in the order of a ferment's life.
    pub const ALL: [Self; 5] = [
        Self::Lag,
        Self::Active,
        Self::Slowing,
        Self::Finished,
        Self::Stuck,
    ];
}

/// Probability of each state now. They add up to one.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct StateProbabilities {
    /// In the order of [`FermentState::ALL`].
    pub by_state: [f64; 5],
}

impl StateProbabilities {
    /// Probability of one state.
    pub fn of(&self, state: FermentState) -> Share {
        Share::clamped(self.by_state[state as usize])
    }

    /// The likeliest state; the earlier in a ferment's life when equal.
    pub fn likeliest(&self) -> FermentState {
        FermentState::ALL
            .into_iter()
            .fold(FermentState::Lag, |best, s| {
                if self.of(s) > self.of(best) { s } else { best }
            })
    }
}

/// What is said of a ferment in one word.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Headline {
    /// Not pitched yet.
    Planned,
    /// One state is clearly likelier than the others.
    Clear(FermentState),
    /// The readings can't settle it; the two likeliest states, likelier first.
    Doubtful(FermentState, FermentState),
}

/// How likely it is that the ferment is stuck.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct StuckReport {
    /// Probability that it is stuck now.
    pub probability: Share,
    /// When it stopped, if it did; `None` when that is too unlikely to ask.
    pub since: Option<Spread<Moment>>,
    /// Probability that it will stick before its end, being stuck included.
    pub ever: Share,
}

/// Fall of gravity per day, positive when gravity falls.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RateReport {
    /// Today's fall per day.
    pub today: Spread<GravityDelta>,
    /// What a healthy ferment of this kind, at this gravity and temperature, would lose a day.
    pub expected: GravityDelta,
    /// The temperature that both are meant at.
    pub temperature: Option<Celsius>,
}

/// Alcohol by volume.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AlcoholReport {
    /// Now.
    pub now: Spread<Abv>,
    /// At the end, if nothing is done.
    pub end: Spread<Abv>,
}

/// A reading that does not fit the others.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Suspicion {
    /// Its index in the readings handed to [`super::assess()`].
    pub index: usize,
    /// Probability that it is plainly wrong.
    pub probability: Share,
    /// Why.
    pub why: SuspicionWhy,
}

/// Why a reading is doubted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum SuspicionWhy {
    /// Too high beside its neighbours, by this much.
    TooHigh(GravityDelta),
    /// Too low beside its neighbours, by this much.
    TooLow(GravityDelta),
    /// A number that no drink can have, or a time before the pitch: left out.
    Unusable,
    /// Of a kind that says little here (a refractometer late in a ferment).
    SaysLittle,
}

/// A fact that speaks for what is said, with its numbers. The sentence is made
/// by [`Evidence::sentence`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Evidence {
    /// Gravity has not fallen since a reading.
    NoFallSince {
        /// The reading from which on nothing fell.
        since: Moment,
        /// Days from there to the last reading.
        days: f64,
        /// Readings in that time, both ends counted.
        readings: usize,
    },
    /// It stood still and goes on.
    MovingAgain {
        /// About when it went on.
        since: Moment,
        /// Days for which no reading fell before.
        stood: f64,
        /// Whether that rests on more than one reading that might be wrong.
        sure: bool,
    },
    /// The last readings fell by so much.
    Falling {
        /// Fall.
        by: GravityDelta,
        /// In so many days.
        days: f64,
    },
    /// Gravity now lies above where this should end.
    AboveEnd {
        /// By this much.
        by: GravityDelta,
        /// The end that is meant.
        end: Gravity,
    },
    /// Gravity now lies at or below where this should end.
    AtEnd {
        /// Gravity now.
        now: Gravity,
        /// The end that is meant.
        end: Gravity,
    },
    /// Today's fall beside the one it should have.
    RateBeside {
        /// Fall a day.
        today: GravityDelta,
        /// Fall a day that it should have.
        expected: GravityDelta,
        /// At this temperature.
        at: Option<Celsius>,
    },
    /// No fall worth the name since the pitch.
    NotStarted {
        /// Days since the pitch.
        days: f64,
    },
    /// Colder than the yeast likes.
    Cold {
        /// Temperature now.
        now: Celsius,
        /// Lower end of the band.
        low: Celsius,
    },
    /// Warmer than the yeast can bear for long.
    Hot {
        /// Highest temperature seen.
        peak: Celsius,
        /// When.
        at: Moment,
    },
    /// The temperature fell shortly before the ferment slowed.
    Chilled {
        /// By this much within two days.
        by: CelsiusDelta,
        /// When.
        at: Moment,
    },
    /// Alcohol is near what the yeast can bear.
    NearTolerance {
        /// Alcohol now.
        abv: Abv,
        /// Tolerance of the packet.
        tolerance: Abv,
    },
    /// Flat a little away from the plan: the plan may simply be wrong.
    PlanMayBeWrong {
        /// The plan's end.
        plan: Gravity,
        /// Where it has settled.
        settled: Gravity,
    },
    /// Where it should be by now, though nobody looked for long.
    ByForecast {
        /// Gravity by the course that was seen.
        now: Gravity,
        /// Whether that is its end.
        finished: bool,
        /// The last reading.
        last: Gravity,
        /// Days since then.
        days: f64,
    },
    /// A reading was given little weight.
    OddReading {
        /// When it was taken.
        at: Moment,
        /// How far it lies above the others (negative: below).
        off: GravityDelta,
    },
    /// There are few readings.
    FewReadings {
        /// How many count.
        count: usize,
    },
    /// The last reading is old.
    OldReading {
        /// Days since.
        days: f64,
    },
    /// The maker's own batches were used.
    Learned {
        /// How many.
        batches: usize,
        /// Of which kind.
        style: super::Style,
    },
}

/// One point of the trend.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CurvePoint {
    /// When.
    pub at: Moment,
    /// True gravity on the maker's own hydrometer, with its 80 % band.
    pub gravity: Spread<Gravity>,
}

/// The reading that would tell most.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct NextReading {
    /// Take it then.
    pub at: Moment,
    /// The question that it would help to settle.
    pub settles: Question,
    /// Chance that the doubt is settled by it.
    pub chance: Share,
}

/// What the next reading is to settle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Question {
    /// Has it started?
    Started,
    /// Is it stuck or only slow?
    StuckOrSlow,
    /// Does it go on after it stood still?
    MovingAgain,
    /// Is it stuck or finished?
    StuckOrFinished,
    /// Is it finished or still falling?
    Finished,
    /// It should be finished: is it?
    FinishedUnseen,
    /// When will it be finished?
    WhenFinished,
}

/// May it be bottled?
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BottlingGate {
    /// Probability that gravity would fall by more than 0.002 in a closed bottle kept warm.
    pub refermentation: Share,
    /// Why it is not open; empty when bottling is as safe as readings can say.
    pub holds: Vec<BottlingHold>,
}

impl BottlingGate {
    /// True when nothing speaks against bottling.
    pub fn open(&self) -> bool {
        self.holds.is_empty()
    }
}

/// One reason not to bottle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum BottlingHold {
    /// The chance of a fall in the bottle is above the limit.
    LikelyToFall {
        /// The chance.
        chance: Share,
    },
    /// Too few equal readings over too few days.
    NotRepeated {
        /// Equal readings so far.
        readings: usize,
        /// Local day of the first of them.
        first: Option<NaiveDate>,
        /// Days from that to the day of the last one.
        days: i64,
        /// Days needed.
        days_wanted: i64,
        /// Readings needed.
        readings_wanted: usize,
    },
    /// Read in the cold: a cold closet feigns a steady gravity.
    Cold {
        /// Coldest of the window.
        coldest: Celsius,
        /// Lower end of the band.
        low: Celsius,
    },
    /// It seems stuck: sugar is left.
    Stuck {
        /// How likely.
        probability: Share,
    },
}

/// What the maker's own batches changed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Learned {
    /// Batches used.
    pub batches: usize,
    /// Of which style.
    pub style: super::Style,
    /// How many of them with the same yeast.
    pub same_yeast: usize,
    /// How many of them in the same place.
    pub same_place: usize,
    /// Their finishes beside the usual: 0.8 means a fifth sooner.
    pub pace: f64,
    /// Their ends beside the plan: positive means higher than planned.
    pub end_above_plan: GravityDelta,
}

/// All that the engine has to say of one ferment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Assessment {
    /// The moment that it is meant for.
    pub now: Moment,
    /// Probabilities of the states.
    pub states: StateProbabilities,
    /// The one word.
    pub headline: Headline,
    /// Stuck or not.
    pub stuck: StuckReport,
    /// Gravity now, as the maker's own hydrometer would read it; `None` when nothing is known.
    pub gravity_now: Option<Spread<Gravity>>,
    /// Gravity in the end, as the maker's own hydrometer will read it, if nothing is done:
    /// given that it gets to its end, until it is likelier stuck than not.
    pub final_gravity: Option<Spread<Gravity>>,
    /// First moment within 0.001 of the end; `None` when stuck or nothing is known.
    pub finish: Option<Spread<Moment>>,
    /// Fall a day.
    pub rate: Option<RateReport>,
    /// Alcohol.
    pub alcohol: Option<AlcoholReport>,
    /// Share of the sugar gone that a healthy ferment would use.
    pub sugar_gone: Option<Spread<Share>>,
    /// Readings that look wrong.
    pub suspicious: Vec<Suspicion>,
    /// What speaks for the headline, weightiest first.
    pub evidence: Vec<Evidence>,
    /// Causes of trouble, likeliest first; empty when there is none.
    pub causes: Vec<CauseWeight>,
    /// What to do, first thing first. One at a time.
    pub advice: Vec<Advice>,
    /// The trend with its band, in order of time; may be empty.
    pub curve: Vec<CurvePoint>,
    /// The reading that would tell most.
    pub next_reading: Option<NextReading>,
    /// May it be bottled?
    pub bottling: BottlingGate,
    /// What was learned from the maker's own batches.
    pub learned: Option<Learned>,
}
