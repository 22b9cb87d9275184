//! Sentences for the engine's values: the one place where their words are made.

use super::voice::Voice;
use super::{
    Action, Avoid, BottlingHold, Cause, CauseWeight, Caveat, Change, Evidence, FermentState,
    Headline, NextReading, Question, Sign, Style, SuspicionWhy, WhatIf,
};
use crate::domain::units::{Abv, Celsius, CelsiusDelta, Gravity, GravityDelta, Moment, Share};
use crate::domain::wording;

/// Where an amount of gravity is shown that belongs to no gravity.
const MIDDLE: Gravity = Gravity::known(1.040);

fn day(at: Moment) -> String {
    at.day().format("%-d %B").to_string()
}

/// Alcohol by volume: `12.3 % vol`.
fn strength(abv: Abv) -> String {
    format!("{} vol", wording::abv(abv))
}

fn days(d: f64) -> String {
    match d.round() as i64 {
        1 => "1 day".into(),
        n => format!("{n} days"),
    }
}

impl FermentState {
    /// The state in one word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Lag => "lag",
            Self::Active => "active",
            Self::Slowing => "slowing",
            Self::Finished => "finished",
            Self::Stuck => "stuck",
        }
    }
}

impl Headline {
    /// The headline in one word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::Clear(s) => s.word(),
            Self::Doubtful(..) => "doubtful",
        }
    }
}

impl Style {
    /// The maker's own ferments of this style, in the plural.
    pub fn plural(self) -> &'static str {
        match self {
            Self::Mead => "meads",
            Self::Cider => "ciders",
            Self::Beer => "beers",
        }
    }
}

impl Evidence {
    /// The fact as a short sentence.
    pub fn sentence(&self, voice: Voice) -> String {
        match *self {
            Self::NoFallSince {
                since,
                days: d,
                readings,
            } => format!(
                "No drop since {} ({}, {readings} readings).",
                day(since),
                days(d)
            ),
            Self::MovingAgain { since, stood, sure } => moving_again(since, stood, sure),
            Self::Falling { by, days: d } => {
                format!(
                    "Dropped {} in the last {}.",
                    voice.points(by, MIDDLE),
                    days(d)
                )
            }
            Self::AboveEnd { by, end } => {
                format!(
                    "{} above its expected final gravity ({}).",
                    voice.points(by, end),
                    voice.gravity(end)
                )
            }
            Self::AtEnd { now, end } => format!(
                "At {}, about where it should finish ({}).",
                voice.gravity(now),
                voice.gravity(end)
            ),
            Self::RateBeside {
                today,
                expected,
                at,
            } => {
                let at = at.map_or(String::new(), |t| format!("At {} it ", voice.at(t)));
                let it = if at.is_empty() { "It ".into() } else { at };
                format!(
                    "{it}should drop {} a day; it is dropping {}.",
                    voice.slope(expected),
                    voice.slope(today)
                )
            }
            Self::NotStarted { days: d } => format!("No fall yet, {} after pitching.", days(d)),
            Self::Cold { now, low } => format!(
                "{} is colder than the yeast likes ({} and up).",
                voice.at(now),
                voice.at(low)
            ),
            Self::Hot { peak, at } => {
                format!(
                    "It was {} on {}: heat harms yeast.",
                    voice.at(peak),
                    day(at)
                )
            }
            Self::Chilled { by, at } => format!("It cooled by {} on {}.", voice.by(by), day(at)),
            Self::NearTolerance { abv, tolerance } => format!(
                "{} is near the yeast's tolerance of {:.0} %.",
                strength(abv),
                tolerance.get()
            ),
            Self::PlanMayBeWrong { plan, settled } => format!(
                "Flat at {}, near the plan's {}: the plan may be a little wrong.",
                voice.gravity(settled),
                voice.gravity(plan)
            ),
            Self::ByForecast {
                now,
                finished,
                last,
                days,
            } => by_forecast((now, last), finished, days, voice),
            Self::OddReading { at, off } => format!(
                "The reading of {} is {} too {}; it counts for little.",
                day(at),
                voice.points(off, MIDDLE),
                if off.get() > 0.0 { "high" } else { "low" }
            ),
            Self::FewReadings { count: 0 } => "No reading yet.".into(),
            Self::FewReadings { count: 1 } => "Only one reading so far.".into(),
            Self::FewReadings { count } => format!("Only {count} readings so far."),
            Self::OldReading { days: d } => format!("The last reading is {} old.", days(d)),
            Self::Learned { batches: 1, style } => {
                format!("Based on one of your own {}.", style.plural())
            }
            Self::Learned { batches, style } => {
                format!("Based on {batches} of your own {}.", style.plural())
            }
        }
    }
}

fn moving_again(since: Moment, stood: f64, sure: bool) -> String {
    let since = day(since);
    if sure {
        let stood = days(stood);
        format!("Moving again since {since}, after {stood} without a fall.")
    } else {
        format!("Moving again since {since}, if the last reading is right.")
    }
}

fn by_forecast((now, last): (Gravity, Gravity), finished: bool, old: f64, voice: Voice) -> String {
    let by_now = if finished {
        "finished".to_owned()
    } else {
        format!("near {}", voice.gravity(now))
    };
    let (last, old) = (voice.gravity(last), days(old));
    format!("By now it should be {by_now}; the last reading, {last}, is {old} old.")
}

impl SuspicionWhy {
    /// Why the reading is doubted, as a sentence.
    pub fn sentence(self, voice: Voice) -> String {
        match self {
            Self::TooHigh(d) => format!(
                "{} above what the other readings say.",
                voice.points(d, MIDDLE)
            ),
            Self::TooLow(d) => format!(
                "{} below what the other readings say.",
                voice.points(d, MIDDLE)
            ),
            Self::Unusable => {
                "Not a reading that a drink can give, or from before the pitch.".into()
            }
            Self::SaysLittle => "Says little here: a refractometer once there is alcohol, a scale without volume or a gravity to start from.".into(),
        }
    }
}

impl Cause {
    /// The cause in a few words.
    pub fn words(self) -> &'static str {
        match self {
            Self::WrongReading => "a wrong reading",
            Self::Cold => "cold, or a chill",
            Self::Heat => "heat",
            Self::LowNitrogen => "too little nitrogen",
            Self::AlcoholLimit => "the yeast's alcohol limit",
            Self::TooMuchSugar => "too much sugar",
            Self::Acid => "too acid",
            Self::FewCells => "too few or too weak yeast cells",
            Self::Preservative => "sulfite or a preservative",
            Self::SettledYeast => "yeast that settled or was racked away",
        }
    }
}

impl CauseWeight {
    /// The cause with its weight and what speaks for and against it.
    pub fn sentence(&self, voice: Voice) -> String {
        let phrases = |signs: &[Sign]| {
            let all: Vec<String> = signs.iter().map(|s| s.phrase(voice)).collect();
            all.join(", ")
        };
        let mut out = format!(
            "Perhaps {} ({})",
            self.cause.words(),
            chance_of(self.weight)
        );
        if !self.speaks_for.is_empty() {
            out = format!("{out}: {}", phrases(&self.speaks_for));
        }
        if !self.speaks_against.is_empty() {
            out = format!("{out}; against it: {}", phrases(&self.speaks_against));
        }
        out + "."
    }
}

impl Sign {
    /// The sign as a short phrase.
    pub fn phrase(&self, voice: Voice) -> String {
        match *self {
            Self::TemperatureLately { mean, low } => format!(
                "{} lately; the yeast likes {} and up",
                voice.at(mean),
                voice.at(low)
            ),
            Self::Chill { by } => format!("cooled by {} shortly before", voice.by(by)),
            Self::Peak { peak } => format!("never warmer than {}", voice.at(peak)),
            Self::NitrogenGiven { given, wanted } => format!(
                "{:.0} mg/L nitrogen given, about {:.0} wanted",
                given.get(),
                wanted.get()
            ),
            Self::NutrientLogged { times: 1 } => "nutrient logged once".into(),
            Self::NutrientLogged { times } => format!("nutrient logged {times} times"),
            Self::NoNutrientLogged => "no nutrient in the ledger".into(),
            Self::GradualStop => "it ran down gradually".into(),
            Self::SuddenStop => "it stopped suddenly".into(),
            Self::SlowThroughout => "slow from the start".into(),
            Self::AlcoholBesideTolerance { abv, tolerance } => format!(
                "{}, yeast tolerance {:.0} %",
                strength(abv),
                tolerance.get()
            ),
            Self::StartedAt { og } => format!("started at {}", voice.gravity(og)),
            Self::AcidityIs { ph } => format!("pH {:.1}", ph.get()),
            Self::AcidityUnknown => "pH never measured".into(),
            Self::OddReading { off } => {
                format!("a reading {} off the others", voice.points(off, MIDDLE))
            }
            Self::ReadingsAgree { readings } => format!("{readings} readings agree"),
            Self::RefractometerOnly => "read with a refractometer".into(),
            Self::NeverFell { days: d } => format!("no fall in {}", days(d)),
            Self::DidFerment { fell } => {
                format!("it did ferment by {}", voice.points(fell, MIDDLE))
            }
            Self::SulfiteLogged => "sulfite in the ledger".into(),
            Self::NoSulfiteLogged => "no sulfite in the ledger".into(),
            Self::RackedBefore { days: d } => format!("racked {} before", days(d)),
            Self::NotRacked => "not racked before".into(),
            Self::MaltFeeds => "malt has nitrogen enough".into(),
            Self::SugarInOneLump => "sugar went in in one lump".into(),
        }
    }
}

impl Action {
    /// The action as a sentence to the maker.
    pub fn sentence(&self, voice: Voice) -> String {
        match *self {
            Self::LeaveAlone => "Leave it alone.".into(),
            Self::TakeReading => "Take a reading.".into(),
            Self::MeasureAgain => format!(
                "Measure again: degas the sample, correct for its temperature, check the hydrometer in {} water (1.000).",
                voice.at(Celsius::known(20.0))
            ),
            Self::CompareWithTolerance {
                abv,
                tolerance: Some(t),
            } => format!(
                "Compare its alcohol ({}) with the yeast's tolerance ({:.0} %): near it, this is the end.",
                strength(abv),
                t.get()
            ),
            Self::CompareWithTolerance {
                abv,
                tolerance: None,
            } => format!(
                "Look up the yeast's tolerance: it has {} now.",
                strength(abv)
            ),
            Self::Warm { by, to } => format!(
                "Warm by {} to {}, no more than {} a day, then wait 3 days.",
                voice.by(by),
                voice.at(to),
                voice.by(CelsiusDelta::known(2.0))
            ),
            Self::Cool { to } => format!("Cool it to {} or below.", voice.at(to)),
            Self::Rouse => {
                "Rouse the lees with a gentle swirl, no splashing, then wait 2 days.".into()
            }
            Self::Feed { ammonium: true, .. } => {
                "Feed it: degas first, then a part of the planned nutrient.".into()
            }
            Self::Feed { late: true, .. } => {
                "Feed yeast-derived nutrient; this late, it only partly helped in one trial.".into()
            }
            Self::Feed { .. } => "Feed yeast-derived nutrient, no ammonium phosphate.".into(),
            Self::AddHulls => "Add yeast hulls, 0.25 g/L.".into(),
            Self::MeasureAcidity => "Measure pH.".into(),
            Self::RaisePh { ph } => format!(
                "pH {:.1} is too acid: raise it to 3.3-3.6 with potassium bicarbonate in steps of 0.25-0.5 g/L.",
                ph.get()
            ),
            Self::Dilute => "Dilute it a little with water: it began with too much sugar.".into(),
            Self::Repitch => "Repitch with a starter acclimatised to this batch in steps.".into(),
            Self::ForcedTest => format!(
                "Keep a sample under a lock 3 days at {} to {}: if it falls, sugar is left.",
                voice.at(Celsius::known(25.0)),
                voice.at(Celsius::known(27.0))
            ),
            Self::Accept => "Or accept it sweet: stabilise it and bottle it still.".into(),
            Self::ConfirmEnd => "Wait for matching readings to confirm it has finished.".into(),
        }
    }
}

impl Avoid {
    /// What not to do, as a sentence.
    pub fn sentence(self, voice: Voice) -> String {
        match self {
            Self::Bottling => "Do not bottle it.".into(),
            Self::LateAmmonium => "No ammonium phosphate this late.".into(),
            Self::SprinklingYeast => "No dry yeast straight into strong must.".into(),
            Self::Overheating => format!("Not above {}.", voice.at(Celsius::known(27.0))),
            Self::Splashing => "No daily opening, no splashing.".into(),
            Self::AddingSugar => "No more sugar.".into(),
            Self::Sealing => "Do not seal it airtight.".into(),
            Self::BelievingAirlock => "The airlock proves nothing.".into(),
            Self::TwoChangesAtOnce => "One change at a time.".into(),
        }
    }
}

impl NextReading {
    /// The advice to read, as a sentence.
    pub fn sentence(&self, now: Moment) -> String {
        let when = match (self.at.day() - now.day()).num_days() {
            ..=0 => "A reading today".into(),
            1 => "A reading tomorrow".into(),
            n => format!("A reading in {n} days"),
        };
        let what = match self.settles {
            Question::Started => "would show whether it has started",
            Question::StuckOrSlow => "would tell stuck from slow",
            Question::MovingAgain => "would settle whether it moves again",
            Question::StuckOrFinished => "would tell stuck from finished",
            Question::Finished => "would confirm the end",
            Question::FinishedUnseen => "would show whether it is finished",
            Question::WhenFinished => "would narrow the finish most",
        };
        format!("{when} {what}.")
    }
}

impl WhatIf {
    /// How finish and risk would move, as a sentence.
    pub fn sentence(&self, voice: Voice) -> String {
        let what = match self.change {
            Change::LeftAlone => "Left alone".to_owned(),
            Change::Fed => "Fed now".to_owned(),
            Change::Warmer(by) if by.get() < 0.0 => format!("{} cooler", voice.by(by)),
            Change::Warmer(by) => format!("{} warmer", voice.by(by)),
        };
        let moves = match self.change {
            Change::Fed => "the model moves no figure".to_owned(),
            Change::LeftAlone => {
                format!("it sticks with a chance of {}", chance_of(self.risk.0))
            }
            Change::Warmer(_) => {
                let (before, after) = (chance_of(self.risk.0), chance_of(self.risk.1));
                let finish = finish_moves(self.finish_moves_days);
                if before == after {
                    format!("{finish}; the chance that it sticks stays at {after}")
                } else {
                    format!("{finish}; it sticks with a chance of {after} instead of {before}")
                }
            }
        };
        let caveat = self.caveat.map_or("", Caveat::words);
        format!("{what}: {moves}.{caveat}")
    }
}

fn finish_moves(moved: Option<f64>) -> String {
    match moved {
        None => "no finish to move".into(),
        Some(d) if d.abs() < 0.5 => "finish on the same day".into(),
        Some(d) if d < 0.0 => format!("finish {} sooner", days(-d)),
        Some(d) => format!("finish {} later", days(d)),
    }
}

impl Caveat {
    /// What is not known, to be added to a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Self::HelpsOnlyIfCold => " It helps a stuck one only where cold was the cause.",
            Self::TooWarm => " That is above what the yeast likes.",
            Self::HelpsOnlyIfHungry => " It helps only where nitrogen was short.",
            Self::TooFewReadings => " There are too few readings to say.",
        }
    }
}

/// A chance in words: never quite nothing and never quite sure, since the model may be wrong.
pub fn chance_of(chance: Share) -> String {
    match chance.get() * 100.0 {
        ..1.0 => "under 1 %".into(),
        99.0.. => "over 99 %".into(),
        percent => format!("{percent:.0} %"),
    }
}

impl BottlingHold {
    /// The reason in few words.
    pub fn brief(&self, unit: Voice) -> String {
        match *self {
            Self::LikelyToFall { chance } => {
                format!("{} chance of dropping > 0.002.", chance_of(chance))
            }
            Self::NotRepeated {
                readings,
                days: d,
                days_wanted,
                readings_wanted,
                ..
            } => {
                let wanted = days(days_wanted as f64);
                format!(
                    "Steady readings {readings} over {}; {readings_wanted} over {wanted}.",
                    days(d as f64)
                )
            }
            Self::Cold { coldest, .. } => format!("Read at {}: too cold.", unit.at(coldest)),
            Self::Stuck { probability } => {
                format!("Stuck ({}), sugar is left.", chance_of(probability))
            }
        }
    }

    /// The way out in few words.
    pub fn brief_way(&self) -> &'static str {
        match self {
            Self::LikelyToFall { .. } => "steady readings",
            Self::NotRepeated { .. } => "read again",
            Self::Cold { .. } => "warm it, then read",
            Self::Stuck { .. } => "restart it: see its advice",
        }
    }
    /// The reason, as a sentence.
    pub fn sentence(&self, voice: Voice) -> String {
        match *self {
            Self::LikelyToFall { chance } => format!(
                "{} chance that it drops more than {} in the bottle.",
                chance_of(chance),
                voice.points(GravityDelta::known(0.002), Gravity::known(1.000))
            ),
            Self::NotRepeated {
                readings,
                first: _,
                days: d,
                days_wanted,
                readings_wanted,
            } => format!(
                "Steady readings: {readings} over {}; {readings_wanted} over {} needed.",
                days(d as f64),
                days(days_wanted as f64)
            ),
            Self::Cold { coldest, low } => format!(
                "Read at {}: below {} gravity may only seem steady.",
                voice.at(coldest),
                voice.at(low)
            ),
            Self::Stuck { probability } => format!(
                "It seems stuck ({}): sugar is left.",
                chance_of(probability)
            ),
        }
    }
}
