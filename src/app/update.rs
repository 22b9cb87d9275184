//! The one update: a message changes the state and asks for effects. It only
//! routes; the work is in the file of the screen or pad.

use super::batch;
use super::bench;
use super::bottling;
use super::cell;
use super::cellar;
use super::checklist;
use super::clock::Clock;
use super::editor;
use super::find;
use super::guide::{self, Guide};
use super::handling;
use super::help::HelpSheet;
use super::key::Key;
use super::keys::{Action, resolve};
use super::msg::{Effect, Hit, Kept, Loaded, Msg, Ticket};
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
use super::state::{Effects, Notice, NoticeTone, State, spot};
use super::steps;
use super::trend;
use super::welcome;
use super::why::{self, WhySheet};
use crate::domain::units::Moment;
use crate::engine::Morning;
use std::sync::Arc;

/// Takes one message. Pure: `now` comes in, effects go out.
pub fn update(state: &mut State, msg: Msg, now: Moment) -> Effects {
    let new_day = state.now.day() != now.day();
    state.now = now;
    let mut effects = match msg {
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

/// A key that is no command is text for whatever can be typed into.
fn type_into(state: &mut State, key: Key) -> Effects {
    let Some(mut top) = state.overlays.pop() else {
        if state.screen == Screen::Welcome && state.welcome.sent.is_none() {
            state.welcome.form.press(key);
        } else if state.screen == Screen::Bench {
            state.bench.press(key);
        } else if state.screen == Screen::Bottling && state.bottling.sent.is_none() {
            state.bottling.form.press(key);
            bottling::changed(state);
        } else if state.screen == Screen::Handling && state.handling.sent.is_none() {
            state.handling.form.press(key);
            handling::changed(state);
        }
        return Vec::new();
    };
    let today = state.now.day();
    match &mut top {
        Overlay::Cell(pad) => cell::press(state, pad, key),
        Overlay::Sheet(sheet) => {
            if sheet.errand.sent.is_none() && sheet.form.press(key) {
                sheet.errand.touched();
                sheet::follow(state, sheet);
            }
        }
        Overlay::Slip(pad) => slip::press(state, pad, key),
        Overlay::Done(pad) => steps::type_done(pad, key),
        Overlay::Skip(pad) => steps::type_skip(pad, key),
        Overlay::Move(pad) => steps::type_move(pad, key, today),
        Overlay::Help(sheet) => {
            if sheet.field.press(key) {
                sheet.scroll = 0;
            }
        }
        Overlay::Find(sheet) => {
            if sheet.field.press(key) {
                sheet.at = 0;
            }
        }
        Overlay::Settings(sheet) => {
            if sheet.errand.sent.is_none() && sheet.form.press(key) {
                sheet.errand.touched();
            }
        }
        Overlay::Clock | Overlay::Why(_) => {}
    }
    state.overlays.push(top);
    Vec::new()
}

fn paste(state: &mut State, text: &str) -> Effects {
    let Some(mut top) = state.overlays.pop() else {
        if state.screen == Screen::Welcome && state.welcome.sent.is_none() {
            state.welcome.form.paste(text);
        } else if state.screen == Screen::Handling {
            if state.handling.sent.is_none() {
                state.handling.form.paste(text);
            }
        } else if state.screen == Screen::Bottling {
            if state.bottling.sent.is_none() {
                state.bottling.form.paste(text);
            }
        } else if state.screen == Screen::Bench {
            state.bench.paste(text);
        } else if let (true, Some(spot)) = (state.can_slip(), state.chosen) {
            // Pasted on a screen, it begins a slip; it is never run as keys.
            slip::open(state, spot, None);
            return if matches!(state.overlays.last(), Some(Overlay::Slip(_))) {
                paste(state, text)
            } else {
                Vec::new()
            };
        }
        return Vec::new();
    };
    let today = state.now.day();
    match &mut top {
        Overlay::Cell(pad) => cell::paste(state, pad, text),
        Overlay::Sheet(sheet) if sheet.errand.sent.is_none() => {
            sheet.form.paste(text);
            sheet.errand.touched();
        }
        Overlay::Slip(pad) if pad.errand.sent.is_none() => {
            pad.field.paste(text);
            slip::understand(state, pad);
        }
        Overlay::Done(pad) if pad.errand.sent.is_none() => {
            pad.field.paste(text);
            pad.touched = true;
            pad.errand.touched();
        }
        Overlay::Skip(pad) if pad.errand.sent.is_none() => {
            pad.field.paste(text);
            pad.touched = true;
            pad.errand.touched();
        }
        Overlay::Move(pad) if pad.errand.sent.is_none() => {
            pad.field.paste(text);
            pad.understand(today);
        }
        Overlay::Help(sheet) => {
            sheet.field.paste(text);
            sheet.scroll = 0;
        }
        Overlay::Find(sheet) => {
            sheet.field.paste(text);
            sheet.at = 0;
        }
        Overlay::Settings(sheet) if sheet.errand.sent.is_none() => {
            sheet.form.paste(text);
            sheet.errand.touched();
        }
        _ => {}
    }
    state.overlays.push(top);
    Vec::new()
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
    match action {
        Action::Accept => return settings::accept(state, sheet),
        Action::Up | Action::Previous => sheet.form.step(-1),
        Action::Down | Action::Next => sheet.form.step(1),
        Action::Left => sheet.form.left_or_right(-1),
        Action::Right => sheet.form.left_or_right(1),
        _ => {}
    }
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

fn mouse(state: &mut State, hit: Hit) -> Effects {
    if let (Some(Overlay::Find(_)), Hit::Line(at)) = (state.overlays.last(), hit) {
        return find::hit(state, at);
    }
    if !state.overlays.is_empty() {
        return Vec::new();
    }
    match state.screen {
        Screen::Shelf => shelf::hit(state, hit),
        Screen::Batch => {
            batch::hit(state, hit);
            Vec::new()
        }
        Screen::Trend => {
            if let Hit::Trend(at) = hit {
                trend::read_off(state, at);
            }
            Vec::new()
        }
        Screen::Bench => {
            bench::hit(state, hit);
            Vec::new()
        }
        _ => Vec::new(),
    }
}

fn wheel(state: &mut State, by: i32) -> Effects {
    if let Some(Overlay::Help(sheet)) = state.overlays.last_mut() {
        sheet.scroll(by as isize);
        return Vec::new();
    }
    if let Some(Overlay::Find(_)) = state.overlays.last() {
        find::wheel(state, by);
    }
    if !state.overlays.is_empty() {
        return Vec::new();
    }
    match state.screen {
        Screen::Shelf => {
            let at = state.chosen_index().unwrap_or(0);
            shelf::choose_at(state, at.saturating_add_signed(by as isize));
        }
        Screen::Batch => batch::wheel(state, by),
        Screen::Trend => trend::wheel(state, by),
        Screen::Bench => bench::wheel(state, by),
        _ => {}
    }
    Vec::new()
}

/// The store was read. A household without a place is welcomed.
fn loaded_anew(state: &mut State, loaded: Loaded) -> Effects {
    let revision = loaded.household.revision;
    let first = state.household.is_none();
    let foreign = !first && revision > state.own_revision && state.under_way.is_empty();
    if foreign
        && state
            .household
            .as_ref()
            .is_some_and(|h| h.revision < revision)
    {
        let what = loaded
            .last_change
            .clone()
            .unwrap_or_else(|| "something".into());
        state.say(NoticeTone::Plain, format!("changed elsewhere: {what}"));
    }
    state.own_revision = state.own_revision.max(revision);
    let empty = loaded.household.places.is_empty();
    state.undo = loaded.undo;
    state.redo = loaded.redo;
    state.household = Some(loaded.household);
    state.supplies = Arc::new(loaded.supplies);
    planner::loaded(state);
    checklist::loaded(state);
    if empty && state.screen != Screen::Welcome {
        state.screen = Screen::Welcome;
        state.trail.clear();
        state.overlays.clear();
        welcome::fill(state);
    } else if !empty && state.screen == Screen::Welcome {
        state.screen = Screen::Shelf;
    }
    understand_again(state);
    match (state.screen, state.chosen) {
        (Screen::Batch, Some(chosen)) => vec![Effect::ReadLedger(chosen.batch)],
        _ => Vec::new(),
    }
}

/// A slip being typed is understood anew by the facts as they stand now.
fn understand_again(state: &mut State) {
    if let Some(Overlay::Slip(mut pad)) = state.overlays.pop_if(|o| matches!(o, Overlay::Slip(_))) {
        let errand = pad.errand.clone();
        slip::understand(state, &mut pad);
        pad.errand = errand;
        state.overlays.push(Overlay::Slip(pad));
    }
}

/// The engine has answered; what was worked out from an older revision than
/// the one shown is dropped.
fn assessed(state: &mut State, revision: i64, morning: Arc<Morning>) -> Effects {
    if revision < state.morning_of {
        return Vec::new();
    }
    state.morning_of = revision;
    state.morning = Some(morning);
    if state.chosen_index().is_none() && !matches!(state.screen, Screen::Batch | Screen::Trend) {
        state.chosen = state.shelf_rows().first().map(spot);
    }
    round::renew(state);
    Vec::new()
}

fn was_kept(state: &mut State, ticket: Ticket, kept: &Kept) -> Effects {
    state.under_way.retain(|t| *t != ticket);
    state.own_revision = state.own_revision.max(kept.revision);
    state.has_kept |= !kept.said.is_empty();
    if state.welcome.sent == Some(ticket) {
        welcome::kept(state, &kept.said);
        return Vec::new();
    }
    if state.planner.sent == Some(ticket) {
        planner::kept(state, &kept.said);
        return Vec::new();
    }
    if state.editor.sent == Some(ticket) {
        editor::kept(state, &kept.said);
        return Vec::new();
    }
    if state.handling.sent == Some(ticket) {
        handling::kept(state, &kept.said);
        return Vec::new();
    }
    if state.bottling.sent == Some(ticket) {
        bottling::kept(state, &kept.said);
        return Vec::new();
    }
    if state.day.sent == Some(ticket) {
        checklist::kept(state);
    }
    let place = position(state, ticket);
    let pad = place.map(|i| state.overlays.remove(i));
    let clock_done = match (&pad, &state.clock) {
        (Some(Overlay::Done(pad)), Some(clock)) => pad.step().map(|s| s.step) == Some(clock.step),
        _ => false,
    };
    if clock_done {
        state.clock = None;
    }
    let answers = pad.as_ref().is_some_and(|p| round::answers(state, p));
    round::kept(state, &kept.said, answers);
    if kept.said.is_empty() {
        state.say(NoticeTone::Plain, "nothing to do");
    } else {
        state.say(NoticeTone::Kept, kept.said.clone());
    }
    Vec::new()
}

fn was_refused(state: &mut State, ticket: Ticket, why: String) -> Effects {
    state.under_way.retain(|t| *t != ticket);
    if state.welcome.sent == Some(ticket) {
        state.welcome.sent = None;
        state.welcome.refused = Some(why);
        state.welcome.demo = false;
        return Vec::new();
    }
    if state.planner.sent == Some(ticket) {
        state.planner.sent = None;
        state.planner.then_day = false;
    }
    if state.editor.sent == Some(ticket) {
        state.editor.sent = None;
    }
    if state.handling.sent == Some(ticket) {
        state.handling.sent = None;
        state.handling.refused = Some(why);
        return Vec::new();
    }
    if state.bottling.sent == Some(ticket) {
        state.bottling.sent = None;
        state.bottling.refused = Some(why);
        return Vec::new();
    }
    if state.day.sent == Some(ticket) {
        state.day.sent = None;
    }
    let errand = position(state, ticket)
        .and_then(|i| state.overlays.get_mut(i))
        .and_then(Overlay::errand_mut);
    match errand {
        Some(errand) => {
            errand.sent = None;
            errand.insisting = false;
            errand.refused = Some(why);
        }
        None => state.say(NoticeTone::Trouble, why),
    }
    Vec::new()
}

/// The pad that sent an errand.
fn position(state: &mut State, ticket: Ticket) -> Option<usize> {
    state
        .overlays
        .iter_mut()
        .position(|o| o.errand_mut().is_some_and(|e| e.sent == Some(ticket)))
}
