//! The loop: messages in, one update, effects out, one drawing when the queue
//! is empty.

use super::areas;
use super::ground::{self, Late, Taken};
use super::input;
use super::screens;
use super::terminal::Screen;
use super::theme::{Depth, Theme};
use super::worker::{self, Errand, ReadLibrary, Source, Workers};
use crate::app::guide::Guide;
use crate::app::keymap::KeyMap;
use crate::app::{self, Effect, Library, Msg, State, update};
use crate::clock;
use crate::domain::records::Routine;
use crate::domain::units::Moment;
use crate::files;
use anyhow::Context;
use ratatui::crossterm::event::{self, Event};
use ratatui::layout::Rect;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Duration;

/// How skep is started on a screen.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// The store is the invented household.
    pub demo: bool,
    /// The first round is offered to whoever looks at the demo.
    pub offer_round: bool,
    /// Where to begin.
    pub first: Option<app::Screen>,
    /// Folder of the maker's own routines.
    pub routines: Option<PathBuf>,
    /// File of the maker's own yeast classes.
    pub yeasts: Option<PathBuf>,
    /// File of what was said before of what is in bottles.
    pub answers: Option<PathBuf>,
    /// Folder of the store's daily copies.
    pub backups: Option<PathBuf>,
    /// A new store is wanted, although copies of another one are left.
    pub new_store: bool,
}

/// What the loop takes in.
pub(super) enum Incoming {
    /// A message.
    Msg(Msg),
    /// Something from the terminal.
    Terminal(Event),
    /// A signal to end.
    End,
    /// A signal to stop for a while.
    Stop,
    /// The process goes on after a stop.
    GoOn,
    /// The terminal has another size. The event that crossterm makes of it is
    /// lost when a key comes at the same moment.
    Resized,
    /// A thread has panicked.
    Broken,
}

/// Opens the store and shows it until the maker leaves. Gives whether the offer
/// of a first round still stood then.
pub fn run(store: &Path, options: Options) -> anyhow::Result<bool> {
    let now = clock::now();
    let Options {
        demo,
        offer_round,
        first,
        routines,
        yeasts,
        answers,
        backups,
        new_store,
    } = options;
    let (out, incoming) = channel();
    // Store and engine begin at once; the screen is made ready meanwhile.
    let path = store.to_path_buf();
    let on_shelf = first.is_none_or(|first| first == app::Screen::Shelf);
    let later = on_shelf.then(|| read_library(routines.clone(), yeasts.clone()));
    let source = Source {
        path,
        new_store,
        backups,
        answers,
        later,
    };
    let (workers, opened, store_thread) = worker::start(source, &out);
    let library = if on_shelf {
        // The shelf shows its keys, and nothing else of it.
        let (keys, _) = keys_beside(yeasts.as_deref());
        let keys = Arc::new(keys);
        Library {
            keys,
            ..Library::default()
        }
    } else {
        library(routines.as_deref(), yeasts.as_deref())
    };
    let opened = opened.recv().context("the store's thread has ended")??;
    let mut state = State::new(
        now,
        app::Options {
            demo,
            first,
            zone: clock::zone(),
        },
    );
    signals(&out)?;
    let mut screen = Screen::take().context("the terminal can't be taken for the screen")?;
    let (theme, late) = theme();
    read_terminal(out.clone());
    update(&mut state, Msg::Library(Arc::new(library)), now);
    state.still_to_come = on_shelf;
    if offer_round && state.screen == app::Screen::Shelf {
        state.guide = Guide::Offered;
    }
    if let Some(copy) = opened.migrated {
        let said = format!(
            "The store was brought up to date; a copy as it was lies at {}.",
            copy.display()
        );
        state.say(app::NoticeTone::Plain, said);
    }
    if let Some(why) = opened.unwritable {
        state.say(app::NoticeTone::Trouble, why);
    }
    let ended = Loop {
        state,
        theme,
        late,
        began: now,
        screen: &mut screen,
        workers,
        dirty: true,
        routines,
        yeasts,
        afresh: false,
        held: Held::default(),
    }
    .run(&incoming);
    // The terminal is given back before anything is waited for.
    drop(screen);
    // The copy of the day is finished, so that no half is left.
    if let Some(thread) = store_thread {
        let _ = thread.join();
    }
    ended
}

/// Colours by the environment; the ground is asked of the terminal where
/// colours are shown at all.
fn theme() -> (Theme, Late) {
    let lookup = |name: &str| std::env::var(name).ok();
    let asked = if Depth::of_env(lookup) > Depth::None {
        ground::ask()
    } else {
        ground::Asked::default()
    };
    (Theme::of_env(lookup, asked.ground), asked.late)
}

fn library(routines: Option<&Path>, yeasts_file: Option<&Path>) -> Library {
    let (routines, mut problems) = files::routines::load(routines);
    let (yeasts, more) = files::yeasts::load(yeasts_file);
    problems.extend(more);
    let own = yeasts_file.map(|p| p.with_file_name("ingredients.toml"));
    problems.extend(own.as_deref().and_then(files::ingredients::use_own));
    let mut problems: Vec<String> = problems.iter().map(ToString::to_string).collect();
    let (keys, more) = keys_beside(yeasts_file);
    problems.extend(more);
    Library {
        routines,
        yeasts,
        keys: Arc::new(keys),
        problems,
    }
}

fn read_library(routines: Option<PathBuf>, yeasts: Option<PathBuf>) -> ReadLibrary {
    Box::new(move || library(routines.as_deref(), yeasts.as_deref()))
}

/// The maker's own keys lie beside the yeasts.
fn keys_beside(yeasts_file: Option<&Path>) -> (KeyMap, Vec<String>) {
    let path = yeasts_file.map(|p| p.with_file_name("keys.toml"));
    path.map(|path| own_keys(&path)).unwrap_or_default()
}

/// The maker's own keys, and sentences about what was left out of the file.
pub(crate) fn own_keys(path: &Path) -> (KeyMap, Vec<String>) {
    let (wanted, problems) = files::keymap::load(path);
    let (keys, more) = KeyMap::of(&wanted);
    let more = more.iter().map(|m| format!("{}: {m}", path.display()));
    let problems = problems.iter().map(ToString::to_string).chain(more);
    (keys, problems.collect())
}

/// Reads the terminal until it ends. The thread is not waited for: it may be
/// in the middle of waiting for a key.
fn read_terminal(out: Sender<Incoming>) {
    thread::spawn(move || {
        loop {
            let next = match event::read() {
                Ok(event) => Incoming::Terminal(event),
                Err(_) => Incoming::End,
            };
            let over = matches!(next, Incoming::End);
            if out.send(next).is_err() || over {
                return;
            }
        }
    });
}

#[cfg(unix)]
fn signals(out: &Sender<Incoming>) -> anyhow::Result<()> {
    use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGTSTP, SIGWINCH};
    use signal_hook::iterator::Signals;
    let mut signals = Signals::new([SIGTERM, SIGHUP, SIGINT, SIGQUIT, SIGTSTP, SIGCONT, SIGWINCH])?;
    let out = out.clone();
    thread::spawn(move || {
        for signal in signals.forever() {
            let next = match signal {
                SIGTSTP => Incoming::Stop,
                SIGCONT => Incoming::GoOn,
                SIGWINCH => Incoming::Resized,
                _ => Incoming::End,
            };
            if out.send(next).is_err() {
                return;
            }
        }
    });
    Ok(())
}

#[cfg(not(unix))]
fn signals(_out: &Sender<Incoming>) -> anyhow::Result<()> {
    Ok(())
}

/// After so long no answer of the terminal is expected, in milliseconds.
const LATEST_MS: i64 = 5000;

struct Loop<'a> {
    state: State,
    theme: Theme,
    /// The terminal's answer about its ground, when it comes among the keys.
    late: Late,
    /// When skep began.
    began: Moment,
    screen: &'a mut Screen,
    workers: Workers,
    dirty: bool,
    /// Folder of the maker's own routines.
    routines: Option<PathBuf>,
    /// File of the maker's own yeast classes.
    yeasts: Option<PathBuf>,
    /// The whole screen is to be drawn, not only what changed.
    afresh: bool,
    held: Held,
}

/// What came from the terminal before all was there that a key may ask for.
#[derive(Default)]
struct Held {
    events: Vec<Event>,
    since: Option<Moment>,
}

/// So long a key waits for the rest to be read at the most.
const HOLD: Duration = Duration::from_secs(1);

/// Also where the clock was set back meanwhile.
fn held_long(since: Moment) -> bool {
    let held = clock::now().utc_ms() - since.utc_ms();
    u128::try_from(held).map_or(true, |ms| ms >= HOLD.as_millis())
}

impl Loop<'_> {
    fn run(mut self, incoming: &Receiver<Incoming>) -> anyhow::Result<bool> {
        while !self.state.leaving {
            if self.dirty {
                self.draw()?;
            }
            let mut wait = Duration::from_millis(self.state.wake_in());
            if self.held.since.is_some() {
                wait = wait.min(HOLD);
            }
            match incoming.recv_timeout(wait) {
                Ok(next) => self.take(next)?,
                Err(RecvTimeoutError::Timeout) => self.take(Incoming::Msg(Msg::Tick))?,
                Err(RecvTimeoutError::Disconnected) => break,
            }
            // Draw once, when the queue is empty.
            while let Ok(next) = incoming.try_recv() {
                self.take(next)?;
                if self.state.leaving {
                    break;
                }
            }
        }
        Ok(self.state.guide == Guide::Offered)
    }

    fn area(&self) -> anyhow::Result<Rect> {
        let size = self.screen.terminal.size()?;
        Ok(Rect::new(0, 0, size.width, size.height))
    }

    fn draw(&mut self) -> anyhow::Result<()> {
        if std::mem::take(&mut self.afresh) {
            self.screen.afresh()?;
        }
        let (state, theme) = (&self.state, &self.theme);
        self.screen.terminal.draw(|frame| {
            let area = frame.area();
            if let Some(at) = screens::draw(state, theme, area, frame.buffer_mut()) {
                frame.set_cursor_position(at);
            }
        })?;
        self.dirty = false;
        Ok(())
    }

    fn take(&mut self, next: Incoming) -> anyhow::Result<()> {
        match next {
            Incoming::Msg(msg) => self.message(msg)?,
            Incoming::Terminal(event) if self.state.still_to_come => {
                self.held.since.get_or_insert_with(clock::now);
                self.held.events.push(event);
            }
            other => return self.obey(other),
        }
        self.let_go()
    }

    /// What was held comes now, in its order, if nothing is waited for any longer.
    fn let_go(&mut self) -> anyhow::Result<()> {
        let waited_enough = self.held.since.is_some_and(held_long);
        if waited_enough && self.state.still_to_come {
            let library = library(self.routines.as_deref(), self.yeasts.as_deref());
            self.message(Msg::Library(Arc::new(library)))?;
            self.state.still_to_come = false;
        }
        if !self.state.still_to_come {
            self.held.since = None;
            for event in std::mem::take(&mut self.held.events) {
                self.obey(Incoming::Terminal(event))?;
            }
        }
        Ok(())
    }

    fn obey(&mut self, next: Incoming) -> anyhow::Result<()> {
        match next {
            Incoming::Msg(msg) => self.message(msg),
            Incoming::Terminal(event) => {
                if cfg!(not(unix)) && matches!(event, Event::Resize(..)) {
                    self.resized();
                }
                let area = self.area()?;
                match input::message(event, &self.state, area) {
                    Some(Msg::Key(key)) => self.key(key),
                    Some(msg) => self.message(msg),
                    None => Ok(()),
                }
            }
            Incoming::Resized => {
                self.resized();
                Ok(())
            }
            Incoming::Stop => self.effect(Effect::Suspend),
            Incoming::GoOn => self.effect(Effect::Redraw),
            Incoming::End => {
                self.state.leaving = true;
                Ok(())
            }
            Incoming::Broken => anyhow::bail!("a part of skep failed; the store is as it was kept"),
        }
    }

    /// Cells may be lost even when the size is the old one again.
    fn resized(&mut self) {
        self.dirty = true;
        self.afresh = true;
    }

    /// A key, unless it is a piece of the terminal's late answer.
    fn key(&mut self, key: app::Key) -> anyhow::Result<()> {
        let waited = clock::now().utc_ms() - self.began.utc_ms();
        if self.late == Late::Waiting && waited > LATEST_MS {
            self.late = Late::Nothing;
        }
        match self.late.take(key) {
            Taken::Key => self.message(Msg::Key(key)),
            Taken::Piece => Ok(()),
            Taken::Answer(ground) => {
                self.theme.ground = ground.unwrap_or(self.theme.ground);
                self.dirty = true;
                Ok(())
            }
        }
    }

    fn message(&mut self, msg: Msg) -> anyhow::Result<()> {
        let rows = areas::list_rows(&self.state, self.area()?);
        self.state.rows = rows;
        let effects = update(&mut self.state, msg, clock::now());
        self.dirty = true;
        for effect in effects {
            self.effect(effect)?;
        }
        Ok(())
    }

    /// Writes a routine of the maker's own and reads them all anew.
    fn save_routine(&mut self, ticket: app::Ticket, routine: &Routine) -> anyhow::Result<()> {
        let Some(folder) = self.routines.clone() else {
            let why = "there is no folder for routines of your own".to_owned();
            return self.message(Msg::Refused(ticket, why));
        };
        match files::routine_text::save(routine, &folder) {
            Ok(path) => {
                let library = library(Some(&folder), self.yeasts.as_deref());
                self.message(Msg::Library(Arc::new(library)))?;
                let said = format!("routine saved as {}", path.display());
                let revision = self.state.own_revision;
                self.message(Msg::Kept(ticket, app::Kept { said, revision }))
            }
            Err(problem) => self.message(Msg::Refused(ticket, problem.to_string())),
        }
    }

    fn effect(&mut self, effect: Effect) -> anyhow::Result<()> {
        let errand = match effect {
            Effect::CarryOut(ticket, deeds) => Errand::CarryOut(ticket, deeds),
            Effect::SetUp(ticket, setup) => Errand::SetUp(ticket, setup),
            Effect::Undo(ticket) => Errand::Undo(ticket),
            Effect::Redo(ticket) => Errand::Redo(ticket),
            Effect::ReadLedger(batch) => Errand::Ledger(batch),
            Effect::ReadStories => Errand::Stories,
            Effect::WorkOutHealthy(spot) => return self.workers.healthy(spot),
            Effect::SaveRoutine(ticket, routine) => return self.save_routine(ticket, &routine),
            Effect::Reassess => Errand::Reassess,
            Effect::OpenDemo(ticket) => Errand::Demo(ticket),
            Effect::Suspend => {
                self.dirty = true;
                return Ok(self.screen.suspend()?);
            }
            Effect::Redraw => {
                self.dirty = true;
                return Ok(self.screen.take_again()?);
            }
            Effect::Bell => return Ok(Screen::bell()?),
            Effect::Quit => {
                self.state.leaving = true;
                return Ok(());
            }
        };
        self.workers.send(errand)
    }
}
