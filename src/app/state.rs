//! All that skep knows and shows, in one value.

use super::batch::BatchView;
use super::bench::Bench;
use super::bottling::BottlingView;
use super::cellar::CellarView;
use super::checklist::Day;
use super::clock::Clock;
use super::damage::Damage;
use super::editor::Editor;
use super::guide::Guide;
use super::handling::HandlingView;
use super::keys::Scope;
use super::msg::{Effect, Library, Spot, Ticket};
use super::overlay::Overlay;
use super::pantry::PantryView;
use super::planner::Planner;
use super::round::Round;
use super::screen::Screen;
use super::season::SeasonView;
use super::trend::{self, Healthy, TrendData, TrendView};
use super::welcome::Welcome;
use crate::domain::plan::Supplies;
use crate::domain::records::{Dossier, Household, PlaceId, Settings, Vessel};
use crate::domain::units::{Moment, Zone};
use crate::engine::{Account, Due, Morning};
use std::collections::HashMap;
use std::sync::Arc;

/// What skep was started with.
#[derive(Debug, Clone)]
pub struct Options {
    /// The invented household is being looked at, in a store of its own.
    pub demo: bool,
    /// Where to begin; the shelf unless said otherwise.
    pub first: Option<Screen>,
    /// The maker's time zone.
    pub zone: Zone,
}

/// A line for the maker at the foot of the screen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    /// What it says.
    pub text: String,
    /// How it is meant.
    pub tone: NoticeTone,
}

/// How a notice is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoticeTone {
    /// Something was kept.
    Kept,
    /// Something to know.
    Plain,
    /// Something did not work.
    Trouble,
}

/// The whole state.
#[derive(Debug, Clone)]
pub struct State {
    /// The moment of the last message.
    pub now: Moment,
    /// What skep was started with.
    pub options: Options,
    /// The household as stored; none until it has been read.
    pub household: Option<Arc<Household>>,
    /// The pantry, plans, days away.
    pub supplies: Arc<Supplies>,
    /// Library and supplies are still being read: keys, which may ask for them, wait.
    pub still_to_come: bool,
    /// What is wrong with the store, while that is shown.
    pub damage: Option<Damage>,
    /// What the engine makes of it.
    pub morning: Option<Arc<Morning>>,
    /// The revision that the morning was worked out from.
    pub morning_of: i64,
    /// Routines and yeast classes.
    pub library: Arc<Library>,
    /// Name of the change that undo takes back.
    pub undo: Option<String>,
    /// Name of the change that redo brings back.
    pub redo: Option<String>,
    /// The screen shown.
    pub screen: Screen,
    /// Screens to go back to.
    pub trail: Vec<Screen>,
    /// What lies on top; the last has the keys.
    pub overlays: Vec<Overlay>,
    /// The chosen vessel with its batch.
    pub chosen: Option<Spot>,
    /// What the trend of the chosen vessel shows.
    pub trend: Option<Arc<TrendData>>,
    /// How the trend is looked at.
    pub trend_view: TrendView,
    /// What the trend was gathered for, and from which morning.
    pub trend_of: Option<(Spot, i64)>,
    /// Ways of healthy ferments, as worked out last.
    pub healthy: HashMap<Spot, Healthy>,
    /// The round, while there is one.
    pub round: Option<Round>,
    /// The batch screen.
    pub batch: BatchView,
    /// The bench, with all that was typed there.
    pub bench: Bench,
    /// The planner.
    pub planner: Planner,
    /// The day itself.
    pub day: Day,
    /// How the season is looked at.
    pub season: SeasonView,
    /// How the pantry is looked at.
    pub pantry: PantryView,
    /// Bottling day, with what was typed.
    pub bottling: BottlingView,
    /// Racking and the like, with what was typed.
    pub handling: HandlingView,
    /// How the cellar is looked at.
    pub cellar: CellarView,
    /// The routine editor.
    pub editor: Editor,
    /// The welcome's form.
    pub welcome: Welcome,
    /// The countdown, while one runs.
    pub clock: Option<Clock>,
    /// A line at the foot.
    pub notice: Option<Notice>,
    /// Rows that lists have on the screen, for paging.
    pub rows: usize,
    /// The last ticket given out.
    pub last_ticket: Ticket,
    /// Errands under way, whose answers have not come.
    pub under_way: Vec<Ticket>,
    /// The store's revision after our own last errand; a later one came from outside.
    pub own_revision: i64,
    /// Something was kept since the start: its undo stands in the foot.
    pub has_kept: bool,
    /// Who is led through a first round, and how far they are.
    pub guide: Guide,
    /// Set once, when the loop is to end.
    pub leaving: bool,
}

impl State {
    /// The state before anything was read.
    pub fn new(now: Moment, options: Options) -> Self {
        Self {
            now,
            household: None,
            supplies: Arc::default(),
            still_to_come: false,
            damage: None,
            morning: None,
            morning_of: -1,
            library: Arc::default(),
            undo: None,
            redo: None,
            screen: options.first.unwrap_or(Screen::Shelf),
            trail: Vec::new(),
            overlays: Vec::new(),
            chosen: None,
            trend: None,
            trend_view: usual_view(&Settings::default()),
            trend_of: None,
            healthy: HashMap::new(),
            round: None,
            batch: BatchView::default(),
            bench: Bench::default(),
            planner: Planner::default(),
            day: Day::default(),
            season: SeasonView::default(),
            pantry: PantryView::default(),
            bottling: BottlingView::default(),
            handling: HandlingView::default(),
            cellar: CellarView::default(),
            editor: Editor::default(),
            welcome: Welcome::default(),
            clock: None,
            notice: None,
            rows: 10,
            last_ticket: Ticket::default(),
            under_way: Vec::new(),
            own_revision: -1,
            has_kept: false,
            guide: Guide::default(),
            leaving: false,
            options,
        }
    }

    /// Where keys are looked up, the nearest first.
    pub fn scopes(&self) -> Vec<Scope> {
        match self.overlays.last() {
            Some(top) => vec![top.scope()],
            None if self.screen.types() => vec![Scope::On(self.screen)],
            None => vec![Scope::On(self.screen), Scope::Everywhere],
        }
    }

    /// The maker's choices, or the defaults until they are read.
    pub fn settings(&self) -> Settings {
        self.household
            .as_ref()
            .map_or_else(Settings::default, |h| h.settings.clone())
    }

    /// The rows of the shelf, worst first.
    pub fn shelf_rows(&self) -> &[Account] {
        self.morning.as_ref().map_or(&[], |m| &m.accounts)
    }

    /// Place of the chosen vessel in the shelf's list.
    pub fn chosen_index(&self) -> Option<usize> {
        let chosen = self.chosen?;
        self.shelf_rows().iter().position(|r| spot(r) == chosen)
    }

    /// The chosen row of the shelf.
    pub fn chosen_row(&self) -> Option<&Account> {
        self.chosen_index().and_then(|i| self.shelf_rows().get(i))
    }

    /// All that is stored of the chosen batch.
    pub fn chosen_dossier(&self) -> Option<&Dossier> {
        let batch = self.chosen?.batch;
        self.household.as_ref()?.dossier(batch)
    }

    /// The chosen vessel.
    pub fn chosen_vessel(&self) -> Option<&Vessel> {
        let vessel = self.chosen?.vessel?;
        self.household.as_ref()?.vessel(vessel)
    }

    /// Where the chosen vessel stands; the only place, when there is but one.
    pub fn chosen_place(&self) -> Option<PlaceId> {
        let here = self.chosen_vessel().map(|v| v.place);
        here.or_else(|| match self.household.as_ref()?.places.as_slice() {
            [only] => Some(only.id),
            _ => None,
        })
    }

    /// Steps of a batch that are still to do, in the order of the plan.
    pub fn due_of(&self, spot: Spot) -> Vec<&Due> {
        let morning = self.morning.iter();
        morning.flat_map(|m| m.due_of(spot.batch)).collect()
    }

    /// The step that keys about steps mean now: the chosen one of the plan, the
    /// one the round stands at, or the chosen batch's next.
    pub fn step_in_hand(&self) -> Option<&Due> {
        match self.screen {
            Screen::Round => self.round.as_ref()?.step(),
            Screen::Batch if self.batch.on_plan() => self.batch.step(self),
            _ => self.chosen_row()?.next.as_ref(),
        }
    }

    /// A new ticket, under way from now on.
    pub fn ticket(&mut self) -> Ticket {
        self.last_ticket.0 += 1;
        self.under_way.push(self.last_ticket);
        self.last_ticket
    }

    /// Says a line at the foot.
    pub fn say(&mut self, tone: NoticeTone, text: impl Into<String>) {
        self.notice = Some(Notice {
            text: text.into(),
            tone,
        });
    }

    /// Goes to a screen; back leads here again.
    pub fn go(&mut self, screen: Screen) {
        if self.screen != screen {
            self.trail.push(self.screen);
            self.screen = screen;
        }
    }

    /// Goes back to the screen before; false when there is none.
    pub fn go_back(&mut self) -> bool {
        let Some(screen) = self.trail.pop() else {
            return false;
        };
        self.screen = screen;
        true
    }

    /// When the loop should wake up by itself: milliseconds from now.
    pub fn wake_in(&self) -> u64 {
        let into_minute = self.now.utc_ms().rem_euclid(60_000);
        let minute = 60_000 - into_minute;
        let clock = self.clock.as_ref().and_then(|c| c.wake_in(self.now));
        clock.map_or(minute, |c| c.min(minute)).max(1) as u64
    }
}

impl State {
    /// Gathers the trend anew when another vessel is chosen or the morning is
    /// another one; what takes the engine longer is asked for.
    pub fn gather_trend(&mut self) -> Effects {
        let wanted = self.chosen.map(|spot| (spot, self.morning_of));
        if wanted == self.trend_of {
            return Vec::new();
        }
        if self.trend_of.map(|(spot, _)| spot) != self.chosen {
            self.trend_view.span = None;
            self.trend_view.cursor = None;
        }
        self.trend_of = wanted;
        self.regather_trend();
        match (self.chosen, &self.trend) {
            (Some(spot), Some(_)) => vec![Effect::WorkOutHealthy(spot)],
            _ => Vec::new(),
        }
    }

    /// Gathers the trend of what is chosen from what is known now.
    pub fn regather_trend(&mut self) {
        let settings = self.settings();
        self.trend_view.units = settings.units;
        self.trend_view.scale = settings.gravity;
        self.trend = self.gathered().map(Arc::new);
    }

    fn gathered(&self) -> Option<TrendData> {
        let morning = self.morning.as_ref()?;
        let (row, dossier) = (self.chosen_row()?, self.chosen_dossier()?);
        let mut data = TrendData::gather(dossier, row, morning.now);
        data = data.with_dues(morning.due_of(row.batch));
        if let Some(healthy) = self.healthy.get(&spot(row)) {
            data.healthy.clone_from(&healthy.healthy);
        }
        for story in trend::earlier(self) {
            data.add_earlier(story);
        }
        Some(data)
    }
}

fn usual_view(settings: &Settings) -> TrendView {
    TrendView::new(settings.units, settings.gravity)
}

/// What a row is chosen by.
pub fn spot(row: &Account) -> Spot {
    Spot {
        batch: row.batch,
        vessel: row.vessel,
    }
}

/// Conditions of the key table.
impl State {
    /// The household has been read.
    pub fn has_household(&self) -> bool {
        self.household.is_some()
    }

    /// A vessel is chosen.
    pub fn has_chosen(&self) -> bool {
        match self.screen {
            Screen::Round => self.round.as_ref().is_some_and(|r| r.stop().is_some()),
            _ => self.chosen_row().is_some(),
        }
    }

    /// A reading can be typed for what is in hand.
    pub fn can_slip(&self) -> bool {
        match self.screen {
            Screen::Round => self.round.as_ref().is_some_and(|r| r.subject().is_some()),
            _ => self.chosen_row().is_some_and(|r| r.vessel.is_some()),
        }
    }

    /// Something is advised that can be put on the list.
    pub fn can_follow_up(&self) -> bool {
        self.chosen_row().is_some_and(|r| {
            let advice = r.assessment.advice.first();
            advice.is_some_and(|a| a.follow_up.is_some()) && r.day.is_some()
        })
    }

    /// A place's temperature can be typed.
    pub fn can_place_slip(&self) -> bool {
        self.chosen_place().is_some()
    }

    /// The pad for done has more than one step to choose from.
    pub fn has_other_steps(&self) -> bool {
        matches!(self.overlays.last(), Some(Overlay::Done(pad)) if pad.steps.len() > 1)
    }

    /// A step is in hand.
    pub fn has_step(&self) -> bool {
        self.step_in_hand().is_some()
    }

    /// A countdown runs or can be started.
    pub fn can_clock(&self) -> bool {
        if let Some(Overlay::Done(pad)) = self.overlays.last() {
            return pad.countdown().is_some();
        }
        self.clock.is_some() || self.step_in_hand().is_some_and(|d| d.countdown.is_some())
    }

    /// There are vessels to walk to.
    pub fn can_round(&self) -> bool {
        !self.shelf_rows().is_empty()
    }

    /// The round stands at a stop.
    pub fn in_round(&self) -> bool {
        self.round.as_ref().is_some_and(|r| r.stop().is_some())
    }

    /// There is a trend to be looked at.
    pub fn has_trend(&self) -> bool {
        self.trend.is_some()
    }

    /// The trend is looked at closely, or has its cursor.
    pub fn trend_is_moved(&self) -> bool {
        self.trend.is_some() && (self.trend_view.span.is_some() || self.trend_view.cursor.is_some())
    }

    /// A reading of the ledger is chosen.
    pub fn on_reading(&self) -> bool {
        self.batch.reading().is_some()
    }

    /// A first round can be walked, or is being walked.
    pub fn can_guide(&self) -> bool {
        self.options.demo && self.household.is_some()
    }

    /// Somebody is led through a first round.
    pub fn is_guided(&self) -> bool {
        matches!(self.guide, Guide::At(..))
    }

    /// There is something to take back.
    pub fn can_undo(&self) -> bool {
        self.undo.is_some()
    }

    /// There is something to bring back.
    pub fn can_redo(&self) -> bool {
        self.redo.is_some()
    }

    /// There is somewhere to go back to, or something to clear.
    pub fn can_go_back(&self) -> bool {
        let offered = self.guide == Guide::Offered;
        !self.trail.is_empty() || self.notice.is_some() || offered
    }
}

/// What a screen's or pad's update gives back.
pub type Effects = Vec<Effect>;
