use super::super::facts::Known;
use super::super::{BottlingHold, Evidence, Voice};
use super::Weakness;
use super::strength::Strength;
use crate::domain::records::HoldKind;
use crate::domain::units::{Gravity, GravityDelta, MilligramsPerLitre, Moment, Volumes};
use chrono::{NaiveDate, TimeDelta};
use std::borrow::Cow;

/// Why a batch is not to be bottled yet. The sentence is made where it is shown.
#[derive(Debug, Clone, PartialEq)]
pub enum Hold {
    /// The ferment does not count as finished; the engine's reasons.
    NotFinished(BottlingHold),
    /// Gravity lies above where this should end, by this much.
    AboveEnd {
        /// By how much.
        by: GravityDelta,
        /// The end that is meant.
        end: Gravity,
    },
    /// Nothing is known of its gravity.
    NoReadings,
    /// Sweet, meant to be still, and nothing keeps the yeast from the sugar.
    SweetAndAlive {
        /// Gas that the sugar could make, beyond any bottle.
        potential: Volumes,
        /// Why what was given does not count, where sulfite and sorbate are in.
        why: Option<Weakness>,
    },
    /// Something went in that ferments or thins, and no reading was taken once it had
    /// rested.
    Added {
        /// What.
        what: String,
        /// When.
        at: Moment,
        /// Days of rest before a reading shows what it did.
        days_wanted: i64,
        /// How well it is known what it brought.
        known: Known,
    },
    /// Sorbate is in: priming sugar would not make gas.
    SorbateAndPriming {
        /// When it was given.
        at: Moment,
    },
    /// Sorbate without sulfite: bacteria turn it into a smell of geraniums.
    SorbateAlone,
    /// More sulfite than the law allows in wine.
    TooMuchSulfite {
        /// Total so far.
        total: MilligramsPerLitre,
    },
    /// A bottle or keg is not strong enough.
    Strength(Strength),
    /// Already primed.
    PrimedTwice {
        /// When it was primed first.
        at: Moment,
    },
}

impl Hold {
    /// The kind that an override has to name.
    pub fn kind(&self) -> HoldKind {
        match self {
            Self::NotFinished(_) | Self::AboveEnd { .. } | Self::NoReadings => HoldKind::Unfinished,
            Self::SweetAndAlive { .. } => HoldKind::Sweet,
            Self::Added { .. } => HoldKind::Added,
            Self::SorbateAndPriming { .. } | Self::SorbateAlone => HoldKind::Sorbate,
            Self::TooMuchSulfite { .. } => HoldKind::Sulfite,
            Self::Strength(strength) => strength.kind(),
            Self::PrimedTwice { .. } => HoldKind::Primed,
        }
    }

    /// Whether a burst bottle is what it guards against.
    pub fn guards_against_bursting(&self) -> bool {
        !matches!(
            self,
            Self::SorbateAndPriming { .. } | Self::SorbateAlone | Self::TooMuchSulfite { .. }
        )
    }

    /// The reason in one plain sentence.
    pub fn sentence(&self, voice: Voice) -> String {
        match self {
            Self::NotFinished(hold) => hold.sentence(voice),
            Self::AboveEnd { by, end } => format!(
                "{} above its expected final gravity ({}): sugar may be left.",
                voice.points(*by, *end),
                voice.gravity(*end)
            ),
            Self::NoReadings => {
                "There is no gravity reading: nothing says that it is finished.".into()
            }
            Self::SweetAndAlive { potential, why } => format!(
                "It is sweet and {}: its sugar could make {:.1} volumes of CO2, and sealed bottles could explode.",
                unstable(*why),
                potential.get()
            ),
            Self::Added {
                what,
                at,
                days_wanted,
                known,
            } => {
                let what = if what.is_empty() { "something" } else { what };
                let taken = match known {
                    Known::ByFigures => "",
                    Known::ByUsual => " Its sugar was not measured: the usual amount is assumed.",
                    Known::NoAmount => " How much of it is not in the ledger.",
                };
                let day = |at: Moment| at.day().format("%-d %b").to_string();
                format!(
                    "Added on {}: {what}. Leave it for {days_wanted} days and check the gravity on or after {}.{taken}",
                    day(*at),
                    day(at.plus_days(*days_wanted as f64))
                )
            }
            Self::SorbateAndPriming { at } => format!(
                "Sorbate went in on {}: yeast can't make gas any more. Bottle it still.",
                at.day().format("%-d %b")
            ),
            Self::SorbateAlone => {
                "Without sulfite, bacteria turn sorbate into a smell of geraniums: add sulfite too."
                    .into()
            }
            Self::TooMuchSulfite { total } => format!(
                "{:.0} mg/L of sulfite in all: US wine may hold at most 350 (27 CFR 4.22).",
                total.get()
            ),
            Self::Strength(strength) => strength.sentence(voice),
            Self::PrimedTwice { at } => format!(
                "It was primed on {} already: no second dose.",
                at.day().format("%-d %b")
            ),
        }
    }

    /// The first day on which it could be lifted, where time alone tells one.
    pub fn not_before(&self, now: Moment) -> Option<NaiveDate> {
        match self {
            Self::NotFinished(BottlingHold::NotRepeated {
                first, days_wanted, ..
            }) => Some(first.unwrap_or(now.day()) + TimeDelta::days(*days_wanted)),
            Self::Added {
                at, days_wanted, ..
            } => Some(at.plus_days(*days_wanted as f64).day()),
            _ => None,
        }
    }

    /// What would lift it, in one plain sentence.
    pub fn way_out(&self) -> Cow<'static, str> {
        let way = match self {
            Self::NotFinished(BottlingHold::Stuck { .. }) => {
                "Restart it first (see its advice), then take another reading."
            }
            Self::NotFinished(_) | Self::AboveEnd { .. } | Self::NoReadings => {
                "Take readings a few days apart at its usual temperature until they are steady at the finish."
            }
            Self::SweetAndAlive { why: Some(why), .. } => why.way_out(),
            Self::SweetAndAlive { why: None, .. } => {
                "Stabilise it (sulfite and sorbate, once it is clear and finished), wait, then bottle still; or let it ferment out."
            }
            Self::Added { .. } => "Leave it under the airlock, then take a gravity reading.",
            Self::SorbateAndPriming { .. } => "Bottle it still.",
            Self::SorbateAlone => "Add the sulfite dose, then go on.",
            Self::TooMuchSulfite { .. } => "Give no more; blend with an untreated batch.",
            Self::Strength(strength) => return strength.way_out(),
            Self::PrimedTwice { .. } => "Bottle it as it is.",
        };
        way.into()
    }

    /// The reason and the way out in few words, for a row that holds both.
    pub fn brief(&self, unit: Voice, now: Moment) -> (String, String) {
        let (why, way) = match self {
            Self::NotFinished(hold) => (hold.brief(unit), hold.brief_way()),
            Self::AboveEnd { by, end } => (
                format!(
                    "{} above the expected {}.",
                    unit.points(*by, *end),
                    unit.gravity(*end)
                ),
                "steady readings at the finish",
            ),
            Self::NoReadings => ("No gravity reading.".to_owned(), "take a reading"),
            Self::SweetAndAlive { potential, .. } => (
                format!("Sweet, not stabilised: {:.1} volumes.", potential.get()),
                "stabilise, or let it finish",
            ),
            Self::Added { what, at, .. } => {
                let what = if what.is_empty() { "something" } else { what };
                let why = format!("Added on {}: {what}.", at.day().format("%-d %b"));
                (why, "leave it, then read")
            }
            Self::Strength(strength) => return strength.brief(unit),
            other => return (other.sentence(unit), other.way_out().into_owned()),
        };
        let day = self.not_before(now).filter(|day| *day > now.day());
        let way = day.map_or_else(
            || way.to_owned(),
            |day| format!("read again from {}", day.format("%-d %b")),
        );
        (why, way)
    }
}

/// Says in a few words that a drink does not count as stabilised, and why.
pub fn unstable(why: Option<Weakness>) -> String {
    match why {
        Some(why) => format!("does not count as stabilised ({})", why.sentence()),
        None => "is not stabilised".into(),
    }
}

/// The kinds of hold that stand, each once, in their order.
pub fn kinds_of(holds: &[Hold]) -> Vec<HoldKind> {
    let mut kinds: Vec<HoldKind> = holds.iter().map(Hold::kind).collect();
    kinds.sort();
    kinds.dedup();
    kinds
}

/// What would lift a hold, and the first day on which it may.
pub type WayOut = (Cow<'static, str>, Option<NaiveDate>);

/// What would lift each hold and the first day on which it may, where that lies ahead;
/// where the next hold has the same way out it is said once, after the last of them.
pub fn ways_out(holds: &[Hold], now: Moment) -> Vec<Option<WayOut>> {
    let mut latest = None;
    let mut ways = Vec::new();
    for (at, hold) in holds.iter().enumerate() {
        let way = hold.way_out();
        latest = latest.max(hold.not_before(now).filter(|day| *day > now.day()));
        let again = holds.get(at + 1).is_some_and(|next| next.way_out() == way);
        ways.push((!again).then_some((way, latest)));
        if !again {
            latest = None;
        }
    }
    ways
}

/// The engine's evidence that gravity lies above the end, where it says so.
pub(super) fn above_end(evidence: &[Evidence]) -> Option<Hold> {
    evidence.iter().find_map(|e| match e {
        Evidence::AboveEnd { by, end } => Some(Hold::AboveEnd { by: *by, end: *end }),
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_way_out_is_said_once_with_the_latest_day() {
        let now = Moment::from_stored(1_760_000_000_000, 0).unwrap();
        let still = Hold::NotFinished(BottlingHold::NotRepeated {
            readings: 3,
            first: Some(now.plus_days(-4.0).day()),
            days: 4,
            readings_wanted: 3,
            days_wanted: 7,
        });
        let holds = [still, Hold::NoReadings, Hold::SorbateAlone];
        let ways = ways_out(&holds, now);
        assert_eq!(ways[0], None);
        let day = now.plus_days(3.0).day();
        assert_eq!(ways[1], Some((Hold::NoReadings.way_out(), Some(day))));
        assert_eq!(ways[2], Some((Hold::SorbateAlone.way_out(), None)));
    }
}
