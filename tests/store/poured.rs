//! What is poured in is told to the engine: the next reading is no surprise.

use crate::kit::*;
use skep::domain::deeds::{Deed, NewBatch, NewEvent};
use skep::domain::records::{BatchId, EventKind, Stage, VesselId};
use skep::domain::slip::{self, Known, SlipContext};
use skep::domain::units::{Abv, Grams, Gravity, Litres, MilligramsPerLitre, Moment, Ph};
use skep::engine::handling::{self, Drink};
use skep::engine::{
    Account, FermentState, Flag, Headline, History, SuspicionWhy, bottling, facts, morning,
};
use skep::store::Store;

const PITCHED: &str = "2026-08-01T19:00:00-07:00";

/// An invented mead from 1.100 that fell to `end` in the way of many.
fn ended(store: &mut Store, vessel: VesselId, name: &str, end: f64) -> BatchId {
    let new = NewBatch {
        name: name.into(),
        pitched: Some(at(PITCHED)),
        planned_og: Some(Gravity::known(1.100)),
        expected_fg: Some(Gravity::clamped(end)),
        volume: Some(Litres::known(3.6)),
        tolerance: Some(Abv::known(14.0)),
        ..mead(Some(vessel))
    };
    let id = good(store, &Deed::StartBatch(Box::new(new))).batch.unwrap();
    // Shares of the fall by day, as a healthy mead goes.
    let way = [
        ("2026-08-01T18:50:00-07:00", 0.0),
        ("2026-08-05T08:00:00-07:00", 0.22),
        ("2026-08-09T08:00:00-07:00", 0.55),
        ("2026-08-15T08:00:00-07:00", 0.80),
        ("2026-08-25T08:00:00-07:00", 0.95),
        ("2026-09-10T08:00:00-07:00", 1.0),
        ("2026-09-25T08:00:00-07:00", 1.0),
        ("2026-10-10T08:00:00-07:00", 1.0),
    ];
    for (when, share) in way {
        let value = 1.100 - share * (1.100 - end);
        read(store, vessel, (value * 1000.0).round() / 1000.0, when);
    }
    id
}

fn read(store: &mut Store, vessel: VesselId, value: f64, when: &str) {
    good(store, &Deed::Record(vec![sg(vessel, value, when)]));
}

fn row(store: &Store, vessel: VesselId, now: Moment) -> Account {
    let household = store.household(now).unwrap();
    morning(&household, &History::default(), now)
        .accounts
        .into_iter()
        .find(|r| r.vessel == Some(vessel))
        .unwrap()
}

fn drink(store: &Store, vessel: VesselId, now: Moment) -> Drink {
    let household = store.household(now).unwrap();
    let dossier = household.in_vessel(vessel).unwrap();
    Drink::of(dossier, &row(store, vessel, now))
}

/// No flag of the ferment, no doubted reading, and it still counts as ended.
fn calm(store: &Store, vessel: VesselId, now: &str) {
    let now = at(now);
    let row = row(store, vessel, now);
    let said: Vec<_> = row.flags.iter().map(Flag::short).collect();
    for word in ["stuck", "no fall", "not started", "bottled unfinished"] {
        assert!(!said.contains(&word), "{now:?}: {:?}", row.flags);
    }
    assert!(
        row.assessment
            .suspicious
            .iter()
            .all(|s| s.probability.get() < 0.5 || s.why == SuspicionWhy::SaysLittle),
        "{now:?}: {:?}",
        row.assessment.suspicious
    );
    assert_eq!(
        row.assessment.headline,
        Headline::Clear(FermentState::Finished),
        "{now:?}: {:?}",
        row.assessment.states
    );
}

/// What the slip would object to, were this typed.
fn doubts(store: &Store, vessel: VesselId, typed: &str, now: &str) -> usize {
    let now = at(now);
    let household = store.household(now).unwrap();
    let dossier = household.in_vessel(vessel);
    let known = Known {
        now,
        dossier,
        vessel: household.vessel(vessel),
        instruments: &household.instruments,
    };
    let slip = slip::parse(typed, now, &SlipContext::vessel(now)).unwrap();
    slip::meaning(&slip, &known).doubts.len()
}

fn stabilise(store: &mut Store, vessel: VesselId, when: &str) {
    let now = at(when);
    let household = store.household(now).unwrap();
    let dossier = household.in_vessel(vessel).unwrap();
    let known = Drink {
        ph: Some(Ph::known(3.4)),
        ..drink(store, vessel, now)
    };
    let told = facts::told(&household, dossier, Some(vessel), now);
    let treatment = bottling::treatment(dossier, Some(vessel), &told, now);
    let aim = MilligramsPerLitre::known(0.8);
    let acid = Some(MilligramsPerLitre::known(180.0));
    let doses = handling::stabilise(&known, &treatment, aim, acid).unwrap();
    let deed = handling::stabilise_deed(dossier, vessel, &[], now, &doses, false);
    good(store, &deed);
}

fn sweeten(store: &mut Store, vessel: VesselId, to: f64, when: &str) -> (Grams, Litres) {
    let now = at(when);
    let household = store.household(now).unwrap();
    let dossier = household.in_vessel(vessel).unwrap();
    let known = drink(store, vessel, now);
    let (mass, seen) = handling::sweeten(&known, "honey", Gravity::clamped(to)).unwrap();
    let deed = handling::sweeten_deed(dossier, vessel, &[], now, ("honey", mass), None);
    good(store, &deed);
    (mass, seen.volume)
}

fn volume(store: &Store, vessel: VesselId) -> f64 {
    let household = store.household(now()).unwrap();
    let dossier = household.in_vessel(vessel).unwrap();
    let stay = dossier
        .stays
        .iter()
        .find(|s| s.to.is_none() && s.vessel == vessel);
    stay.unwrap().volume.unwrap().get()
}

#[test]
fn a_reading_after_sweetening_raises_no_flag() {
    let mut home = home();
    let id = ended(&mut home.store, home.j1, "Dry", 0.998);
    calm(&home.store, home.j1, "2026-10-11T08:00:00-07:00");
    let before = drink(&home.store, home.j1, at("2026-10-11T08:00:00-07:00"));
    let before = before.alcohol.unwrap().get();
    stabilise(&mut home.store, home.j1, "2026-10-12T08:00:00-07:00");
    let (mass, after) = sweeten(&mut home.store, home.j1, 1.012, "2026-10-14T08:00:00-07:00");
    // 3.0 to 3.3 g of honey a litre for each 0.001 (derived in the trade).
    let per_point = mass.get() / 3.6 / 14.0;
    assert!((3.0..3.4).contains(&per_point), "{per_point}");
    // The vessel is fuller by the honey; the sum by mass says by how much.
    assert!(
        (volume(&home.store, home.j1) - after.get()).abs() < 0.01,
        "{} and {after:?}",
        volume(&home.store, home.j1)
    );
    let state = row(&home.store, home.j1, at("2026-10-14T09:00:00-07:00"));
    let gravity = state.assessment.gravity_now.unwrap().p50.get();
    assert!((gravity - 1.012).abs() < 0.0015, "{gravity}");
    calm(&home.store, home.j1, "2026-10-14T09:00:00-07:00");
    assert_eq!(
        doubts(&home.store, home.j1, "1.012", "2026-10-15T08:00:00-07:00"),
        0
    );
    read(&mut home.store, home.j1, 1.012, "2026-10-15T08:00:00-07:00");
    calm(&home.store, home.j1, "2026-10-15T09:00:00-07:00");
    for when in ["2026-10-22", "2026-10-30", "2026-11-10"] {
        read(
            &mut home.store,
            home.j1,
            1.012,
            &format!("{when}T08:00:00-07:00"),
        );
        calm(&home.store, home.j1, &format!("{when}T09:00:00-07:00"));
    }
    // Alcohol is what the yeast made, not what the honey hides: 102 points
    // fallen are about 13.8 % (UK excise factors), thinned by what the honey
    // takes of room.
    let state = row(&home.store, home.j1, at("2026-11-10T09:00:00-07:00"));
    let abv = state.assessment.alcohol.unwrap().now.p50.get();
    let thinned = before * 3.6 / after.get();
    assert!((abv - thinned).abs() < 0.12, "{abv} and {thinned}");
    assert!((13.0..13.9).contains(&abv), "{abv}");
    assert!(home.store.dossier(id, now()).is_ok());
}

#[test]
fn sugar_in_a_drink_that_is_not_stabilised_is_still_to_ferment() {
    let mut home = home();
    ended(&mut home.store, home.j1, "Dry", 0.998);
    sweeten(&mut home.store, home.j1, 1.012, "2026-10-14T08:00:00-07:00");
    let household = home.store.household(now()).unwrap();
    let dossier = household.in_vessel(home.j1).unwrap();
    let told = facts::told(&household, dossier, Some(home.j1), now());
    // Its end is where it was, but for the room that the honey takes: yeast
    // would eat it. 3 % more drink brings 0.998 nearer to water's 1 by 0.00006.
    let end = told.facts.expected_fg.unwrap().get();
    assert!((end - 0.998_06).abs() < 0.000_02, "{end}");
    read(&mut home.store, home.j1, 1.012, "2026-10-15T08:00:00-07:00");
    let row = row(&home.store, home.j1, at("2026-10-15T09:00:00-07:00"));
    let said: Vec<_> = row.flags.iter().map(Flag::short).collect();
    // One day after the honey nobody can say that nothing falls.
    assert!(!said.contains(&"no fall"), "{:?}", row.flags);
}

#[test]
fn a_reading_after_a_blend_raises_no_flag() {
    let mut home = home();
    ended(&mut home.store, home.j1, "Dry", 0.998);
    ended(&mut home.store, home.j2, "Sweet", 1.018);
    let when = "2026-10-14T08:00:00-07:00";
    let (into, other) = (
        drink(&home.store, home.j1, at(when)),
        drink(&home.store, home.j2, at(when)),
    );
    let amount = Litres::known(0.3);
    let mixed = handling::pour(&into, &other, amount).unwrap();
    let household = home.store.household(at(when)).unwrap();
    let batch = household.in_vessel(home.j1).unwrap().batch.id;
    let deed = Deed::Pour {
        batch,
        vessel: home.j1,
        from: Some(home.j2),
        what: String::new(),
        volume: amount,
        gravity: other.gravity,
        alcohol: other.alcohol,
        at: at(when),
        note: String::new(),
    };
    good(&mut home.store, &deed);
    assert!((volume(&home.store, home.j1) - 3.9).abs() < 1e-9);
    assert!((volume(&home.store, home.j2) - 3.3).abs() < 1e-9);
    // 3.6 L of 0.998 and 0.3 L of 1.018 are 1.0 points apart from the first.
    let now_at = row(&home.store, home.j1, at("2026-10-14T09:00:00-07:00"))
        .assessment
        .gravity_now
        .unwrap()
        .p50
        .get();
    assert!((now_at - mixed.gravity.get()).abs() < 0.0015, "{now_at}");
    for when in ["2026-10-15", "2026-10-22", "2026-11-10"] {
        let value = (mixed.gravity.get() * 1000.0).round() / 1000.0;
        read(
            &mut home.store,
            home.j1,
            value,
            &format!("{when}T08:00:00-07:00"),
        );
        calm(&home.store, home.j1, &format!("{when}T09:00:00-07:00"));
    }
    // What gave is as it was.
    read(&mut home.store, home.j2, 1.018, "2026-11-10T08:00:00-07:00");
    calm(&home.store, home.j2, "2026-11-10T09:00:00-07:00");
}

#[test]
fn half_and_half_moves_gravity_alcohol_and_end() {
    let mut home = home();
    ended(&mut home.store, home.j1, "Dry", 0.998);
    let when = at("2026-10-14T08:00:00-07:00");
    // Poured together half and half; there is room for it after a loss.
    let first = drink(&home.store, home.j1, when);
    let household = home.store.household(when).unwrap();
    let batch = household.in_vessel(home.j1).unwrap().batch.id;
    let rack = Deed::Rack {
        batch,
        from: home.j1,
        to: home.j2,
        at: at("2026-10-13T08:00:00-07:00"),
        volume: Some(Litres::known(1.9)),
        keep_rest: false,
        note: String::new(),
    };
    good(&mut home.store, &rack);
    let other = Drink {
        volume: None,
        gravity: Some(Gravity::known(1.030)),
        alcohol: Some(Abv::known(9.0)),
        ..first
    };
    let pour = Deed::Pour {
        batch,
        vessel: home.j2,
        from: None,
        what: "a sweet mead".into(),
        volume: Litres::known(1.9),
        gravity: other.gravity,
        alcohol: other.alcohol,
        at: when,
        note: String::new(),
    };
    good(&mut home.store, &pour);
    let household = home.store.household(when).unwrap();
    let dossier = household.in_vessel(home.j2).unwrap();
    let told = facts::told(&household, dossier, Some(home.j2), when.plus_days(0.1));
    // Halfway between 0.998 and 1.030, which had 9 % and so had ended.
    let end = told.facts.expected_fg.unwrap().get();
    assert!((end - 1.014).abs() < 0.0005, "{end}");
    read(&mut home.store, home.j2, 1.014, "2026-10-16T08:00:00-07:00");
    read(&mut home.store, home.j2, 1.014, "2026-10-24T08:00:00-07:00");
    calm(&home.store, home.j2, "2026-10-24T09:00:00-07:00");
    let row = row(&home.store, home.j2, at("2026-10-24T09:00:00-07:00"));
    let abv = row.assessment.alcohol.unwrap().now.p50.get();
    let half = f64::midpoint(first.alcohol.unwrap().get(), 9.0);
    assert!((abv - half).abs() < 0.6, "{abv} and {half}");
}

#[test]
fn water_and_what_was_topped_up_count_in_the_volume() {
    let mut home = home();
    let id = ended(&mut home.store, home.j1, "Dry", 0.998);
    let water = NewEvent {
        batch: id,
        vessel: None,
        step: None,
        at: at("2026-10-14T08:00:00-07:00"),
        kind: EventKind::Water,
        substance: "water".into(),
        mass: None,
        volume: Some(Litres::known(0.2)),
        note: String::new(),
    };
    good(&mut home.store, &Deed::AddEvent(water.clone()));
    assert!((volume(&home.store, home.j1) - 3.8).abs() < 1e-9);
    // A vessel never holds more than its brim.
    let more = NewEvent {
        volume: Some(Litres::known(0.9)),
        ..water
    };
    good(&mut home.store, &Deed::AddEvent(more));
    assert!((volume(&home.store, home.j1) - 4.0).abs() < 1e-9);
    while skep::work::undo(&mut home.store, now()).unwrap().is_some() {
        let household = home.store.household(now()).unwrap();
        if household.in_vessel(home.j1).is_none() {
            break;
        }
    }
    assert_eq!(home.store.check(now()).unwrap(), vec![]);
}

#[test]
fn one_part_of_a_split_is_sweetened_alone() {
    let mut home = home();
    let id = ended(&mut home.store, home.j1, "Dry", 0.998);
    let split = Deed::Rack {
        batch: id,
        from: home.j1,
        to: home.j2,
        at: at("2026-10-11T08:00:00-07:00"),
        volume: Some(Litres::known(1.8)),
        keep_rest: true,
        note: String::new(),
    };
    good(&mut home.store, &split);
    stabilise(&mut home.store, home.j2, "2026-10-12T08:00:00-07:00");
    sweeten(&mut home.store, home.j2, 1.012, "2026-10-14T08:00:00-07:00");
    let household = home.store.household(now()).unwrap();
    let dossier = household.in_vessel(home.j1).unwrap();
    assert_eq!(dossier.batch.stage, Stage::Fermenting);
    // What was done in J2 makes J1 neither safe nor sweet.
    let treated = |v| {
        let told = facts::told(&household, dossier, Some(v), now());
        bottling::treatment(dossier, Some(v), &told, now())
    };
    assert!(!treated(home.j1).stabilised() && treated(home.j1).sweetened.is_none());
    assert!(treated(home.j2).stabilised());
    read(&mut home.store, home.j1, 0.998, "2026-10-20T08:00:00-07:00");
    read(&mut home.store, home.j2, 1.012, "2026-10-20T08:00:00-07:00");
    calm(&home.store, home.j1, "2026-10-20T09:00:00-07:00");
    calm(&home.store, home.j2, "2026-10-20T09:00:00-07:00");
}
