//! A small household to begin a test with.

use chrono::DateTime;
use skep::domain::deeds::{Deed, NewBatch, NewReading};
use skep::domain::records::{
    BatchId, Fizz, MeasureKind, Opens, PlaceId, Seen, StepKind, StepRule, Style, Subject, TooLate,
    Unit, VesselId, VesselKind,
};
use skep::domain::units::{Litres, Moment};
use skep::store::Store;
use skep::work::{self, Receipt};

pub(crate) fn at(text: &str) -> Moment {
    Moment::new(DateTime::parse_from_rfc3339(text).unwrap())
}

pub(crate) fn now() -> Moment {
    at("2026-11-25T07:00:00-08:00")
}

/// Carries out what must succeed.
pub(crate) fn good(store: &mut Store, deed: &Deed) -> Receipt {
    work::carry_out(store, deed, now()).unwrap_or_else(|e| panic!("{deed:?}: {e}"))
}

/// The sentence of what must be refused; the store stays as it was.
pub(crate) fn refused(store: &mut Store, deed: &Deed) -> String {
    let before = store.revision().unwrap();
    let said = match work::carry_out(store, deed, now()) {
        Err(work::WorkError::Refused(said)) => said,
        other => panic!("{deed:?} gave {other:?}"),
    };
    assert_eq!(store.revision().unwrap(), before);
    said
}

pub(crate) struct Home {
    pub(crate) store: Store,
    pub(crate) closet: PlaceId,
    pub(crate) j1: VesselId,
    pub(crate) j2: VesselId,
}

/// A closet with two one-gallon jugs.
pub(crate) fn home() -> Home {
    home_in(Store::in_memory().unwrap())
}

pub(crate) fn home_in(mut store: Store) -> Home {
    let closet = good(&mut store, &place("closet")).place().unwrap();
    let j1 = good(&mut store, &jug("J1", closet)).vessel().unwrap();
    let j2 = good(&mut store, &jug("J2", closet)).vessel().unwrap();
    Home {
        store,
        closet,
        j1,
        j2,
    }
}

pub(crate) fn place(name: &str) -> Deed {
    Deed::AddPlace {
        name: name.into(),
        dark: true,
        usual_temp: None,
    }
}

pub(crate) fn jug(tag: &str, place: PlaceId) -> Deed {
    Deed::AddVessel {
        tag: tag.into(),
        kind: VesselKind::Jug,
        capacity: Litres::known(4.0),
        place,
        tare: None,
    }
}

pub(crate) fn rule(key: &str, kind: StepKind, day: i32) -> StepRule {
    StepRule {
        key: key.into(),
        title: format!("{key} it"),
        kind,
        opens: Opens::Day { day },
        window: 0,
        slack: 1,
        too_late: TooLate::Never,
        why: String::new(),
        harm: String::new(),
        weight: 1,
        amount: String::new(),
        countdown: None,
        order: day * 10,
    }
}

/// A mead, with yeast in since the 20th unless changed.
pub(crate) fn mead(vessel: Option<VesselId>) -> NewBatch {
    NewBatch {
        name: "Orange".into(),
        style: Style::Mead,
        variety: "traditional".into(),
        vessel,
        routine: None,
        steps: vec![
            rule("pitch", StepKind::Pitch, 1),
            rule("feed", StepKind::SwirlFeed, 2),
            rule("rack", StepKind::Rack, 20),
            rule("bottle", StepKind::Bottle, 30),
        ],
        yeast: Some("wine".into()),
        tolerance: None,
        band: None,
        planned_og: None,
        expected_fg: None,
        volume: Some(Litres::known(3.7)),
        fizz: Fizz::Still,
        pitched: Some(at("2026-11-20T19:00:00-08:00")),
        planned_day: None,
        note: String::new(),
    }
}

pub(crate) fn start(store: &mut Store, vessel: VesselId) -> BatchId {
    good(store, &Deed::StartBatch(Box::new(mead(Some(vessel)))))
        .batch
        .unwrap()
}

pub(crate) fn sg(vessel: VesselId, value: f64, when: &str) -> NewReading {
    NewReading {
        subject: Subject::Vessel(vessel),
        at: at(when),
        seen: Seen::new(MeasureKind::Hydrometer, value, Unit::Sg).unwrap(),
        sample_temp: None,
        instrument: None,
        source: "hand".into(),
        doubted: false,
        note: String::new(),
    }
}
