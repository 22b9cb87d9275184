//! Screens against the account, drawn into buffers.

use crate::households;
use crate::kit::{House, house};
use crate::page::Page;
use chrono::DateTime;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use skep::app::round::{Ask, stops};
use skep::app::state::spot;
use skep::app::{Loaded, Msg, Options, Screen, State, say, update};
use skep::domain::records::{Household, Settings};
use skep::domain::units::Moment;
use skep::engine::{Account, Errand, Memory, Morning, Voice, morning_by};
use skep::store::Store;
use skep::tui::screens;
use skep::tui::theme::Theme;
use skep::work::{self, learned};
use std::sync::Arc;

/// Ten in the morning in California, some days before the clocks go back there.
fn now() -> Moment {
    Moment::new(DateTime::parse_from_rfc3339("2026-10-20T10:00:00-07:00").unwrap())
}

fn drawn(state: &State, width: u16, height: u16) -> Vec<String> {
    let area = Rect::new(0, 0, width, height);
    let mut buffer = Buffer::empty(area);
    screens::draw(state, &Theme::default(), area, &mut buffer);
    let row = |y: u16| {
        (0..width)
            .map(|x| buffer[(x, y)].symbol().to_owned())
            .collect()
    };
    (0..height).map(row).collect()
}

struct Look {
    state: State,
    household: Arc<Household>,
    morning: Arc<Morning>,
}

fn look(house: &House) -> Look {
    let household = Arc::new(house.store.household(house.now).unwrap());
    let history = learned(&house.store, &household, house.now).unwrap();
    let at = (house.now, house.zone.1);
    let morning = Arc::new(morning_by(&household, &history, at, &Memory::default()));
    let options = Options {
        demo: false,
        first: None,
        zone: house.zone.1,
    };
    let mut state = State::new(house.now, options);
    let loaded = Loaded {
        household: household.clone(),
        supplies: Some(house.store.supplies().unwrap()),
        undo: None,
        redo: None,
        last_change: None,
    };
    let stories = work::stories(&house.store, &household, house.now).unwrap();
    for msg in [
        Msg::Household(Box::new(loaded)),
        Msg::Morning(household.revision, morning.clone()),
        Msg::Stories(Arc::new(stories)),
    ] {
        let _ = update(&mut state, msg, house.now);
    }
    Look {
        state,
        household,
        morning,
    }
}

/// The row of the shelf has the account's figures in their columns.
fn shelf_row(look: &Look, account: &Account, settings: &Settings) {
    let lines = drawn(&look.state, 150, 50);
    let name: String = account.name.chars().take(12).collect();
    let row = lines
        .iter()
        .find(|l| l.contains(&name) && l.contains(&account.tag));
    let row = row.unwrap_or_else(|| panic!("{name}: {lines:?}"));
    let today = look.state.now.day();
    let number = |g| say::gravity_number(g, settings.gravity);
    Page::new("shelf", row).says(&[
        Some(account.state.word().to_owned()),
        account.last.map(|l| number(l.corrected)),
        account.fermented().map(say::share),
        account.figures.alcohol.map(say::abv),
        account
            .finish_ahead(today)
            .map(|f| say::day_short(f.p50, today)),
    ]);
}

fn batch_page(look: &mut Look, account: &Account, settings: &Settings) {
    look.state.chosen = Some(spot(account));
    look.state.regather_trend();
    look.state.screen = Screen::Batch;
    for part in skep::app::batch::Part::ALL {
        if part == skep::app::batch::Part::Ledger {
            continue;
        }
        look.state.batch.part = part;
        let page = Page::new(
            format!("batch {part:?}"),
            &drawn(&look.state, 99, 90).join("\n"),
        );
        page.agrees(account, settings);
        let figures = &account.figures;
        page.says(&[
            Some(account.state.word().to_owned()),
            account.day.map(say::batch_day),
            account
                .fermented()
                .map(|s| format!("{} fermented", say::share(s))),
        ]);
        if part == skep::app::batch::Part::Says {
            let voice = Voice::of(settings);
            let holds = account.holds.iter().map(|h| Some(h.sentence(voice)));
            page.says(&holds.collect::<Vec<_>>());
        }
        let wide = Page::new("head", &drawn(&look.state, 220, 50).join("\n"));
        wide.says(&[
            figures
                .alcohol
                .map(|a| format!("{} alcohol now", say::abv(a))),
            figures
                .alcohol_end
                .map(|a| format!("{} at the finish", say::abv(a))),
            figures.expected_end.map(|g| {
                let end = say::gravity_number(g, settings.gravity);
                format!("expected final gravity {end}")
            }),
        ]);
    }
    look.state.screen = Screen::Trend;
    Page::new("trend", &drawn(&look.state, 120, 40).join("\n")).agrees(account, settings);
    look.state.screen = Screen::Shelf;
}

fn compare(look: &Look, account: &Account) {
    let story = skep::app::cellar::told(&look.state)
        .into_iter()
        .find(|s| s.batch == account.batch);
    let alone = look
        .morning
        .accounts
        .iter()
        .filter(|a| a.batch == account.batch);
    if let (Some(story), 1) = (story, alone.count()) {
        assert_eq!(story.alcohol, account.figures.alcohol, "{}", account.name);
        assert_eq!(
            story.last,
            account.last.map(|l| l.corrected),
            "{}",
            account.name
        );
        let stuck = account.state.word() == "stuck";
        assert_eq!(story.stuck == Some(true), stuck, "{}", account.name);
    }
}

fn season(look: &Look, account: &Account) {
    let season = skep::app::season::shown(&look.state).unwrap();
    let lane = season.lanes.iter().find(|l| l.vessel == account.vessel);
    let Some(lane) = lane.filter(|_| account.vessel.is_some()) else {
        return;
    };
    let span = lane
        .spans
        .iter()
        .find(|s| s.batch == account.batch)
        .unwrap();
    assert_eq!(span.state, account.state, "{} in the season", account.name);
    if account.state.word() == "stuck" {
        assert_eq!(lane.free, None, "a day is promised for {}", account.name);
    }
}

/// Round, list of what is due and sentence of the morning name the same errands.
fn errands(look: &mut Look) {
    let morning = look.morning.clone();
    let errands = morning.errands();
    let walked = stops(&look.household, &morning, look.state.now);
    let walked: Vec<(String, bool)> = walked
        .iter()
        .filter(|s| !matches!(s.ask, Ask::Temperature(_)))
        .map(|s| (s.title.clone(), matches!(s.ask, Ask::Reading(_))))
        .collect();
    let meant: Vec<(String, bool)> = errands
        .iter()
        .map(|(a, e)| (a.tag.clone(), matches!(e, Errand::Read(_))))
        .collect();
    assert_eq!(walked, meant);
    look.state.screen = Screen::Shelf;
    let lines = drawn(&look.state, 150, 70);
    for (account, errand) in &errands {
        // A title that has no room stands as the word for its kind.
        let said = match errand {
            Errand::Step(due) | Errand::TooLate(due) => vec![
                due.title.chars().take(16).collect::<String>(),
                due.kind.word().to_owned(),
                due.kind.short().to_owned(),
            ],
            Errand::Read(_) => vec!["take a gravity reading".to_owned()],
        };
        let tag = format!(" {}", account.tag);
        let here = |l: &String| l.contains(&tag) && said.iter().any(|s| l.contains(s));
        assert!(lines.iter().any(here), "{said:?}: {}", lines.join("\n"));
    }
    let steps = errands.iter().filter(|(_, e)| matches!(e, Errand::Step(_)));
    let counted: usize = skep::app::brief::sentence(&look.state)
        .split(' ')
        .collect::<Vec<_>>()
        .windows(2)
        .filter(|w| matches!(w[1], "step" | "steps"))
        .filter_map(|w| w[0].parse::<usize>().ok())
        .sum();
    assert_eq!(counted, steps.count());
}

#[test]
fn every_screen_shows_the_account() {
    let mut seen = std::collections::BTreeSet::new();
    for seed in 0..households(12) {
        let house = house(Store::in_memory().unwrap(), now(), seed);
        let mut look = look(&house);
        let settings = look.household.settings.clone();
        let morning = look.morning.clone();
        for account in &morning.accounts {
            seen.insert(account.state.word());
            look.state.screen = Screen::Shelf;
            shelf_row(&look, account, &settings);
            batch_page(&mut look, account, &settings);
            compare(&look, account);
            season(&look, account);
        }
        errands(&mut look);
    }
    for state in ["active", "stuck", "finished", "planned"] {
        assert!(
            seen.contains(state),
            "no household has a batch that is {state}: {seen:?}"
        );
    }
}
