//! The account of a batch in one vessel: its figures, state, dates and holds for
//! one moment. Every screen, verb, report and file takes them from here.

use super::assess::abv;
use super::bottling::{self, Hold, Treatment};
use super::facts::{self, Told, healthy_end};
use super::morning::{LastGravity, State, Urgency};
use super::schedule::Due;
use super::{
    Action, Assessment, CauseWeight, Evidence, Flag, NextReading, Observation, OriginalGravity,
    Question, Seen, Sign, Spread, series,
};
use crate::domain::records::{BatchId, Dossier, Household, Stage, StepKind, Style, VesselId};
use crate::domain::slip::{self, Fact, Known, Meaning, Slip};
use crate::domain::sums::{alcohol, finish};
use crate::domain::units::{
    Abv, Celsius, GramsPerLitre, Gravity, GravityDelta, Litres, Moment, Share, Zone,
};
use chrono::NaiveDate;
use std::sync::Arc;

/// One step of a hydrometer's scale: two gravities within it are the same.
const STEP: f64 = 0.001;
/// Grams of sugar that ferment for each gram of CO2 (Balling: 2.0665 g of extract
/// give 1 g of alcohol and 0.9565 g of CO2).
const SUGAR_PER_CO2: f64 = 2.0665 / 0.9565;

/// One batch in one vessel, as of a moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Account {
    /// The moment that it is meant for; that of bottling for what is in bottles.
    pub at: Moment,
    /// The batch.
    pub batch: BatchId,
    /// Its vessel; none for a plan without one and for bottles.
    pub vessel: Option<VesselId>,
    /// Tag of the vessel, empty without one.
    pub tag: String,
    /// Name of the batch.
    pub name: String,
    /// Family.
    pub style: Style,
    /// Where the maker has taken it.
    pub stage: Stage,
    /// Day of the batch, the day of pitching being 1.
    pub day: Option<i64>,
    /// Volume in the vessel.
    pub volume: Option<Litres>,
    /// Last gravity read.
    pub last: Option<LastGravity>,
    /// Gravities, alcohol and sugar.
    pub figures: Figures,
    /// What it is doing.
    pub state: State,
    /// How sure that is, 0 to 1.
    pub sure: f64,
    /// When it is or was finished, in local time; none while that can't be said.
    pub finish: Option<Spread<Moment>>,
    /// Since when gravity has not fallen, where it stands still.
    pub flat: Option<Flat>,
    /// Doses given so far.
    pub treatment: Treatment,
    /// Why it may not be bottled, whatever the bottles; empty when it is clear to bottle.
    pub holds: Vec<Hold>,
    /// The next step due.
    pub next: Option<Due>,
    /// Why a gravity reading is due today; none when it is not.
    pub reading: Option<WhyRead>,
    /// What is not as it should be, worst first.
    pub flags: Vec<Flag>,
    /// How much it needs the maker.
    pub urgency: Urgency,
    /// What the engine says of it, with these figures in its sentences.
    pub assessment: Arc<Assessment>,
    /// What the engine was told of it.
    pub told: Arc<Told>,
    /// Last temperature known, of the vessel or its place.
    pub temperature: Option<(Celsius, Moment)>,
    /// Day until which it lies still, while it does.
    pub rest_until: Option<NaiveDate>,
}

impl Account {
    /// Whether it may be bottled, as far as the batch goes.
    pub fn clear_to_bottle(&self) -> bool {
        self.holds.is_empty()
    }

    /// Share of its sugar fermented.
    pub fn fermented(&self) -> Option<Share> {
        self.figures.fermented
    }

    /// Finish as local days; none when it is past.
    pub fn finish_ahead(&self, today: NaiveDate) -> Option<Spread<NaiveDate>> {
        let days = self.finish?.map(Moment::day);
        (days.p50 >= today).then_some(days)
    }

    /// The step that hands can do now.
    pub fn at_hand(&self) -> Option<&Due> {
        self.next.as_ref().filter(|d| d.wants_hands())
    }

    /// Whether a gravity reading is all that is due of it today.
    pub fn only_reading(&self, today: NaiveDate) -> bool {
        self.reading.is_some() && self.at_hand().is_none_or(|d| !d.presses(today))
    }
}

/// Gravities, alcohol and sugar of what lies in one vessel: one figure for each.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Figures {
    /// Original gravity, as if all that was added had been there from the start.
    pub original: Option<Gravity>,
    /// Gravity now: the last reading while nothing says that it has moved since,
    /// else the middle of what is likely.
    pub gravity: Option<Gravity>,
    /// Gravity now with its 80 % range.
    pub likely: Option<Spread<Gravity>>,
    /// Expected final gravity: as planned, else by sugar and yeast; with all that
    /// was added.
    pub expected_end: Option<Gravity>,
    /// Final gravity as forecast, if nothing is done; where it stands once it has
    /// stopped.
    pub final_gravity: Option<Spread<Gravity>>,
    /// Alcohol now.
    pub alcohol: Option<Abv>,
    /// Alcohol at the finish.
    pub alcohol_end: Option<Abv>,
    /// Share of the way from original to expected final gravity.
    pub fermented: Option<Share>,
    /// Fermentable sugar present, g/L, with its 80 % range.
    pub sugar: Option<Spread<GramsPerLitre>>,
}

impl Figures {
    /// Figures at the moment of an assessment.
    pub fn of(told: &Told, assessment: &Assessment) -> Self {
        let at = assessment.now;
        let ends = series::ends(&told.facts, &told.observations, &told.temperatures, at);
        let planned = told.facts.og.map(OriginalGravity::gravity);
        let original = ends.map(|(original, _)| original).or(planned);
        let read = ends.map(|(_, last)| last);
        let last = told.last.filter(|l| l.at <= at);
        let fresh = last.is_some_and(|l| l.at.day() == at.day());
        let likely = assessment.gravity_now;
        let gravity = match (read, likely) {
            (Some(read), Some(likely)) if stands(read, likely, fresh) => Some(read),
            (_, Some(likely)) => Some(likely.p50),
            (read, None) => read.or(last.map(|l| l.corrected)),
        };
        let pitched = told.facts.pitched.is_some_and(|p| p <= at);
        let expected_end = healthy_end(&told.facts);
        let final_gravity = final_gravity(assessment, gravity);
        let by = |g: Gravity| original.map(|og| abv(og, g));
        let alcohol = pitched
            .then(|| {
                gravity
                    .and_then(by)
                    .or(assessment.alcohol.map(|a| a.now.p50))
            })
            .flatten();
        let end = final_gravity.and_then(|f| by(f.p50));
        let end = end.or(assessment.alcohol.map(|a| a.end.p50));
        let share = |og, now, end| alcohol::share_gone(og, now, end).ok();
        let fermented = match (original, gravity, expected_end) {
            _ if !pitched => None,
            (Some(og), Some(now), Some(end)) => share(og, now, end),
            _ => assessment.sugar_gone.map(|s| s.p50),
        };
        let likely = gravity.map(|p50| around(p50, likely));
        let lowest = bottling::lowest(told, original);
        let sugar = original
            .zip(likely)
            .zip(lowest)
            .map(|((og, now), end)| now.map(|g| sugar(og, g, end)));
        // What went in since the last reading may all be there still.
        let added = told.balance(at).filter(|b| !b.added.is_empty());
        Self {
            original,
            gravity,
            likely,
            expected_end,
            final_gravity,
            alcohol,
            alcohol_end: alcohol
                .zip(end)
                .map(|(now, end)| if end > now { end } else { now }),
            fermented,
            sugar: match (sugar, added) {
                (Some(sugar), Some(added)) => Some(Spread {
                    p90: if added.sugar.p90 > sugar.p90 {
                        added.sugar.p90
                    } else {
                        sugar.p90
                    },
                    ..sugar
                }),
                (sugar, added) => sugar.or(added.map(|b| b.sugar)),
            },
        }
    }

    /// Figures of what is in bottles: sugar for gas counts as fermented.
    pub fn bottled(told: &Told, assessment: &Assessment) -> Self {
        let alcohol = told.strength(assessment.now);
        Self {
            alcohol,
            alcohol_end: alcohol,
            ..Self::of(told, assessment)
        }
    }
}

/// Whether the last reading still stands for the gravity now: on its own day
/// within a step of what is likely, later within a step of the middle.
fn stands(read: Gravity, likely: Spread<Gravity>, fresh: bool) -> bool {
    let read = read.get();
    if fresh {
        (likely.p10.get() - STEP..=likely.p90.get() + STEP).contains(&read)
    } else {
        (read - likely.p50.get()).abs() <= STEP
    }
}

/// The range around a figure that may differ a little from the middle.
fn around(p50: Gravity, likely: Option<Spread<Gravity>>) -> Spread<Gravity> {
    let likely = likely.unwrap_or(Spread {
        p10: p50,
        p50,
        p90: p50,
    });
    Spread {
        p10: least(likely.p10, p50),
        p50,
        p90: most(likely.p90, p50),
    }
}

fn least(a: Gravity, b: Gravity) -> Gravity {
    if a < b { a } else { b }
}

fn most(a: Gravity, b: Gravity) -> Gravity {
    if a > b { a } else { b }
}

/// What has stopped ends where it stands; nothing ends above where it stands.
fn final_gravity(assessment: &Assessment, now: Option<Gravity>) -> Option<Spread<Gravity>> {
    use super::{FermentState as S, Headline};
    let end = assessment.final_gravity?;
    let Some(now) = now else { return Some(end) };
    let stopped = matches!(assessment.headline, Headline::Clear(S::Finished | S::Stuck));
    Some(if stopped {
        around(now, Some(end))
    } else {
        Spread {
            p10: least(end.p10, now),
            p50: least(end.p50, now),
            p90: end.p90,
        }
    })
}

/// Sugar in a litre that could still ferment from one gravity to a lower one.
fn sugar(original: Gravity, now: Gravity, end: Gravity) -> GramsPerLitre {
    let start = most(original, now);
    let co2 = finish::co2_per_litre(start, now, least(now, end));
    GramsPerLitre::clamped(co2.map_or(0.0, |g| g.get() * SUGAR_PER_CO2))
}

/// A time without a fall in gravity, from reading to reading, by local days.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Flat {
    /// Day of the reading since which nothing fell.
    pub since: NaiveDate,
    /// Day of the last reading.
    pub until: NaiveDate,
}

impl Flat {
    /// By the assessment's evidence, else by readings within a step of the last.
    pub fn of(told: &Told, assessment: &Assessment) -> Option<Self> {
        let (last_at, last) = *told
            .gravities
            .iter()
            .rfind(|(at, _)| *at <= assessment.now)?;
        let said = assessment.evidence.iter().find_map(|e| match e {
            Evidence::NoFallSince { since, .. } => Some(*since),
            _ => None,
        });
        let level = || {
            told.gravities
                .iter()
                .filter(|(at, _)| *at <= last_at)
                .rev()
                .take_while(|(_, g)| (g.get() - last.get()).abs() <= STEP + 1e-9)
                .last()
                .map(|(at, _)| *at)
        };
        let since = said.or_else(level)?.day();
        (since < last_at.day()).then_some(Self {
            since,
            until: last_at.day(),
        })
    }

    /// Days that it spans.
    pub fn days(self) -> i64 {
        (self.until - self.since).num_days()
    }
}

/// Why a gravity reading is due today, whatever the steps say.
#[derive(Debug, Clone, PartialEq)]
pub enum WhyRead {
    /// Something is not as it should be, and a reading would tell.
    Flagged(Box<Flag>),
    /// It would tell most now.
    Telling(NextReading),
}

/// Something to do today.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Errand<'a> {
    /// A step.
    Step(&'a Due),
    /// A step that it is too late for: to be left out.
    TooLate(&'a Due),
    /// A gravity reading that no step asks for.
    Read(&'a WhyRead),
}

impl Errand<'_> {
    /// Whether it is a gravity reading.
    pub fn reads(&self) -> bool {
        match self {
            Self::Step(due) => due.kind == StepKind::Read,
            Self::Read(_) => true,
            Self::TooLate(_) => false,
        }
    }
}

/// Makes the sentences of an assessment speak of the account's figures.
pub(super) fn agree(mut said: Assessment, figures: &Figures, flat: Option<Flat>) -> Assessment {
    for e in &mut said.evidence {
        evidence(e, figures, flat);
    }
    for advice in &mut said.advice {
        compare(&mut advice.action, figures);
        if let Some(follow_up) = &mut advice.follow_up {
            compare(&mut follow_up.action, figures);
        }
    }
    for cause in &mut said.causes {
        signs(cause, figures);
    }
    said
}

/// Readings that are steady enough to bottle confirm the end: no more are asked for.
pub(super) fn confirmed(said: &mut Assessment) {
    said.next_reading = said
        .next_reading
        .filter(|n| n.settles != Question::Finished);
    said.advice.retain(|a| a.action != Action::ConfirmEnd);
}

fn evidence(e: &mut Evidence, figures: &Figures, flat: Option<Flat>) {
    let (now, expected) = (figures.gravity, figures.expected_end);
    match e {
        Evidence::AboveEnd { by, end } => {
            *end = expected.unwrap_or(*end);
            if let Some(now) = now {
                *by = GravityDelta::clamped(now.get() - end.get());
            }
        }
        Evidence::AtEnd { now: at, end } => {
            *at = now.unwrap_or(*at);
            *end = expected.unwrap_or(*end);
        }
        Evidence::NoFallSince { days, .. } => *days = flat.map_or(*days, |f| f.days() as f64),
        Evidence::PlanMayBeWrong { settled, .. } => *settled = now.unwrap_or(*settled),
        Evidence::ByForecast { now: at, .. } => *at = now.unwrap_or(*at),
        Evidence::NearTolerance { abv, .. } => *abv = figures.alcohol.unwrap_or(*abv),
        _ => {}
    }
}

fn compare(action: &mut Action, figures: &Figures) {
    if let Action::CompareWithTolerance { abv, .. } = action {
        *abv = figures.alcohol.unwrap_or(*abv);
    }
}

fn signs(cause: &mut CauseWeight, figures: &Figures) {
    for sign in cause.speaks_for.iter_mut().chain(&mut cause.speaks_against) {
        if let Sign::AlcoholBesideTolerance { abv, .. } = sign {
            *abv = figures.alcohol.unwrap_or(*abv);
        }
    }
}

impl Assessment {
    /// The same with every moment in local time.
    #[must_use]
    pub fn localised(mut self, zone: Zone) -> Self {
        let local = |at: Moment| zone.localise(at);
        self.finish = self.finish.map(|s| s.map(local));
        self.stuck.since = self.stuck.since.map(|s| s.map(local));
        for point in &mut self.curve {
            point.at = local(point.at);
        }
        if let Some(next) = &mut self.next_reading {
            next.at = local(next.at);
        }
        for e in &mut self.evidence {
            match e {
                Evidence::NoFallSince { since, .. } | Evidence::MovingAgain { since, .. } => {
                    *since = local(*since);
                }
                Evidence::Hot { at, .. }
                | Evidence::Chilled { at, .. }
                | Evidence::OddReading { at, .. } => *at = local(*at),
                _ => {}
            }
        }
        self
    }
}

/// What a slip means, with the alcohol and the share of the way that its gravity
/// comes to, by the balance of the account.
pub fn slip_meaning(slip: &Slip, known: &Known<'_>, household: &Household) -> Meaning {
    let mut meaning = slip::meaning(slip, known);
    let gravity = meaning.facts.iter().find_map(|f| match f {
        Fact::Gravity { corrected, .. } => Some(*corrected),
        Fact::Refraction { gravity, .. } => *gravity,
        _ => None,
    });
    let Some((gravity, dossier)) = gravity.zip(known.dossier) else {
        return meaning;
    };
    let vessel = known.vessel.map(|v| v.id);
    let vessel = vessel.filter(|v| dossier.vessels().any(|here| here == *v));
    let progress = progress(household, dossier, vessel, (gravity, slip.at));
    let of_gravity = |f: &Fact| {
        matches!(
            f,
            Fact::Gravity { .. } | Fact::Change { .. } | Fact::Original | Fact::Refraction { .. }
        )
    };
    let at = meaning.facts.iter().rposition(of_gravity);
    let at = at.map_or(meaning.facts.len(), |i| i + 1);
    meaning.facts.splice(at..at, progress);
    meaning
}

/// Alcohol and share of the way, were this gravity read then.
fn progress(
    household: &Household,
    dossier: &Dossier,
    vessel: Option<VesselId>,
    (gravity, at): (Gravity, Moment),
) -> Vec<Fact> {
    let mut told = facts::told(household, dossier, vessel, at);
    if told.facts.pitched.is_none_or(|p| at < p) {
        return Vec::new();
    }
    told.observations.push(Observation {
        at,
        temperature: None,
        seen: Seen::Hydrometer {
            gravity,
            resolution: GravityDelta::known(STEP),
        },
    });
    let ends = series::ends(&told.facts, &told.observations, &told.temperatures, at);
    let Some((original, now)) = ends.filter(|(original, now)| now < original) else {
        return Vec::new();
    };
    let share = healthy_end(&told.facts)
        .and_then(|end| alcohol::share_gone(original, now, end).ok())
        .map(Fact::SugarGone);
    let alcohol = Fact::Alcohol {
        abv: abv(original, now),
        measured: matches!(told.facts.og, Some(OriginalGravity::Measured(_))),
    };
    [Some(alcohol), share].into_iter().flatten().collect()
}
