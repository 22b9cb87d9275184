//! The season: vessels against weeks, and what clashes.
//!
//! Lives here: where batches lie until when, as far as steps and the engine
//! tell; clashes as values with their sentences; days away; backwards from a
//! feast. Must not live here: the clock, the store, drawing.

mod away;
mod clash;
mod lanes;
mod layout;

pub use away::{Advice as AwayAdvice, BEFORE_LEAVING, Meeting, meetings};
pub use clash::{Clash, clashes};
pub use lanes::{Lane, Span, Week, lanes, weeks};
pub use layout::{Laid, lay, on, ready, usual_days};

use super::Morning;
use crate::domain::plan::Supplies;
use crate::domain::records::{Household, StepRule};
use chrono::NaiveDate;

/// The season as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Season {
    /// Mondays, the first being that of the current week.
    pub weeks: Vec<Week>,
    /// One lane for each vessel in use, by tag, then plans without a vessel.
    pub lanes: Vec<Lane>,
    /// What clashes, what matters most first.
    pub clashes: Vec<Clash>,
}

/// Works out the season for so many weeks.
pub fn season(household: &Household, supplies: &Supplies, morning: &Morning, weeks: u32) -> Season {
    let today = morning.now.day();
    let lanes = lanes(household, supplies, morning);
    let weeks = self::weeks(household, supplies, morning, &lanes, weeks);
    let clashes = clashes(household, supplies, morning, &lanes, &weeks, today);
    Season {
        weeks,
        lanes,
        clashes,
    }
}

/// The latest day of pitching for a feast, by a routine and how long the
/// ferment usually takes. The feast itself is the day it is to be drunk.
pub fn latest_pitch(rules: &[StepRule], ferment_days: i64, feast: NaiveDate) -> Option<NaiveDate> {
    let laid = lay(rules, feast, ferment_days);
    let takes = (ready(rules, &laid)? - feast).num_days();
    Some(layout::plus(feast, -takes))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::plan::{KeptPlan, Plan, PlanVessel};
    use crate::domain::records::{
        Away, AwayId, Batch, BatchId, Dossier, Fizz, Opens, PantryId, PantryItem, PantryKind,
        Place, PlaceId, Stage, Stay, StayId, Step, StepId, StepKind, StepStatus, Style, Vessel,
        VesselId, VesselKind,
    };
    use crate::domain::units::{Celsius, Gravity, Litres, Moment, Share};
    use crate::engine::{History, morning};
    use crate::files::{routines, yeasts};
    use chrono::{DateTime, Datelike};

    fn now() -> Moment {
        Moment::new(DateTime::parse_from_rfc3339("2026-05-04T07:00:00+02:00").unwrap())
    }

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn vessel(n: i64, tag: &str) -> Vessel {
        Vessel {
            id: VesselId(n),
            tag: tag.to_owned(),
            kind: VesselKind::Jug,
            capacity: Litres::known(3.98),
            tare: None,
            place: PlaceId(1),
            clean: true,
            retired: false,
            rated: None,
            note: String::new(),
        }
    }

    /// A batch that is planned by a built-in routine.
    fn planned(n: i64, name: &str, routine: &str, on: &str) -> Dossier {
        let routine = routines::built_in(routine).unwrap();
        let steps = routine.steps.iter().zip(1..).map(|(rule, i)| Step {
            id: StepId(100 * n + i),
            batch: BatchId(n),
            rule: rule.clone(),
            status: StepStatus::Open,
            moved_to: None,
        });
        Dossier {
            batch: Batch {
                id: BatchId(n),
                name: name.to_owned(),
                style: routine.style,
                variety: String::new(),
                stage: Stage::Planned,
                routine: Some(routine.key.clone()),
                yeast: routine.yeast.clone(),
                tolerance: None,
                band: routine
                    .yeast
                    .as_deref()
                    .and_then(yeasts::built_in)
                    .map(|y| y.band),
                planned_og: Some(Gravity::known(1.095)),
                expected_fg: None,
                volume: Some(Litres::known(3.785411784)),
                fizz: Fizz::Still,
                pitched: None,
                bottled: None,
                closed: None,
                created: now(),
                planned_day: Some(day(on)),
                note: String::new(),
            },
            stays: vec![],
            readings: vec![],
            place_readings: vec![],
            events: vec![],
            steps: steps.collect(),
            lots: vec![],
        }
    }

    fn household(dossiers: Vec<Dossier>) -> Household {
        Household {
            places: vec![Place {
                id: PlaceId(1),
                name: "the closet".to_owned(),
                dark: true,
                usual_temp: Some(Celsius::known(20.0)),
                summer: None,
            }],
            vessels: vec![vessel(1, "J1"), vessel(2, "J2")],
            dossiers,
            ..Household::default()
        }
    }

    fn into_vessel(batch: i64, tag: &str) -> KeptPlan {
        KeptPlan {
            batch: BatchId(batch),
            plan: Plan::begin(
                Style::Mead,
                Some(PlanVessel {
                    tag: tag.to_owned(),
                    kind: VesselKind::Jug,
                    capacity: Litres::known(3.98),
                }),
            ),
        }
    }

    fn bottles(n: f64) -> PantryItem {
        PantryItem {
            id: PantryId(1),
            kind: PantryKind::Bottle,
            name: "12 oz bottles".to_owned(),
            amount: n,
            unit: "pieces".to_owned(),
            lot: String::new(),
            best_before: None,
            price: None,
            keep_at_least: None,
            bottle: None,
            note: String::new(),
        }
    }

    fn told(household: &Household, supplies: &Supplies) -> Vec<String> {
        let morning = morning(household, &History::default(), now());
        season(household, supplies, &morning, 12)
            .clashes
            .iter()
            .map(Clash::sentence)
            .collect()
    }

    const MEAD: &str = "one-gallon-traditional-mead";

    #[test]
    fn the_gallon_s_routine_is_bottled_on_day_thirty() {
        // Common practice: pitch on day 1, ten days of rest, bottle on day 30.
        let routine = routines::built_in(MEAD).unwrap();
        let laid = lay(
            &routine.steps,
            day("2026-05-04"),
            usual_days(Style::Mead, None, None),
        );
        assert_eq!(
            on(&routine.steps, &laid, StepKind::Bottle),
            Some(day("2026-06-02"))
        );
        assert_eq!(
            on(&routine.steps, &laid, StepKind::Rest),
            Some(day("2026-05-23"))
        );
    }

    #[test]
    fn backwards_from_a_feast() {
        let routine = routines::built_in(MEAD).unwrap();
        let pitch = latest_pitch(&routine.steps, 28, day("2026-06-30")).unwrap();
        assert_eq!(pitch, day("2026-06-01"));
        let laid = lay(&routine.steps, pitch, 28);
        assert_eq!(ready(&routine.steps, &laid), Some(day("2026-06-30")));
    }

    #[test]
    fn two_batches_of_one_day_are_bottled_on_one_day() {
        let home = household(vec![
            planned(1, "Oak", MEAD, "2026-05-10"),
            planned(2, "Lime", MEAD, "2026-05-10"),
        ]);
        let said = told(&home, &Supplies::default());
        assert!(
            said.contains(
                &"2 to bottle on 8 Jun: Oak, Lime. Waiting does no harm, so spread them."
                    .to_owned()
            ),
            "{said:#?}"
        );
    }

    #[test]
    fn away_on_the_day_of_bottling_is_told() {
        let home = household(vec![planned(1, "Oak", MEAD, "2026-05-10")]);
        let supplies = Supplies {
            away: vec![Away {
                id: AwayId(1),
                from: day("2026-06-05"),
                to: day("2026-06-12"),
                note: String::new(),
                dropped: false,
            }],
            plans: vec![into_vessel(1, "J1")],
            ..Supplies::default()
        };
        assert_eq!(
            told(&home, &supplies),
            ["Away 5 Jun to 12 Jun: bottle J1 (Oak)."]
        );
    }

    #[test]
    fn a_week_that_wants_more_bottles_than_there_are() {
        let home = household(vec![
            planned(1, "Oak", MEAD, "2026-05-10"),
            planned(2, "Lime", MEAD, "2026-05-12"),
        ]);
        let supplies = Supplies {
            pantry: vec![bottles(12.0)],
            ..Supplies::default()
        };
        let said = told(&home, &supplies);
        // 8 and 10 June are one week, ten bottles each.
        assert!(
            said.contains(&"Week of 8 Jun: 20 bottles wanted, 8 more than there are.".to_owned()),
            "{said:#?}"
        );
    }

    #[test]
    fn more_plans_than_vessels_in_a_week() {
        let home = household(vec![
            planned(1, "Oak", MEAD, "2026-05-11"),
            planned(2, "Lime", MEAD, "2026-05-12"),
            planned(3, "Heather", MEAD, "2026-05-13"),
        ]);
        let said = told(&home, &Supplies::default());
        assert!(
            said.contains(
                &"Week of 11 May: 3 vessels wanted for racking or pitching, 2 free.".to_owned()
            ),
            "{said:#?}"
        );
    }

    #[test]
    fn a_vessel_planned_twice_is_told_with_the_day_it_falls_free() {
        let home = household(vec![
            planned(1, "Oak", MEAD, "2026-05-10"),
            planned(2, "Lime", MEAD, "2026-05-20"),
        ]);
        let supplies = Supplies {
            plans: vec![into_vessel(1, "J1"), into_vessel(2, "J1")],
            ..Supplies::default()
        };
        assert_eq!(
            told(&home, &supplies)[0],
            "Lime is planned into J1 on 20 May, but Oak lies there until about 8 Jun."
        );
    }

    #[test]
    fn a_lager_is_not_for_this_closet() {
        // Lager 8 to 13 °C, borne 7 to 15 (common practice).
        let home = household(vec![planned(1, "Pale", "lager", "2026-05-10")]);
        let supplies = Supplies {
            plans: vec![into_vessel(1, "J2")],
            ..Supplies::default()
        };
        let said = told(&home, &supplies);
        assert_eq!(
            said[0],
            "Pale: not in the closet. It stands at 20 °C (68 °F), this yeast wants 7 °C (45 °F) to 15 °C (59 °F)."
        );
    }

    #[test]
    fn a_feast_too_soon_says_when_it_would_have_been_pitched() {
        let mut kept = into_vessel(1, "J1");
        kept.plan.feast_on = Some(day("2026-06-01"));
        let home = household(vec![planned(1, "Oak", MEAD, "2026-05-10")]);
        let supplies = Supplies {
            plans: vec![kept],
            ..Supplies::default()
        };
        assert_eq!(
            told(&home, &supplies)[0],
            "Oak is ready about 8 Jun, after its feast on 1 Jun: it would have to be pitched by 3 May."
        );
    }

    #[test]
    fn before_leaving_says_what_is_missed_and_what_can_wait() {
        let mut home = household(vec![planned(1, "Oak", MEAD, "2026-05-04")]);
        let batch = &mut home.dossiers[0].batch;
        batch.stage = Stage::Fermenting;
        batch.pitched = Some(now());
        let morning = morning(&home, &History::default(), now());
        let away = Away {
            id: AwayId(1),
            from: day("2026-05-06"),
            to: day("2026-05-09"),
            note: String::new(),
            dropped: false,
        };
        let found = meetings(&away, &morning.due, day("2026-05-04"));
        // Day 5 is 8 May: the second half of the nutrient falls while away.
        let feed = found
            .iter()
            .find(|m| m.opens == day("2026-05-08") && m.title.contains("nutrient"))
            .unwrap_or_else(|| panic!("{found:#?}"));
        assert!(
            matches!(
                feed.advice,
                AwayAdvice::Missed { .. } | AwayAdvice::Wait { .. }
            ),
            "{feed:?}"
        );
        assert!(found.iter().all(|m| !m.sentence().is_empty()));
        // What can wait until the return is worth a word from the day on that falls
        // into the absence, its first one included, and not the day before.
        let word = |due: &str| {
            let mut step = morning.due[0].clone();
            (step.kind, step.opens) = (StepKind::Rack, day("2026-05-05"));
            (step.due, step.overdue_after) = (day(due), day("2026-05-20"));
            meetings(&away, &[step], day("2026-05-04")).len()
        };
        assert_eq!((word("2026-05-05"), word("2026-05-06")), (0, 1));
    }

    #[test]
    fn a_lane_begins_when_the_batch_came_into_that_vessel() {
        let mut home = household(vec![planned(1, "Oak", MEAD, "2026-04-24")]);
        let stay = |n: i64, days: f64| Stay {
            id: StayId(n),
            batch: BatchId(1),
            vessel: VesselId(n),
            from: now().plus_days(days),
            to: None,
            volume: Some(Litres::known(1.9)),
        };
        let oak = &mut home.dossiers[0];
        oak.batch.stage = Stage::Fermenting;
        oak.batch.pitched = Some(now().plus_days(-10.0));
        oak.stays = vec![stay(1, -10.0), stay(2, -3.0)];
        let morning = morning(&home, &History::default(), now());
        let s = season(&home, &Supplies::default(), &morning, 8);
        let began = |tag: &str| s.lanes.iter().find(|l| l.tag == tag).unwrap().spans[0].from;
        assert_eq!(began("J1"), day("2026-04-24"));
        assert_eq!(began("J2"), day("2026-05-01"));
    }

    /// A feeding for a share of the sugar is laid where that is guessed to be gone, or on its
    /// latest day where that comes before.
    #[test]
    fn a_feeding_is_laid_by_its_sugar_or_by_its_latest_day() {
        let rule = |or_day| {
            let mut rule = routines::built_in(MEAD).unwrap().steps[0].clone();
            rule.opens = Opens::SugarGone {
                share: Share::known(1.0 / 3.0),
                or_day,
            };
            lay(&[rule], day("2026-05-04"), 28)[0].opens
        };
        // A third in a fifth of 28 days: six days on.
        assert_eq!(rule(None), day("2026-05-10"));
        assert_eq!(rule(Some(20)), day("2026-05-10"));
        assert_eq!(rule(Some(4)), day("2026-05-07"));
    }

    #[test]
    fn a_planned_vessel_falls_free_when_its_batch_is_bottled() {
        let home = household(vec![planned(1, "Oak", MEAD, "2026-05-10")]);
        let supplies = Supplies {
            plans: vec![into_vessel(1, "J1")],
            ..Supplies::default()
        };
        let morning = morning(&home, &History::default(), now());
        let s = season(&home, &supplies, &morning, 8);
        assert_eq!(s.weeks.len(), 8);
        assert!(
            s.weeks
                .iter()
                .all(|w| w.monday.weekday() == chrono::Weekday::Mon)
        );
        let lane = s.lanes.iter().find(|l| l.tag == "J1").unwrap();
        assert_eq!(lane.spans[0].until, Some(day("2026-06-08")));
        assert_eq!(s.weeks[0].vessels_free, 1, "J1 is taken from 10 May on");
    }
}
