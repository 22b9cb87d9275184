//! One invented jug with a routine, and an assessment made to measure.

use chrono::{DateTime, NaiveDate};
use skep::domain::records::{
    Batch, BatchId, Dossier, Fizz, Household, MeasureKind, Place, PlaceId, Reading, ReadingId,
    Seen, Settings, Stage, Stay, StayId, Step, StepId, StepStatus, Style, Subject, TempBand, Unit,
    Vessel, VesselId, VesselKind,
};
use skep::domain::units::{Abv, Celsius, Gravity, Litres, Moment, Share};
use skep::engine::bottling::Hold;
use skep::engine::facts::{Told, told};
use skep::engine::{
    AlcoholReport, Assessment, BottlingGate, BottlingHold, Due, FermentState, Figures, Ground,
    Headline, Placed, Plan, Spread, StateProbabilities, StuckReport, dues, plan,
};
use skep::files::routines;

pub(crate) fn moment(text: &str) -> Moment {
    Moment::new(DateTime::parse_from_rfc3339(text).unwrap())
}

pub(crate) fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

pub(crate) fn same<T: Copy>(v: T) -> Spread<T> {
    Spread {
        p10: v,
        p50: v,
        p90: v,
    }
}

/// What the engine might say: this far, this state.
pub(crate) fn says(state: FermentState, gone: f64, now: Moment) -> Assessment {
    let mut by_state = [0.0; 5];
    by_state[state as usize] = 1.0;
    let finished = state == FermentState::Finished;
    Assessment {
        now,
        states: StateProbabilities { by_state },
        headline: Headline::Clear(state),
        stuck: StuckReport {
            probability: Share::known(0.0),
            since: None,
            ever: Share::known(0.0),
        },
        gravity_now: None,
        final_gravity: None,
        finish: finished.then(|| same(now.plus_days(-12.0))),
        rate: None,
        alcohol: Some(AlcoholReport {
            now: same(Abv::clamped(gone * 12.0)),
            end: same(Abv::known(12.0)),
        }),
        sugar_gone: Some(same(Share::clamped(gone))),
        suspicious: Vec::new(),
        evidence: Vec::new(),
        causes: Vec::new(),
        advice: Vec::new(),
        curve: Vec::new(),
        next_reading: None,
        bottling: BottlingGate {
            refermentation: Share::clamped(if finished { 0.01 } else { 0.9 }),
            holds: if finished {
                Vec::new()
            } else {
                vec![BottlingHold::LikelyToFall {
                    chance: Share::known(0.9),
                }]
            },
        },
        learned: None,
    }
}

/// A household of one jug that holds one batch.
pub(crate) struct Jug {
    pub(crate) household: Household,
}

impl Jug {
    pub(crate) fn with(routine: &str, pitched: &str) -> Self {
        let routine = routines::built_in(routine).unwrap();
        let at = moment(pitched);
        let steps = routine
            .steps
            .iter()
            .zip(1..)
            .map(|(rule, i)| Step {
                id: StepId(i),
                batch: BatchId(1),
                rule: rule.clone(),
                status: StepStatus::Open,
                moved_to: None,
            })
            .collect();
        let batch = Batch {
            id: BatchId(1),
            name: "Orchard Gold".into(),
            style: routine.style,
            variety: routine.variety.clone(),
            stage: Stage::Fermenting,
            routine: Some(routine.key.clone()),
            yeast: routine.yeast.clone(),
            tolerance: Some(Abv::known(14.0)),
            band: Some(TempBand {
                low: Celsius::known(16.0),
                high: Celsius::known(24.0),
                min: Celsius::known(13.0),
                max: Celsius::known(27.0),
            }),
            planned_og: Some(Gravity::known(1.095)),
            expected_fg: Some(Gravity::known(0.998)),
            volume: Some(routine.volume),
            fizz: Fizz::Still,
            pitched: Some(at),
            bottled: None,
            closed: None,
            created: at,
            planned_day: None,
            note: String::new(),
        };
        let dossier = Dossier {
            batch,
            stays: vec![Stay {
                id: StayId(1),
                batch: BatchId(1),
                vessel: VesselId(1),
                from: at,
                to: None,
                volume: Some(routine.volume),
            }],
            readings: Vec::new(),
            place_readings: Vec::new(),
            events: Vec::new(),
            steps,
            lots: Vec::new(),
        };
        Self {
            household: household(dossier),
        }
    }

    pub(crate) fn dossier(&mut self) -> &mut Dossier {
        &mut self.household.dossiers[0]
    }

    pub(crate) fn step(&mut self, key: &str) -> &mut Step {
        self.dossier()
            .steps
            .iter_mut()
            .find(|s| s.rule.key == key)
            .unwrap()
    }

    pub(crate) fn done(&mut self, key: &str, at: &str) {
        self.step(key).status = StepStatus::Done { at: moment(at) };
    }

    pub(crate) fn skip(&mut self, key: &str, at: &str) {
        self.step(key).status = StepStatus::Skipped {
            at: moment(at),
            reason: "away".into(),
        };
    }

    pub(crate) fn gravity(&mut self, sg: f64, at: &str) {
        let seen = Seen::new(MeasureKind::Hydrometer, sg, Unit::Sg).unwrap();
        self.read(seen, Subject::Vessel(VesselId(1)), at);
    }

    pub(crate) fn read(&mut self, seen: Seen, subject: Subject, at: &str) {
        let at = moment(at);
        let readings = match subject {
            Subject::Vessel(_) => &mut self.dossier().readings,
            Subject::Place(_) => &mut self.dossier().place_readings,
        };
        readings.push(Reading {
            id: ReadingId(at.utc_ms()),
            subject,
            at,
            seen,
            sample_temp: None,
            instrument: None,
            source: "hand".into(),
            doubted: false,
            note: String::new(),
            entered: at,
        });
    }

    pub(crate) fn told(&self, now: Moment) -> Told {
        told(
            &self.household,
            &self.household.dossiers[0],
            Some(VesselId(1)),
            now,
        )
    }

    /// The plan by what an engine would say.
    pub(crate) fn plan(&self, says: &Assessment) -> Plan {
        let told = self.told(says.now);
        let known = Figures::of(&told, says);
        let figures = Figures {
            fermented: says.sugar_gone.map(|s| s.p50).or(known.fermented),
            alcohol: says.alcohol.map(|a| a.now.p50).or(known.alcohol),
            ..known
        };
        let holds: Vec<Hold> = says
            .bottling
            .holds
            .iter()
            .copied()
            .map(Hold::NotFinished)
            .collect();
        plan(Ground {
            dossier: &self.household.dossiers[0],
            told: &told,
            assessment: says,
            figures: &figures,
            holds: &holds,
            now: says.now,
        })
    }

    pub(crate) fn placed(&self, key: &str, says: &Assessment) -> Placed {
        let plan = self.plan(says);
        let steps = &self.household.dossiers[0].steps;
        plan.placed
            .into_iter()
            .find(|p| steps[p.index].rule.key == key)
            .unwrap()
    }

    pub(crate) fn dues(&self, says: &Assessment) -> Vec<Due> {
        let dossier = &self.household.dossiers[0];
        dues(dossier, &self.plan(says), Some(VesselId(1)), "J1")
    }
}

fn household(dossier: Dossier) -> Household {
    Household {
        settings: Settings::default(),
        places: vec![Place {
            id: PlaceId(1),
            name: "closet".into(),
            dark: true,
            usual_temp: Some(Celsius::known(20.0)),
            summer: None,
        }],
        vessels: vec![Vessel {
            id: VesselId(1),
            tag: "J1".into(),
            kind: VesselKind::Jug,
            capacity: Litres::known(4.0),
            tare: None,
            place: PlaceId(1),
            clean: false,
            retired: false,
            rated: None,
            note: String::new(),
        }],
        instruments: Vec::new(),
        dossiers: vec![dossier],
        revision: 1,
        last_entry: None,
    }
}

#[test]
fn the_jug_is_a_mead() {
    let jug = Jug::with("one-gallon-traditional-mead", "2026-04-01T19:00:00-07:00");
    assert_eq!(jug.household.dossiers[0].batch.style, Style::Mead);
}
