//! The one update: a message changes the state and asks for effects. It only
//! routes; the work is in the file of the screen or pad.

mod answers;
mod pointer;
mod typing;

use super::batch;
use super::bench;
use super::bottling;
use super::cell;
use super::cellar;
use super::checklist;
use super::clock::Clock;
use super::damage::{self, Damage};
use super::editor;
use super::find;
use super::guide::{self, Guide};
use super::handling;
use super::help::HelpSheet;
use super::key::Key;
use super::keys::{Action, resolve};
use super::msg::{Effect, Msg, Ticket};
use super::overlay::Overlay;
use super::pantry;
use super::planner;
use super::round;
use super::screen::Screen;
use super::season;
use super::settings;
use super::sheet;
use super::shelf;
use super::slip;
use super::state::{Effects, Notice, NoticeTone, State};
use super::steps;
use super::trend;
use super::welcome;
use super::why::{self, WhySheet};
use crate::domain::units::Moment;
use answers::{assessed, loaded_anew, supplied, was_kept, was_refused};
use pointer::{mouse, wheel};
use typing::{paste, type_into};

/// Takes one message. Pure: `now` comes in, effects go out.
pub fn update(state: &mut State, msg: Msg, now: Moment) -> Effects {
    let new_day = state.now.day() != now.day();
    state.now = now;
    let mut effects = match msg {
        Msg::Key(key) if state.damage.is_some() => damage::press(state, key),
        Msg::Wheel(by) if state.damage.is_some() => damage::wheel(state, by),
        Msg::Paste(_) | Msg::Hit(_) if state.damage.is_some() => Vec::new(),
        Msg::Key(key) => {
            let before = (state.screen, state.overlays.len(), state.notice.clone());
            let effects = press(state, key);
            put_away_notice(state, before);
            effects
        }
        Msg::Paste(text) => paste(state, &text),
        Msg::Hit(hit) => mouse(state, hit),
        Msg::Wheel(by) => wheel(state, by),
        Msg::Rows(rows) => {
            state.rows = rows;
            Vec::new()
        }
        Msg::Tick => Vec::new(),
        Msg::Household(loaded) => loaded_anew(state, *loaded),
        Msg::Supplies(supplies) => {
            supplied(state, *supplies);
            Vec::new()
        }
        Msg::Morning(revision, morning) => assessed(state, revision, morning),
        Msg::Ledger(id, lines) => {
            state.batch.ledger = Some((id, lines));
            Vec::new()
        }
        Msg::Healthy(spot, beside) => {
            trend::worked_out_beside(state, spot, beside);
            Vec::new()
        }
        Msg::Stories(stories) => {
            state.cellar.stories = Some(stories);
            trend::earlier_known(state);
            planner::refresh(state);
            Vec::new()
        }
        Msg::Library(library) => {
            if let Some(problem) = library.problems.first() {
                state.say(NoticeTone::Trouble, problem.clone());
            }
            state.library = library;
            if state.screen == Screen::Welcome {
                welcome::fill(state);
            }
            Vec::new()
        }
        Msg::Kept(ticket, kept) => was_kept(state, ticket, &kept),
        Msg::Refused(ticket, why) => was_refused(state, ticket, why),
        Msg::Damaged(found, to_do) => {
            state.damage = Some(Damage::new(found, to_do));
            Vec::new()
        }
        Msg::Trouble(why) => {
            state.say(NoticeTone::Trouble, why);
            Vec::new()
        }
    };
    guide::watch(state);
    effects.extend(state.gather_trend());
    if ring(state) {
        effects.push(Effect::Bell);
    }
    if new_day && state.household.is_some() {
        effects.push(Effect::Reassess);
    }
    effects
}

/// What was said is read when the maker looks at something else; trouble stays
/// until it is put away.
fn put_away_notice(state: &mut State, before: (Screen, usize, Option<Notice>)) {
    let (screen, overlays, notice) = before;
    let elsewhere = state.screen != screen || state.overlays.len() > overlays;
    let trouble = notice
        .as_ref()
        .is_some_and(|n| n.tone == NoticeTone::Trouble);
    if elsewhere && !trouble && state.notice == notice {
        state.notice = None;
    }
}

fn ring(state: &mut State) -> bool {
    let now = state.now;
    match &mut state.clock {
        Some(clock) if clock.over(now) && !clock.rang => {
            clock.rang = true;
            true
        }
        _ => false,
    }
}

fn press(state: &mut State, key: Key) -> Effects {
    match resolve(state, key) {
        Some(action) => act(state, action, key.typed()),
        None => type_into(state, key),
    }
}

/// Does what a key means.
pub fn act(state: &mut State, action: Action, typed: Option<char>) -> Effects {
    match action {
        Action::Quit => {
            state.leaving = true;
            return vec![Effect::Quit];
        }
        Action::Suspend => return vec![Effect::Suspend],
        Action::Redraw => return vec![Effect::Redraw],
        Action::Guide => {
            guide::begin_or_end(state);
            return Vec::new();
        }
        _ => {}
    }
    if let Some(top) = state.overlays.pop() {
        return act_on_top(state, top, action);
    }
    match action {
        Action::Back | Action::Why if state.screen == Screen::Bench => {
            return bench::act(state, action);
        }
        Action::Back => back(state),
        Action::Help => state.overlays.push(Overlay::Help(HelpSheet::of(state))),
        Action::Settings => settings::open(state),
        Action::Find => find::open(state),
        Action::Undo => return ask(state, Effect::Undo),
        Action::Redo => return ask(state, Effect::Redo),
        Action::Why => open_why(state),
        Action::Round => round::begin(state),
        Action::Go(Screen::Planner) => return planner::open(state),
        Action::Go(Screen::Checklist) => checklist::open(state, None),
        Action::Go(Screen::Bottling) => bottling::open(state),
        Action::Go(Screen::Handling) => handling::open(state),
        Action::Go(Screen::Cellar) => return cellar::open(state),
        Action::Go(screen) => state.go(screen),
        Action::Again => return planner::again(state),
        Action::Skip => with_step(state, steps::open_skip),
        Action::Move => with_step(state, steps::open_move),
        Action::Clock => open_clock(state),
        Action::Done => open_done(state),
        Action::PlaceSlip => {
            if let Some(place) = state.chosen_place() {
                slip::open_place(state, place, None);
            }
        }
        _ => return act_on_screen(state, action, typed),
    }
    Vec::new()
}

fn act_on_screen(state: &mut State, action: Action, typed: Option<char>) -> Effects {
    match (state.screen, action) {
        (Screen::Round, _) => round::act(state, action, typed),
        (Screen::Bench, _) => bench::act(state, action),
        (Screen::Welcome, _) => welcome::act(state, action),
        (Screen::Planner, _) => planner::act(state, action, typed),
        (Screen::Checklist, _) => checklist::act(state, action, typed),
        (Screen::Season, _) => season::act(state, action),
        (Screen::Pantry, _) => pantry::act(state, action, typed),
        (Screen::Editor, _) => editor::act(state, action),
        (Screen::Handling, _) => handling::act(state, action),
        (Screen::Bottling, _) => bottling::act(state, action),
        (Screen::Cellar, _) => cellar::act(state, action, typed),
        (_, Action::Slip) => begin_slip(state, typed),
        (_, Action::FollowUp) => steps::follow_up(state),
        (_, Action::Note) => begin_slip(state, Some('\'')),
        (Screen::Shelf, _) => shelf::act(state, action),
        (Screen::Batch, _) => batch::act(state, action),
        (Screen::Trend, _) => trend::act(state, action),
    }
}

fn begin_slip(state: &mut State, typed: Option<char>) -> Effects {
    if let Some(spot) = state.chosen {
        slip::open(state, spot, typed);
    }
    Vec::new()
}

fn act_on_top(state: &mut State, top: Overlay, action: Action) -> Effects {
    if action == Action::Back {
        return leave_top(state, top);
    }
    let by = match action {
        Action::Up => -1,
        Action::Down => 1,
        _ => 0,
    };
    match (top, action) {
        (Overlay::Cell(pad), Action::Accept) => cell::accept(state, pad),
        (Overlay::Sheet(sheet), _) => sheet::act(state, sheet, action),
        (Overlay::Slip(pad), Action::Accept) => slip::accept(state, pad),
        (Overlay::Slip(pad), Action::Up | Action::Down) => slip::other_vessel(state, pad, by),
        (Overlay::Done(pad), Action::Accept) => steps::accept_done(state, pad),
        (Overlay::Done(pad), Action::Clock) => start_clock(state, pad),
        (Overlay::Done(mut pad), Action::Up | Action::Down) => {
            pad.choose(by);
            steps::reopen(state, Overlay::Done(pad), Vec::new())
        }
        (Overlay::Skip(pad), Action::Accept) => steps::accept_skip(state, pad),
        (Overlay::Skip(mut pad), Action::Up | Action::Down) => {
            pad.turn(by);
            steps::reopen(state, Overlay::Skip(pad), Vec::new())
        }
        (Overlay::Move(pad), Action::Accept) => steps::accept_move(state, pad),
        (Overlay::Move(mut pad), Action::Up | Action::Down) => {
            pad.shift(-by as i64, state.now.day());
            steps::reopen(state, Overlay::Move(pad), Vec::new())
        }
        (Overlay::Clock, Action::Pause) => {
            let now = state.now;
            if let Some(clock) = &mut state.clock {
                clock.stop_or_go_on(now);
            }
            steps::reopen(state, Overlay::Clock, Vec::new())
        }
        (Overlay::Clock, Action::Accept) => clock_to_done(state),
        (Overlay::Why(mut sheet), Action::Up | Action::Down) => {
            let last = why::cards(state, sheet.spot).len().saturating_sub(1);
            sheet.at = sheet.at.saturating_add_signed(by).min(last);
            steps::reopen(state, Overlay::Why(sheet), Vec::new())
        }
        (Overlay::Find(sheet), _) => find::act(state, sheet, action),
        (Overlay::Help(sheet), _) => help_act(state, sheet, action),
        (Overlay::Settings(sheet), _) => settings_act(state, sheet, action),
        (top, _) => steps::reopen(state, top, Vec::new()),
    }
}

fn help_act(state: &mut State, mut sheet: HelpSheet, action: Action) -> Effects {
    let page = state.rows.max(2).cast_signed() - 1;
    match action {
        Action::Up => sheet.scroll(-1),
        Action::Down => sheet.scroll(1),
        Action::PageUp => sheet.scroll(-page),
        Action::PageDown => sheet.scroll(page),
        Action::Next => {
            sheet.words = !sheet.words;
            sheet.scroll = 0;
        }
        _ => {}
    }
    steps::reopen(state, Overlay::Help(sheet), Vec::new())
}

fn settings_act(state: &mut State, mut sheet: settings::SettingsSheet, action: Action) -> Effects {
    if action == Action::Accept {
        return settings::accept(state, sheet);
    }
    sheet.form.act(action);
    sheet.errand.touched();
    steps::reopen(state, Overlay::Settings(sheet), Vec::new())
}

/// Escape on something on top: typed text is asked about first.
fn leave_top(state: &mut State, mut top: Overlay) -> Effects {
    let typing = top.holds_typing();
    if let Some(errand) = top.errand_mut() {
        if errand.sent.is_some() {
            return steps::reopen(state, top, Vec::new());
        }
        if typing && !errand.leaving {
            errand.leaving = true;
            errand.insisting = false;
            return steps::reopen(state, top, Vec::new());
        }
    }
    if matches!(top, Overlay::Cell(_)) {
        planner::forget_preview(state);
    }
    if let (Overlay::Clock, Some(clock)) = (&top, &state.clock)
        && clock.over(state.now)
    {
        state.clock = None;
    }
    Vec::new()
}

fn back(state: &mut State) {
    if state.guide == Guide::Offered {
        state.guide = Guide::Away;
        return;
    }
    let said = state.notice.take();
    let trouble = said.is_some_and(|n| n.tone == NoticeTone::Trouble);
    if !trouble && state.screen != Screen::Welcome {
        state.go_back();
    }
}

fn ask(state: &mut State, effect: fn(Ticket) -> Effect) -> Effects {
    let ticket = state.ticket();
    vec![effect(ticket)]
}

fn with_step(state: &mut State, open: fn(&mut State, crate::engine::Due)) {
    if let Some(step) = state.step_in_hand().cloned() {
        open(state, step);
    }
}

fn open_done(state: &mut State) {
    let step = state.step_in_hand().map(|d| d.step);
    if let Some(spot) = state.chosen {
        steps::open_done(state, spot, step);
    }
}

fn open_why(state: &mut State) {
    if let Some(spot) = state.chosen {
        state.overlays.push(Overlay::Why(WhySheet { spot, at: 0 }));
    }
}

fn open_clock(state: &mut State) {
    if state.clock.is_none() {
        let due = state.step_in_hand().cloned();
        let (Some(due), Some(spot)) = (due, state.chosen) else {
            return;
        };
        set_clock(state, &due, spot);
    }
    if state.clock.is_some() {
        state.overlays.push(Overlay::Clock);
    }
}

fn start_clock(state: &mut State, pad: steps::DonePad) -> Effects {
    if let Some(due) = pad.step().cloned() {
        set_clock(state, &due, pad.spot);
    }
    // The pad waits below with what was typed.
    state.overlays.push(Overlay::Done(pad));
    if state.clock.is_some() {
        state.overlays.push(Overlay::Clock);
    }
    Vec::new()
}

fn set_clock(state: &mut State, due: &crate::engine::Due, spot: super::msg::Spot) {
    if let Some(seconds) = due.countdown {
        let title = format!("{}  {}", due.tag, due.title);
        let title = title.trim().to_owned();
        state.clock = Some(Clock::start(due.step, spot, title, seconds, state.now));
    }
}

/// Enter on the countdown: on to marking its step done.
fn clock_to_done(state: &mut State) -> Effects {
    let Some(clock) = state.clock.take() else {
        return Vec::new();
    };
    let waiting = matches!(state.overlays.last(), Some(Overlay::Done(_)));
    if clock.step == checklist::OF_A_LINE {
        // The line waits below; Enter ticks it.
        return Vec::new();
    }
    if !waiting {
        steps::open_done(state, clock.spot, Some(clock.step));
    }
    Vec::new()
}
