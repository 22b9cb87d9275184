//! Streams of keys, clicks, pastes, answers and time into the whole state of
//! the screen.

use crate::table::{self as kit, Table};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use skep::app::{Effect, Hit, Kept, Key, Library, Loaded, Msg, Options, State, Ticket, update};
use skep::domain::units::{Moment, Zone};
use skep::engine::Morning;
use skep::store::Store;
use skep::tui::screens;
use skep::tui::theme::{Depth, Ground, Theme};
use std::sync::{Arc, OnceLock};

const SIZES: [(u16, u16); 8] = [
    (80, 24),
    (100, 40),
    (140, 42),
    (40, 12),
    (60, 20),
    (20, 5),
    (3, 2),
    (200, 60),
];

/// What one or a few bytes stand for.
enum Event {
    Key(Key),
    Paste(String),
    Wait(f64),
    Size(u16, u16),
    Click(u16, u16),
    Wheel(i32),
    Answer(bool),
    Again,
}

fn keys() -> &'static [Key] {
    static KEYS: OnceLock<Vec<Key>> = OnceLock::new();
    KEYS.get_or_init(kit::keys)
}

struct Bytes<'a>(&'a [u8]);

impl Bytes<'_> {
    fn next(&mut self) -> Option<u8> {
        let (first, rest) = self.0.split_first()?;
        self.0 = rest;
        Some(*first)
    }

    fn some(&mut self) -> u16 {
        u16::from(self.next().unwrap_or_default())
    }

    fn event(&mut self) -> Option<Event> {
        let byte = usize::from(self.next()?);
        if let Some(key) = keys().get(byte) {
            return Some(Event::Key(*key));
        }
        Some(match (byte - keys().len()) % 9 {
            0 => {
                let length = usize::from(self.some() % 32).min(self.0.len());
                let (text, rest) = self.0.split_at(length);
                self.0 = rest;
                Event::Paste(String::from_utf8_lossy(text).into_owned())
            }
            1 => Event::Wait(f64::from(self.some())),
            2 => Event::Wait((f64::from(self.some()) - 64.0) * 40_000.0),
            3 => {
                let (width, height) = SIZES[usize::from(self.some()) % SIZES.len()];
                Event::Size(width, height)
            }
            4 => Event::Click(self.some() % 140, self.some() % 42),
            5 => Event::Wheel(i32::from(self.some()) - 128),
            6 => Event::Answer(true),
            7 => Event::Answer(false),
            _ => Event::Again,
        })
    }
}

/// A household as it would be read, what the engine makes of it, and the state
/// that has been told of both.
struct Home {
    loaded: Loaded,
    morning: Arc<Morning>,
    told: State,
}

impl Home {
    fn of(store: &Store) -> Self {
        let now = kit::now();
        let household = store.household(now).unwrap();
        let options = Options {
            demo: false,
            first: None,
            zone: Zone::of(now),
        };
        let mut home = Self {
            morning: Arc::new(kit::fixed_morning(&household)),
            loaded: Loaded {
                supplies: Some(store.supplies().unwrap()),
                undo: Some("reading 1.042 of J2".into()),
                redo: None,
                last_change: None,
                household: std::sync::Arc::new(household),
            },
            told: State::new(now, options),
        };
        update(&mut home.told, Msg::Library(library()), now);
        for msg in home.news() {
            update(&mut home.told, msg, now);
        }
        home
    }
}

impl Home {
    /// What is told of it whenever it was read.
    fn news(&self) -> [Msg; 2] {
        let revision = self.loaded.household.revision;
        [
            Msg::Household(Box::new(self.loaded.clone())),
            Msg::Morning(revision, Arc::clone(&self.morning)),
        ]
    }
}

fn homes() -> &'static [Home] {
    static HOMES: OnceLock<Vec<Home>> = OnceLock::new();
    HOMES.get_or_init(|| {
        let mut demo = Store::in_memory().unwrap();
        skep::work::demo::build(&mut demo, kit::now()).unwrap();
        [kit::store(), demo, Store::in_memory().unwrap()]
            .iter()
            .map(Home::of)
            .collect()
    })
}

fn library() -> Arc<Library> {
    static LIBRARY: OnceLock<Arc<Library>> = OnceLock::new();
    let make = || {
        Arc::new(Library {
            routines: skep::files::routines::load(None).0,
            yeasts: skep::files::yeasts::load(None).0,
            ..Library::default()
        })
    };
    Arc::clone(LIBRARY.get_or_init(make))
}

/// The state alone; its errands are answered as the bytes say, or not at all.
struct Desk {
    home: &'static Home,
    state: State,
    now: Moment,
    waiting: Vec<Ticket>,
    size: (u16, u16),
    theme: Theme,
    /// Drawing is slow beside a key, so it is done in one stream of eight.
    drawn: bool,
}

impl Desk {
    fn new(home: &'static Home, size: (u16, u16), theme: Theme, drawn: bool) -> Self {
        Self {
            home,
            state: home.told.clone(),
            now: kit::now(),
            waiting: Vec::new(),
            size,
            theme,
            drawn,
        }
    }

    fn take(&mut self, msg: Msg) {
        for effect in update(&mut self.state, msg, self.now) {
            match effect {
                Effect::CarryOut(ticket, _)
                | Effect::SetUp(ticket, _)
                | Effect::Undo(ticket)
                | Effect::Redo(ticket)
                | Effect::SaveRoutine(ticket, _)
                | Effect::OpenDemo(ticket) => self.waiting.push(ticket),
                _ => {}
            }
        }
    }

    fn event(&mut self, event: Event) {
        match event {
            Event::Key(key) => self.take(Msg::Key(key)),
            Event::Paste(text) => self.take(Msg::Paste(text)),
            Event::Wait(seconds) => {
                self.now = self.now.plus_days(seconds / 86_400.0);
                self.take(Msg::Tick);
            }
            Event::Size(width, height) => {
                self.size = (width, height);
                let rows = skep::tui::areas::list_rows(&self.state, self.area());
                self.take(Msg::Rows(rows));
                self.draw();
            }
            Event::Click(x, y) => {
                if let Some(hit) = skep::tui::areas::hit(&self.state, self.area(), x, y) {
                    self.take(Msg::Hit(hit));
                }
            }
            Event::Wheel(by) => self.take(Msg::Wheel(by)),
            Event::Answer(good) => self.answer(good),
            Event::Again => self.home.news().into_iter().for_each(|m| self.take(m)),
        }
    }

    fn answer(&mut self, good: bool) {
        let Some(ticket) = self.waiting.pop() else {
            // One that was never asked for, and a row that is not there.
            self.take(Msg::Refused(Ticket(u64::MAX), "no".into()));
            return self.take(Msg::Hit(Hit::Row(usize::MAX)));
        };
        let msg = if good {
            let revision = self.home.loaded.household.revision;
            let said = "kept".into();
            Msg::Kept(ticket, Kept { said, revision })
        } else {
            Msg::Refused(ticket, "the disk is full".into())
        };
        self.take(msg);
    }

    fn draw(&self) {
        if self.drawn {
            draw(&self.state, self.theme, self.area());
        }
    }

    fn area(&self) -> Rect {
        Rect::new(0, 0, self.size.0, self.size.1)
    }
}

/// Whatever the state, something is drawn and nothing raw.
fn draw(state: &State, theme: Theme, area: Rect) {
    let mut buffer = Buffer::empty(area);
    screens::draw(state, &theme, area, &mut buffer);
    let raw = |c: char| c.is_control() || ('\u{202a}'..='\u{202e}').contains(&c);
    for cell in buffer.content() {
        assert!(!cell.symbol().contains(raw), "{:?}", cell.symbol());
    }
    let drawn = buffer.content().iter().any(|c| c.symbol() != " ");
    assert!(drawn || area.width < 20, "an empty screen");
}

fn theme(byte: u8) -> Theme {
    let depth = [Depth::True, Depth::None, Depth::Sixteen, Depth::Indexed][usize::from(byte % 4)];
    let ground = if byte & 4 == 0 {
        Ground::Dark
    } else {
        Ground::Light
    };
    Theme {
        ascii: byte & 8 != 0,
        ..Theme::new(depth, ground)
    }
}

/// Keys into the state; the first bytes choose household, size and colours.
pub(crate) fn screen(data: &[u8]) {
    let mut bytes = Bytes(data);
    let home = &homes()[usize::from(bytes.some()) % homes().len()];
    let size = SIZES[usize::from(bytes.some()) % SIZES.len()];
    let colours = theme(bytes.next().unwrap_or_default());
    // By what the stream holds, so that what is slow is not what is searched most.
    let sum = data.iter().fold(0_u8, |sum, b| sum.wrapping_add(*b));
    let mut desk = Desk::new(home, size, colours, sum % 8 == 0);
    while let Some(event) = bytes.event() {
        desk.event(event);
    }
    desk.draw();
}

/// The same with a store that carries everything out; it is whole in the end.
pub(crate) fn hands(data: &[u8]) {
    let mut bytes = Bytes(data);
    let mut table = match bytes.some() % 4 {
        0 => Table::on(Store::in_memory().unwrap()),
        _ => Table::new(),
    };
    let (width, height) = SIZES[usize::from(bytes.some()) % SIZES.len()];
    let area = Rect::new(0, 0, width, height);
    // The clock may be set back; what was written before is no fault of the store then.
    let mut latest = table.now;
    while let Some(event) = bytes.event() {
        match event {
            Event::Key(key) => table.take(Msg::Key(key)),
            Event::Paste(text) => table.take(Msg::Paste(text)),
            Event::Wait(seconds) => {
                table.wait(seconds);
            }
            Event::Click(x, y) => {
                if let Some(hit) = skep::tui::areas::hit(&table.state, area, x, y) {
                    table.take(Msg::Hit(hit));
                }
            }
            Event::Wheel(by) => table.take(Msg::Wheel(by)),
            Event::Size(..) | Event::Answer(_) => draw(&table.state, Theme::default(), area),
            Event::Again => table.tell(),
        }
        latest = latest.max(table.now);
    }
    draw(&table.state, Theme::default(), area);
    assert_eq!(table.store.check(latest).unwrap(), vec![]);
}
