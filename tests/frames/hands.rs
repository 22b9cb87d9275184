//! What hands do: readings, steps, rounds, undo; and any keys at all.

use crate::kit::{Table, fixed_morning, keys};
use proptest::prelude::*;
use ratatui::layout::Rect;
use skep::app::{Key, Msg, Screen};
use skep::domain::records::{GravityScale, StepStatus, UnitSystem};
use skep::store::Store;
use skep::tui::theme::Theme;

fn readings(table: &Table, tag: &str) -> Vec<f64> {
    let household = table.store.household(table.now).unwrap();
    let vessel = household.vessel_by_tag(tag).unwrap().id;
    let dossier = household.in_vessel(vessel).unwrap();
    dossier.readings.iter().map(|r| r.seen.value()).collect()
}

pub(crate) fn open_steps(table: &Table, tag: &str) -> usize {
    let household = table.store.household(table.now).unwrap();
    let vessel = household.vessel_by_tag(tag).unwrap().id;
    let dossier = household.in_vessel(vessel).unwrap();
    dossier.steps.iter().filter(|s| s.is_open()).count()
}

#[test]
fn a_reading_takes_two_digits_and_enter() {
    let mut table = Table::new();
    table.press("54<Enter>");
    assert_eq!(readings(&table, "J2").last(), Some(&1.054));
    assert!(table.text().contains("1.054"), "{}", table.text());
}

#[test]
fn advice_goes_on_the_list_with_one_key_and_only_once() {
    let mut table = Table::new();
    let before = open_steps(&table, "J2");
    table.press("+");
    // J2 is stuck: the deed today, and the reading that tells whether it helped.
    assert_eq!(open_steps(&table, "J2"), before + 2);
    table.press("+");
    assert_eq!(open_steps(&table, "J2"), before + 2);
    assert!(
        table.text().contains("on the list already"),
        "{}",
        table.text()
    );
    table.press("uu");
    assert_eq!(open_steps(&table, "J2"), before);
}

#[test]
fn a_doubtful_reading_asks_once_more_and_stays_typed() {
    let mut table = Table::new();
    let before = readings(&table, "J2");
    table.press("99<Enter>");
    assert_eq!(readings(&table, "J2"), before);
    assert!(
        table.text().contains("Press Enter again"),
        "{}",
        table.text()
    );
    table.press("<Enter>");
    assert_eq!(readings(&table, "J2").last(), Some(&1.099));
}

#[test]
fn what_was_typed_stays_after_a_mistake_and_is_asked_about_before_it_goes() {
    let mut table = Table::new();
    table.press("54 what<Enter>");
    assert!(table.text().contains("54 what"));
    table.press("<Esc>");
    assert!(table.text().contains("54 what"), "{}", table.text());
    assert!(table.text().contains("Esc again throws away"));
    table.press("<Esc>");
    assert!(!table.text().contains("54 what"));
}

#[test]
fn undo_says_what_it_would_take_back_and_redo_brings_it_again() {
    let mut table = Table::new();
    let before = readings(&table, "J2");
    table.press("54<Enter>");
    let name = table.state.undo.clone().unwrap();
    assert!(name.contains("1.054") && name.contains("J2"), "{name}");
    table.press("u");
    assert_eq!(readings(&table, "J2"), before);
    table.press("U");
    assert_eq!(readings(&table, "J2").last(), Some(&1.054));
}

#[test]
fn a_step_takes_two_keys() {
    let mut table = Table::new();
    let before = open_steps(&table, "J1");
    table.press("<Down>");
    assert_eq!(table.state.chosen_row().unwrap().tag, "J1");
    table.press("d<Enter>");
    assert_eq!(open_steps(&table, "J1"), before - 1);
}

#[test]
fn a_skip_wants_a_reason_and_keeps_it() {
    let mut table = Table::new();
    let before = open_steps(&table, "J1");
    table.press("<Down>x<Enter>");
    assert_eq!(open_steps(&table, "J1"), before);
    assert!(table.text().contains("Say why"));
    table.press("no nutrient left<Enter>");
    let household = table.store.household(table.now).unwrap();
    let reasons: Vec<String> = household
        .dossiers
        .iter()
        .flat_map(|d| &d.steps)
        .filter_map(|s| match &s.status {
            StepStatus::Skipped { reason, .. } => Some(reason.clone()),
            _ => None,
        })
        .collect();
    assert_eq!(reasons, ["no nutrient left"]);
}

#[test]
fn the_countdown_runs_on_and_leads_to_done() {
    let mut table = Table::new();
    let before = open_steps(&table, "J1");
    table.press("<Down>c");
    assert!(table.text().contains("Running"), "{}", table.text());
    table.press("<Esc>").wait(30.0);
    assert!(table.text().contains("1:30"), "{}", table.text());
    table.wait(90.0).press("c");
    assert!(table.text().contains("Time is up"), "{}", table.text());
    table.press("<Enter><Enter>");
    assert_eq!(open_steps(&table, "J1"), before - 1);
    assert!(table.state.clock.is_none());
}

#[test]
fn the_round_ends_with_what_was_done_and_left() {
    let mut table = Table::new();
    table.press("r");
    let stops = table.state.round.as_ref().unwrap().stops.len();
    assert!(stops >= 3, "{}", table.text());
    while table.state.round.as_ref().unwrap().stop().is_some() {
        table.press("n");
    }
    assert!(
        table.text().contains("Round done: 0 things done"),
        "{}",
        table.text()
    );
    table.press("<Enter>");
    assert_eq!(table.state.screen, Screen::Shelf);
}

#[test]
fn a_temperature_of_the_place_serves_all_its_vessels() {
    let mut table = Table::new();
    table.press("t66<Enter>");
    let household = table.store.household(table.now).unwrap();
    for dossier in &household.dossiers {
        let last = dossier.place_readings.last().unwrap();
        assert!((last.seen.value() - 66.0).abs() < 1e-9);
    }
}

#[test]
fn a_reading_is_mended_and_taken_out_from_the_ledger() {
    let mut table = Table::new();
    table.press("54<Enter><Enter><Tab>");
    assert!((table.state.batch.reading().unwrap().seen.value() - 1.054).abs() < 1e-9);
    table.press("e<Home><Del><Del><Del><Del><Del>1.053<Enter>");
    assert_eq!(readings(&table, "J2").last(), Some(&1.053));
    let length = readings(&table, "J2").len();
    table.press("<Home><Del>");
    assert_eq!(readings(&table, "J2").len(), length - 1);
}

#[test]
fn choices_change_what_is_shown_and_not_what_was_kept() {
    let mut table = Table::new();
    table.press(",<Right><Down><Right><Enter>");
    let settings = table.state.settings();
    assert_eq!(settings.units, UnitSystem::Metric);
    assert_eq!(settings.gravity, GravityScale::Plato);
    assert_eq!(readings(&table, "J2").last(), Some(&1.055));
}

#[test]
fn pasted_text_is_one_thing_and_never_commands() {
    let mut table = Table::new();
    table.take(Msg::Paste("q\nu\nx".into()));
    assert!(!table.state.leaving);
    assert!(table.text().contains("q u x"), "{}", table.text());
}

#[test]
fn a_stale_answer_of_the_engine_is_dropped() {
    let mut table = Table::new();
    let newest = table.state.morning_of;
    let mut old = fixed_morning(&table.store.household(table.now).unwrap());
    old.accounts.clear();
    table.take(Msg::Morning(newest - 1, std::sync::Arc::new(old)));
    assert!(!table.state.shelf_rows().is_empty());
}

#[test]
fn the_choice_stays_on_its_vessel_when_the_order_changes() {
    let mut table = Table::new();
    table.press("<End>");
    let chosen = table.state.chosen;
    table.press("16<Enter>");
    assert_eq!(table.state.chosen, chosen);
}

/// The cell in which a sign first stands on a screen of that size.
fn cell_of(table: &Table, sign: &str, width: u16, height: u16) -> (u16, u16) {
    let frame = table.draw(Theme::default(), width, height);
    let at = frame.content().iter().position(|c| c.symbol() == sign);
    let at = u16::try_from(at.unwrap()).unwrap();
    (at % width, at / width)
}

#[test]
fn the_trend_is_read_off_by_arrows_and_looked_at_closer() {
    let mut table = Table::new();
    table.press("z");
    assert_eq!(table.state.screen, Screen::Trend);
    let data = table.state.trend.clone().unwrap();
    let (whole, now) = (table.state.trend_view.whole(&data), data.now);
    // The first press stands at the present, the next one goes on from there.
    table.press("<Left>");
    assert_eq!(table.state.trend_view.cursor, Some(now));
    table.press("<Left>");
    assert!(table.state.trend_view.cursor.unwrap() < now);
    // J2 was read 17, 10, 6 days and 1 day ago: the first was on day 1.
    table.press("<Home><Tab>");
    assert!(table.text().contains("day 1,"), "{}", table.text());
    assert!(table.text().contains("read 1.108"), "{}", table.text());
    table.press("<Tab>");
    assert!(table.text().contains("read 1.056"), "{}", table.text());
    table.press("<Up><Up>");
    let (from, to) = table.state.trend_view.shown(&data);
    assert!((to - from) < (whole.1 - whole.0) / 3.9);
    table.press("<PgDn>");
    assert!(table.state.trend_view.shown(&data).0 > from);
    table.press(" ");
    assert_eq!(table.state.trend_view.shown(&data), whole);
    assert_eq!(table.state.trend_view.cursor, None);
    table.press("x");
    assert!(table.state.trend_view.dates);
    // A reading is typed here as on the shelf.
    table.press("54<Enter>");
    assert_eq!(readings(&table, "J2").last(), Some(&1.054));
    table.press("n");
    assert_ne!(table.state.chosen_row().unwrap().tag, "J2");
    // The first Esc clears what was said at the foot.
    table.press("<Esc><Esc>");
    assert_eq!(table.state.screen, Screen::Shelf);
}

#[test]
fn the_mouse_puts_the_cursor_of_the_trend_on_what_it_points_at() {
    for (keys, width, height) in [("", 140, 42), ("<Enter>", 80, 40), ("z", 40, 20)] {
        let mut table = Table::new();
        table.press(keys);
        // The present is an upright line; its label stands below the plot.
        let data = table.state.trend.clone().unwrap();
        table.state.trend_view.put_cursor(&data, data.points[2].at);
        let (x, y) = cell_of(&table, "│", width, height);
        table.state.trend_view.cursor = None;
        let area = Rect::new(0, 0, width, height);
        let hit = skep::tui::areas::hit(&table.state, area, x, y).unwrap();
        table.take(Msg::Hit(hit));
        let at = table.state.trend_view.cursor.unwrap();
        let (from, to) = table.state.trend_view.shown(&data);
        let column = (to - from) / f64::from(width) * 4.0;
        assert!((at - data.points[2].at).abs() < column, "{at} at {width}");
    }
}

#[test]
fn earlier_batches_of_the_same_kind_are_laid_over_the_trend() {
    let mut table = Table::new();
    // J2 is a mead of 17 days; J3, of 22 days, is the only older mead.
    table.press("z");
    assert!(table.state.trend.as_ref().unwrap().earlier.is_empty());
    table.press("e");
    let data = table.state.trend.clone().unwrap();
    let names: Vec<&str> = data.earlier.iter().map(|e| e.name.as_str()).collect();
    assert_eq!(names, ["Linden"]);
    assert!(table.text().contains("a Linden"), "{}", table.text());
    // Its reading of 8 days ago was on its own day 15: local time of the pitch and 14 days.
    let line = &data.earlier[0].line;
    assert!((line[1].1.get() - 1.010).abs() < 1e-9);
    assert!((line[1].0 - line[0].0 - 14.0).abs() < 1e-6);
    table.press("e");
    assert!(!table.text().contains("a Linden"));
}

#[test]
fn a_healthy_ferment_is_worked_out_once_for_each_vessel_and_not_with_each_key() {
    let mut table = Table::new();
    let asked = |table: &mut Table, key: &str| {
        let key = key.parse().unwrap();
        let effects = skep::app::update(&mut table.state, Msg::Key(key), table.now);
        effects
            .iter()
            .filter(|e| matches!(e, skep::app::Effect::WorkOutHealthy(_)))
            .count()
    };
    assert!(!table.state.trend.as_ref().unwrap().healthy.is_empty());
    assert_eq!(asked(&mut table, "down"), 1);
    for key in ["z", "left", "up", "s", "x"] {
        assert_eq!(asked(&mut table, key), 0, "{key}");
    }
}

#[test]
fn anything_is_found_by_a_few_letters_and_gone_to() {
    // A batch by letters of its name, though not all of them, in order.
    let mut table = Table::new();
    table.press("/wndfl<Enter>");
    assert_eq!(table.state.screen, Screen::Batch);
    assert_eq!(table.state.chosen_row().unwrap().tag, "J4");
    // A vessel by its tag.
    table.press("/f1<Enter>");
    assert_eq!(table.state.chosen_row().unwrap().tag, "F1");
    // A step of another vessel: its line of the plan is chosen.
    table.press("/j1 swirl and<Enter>");
    assert_eq!(table.state.chosen_row().unwrap().tag, "J1");
    let step = table.state.batch.step(&table.state).unwrap();
    assert_eq!(step.title, "swirl and feed");
    // A sum of the bench: its form is open, and letters are text there.
    table.press("/priming<Enter>");
    assert_eq!(table.state.screen, Screen::Bench);
    let sum = table.state.bench.chosen().unwrap();
    assert!(sum.title.contains("priming"), "{}", sum.title);
    // From a screen where letters are text, by control; then a word.
    table.press("<Ctrl-f>attenuation<Enter>");
    assert!(
        table.text().contains("How much of the original sugar"),
        "{}",
        table.text()
    );
    table.press("<Esc><Esc><Esc><Esc>");
    // An action, with its name as it would act now.
    let mut table = Table::new();
    let before = readings(&table, "J2");
    table.press("54<Enter>/undo<Enter>");
    assert_eq!(readings(&table, "J2"), before);
    table.press("/season<Enter>");
    assert_eq!(table.state.screen, Screen::Season);
}

#[test]
fn nothing_found_says_so_and_keeps_what_was_typed() {
    let mut table = Table::new();
    table.press("/qqqqzz<Enter>");
    assert!(table.text().contains("Try fewer"), "{}", table.text());
    assert!(table.text().contains("qqqqzz"));
    table.press("<Esc>");
    assert!(table.state.overlays.is_empty());
    assert_eq!(table.state.screen, Screen::Shelf);
}

#[test]
fn every_vessel_step_and_sum_is_found_by_its_own_name() {
    use skep::app::find::{FindSheet, found};
    let table = Table::new();
    let all = found(&table.state, &FindSheet::default());
    assert!(all.len() > 80, "{}", all.len());
    for one in &all {
        let mut sheet = FindSheet::default();
        sheet.field.paste(&one.name);
        let again = found(&table.state, &sheet);
        let first: Vec<_> = again.iter().take(4).map(|f| &f.name).collect();
        assert!(first.contains(&&one.name), "{} gives {first:?}", one.name);
    }
}

/// People type how a name begins: what stands inside a word comes later, and a
/// vessel's or batch's name comes before the title of a step.
#[test]
fn how_a_name_begins_ranks_first_and_own_names_before_steps() {
    use skep::app::find::{FindSheet, found};
    let table = Table::new();
    let all = found(&table.state, &FindSheet::default());
    for one in all.iter().filter(|f| f.kind == "vessel") {
        let (_, name) = one.name.split_once("  ").unwrap();
        let mut sheet = FindSheet::default();
        let three: String = name.chars().take(3).collect();
        sheet.field.paste(&three);
        let first = found(&table.state, &sheet).remove(0);
        let begins = first.name.split_once("  ").unwrap().1;
        let (begins, three) = (begins.to_lowercase(), three.to_lowercase());
        assert!(begins.starts_with(&three), "{three} gives {first:?}");
        assert_eq!(first.kind, "vessel", "{three} gives {first:?}");
    }
}

#[test]
fn keys_of_ones_own_act_and_stand_in_foot_and_help() {
    use skep::app::Library;
    use skep::app::keymap::{KeyMap, Wanted};
    let wanted: Wanted = Wanted::from([(
        "shelf".into(),
        std::collections::BTreeMap::from([("round".into(), vec!["R".into()])]),
    )]);
    let (keys, problems) = KeyMap::of(&wanted);
    assert!(problems.is_empty());
    let mut table = Table::new();
    let library = Library {
        keys: keys.into(),
        ..(*table.state.library).clone()
    };
    table.take(Msg::Library(library.into()));
    assert!(table.text().contains("R round"), "{}", table.text());
    table.press("r");
    assert_eq!(table.state.screen, Screen::Shelf);
    table.press("?round");
    assert!(
        table
            .text()
            .lines()
            .any(|l| l.trim_start().starts_with("R ") && l.contains("Walk from vessel")),
        "{}",
        table.text()
    );
    table.press("<Esc>R");
    assert_eq!(table.state.screen, Screen::Round);
}

/// One thing that happens.
#[derive(Debug, Clone)]
enum Event {
    Press(Key),
    Paste(String),
    Wait(f64),
    Resize(u16, u16),
    Click(u16, u16),
}

fn event() -> impl Strategy<Value = Event> {
    prop_oneof![
        20 => proptest::sample::select(keys()).prop_map(Event::Press),
        1 => "\\PC{0,12}".prop_map(Event::Paste),
        1 => (0.1..200_000.0_f64).prop_map(Event::Wait),
        2 => (1_u16..170, 1_u16..60).prop_map(|(w, h)| Event::Resize(w, h)),
        2 => (0_u16..140, 0_u16..42).prop_map(|(x, y)| Event::Click(x, y)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn any_keys_draw_something_and_never_panic(
        fresh in proptest::bool::weighted(0.2),
        events in proptest::collection::vec(event(), 1..60),
    ) {
        let mut table = if fresh { Table::on(Store::in_memory().unwrap()) } else { Table::new() };
        let (mut width, mut height) = (80, 24);
        for event in events {
            match event {
                Event::Press(key) => table.take(Msg::Key(key)),
                Event::Paste(text) => table.take(Msg::Paste(text)),
                Event::Wait(seconds) => { table.wait(seconds); }
                Event::Resize(w, h) => (width, height) = (w, h),
                Event::Click(x, y) => {
                    let area = Rect::new(0, 0, width, height);
                    let hit = skep::tui::areas::hit(&table.state, area, x, y);
                    if let Some(hit) = hit { table.take(Msg::Hit(hit)); }
                }
            }
            let frame = table.draw(Theme::default(), width, height);
            let drawn = frame.content().iter().any(|c| c.symbol() != " ");
            prop_assert!(drawn);
        }
    }
}
