//! The cellar: what is ready, what to open next, what stands in the light.

use crate::domain::records::{
    BatchId, Cellar, CellarLot, Dossier, EventKind, Household, Lot, Override, Place, Stage,
    Tasting, VesselId, VesselKind,
};
use crate::domain::units::{Litres, ML_PER_US_FL_OZ, Moment};
use chrono::NaiveDate;

/// Days before its last good day from which a lot should be drunk (common
/// practice, no source).
const SOON: i64 = 60;

/// How far a lot is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Readiness {
    /// Nothing was said about it.
    Unsaid,
    /// Not yet good.
    Young {
        /// Good from.
        ready: NaiveDate,
    },
    /// Good.
    Ready,
    /// Good, but not for long.
    DrinkSoon {
        /// Good until.
        by: NaiveDate,
    },
    /// Past its best.
    Past {
        /// Good until.
        by: NaiveDate,
    },
}

/// How far a lot is on a day.
pub fn readiness(lot: &Lot, today: NaiveDate) -> Readiness {
    if let Some(ready) = lot.ready_from
        && today < ready
    {
        return Readiness::Young { ready };
    }
    match lot.drink_by {
        Some(by) if by < today => Readiness::Past { by },
        Some(by) if (by - today).num_days() <= SOON => Readiness::DrinkSoon { by },
        Some(_) => Readiness::Ready,
        None if lot.ready_from.is_some() => Readiness::Ready,
        None => Readiness::Unsaid,
    }
}

/// Clear glass in a place that is not dark: light spoils colour and smell.
pub fn in_the_light(lot: &Lot, places: &[Place]) -> bool {
    lot.clear_glass && places.iter().any(|p| p.id == lot.place && !p.dark)
}

/// The five marks as one, 1 to 5.
pub fn score(marks: [u8; 5]) -> f64 {
    marks.iter().map(|m| f64::from(*m)).sum::<f64>() / 5.0
}

/// Mean of all tastings, and their number.
pub fn mean_score<'a>(tastings: impl Iterator<Item = &'a Tasting>) -> Option<(f64, usize)> {
    let scores: Vec<f64> = tastings.map(|t| score(t.marks)).collect();
    let n = scores.len();
    (n > 0).then(|| (scores.iter().sum::<f64>() / n as f64, n))
}

/// Why a lot is to be opened next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OpenWhy {
    /// Past its best.
    Past {
        /// Good until.
        by: NaiveDate,
    },
    /// Not good for long any more.
    Soon {
        /// Good until.
        by: NaiveDate,
    },
    /// Ready, and nobody knows how it tastes.
    NeverTasted,
    /// Ready, and tasted longest ago.
    LongAgo {
        /// Days since.
        days: i64,
    },
}

impl OpenWhy {
    fn rank(self) -> (u8, i64) {
        match self {
            Self::Past { by } => (0, days(by)),
            Self::Soon { by } => (1, days(by)),
            Self::NeverTasted => (2, 0),
            Self::LongAgo { days } => (3, -days),
        }
    }
}

fn days(date: NaiveDate) -> i64 {
    (date - NaiveDate::default()).num_days()
}

/// What to open next, the first thing first. Lots that are not ready wait.
pub fn open_next(cellar: &Cellar, now: Moment) -> Vec<(&CellarLot, OpenWhy)> {
    let today = now.day();
    let mut found: Vec<(&CellarLot, OpenWhy)> = cellar
        .stocked()
        .filter_map(|l| {
            let why = match readiness(&l.lot, today) {
                Readiness::Young { .. } => return None,
                Readiness::Past { by } => OpenWhy::Past { by },
                Readiness::DrinkSoon { by } => OpenWhy::Soon { by },
                Readiness::Ready | Readiness::Unsaid => {
                    match cellar.tastings_of(l.batch.id).last() {
                        None => OpenWhy::NeverTasted,
                        Some(t) => OpenWhy::LongAgo {
                            days: (today - t.at.day()).num_days(),
                        },
                    }
                }
            };
            Some((l, why))
        })
        .collect();
    found.sort_by_key(|(l, why)| (why.rank(), l.lot.bottled));
    found
}

/// A glass out of a keg (12 fl oz; common practice, no source).
pub fn glass() -> Litres {
    Litres::known(12.0 * ML_PER_US_FL_OZ / 1000.0)
}

/// A keg that is drunk from.
#[derive(Debug, Clone, PartialEq)]
pub struct Tapped {
    /// What it holds.
    pub batch: BatchId,
    /// Its name.
    pub name: String,
    /// Which keg.
    pub vessel: VesselId,
    /// Its tag.
    pub tag: String,
    /// Filled on.
    pub since: Moment,
    /// What is left.
    pub left: Litres,
    /// Nothing of the batch lies in another vessel.
    pub alone: bool,
    /// How its regulator was set, as the ledger says.
    pub setting: Option<String>,
    /// Holds that were overridden when it was filled.
    pub overrides: Vec<Override>,
}

/// How a note of the regulator's setting begins.
pub const REGULATOR: &str = "regulator at ";

impl Tapped {
    /// Whole glasses left.
    pub fn glasses(&self) -> u32 {
        (self.left.get() / glass().get() + 1e-9).floor() as u32
    }
}

/// Kegs with something in them; what was drawn stands as losses in the ledger.
pub fn kegs(household: &Household) -> Vec<Tapped> {
    let mut found = Vec::new();
    for dossier in &household.dossiers {
        if dossier.batch.stage == Stage::Planned {
            continue;
        }
        for stay in dossier.stays.iter().filter(|s| s.to.is_none()) {
            let Some(vessel) = household
                .vessel(stay.vessel)
                .filter(|v| v.kind == VesselKind::Keg)
            else {
                continue;
            };
            let drawn: f64 = dossier
                .events
                .iter()
                .filter(|e| {
                    e.kind == EventKind::Loss && e.vessel == Some(vessel.id) && e.at > stay.from
                })
                .filter_map(|e| e.volume)
                .map(Litres::get)
                .sum();
            found.push(Tapped {
                batch: dossier.batch.id,
                name: dossier.batch.name.clone(),
                vessel: vessel.id,
                tag: vessel.tag.clone(),
                since: stay.from,
                left: Litres::clamped(stay.volume.map_or(0.0, Litres::get) - drawn),
                alone: dossier.vessels().count() == 1,
                overrides: overrides(dossier, stay.from),
                setting: dossier
                    .events
                    .iter()
                    .filter(|e| e.at >= stay.from && e.kind == EventKind::Note)
                    .filter(|e| e.note.starts_with(REGULATOR))
                    .map(|e| e.note.clone())
                    .next_back(),
            });
        }
    }
    found
}

/// Holds that were overridden at the instant at which a lot or a keg was filled.
pub fn overrides(dossier: &Dossier, filled: Moment) -> Vec<Override> {
    let then = dossier.events.iter().filter(|e| e.at == filled);
    then.filter_map(Override::of).collect()
}

/// US federal limit a household may make in a calendar year, US gallons, of
/// wine (mead and cider) and of beer each: 100 with one adult, 200 with two or
/// more (27 CFR 24.75, 25.205). None without an adult.
pub fn yearly_limit(adults: u32) -> Option<f64> {
    match adults {
        0 => None,
        1 => Some(100.0),
        _ => Some(200.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::records::{BottleClass, LotId, PlaceId, TastingId};

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn lot(ready_from: Option<&str>, drink_by: Option<&str>) -> Lot {
        Lot {
            id: LotId(1),
            batch: BatchId(1),
            class: BottleClass::Crown,
            size: Litres::known(0.355),
            count: 10,
            clear_glass: true,
            place: PlaceId(1),
            bottled: Moment::from_stored(1_760_000_000_000, 0).unwrap(),
            ready_from: ready_from.map(day),
            drink_by: drink_by.map(day),
            note: String::new(),
        }
    }

    #[test]
    fn the_five_marks_are_one_by_their_mean() {
        assert!((score([5, 4, 4, 3, 5]) - 4.2).abs() < 1e-12);
        assert!((score([1; 5]) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn tastings_are_told_by_their_mean_and_number() {
        let tasting = |id, marks| Tasting {
            id: TastingId(id),
            batch: BatchId(1),
            lot: None,
            at: Moment::from_stored(1_760_000_000_000, 0).unwrap(),
            marks,
            words: String::new(),
        };
        let two = [tasting(1, [5, 4, 4, 3, 5]), tasting(2, [1; 5])];
        let (mean, n) = mean_score(two.iter()).unwrap();
        assert!((mean - 2.6).abs() < 1e-12);
        assert_eq!(n, 2);
        let (one, n) = mean_score(two.iter().take(1)).unwrap();
        assert!((one - 4.2).abs() < 1e-12);
        assert_eq!(n, 1);
        assert!(mean_score(std::iter::empty()).is_none());
    }

    #[test]
    fn the_year_s_limit_is_that_of_the_law_for_the_adults_there_are() {
        // 27 CFR 24.75 and 25.205: adults make it, 100 gallons for one, 200 for more.
        let limit = |adults| yearly_limit(adults).map(|gallons| gallons as u32);
        assert_eq!(
            [0, 1, 2, 5].map(limit),
            [None, Some(100), Some(200), Some(200)]
        );
    }

    #[test]
    fn clear_glass_in_a_lit_place_alone_stands_in_the_light() {
        let place = |id, dark| Place {
            id: PlaceId(id),
            name: String::new(),
            dark,
            usual_temp: None,
            summer: None,
        };
        let bright = [place(1, false), place(2, true)];
        let closet = [place(1, true), place(2, false)];
        let clear = lot(None, None);
        let brown = Lot {
            clear_glass: false,
            ..clear.clone()
        };
        assert!(in_the_light(&clear, &bright) && !in_the_light(&clear, &closet));
        assert!(!in_the_light(&brown, &bright) && !in_the_light(&brown, &closet));
    }

    #[test]
    fn a_lot_is_young_ready_soon_to_be_drunk_and_past_on_its_days() {
        let lot = lot(Some("2026-12-01"), Some("2027-06-01"));
        let at = |text: &str| readiness(&lot, day(text));
        let (ready, by) = (day("2026-12-01"), day("2027-06-01"));
        assert_eq!(at("2026-11-30"), Readiness::Young { ready });
        assert_eq!(at("2026-12-01"), Readiness::Ready);
        // Sixty days before its last good day, and on that day.
        assert_eq!(at("2027-04-01"), Readiness::Ready);
        assert_eq!(at("2027-04-02"), Readiness::DrinkSoon { by });
        assert_eq!(at("2027-06-01"), Readiness::DrinkSoon { by });
        assert_eq!(at("2027-06-02"), Readiness::Past { by });
        assert_eq!(readiness(&self::lot(None, None), ready), Readiness::Unsaid);
    }

    #[test]
    fn a_glass_is_twelve_fluid_ounces() {
        // NIST Handbook 44, appendix C: a US fluid ounce is 29.57353 mL.
        assert!((glass().get() - 12.0 * 0.02957353).abs() < 1e-6);
    }

    #[test]
    fn what_is_past_its_day_is_opened_before_what_is_only_long_ago() {
        let by = |text| day(text);
        let order = [
            OpenWhy::Past {
                by: by("2026-01-01"),
            },
            OpenWhy::Past {
                by: by("2026-02-01"),
            },
            OpenWhy::Soon {
                by: by("2026-01-15"),
            },
            OpenWhy::NeverTasted,
            OpenWhy::LongAgo { days: 300 },
            OpenWhy::LongAgo { days: 30 },
        ];
        assert!(order.windows(2).all(|w| w[0].rank() < w[1].rank()));
    }
}
