//! The first round of the demo: every lesson is reached by doing what it says.

use crate::kit::Table;
use skep::app::guide::{Guide, line};

fn led() -> Table {
    let mut table = Table::new();
    table.state.options.demo = true;
    table.state.guide = Guide::Offered;
    table
}

fn lesson(table: &Table) -> usize {
    match table.state.guide {
        Guide::At(at, _) => at + 1,
        _ => 0,
    }
}

/// The key or number that the line tells to press, between two words of it.
fn told(table: &Table, before: &str, after: &str) -> String {
    let (says, _) = line(&table.state).unwrap();
    let (_, rest) = says.split_once(before).unwrap_or_else(|| panic!("{says}"));
    rest.split_once(after).unwrap().0.to_owned()
}

#[test]
fn doing_what_the_line_says_leads_through_the_whole_round() {
    let mut table = led();
    assert!(table.text().contains("New here? Ctrl-G"));
    table.press("<Ctrl-G>");
    assert_eq!(lesson(&table), 1);
    table.press("<Down>");
    let typed = told(&table, "just type ", ".");
    table.press(&typed);
    assert_eq!(lesson(&table), 3, "{typed}");
    table.press("<Enter>");
    assert_eq!(lesson(&table), 4, "{}", table.text());
    assert_eq!(told(&table, "Kept. ", " takes"), "u");
    for (keys, next) in [
        ("u", 5),
        ("d<Enter>", 6),
        ("<Enter>", 7),
        ("<Tab>", 8),
        ("z", 9),
        ("<Left>", 10),
        ("w", 11),
        ("<Esc><Esc><Esc>", 12),
        ("r", 13),
        ("nnnnnnnnnnnnn<Esc>", 14),
        ("/", 15),
        ("<Esc>?", 16),
    ] {
        table.press(keys);
        assert_eq!(lesson(&table), next, "after {keys}:\n{}", table.text());
    }
    assert!(table.text().contains("That was the round"));
    table.press("<Ctrl-G>");
    assert_eq!(table.state.guide, Guide::Away);
}

#[test]
fn what_is_thrown_away_is_asked_for_again() {
    let mut table = led();
    table.press("<Ctrl-G><Down>55<Esc><Esc>");
    assert_eq!(lesson(&table), 2);
}

#[test]
fn nobody_is_led_who_does_not_want_it_or_has_a_store_of_their_own() {
    let mut table = led();
    table.press("<Esc>");
    assert_eq!(table.state.guide, Guide::Away);
    let mut own = Table::new();
    own.press("<Ctrl-G>");
    assert_eq!(own.state.guide, Guide::Away);
}
