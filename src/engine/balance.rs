//! Sugar, alcohol and volume of a drink, balanced by mass from its last reading on.

use super::facts::{Addition, EXTRACT_PER_CO2, Known, Told, healthy_end};
use super::{OriginalGravity, Spread, Style, series};
use crate::domain::sums::blend::Lot;
use crate::domain::sums::carbonation::GRAMS_PER_VOLUME;
use crate::domain::sums::{alcohol, finish};
use crate::domain::units::{Abv, Grams, GramsPerLitre, Gravity, Litres, Moment, Share, Volumes};

/// What a drink holds at a moment: its last reading, and what went in since.
///
/// A reading starts the balance anew, for it tells better. What ferments between an
/// addition and the next reading is left out: until somebody looks, the sugar counts
/// as present. Masses add; nothing of it ferments, evaporates or settles.
#[derive(Debug, Clone, PartialEq)]
pub struct SugarBalance {
    /// The last reading of gravity, or the pitch where there was none.
    pub since: Moment,
    /// Volume, where it is known.
    pub volume: Option<Litres>,
    /// Gravity, with all that went in and nothing of it fermented.
    pub gravity: Gravity,
    /// Alcohol, likewise.
    pub alcohol: Option<Abv>,
    /// Fermentable sugar present. Lower end: what is above the expected final gravity;
    /// middle: all that could ferment; upper end: the same, with what has no figure
    /// as sweet as it can be.
    pub sugar: Spread<GramsPerLitre>,
    /// CO2 that the sugar could make, at most: far too much where nobody told how
    /// much of something went in.
    pub gas: Volumes,
    /// Where it should end.
    pub expected_end: Option<Gravity>,
    /// What went in since, oldest first.
    pub added: Vec<Addition>,
}

impl SugarBalance {
    /// What went in without a figure of its own: to be asked about.
    pub fn unfigured(&self) -> impl Iterator<Item = &Addition> {
        self.added.iter().filter(|a| a.known != Known::ByFigures)
    }
}

/// What the balance carries on while additions go in.
struct Carried {
    lot: Option<Lot>,
    litres: Option<f64>,
    /// Grams in all of it: above the expected end, all, and at most.
    sugar: [f64; 3],
    co2: f64,
}

impl Told {
    /// Balances the drink as of `now`; `None` while no gravity of it is known.
    ///
    /// Sources: Balling and Tabarie for what the reading shows
    /// ([`crate::domain::sums::source::BALLING`]), molar masses for the CO2 of sugar,
    /// USDA for what juice and fruit hold.
    pub fn balance(&self, now: Moment) -> Option<SugarBalance> {
        let read = self.last.filter(|l| l.at <= now);
        let og = self.facts.og.map(OriginalGravity::gravity);
        let start = read.map(|l| l.corrected).or(og)?;
        let since = read.map(|l| l.at).or(self.facts.pitched).unwrap_or(now);
        let added: Vec<Addition> = self
            .additions
            .iter()
            .filter(|a| a.at >= since && a.at <= now)
            .cloned()
            .collect();
        let original = self.original_at(since).or(og);
        let strength = original.and_then(|og| alcohol::by_volume(og, least(start, og)).ok());
        let first = added.first();
        let litres = first.map_or(self.volume, |a| a.before).map(Litres::get);
        let (all, above) = self.still_to_come(original.unwrap_or(start), start);
        let unit = litres.unwrap_or(1.0);
        let none = GramsPerLitre::known(0.0);
        let mut carried = Carried {
            lot: Lot::new(
                Litres::clamped(unit),
                start,
                strength.unwrap_or(Abv::known(0.0)),
                none,
            )
            .ok(),
            litres,
            sugar: [above, all, all].map(|co2| co2 * EXTRACT_PER_CO2 * unit),
            co2: all * unit,
        };
        // Without a volume before, nobody knows how far an addition was spread.
        let (spread, lost): (Vec<&Addition>, Vec<&Addition>) =
            added.iter().partition(|a| a.before.is_some());
        for addition in &spread {
            carried.add(addition);
        }
        let unknown = added
            .iter()
            .any(|a| a.known == Known::NoAmount && a.sweetens())
            || lost.iter().any(|a| a.sweetens());
        let seen = carried.lot.and_then(|lot| lot.seen().ok());
        let seen = seen.filter(|_| !spread.is_empty());
        let litres = seen.map_or(unit, |s| s.volume.get());
        let per_litre = |g: f64| GramsPerLitre::clamped(g / litres);
        Some(SugarBalance {
            since,
            volume: carried.litres.map(Litres::clamped),
            gravity: seen.map_or(start, |s| s.gravity),
            alcohol: strength.map(|strength| seen.map_or(strength, |s| s.alcohol)),
            sugar: Spread {
                p10: per_litre(carried.sugar[0]),
                p50: per_litre(carried.sugar[1]),
                p90: if unknown {
                    GramsPerLitre::clamped(GramsPerLitre::MAX)
                } else {
                    per_litre(carried.sugar[2])
                },
            },
            gas: if unknown {
                Volumes::clamped(Volumes::MAX)
            } else {
                Volumes::clamped(per_litre(carried.co2).get() / GRAMS_PER_VOLUME)
            },
            expected_end: healthy_end(&self.facts),
            added,
        })
    }

    /// The original gravity as if all that went in up to a moment had been there
    /// from the start.
    pub(crate) fn original_at(&self, then: Moment) -> Option<Gravity> {
        let ends = series::ends(&self.facts, &self.observations, &self.temperatures, then);
        ends.map(|(original, _)| original)
    }

    /// CO2 that a litre could still give off, g: down to the lowest that it could
    /// ferment to, and down to its expected end.
    fn still_to_come(&self, original: Gravity, now: Gravity) -> (f64, f64) {
        let share = match self.facts.style {
            Style::Beer => finish::WORT_SHARE,
            Style::Mead | Style::Cider => finish::DRY_SHARE,
        };
        let begun = most(original, now);
        let dry = finish::finish(begun, Share::known(share), None).map_or(now, |f| f.gravity);
        let end = healthy_end(&self.facts).unwrap_or(dry);
        let lowest = match self.facts.style {
            Style::Beer => least(dry, end),
            Style::Mead | Style::Cider => dry,
        };
        let down_to = |end: Gravity| {
            finish::co2_per_litre(begun, now, least(now, end)).map_or(0.0, GramsPerLitre::get)
        };
        (down_to(lowest), down_to(end))
    }
}

impl Carried {
    fn add(&mut self, addition: &Addition) {
        // Between two additions some was drawn off, or lost.
        if let (Some(had), Some(is)) = (self.litres, addition.before.map(Litres::get))
            && had > 0.0
        {
            let part = is / had;
            self.lot = self.lot.map(|lot| lot.times(part));
            self.sugar = self.sugar.map(|g| g * part);
            self.co2 *= part;
        }
        self.lot = self.lot.map(|lot| lot.with(addition.lot));
        let more = [addition.sugar, addition.sugar, addition.most_sugar].map(Grams::get);
        for (sugar, more) in self.sugar.iter_mut().zip(more) {
            *sugar += more;
        }
        self.co2 += addition.most_co2.get();
        self.litres = self
            .lot
            .and_then(|lot| lot.seen().ok())
            .map(|s| s.volume.get());
    }
}

fn least(a: Gravity, b: Gravity) -> Gravity {
    if a < b { a } else { b }
}

fn most(a: Gravity, b: Gravity) -> Gravity {
    if a > b { a } else { b }
}
