//! A one-gallon mead through its thirty days, morning by morning, with the
//! clock handed in, over the start of summer time in the western United States
//! (8 March 2026, 02:00 becomes 03:00).
//!
//! The days are those of trade practice (common practice, no source). The
//! gravities are invented.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use chrono::{DateTime, Days, NaiveDate};
use skep::domain::deeds::{Deed, Fill, NewBatch, NewReading};
use skep::domain::records::{
    BatchId, BottleClass, MeasureKind, PlaceId, Seen, Stage, StepKind, Subject, Unit, VesselId,
    VesselKind,
};
use skep::domain::units::{Celsius, Gravity, Litres, Moment, batch_day};
use skep::engine::{History, Morning, State, morning};
use skep::files::{routines, yeasts};
use skep::store::Store;
use skep::work::carry_out;

fn moment(text: &str) -> Moment {
    Moment::new(DateTime::parse_from_rfc3339(text).unwrap())
}

/// Local clock time on a day of spring 2026 on the west coast.
fn clock(day: NaiveDate, time: &str) -> Moment {
    let summer = day >= NaiveDate::from_ymd_opt(2026, 3, 8).unwrap();
    let offset = if summer { "-07:00" } else { "-08:00" };
    moment(&format!("{day}T{time}:00{offset}"))
}

struct Home {
    store: Store,
    batch: BatchId,
    jug: VesselId,
    closet: PlaceId,
    pitched: Moment,
}

impl Home {
    fn new() -> Self {
        let pitched = moment("2026-02-28T20:30:00-08:00");
        let mut store = Store::in_memory().unwrap();
        let mut tell = |deed: Deed| carry_out(&mut store, &deed, pitched).unwrap();
        let closet = tell(Deed::AddPlace {
            name: "closet".into(),
            dark: true,
            usual_temp: Some(Celsius::known(20.0)),
        })
        .place()
        .unwrap();
        let jug = tell(Deed::AddVessel {
            tag: "J1".into(),
            kind: VesselKind::Jug,
            capacity: Litres::known(4.1),
            place: closet,
            tare: None,
        })
        .vessel()
        .unwrap();
        let routine = routines::built_in("one-gallon-traditional-mead").unwrap();
        let yeast = yeasts::built_in("wine").unwrap();
        let started = tell(Deed::StartBatch(Box::new(NewBatch {
            name: "Thirty Days".into(),
            style: routine.style,
            variety: routine.variety,
            vessel: Some(jug),
            routine: Some(routine.key),
            steps: routine.steps,
            yeast: Some(yeast.key),
            tolerance: Some(yeast.tolerance),
            band: Some(yeast.band),
            planned_og: Some(Gravity::known(1.095)),
            expected_fg: Some(Gravity::known(0.998)),
            volume: Some(routine.volume),
            fizz: routine.fizz,
            pitched: Some(pitched),
            planned_day: None,
            note: String::new(),
        })));
        let batch = started.batch.unwrap();
        let mut home = Self {
            store,
            batch,
            jug,
            closet,
            pitched,
        };
        home.gravity(1.095, moment("2026-02-28T20:10:00-08:00"), pitched);
        home
    }

    fn gravity(&mut self, sg: f64, at: Moment, now: Moment) {
        let reading = NewReading {
            subject: Subject::Vessel(self.jug),
            at,
            seen: Seen::new(MeasureKind::Hydrometer, sg, Unit::Sg).unwrap(),
            sample_temp: None,
            instrument: None,
            source: "hand".into(),
            doubted: false,
            note: String::new(),
        };
        carry_out(&mut self.store, &Deed::Record(vec![reading]), now).unwrap();
    }

    fn see(&self, now: Moment) -> Morning {
        let household = self.store.household(now).unwrap();
        morning(&household, &History::default(), now)
    }

    fn key(&self, step: skep::domain::records::StepId, now: Moment) -> String {
        let dossier = self.store.dossier(self.batch, now).unwrap().unwrap();
        let found = dossier.steps.iter().find(|s| s.id == step);
        found.unwrap().rule.key.clone()
    }

    /// Does what the morning asks for; gives the keys of what was asked.
    fn round(&mut self, now: Moment) -> Vec<String> {
        let mut asked = Vec::new();
        // A reading may open something more, so look again after each deed.
        while let Some(due) = self
            .see(now)
            .due
            .into_iter()
            .find(|d| d.wants_hands() && d.kind != StepKind::Condition)
        {
            asked.push(self.key(due.step, now));
            if due.kind == StepKind::Read {
                let sg = invented(batch_day(self.pitched, now.day()));
                self.gravity(sg, now, now);
            }
            if due.kind == StepKind::Bottle {
                self.bottle(now);
                break;
            }
            let deed = Deed::StepDone {
                step: due.step,
                at: now,
                given: None,
                note: String::new(),
            };
            carry_out(&mut self.store, &deed, now).unwrap();
        }
        asked
    }

    fn bottle(&mut self, now: Moment) {
        let deed = Deed::Bottle {
            vessel: None,
            batch: self.batch,
            at: now,
            fizz: None,
            fills: vec![Fill {
                class: BottleClass::Crown,
                size: Litres::known(0.355),
                count: 10,
                clear_glass: false,
            }],
            place: self.closet,
            ready_from: None,
            drink_by: None,
            note: String::new(),
            overrides: Vec::new(),
        };
        carry_out(&mut self.store, &deed, now).unwrap();
    }
}

/// Invented: a healthy mead.
fn invented(day: i64) -> f64 {
    match day {
        8 => 1.046,
        14 => 1.006,
        17 => 0.999,
        20 | 30 => 0.998,
        other => panic!("no reading is asked for on day {other}"),
    }
}

#[test]
fn a_mead_through_its_thirty_days() {
    let mut home = Home::new();
    let first = home.round(moment("2026-02-28T20:45:00-08:00"));
    assert_eq!(first, ["feed-1"]);
    let mut diary: Vec<(i64, Vec<String>)> = Vec::new();
    for later in 1..=29u64 {
        let day = home
            .pitched
            .day()
            .checked_add_days(Days::new(later))
            .unwrap();
        let now = clock(day, "07:00");
        let m = home.see(now);
        let row = &m.accounts[0];
        let number = i64::try_from(later).unwrap() + 1;
        assert_eq!(row.day, Some(number), "{now:?}");
        if (21..30).contains(&number) {
            assert_eq!(row.state, State::Resting, "day {number}");
            assert_eq!(row.rest_until, NaiveDate::from_ymd_opt(2026, 3, 29));
            assert_eq!(row.flags, [], "day {number}");
        }
        let asked = home.round(now);
        if !asked.is_empty() {
            diary.push((number, asked));
        }
    }
    let expected: [(i64, &[&str]); 8] = [
        (2, &["swirl-feed-2"]),
        (5, &["swirl-feed-5"]),
        (8, &["read-8", "swirl-8"]),
        (11, &["swirl-11"]),
        (14, &["read-14", "swirl-14"]),
        (17, &["read-17", "swirl-17"]),
        (20, &["read-20", "swirl-20"]),
        (30, &["read-30", "clean-bottles", "bottle"]),
    ];
    let expected: Vec<(i64, Vec<String>)> = expected
        .iter()
        .map(|(day, keys)| (*day, keys.iter().map(ToString::to_string).collect()))
        .collect();
    assert_eq!(diary, expected);
    let end = clock(NaiveDate::from_ymd_opt(2026, 3, 29).unwrap(), "08:00");
    let dossier = home.store.dossier(home.batch, end).unwrap().unwrap();
    assert_eq!(dossier.batch.stage, Stage::Bottled);
    assert_eq!(dossier.lots[0].count, 10);
    let m = home.see(end);
    assert!(
        m.accounts.is_empty(),
        "nothing is left to do: {:?}",
        m.accounts
    );
    assert_eq!(m.free_vessels, [home.jug]);
}
