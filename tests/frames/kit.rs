//! A small invented household with fixed answers of the engine, and a driver
//! that feeds keys to the state and carries its effects out on a store in memory.

use chrono::DateTime;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use skep::app::trend::healthy_at;
use skep::app::{Code, Effect, Kept, Key, Library, Loaded, Msg, Options, State, Ticket, update};
use skep::domain::deeds::{Deed, NewBatch, NewReading};
use skep::domain::records::*;
use skep::domain::units::*;
use skep::engine::bottling::Hold;
use skep::engine::{
    Action, Advice, AlcoholReport, Assessment, Avoid, BottlingGate, BottlingHold, CurvePoint, Due,
    Evidence, FermentState, Flag, Headline, History, Morning, RateReport, Spread, State as Doing,
    StateProbabilities, StuckReport, Urgency, WhyRead, morning,
};
use skep::store::Store;
use skep::tui::screens;
use skep::tui::theme::Theme;
use skep::work;
use std::sync::Arc;

pub(crate) fn moment(text: &str) -> Moment {
    Moment::new(DateTime::parse_from_rfc3339(text).unwrap())
}

/// Seven in the morning, on a Wednesday.
pub(crate) fn now() -> Moment {
    moment("2026-11-25T07:04:00-08:00")
}

fn ago(days: f64) -> Moment {
    now().plus_days(-days)
}

fn rule(key: &str, title: &str, kind: StepKind, day: i32, window: i32) -> StepRule {
    StepRule {
        key: key.into(),
        title: title.into(),
        kind,
        opens: Opens::Day { day },
        window,
        slack: 2,
        too_late: TooLate::Never,
        why: "It keeps the yeast well.".into(),
        harm: "The yeast may tire.".into(),
        weight: 2,
        amount: String::new(),
        countdown: None,
        order: 0,
    }
}

fn plan() -> Vec<StepRule> {
    let mut feed = rule("feed", "swirl and feed", StepKind::SwirlFeed, 5, 0);
    feed.amount = "half a packet of nutrient".into();
    feed.countdown = Some(120);
    feed.too_late = TooLate::Day { day: 9 };
    let mut bottle = rule("bottle", "bottle", StepKind::Bottle, 30, 3);
    bottle.weight = 3;
    vec![
        rule("pitch", "pitch the yeast", StepKind::Pitch, 1, 0),
        feed,
        rule("swirl", "last swirl", StepKind::Swirl, 20, 0),
        rule("rest", "leave alone", StepKind::Rest, 21, 9),
        bottle,
    ]
}

struct Maker {
    store: Store,
    place: PlaceId,
}

impl Maker {
    fn new() -> Self {
        let mut store = Store::in_memory().unwrap();
        let deed = Deed::AddPlace {
            name: "closet".into(),
            dark: true,
            usual_temp: Some(Celsius::known(20.0)),
        };
        let place = work::carry_out(&mut store, &deed, ago(60.0)).unwrap();
        let place = place.place().unwrap();
        Self { store, place }
    }

    fn vessel(&mut self, tag: &str, kind: VesselKind, gallons: f64) -> VesselId {
        let deed = Deed::AddVessel {
            tag: tag.into(),
            kind,
            capacity: Litres::from_us_gallons(gallons).unwrap(),
            place: self.place,
            tare: None,
        };
        let made = work::carry_out(&mut self.store, &deed, ago(60.0)).unwrap();
        made.vessel().unwrap()
    }

    fn batch(
        &mut self,
        name: &str,
        style: Style,
        vessel: VesselId,
        days: f64,
        gravities: &[(f64, f64)],
    ) {
        let new = NewBatch {
            name: name.into(),
            style,
            variety: "traditional".into(),
            vessel: Some(vessel),
            routine: None,
            steps: plan(),
            yeast: None,
            tolerance: None,
            band: None,
            planned_og: Some(Gravity::known(1.1)),
            expected_fg: Some(Gravity::known(1.0)),
            volume: Some(Litres::from_us_gallons(1.0).unwrap()),
            fizz: Fizz::Still,
            pitched: Some(ago(days)),
            planned_day: None,
            note: String::new(),
        };
        let started = work::carry_out(&mut self.store, &Deed::StartBatch(Box::new(new)), ago(days));
        let batch = started.unwrap().batch.unwrap();
        for (at, sg) in gravities {
            let seen = Seen::new(MeasureKind::Hydrometer, *sg, Unit::Sg).unwrap();
            self.record(Subject::Vessel(vessel), *at, seen);
        }
        let household = self.store.household(now()).unwrap();
        let done: Vec<StepId> = household
            .dossier(batch)
            .unwrap()
            .steps
            .iter()
            .filter(|s| matches!(s.rule.opens, Opens::Day { day } if s.is_open() && f64::from(day) < days - 6.0))
            .map(|s| s.id)
            .collect();
        for step in done {
            let deed = Deed::StepDone {
                step,
                at: ago(days - 1.0),
                given: None,
                note: String::new(),
            };
            work::carry_out(&mut self.store, &deed, ago(days - 1.0)).unwrap();
        }
    }

    fn record(&mut self, subject: Subject, days: f64, seen: Seen) {
        let reading = NewReading {
            subject,
            at: ago(days),
            seen,
            sample_temp: None,
            instrument: None,
            source: "hand".into(),
            doubted: false,
            note: String::new(),
        };
        let deed = Deed::Record(vec![reading]);
        work::carry_out(&mut self.store, &deed, ago(days)).unwrap();
    }
}

/// A store with five batches in six vessels.
pub(crate) fn store() -> Store {
    store_of(&[
        "Clover",
        "Heather",
        "Linden",
        "Windfall",
        "Brown ale for the winter solstice",
    ])
}

/// The same with other names of the batches.
pub(crate) fn store_of(names: &[&str; 5]) -> Store {
    let mut maker = Maker::new();
    let j: Vec<VesselId> = (1..=4)
        .map(|n| maker.vessel(&format!("J{n}"), VesselKind::Jug, 1.05))
        .collect();
    let f1 = maker.vessel("F1", VesselKind::Carboy, 5.2);
    maker.vessel("F2", VesselKind::Bucket, 6.5);
    maker.batch(
        names[0],
        Style::Mead,
        j[0],
        4.1,
        &[(4.1, 1.102), (2.0, 1.083)],
    );
    maker.batch(
        names[1],
        Style::Mead,
        j[1],
        17.0,
        &[(17.0, 1.108), (10.0, 1.056), (6.0, 1.055), (1.0, 1.055)],
    );
    maker.batch(
        names[2],
        Style::Mead,
        j[2],
        22.0,
        &[(22.0, 1.098), (8.0, 1.010), (2.0, 0.999)],
    );
    maker.batch(
        names[3],
        Style::Cider,
        j[3],
        26.0,
        &[(26.0, 1.05), (9.0, 1.004), (1.0, 1.001)],
    );
    maker.batch(
        names[4],
        Style::Beer,
        f1,
        6.0,
        &[(6.0, 1.052), (0.6, 1.017)],
    );
    let place = Subject::Place(maker.place);
    let warm = Seen::new(MeasureKind::Temperature, 68.0, Unit::Fahrenheit).unwrap();
    maker.record(place, 1.0, warm);
    maker.store
}

fn spread(low: f64, mid: f64, high: f64) -> Spread<Gravity> {
    Spread {
        p10: Gravity::known(low),
        p50: Gravity::known(mid),
        p90: Gravity::known(high),
    }
}

/// What the engine would say, written by hand: the frames do not change when
/// the engine learns.
fn assessed(
    mut old: Assessment,
    state: FermentState,
    sure: f64,
    gone: f64,
    now_sg: f64,
    end: f64,
) -> Assessment {
    let mut by_state = [(1.0 - sure) / 4.0; 5];
    by_state[state as usize] = sure;
    old.states = StateProbabilities { by_state };
    old.headline = Headline::Clear(state);
    old.stuck = StuckReport {
        probability: Share::known(if state == FermentState::Stuck {
            sure
        } else {
            0.02
        }),
        since: None,
        ever: Share::known(0.05),
    };
    old.gravity_now = Some(spread(now_sg - 0.001, now_sg, now_sg + 0.001));
    old.final_gravity = Some(spread(end - 0.002, end, end + 0.003));
    old.finish = (state != FermentState::Stuck).then(|| Spread {
        p10: now().plus_days(3.0),
        p50: now().plus_days(6.0),
        p90: now().plus_days(11.0),
    });
    old.rate = Some(RateReport {
        today: Spread {
            p10: GravityDelta::known(0.001),
            p50: GravityDelta::known(0.002),
            p90: GravityDelta::known(0.003),
        },
        expected: GravityDelta::known(0.004),
        temperature: Some(Celsius::known(20.0)),
    });
    let abv = |x: f64| Abv::clamped(x);
    old.alcohol = Some(AlcoholReport {
        now: Spread {
            p10: abv(6.0),
            p50: abv(6.4),
            p90: abv(6.9),
        },
        end: Spread {
            p10: abv(12.0),
            p50: abv(12.9),
            p90: abv(13.5),
        },
    });
    let share = |x: f64| Share::clamped(x);
    old.sugar_gone = Some(Spread {
        p10: share(gone - 0.03),
        p50: share(gone),
        p90: share(gone + 0.03),
    });
    old.evidence = vec![Evidence::Falling {
        by: GravityDelta::known(0.019),
        days: 2.1,
    }];
    old.advice = Vec::new();
    old.causes = Vec::new();
    old.suspicious = Vec::new();
    old.next_reading = None;
    old.bottling = BottlingGate {
        refermentation: Share::known(0.21),
        holds: vec![
            BottlingHold::LikelyToFall {
                chance: Share::known(0.21),
            },
            BottlingHold::NotRepeated {
                readings: 1,
                first: Some(now().day()),
                days: 0,
                days_wanted: 7,
                readings_wanted: 3,
            },
        ],
    };
    old.curve = (0..12)
        .map(|i| CurvePoint {
            at: now().plus_days(f64::from(i) - 5.0),
            gravity: spread(
                (now_sg - 0.003 * f64::from(i)).max(end - 0.003),
                (now_sg + 0.01 - 0.003 * f64::from(i)).max(end),
                (now_sg + 0.02 - 0.003 * f64::from(i)).max(end + 0.003),
            ),
        })
        .collect();
    old
}

/// The morning of a household, with the engine's answers fixed.
pub(crate) fn fixed_morning(household: &Household) -> Morning {
    let mut morning = morning(household, &History::default(), now());
    for row in &mut morning.accounts {
        let old = row.assessment.as_ref().clone();
        let (state, doing, gone, sg, end, urgency) = match row.tag.as_str() {
            "J1" => (
                FermentState::Active,
                Doing::Active,
                0.19,
                1.083,
                1.0,
                Urgency::Today,
            ),
            "J2" => (
                FermentState::Stuck,
                Doing::Stuck,
                0.5,
                1.055,
                1.002,
                Urgency::Trouble,
            ),
            "J3" => (
                FermentState::Finished,
                Doing::Finished,
                1.0,
                0.999,
                0.999,
                Urgency::Today,
            ),
            "J4" => (
                FermentState::Finished,
                Doing::Resting,
                0.98,
                1.001,
                1.0,
                Urgency::Calm,
            ),
            _ => (
                FermentState::Slowing,
                Doing::Slowing,
                0.9,
                1.017,
                1.012,
                Urgency::Watch,
            ),
        };
        let mut a = assessed(old, state, 0.86, gone, sg, end);
        row.flags = Vec::new();
        row.reading = None;
        if row.tag == "J2" {
            row.flags = vec![Flag::Stuck {
                probability: Share::known(0.86),
                gravity: Some(Gravity::known(1.055)),
                end: Some(Gravity::known(1.002)),
                flat: Some(skep::engine::Flat {
                    since: ago(10.0).day(),
                    until: ago(1.0).day(),
                }),
            }];
            row.reading = Some(WhyRead::Flagged(Box::new(row.flags[0].clone())));
            a.advice = vec![Advice {
                action: Action::MeasureAgain,
                answers: None,
                avoid: vec![Avoid::Bottling],
                follow_up: Some(skep::engine::FollowUp {
                    action: Action::MeasureAgain,
                    read_again_in_days: 1,
                }),
            }];
        }
        row.state = doing;
        row.sure = if doing == Doing::Resting { 1.0 } else { 0.86 };
        row.figures.fermented = Some(Share::clamped(gone));
        row.figures.gravity = a.gravity_now.map(|g| g.p50);
        row.figures.likely = a.gravity_now;
        row.figures.expected_end = Some(Gravity::known(end));
        row.figures.final_gravity = a.final_gravity;
        row.figures.alcohol = a.alcohol.map(|x| x.now.p50);
        row.figures.alcohol_end = a.alcohol.map(|x| x.end.p50);
        row.finish = a.finish;
        row.holds = a
            .bottling
            .holds
            .iter()
            .copied()
            .map(Hold::NotFinished)
            .collect();
        row.assessment = Arc::new(a);
        row.urgency = urgency;
    }
    morning
        .accounts
        .sort_by(|a, b| a.urgency.cmp(&b.urgency).then_with(|| a.tag.cmp(&b.tag)));
    let order: Vec<BatchId> = morning.accounts.iter().map(|a| a.batch).collect();
    let come = |d: &Due| d.score() > 0;
    morning
        .due
        .sort_by_key(|d| come(d).then(|| order.iter().position(|b| *b == d.batch)));
    morning.due.sort_by_key(|d| !come(d));
    morning
}

/// A way of a healthy ferment, written by hand like the rest.
fn healthy() -> Vec<(f64, Gravity)> {
    let at = |i: u32| {
        let days = f64::from(i) / 2.0;
        (days + 0.3, Gravity::known(1.0 + 0.1 * (-days / 5.0).exp()))
    };
    (0..50).map(at).collect()
}

/// A state with its store; effects are carried out at once.
pub(crate) struct Table {
    pub state: State,
    pub store: Store,
    pub now: Moment,
}

impl Table {
    pub(crate) fn new() -> Self {
        Self::on(store())
    }

    pub(crate) fn on(store: Store) -> Self {
        let options = Options {
            demo: false,
            first: None,
            zone: Zone::of(now()),
        };
        let mut table = Self {
            state: State::new(now(), options),
            store,
            now: now(),
        };
        let (routines, _) = skep::files::routines::load(None);
        let (yeasts, _) = skep::files::yeasts::load(None);
        let library = Library {
            routines,
            yeasts,
            ..Library::default()
        };
        table.take(Msg::Library(Arc::new(library)));
        table.tell();
        table
    }

    /// The store's answer to a look.
    pub(crate) fn tell(&mut self) {
        let household = self.store.household(self.now).unwrap();
        let revision = household.revision;
        let morning = fixed_morning(&household);
        self.take(Msg::Household(Box::new(Loaded {
            household: Arc::new(household),
            supplies: Some(self.store.supplies().unwrap()),
            undo: work::undo_name(&self.store).unwrap(),
            redo: work::redo_name(&self.store).unwrap(),
            last_change: None,
        })));
        self.take(Msg::Morning(revision, Arc::new(morning)));
    }

    pub(crate) fn take(&mut self, msg: Msg) {
        for effect in update(&mut self.state, msg, self.now) {
            self.carry(effect);
        }
    }

    fn carry(&mut self, effect: Effect) {
        match effect {
            Effect::CarryOut(ticket, deeds) => {
                let said: Result<Vec<String>, _> = deeds
                    .iter()
                    .map(|d| work::carry_out(&mut self.store, d, self.now).map(|r| r.said))
                    .collect();
                self.answer(
                    ticket,
                    said.map(|s| s.join("; ")).map_err(|e| e.to_string()),
                );
            }
            Effect::Undo(ticket) => {
                let name = work::undo(&mut self.store, self.now).map_err(|e| e.to_string());
                self.answer(
                    ticket,
                    name.map(|n| format!("undone: {}", n.unwrap_or_default())),
                );
            }
            Effect::Redo(ticket) => {
                let name = work::redo(&mut self.store, self.now).map_err(|e| e.to_string());
                self.answer(
                    ticket,
                    name.map(|n| format!("done again: {}", n.unwrap_or_default())),
                );
            }
            Effect::ReadStories => {
                let household = self.store.household(self.now).unwrap();
                let stories = work::stories(&self.store, &household, self.now).unwrap();
                self.take(Msg::Stories(Arc::new(stories)));
            }
            Effect::WorkOutHealthy(spot) => {
                let household = self.store.household(self.now).unwrap();
                let mut beside = healthy_at(&household, spot, &History::default(), self.now);
                beside.healthy = healthy();
                self.take(Msg::Healthy(spot, Arc::new(beside)));
            }
            Effect::ReadLedger(batch) => {
                let lines = self.store.ledger(batch).unwrap();
                self.take(Msg::Ledger(batch, Arc::new(lines)));
            }
            _ => {}
        }
    }

    fn answer(&mut self, ticket: Ticket, done: Result<String, String>) {
        match done {
            Ok(said) => {
                let revision = self.store.revision().unwrap();
                self.take(Msg::Kept(ticket, Kept { said, revision }));
                self.tell();
            }
            Err(why) => self.take(Msg::Refused(ticket, why)),
        }
    }

    /// Presses keys, written as in [`keys_in`].
    pub(crate) fn press(&mut self, keys: &str) -> &mut Self {
        for key in keys_in(keys) {
            self.take(Msg::Key(key));
        }
        self
    }

    /// The same, giving the table itself.
    pub(crate) fn tap(mut self, keys: &str) -> Self {
        self.press(keys);
        self
    }

    /// Time goes on.
    pub(crate) fn wait(&mut self, seconds: f64) -> &mut Self {
        self.now = self.now.plus_days(seconds / 86_400.0);
        self.take(Msg::Tick);
        self
    }

    pub(crate) fn draw(&self, theme: Theme, width: u16, height: u16) -> Buffer {
        let area = Rect::new(0, 0, width, height);
        let mut buffer = Buffer::empty(area);
        screens::draw(&self.state, &theme, area, &mut buffer);
        buffer
    }

    /// The screen's text, for looking something up on it.
    pub(crate) fn text(&self) -> String {
        let buffer = self.draw(Theme::default(), 100, 40);
        let row = |y: u16| {
            (0..100)
                .map(|x| buffer[(x, y)].symbol().to_owned())
                .collect::<String>()
        };
        (0..40).map(row).collect::<Vec<_>>().join("\n")
    }
}

/// The keys of a script: names in angle brackets, all else as itself.
pub(crate) fn keys_in(script: &str) -> Vec<Key> {
    let mut keys = Vec::new();
    let mut rest = script;
    while !rest.is_empty() {
        let (key, tail) =
            if let Some((name, tail)) = rest.strip_prefix('<').and_then(|r| r.split_once('>')) {
                (name.parse().unwrap(), tail)
            } else {
                let mut chars = rest.chars();
                (Key::char(chars.next().unwrap()), chars.as_str())
            };
        keys.push(key);
        rest = tail;
    }
    keys
}

/// Keys worth pressing at random.
pub(crate) fn keys() -> Vec<Key> {
    let codes = [
        Code::Enter,
        Code::Esc,
        Code::Tab,
        Code::BackTab,
        Code::Backspace,
        Code::Delete,
        Code::Up,
        Code::Down,
        Code::Left,
        Code::Right,
        Code::Home,
        Code::End,
        Code::PageUp,
        Code::PageDown,
        Code::F(1),
    ];
    let chars = "0123456789.abcdefghijklmnopqrstuvwxyzUG?/,'- +éか\u{301}";
    let ctrl = "adelkruwz";
    codes
        .into_iter()
        .map(Key::of)
        .chain(chars.chars().map(Key::char))
        .chain(ctrl.chars().map(Key::ctrl))
        .collect()
}
