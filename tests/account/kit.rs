//! Invented households of every kind: healthy, stuck, diluted, sweetened, split,
//! blended, doubted; in two scales, two systems of units and three time zones.

use chrono::{FixedOffset, MappedLocalTime, NaiveDateTime, Offset, TimeZone};
use chrono_tz::{America::Los_Angeles, Asia::Kolkata, Europe::Berlin, Tz};
use skep::domain::deeds::{Deed, Fill, NewBatch, NewEvent, NewReading};
use skep::domain::records::*;
use skep::domain::units::*;
use skep::store::Store;
use skep::work;

/// What became of a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fate {
    Healthy,
    Slowing,
    Stuck,
    Finished,
    Steady,
    Diluted,
    Sweetened,
    Split,
    Blended,
    Doubted,
    Planned,
    Bottled,
}

pub(crate) const FATES: [Fate; 12] = [
    Fate::Healthy,
    Fate::Stuck,
    Fate::Diluted,
    Fate::Sweetened,
    Fate::Slowing,
    Fate::Steady,
    Fate::Split,
    Fate::Doubted,
    Fate::Finished,
    Fate::Blended,
    Fate::Planned,
    Fate::Bottled,
];

/// How far a ferment has come.
#[derive(Clone, Copy)]
struct Course {
    batch: BatchId,
    vessel: VesselId,
    now: f64,
    end: f64,
}

/// Numbers without a pattern, the same on every run.
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn of(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    fn share(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }
}

macro_rules! rules {
    ($zone:expr) => {{
        fn of_local(at: NaiveDateTime) -> MappedLocalTime<FixedOffset> {
            $zone.offset_from_local_datetime(&at).map(|o| o.fix())
        }
        fn of_utc(at: NaiveDateTime) -> FixedOffset {
            $zone.offset_from_utc_datetime(&at).fix()
        }
        Zone::Rules { of_local, of_utc }
    }};
}

/// A time zone by its name and as rules.
pub(crate) fn zone(n: usize) -> (Tz, Zone) {
    match n % 3 {
        0 => (Los_Angeles, rules!(Los_Angeles)),
        1 => (Berlin, rules!(Berlin)),
        _ => (Kolkata, rules!(Kolkata)),
    }
}

pub(crate) struct House {
    pub(crate) store: Store,
    pub(crate) zone: (Tz, Zone),
    pub(crate) now: Moment,
    pub(crate) seed: u64,
}

impl House {
    pub(crate) fn ago(&self, days: f64) -> Moment {
        self.zone.1.localise(self.now.plus_days(-days))
    }

    pub(crate) fn done(&mut self, deed: &Deed, at: Moment) -> work::Receipt {
        let done = work::carry_out(&mut self.store, deed, at);
        done.unwrap_or_else(|e| panic!("household {}: {deed:?}: {e}", self.seed))
    }

    pub(crate) fn vessel(&mut self, tag: &str, place: PlaceId) -> VesselId {
        let deed = Deed::AddVessel {
            tag: tag.into(),
            kind: VesselKind::Jug,
            capacity: Litres::known(6.0),
            place,
            tare: None,
        };
        let at = self.ago(90.0);
        self.done(&deed, at).vessel().unwrap()
    }

    pub(crate) fn read(&mut self, vessel: VesselId, days: f64, sg: f64, doubted: bool) {
        let sg = (sg * 1000.0).round() / 1000.0;
        let at = self.ago(days);
        let reading = NewReading {
            subject: Subject::Vessel(vessel),
            at,
            seen: Seen::new(MeasureKind::Hydrometer, sg, Unit::Sg).unwrap(),
            sample_temp: None,
            instrument: None,
            source: "hand".into(),
            doubted,
            note: String::new(),
        };
        self.done(&Deed::Record(vec![reading]), at);
    }

    pub(crate) fn event(
        &mut self,
        batch: BatchId,
        vessel: VesselId,
        days: f64,
        kind: EventKind,
        what: &str,
        mass: Option<f64>,
    ) {
        let at = self.ago(days);
        let event = NewEvent {
            batch,
            vessel: Some(vessel),
            step: None,
            at,
            kind,
            substance: what.into(),
            mass: mass.map(Grams::known),
            volume: None,
            note: String::new(),
        };
        self.done(&Deed::AddEvent(event), at);
    }

    /// Fall of a ferment: share of the sugar gone after so many days.
    fn gone(days: f64, middle: f64) -> f64 {
        let way = |d: f64| 1.0 / (1.0 + (-(d - middle) / 2.0).exp());
        ((way(days) - way(0.0)) / (1.0 - way(0.0))).clamp(0.0, 1.0)
    }

    fn batch(&mut self, tag: &str, fate: Fate, dice: &mut Dice, place: PlaceId) {
        let vessel = self.vessel(tag, place);
        let style = if fate == Fate::Sweetened || dice.share() < 0.7 {
            Style::Mead
        } else {
            Style::Cider
        };
        let og = dice.between(1.060, 1.110);
        let end = 0.998;
        let age = match fate {
            Fate::Healthy | Fate::Diluted | Fate::Doubted => dice.between(4.0, 9.0),
            Fate::Slowing | Fate::Split | Fate::Blended => dice.between(10.0, 16.0),
            Fate::Planned => 0.0,
            _ => dice.between(38.0, 50.0),
        };
        let pitched = self.ago(age);
        let routine = skep::files::routines::built_in("one-gallon-traditional-mead").unwrap();
        let new = NewBatch {
            name: format!("{fate:?} of {tag}"),
            style,
            variety: "traditional".into(),
            vessel: Some(vessel),
            routine: Some(routine.key.clone()),
            steps: routine.steps.clone(),
            yeast: None,
            tolerance: None,
            band: None,
            planned_og: Some(Gravity::clamped((og * 1000.0).round() / 1000.0)),
            expected_fg: (dice.share() < 0.5).then_some(Gravity::known(end)),
            volume: Some(Litres::known(3.8)),
            fizz: Fizz::Still,
            pitched: (fate != Fate::Planned).then_some(pitched),
            planned_day: None,
            note: String::new(),
        };
        let deed = Deed::StartBatch(Box::new(new));
        let batch = self.done(&deed, pitched).batch.unwrap();
        if fate == Fate::Planned {
            return;
        }
        let stuck_at = dice.between(0.4, 0.6);
        let sg = |days: f64| {
            let gone = Self::gone(days, 6.0);
            let gone = if fate == Fate::Stuck {
                gone.min(stuck_at)
            } else {
                gone
            };
            og - (og - end) * gone
        };
        self.read(vessel, age, og, false);
        let mut day = 2.0;
        let last = age - dice.between(0.2, 3.0);
        while day < last {
            self.read(
                vessel,
                age - day,
                sg(day) + dice.between(-0.0004, 0.0004),
                false,
            );
            day += dice.between(1.6, 3.5);
        }
        let course = Course {
            batch,
            vessel,
            now: sg(age),
            end,
        };
        self.happens(fate, tag, place, course);
    }

    /// What makes it the batch that it is.
    fn happens(&mut self, fate: Fate, tag: &str, place: PlaceId, of: Course) {
        let (vessel, batch) = (of.vessel, of.batch);
        match fate {
            Fate::Diluted => self.pour(of, 0.6, "water", 0.7, (1.0, 0.0)),
            Fate::Doubted => self.read(vessel, 0.1, of.now - 0.020, true),
            Fate::Split => {
                let second = self.vessel(&format!("{tag}b"), place);
                let at = self.ago(3.0);
                let deed = Deed::Rack {
                    batch,
                    from: vessel,
                    to: second,
                    at,
                    volume: Some(Litres::known(1.8)),
                    keep_rest: true,
                    note: String::new(),
                };
                self.done(&deed, at);
                self.read(second, 0.4, of.now - 0.002, false);
            }
            Fate::Blended => {
                self.pour(of, 2.0, "an older mead", 0.8, (1.004, 11.0));
                self.read(vessel, 0.5, of.now, false);
            }
            Fate::Sweetened => {
                let sulfite = "potassium metabisulfite";
                self.event(batch, vessel, 14.0, EventKind::Sulfite, sulfite, Some(0.6));
                let sorbate = "potassium sorbate";
                self.event(batch, vessel, 14.0, EventKind::Sorbate, sorbate, Some(1.0));
                self.event(
                    batch,
                    vessel,
                    12.0,
                    EventKind::Sweeten,
                    "honey",
                    Some(160.0),
                );
                for days in [10.0, 6.0, 2.0] {
                    self.read(vessel, days, 1.011, false);
                }
            }
            Fate::Steady => {
                for days in [9.0, 5.0, 1.0] {
                    self.read(vessel, days, of.end, false);
                }
            }
            Fate::Bottled => {
                for days in [9.5, 5.0, 2.2] {
                    self.read(vessel, days, of.end, false);
                }
                self.bottle(batch, vessel, 0.1, place);
            }
            _ => {}
        }
    }

    fn pour(&mut self, of: Course, days: f64, what: &str, litres: f64, (sg, abv): (f64, f64)) {
        let at = self.ago(days);
        let deed = Deed::Pour {
            batch: of.batch,
            vessel: of.vessel,
            from: None,
            what: what.into(),
            volume: Litres::known(litres),
            gravity: Some(Gravity::known(sg)),
            alcohol: Some(Abv::known(abv)),
            at,
            note: String::new(),
        };
        self.done(&deed, at);
    }

    pub(crate) fn bottle(&mut self, batch: BatchId, vessel: VesselId, days: f64, place: PlaceId) {
        let at = self.ago(days);
        let deed = Deed::Bottle {
            batch,
            vessel: Some(vessel),
            at,
            fizz: Some(Fizz::Still),
            fills: vec![Fill {
                class: BottleClass::NoPressure,
                size: Litres::known(0.75),
                count: 4,
                clear_glass: false,
            }],
            place,
            ready_from: None,
            drink_by: None,
            note: String::new(),
            overrides: Vec::new(),
        };
        self.done(&deed, at);
    }
}

impl House {
    /// A household with an empty closet.
    pub(crate) fn empty(now: Moment, zone: (Tz, Zone), settings: Settings) -> (Self, PlaceId) {
        let mut house = Self {
            store: Store::in_memory().unwrap(),
            zone,
            now: zone.1.localise(now),
            seed: 0,
        };
        let at = house.ago(95.0);
        house.done(&Deed::SaveSettings(settings), at);
        let place = house.closet(at);
        (house, place)
    }

    fn closet(&mut self, at: Moment) -> PlaceId {
        let deed = Deed::AddPlace {
            name: "closet".into(),
            dark: true,
            usual_temp: Some(Celsius::known(20.0)),
        };
        self.done(&deed, at).place().unwrap()
    }

    /// A mead that was pitched so many days ago, with readings by days ago.
    pub(crate) fn mead(
        &mut self,
        place: PlaceId,
        pitched: f64,
        steps: Vec<StepRule>,
        readings: &[(f64, f64)],
    ) -> (BatchId, VesselId) {
        let vessel = self.vessel("J1", place);
        let at = self.ago(pitched);
        let new = NewBatch {
            name: "heather".into(),
            style: Style::Mead,
            variety: "traditional".into(),
            vessel: Some(vessel),
            routine: None,
            steps,
            yeast: None,
            tolerance: None,
            band: None,
            planned_og: None,
            expected_fg: Some(Gravity::known(0.998)),
            volume: Some(Litres::known(3.785)),
            fizz: Fizz::Still,
            pitched: Some(at),
            planned_day: None,
            note: String::new(),
        };
        let deed = Deed::StartBatch(Box::new(new));
        let batch = self.done(&deed, at).batch.unwrap();
        for (days, sg) in readings {
            self.read(vessel, *days, *sg, false);
        }
        (batch, vessel)
    }
}

/// A household of some batches in a store.
pub(crate) fn house(store: Store, now: Moment, seed: u64) -> House {
    let n = usize::try_from(seed).unwrap();
    let zone = zone(n);
    let mut house = House {
        store,
        zone,
        now: zone.1.localise(now),
        seed,
    };
    let at = house.ago(95.0);
    let settings = Settings {
        units: if n % 2 == 0 {
            UnitSystem::Us
        } else {
            UnitSystem::Metric
        },
        gravity: if n % 4 < 2 {
            GravityScale::Sg
        } else {
            GravityScale::Plato
        },
        ..Settings::default()
    };
    house.done(&Deed::SaveSettings(settings), at);
    let place = house.closet(at);
    let mut dice = Dice::of(seed + 1);
    for i in 0..3 {
        let fate = FATES[(n * 3 + i) % FATES.len()];
        house.batch(&format!("J{}", i + 1), fate, &mut dice, place);
    }
    house
}
