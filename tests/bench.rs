//! The bench as it is drawn and as it is used.

use chrono::DateTime;
use proptest::prelude::*;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use skep::app::{Code, Key, Msg, Options, Screen, State, update};
use skep::domain::units::{Moment, Zone};
use skep::tui::screens::draw;
use skep::tui::theme::Theme;

fn now() -> Moment {
    Moment::new(DateTime::parse_from_rfc3339("2026-11-25T07:15:00-08:00").expect("a date"))
}

fn bench() -> State {
    let options = Options {
        demo: false,
        first: Some(Screen::Bench),
        zone: Zone::Fixed(*now().datetime().offset()),
    };
    State::new(now(), options)
}

fn press(state: &mut State, code: Code) {
    update(state, Msg::Key(Key::of(code)), now());
}

fn typed(state: &mut State, text: &str) {
    for c in text.chars() {
        update(state, Msg::Key(Key::char(c)), now());
    }
}

fn drawn(state: &State, width: u16, height: u16) -> String {
    let area = Rect::new(0, 0, width, height);
    let mut buf = Buffer::empty(area);
    draw(state, &Theme::default(), area, &mut buf);
    let row = |y| {
        let cells = (0..width).filter_map(|x| buf.cell((x, y)));
        cells.map(ratatui::buffer::Cell::symbol).collect::<String>()
    };
    (0..height)
        .map(|y| row(y).trim_end().to_owned())
        .collect::<Vec<_>>()
        .join("\n")
}

/// The bench with all inputs of the priming sum typed.
fn priming() -> State {
    let mut state = bench();
    typed(&mut state, "priming");
    press(&mut state, Code::Enter);
    for text in ["5gal", "2.4", "68f"] {
        typed(&mut state, text);
        press(&mut state, Code::Tab);
    }
    state
}

#[test]
fn the_list_the_form_and_the_why() {
    for (width, height) in [(80, 24), (140, 42), (40, 12)] {
        let at = format!("{width}x{height}");
        insta::assert_snapshot!(format!("bench_list_{at}"), drawn(&bench(), width, height));
        let mut state = priming();
        insta::assert_snapshot!(format!("bench_form_{at}"), drawn(&state, width, height));
        update(&mut state, Msg::Key(Key::ctrl('y')), now());
        insta::assert_snapshot!(format!("bench_why_{at}"), drawn(&state, width, height));
    }
}

#[test]
fn what_was_typed_stays_beside_the_sentence_that_refuses_it() {
    let mut state = bench();
    typed(&mut state, "priming");
    press(&mut state, Code::Enter);
    typed(&mut state, "5");
    let said = drawn(&state, 80, 24);
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    let sentence = "'5' has no unit; accepted is 5gal, 12floz, 19L or 750ml";
    assert!(words.contains(sentence), "{said}");
    for (width, height) in [(60, 20), (140, 42), (80, 24)] {
        drawn(&state, width, height);
    }
    typed(&mut state, "gal");
    assert!(drawn(&state, 80, 24).contains("5gal"));
}

#[test]
fn letters_are_text_on_the_bench_and_no_commands() {
    let mut state = bench();
    typed(&mut state, "q?b");
    assert!(!state.leaving && state.screen == Screen::Bench);
    update(&mut state, Msg::Paste("sulfite\nq".into()), now());
    assert!(!state.leaving);
    assert_eq!(state.bench.search.text(), "q?bsulfite q");
}

#[test]
fn arrows_choose_where_there_is_a_choice_and_move_where_there_is_text() {
    let mut state = priming();
    let before = drawn(&state, 80, 24);
    press(&mut state, Code::Right);
    assert_ne!(
        drawn(&state, 80, 24),
        before,
        "another primer, another mass"
    );
    press(&mut state, Code::BackTab);
    press(&mut state, Code::Left);
    typed(&mut state, "0");
    assert!(drawn(&state, 80, 24).contains("680f"));
}

proptest! {
    #[test]
    fn any_keys_draw_at_any_size(
        keys in prop::collection::vec(prop_oneof![
            (0_u8..14).prop_map(|k| match k {
                0 => Key::of(Code::Enter),
                1 => Key::of(Code::Esc),
                2 => Key::of(Code::Tab),
                3 => Key::of(Code::BackTab),
                4 => Key::of(Code::Up),
                5 => Key::of(Code::Down),
                6 => Key::of(Code::Left),
                7 => Key::of(Code::Right),
                8 => Key::of(Code::PageUp),
                9 => Key::of(Code::PageDown),
                10 => Key::ctrl('y'),
                11 => Key::of(Code::Backspace),
                12 => Key::of(Code::Home),
                _ => Key::char('1'),
            }),
            any::<char>().prop_map(Key::char),
        ], 0..60),
        width in 0_u16..150,
        height in 0_u16..50,
    ) {
        let mut state = bench();
        for key in keys {
            update(&mut state, Msg::Key(key), now());
            drawn(&state, width, height);
        }
    }
}
