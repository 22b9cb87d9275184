//! Draws the pictures of the README from the invented household, on a fixed
//! morning: `tests/pictures/draw`, or with `--check` to see that they are as
//! the code draws them.

mod svg;

use anyhow::{Context, bail};
use chrono::DateTime;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use skep::app::trend::healthy_at;
use skep::app::{Code, Effect, Key, Library, Loaded, Msg, Options, State, update};
use skep::domain::units::{Moment, Zone};
use skep::engine::{History, morning};
use skep::files;
use skep::store::Store;
use skep::tui::screens;
use skep::tui::theme::{Depth, Ground, Theme};
use skep::work::{self, demo};
use std::path::Path;
use std::sync::Arc;

/// One picture: name, words for those who do not see it, size, keys.
struct Picture {
    name: &'static str,
    says: &'static str,
    size: (u16, u16),
    keys: &'static str,
}

/// Keys: a character each; `\n` is Enter, `\t` Tab, `\u{1b}` Escape.
const PICTURES: &[Picture] = &[
    Picture {
        name: "shelf",
        says: "The shelf: every vessel, worst first, the trend of the chosen one, and what is due",
        size: (120, 36),
        keys: "",
    },
    Picture {
        name: "shelf-small",
        says: "The shelf on 80 columns and 24 rows",
        size: (80, 24),
        keys: "jjj",
    },
    Picture {
        name: "reading",
        says: "A reading being typed, with what it will mean",
        size: (100, 30),
        keys: "jjj64 68f",
    },
    Picture {
        name: "batch",
        says: "One batch: trend in large, steps, ledger",
        size: (100, 36),
        keys: "jjj\n",
    },
    Picture {
        name: "plan",
        says: "A plan: the vessel as it fills, its numbers, and what speaks against it",
        size: (120, 36),
        keys: "p",
    },
    Picture {
        name: "bottling",
        says: "Bottling day of a stuck jug: a hold, why, and what lifts it",
        size: (120, 36),
        keys: "f",
    },
    Picture {
        name: "cellar",
        says: "The cellar: lots, what to open next, how one tasted over its age",
        size: (120, 36),
        keys: "vjj",
    },
    Picture {
        name: "bench",
        says: "The bench: priming sugar with its caution",
        size: (100, 30),
        keys: "bpriming\n5gal\t2.4\t68f",
    },
];

fn now() -> Moment {
    Moment::new(DateTime::parse_from_rfc3339("2026-11-25T07:04:00-08:00").expect("a date"))
}

fn main() -> anyhow::Result<()> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let check = args.iter().any(|a| a == "--check");
    let folder = args
        .iter()
        .find(|a| !a.starts_with("--"))
        .context("name the folder for the pictures")?;
    let mut store = Store::in_memory()?;
    demo::build(&mut store, now())?;
    let mut stale = Vec::new();
    for picture in PICTURES {
        let state = played(&store, picture.keys)?;
        for (ground, word) in [(Ground::Dark, "dark"), (Ground::Light, "light")] {
            let file = Path::new(folder).join(format!("{}-{word}.svg", picture.name));
            let drawn = drawn(&state, picture, ground);
            if check {
                if std::fs::read_to_string(&file).ok().as_deref() != Some(drawn.as_str()) {
                    stale.push(file.display().to_string());
                }
            } else {
                std::fs::create_dir_all(folder)?;
                std::fs::write(&file, drawn)?;
            }
        }
    }
    if !stale.is_empty() {
        bail!(
            "not as drawn now: {}; run tests/pictures/draw",
            stale.join(", ")
        );
    }
    Ok(())
}

fn drawn(state: &State, picture: &Picture, ground: Ground) -> String {
    let area = Rect::new(0, 0, picture.size.0, picture.size.1);
    let mut buf = Buffer::empty(area);
    let theme = Theme::new(Depth::True, ground);
    screens::draw(state, &theme, area, &mut buf);
    svg::picture(&buf, ground, picture.says)
}

/// The state after the household was read and the keys were pressed.
fn played(store: &Store, keys: &str) -> anyhow::Result<State> {
    let options = Options {
        demo: true,
        first: None,
        zone: Zone::Fixed(*now().datetime().offset()),
    };
    let mut state = State::new(now(), options);
    let (routines, _) = files::routines::load(None);
    let (yeasts, _) = files::yeasts::load(None);
    let library = Library {
        routines,
        yeasts,
        ..Library::default()
    };
    update(&mut state, Msg::Library(Arc::new(library)), now());
    let household = store.household(now())?;
    let history = work::learned(store, &household, now())?;
    let worked_out = morning(&household, &history, now());
    let revision = household.revision;
    let loaded = Loaded {
        household: std::sync::Arc::new(household),
        supplies: Some(store.supplies()?),
        undo: None,
        redo: None,
        last_change: None,
    };
    update(&mut state, Msg::Household(Box::new(loaded)), now());
    let worked_out = Msg::Morning(revision, Arc::new(worked_out));
    take(&mut state, store, &history, worked_out)?;
    for c in keys.chars() {
        take(&mut state, store, &history, Msg::Key(key(c)))?;
    }
    Ok(state)
}

fn key(c: char) -> Key {
    match c {
        '\n' => Key::of(Code::Enter),
        '\t' => Key::of(Code::Tab),
        '\u{1b}' => Key::of(Code::Esc),
        c => Key::char(c),
    }
}

fn take(state: &mut State, store: &Store, history: &History, msg: Msg) -> anyhow::Result<()> {
    for effect in update(state, msg, now()) {
        match effect {
            Effect::ReadLedger(batch) => {
                let lines = Arc::new(store.ledger(batch)?);
                update(state, Msg::Ledger(batch, lines), now());
            }
            Effect::WorkOutHealthy(spot) => {
                let household = store.household(now())?;
                let line = Arc::new(healthy_at(&household, spot, history, now()));
                update(state, Msg::Healthy(spot, line), now());
            }
            _ => {}
        }
    }
    Ok(())
}
