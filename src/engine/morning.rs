//! The main job: what needs the maker today, in which vessel, and what is going wrong.

use super::schedule::Due;
use super::{Assessment, FermentState, Flag, Headline, History, facts};
use crate::domain::records::{
    Batch, BatchId, Dossier, Household, Seen, Stage, Style, Vessel, VesselId, words,
};
use crate::domain::units::{Celsius, Gravity, Moment, Share, batch_day};
use chrono::NaiveDate;
use std::sync::Arc;

words! {
    /// What a batch is doing, in one word: the maker's stage and the engine's judgement together.
    State {
        /// Not pitched yet.
        Planned = "planned",
        /// Pitched, not clearly falling yet.
        Lag = "lag",
        /// Falling at a good pace.
        Active = "active",
        /// Still falling, the end in sight.
        Slowing = "slowing",
        /// Not falling, with sugar left.
        Stuck = "stuck",
        /// At its end.
        Finished = "finished",
        /// The readings can't settle it yet.
        Doubtful = "doubtful",
        /// Clearing, left alone before bottling.
        Resting = "resting",
        /// Kept in bulk for months.
        Ageing = "ageing",
        /// In bottles.
        Bottled = "bottled",
        /// Done with.
        Closed = "closed",
    }
}

/// How much a row wants the maker; the worst sorts first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Urgency {
    /// Something spoils or endangers.
    Danger,
    /// Something is going wrong, or a step is late enough to do harm.
    Trouble,
    /// A step wants hands today.
    Today,
    /// Something small to keep an eye on.
    Watch,
    /// Nothing.
    Calm,
}

impl Urgency {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Danger => "danger",
            Self::Trouble => "trouble",
            Self::Today => "today",
            Self::Watch => "watch",
            Self::Calm => "calm",
        }
    }
}

/// The last gravity of a batch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LastGravity {
    /// Corrected for temperature, instrument and, with a refractometer, alcohol: SG 20/20.
    pub corrected: Gravity,
    /// As seen.
    pub raw: Seen,
    /// When.
    pub at: Moment,
}

/// One batch in one vessel, as of this morning.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The batch.
    pub batch: BatchId,
    /// Its vessel; none for a plan without one and for bottles.
    pub vessel: Option<VesselId>,
    /// Tag of the vessel, empty without one.
    pub tag: String,
    /// Name of the batch.
    pub name: String,
    /// Family.
    pub style: Style,
    /// Where the maker has taken it.
    pub stage: Stage,
    /// Day of the batch, the day of pitching being 1.
    pub day: Option<i64>,
    /// Last gravity.
    pub last: Option<LastGravity>,
    /// What it is doing.
    pub state: State,
    /// How sure that is, 0 to 1.
    pub sure: f64,
    /// Share of its sugar fermented.
    pub fermented: Option<Share>,
    /// The next thing due.
    pub next: Option<Due>,
    /// What is not as it should be, worst first.
    pub flags: Vec<Flag>,
    /// How much it wants the maker.
    pub urgency: Urgency,
    /// What the engine says of it.
    pub assessment: Arc<Assessment>,
    /// Last temperature known, of the vessel or its place.
    pub temperature: Option<(Celsius, Moment)>,
    /// Day until which it lies still, while it does.
    pub rest_until: Option<NaiveDate>,
}

/// This morning in one value.
#[derive(Debug, Clone, PartialEq)]
pub struct Morning {
    /// The moment that it is meant for.
    pub now: Moment,
    /// Batches, worst harm first.
    pub rows: Vec<Row>,
    /// Steps still to do over all batches: late ones by harm first, then by day.
    pub due: Vec<Due>,
    /// Vessels that hold nothing, by tag.
    pub free_vessels: Vec<VesselId>,
}

/// Works out the morning of a household. Pure: the clock comes in as `now`.
pub fn morning(household: &Household, history: &History, now: Moment) -> Morning {
    let mut rows: Vec<Row> = household
        .dossiers
        .iter()
        .filter(|d| d.batch.stage != Stage::Closed && d.batch.stage != Stage::Bottled)
        .flat_map(|d| rows_of(household, d, history, now))
        .collect();
    rows.sort_by(|a, b| a.urgency.cmp(&b.urgency).then_with(|| a.tag.cmp(&b.tag)));
    Morning {
        now,
        rows,
        due: Vec::new(),
        free_vessels: free_vessels(household),
    }
}

fn free_vessels(household: &Household) -> Vec<VesselId> {
    let mut free: Vec<&Vessel> = household
        .vessels
        .iter()
        .filter(|v| !v.retired && household.in_vessel(v.id).is_none())
        .collect();
    free.sort_by(|a, b| a.tag.cmp(&b.tag));
    free.into_iter().map(|v| v.id).collect()
}

fn rows_of(household: &Household, dossier: &Dossier, history: &History, now: Moment) -> Vec<Row> {
    let vessels: Vec<VesselId> = dossier.vessels().collect();
    let spots: Vec<Option<VesselId>> = if vessels.is_empty() {
        vec![None]
    } else {
        vessels.into_iter().map(Some).collect()
    };
    spots
        .into_iter()
        .map(|vessel| {
            let told = facts::told(household, dossier, vessel, now);
            let assessment = told.assess(history, now);
            row(household, dossier, vessel, &told, assessment, now)
        })
        .collect()
}

fn row(
    household: &Household,
    dossier: &Dossier,
    vessel: Option<VesselId>,
    told: &facts::Told,
    assessment: Assessment,
    now: Moment,
) -> Row {
    let batch = &dossier.batch;
    let (state, sure) = state_of(batch, &assessment);
    Row {
        batch: batch.id,
        vessel,
        tag: vessel
            .and_then(|v| household.vessel(v))
            .map_or(String::new(), |v| v.tag.clone()),
        name: batch.name.clone(),
        style: batch.style,
        stage: batch.stage,
        day: batch.pitched.map(|p| batch_day(p, now.day())),
        last: told.last,
        state,
        sure,
        fermented: assessment.sugar_gone.map(|s| s.p50),
        next: None,
        flags: Vec::new(),
        urgency: Urgency::Calm,
        assessment: Arc::new(assessment),
        temperature: told.temperature,
        rest_until: None,
    }
}

fn state_of(batch: &Batch, assessment: &Assessment) -> (State, f64) {
    match batch.stage {
        Stage::Planned => (State::Planned, 1.0),
        Stage::Resting => (State::Resting, 1.0),
        Stage::Ageing => (State::Ageing, 1.0),
        Stage::Bottled => (State::Bottled, 1.0),
        Stage::Closed => (State::Closed, 1.0),
        Stage::Fermenting => match assessment.headline {
            Headline::Planned => (State::Planned, 1.0),
            Headline::Clear(s) => (ferment(s), assessment.states.of(s).get()),
            Headline::Doubtful(a, _) => (State::Doubtful, assessment.states.of(a).get()),
        },
    }
}

fn ferment(s: FermentState) -> State {
    match s {
        FermentState::Lag => State::Lag,
        FermentState::Active => State::Active,
        FermentState::Slowing => State::Slowing,
        FermentState::Finished => State::Finished,
        FermentState::Stuck => State::Stuck,
    }
}
