//! Batches side by side: how each went, for comparing and for learning.

use super::cellar::mean_score;
use super::facts::{self, Told};
use super::{Account, History, OriginalGravity, State};
use crate::domain::records::{BatchId, Dossier, EventKind, Household, Stage, Style, Tasting};
use crate::domain::units::{Abv, Celsius, Gravity, Moment};

/// How one batch went.
#[derive(Debug, Clone, PartialEq)]
pub struct Story {
    /// Which.
    pub batch: BatchId,
    /// Its name.
    pub name: String,
    /// Family.
    pub style: Style,
    /// Where it stands.
    pub stage: Stage,
    /// When yeast went in.
    pub pitched: Moment,
    /// Class of yeast.
    pub yeast: Option<String>,
    /// What its sugar came from, as planned.
    pub sugar: Option<String>,
    /// Mean temperature.
    pub temperature: Option<Celsius>,
    /// Feedings.
    pub fed: usize,
    /// Original gravity, as measured or planned.
    pub og: Option<Gravity>,
    /// Gravity read last.
    pub last: Option<Gravity>,
    /// Alcohol by these, with all that was poured in.
    pub alcohol: Option<Abv>,
    /// Days until it was within 0.001 of its end.
    pub days_to_finish: Option<f64>,
    /// Whether it stuck.
    pub stuck: Option<bool>,
    /// Mean score, and of how many tastings.
    pub score: Option<(f64, usize)>,
    /// Gravities by days since the pitch.
    pub trend: Vec<(f64, f64)>,
    /// What was to be done differently next time.
    pub note: String,
    /// What was said of it when it was tasted last.
    pub tasted: String,
}

/// How a batch went; none for one that was never pitched.
pub fn story(
    household: &Household,
    dossier: &Dossier,
    tastings: &[Tasting],
    sugar: Option<String>,
    now: Moment,
) -> Option<Story> {
    let batch = &dossier.batch;
    let pitched = batch.pitched?;
    let until = batch.bottled.or(batch.closed).unwrap_or(now);
    let told = facts::told(household, dossier, None, until);
    let History { mut batches } = facts::history(household, [dossier], now);
    let past = batches.pop();
    let og = told.facts.og.map(OriginalGravity::gravity);
    let last = told.last.map(|l| l.corrected);
    Some(Story {
        batch: batch.id,
        name: batch.name.clone(),
        style: batch.style,
        stage: batch.stage,
        pitched,
        yeast: batch.yeast.clone(),
        sugar,
        temperature: past
            .as_ref()
            .and_then(|p| p.temperature)
            .or_else(|| mean_temperature(&told)),
        fed: dossier
            .events
            .iter()
            .filter(|e| e.kind == EventKind::Feed)
            .count(),
        og,
        last,
        alcohol: told.strength(until),
        days_to_finish: past.as_ref().filter(|p| !p.stuck).map(|p| p.days_to_finish),
        stuck: past.as_ref().map(|p| p.stuck),
        score: mean_score(tastings.iter().filter(|t| t.batch == batch.id)),
        trend: told
            .gravities
            .iter()
            .map(|(at, g)| (at.days_since(pitched), g.get()))
            .collect(),
        note: batch.note.trim().to_owned(),
        tasted: tastings
            .iter()
            .filter(|t| t.batch == batch.id && !t.words.trim().is_empty())
            .max_by_key(|t| t.at)
            .map_or_else(String::new, |t| t.words.trim().to_owned()),
    })
}

impl Story {
    /// The same with the figures of its account, while there is one.
    #[must_use]
    pub fn by(mut self, accounts: &[Account]) -> Self {
        let mine = accounts.iter().filter(|a| a.batch == self.batch);
        // What lies in several vessels is told by the one that needs the maker most.
        if let Some(account) = mine.min_by_key(|a| a.urgency) {
            self.last = account.last.map(|l| l.corrected);
            self.alcohol = account.figures.alcohol;
            if account.state == State::Stuck {
                self.stuck = Some(true);
            }
        }
        self
    }
}

fn mean_temperature(told: &Told) -> Option<Celsius> {
    let n = told.temperatures.len();
    let sum: f64 = told.temperatures.iter().map(|t| t.celsius.get()).sum();
    (n > 0).then(|| Celsius::clamped(sum / n as f64))
}

/// What is alike between a plan and an earlier batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Likeness {
    /// The class of yeast.
    pub yeast: bool,
    /// What most of its sugar comes from.
    pub sugar: bool,
}

/// The ended or tasted batch to remember when one of this family is planned: of the same yeast
/// or of the same honey or sugar. One of which something was written comes
/// before one without a word, then what is more alike, then the youngest.
pub fn last_time<'s>(
    stories: &'s [Story],
    style: Style,
    yeast: &str,
    sugar: Option<&str>,
) -> Option<(&'s Story, Likeness)> {
    let alike = |s: &Story| Likeness {
        yeast: s.yeast.as_deref() == Some(yeast),
        sugar: sugar.is_some() && s.sugar.as_deref() == sugar,
    };
    stories
        .iter()
        .filter(|s| s.style == style)
        .filter(|s| matches!(s.stage, Stage::Bottled | Stage::Closed) || !s.tasted.is_empty())
        .map(|s| (s, alike(s)))
        .filter(|(_, like)| like.yeast || like.sugar)
        .max_by_key(|(s, like)| {
            let written = !s.note.is_empty() || !s.tasted.is_empty();
            (written, *like, s.pitched)
        })
}

/// By what stories are ordered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Order {
    /// The youngest first.
    #[default]
    Youngest,
    /// The best first.
    Score,
    /// The quickest first.
    Quickest,
    /// By yeast.
    Yeast,
    /// By what its sugar came from.
    Sugar,
    /// The coolest first.
    Temperature,
    /// The most often fed first.
    Fed,
    /// What stuck first.
    Stuck,
}

impl Order {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::Youngest,
        Self::Score,
        Self::Quickest,
        Self::Yeast,
        Self::Sugar,
        Self::Temperature,
        Self::Fed,
        Self::Stuck,
    ];

    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Youngest => "youngest first",
            Self::Score => "best first",
            Self::Quickest => "quickest first",
            Self::Yeast => "by yeast",
            Self::Sugar => "by honey and sugar",
            Self::Temperature => "coolest first",
            Self::Fed => "most fed first",
            Self::Stuck => "stuck first",
        }
    }
}

/// Puts stories in an order; what is not known comes last.
pub fn sort(stories: &mut [Story], order: Order) {
    stories.sort_by(|a, b| {
        let young = b.pitched.cmp(&a.pitched);
        match order {
            Order::Youngest => young,
            Order::Score => known(b.score.map(|s| s.0), a.score.map(|s| s.0), true).then(young),
            Order::Quickest => known(a.days_to_finish, b.days_to_finish, false).then(young),
            Order::Yeast => words(a.yeast.as_ref(), b.yeast.as_ref()).then(young),
            Order::Sugar => words(a.sugar.as_ref(), b.sugar.as_ref()).then(young),
            Order::Temperature => {
                let mean = |s: &Story| s.temperature.map(Celsius::get);
                known(mean(a), mean(b), false).then(young)
            }
            Order::Fed => b.fed.cmp(&a.fed).then(young),
            Order::Stuck => {
                let rank = |s: &Story| s.stuck.map_or(2, |stuck| u8::from(!stuck));
                rank(a).cmp(&rank(b)).then(young)
            }
        }
    });
}

fn known(a: Option<f64>, b: Option<f64>, turned: bool) -> std::cmp::Ordering {
    use std::cmp::Ordering;
    match (a, b) {
        (Some(a), Some(b)) => a.total_cmp(&b),
        (None, None) => Ordering::Equal,
        (Some(_), None) if turned => Ordering::Greater,
        (Some(_), None) => Ordering::Less,
        (None, Some(_)) if turned => Ordering::Less,
        (None, Some(_)) => Ordering::Greater,
    }
}

fn words(a: Option<&String>, b: Option<&String>) -> std::cmp::Ordering {
    (a.is_none(), a).cmp(&(b.is_none(), b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::DateTime;

    fn story(name: &str, yeast: &str, sugar: Option<&str>, days: f64) -> Story {
        let start = DateTime::parse_from_rfc3339("2026-03-01T08:00:00-08:00").unwrap();
        Story {
            batch: BatchId(1),
            name: name.to_owned(),
            style: Style::Mead,
            stage: Stage::Bottled,
            pitched: Moment::new(start).plus_days(days),
            yeast: Some(yeast.to_owned()),
            sugar: sugar.map(str::to_owned),
            temperature: None,
            fed: 0,
            og: None,
            last: None,
            alcohol: None,
            days_to_finish: None,
            stuck: None,
            score: None,
            trend: vec![],
            note: String::new(),
            tasted: String::new(),
        }
    }

    fn remembered(all: &[Story], sugar: Option<&str>) -> Option<(String, Likeness)> {
        let (story, like) = last_time(all, Style::Mead, "white wine", sugar)?;
        Some((story.name.clone(), like))
    }

    #[test]
    fn what_is_more_alike_is_remembered_before_what_is_younger() {
        let heather = Some("heather honey");
        let (of_yeast, of_both, of_sugar) = (
            story("yeast", "white wine", Some("clover honey"), 30.0),
            story("both", "white wine", heather, 10.0),
            story("sugar", "ale", heather, 60.0),
        );
        let other = story("other", "ale", Some("clover honey"), 90.0);
        let all = [of_yeast.clone(), of_both, of_sugar.clone(), other.clone()];
        let both = Likeness {
            yeast: true,
            sugar: true,
        };
        assert_eq!(remembered(&all, heather), Some(("both".to_owned(), both)));
        let (name, like) = remembered(&all, None).unwrap();
        assert_eq!(
            (name.as_str(), like.sugar),
            ("yeast", false),
            "the younger of two"
        );
        let (name, like) = remembered(&[of_sugar.clone(), other.clone()], heather).unwrap();
        assert_eq!((name.as_str(), like.yeast), ("sugar", false));
        assert_eq!(remembered(&[other], heather), None);

        // One of which something was written comes first, another family or one that
        // nobody has tasted yet never.
        let mut written = of_sugar.clone();
        written.note = "less nutrient".to_owned();
        assert_eq!(
            remembered(&[of_yeast, written.clone()], heather).unwrap().0,
            "sugar"
        );
        written.stage = Stage::Fermenting;
        assert_eq!(remembered(&[written.clone()], heather), None);
        written.tasted = "thin".to_owned();
        assert!(remembered(&[written.clone()], heather).is_some());
        written.style = Style::Cider;
        assert_eq!(remembered(&[written], heather), None);
    }
}
