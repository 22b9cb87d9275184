//! The main job: what needs the maker today, in which vessel, and what is going wrong.

use super::account::{self, Account, Errand, Figures, Flat, WhyRead};
use super::bottling::{self, Hold, Treatment};
use super::cores;
use super::facts::{self, Told};
use super::flags::{Flag, Look};
use super::memory::{Asking, Memory};
use super::schedule::{Due, Ground, Plan, Standing, Timing, dues, plan};
use super::{Assessment, FermentState, Headline, History};
use crate::domain::records::{
    Batch, BatchId, Dossier, Household, Seen, Stage, StepId, StepKind, Vessel, VesselId, words,
};
use crate::domain::units::{Gravity, Moment, Share, Zone, batch_day};
use chrono::NaiveDate;
use std::cmp::Ordering;
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

/// This morning in one value.
#[derive(Debug, Clone, PartialEq)]
pub struct Morning {
    /// The moment that it is meant for.
    pub now: Moment,
    /// Batches, worst harm first.
    pub accounts: Vec<Account>,
    /// Steps still to do: those whose day has come in the order of the accounts and by
    /// harm, then the others by day.
    pub due: Vec<Due>,
    /// Steps that nobody marked and that are to do no more, with what became of them.
    pub passed: Vec<(StepId, Standing)>,
    /// Vessels that hold nothing, by tag.
    pub free_vessels: Vec<VesselId>,
}

/// Works out the morning of a household. Pure: the clock comes in as `now`. Days are
/// those of its offset; see [`morning_by`] for a zone with clock changes.
pub fn morning(household: &Household, history: &History, now: Moment) -> Morning {
    morning_by(household, history, (now, Zone::of(now)), &Memory::default())
}

/// The same in a time zone; of bottles it is said again what was said of them before.
pub fn morning_by(
    household: &Household,
    history: &History,
    (now, zone): (Moment, Zone),
    memory: &Memory,
) -> Morning {
    let asking = Asking::new(memory, history);
    let mut accounts = Vec::new();
    let mut due = Vec::new();
    let mut passed = Vec::new();
    let current: Vec<&Dossier> = household
        .dossiers
        .iter()
        .filter(|d| d.batch.stage != Stage::Closed)
        .collect();
    let views = cores::each(&current, |d| {
        View::of(household, d, &asking, history, now, zone)
    });
    for view in views {
        // Bottles ask for nothing unless something is due or wrong.
        let silent = view.dossier.batch.stage == Stage::Bottled
            && !view.flagged()
            && !view.dues.iter().any(|d| d.timing != Timing::Later);
        if silent {
            continue;
        }
        passed.extend(view.passed());
        accounts.extend(view.accounts());
        due.extend(view.dues);
    }
    accounts.sort_by(worst_first);
    in_order(&mut due, &accounts);
    Morning {
        now,
        accounts,
        due,
        passed,
        free_vessels: free_vessels(household),
    }
}

/// The morning of one batch, in bottles or closed too.
pub fn morning_of(
    household: &Household,
    dossier: &Dossier,
    history: &History,
    (now, zone): (Moment, Zone),
) -> Morning {
    let memory = Memory::default();
    let asking = Asking::new(&memory, history);
    let view = View::of(household, dossier, &asking, history, now, zone);
    let mut due = view.dues.clone();
    let accounts = view.accounts();
    in_order(&mut due, &accounts);
    Morning {
        now,
        passed: view.passed().collect(),
        accounts,
        due,
        free_vessels: free_vessels(household),
    }
}

/// Steps whose day has come in the order of the accounts, then the others by day.
fn in_order(due: &mut [Due], accounts: &[Account]) {
    let rank = |d: &Due| accounts.iter().position(|a| a.batch == d.batch);
    let key = |d: &Due| match d.score() {
        0 => (true, None, Some(d.opens), rank(d)),
        _ => (false, rank(d), None, None),
    };
    due.sort_by(|a, b| key(a).cmp(&key(b)).then_with(|| Due::by_harm(a, b)));
}

/// Vessels that hold nothing and are in use, `J2` before `J10`.
pub fn free_vessels(household: &Household) -> Vec<VesselId> {
    let mut free: Vec<&Vessel> = household
        .vessels
        .iter()
        .filter(|v| !v.retired && household.in_vessel(v.id).is_none())
        .collect();
    free.sort_by_key(|v| tag_order(&v.tag));
    free.into_iter().map(|v| v.id).collect()
}

/// `J2` before `J10`.
fn tag_order(tag: &str) -> (String, u64, String) {
    let head: String = tag.chars().take_while(|c| !c.is_ascii_digit()).collect();
    let digits: String = tag
        .chars()
        .skip_while(|c| !c.is_ascii_digit())
        .take_while(char::is_ascii_digit)
        .collect();
    (
        head.to_lowercase(),
        digits.parse().unwrap_or(0),
        tag.to_lowercase(),
    )
}

fn worst_first(a: &Account, b: &Account) -> Ordering {
    a.urgency
        .cmp(&b.urgency)
        // Bottles can wait for the vessels when nothing presses.
        .then_with(|| {
            (a.urgency >= Urgency::Watch && a.vessel.is_none())
                .cmp(&(b.urgency >= Urgency::Watch && b.vessel.is_none()))
        })
        .then_with(|| b.harm().cmp(&a.harm()))
        .then_with(|| {
            let day = |r: &Account| r.next.as_ref().map_or(NaiveDate::MAX, |d| d.opens);
            day(a).cmp(&day(b))
        })
        .then_with(|| tag_order(&a.tag).cmp(&tag_order(&b.tag)))
        .then_with(|| a.batch.cmp(&b.batch))
}

impl Morning {
    /// What became of a step that nobody marked; none while it is to do.
    pub fn passed(&self, step: StepId) -> Option<Standing> {
        let of = |(id, standing): &(StepId, Standing)| (*id == step).then_some(*standing);
        self.passed.iter().find_map(of)
    }

    /// The account of a batch in a vessel.
    pub fn account(&self, batch: BatchId, vessel: Option<VesselId>) -> Option<&Account> {
        let here = |a: &&Account| a.batch == batch && a.vessel == vessel;
        self.accounts.iter().find(here)
    }

    /// Open steps of a batch, in order.
    pub fn due_of(&self, batch: BatchId) -> impl Iterator<Item = &Due> {
        self.due.iter().filter(move |d| d.batch == batch)
    }

    /// What is to do today, in the order of the accounts; a reading comes before the
    /// steps of its vessel, for they may depend on it.
    pub fn errands(&self) -> Vec<(&Account, Errand<'_>)> {
        let today = self.now.day();
        let mut seen = Vec::new();
        let mut all = Vec::new();
        for account in &self.accounts {
            let mut here = Vec::new();
            for due in self.due_of(account.batch) {
                if seen.contains(&due.step) {
                    continue;
                }
                if due.timing == Timing::TooLate {
                    here.push(Errand::TooLate(due));
                } else if due.presses(today) {
                    here.push(Errand::Step(due));
                } else {
                    continue;
                }
                seen.push(due.step);
            }
            if let Some(why) = &account.reading
                && !here.iter().any(Errand::reads)
            {
                here.push(Errand::Read(why));
            }
            here.sort_by_key(|errand| !errand.reads());
            all.extend(here.into_iter().map(|errand| (account, errand)));
        }
        all
    }

    /// Steps that may be done already and can wait.
    pub fn optional(&self) -> impl Iterator<Item = &Due> {
        let today = self.now.day();
        let waits = move |d: &&Due| d.wants_hands() && !d.presses(today);
        self.due.iter().filter(waits)
    }
}

impl Account {
    /// Harm in one number, for accounts of the same urgency.
    fn harm(&self) -> (u8, u32) {
        let worst = self.flags.iter().map(Flag::weight).max().unwrap_or(0);
        (worst, self.next.as_ref().map_or(0, Due::score))
    }
}

/// A batch with all that is worked out of it, before it is spread over its vessels.
struct View<'a> {
    household: &'a Household,
    dossier: &'a Dossier,
    now: Moment,
    spots: Vec<Spot>,
    plan: Plan,
    dues: Vec<Due>,
}

/// The batch in one vessel.
struct Spot {
    vessel: Option<VesselId>,
    at: Moment,
    told: Arc<Told>,
    assessment: Arc<Assessment>,
    figures: Figures,
    treatment: Treatment,
    holds: Vec<Hold>,
    flat: Option<Flat>,
    flags: Vec<Flag>,
}

impl Spot {
    fn of(
        household: &Household,
        dossier: &Dossier,
        vessel: Option<VesselId>,
        (asking, history): (&Asking<'_>, &History),
        (now, zone): (Moment, Zone),
    ) -> Self {
        let told = facts::told(household, dossier, vessel, now);
        // Bottles are judged by what was known when they were filled.
        let over = dossier.batch.bottled.or(dossier.batch.closed);
        let bottled = over.filter(|at| *at < now);
        let said = match bottled {
            Some(then) => asking.over(&told, then).as_ref().clone(),
            None => told.assess(history, now),
        };
        let said = said.localised(zone);
        let at = said.now;
        let figures = match bottled {
            Some(_) => Figures::bottled(&told, &said),
            None => Figures::of(&told, &said),
        };
        let flat = Flat::of(&told, &said);
        let mut said = account::agree(said, &figures, flat);
        let treatment = bottling::treatment(dossier, vessel, &told, at);
        let holds = match bottled {
            Some(_) => Vec::new(),
            None => bottling::batch_holds(dossier.batch.style, &told, &said, &treatment, now),
        };
        if holds.is_empty() {
            account::confirmed(&mut said);
        }
        Self {
            vessel,
            at,
            flat,
            assessment: Arc::new(said),
            told: Arc::new(told),
            figures,
            treatment,
            holds,
            flags: Vec::new(),
        }
    }

    fn gone(&self) -> f64 {
        self.figures.fermented.map_or(0.0, Share::get)
    }
}

impl<'a> View<'a> {
    fn of(
        household: &'a Household,
        dossier: &'a Dossier,
        asking: &Asking<'_>,
        history: &History,
        now: Moment,
        zone: Zone,
    ) -> Self {
        let (vessels, tag) = lies_in(household, dossier);
        let spots: Vec<Spot> = vessels
            .iter()
            .map(|&v| Spot::of(household, dossier, v, (asking, history), (now, zone)))
            .collect();
        // A split batch has one list of steps: it follows its slowest part.
        let slowest = spots
            .iter()
            .min_by(|a, b| a.gone().total_cmp(&b.gone()))
            .unwrap_or(&spots[0]);
        let plan = plan(Ground {
            dossier,
            told: &slowest.told,
            assessment: &slowest.assessment,
            figures: &slowest.figures,
            holds: &slowest.holds,
            now,
        });
        let dues = dues(dossier, &plan, vessels[0], &tag);
        let mut view = Self {
            household,
            dossier,
            now,
            spots,
            plan,
            dues,
        };
        view.flag();
        view
    }

    /// Each part of a split batch has its own trouble.
    fn flag(&mut self) {
        for i in 0..self.spots.len() {
            let spot = &self.spots[i];
            let look = Look {
                dossier: self.dossier,
                told: &spot.told,
                assessment: &spot.assessment,
                figures: &spot.figures,
                flat: spot.flat,
                plan: &self.plan,
                dues: &self.dues,
                settings: &self.household.settings,
                now: self.now,
            };
            self.spots[i].flags = look.flags();
        }
    }

    fn flagged(&self) -> bool {
        self.spots.iter().any(|s| !s.flags.is_empty())
    }

    fn accounts(&self) -> Vec<Account> {
        self.spots.iter().map(|spot| self.account(spot)).collect()
    }

    fn account(&self, spot: &Spot) -> Account {
        let batch = &self.dossier.batch;
        let resting = self.plan.rest.filter(|r| r.under_way);
        let (state, sure) = state_of(batch, &spot.assessment, resting.is_some());
        Account {
            at: spot.at,
            batch: batch.id,
            vessel: spot.vessel,
            tag: spot
                .vessel
                .and_then(|v| self.household.vessel(v))
                .map_or(String::new(), |v| v.tag.clone()),
            name: batch.name.clone(),
            style: batch.style,
            stage: batch.stage,
            day: batch.pitched.map(|p| batch_day(p, self.now.day())),
            volume: self.dossier.volume(spot.vessel),
            last: spot.told.last,
            figures: spot.figures,
            state,
            sure,
            finish: spot.assessment.finish,
            flat: spot.flat,
            treatment: spot.treatment,
            holds: spot.holds.clone(),
            next: self.next().cloned(),
            reading: self.why_read(spot),
            urgency: self.urgency(spot),
            flags: spot.flags.clone(),
            assessment: spot.assessment.clone(),
            told: spot.told.clone(),
            temperature: spot.told.temperature,
            rest_until: resting.map(|r| r.until),
        }
    }

    /// Why a gravity reading is due today; none where one was taken today already.
    fn why_read(&self, spot: &Spot) -> Option<WhyRead> {
        spot.vessel?;
        let today = self.now.day();
        let read = spot.told.last.is_some_and(|l| l.at.day() == today);
        if read || self.dossier.batch.stage >= Stage::Bottled {
            return None;
        }
        let telling = |f: &&Flag| {
            matches!(
                f,
                Flag::NoReading { .. } | Flag::NoFall { .. } | Flag::Stuck { .. }
            )
        };
        if let Some(flag) = spot.flags.iter().find(telling) {
            return Some(WhyRead::Flagged(Box::new(flag.clone())));
        }
        // A rest is there to be left alone.
        if self.plan.rest.is_some_and(|r| r.under_way) {
            return None;
        }
        let next = spot.assessment.next_reading?;
        (next.at.day() <= today).then_some(WhyRead::Telling(next))
    }

    fn passed(&self) -> impl Iterator<Item = (StepId, Standing)> {
        let steps = &self.dossier.steps;
        self.plan
            .placed
            .iter()
            .filter(|p| steps[p.index].is_open() && p.standing != Standing::Open)
            .map(|p| (steps[p.index].id, p.standing))
    }

    /// The next thing to do: what wants hands today, else what comes first.
    fn next(&self) -> Option<&Due> {
        let doable = |d: &&Due| d.kind != StepKind::Rest && d.timing != Timing::TooLate;
        self.dues
            .iter()
            .filter(doable)
            .find(|d| d.wants_hands())
            .or_else(|| self.dues.iter().filter(doable).min_by_key(|d| d.opens))
    }

    fn urgency(&self, spot: &Spot) -> Urgency {
        let worst = spot.flags.iter().map(Flag::weight).max();
        match worst {
            Some(3..) => Urgency::Danger,
            Some(2) => Urgency::Trouble,
            _ if self.dues.iter().any(Due::wants_hands) => Urgency::Today,
            Some(1) => Urgency::Watch,
            _ => Urgency::Calm,
        }
    }
}

/// Vessels of a batch (at least one place, perhaps none of glass) and its tag.
fn lies_in(household: &Household, dossier: &Dossier) -> (Vec<Option<VesselId>>, String) {
    let mut found: Vec<&Vessel> = dossier
        .vessels()
        .filter_map(|v| household.vessel(v))
        .collect();
    found.sort_by_key(|v| tag_order(&v.tag));
    found.dedup_by_key(|v| v.id);
    let tag = found
        .iter()
        .map(|v| v.tag.as_str())
        .collect::<Vec<_>>()
        .join("+");
    if found.is_empty() {
        (vec![None], tag)
    } else {
        (found.iter().map(|v| Some(v.id)).collect(), tag)
    }
}

fn state_of(batch: &Batch, assessment: &Assessment, resting: bool) -> (State, f64) {
    match batch.stage {
        Stage::Planned => (State::Planned, 1.0),
        Stage::Resting => (State::Resting, 1.0),
        Stage::Ageing => (State::Ageing, 1.0),
        Stage::Bottled => (State::Bottled, 1.0),
        Stage::Closed => (State::Closed, 1.0),
        Stage::Fermenting => match assessment.headline {
            Headline::Planned => (State::Planned, 1.0),
            Headline::Clear(FermentState::Stuck) => (
                State::Stuck,
                assessment.states.of(FermentState::Stuck).get(),
            ),
            _ if resting => (State::Resting, 1.0),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tags_stand_in_the_order_of_their_numbers() {
        let order = ["B1", "c1", "J2", "j3", "J10", "keg"];
        assert!(order.windows(2).all(|w| tag_order(w[0]) < tag_order(w[1])));
        assert_eq!(tag_order("j2").0, tag_order("J10").0);
    }
}
